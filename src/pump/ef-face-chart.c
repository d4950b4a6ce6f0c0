/* Face ids, and charts as objects. The builders: ef-chart-plan.c, ef-chart-unrolled.c, ef-chart-gear.c; what is asked of a
 * chart: ef-chart-map.c, ef-chart-snap.c.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-chart-private.h"
#include "ef-pump-sheet-private.h"

#include <math.h>
#include <string.h>

static const char *const kind_names[] = { "floor", "wall", "mating", "bore", "side", "end", "flank", "tips", "keyway", "journal", "pin-hole" };
G_STATIC_ASSERT (G_N_ELEMENTS (kind_names) == EF_N_FACE_KINDS);

const char *
ef_face_kind_name (EfFaceKind kind)
{
  return (guint) kind < EF_N_FACE_KINDS ? kind_names[kind] : "face";
}

/* Ids */

static void
add_face (GPtrArray *ids,
          const EfPart *part,
          const char *face)
{
  g_ptr_array_add (ids, g_strdup_printf ("%s/%s", part->id, face));
}

static void
add_cylinders (GPtrArray *ids,
               const EfPart *part,
               const GArray *cylinders,
               const char *prefix)
{
  for (guint i = 0; i < cylinders->len; i++)
    {
      g_autofree char *face = g_strdup_printf ("%s-%s", prefix, g_array_index (cylinders, EfCylinder, i).id);

      add_face (ids, part, face);
    }
}

static void
add_housing (GPtrArray *ids,
             const EfPart *part)
{
  gboolean through = part->opens == EF_OPENS_THROUGH;

  if (!through)
    add_face (ids, part, "floor");
  add_face (ids, part, "wall-drive");
  add_face (ids, part, "wall-driven");
  add_face (ids, part, through ? "mating-front" : "mating");
  if (through)
    add_face (ids, part, "mating-rear");
  add_cylinders (ids, part, part->bores, "bore");
}

static void
add_sides (GPtrArray *ids,
           const EfPumpSheet *sheet,
           const EfPart *part)
{
  static const char *const sides[] = { "side-a", "side-b" };

  for (guint i = 0; i < 2; i++)
    {
      g_autofree char *id = g_strdup_printf ("%s/%s", part->id, sides[i]);

      if (part->kind == EF_PART_PLATE || ef_pump_sheet_face_section (sheet, id) != NULL)
        add_face (ids, part, sides[i]);
    }
  add_cylinders (ids, part, part->bores, "hole");
}

static void
add_gear (GPtrArray *ids,
          const EfPart *part)
{
  static const char *const faces[] = { "end-a", "end-b", "flank-drive", "flank-coast", "tips", "bore" };

  for (guint i = 0; i < G_N_ELEMENTS (faces); i++)
    add_face (ids, part, faces[i]);
  if (part->keyways->len > 0)
    add_face (ids, part, "keyway");
}

static void
add_part_faces (GPtrArray *ids,
                const EfPumpSheet *sheet,
                const EfPart *part)
{
  switch (part->kind)
    {
    case EF_PART_HOUSING:
      add_housing (ids, part);
      break;
    case EF_PART_PLATE:
    case EF_PART_COVER:
      add_sides (ids, sheet, part);
      break;
    case EF_PART_GEAR:
      add_gear (ids, part);
      break;
    case EF_PART_SHAFT:
      add_cylinders (ids, part, part->journals, "journal");
      add_cylinders (ids, part, part->keyways, "keyway");
      add_cylinders (ids, part, part->pin_holes, "pin-hole");
      break;
    case EF_PART_PICKUP:
    case EF_PART_PIN:
    case EF_PART_STUD:
    case EF_N_PART_KINDS:
    default:
      break;
    }
}

char **
ef_face_ids (const EfPumpSheet *sheet)
{
  GPtrArray *ids = g_ptr_array_new ();

  for (guint i = 0; i < sheet->parts->len; i++)
    add_part_faces (ids, sheet, g_ptr_array_index (sheet->parts, i));
  g_ptr_array_add (ids, NULL);

  return (char **) g_ptr_array_free (ids, FALSE);
}

