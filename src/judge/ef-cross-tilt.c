/* Wear of journals and tilt of gear ends as vectors in pump axes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The vector of a worn face about an axis is the first moment of its depth map there, taken from the mean depth and the middle of the material,
 * so that ports and holes on one side don't count as wear on the other; over the lost volume. Scratches tell nothing of it: a share of
 * the material must be worn. Its direction is uncertain by how the marks that make it up scatter about it, each weighted by its moment, and by each
 * depth's gauge. A face that stands still is worn along the line of the load when the shaft leans under it, at one end on the load's
 * side and at the other on the opposite one: that direction counts modulo half a turn. A face that turns with the gear
 * passes under the load on all sides, so that wear on one side of it isn't the load's.
 */
#include <math.h>
#include <string.h>

#include "ef-cross-private.h"
#include "ef-rule.h"

#define ONE_SIDED 0.2      /* least moment as a share of the tip radius: less is even wear; an assumption */
#define WORN_SHARE 0.25    /* of the material: a part that leans wears an area, grit wears lines; an assumption */
#define JOURNAL_SHARE 0.1  /* of a journal's surface, likewise */
#define TOO_VAGUE 0.6      /* rad, standard: such a direction tells nothing */
#define SIGNIFICANT 3.0    /* standard uncertainties */
#define DRAWN 0.2e-3       /* m: how well a place is drawn */
#define LEAST_REACH 1e-9

/* The moment of a face's wear about an axis, in the plan of the front view. */
typedef struct
{
  double x, y;      /* m: first moment over the volume */
  double volume;    /* m3 */
  double direction; /* psi */
  double u;
} Moment;

/* FALSE when too little is worn. */
static gboolean
sum_cells (const EfFaceChart *chart,
           const EfDepthMap *map,
           double axis_x,
           double radius,
           Moment *m)
{
  double solid = 0.0, worn = 0.0, depth = 0.0, sx = 0.0, sy = 0.0, dx = 0.0, dy = 0.0;

  for (guint j = 0; j < map->nv; j++)
    for (guint i = 0; i < map->nu; i++)
      {
        guint k = j * map->nu + i;
        double lost = (double) map->cover[k] * map->depth[k];
        double position[3];

        if (!(map->solid[k] > 0.0f))
          continue;
        ef_face_chart_to_pump (chart, map->u0 + (i + 0.5) * map->cell, map->v0 + (j + 0.5) * map->cell, position, NULL);
        if (hypot (position[0] - axis_x, position[1]) > radius)
          continue;
        solid += map->solid[k];
        worn += map->cover[k];
        depth += lost;
        sx += map->solid[k] * (position[0] - axis_x);
        sy += map->solid[k] * position[1];
        dx += lost * (position[0] - axis_x);
        dy += lost * position[1];
      }
  if (!(depth > 0.0) || worn < WORN_SHARE * solid)
    return FALSE;
  m->volume = depth * map->cell * map->cell;
  m->x = dx / depth - sx / solid;
  m->y = dy / depth - sy / solid;

  return TRUE;
}

static double
relative_u (const EfFindings *findings,
            const EfMark *mark)
{
  double worst = 0.0;

  for (guint i = 0; i < mark->depths->len; i++)
    {
      const EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);
      const EfGauge *gauge = depth->gauge_id != NULL ? ef_inspection_find (findings->inspection, EF_ITEM_GAUGE, depth->gauge_id) : NULL;

      if (gauge != NULL && depth->depth > 0.0)
        worst = fmax (worst, 0.5 * gauge->uncertainty / depth->depth);
    }

  return worst;
}

/* Of each mark about the axis its share of the moment square to the direction: as found, and as uncertain as its depth. */
static void
add_uncertainty (const EfFindings *findings,
                 const EfFaceChart *chart,
                 double axis_x,
                 double radius,
                 Moment *m,
                 EfCross *cross)
{
  GPtrArray *marks = findings->inspection->items[EF_ITEM_MARK];
  double along_x = m->x / hypot (m->x, m->y), along_y = m->y / hypot (m->x, m->y);
  double sum = 0.0, across2 = 0.0, reach = 0.0;
  guint n = 0;

  for (guint i = 0; i < marks->len; i++)
    {
      const EfMark *mark = marks->pdata[i];
      double weight, u, v, position[3], across, rel;

      if (!g_str_equal (mark->face_id, chart->id) || mark->depths->len == 0)
        continue;
      u = v = 0.0;
      for (guint k = 0; k < mark->nodes->len; k++)
        {
          u += g_array_index (mark->nodes, EfMarkNode, k).u / mark->nodes->len;
          v += g_array_index (mark->nodes, EfMarkNode, k).v / mark->nodes->len;
        }
      ef_face_chart_to_pump (chart, u, v, position, NULL);
      if (hypot (position[0] - axis_x, position[1]) > radius)
        continue;
      weight = ef_mark_deepest (mark) * ef_mark_area (mark);
      rel = relative_u (findings, mark);
      across = along_x * position[1] - along_y * (position[0] - axis_x);
      reach += weight * (along_x * (position[0] - axis_x) + along_y * position[1]);
      across2 += weight * weight * (across * across * (1.0 + rel * rel) + DRAWN * DRAWN);
      sum += weight;
      n++;
      g_ptr_array_add (cross->refs, g_strdup_printf ("mark:%s", mark->item.id));
    }
  m->u = n > 0 && reach > LEAST_REACH * sum ? atan2 (sqrt (across2), reach) : INFINITY;
  /* one mark alone says nothing of how marks scatter: half its extent, as rectangular */
  if (n == 1)
    m->u = fmax (m->u, atan2 (0.25 * radius, hypot (m->x, m->y)) / sqrt (3.0));
}

