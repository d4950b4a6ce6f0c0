/* The pump as it will be put together, with parts from the shelf in place of its own.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-replacement.h"

#include <math.h>

static const char *const places[2] = { "drive", "driven" };

static const EfReplacement *
replacement_of (const EfInspection *self,
                const char *part_id)
{
  return part_id != NULL ? ef_inspection_find (self, EF_ITEM_REPLACEMENT, part_id) : NULL;
}

static char *
part_of_face (const char *face_id)
{
  return g_strndup (face_id, strcspn (face_id, "/"));
}

static gboolean
goes_with_parts (const EfInspection *self,
                 const EfReading *reading)
{
  for (guint i = 0; i < self->items[EF_ITEM_REPLACEMENT]->len; i++)
    {
      const EfItem *item = self->items[EF_ITEM_REPLACEMENT]->pdata[i];
      const EfPart *part = ef_pump_sheet_part (self->sheet, item->id);

      if (part != NULL && ef_reading_of_part (self->sheet, reading, part, TRUE))
        return TRUE;
    }

  return FALSE;
}

/* A verdict set by hand on what was found says nothing of what stands in: its part's, its marks', and all above it. */
static gboolean
override_stands (const EfInspection *self,
                 const EfOverride *override)
{
  const char *id = override->item.id;

  if (g_str_has_prefix (id, "part:"))
    return replacement_of (self, id + strlen ("part:")) == NULL;
  if (g_str_has_prefix (id, "mark:"))
    {
      const EfMark *mark = ef_inspection_find (self, EF_ITEM_MARK, id + strlen ("mark:"));
      g_autofree char *part = mark != NULL ? part_of_face (mark->face_id) : NULL;

      return replacement_of (self, part) == NULL;
    }

  return FALSE;
}

static void
drop_old (const EfInspection *self,
          EfInspection *fitted)
{
  guint i;

  for (i = 0; i < fitted->items[EF_ITEM_MARK]->len;)
    {
      const EfMark *mark = fitted->items[EF_ITEM_MARK]->pdata[i];
      g_autofree char *part = part_of_face (mark->face_id);

      if (replacement_of (self, part) != NULL)
        g_ptr_array_remove_index (fitted->items[EF_ITEM_MARK], i);
      else
        i++;
    }
  for (i = 0; i < fitted->items[EF_ITEM_WORK]->len;)
    {
      const EfWork *work = fitted->items[EF_ITEM_WORK]->pdata[i];
      g_autofree char *part = work->face_id != NULL ? part_of_face (work->face_id) : NULL;

      if (replacement_of (self, part) != NULL)
        g_ptr_array_remove_index (fitted->items[EF_ITEM_WORK], i);
      else
        i++;
    }
  for (i = 0; i < fitted->items[EF_ITEM_READING]->len;)
    {
      if (goes_with_parts (self, fitted->items[EF_ITEM_READING]->pdata[i]))
        g_ptr_array_remove_index (fitted->items[EF_ITEM_READING], i);
      else
        i++;
    }
  for (i = 0; i < fitted->items[EF_ITEM_OVERRIDE]->len;)
    {
      if (override_stands (self, fitted->items[EF_ITEM_OVERRIDE]->pdata[i]))
        i++;
      else
        g_ptr_array_remove_index (fitted->items[EF_ITEM_OVERRIDE], i);
    }
  for (i = 0; i < fitted->items[EF_ITEM_CHECK]->len;)
    {
      const EfItem *check = fitted->items[EF_ITEM_CHECK]->pdata[i];

      if (replacement_of (self, check->id) != NULL)
        g_ptr_array_remove_index (fitted->items[EF_ITEM_CHECK], i);
      else
        i++;
    }
}

static char *
own_id (const EfReplacement *replacement,
        const char *id)
{
  return g_strdup_printf ("%s: %s", replacement->shelf, id);
}

/* A copy with an id that can't be taken by one of the job's. */
static gpointer
adopted (const EfReplacement *replacement,
         const EfItem *item)
{
  EfItem *copy = ef_item_copy (item);

  g_free (copy->id);
  copy->id = own_id (replacement, item->id);

  return copy;
}

static void
adopt_gauge (const EfReplacement *replacement,
             char **gauge_id)
{
  char *own = *gauge_id != NULL ? own_id (replacement, *gauge_id) : NULL;

  g_free (*gauge_id);
  *gauge_id = own;
}

static void
put_in (EfInspection *fitted,
        const EfReplacement *replacement)
{
  for (guint i = 0; i < replacement->gauges->len; i++)
    g_ptr_array_add (fitted->items[EF_ITEM_GAUGE], adopted (replacement, replacement->gauges->pdata[i]));
  for (guint i = 0; i < replacement->marks->len; i++)
    {
      EfMark *mark = adopted (replacement, replacement->marks->pdata[i]);

      mark->number = ef_inspection_next_number (fitted);
      for (guint k = 0; k < mark->depths->len; k++)
        adopt_gauge (replacement, &g_array_index (mark->depths, EfMarkDepth, k).gauge_id);
      g_ptr_array_add (fitted->items[EF_ITEM_MARK], mark);
    }
  for (guint i = 0; i < replacement->readings->len; i++)
    {
      EfReading *reading = adopted (replacement, replacement->readings->pdata[i]);

      adopt_gauge (replacement, &reading->gauge_id);
      g_ptr_array_add (fitted->items[EF_ITEM_READING], reading);
    }
}

