/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-cross-private.h"

#include "../metrology/ef-bore.h"
#include "ef-rule.h"

#include <math.h>
#include <string.h>

#define WITHIN (25.0 * G_PI / 180.0)  /* computation: how far wear by the load may lie from it */
#define U_LOAD (5.0 * G_PI / 180.0)   /* of the computed load's direction: an assumption */
#define SIGNIFICANT 3.0               /* an ovality's direction is told when it's this many times its uncertainty */
#define SUSPECT 4.0                   /* standard uncertainties that a suspect lies from what the others say */
#define CLEARS_UP 3.0                 /* times less that the others scatter without it */
#define SUSPECT_DIRECTIONS 6

const char *const ef_cross_sides[2] = { "drive", "driven" };

void
ef_cross_free (EfCross *cross)
{
  if (cross == NULL)
    return;

  g_free (cross->id);
  g_free (cross->target);
  g_free (cross->sentence);
  g_free (cross->next);
  g_ptr_array_unref (cross->refs);
  g_free (cross);
}

/* Takes @id. */
EfCross *
ef_cross_add (GPtrArray *list,
              char *id,
              const char *target)
{
  EfCross *cross = g_new0 (EfCross, 1);

  cross->id = id;
  cross->target = g_strdup (target);
  cross->direction = cross->u_direction = cross->load = NAN;
  cross->period = 2.0 * G_PI;
  cross->refs = g_ptr_array_new_with_free_func (g_free);
  g_ptr_array_add (list, cross);

  return cross;
}

/* Angle between two directions; @period: a whole turn, or half of one. */
static double
apart (double a,
       double b,
       double period)
{
  return fabs (remainder (a - b, period));
}

int
ef_cross_degrees (double angle)
{
  return (int) lround (remainder (angle, 2.0 * G_PI) * 180.0 / G_PI);
}

void
ef_cross_compare (EfCross *cross,
                  double period,
                  const char *what)
{
  double off = apart (cross->direction, cross->load, period);
  double allowed = WITHIN + 2.0 * hypot (cross->u_direction, U_LOAD);

  cross->period = period;
  cross->consistent = off <= allowed;
  if (cross->consistent)
    {
      cross->sentence = g_strdup_printf ("%s lies %d° from the computed load on the gear (%d° at %d°): consistent with wear by the oil's pressure.",
                                         what, ef_cross_degrees (off), ef_cross_degrees (cross->direction), ef_cross_degrees (cross->load));
      cross->next = g_strdup ("Measure the shaft's play in this bore: it lets the gear reach the wall.");
      return;
    }
  cross->sentence = g_strdup_printf ("%s lies %d° from the computed load on the gear (%d° against %d°, allowed %d°): not consistent with wear by the oil's pressure.",
                                     what, ef_cross_degrees (off), ef_cross_degrees (cross->direction), ef_cross_degrees (cross->load), ef_cross_degrees (allowed));
  cross->next = g_strdup ("Check the locating pins and their holes, how the parts fit together, and look for the track of a foreign body; then measure this place again.");
}

/* A lip by its nodes about the gear's axis: the middle, and half its extent as rectangular. */
static void
compare_lip (const EfFindings *findings,
             const EfSection *section,
             const double load_psi[2],
             const EfMark *mark,
             GPtrArray *list)
{
  const EfFaceChart *chart = g_hash_table_lookup (findings->charts, mark->face_id);
  g_autofree char *what = NULL;
  double low, high, radius;
  double bounds[4];
  EfCross *cross;

  if (chart == NULL || chart->kind != EF_FACE_WALL || chart->section != section || chart->gear < 0 || chart->gear > 1)
    return;
  radius = chart->cylinder_radius;
  if (!(radius > 0.0) || isnan (load_psi[chart->gear]))
    return;
  ef_mark_bounds (mark, bounds);
  low = bounds[0] / radius;
  high = bounds[2] / radius;
  cross = ef_cross_add (list, g_strdup_printf ("lip:%s", mark->item.id), mark->face_id);
  cross->direction = 0.5 * (low + high);
  cross->u_direction = 0.5 * (high - low) / sqrt (3.0);
  cross->load = load_psi[chart->gear];
  what = g_strdup_printf ("The lip on the pocket wall, %s side (mark %d),", ef_cross_sides[chart->gear], mark->number);
  ef_cross_compare (cross, 2.0 * G_PI, what);
  g_ptr_array_add (cross->refs, g_strdup_printf ("mark:%s", mark->item.id));
}

void
ef_cross_add_readings (EfCross *cross,
                       const EfDerived *derived)
{
  for (guint i = 0; i < derived->reading_ids->len; i++)
    g_ptr_array_add (cross->refs, g_strdup_printf ("reading:%s", (char *) derived->reading_ids->pdata[i]));
}

/* The bores that this section's gears run in: of the part round its pocket, and of parts that belong to the section. */
static gboolean
is_of_section (const EfSection *section,
               const EfPart *part)
{
  return g_strcmp0 (section->pocket_part, part->id) == 0 || g_strcmp0 (part->section, section->id) == 0;
}