char **
ef_part_face_ids (const EfPumpSheet *sheet,
                  const char *part_id)
{
  GPtrArray *ids = g_ptr_array_new ();
  const EfPart *part = ef_pump_sheet_part (sheet, part_id);

  if (part != NULL)
    add_part_faces (ids, sheet, part);
  g_ptr_array_add (ids, NULL);

  return (char **) g_ptr_array_free (ids, FALSE);
}

/* Kinds and names */

static EfFaceKind
face_kind (const char *face)
{
  static const struct
  {
    const char *prefix;
    EfFaceKind kind;
  } table[] = {
    { "floor", EF_FACE_FLOOR }, { "wall-", EF_FACE_WALL }, { "mating", EF_FACE_MATING }, { "bore", EF_FACE_BORE },
    { "hole-", EF_FACE_BORE }, { "side-", EF_FACE_SIDE }, { "end-", EF_FACE_END }, { "flank-", EF_FACE_FLANK },
    { "tips", EF_FACE_TIPS }, { "keyway", EF_FACE_KEYWAY }, { "journal-", EF_FACE_JOURNAL }, { "pin-hole-", EF_FACE_PIN_HOLE },
  };

  for (guint i = 0; i < G_N_ELEMENTS (table); i++)
    if (g_str_has_prefix (face, table[i].prefix))
      return table[i].kind;

  return EF_N_FACE_KINDS;
}

