/* The pump after the rework: bringing the record up to date.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-after.h"

#include <math.h>
#include <string.h>

static const char *const places[2] = { "drive", "driven" };

gboolean
ef_after_recorded (const EfInspection *inspection)
{
  GPtrArray *readings = inspection->items[EF_ITEM_READING];

  if (inspection->items[EF_ITEM_WORK]->len > 0)
    return TRUE;
  for (guint i = 0; i < readings->len; i++)
    if (((const EfReading *) readings->pdata[i])->after)
      return TRUE;

  return FALSE;
}

double
ef_after_gauge_u (const EfGauge *gauge)
{
  double own = 0.5 * gauge->uncertainty;

  return sqrt (2.0 * own * own * (1.0 - EF_SAME_GAUGE_CORRELATION) + gauge->resolution * gauge->resolution / 6.0);
}

double
ef_after_removed (const EfInspection *inspection,
                  const char *face_id,
                  double *u_out)
{
  GPtrArray *all = inspection->items[EF_ITEM_WORK];
  double sum = NAN, variance = 0.0;

  for (guint i = 0; i < all->len; i++)
    {
      const EfWork *work = all->pdata[i];
      const EfGauge *gauge = ef_inspection_find (inspection, EF_ITEM_GAUGE, work->gauge_id);

      if (g_strcmp0 (work->face_id, face_id) != 0 || isnan (work->removed))
        continue;
      sum = (isnan (sum) ? 0.0 : sum) + work->removed;
      variance += gauge != NULL ? pow (ef_after_gauge_u (gauge), 2) : NAN;
    }
  if (u_out != NULL)
    *u_out = isnan (sum) ? NAN : sqrt (variance);

  return sum;
}

gboolean
ef_after_replaced (const EfInspection *inspection,
                   const char *part_id)
{
  g_autofree char *id = part_id != NULL ? g_strdelimit (g_strdup_printf ("replace-%s", part_id), "/", '-') : NULL;

  return id != NULL && ef_inspection_find (inspection, EF_ITEM_TICK, id) != NULL;
}

static void
set_stock (GHashTable *stock,
           const char *face_id,
           double metres)
{
  double *value = g_new (double, 1);

  *value = MAX (metres, 0.0);
  g_hash_table_replace (stock, g_strdup (face_id), value);
}

GHashTable *
ef_after_stock (const EfInspection *inspection,
                GPtrArray *steps)
{
  GHashTable *stock = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  GPtrArray *all = inspection->items[EF_ITEM_WORK];

  for (guint i = 0; i < steps->len; i++)
    {
      const EfStep *step = steps->pdata[i];

      if (step->face_id != NULL && !isnan (step->stock) && !g_hash_table_contains (stock, step->face_id))
        set_stock (stock, step->face_id, step->stock);
    }
  for (guint i = 0; i < inspection->sheet->parts->len; i++)
    {
      const EfPart *part = inspection->sheet->parts->pdata[i];
      g_auto (GStrv) faces = ef_after_replaced (inspection, part->id) ? ef_part_face_ids (inspection->sheet, part->id) : NULL;

      for (guint k = 0; faces != NULL && faces[k] != NULL; k++)
        set_stock (stock, faces[k], 1.0);
    }
  for (guint i = 0; i < all->len; i++)
    {
      const EfWork *work = all->pdata[i];
      double removed = ef_after_removed (inspection, work->face_id, NULL);

      if (!isnan (removed))
        set_stock (stock, work->face_id, removed);
    }

  return stock;
}

static double
removed_or_0 (const EfInspection *inspection,
              const char *face_id)
{
  double removed = face_id != NULL ? ef_after_removed (inspection, face_id, NULL) : NAN;

  return isnan (removed) ? 0.0 : removed;
}

static double
off_gear (const EfInspection *inspection,
          const char *part_id)
{
  g_autofree char *end_a = g_strconcat (part_id, "/end-a", NULL);
  g_autofree char *end_b = g_strconcat (part_id, "/end-b", NULL);

  return removed_or_0 (inspection, end_a) + removed_or_0 (inspection, end_b);
}

static char *
part_id_of (const char *face_id)
{
  const char *slash = strchr (face_id, '/');

  return slash != NULL ? g_strndup (face_id, (gsize) (slash - face_id)) : g_strdup (face_id);
}

/* Marks */

