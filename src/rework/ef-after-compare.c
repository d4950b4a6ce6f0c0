/* What was measured again, against what was expected.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Expected is what was found, moved by the stock of the steps. A face is lapped until the gauge shows the stock gone, so its target is met within
 * EF_AFTER_TARGET. The gauges' errors before and after are taken as independent.
 */
#include "ef-after.h"

#include <math.h>
#include <string.h>

void
ef_after_row_free (EfAfterRow *row)
{
  if (row == NULL)
    return;

  g_free (row->quantity);
  g_free (row->target);
  g_free (row->place);
  g_free (row->label);
  g_free (row->sentence);
  g_free (row);
}

double
ef_after_en (double measured,
             double u_measured,
             double predicted,
             double u_predicted)
{
  return (measured - predicted) / (2.0 * sqrt (u_measured * u_measured + u_predicted * u_predicted));
}

static char *
length_text (double value,
             double u)
{
  if (isnan (u))
    return g_strdup_printf ("%.3f mm", 1e3 * value);

  return g_strdup_printf ("%.3f ± %.3f mm", 1e3 * value, 2e3 * u);
}

static char *
sentence_of (const EfAfterRow *row)
{
  g_autofree char *measured = length_text (row->measured, row->u_measured);
  g_autofree char *predicted = length_text (row->predicted, row->u_predicted);

  if (isnan (row->predicted))
    return g_strdup_printf ("%s: measured %s after the rework; nothing was expected of it to compare with.", row->label, measured);
  if (isnan (row->en))
    return g_strdup_printf ("%s: expected %s, measured %s; how far apart they may be can't be said without a gauge for each reading.",
                            row->label, predicted, measured);
  if (row->outside)
    return g_strdup_printf ("%s: expected %s, measured %s: outside what both allow (En %.1f). Measure again, then look for why.",
                            row->label, predicted, measured, row->en);

  return g_strdup_printf ("%s: expected %s, measured %s: as expected.", row->label, predicted, measured);
}

/* Takes @label. */
static void
add_row (GPtrArray *rows,
         const char *quantity,
         const char *target,
         const char *place,
         char *label,
         double predicted,
         double u_predicted,
         double measured,
         double u_measured)
{
  EfAfterRow *row = g_new0 (EfAfterRow, 1);

  row->quantity = g_strdup (quantity);
  row->target = g_strdup (target);
  row->place = g_strdup (place);
  row->label = label;
  row->predicted = predicted;
  row->u_predicted = u_predicted;
  row->measured = measured;
  row->u_measured = u_measured;
  row->en = ef_after_en (measured, u_measured, predicted, u_predicted);
  row->outside = fabs (row->en) > 1.0;
  row->sentence = sentence_of (row);
  g_ptr_array_add (rows, row);
}

static double
planned_on (GPtrArray *steps,
            const char *face_id)
{
  for (guint i = 0; face_id != NULL && i < steps->len; i++)
    {
      const EfStep *step = steps->pdata[i];

      if (g_strcmp0 (step->face_id, face_id) == 0 && !isnan (step->stock))
        return step->stock;
    }

  return 0.0;
}

/* Adds what the steps take off the face to @value, @sign times, and how well the target is met to @variance. */
static void
move_by (GPtrArray *steps,
         const char *face_id,
         double sign,
         double *value,
         double *variance)
{
  double stock = planned_on (steps, face_id);

  *value += sign * stock;
  if (stock > 0.0)
    *variance += EF_AFTER_TARGET * EF_AFTER_TARGET / 3.0;
}

static gboolean
is_replaced (GPtrArray *steps,
             const char *part_id)
{
  for (guint i = 0; i < steps->len; i++)
    {
      const EfStep *step = steps->pdata[i];

      if (g_strcmp0 (step->part_id, part_id) == 0 && g_str_has_prefix (step->id, "replace-"))
        return TRUE;
    }

  return FALSE;
}

/* What is expected of a value after the steps, from the same value as found. */
static double
expect (const EfFindings *before,
        GPtrArray *steps,
        const EfDerived *after,
        double *u_out)
{
  const EfDerived *found = ef_derived_find (before->derived, after->quantity, after->target, after->place);
  const EfSection *section = ef_pump_sheet_section (before->inspection->sheet, after->target);
  int gear = g_strcmp0 (after->place, "driven") == 0 ? 1 : 0;
  const char *gear_part = section != NULL ? section->gear_part[gear] : after->target;
  g_autofree char *end_a = g_strconcat (gear_part, "/end-a", NULL);
  g_autofree char *end_b = g_strconcat (gear_part, "/end-b", NULL);
  double value, variance;

  *u_out = NAN;
  if (found == NULL || is_replaced (steps, gear_part) || is_replaced (steps, after->target) || (section != NULL && is_replaced (steps, section->pocket_part))
      || g_str_equal (after->quantity, "flatness"))
    return NAN;

  value = found->value;
  variance = found->uncertainty * found->uncertainty;
  if (section != NULL && (g_str_equal (after->quantity, "end-clearance") || g_str_equal (after->quantity, "pocket-depth")))
    move_by (steps, section->mating_face, -1.0, &value, &variance);
  if (g_str_equal (after->quantity, "end-clearance") || g_str_equal (after->quantity, "face-width"))
    {
      double sign = section != NULL ? 1.0 : -1.0;

      move_by (steps, end_a, sign, &value, &variance);
      move_by (steps, end_b, sign, &value, &variance);
    }
  *u_out = sqrt (variance);

  return value;
}