static gboolean
moment_of (const EfFindings *findings,
           const EfFaceChart *chart,
           const EfSection *section,
           int gear,
           Moment *m,
           EfCross *cross)
{
  const EfDepthMap *map = findings->maps != NULL ? g_hash_table_lookup (findings->maps, chart->id) : NULL;
  double axis_x = ef_section_axis_x (section, gear);
  double radius = section->pocket_radius[gear];

  *m = (Moment){ 0 };
  if (map == NULL)
    return FALSE;
  if (!sum_cells (chart, map, axis_x, radius, m))
    return FALSE;
  if (hypot (m->x, m->y) < ONE_SIDED * radius)
    return FALSE;
  m->direction = ef_section_psi (section, gear, axis_x + m->x, m->y);
  add_uncertainty (findings, chart, axis_x, radius, m, cross);

  return m->u < TOO_VAGUE;
}

static char *
face_text (const EfFindings *findings,
           const EfFaceChart *chart)
{
  const EfPart *part = ef_pump_sheet_part (findings->inspection->sheet, chart->part_id);
  g_autofree char *part_name = ef_rule_lower (part != NULL ? part->name : chart->part_id);
  g_autofree char *face = ef_rule_face_name (chart, chart->id);

  return g_strdup_printf ("the %s, %s", part_name, face);
}

static void
say_turning (EfCross *cross,
             const char *what)
{
  cross->consistent = FALSE;
  cross->sentence = g_strdup_printf ("%s is deeper on one side (%d° in the part's own place). It turns under the load, which would wear it evenly: not "
                                     "consistent with wear by the oil's pressure.",
                                     what, ef_cross_degrees (cross->direction));
}

static void
compare_end (const EfFindings *findings,
             const EfSection *section,
             const double load_psi[2],
             const EfFaceChart *chart,
             int gear,
             GPtrArray *list)
{
  g_autofree char *face = face_text (findings, chart);
  g_autofree char *what = NULL;
  EfCross *cross;
  Moment m;

  cross = ef_cross_add (list, g_strdup_printf ("tilt:%s:%s", chart->id, ef_cross_sides[gear]), chart->id);
  if ((chart->kind != EF_FACE_END && isnan (load_psi[gear])) || !moment_of (findings, chart, section, gear, &m, cross))
    {
      g_ptr_array_remove_index (list, list->len - 1);
      return;
    }
  cross->direction = m.direction;
  cross->u_direction = m.u;
  if (chart->kind == EF_FACE_END)
    {
      what = g_strdup_printf ("Wear on %s", face);
      say_turning (cross, what);
      cross->next = g_strdup ("Check that this end runs true on its shaft (dial indicator, turned by hand), and the opposite face for the track of a foreign body.");
      return;
    }
  cross->load = load_psi[gear];
  what = g_strdup_printf ("The deepest wear of %s at the %s gear", face, ef_cross_sides[gear]);
  ef_cross_compare (cross, G_PI, what);
  g_free (cross->next);
  cross->next = g_strdup (cross->consistent ? "The shaft leans under the load: measure its play in both bores, and the ends of the gear."
                                            : "Check the locating pins and their holes, look for dirt or a burr between the faces and for the track of a foreign body; then measure the end clearance on opposite sides.");
}

static gboolean
meets_gears (const EfSection *section,
             const EfFaceChart *chart)
{
  return g_strcmp0 (section->floor_face, chart->id) == 0 || g_strcmp0 (section->facing_face, chart->id) == 0;
}