static char *
face_name (const char *face)
{
  static const struct
  {
    const char *face;
    const char *name;
  } table[] = {
    { "floor", "Pocket floor" }, { "wall-drive", "Pocket wall, drive side" }, { "wall-driven", "Pocket wall, driven side" },
    { "mating", "Mating face" }, { "mating-front", "Mating face, front" }, { "mating-rear", "Mating face, rear" },
    { "bore-drive", "Shaft bore, drive" }, { "bore-driven", "Shaft bore, driven" }, { "hole-drive", "Shaft hole, drive" },
    { "hole-driven", "Shaft hole, driven" }, { "side-a", "Side A (front)" }, { "side-b", "Side B (rear)" },
    { "end-a", "End A (front)" }, { "end-b", "End B (rear)" }, { "flank-drive", "Flanks, drive side" },
    { "flank-coast", "Flanks, coast side" }, { "tips", "Tooth tips" }, { "bore", "Bore" }, { "keyway", "Keyway" },
  };
  static const struct
  {
    const char *prefix;
    const char *name;
  } numbered[] = {
    { "bore-", "Shaft bore" }, { "hole-", "Shaft hole" }, { "journal-", "Journal" }, { "keyway-", "Keyway" }, { "pin-hole-", "Pin hole" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (table); i++)
    if (g_str_equal (face, table[i].face))
      return g_strdup (table[i].name);
  for (guint i = 0; i < G_N_ELEMENTS (numbered); i++)
    if (g_str_has_prefix (face, numbered[i].prefix))
      return g_strdup_printf ("%s, %s", numbered[i].name, face + strlen (numbered[i].prefix));

  return g_strdup (face);
}

/* The chart as an object */

static void
line_free (gpointer data)
{
  EfChartLine *line = data;

  g_free (line->name);
  ef_ring_clear (&line->path);
  g_free (line);
}

static void
band_free (gpointer data)
{
  EfChartBand *band = data;

  g_free (band->name);
  ef_region_free (band->region);
  g_free (band);
}

static void
label_free (gpointer data)
{
  EfChartLabel *label = data;

  g_free (label->text);
  g_free (label->role);
  g_free (label);
}

static void
snap_clear (gpointer data)
{
  EfSnap *snap = data;

  g_free (snap->name);
}

static EfFaceChart *
chart_new_empty (EfPumpSheet *sheet,
                 const EfPart *part,
                 const char *face_id,
                 const char *face)
{
  EfFaceChart *chart = g_new0 (EfFaceChart, 1);

  chart->ref_count = 1;
  chart->sheet = ef_pump_sheet_ref (sheet);
  chart->id = g_strdup (face_id);
  chart->part_id = g_strdup (part->id);
  chart->face = g_strdup (face);
  chart->name = face_name (face);
  chart->kind = face_kind (face);
  chart->gear = part->gear;
  chart->section = ef_pump_sheet_face_section (sheet, face_id);
  chart->lines = g_ptr_array_new_with_free_func (line_free);
  chart->bands = g_ptr_array_new_with_free_func (band_free);
  chart->labels = g_ptr_array_new_with_free_func (label_free);
  chart->snaps = g_array_new (FALSE, TRUE, sizeof (EfSnap));
  g_array_set_clear_func (chart->snaps, snap_clear);

  return chart;
}

static gboolean
build (EfFaceChart *chart,
       const EfPart *part,
       GError **error)
{
  switch (chart->kind)
    {
    case EF_FACE_FLOOR:
    case EF_FACE_MATING:
    case EF_FACE_SIDE:
      return ef_chart_build_plan (chart, part, error);
    case EF_FACE_END:
    case EF_FACE_FLANK:
    case EF_FACE_TIPS:
      return ef_chart_build_gear (chart, part, error);
    case EF_FACE_WALL:
    case EF_FACE_BORE:
    case EF_FACE_KEYWAY:
    case EF_FACE_JOURNAL:
    case EF_FACE_PIN_HOLE:
    case EF_N_FACE_KINDS:
    default:
      return ef_chart_build_unrolled (chart, part, error);
    }
}

EfFaceChart *
ef_face_chart_new (EfPumpSheet *sheet,
                   const char *face_id,
                   GError **error)
{
  g_autoptr (EfFaceChart) chart = NULL;
  g_auto (GStrv) ids = NULL;
  const EfPart *part;
  const char *face;

  g_return_val_if_fail (sheet != NULL, NULL);
  if (face_id != NULL && ef_pump_sheet_split_face (sheet, face_id, &part, &face))
    {
      ids = ef_part_face_ids (sheet, part->id);
      if (g_strv_contains ((const char *const *) ids, face_id))
        {
          chart = chart_new_empty (sheet, part, face_id, face);
          if (!build (chart, part, error))
            return NULL;

          return g_steal_pointer (&chart);
        }
    }
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected a face of this pump, found \"%s\"", sheet->file, face_id != NULL ? face_id : "");

  return NULL;
}

EfFaceChart *
ef_face_chart_ref (EfFaceChart *chart)
{
  g_return_val_if_fail (chart != NULL, NULL);
  g_atomic_int_inc (&chart->ref_count);

  return chart;
}

void
ef_face_chart_unref (EfFaceChart *chart)
{
  if (chart == NULL || !g_atomic_int_dec_and_test (&chart->ref_count))
    return;
  g_free (chart->id);
  g_free (chart->part_id);
  g_free (chart->face);
  g_free (chart->name);
  g_ptr_array_unref (chart->lines);
  g_ptr_array_unref (chart->bands);
  g_ptr_array_unref (chart->labels);
  g_array_unref (chart->snaps);
  ef_region_free (chart->solid);
  ef_pump_sheet_unref (chart->sheet);
  g_free (chart);
}

/* Things on a chart */

void
ef_chart_add_line (EfFaceChart *chart,
                   EfLineKind kind,
                   const char *name,
                   gboolean closed,
                   EfRing path)
{
  EfChartLine *line = g_new0 (EfChartLine, 1);

  line->kind = kind;
  line->name = g_strdup (name);
  line->closed = closed;
  line->path = path;
  g_ptr_array_add (chart->lines, line);
}