/* At least one of its readings was taken after the rework. */
static gboolean
is_measured_after (const EfInspection *inspection,
                   const EfDerived *derived)
{
  for (guint i = 0; i < derived->reading_ids->len; i++)
    {
      const EfReading *reading = ef_inspection_find (inspection, EF_ITEM_READING, derived->reading_ids->pdata[i]);

      if (reading != NULL && reading->after)
        return TRUE;
    }

  return FALSE;
}

static const char *
label_of (const char *quantity)
{
  static const char *const others[][2] = {
    { "width-difference", "Difference of the gears' widths" },
    { "tip-clearance-mean", "Mean tip clearance" },
    { "bore-clearance", "Clearance in the bore" },
    { "bore-ovality", "Ovality of the bore" },
    { "journal-ovality", "Ovality of the journal" },
  };
  EfQuantity known;

  if (ef_quantity_from_name (quantity, &known))
    return ef_quantity_label (known);
  for (guint i = 0; i < G_N_ELEMENTS (others); i++)
    if (g_str_equal (others[i][0], quantity))
      return others[i][1];

  return quantity;
}

static char *
face_label (const EfFindings *findings,
            const char *face_id)
{
  const EfFaceChart *chart = g_hash_table_lookup (findings->charts, face_id);
  const EfPart *part = chart != NULL ? ef_pump_sheet_part (findings->inspection->sheet, chart->part_id) : NULL;

  if (part == NULL)
    return g_strdup (face_id);

  return g_strdup_printf ("%s, %s", part->name, chart->name);
}

static char *
subject_of (const EfFindings *findings,
            const EfDerived *derived)
{
  const EfPumpSheet *sheet = findings->inspection->sheet;
  const EfSection *section = ef_pump_sheet_section (sheet, derived->target);
  const EfPart *part = ef_pump_sheet_part (sheet, derived->target);
  g_autofree char *face = face_label (findings, derived->target);
  const char *name = section != NULL ? section->name : part != NULL ? part->name : face;

  if (derived->place == NULL)
    return g_strdup_printf ("%s, %s", label_of (derived->quantity), name);
  if (section != NULL)
    return g_strdup_printf ("%s, %s, %s gear", label_of (derived->quantity), name, derived->place);

  return g_strdup_printf ("%s, %s, %s", label_of (derived->quantity), name, derived->place);
}

static void
compare_removed (const EfFindings *before,
                 GPtrArray *steps,
                 GPtrArray *rows)
{
  GPtrArray *all = before->inspection->items[EF_ITEM_WORK];
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);

  for (guint i = 0; i < all->len; i++)
    {
      const EfWork *work = all->pdata[i];
      double u, removed = ef_after_removed (before->inspection, work->face_id, &u);
      double planned = planned_on (steps, work->face_id);
      g_autofree char *face = face_label (before, work->face_id);

      if (isnan (removed) || !g_hash_table_add (seen, work->face_id))
        continue;
      add_row (rows, "removal", work->face_id, NULL, g_strdup_printf ("Taken off %s", face),
               planned > 0.0 ? planned : NAN, planned > 0.0 ? EF_AFTER_TARGET / sqrt (3.0) : NAN, removed, u);
    }
}

GPtrArray *
ef_after_compare (const EfFindings *before,
                  GPtrArray *after_derived,
                  GPtrArray *steps)
{
  GPtrArray *rows = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_after_row_free);

  compare_removed (before, steps, rows);
  for (guint i = 0; i < after_derived->len; i++)
    {
      const EfDerived *after = after_derived->pdata[i];
      double u, expected;

      /* A value in two ways, read and worked out: the one that counts. */
      if (!is_measured_after (before->inspection, after)
          || ef_derived_find (after_derived, after->quantity, after->target, after->place) != after)
        continue;
      expected = expect (before, steps, after, &u);
      add_row (rows, after->quantity, after->target, after->place, subject_of (before, after), expected, u, after->value, after->uncertainty);
    }

  return rows;
}