/* Clearances at both gears: the difference over the distance of the axes. */
static void
compare_clearances (const EfFindings *findings,
                    const EfSection *section,
                    GPtrArray *list)
{
  const EfDerived *c[2], *w[2];
  double difference, u;
  gboolean by_widths;
  EfCross *cross;

  for (int i = 0; i < 2; i++)
    {
      c[i] = ef_derived_find (findings->derived, "end-clearance", section->id, ef_cross_sides[i]);
      w[i] = ef_derived_find (findings->derived, "face-width", section->gear_part[i], NULL);
    }
  if (c[0] == NULL || c[1] == NULL || !isfinite (c[0]->uncertainty) || !isfinite (c[1]->uncertainty))
    return;
  difference = c[1]->value - c[0]->value;
  u = hypot (c[0]->uncertainty, c[1]->uncertainty);
  if (!(fabs (difference) > SIGNIFICANT * u))
    return;
  by_widths = w[0] != NULL && w[1] != NULL && isfinite (w[0]->uncertainty) && isfinite (w[1]->uncertainty)
              && fabs (difference - (w[0]->value - w[1]->value)) <= SIGNIFICANT * hypot (u, hypot (w[0]->uncertainty, w[1]->uncertainty));
  cross = ef_cross_add (list, g_strdup_printf ("end-tilt:%s", section->id), section->id);
  for (int i = 0; i < 2; i++)
    ef_cross_add_readings (cross, c[i]);
  cross->consistent = by_widths;
  cross->sentence = g_strdup_printf (
    "End clearance is %.3f mm at the drive gear and %.3f mm at the driven gear, %.3f ± %.3f mm apart over the %.1f mm between the axes: %s.", c[0]->value * 1e3,
    c[1]->value * 1e3, fabs (difference) * 1e3, 2e3 * u, (ef_section_axis_x (section, 1) - ef_section_axis_x (section, 0)) * 1e3,
    by_widths ? "the gears' face widths differ by as much, so nothing is tilted" : "the end is tilted along the line of the axes, which the load, square to it for the most part, doesn't do: not consistent with wear by the oil's pressure");
  cross->next = g_strdup (by_widths ? "Grind the wider gear to its mate's width, or replace the pair."
                                    : "Look for dirt or a burr under the plate, check the locating pins and that the plate and the mating face are flat.");
}

void
ef_cross_tilt (const EfFindings *findings,
               const EfSection *section,
               const double load_psi[2],
               GPtrArray *list)
{
  g_auto (GStrv) faces = ef_face_ids (findings->inspection->sheet);

  for (guint i = 0; faces[i] != NULL; i++)
    {
      const EfFaceChart *chart = g_hash_table_lookup (findings->charts, faces[i]);

      if (chart == NULL)
        continue;
      for (int gear = 0; gear < 2; gear++)
        if (meets_gears (section, chart) || (chart->kind == EF_FACE_END && g_strcmp0 (section->gear_part[gear], chart->part_id) == 0))
          compare_end (findings, section, load_psi, chart, gear, list);
    }
  compare_clearances (findings, section, list);
}

/* Journals */

static gboolean
stands_still (const EfCylinder *journal,
              const EfSection *section)
{
  for (int i = 0; i < 2; i++)
    if (journal->runs_in != NULL && g_str_has_prefix (journal->runs_in, section->gear_part[i]))
      return TRUE;

  return FALSE;
}

static gboolean
is_in_section (const EfFindings *findings,
               const EfSection *section,
               const EfCylinder *journal)
{
  const char *slash = journal->runs_in != NULL ? strchr (journal->runs_in, '/') : NULL;
  g_autofree char *part_id = slash != NULL ? g_strndup (journal->runs_in, slash - journal->runs_in) : NULL;
  const EfPart *part = part_id != NULL ? ef_pump_sheet_part (findings->inspection->sheet, part_id) : NULL;

  return part != NULL
         && (g_strcmp0 (section->pocket_part, part_id) == 0 || g_strcmp0 (part->section, section->id) == 0 || g_strcmp0 (section->gear_part[0], part_id) == 0
             || g_strcmp0 (section->gear_part[1], part_id) == 0);
}

/* Psi of an angle on the journal, as the shaft stands in the pump. */
static double
journal_psi (const EfFaceChart *chart,
             const EfSection *section,
             int gear,
             double angle)
{
  double position[3];

  ef_face_chart_to_pump (chart, angle * chart->cylinder_radius, 0.5 * (chart->v0 + chart->v1), position, NULL);

  return ef_section_psi (section, gear, position[0], position[1]);
}

static void
say_journal (EfCross *cross,
             const char *what,
             gboolean still,
             double load,
             double period)
{
  if (still)
    {
      /* the gear is pushed along the load, and bears on the other side of its fixed shaft */
      cross->load = remainder (load + G_PI, 2.0 * G_PI);
      ef_cross_compare (cross, period, what);
      return;
    }
  cross->period = period;
  say_turning (cross, what);
  cross->next = g_strdup ("Check the shaft for straightness between centres, the fit of gear and key on it, and the bore for a foreign body pressed into it.");
}