void
ef_chart_add_segment (EfFaceChart *chart,
                      EfLineKind kind,
                      const char *name,
                      double u0,
                      double v0,
                      double u1,
                      double v1)
{
  double xy[] = { u0, v0, u1, v1 };

  ef_chart_add_line (chart, kind, name, FALSE, ef_ring_new (2, xy));
}

void
ef_chart_add_band (EfFaceChart *chart,
                   const char *name,
                   EfRegion *region)
{
  EfChartBand *band = g_new0 (EfChartBand, 1);

  band->name = g_strdup (name);
  band->region = region;
  g_ptr_array_add (chart->bands, band);
}

void
ef_chart_add_label (EfFaceChart *chart,
                    const char *role,
                    double u,
                    double v,
                    const char *text)
{
  EfChartLabel *label = g_new0 (EfChartLabel, 1);

  label->role = g_strdup (role);
  label->text = g_strdup (text);
  label->u = u;
  label->v = v;
  g_ptr_array_add (chart->labels, label);
}

static void
add_snap (EfFaceChart *chart,
          EfSnap snap,
          const char *name)
{
  snap.name = g_strdup (name);
  g_array_append_val (chart->snaps, snap);
}

void
ef_chart_snap_point (EfFaceChart *chart,
                     const char *name,
                     double u,
                     double v)
{
  add_snap (chart, (EfSnap) { .kind = EF_SNAP_POINT, .u = u, .v = v }, name);
}

void
ef_chart_snap_circle (EfFaceChart *chart,
                      const char *name,
                      double u,
                      double v,
                      double radius)
{
  add_snap (chart, (EfSnap) { .kind = EF_SNAP_CIRCLE, .u = u, .v = v, .radius = radius }, name);
}

void
ef_chart_snap_ray (EfFaceChart *chart,
                   const char *name,
                   double u,
                   double v,
                   double angle,
                   double length)
{
  add_snap (chart, (EfSnap) { .kind = EF_SNAP_RAY, .u = u, .v = v, .angle = angle, .radius = length }, name);
}

void
ef_chart_snap_line (EfFaceChart *chart,
                    const char *name,
                    double u,
                    double v,
                    double u2,
                    double v2)
{
  add_snap (chart, (EfSnap) { .kind = EF_SNAP_LINE, .u = u, .v = v, .u2 = u2, .v2 = v2 }, name);
}

void
ef_chart_snap_rays (EfFaceChart *chart,
                    double u,
                    double v,
                    double length)
{
  for (int degrees = 0; degrees < 360; degrees += 15)
    {
      g_autofree char *name = g_strdup_printf ("%d°", degrees);

      ef_chart_snap_ray (chart, name, u, v, degrees * G_PI / 180.0, length);
    }
}

/* Mirrors and reverses, so that an anticlockwise ring stays one. */
static void
mirror_ring (EfRing *ring)
{
  for (guint i = 0, j = ring->n - 1; i < ring->n && i <= j; i++, j--)
    {
      double u = ring->xy[2 * i];
      double v = ring->xy[2 * i + 1];

      ring->xy[2 * i] = -ring->xy[2 * j];
      ring->xy[2 * i + 1] = ring->xy[2 * j + 1];
      ring->xy[2 * j] = -u;
      ring->xy[2 * j + 1] = v;
    }
}

static void
mirror_region (EfRegion *region)
{
  for (guint i = 0; i < region->n; i++)
    mirror_ring (&region->rings[i]);
}