/* A value that nobody has read yet, with the uncertainty it has: a gauge of its own carries it. */
static void
work_out (EfInspection *fitted,
          EfQuantity quantity,
          const char *target,
          const char *place,
          double angle,
          double value,
          double u)
{
  g_autofree char *id = g_strdup_printf ("worked out: %s %s %s %g", ef_quantity_name (quantity), target, place != NULL ? place : "", angle);
  EfReading *reading = ef_reading_new (quantity, target, place, ef_length_on_grid (value), EF_UNIT_MM, NULL);

  g_free (reading->item.id);
  reading->item.id = g_strdup (id);
  reading->angle = angle;
  reading->note = g_strdup ("Worked out from the sizes of the parts; measure it when the pump is together.");
  if (!isnan (u))
    {
      EfGauge *gauge = ef_gauge_default (EF_GAUGE_DIAL);

      g_free (gauge->item.id);
      gauge->item.id = g_strdup (id);
      g_free (gauge->name);
      gauge->name = g_strdup ("Worked out from sizes");
      gauge->resolution = 1e-6;
      gauge->uncertainty = ef_length_on_grid (2.0 * u);
      gauge->range_min = gauge->range_max = NAN;
      g_ptr_array_add (fitted->items[EF_ITEM_GAUGE], gauge);
      reading->gauge_id = g_strdup (id);
    }
  g_ptr_array_add (fitted->items[EF_ITEM_READING], reading);
}

/* Standard uncertainty of a reading's gauge; NAN. */
static double
reading_u (const EfInspection *self,
           const EfReading *reading)
{
  const EfGauge *gauge = reading->gauge_id != NULL ? ef_inspection_find (self, EF_ITEM_GAUGE, reading->gauge_id) : NULL;

  return gauge != NULL ? 0.5 * gauge->uncertainty : NAN;
}

/* The job's own wall is known by what was read at it with the old gear, whose tips count as new. */
static void
tip_at_own_wall (const EfInspection *self,
                 EfInspection *fitted,
                 const EfSection *section,
                 int gear,
                 const EfPartSize *tip)
{
  for (guint i = 0; i < self->items[EF_ITEM_READING]->len; i++)
    {
      const EfReading *reading = self->items[EF_ITEM_READING]->pdata[i];

      if (reading->quantity == EF_READ_TIP_CLEARANCE && g_strcmp0 (reading->target, section->id) == 0 && g_strcmp0 (reading->place, places[gear]) == 0)
        work_out (fitted, EF_READ_TIP_CLEARANCE, section->id, places[gear], reading->angle,
                  MAX (reading->value + section->pair.in.tip_radius[gear] - 0.5 * tip->value, 0.0),
                  hypot (reading_u (self, reading), 0.5 * tip->uncertainty));
    }
}

static void
work_out_tips (const EfInspection *self,
               EfInspection *fitted,
               const EfSection *section)
{
  const EfReplacement *housing = replacement_of (self, section->pocket_part);

  for (int gear = 0; gear < 2; gear++)
    {
      const EfReplacement *new_gear = replacement_of (self, section->gear_part[gear]);
      const EfPartSize *tip = new_gear != NULL ? ef_replacement_size (new_gear, "tip-diameter", NULL) : NULL;
      const EfPartSize *wall = housing != NULL ? ef_replacement_size (housing, "pocket-diameter", places[gear]) : NULL;

      if (housing == NULL && new_gear != NULL && tip != NULL)
        tip_at_own_wall (self, fitted, section, gear, tip);
      else if (wall != NULL && (new_gear == NULL || tip != NULL))
        work_out (fitted, EF_READ_TIP_CLEARANCE, section->id, places[gear], NAN,
                  MAX (0.5 * wall->value - (tip != NULL ? 0.5 * tip->value : section->pair.in.tip_radius[gear]), 0.0),
                  hypot (0.5 * wall->uncertainty, tip != NULL ? 0.5 * tip->uncertainty : 0.0));
    }
}

static void
work_out_backlash (const EfInspection *self,
                   EfInspection *fitted,
                   const EfSection *section)
{
  for (int gear = 1; gear >= 0; gear--)
    {
      const EfReplacement *new_gear = replacement_of (self, section->gear_part[gear]);
      const EfPartSize *backlash = new_gear != NULL ? ef_replacement_size (new_gear, "backlash", NULL) : NULL;

      if (backlash == NULL)
        continue;
      work_out (fitted, EF_READ_BACKLASH, section->id, NULL, NAN, backlash->value, backlash->uncertainty);
      return;
    }
}

EfInspection *
ef_inspection_fitted (const EfInspection *self,
                      GError **error)
{
  g_autoptr (EfInspection) fitted = NULL;
  const GPtrArray *replacements = self->items[EF_ITEM_REPLACEMENT];

  if (replacements->len == 0)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_NOT_FOUND, "expected a part from the shelf in this job, found none");
      return NULL;
    }
  for (guint i = 0; i < replacements->len; i++)
    if (!ef_inspection_check_item (self, replacements->pdata[i], error))
      return NULL;

  fitted = ef_inspection_copy (self);
  drop_old (self, fitted);
  g_ptr_array_set_size (fitted->items[EF_ITEM_REPLACEMENT], 0);
  for (guint i = 0; i < replacements->len; i++)
    put_in (fitted, replacements->pdata[i]);
  for (guint i = 0; i < self->sheet->sections->len; i++)
    {
      work_out_tips (self, fitted, self->sheet->sections->pdata[i]);
      work_out_backlash (self, fitted, self->sheet->sections->pdata[i]);
    }

  return g_steal_pointer (&fitted);
}