static void
compare_journal (const EfFindings *findings,
                 const EfSection *section,
                 const double load_psi[2],
                 const EfPart *shaft,
                 const EfCylinder *journal,
                 GPtrArray *list)
{
  const EfDerived *ovality = ef_derived_find (findings->derived, "journal-ovality", shaft->id, journal->id);
  g_autofree char *face = g_strdup_printf ("%s/journal-%s", shaft->id, journal->id);
  const EfFaceChart *chart = g_hash_table_lookup (findings->charts, face);
  gboolean still = stands_still (journal, section);
  g_autofree char *name = ef_rule_lower (shaft->name);
  g_autofree char *what = NULL;
  EfCross *cross;

  if (ovality == NULL || chart == NULL || !isfinite (ovality->direction) || !isfinite (ovality->u_direction)
      || !(ovality->value > SIGNIFICANT * ovality->uncertainty) || (still && isnan (load_psi[shaft->gear])))
    return;
  cross = ef_cross_add (list, g_strdup_printf ("journal-ovality:%s:%s", shaft->id, journal->id), face);
  /* worn where the diameter is least: a quarter turn from the largest */
  cross->direction = journal_psi (chart, section, shaft->gear, ovality->direction + G_PI / 2.0);
  cross->u_direction = ovality->u_direction;
  ef_cross_add_readings (cross, ovality);
  what = g_strdup_printf ("Wear on the %s, %s journal, out of round by %.3f ± %.3f mm,", name, journal->id, ovality->value * 1e3, 2e3 * ovality->uncertainty);
  say_journal (cross, what, still, load_psi[shaft->gear], G_PI);
}

/* The direction of the wear that marks show, and how far it's to one side: 0 all round, 1 at one angle. */
static void
compare_journal_marks (const EfFindings *findings,
                       const EfSection *section,
                       const double load_psi[2],
                       const EfPart *shaft,
                       const EfCylinder *journal,
                       GPtrArray *list)
{
  g_autofree char *face = g_strdup_printf ("%s/journal-%s", shaft->id, journal->id);
  const EfFaceChart *chart = g_hash_table_lookup (findings->charts, face);
  const EfDepthMap *map = findings->maps != NULL && chart != NULL ? g_hash_table_lookup (findings->maps, face) : NULL;
  g_autofree char *name = ef_rule_lower (shaft->name);
  g_autofree char *what = NULL;
  gboolean still = stands_still (journal, section);
  double c = 0.0, s = 0.0, sum = 0.0, worn = 0.0, share;
  GPtrArray *marks = findings->inspection->items[EF_ITEM_MARK];
  EfCross *cross;

  for (guint k = 0; map != NULL && k < map->nu * map->nv; k++)
    {
      double lost = (double) map->cover[k] * map->depth[k];
      double angle = (map->u0 + (k % map->nu + 0.5) * map->cell) / chart->cylinder_radius;

      c += lost * cos (angle);
      s += lost * sin (angle);
      sum += lost;
      worn += map->cover[k];
    }
  share = sum > 0.0 && worn >= JOURNAL_SHARE * map->nu * map->nv ? hypot (c, s) / sum : 0.0;
  if (share < 0.5 || (still && isnan (load_psi[shaft->gear])))
    return;
  cross = ef_cross_add (list, g_strdup_printf ("journal-wear:%s:%s", shaft->id, journal->id), face);
  cross->direction = journal_psi (chart, section, shaft->gear, atan2 (s, c));
  /* circular standard deviation of where the wear lies, as of a single place (Mardia's definition) */
  cross->u_direction = sqrt (-2.0 * log (fmin (share, 1.0)));
  for (guint i = 0; i < marks->len; i++)
    if (g_str_equal (((const EfMark *) marks->pdata[i])->face_id, face))
      g_ptr_array_add (cross->refs, g_strdup_printf ("mark:%s", ((const EfMark *) marks->pdata[i])->item.id));
  what = g_strdup_printf ("Wear marked on the %s, %s journal,", name, journal->id);
  say_journal (cross, what, still, load_psi[shaft->gear], 2.0 * G_PI);
}

void
ef_cross_journals (const EfFindings *findings,
                   const EfSection *section,
                   const double load_psi[2],
                   GPtrArray *list)
{
  GPtrArray *parts = findings->inspection->sheet->parts;

  for (guint i = 0; i < parts->len; i++)
    {
      const EfPart *shaft = parts->pdata[i];

      if (shaft->kind != EF_PART_SHAFT || shaft->gear < 0 || shaft->gear > 1)
        continue;
      for (guint k = 0; k < shaft->journals->len; k++)
        {
          const EfCylinder *journal = &g_array_index (shaft->journals, EfCylinder, k);

          if (!is_in_section (findings, section, journal))
            continue;
          compare_journal (findings, section, load_psi, shaft, journal, list);
          compare_journal_marks (findings, section, load_psi, shaft, journal, list);
        }
    }
}