static EfMark *
lapped_mark (const EfMark *mark,
             double removed)
{
  EfMark *copy = (EfMark *) ef_item_copy (&mark->item);

  for (guint i = 0; i < copy->depths->len; i++)
    {
      EfMarkDepth *depth = &g_array_index (copy->depths, EfMarkDepth, i);

      depth->depth = ef_length_on_grid (MAX (depth->depth - removed, 0.0));
    }

  return copy;
}

/* Each of its reasons that asks for more than use again names a small job that is ticked off. */
static gboolean
is_settled (const EfInspection *inspection,
            const EfVerdict *found,
            const EfMark *mark)
{
  g_autofree char *id = g_strdup_printf ("mark:%s", mark->item.id);
  const EfVerdict *node = found != NULL ? ef_verdict_find (found, id) : NULL;
  gboolean settled = FALSE;

  for (guint i = 0; node != NULL && i < node->reasons->len; i++)
    {
      const EfReason *reason = node->reasons->pdata[i];
      gboolean small = g_strcmp0 (reason->action, "dress") == 0 || g_strcmp0 (reason->action, "stone") == 0;
      g_autofree char *step = small ? g_strdelimit (g_strdup_printf ("%s-%s", reason->action, reason->target), "/", '-') : NULL;

      if (reason->word == EF_VERDICT_USE)
        continue;
      if (step == NULL || ef_inspection_find (inspection, EF_ITEM_TICK, step) == NULL)
        return FALSE;
      settled = TRUE;
    }

  return settled;
}

static void
lap_marks (EfInspection *after,
           const EfInspection *before,
           const EfVerdict *found)
{
  GPtrArray *marks = g_ptr_array_new_with_free_func (ef_item_unref);

  for (guint i = 0; i < before->items[EF_ITEM_MARK]->len; i++)
    {
      const EfMark *mark = before->items[EF_ITEM_MARK]->pdata[i];
      g_autofree char *part = part_id_of (mark->face_id);
      double removed = ef_after_removed (before, mark->face_id, NULL);

      if (ef_after_replaced (before, part) || is_settled (before, found, mark))
        continue;
      if (!(removed > 0.0) || mark->depths->len == 0)
        g_ptr_array_add (marks, ef_item_ref ((gpointer) mark));
      else if (ef_mark_deepest (mark) > removed)
        g_ptr_array_add (marks, lapped_mark (mark, removed));
    }
  g_ptr_array_unref (after->items[EF_ITEM_MARK]);
  after->items[EF_ITEM_MARK] = marks;
}

/* Readings */

static gboolean
read_after (const EfInspection *inspection,
            EfQuantity quantity,
            const char *target,
            const char *place)
{
  GPtrArray *readings = inspection->items[EF_ITEM_READING];

  for (guint i = 0; i < readings->len; i++)
    {
      const EfReading *reading = readings->pdata[i];

      if (reading->after && reading->quantity == quantity && g_strcmp0 (reading->target, target) == 0
          && (place == NULL || g_strcmp0 (reading->place, place) == 0))
        return TRUE;
    }

  return FALSE;
}

/* What of a found value is left after the rework; NAN: nothing, it's been overtaken. */
static double
value_after (const EfInspection *inspection,
             const EfReading *reading)
{
  const EfSection *section = ef_pump_sheet_section (inspection->sheet, reading->target);
  int gear = g_strcmp0 (reading->place, places[1]) == 0 ? 1 : 0;
  g_autofree char *part = part_id_of (reading->target);
  gboolean gear_new = section != NULL && (ef_after_replaced (inspection, section->gear_part[0]) || ef_after_replaced (inspection, section->gear_part[1]));

  if (ef_after_replaced (inspection, part) || (section != NULL && ef_after_replaced (inspection, section->pocket_part)))
    return NAN;
  switch (reading->quantity)
    {
    case EF_READ_END_CLEARANCE:
      if (section == NULL || ef_after_replaced (inspection, section->gear_part[gear])
          || read_after (inspection, EF_READ_POCKET_DEPTH, section->id, reading->place)
          || read_after (inspection, EF_READ_FACE_WIDTH, section->gear_part[gear], NULL))
        return NAN;
      return reading->value - removed_or_0 (inspection, section->mating_face) + off_gear (inspection, section->gear_part[gear]);
    case EF_READ_POCKET_DEPTH:
      return section != NULL ? reading->value - removed_or_0 (inspection, section->mating_face) : reading->value;
    case EF_READ_FACE_WIDTH:
      return reading->value - off_gear (inspection, reading->target);
    case EF_READ_TIP_CLEARANCE:
    case EF_READ_BACKLASH:
    case EF_READ_SIDE_PLAY:
      return gear_new ? NAN : reading->value;
    case EF_READ_FLATNESS:
      return removed_or_0 (inspection, reading->target) > 0.0 ? NAN : reading->value;
    default:
      return reading->value;
    }
}

