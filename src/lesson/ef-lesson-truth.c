/* What is to be measured in a lesson, and what it truly is: from the reference's readings.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-lesson-place.h"

#include <math.h>
#include <string.h>

#define ANGLE_REACH (15 * G_PI / 180)
#define PLACE_REACH 10e-3
#define SAME 1e-9

void
ef_lesson_place_clear (EfLessonPlace *place)
{
  g_free (place->target);
  g_free (place->place);
  g_clear_pointer (&place->shown, g_ptr_array_unref);
}

static void
truth_free (gpointer data)
{
  EfLessonTruth *truth = data;

  ef_lesson_place_clear (&truth->place);
  g_free (truth);
}

/* Diameters are the same from both sides. */
static double
angle_apart (EfQuantity quantity,
             double a,
             double b)
{
  double turn = quantity == EF_READ_BORE_DIAMETER || quantity == EF_READ_JOURNAL_DIAMETER ? G_PI : 2 * G_PI;

  return fabs (remainder (a - b, turn));
}

double
ef_lesson_place_apart (const EfLessonPlace *place,
                       const EfReading *reading)
{
  double apart = 0;

  if (place->quantity != reading->quantity || g_strcmp0 (place->target, reading->target) != 0 || g_strcmp0 (place->place, reading->place) != 0)
    return INFINITY;
  if (!isnan (place->angle) && !isnan (reading->angle))
    apart = angle_apart (place->quantity, place->angle, reading->angle) / ANGLE_REACH;
  if (!isnan (place->u) && !isnan (reading->u))
    apart = fmax (apart, hypot (place->u - reading->u, place->v - reading->v) / PLACE_REACH);

  return apart <= 1 ? apart : INFINITY;
}

int
ef_lesson_truth_find (const GPtrArray *truth,
                      const EfReading *reading)
{
  double nearest = INFINITY;
  int found = -1;

  for (guint i = 0; i < truth->len; i++)
    {
      double apart = ef_lesson_place_apart (&((EfLessonTruth *) truth->pdata[i])->place, reading);

      if (apart < nearest)
        {
          nearest = apart;
          found = (int) i;
        }
    }

  return found;
}

static EfLessonTruth *
add_truth (GPtrArray *list,
           EfQuantity quantity,
           const char *target,
           const char *place,
           double angle,
           double u,
           double v)
{
  EfLessonTruth *truth = g_new0 (EfLessonTruth, 1);

  truth->place = (EfLessonPlace){ .quantity = quantity, .target = g_strdup (target), .place = g_strdup (place), .angle = angle, .u = u, .v = v };
  g_ptr_array_add (list, truth);

  return truth;
}

static EfLessonTruth *
truth_at (GPtrArray *list,
          const EfReading *reading)
{
  for (guint i = 0; i < list->len; i++)
    {
      EfLessonTruth *truth = list->pdata[i];

      if (ef_lesson_place_apart (&truth->place, reading) < SAME)
        return truth;
    }

  return add_truth (list, reading->quantity, reading->target, reading->place, reading->angle, reading->u, reading->v);
}

static gboolean
is_measured (const EfLesson *lesson,
             EfQuantity quantity)
{
  return g_strv_contains ((const char *const *) lesson->terms.measure, ef_quantity_name (quantity));
}

/* End clearance can be felt with blades though the reference has pocket and gear only. */
static void
add_clearances (const EfLesson *lesson,
                GPtrArray *list)
{
  const EfInspection *reference = lesson->reference;
  g_autoptr (GPtrArray) derived = ef_derive (reference->sheet, (EfReading *const *) reference->items[EF_ITEM_READING]->pdata, reference->items[EF_ITEM_READING]->len,
                                             (EfGauge *const *) reference->items[EF_ITEM_GAUGE]->pdata, reference->items[EF_ITEM_GAUGE]->len);

  for (guint i = 0; i < derived->len; i++)
    {
      const EfDerived *one = derived->pdata[i];
      g_autoptr (EfItem) reading = NULL;

      if (!g_str_equal (one->quantity, "end-clearance"))
        continue;
      reading = (EfItem *) ef_reading_new (EF_READ_END_CLEARANCE, one->target, one->place, one->value, EF_UNIT_MM, NULL);
      if (ef_lesson_truth_find (list, (const EfReading *) reading) < 0)
        add_truth (list, EF_READ_END_CLEARANCE, one->target, one->place, NAN, NAN, NAN)->value = one->value;
    }
}

GPtrArray *
ef_lesson_truth (const EfLesson *lesson)
{
  GPtrArray *list = g_ptr_array_new_with_free_func (truth_free);
  const GPtrArray *readings = lesson->reference->items[EF_ITEM_READING];
  g_autoptr (GHashTable) counts = g_hash_table_new (NULL, NULL);

  for (guint i = 0; i < readings->len; i++)
    {
      const EfReading *reading = readings->pdata[i];
      EfLessonTruth *truth;
      guint n;

      if (reading->after || !is_measured (lesson, reading->quantity))
        continue;
      truth = truth_at (list, reading);
      n = GPOINTER_TO_UINT (g_hash_table_lookup (counts, truth)) + 1;
      g_hash_table_insert (counts, truth, GUINT_TO_POINTER (n));
      truth->value += (reading->value - truth->value) / n;
    }
  if (is_measured (lesson, EF_READ_END_CLEARANCE))
    add_clearances (lesson, list);

  return list;
}