static void
compare_ovality (const EfFindings *findings,
                 const EfSection *section,
                 const double load_psi[2],
                 const EfDerived *derived,
                 GPtrArray *list)
{
  const EfPart *part = ef_pump_sheet_part (findings->inspection->sheet, derived->target);
  const EfCylinder *bore = part != NULL ? ef_part_cylinder (part->bores, derived->place) : NULL;
  g_autofree char *name = NULL;
  g_autofree char *what = NULL;
  EfCross *cross;

  if (bore == NULL || !is_of_section (section, part) || bore->axis < 0 || bore->axis > 1 || isnan (load_psi[bore->axis])
      || !isfinite (derived->direction) || !isfinite (derived->u_direction) || !(derived->value > SIGNIFICANT * derived->uncertainty))
    return;
  name = ef_rule_lower (part->name);
  cross = ef_cross_add (list, g_strdup_printf ("bore-ovality:%s:%s", part->id, bore->id), part->id);
  cross->direction = derived->direction;
  cross->u_direction = derived->u_direction;
  cross->load = load_psi[bore->axis];
  what = g_strdup_printf ("The longest diameter of the %s shaft bore of the %s", ef_cross_sides[bore->axis], name);
  ef_cross_compare (cross, G_PI, what);
  ef_cross_add_readings (cross, derived);
}

typedef struct
{
  guint n;
  double *angles, *values;
} Set;

/* Fit without reading @left_out: how much it lies off, and the rms of the others. */
static gboolean
fit_without (const Set *set,
             guint left_out,
             double *off,
             double *rms)
{
  g_autofree double *angles = g_new (double, set->n);
  g_autofree double *values = g_new (double, set->n);
  EfBoreShape shape;
  guint n = 0;

  for (guint i = 0; i < set->n; i++)
    if (i != left_out)
      {
        angles[n] = set->angles[i];
        values[n++] = set->values[i];
      }
  if (!ef_bore_from_diameters (angles, values, NULL, n, &shape, NULL))
    return FALSE;
  *rms = shape.residual;
  *off = set->values[left_out] - shape.mean
         - (shape.amplitude > 0.0 ? 2.0 * shape.amplitude * cos (2.0 * (set->angles[left_out] - shape.direction)) : 0.0);

  return TRUE;
}

/* Leave one out: the one that the others contradict, when they agree among themselves without it. */
static void
find_suspect (const EfFindings *findings,
              const EfDerived *derived,
              GPtrArray *list)
{
  g_autofree double *angles = g_new (double, derived->reading_ids->len + 1);
  g_autofree double *values = g_new (double, derived->reading_ids->len + 1);
  g_autofree const EfReading **readings = g_new (const EfReading *, derived->reading_ids->len + 1);
  Set set = { 0, angles, values };
  EfBoreShape all;
  double worst = 0.0, worst_rms = 0.0, u = 0.0;
  guint suspect = 0;
  EfCross *cross;

  for (guint i = 0; i < derived->reading_ids->len; i++)
    {
      const EfReading *reading = ef_inspection_find (findings->inspection, EF_ITEM_READING, derived->reading_ids->pdata[i]);
      const EfGauge *gauge = reading != NULL && reading->gauge_id != NULL
                               ? ef_inspection_find (findings->inspection, EF_ITEM_GAUGE, reading->gauge_id) : NULL;

      if (reading == NULL || gauge == NULL || !isfinite (reading->angle))
        continue;
      u = fmax (u, gauge->uncertainty / 2.0);
      angles[set.n] = reading->angle;
      values[set.n] = reading->value;
      readings[set.n++] = reading;
    }
  if (set.n < SUSPECT_DIRECTIONS || !ef_bore_from_diameters (angles, values, NULL, set.n, &all, NULL))
    return;
  for (guint i = 0; i < set.n; i++)
    {
      double off, rms;

      if (!fit_without (&set, i, &off, &rms))
        return;
      if (i == 0 || rms < worst_rms)
        {
          worst = off;
          worst_rms = rms;
          suspect = i;
        }
    }
  if (fabs (worst) <= SUSPECT * u || all.residual <= CLEARS_UP * worst_rms || worst_rms > 2.0 * u)
    return;

  cross = ef_cross_add (list, g_strdup_printf ("suspect:%s", readings[suspect]->item.id), derived->target);
  cross->sentence = g_strdup_printf ("Bore diameter at %d° of %s, %s: %.3f mm lies %.3f mm from what the other %u readings say: suspect.",
                                     ef_cross_degrees (readings[suspect]->angle), derived->target, derived->place, readings[suspect]->value * 1e3,
                                     worst * 1e3, set.n - 1);
  cross->next = g_strdup ("Read this diameter again; look for dirt or a burr under the gauge's feet, and at the figures as written down.");
  g_ptr_array_add (cross->refs, g_strdup_printf ("reading:%s", readings[suspect]->item.id));
}

GPtrArray *
ef_cross_findings (const EfFindings *findings,
                   const EfSection *section,
                   const double load_psi[2])
{
  GPtrArray *list = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_cross_free);
  GPtrArray *marks = findings->inspection->items[EF_ITEM_MARK];

  for (guint i = 0; section != NULL && i < marks->len; i++)
    if (((const EfMark *) marks->pdata[i])->kind == EF_MARK_LIP)
      compare_lip (findings, section, load_psi, marks->pdata[i], list);
  for (guint i = 0; i < findings->derived->len; i++)
    {
      const EfDerived *derived = findings->derived->pdata[i];

      if (section != NULL && g_str_equal (derived->quantity, "bore-ovality"))
        compare_ovality (findings, section, load_psi, derived, list);
      if (g_str_equal (derived->quantity, "bore-diameter"))
        find_suspect (findings, derived, list);
    }
  if (section != NULL)
    {
      ef_cross_journals (findings, section, load_psi, list);
      ef_cross_tilt (findings, section, load_psi, list);
    }
  ef_cross_suspects (findings, list);

  return list;
}