static void
bring_readings (EfInspection *after,
                const EfInspection *before)
{
  GPtrArray *readings = g_ptr_array_new_with_free_func (ef_item_unref);

  for (guint i = 0; i < before->items[EF_ITEM_READING]->len; i++)
    {
      const EfReading *reading = before->items[EF_ITEM_READING]->pdata[i];
      double value = reading->value;
      EfReading *copy;

      if (!reading->after)
        {
          if (read_after (before, reading->quantity, reading->target, reading->place))
            continue;
          value = value_after (before, reading);
          if (isnan (value))
            continue;
        }
      if (!reading->after && value == reading->value)
        {
          g_ptr_array_add (readings, ef_item_ref ((gpointer) reading));
          continue;
        }
      copy = (EfReading *) ef_item_copy (&reading->item);
      copy->value = ef_length_on_grid (value);
      copy->after = FALSE;
      g_ptr_array_add (readings, copy);
    }
  g_ptr_array_unref (after->items[EF_ITEM_READING]);
  after->items[EF_ITEM_READING] = readings;
}

/* Checks and overrides */

static void
bring_rest (EfInspection *after,
            const EfInspection *before)
{
  GPtrArray *checks = g_ptr_array_new_with_free_func (ef_item_unref);
  GPtrArray *overrides = g_ptr_array_new_with_free_func (ef_item_unref);

  for (guint i = 0; i < before->items[EF_ITEM_CHECK]->len; i++)
    {
      EfCheck *check = before->items[EF_ITEM_CHECK]->pdata[i];

      if (!ef_after_replaced (before, check->item.id))
        {
          g_ptr_array_add (checks, ef_item_ref (check));
          continue;
        }
      check = (EfCheck *) ef_item_copy (&check->item);
      check->state = EF_CHECK_SOUND;
      g_ptr_array_add (checks, check);
    }
  for (guint i = 0; i < before->items[EF_ITEM_OVERRIDE]->len; i++)
    {
      EfOverride *override = before->items[EF_ITEM_OVERRIDE]->pdata[i];

      if (g_strcmp0 (override->verdict, ef_verdict_name (EF_VERDICT_USE)) == 0)
        g_ptr_array_add (overrides, ef_item_ref (override));
    }
  g_ptr_array_unref (after->items[EF_ITEM_CHECK]);
  g_ptr_array_unref (after->items[EF_ITEM_OVERRIDE]);
  after->items[EF_ITEM_CHECK] = checks;
  after->items[EF_ITEM_OVERRIDE] = overrides;
}

EfInspection *
ef_after_inspection (const EfInspection *inspection,
                     const EfVerdict *found,
                     GError **error)
{
  EfInspection *after;

  if (!ef_after_recorded (inspection))
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_NOT_FOUND, "after rework: expected a record of work or a reading taken after it, found none");
      return NULL;
    }
  after = ef_inspection_copy (inspection);
  lap_marks (after, inspection, found);
  bring_readings (after, inspection);
  bring_rest (after, inspection);

  return after;
}

gboolean
ef_after_observation (const EfLapTable *table,
                      const EfPumpSheet *sheet,
                      const EfWork *work,
                      const EfGauge *gauge,
                      EfLapObservation *out,
                      const char **material_out)
{
  g_autofree char *part_id = part_id_of (work->face_id);
  const EfPart *part = ef_pump_sheet_part (sheet, part_id);

  *out = (EfLapObservation){ .pressure = work->pressure, .stroke = work->stroke, .removal = work->removed };
  if (gauge == NULL || part == NULL || isnan (work->removed) || ef_lap_table_material (table, part->material) == NULL)
    return FALSE;
  for (guint i = 0; i < work->n_passes; i++)
    {
      int grit = ef_lap_table_grit (table, work->passes[i].grit);

      if (grit < 0)
        return FALSE;
      out->passes[grit] += work->passes[i].count;
    }
  out->u = ef_after_gauge_u (gauge);
  *material_out = part->material;

  return ef_lap_observation_check (out, table->n_grits, NULL);
}