void
ef_chart_mirror (EfFaceChart *chart)
{
  for (guint i = 0; i < chart->lines->len; i++)
    mirror_ring (&((EfChartLine *) g_ptr_array_index (chart->lines, i))->path);
  for (guint i = 0; i < chart->bands->len; i++)
    mirror_region (((EfChartBand *) g_ptr_array_index (chart->bands, i))->region);
  for (guint i = 0; i < chart->labels->len; i++)
    {
      EfChartLabel *label = g_ptr_array_index (chart->labels, i);

      label->u = -label->u;
    }
  for (guint i = 0; i < chart->snaps->len; i++)
    {
      EfSnap *snap = &g_array_index (chart->snaps, EfSnap, i);

      snap->u = -snap->u;
      snap->u2 = -snap->u2;
      snap->angle = G_PI - snap->angle;
    }
  mirror_region (chart->solid);
  chart->rotation = -chart->rotation;
  chart->rotation_u = -chart->rotation_u;
  ef_chart_take_solid (chart, g_steal_pointer (&chart->solid));
}

void
ef_chart_take_solid (EfFaceChart *chart,
                     EfRegion *solid)
{
  double bounds[4];

  ef_region_bounds (solid, bounds);
  chart->solid = solid;
  chart->u0 = bounds[0];
  chart->v0 = bounds[1];
  chart->u1 = bounds[2];
  chart->v1 = bounds[3];
}

/* Shapes */

EfRing
ef_chart_rectangle (double u0,
                    double v0,
                    double u1,
                    double v1)
{
  double xy[] = { u0, v0, u1, v0, u1, v1, u0, v1 };

  return ef_ring_new (4, xy);
}

EfRegion *
ef_chart_region (EfRing ring)
{
  EfRegion *region = ef_region_new ();

  ef_region_take (region, ring);

  return region;
}

EfRegion *
ef_chart_cut (EfRegion *region,
              const EfRing *ring,
              GError **error)
{
  g_autoptr (EfRegion) from = region;
  g_autoptr (EfRegion) cutter = ef_chart_region (ef_ring_new (ring->n, ring->xy));

  return ef_region_combine (from, cutter, EF_REGION_DIFFERENCE, error);
}

static double
ring_distance (const EfRing *ring,
               double u,
               double v)
{
  double best = HUGE_VAL;

  for (guint i = 0; i < ring->n; i++)
    {
      const double *p = ring->xy + 2 * i;
      const double *q = ring->xy + 2 * ((i + 1) % ring->n);
      double du = q[0] - p[0];
      double dv = q[1] - p[1];
      double length2 = du * du + dv * dv;
      double t = length2 > 0.0 ? CLAMP (((u - p[0]) * du + (v - p[1]) * dv) / length2, 0.0, 1.0) : 0.0;

      best = MIN (best, hypot (u - p[0] - t * du, v - p[1] - t * dv));
    }

  return best;
}

/* The place on a coarse grid that is inside and farthest from the edge: where a label fits best. */
void
ef_chart_inner_point (const EfRing *ring,
                      double *u,
                      double *v)
{
  double box[4] = { HUGE_VAL, HUGE_VAL, -HUGE_VAL, -HUGE_VAL };
  double best = -1.0;

  for (guint i = 0; i < ring->n; i++)
    for (int k = 0; k < 2; k++)
      {
        box[k] = MIN (box[k], ring->xy[2 * i + k]);
        box[2 + k] = MAX (box[2 + k], ring->xy[2 * i + k]);
      }
  *u = ring->xy[0];
  *v = ring->xy[1];
  for (int i = 0; i <= 40; i++)
    for (int j = 0; j <= 40; j++)
      {
        double pu = box[0] + (box[2] - box[0]) * i / 40.0;
        double pv = box[1] + (box[3] - box[1]) * j / 40.0;
        double d = ef_ring_contains (ring, pu, pv) ? ring_distance (ring, pu, pv) : -1.0;

        if (d > best)
          {
            best = d;
            *u = pu;
            *v = pv;
          }
      }
}

/* The drive gear stands at angle 0; the driven one as it meshes then. */
double
ef_chart_turn (const EfPumpSheet *sheet,
               const EfSection *section,
               int axis)
{
  if (section == NULL)
    section = g_ptr_array_index (sheet->sections, 0);
  if (axis == 0)
    return 0.0;

  return ef_gear_pair_mesh_angle (&section->pair, 0.0, section->rotation);
}
