/* An inspection with marks of every kind, readings, gauges and notes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "sample.h"
#include "draw/ef-draw-form.h"

#include <math.h>

EfPumpSheet *
sample_sheet (const char *id)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *name = g_strconcat (id, ".json", NULL);
  g_autofree char *path = ef_data_path ("pump-sheets", name, NULL);
  EfPumpSheet *sheet = ef_pump_sheet_load (path, &error);

  g_assert_no_error (error);
  return sheet;
}

static EfMark *
scatter_mark (const EfFaceChart *chart, GRand *rand, int kind, guint n)
{
  double du = chart->u1 - chart->u0, dv = chart->v1 - chart->v0, reach = MIN (du, dv);
  EfMarkShape shape = kind == EF_MARK_IMPRINT ? EF_SHAPE_POINT : (EfMarkShape) g_rand_int_range (rand, 0, 3);
  double size = shape == EF_SHAPE_POINT ? reach * g_rand_double_range (rand, 0.02, 0.09) : g_rand_double_range (rand, 1e-4, 1.5e-3);
  EfMark *mark = ef_mark_new (chart->id, (EfMarkKind) kind, shape, size);
  double u = 0, v = 0, a = g_rand_double_range (rand, 0, 2 * G_PI), r = reach * g_rand_double_range (rand, 0.06, 0.2);

  for (int k = 0; k < 200; k++)
    {
      u = g_rand_double_range (rand, chart->u0 + 0.05 * du, chart->u1 - 0.05 * du);
      v = g_rand_double_range (rand, chart->v0 + 0.05 * dv, chart->v1 - 0.05 * dv);
      if (ef_region_contains (chart->solid, u, v))
        break;
    }
  if (shape == EF_SHAPE_POINT)
    ef_mark_add_node (mark, u, v);
  else if (shape == EF_SHAPE_LINE)
    for (int k = -1; k <= 1; k++)
      ef_mark_add_node (mark, u + k * r * cos (a + 0.2 * k), v + k * r * sin (a + 0.2 * k));
  else
    for (int k = 0; k < 7; k++)
      ef_mark_add_node (mark, u + r * (0.6 + 0.3 * sin (2.3 * k)) * cos (k * 2 * G_PI / 7), v + 0.7 * r * (0.7 + 0.2 * cos (1.7 * k)) * sin (k * 2 * G_PI / 7));
  if (n % 4 != 3)
    {
      const EfMarkNode *first = &g_array_index (mark->nodes, EfMarkNode, 0);
      const EfMarkNode *last = &g_array_index (mark->nodes, EfMarkNode, mark->nodes->len - 1);

      ef_mark_add_depth (mark, first->u, first->v, 1e-6 * g_rand_int_range (rand, 5, 120), EF_UNIT_MM, "depth");
      if (shape != EF_SHAPE_POINT && n % 2 == 0)
        ef_mark_add_depth (mark, last->u, last->v, 1e-6 * g_rand_int_range (rand, 5, 120), EF_UNIT_MM, "depth");
    }
  mark->number = (int) n + 1;
  return mark;
}

GPtrArray *
sample_marks (const EfFaceChart *chart, guint n, guint32 seed)
{
  GPtrArray *marks = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (GRand) rand = g_rand_new_with_seed (seed);

  for (guint i = 0; i < n; i++)
    g_ptr_array_add (marks, scatter_mark (chart, rand, (int) (i % EF_N_MARK_KINDS), i));
  return marks;
}

static void
put (EfInspection *inspection, gpointer item)
{
  g_autoptr (GError) error = NULL;

  ef_inspection_swap (inspection, NULL, item, &error);
  g_assert_no_error (error);
  ef_item_unref (item);
}

static void
put_header (EfInspection *inspection)
{
  g_autoptr (GError) error = NULL;
  EfItem *before = g_ptr_array_index (inspection->items[EF_ITEM_HEADER], 0);
  EfJobHeader *job = ef_item_copy (before);

  job->serial = g_strdup ("1187");
  job->received = g_strdup ("2026-03-02");
  job->customer = g_strdup ("working launch, port engine");
  job->bench = g_strdup ("bench 2");
  job->role = g_strdup ("rebuilder");
  job->hours = 6150;
  job->complaint = g_strdup ("Oil pressure low at hot idle after a torn filter; Öldruck 0,6 bar; debris up to 120 µm in the sump.");
  job->found_pressure = 0.6e5;
  job->found_temperature = 363.15;
  job->expected_pressure = 1.8e5;
  ef_inspection_swap (inspection, before, (EfItem *) job, &error);
  g_assert_no_error (error);
  ef_item_unref (job);
}

static void
put_reading (EfInspection *inspection, EfQuantity quantity, const char *target, const char *place, double angle, double value)
{
  EfReading *reading = ef_item_new (&ef_reading_class, NULL);

  reading->quantity = quantity;
  reading->target = g_strdup (target);
  reading->place = g_strdup (place);
  reading->angle = angle;
  reading->u = reading->v = NAN;
  reading->value = value;
  reading->unit = EF_UNIT_MM;
  reading->gauge_id = g_strdup ("depth");
  reading->temperature = 293.15;
  reading->time = g_strdup ("2026-03-02T09:30:00Z");
  put (inspection, reading);
}

static void
put_readings (EfInspection *inspection)
{
  const EfPumpSheet *sheet = inspection->sheet;
  EfGauge *gauge = ef_item_new (&ef_gauge_class, "depth");

  gauge->kind = EF_GAUGE_DEPTH;
  gauge->name = g_strdup ("Depth micrometer 0–25 mm");
  gauge->serial = g_strdup ("D-07");
  gauge->resolution = 1e-5;
  gauge->uncertainty = 6e-6;
  gauge->range_min = 0;
  gauge->range_max = 25e-3;
  gauge->due = g_strdup ("2026-11-30");
  put (inspection, gauge);
  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = g_ptr_array_index (sheet->sections, i);

      put_reading (inspection, EF_READ_POCKET_DEPTH, section->id, "drive", NAN, section->pocket_depth + 2e-5);
      put_reading (inspection, EF_READ_END_CLEARANCE, section->id, "driven", NAN, 1.5e-4);
      put_reading (inspection, EF_READ_BACKLASH, section->id, NULL, NAN, 2.2e-4);
    }
}

EfInspection *
sample_inspection (EfPumpSheet *sheet, guint n_marks)
{
  EfInspection *inspection = ef_inspection_new (sheet, "J-0412");
  g_auto (GStrv) ids = ef_face_ids (sheet);
  guint n_faces = n_marks > 0 ? MIN (g_strv_length (ids), 6) : 0, made = 0;

  put_header (inspection);
  put_readings (inspection);
  for (guint i = 0; i < n_faces; i++)
    {
      guint n = (n_marks - made) / (n_faces - i);
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, ids[i], NULL);
      g_autoptr (GPtrArray) marks = sample_marks (chart, n, 7 + i);

      for (guint k = 0; k < marks->len; k++)
        {
          EfMark *mark = ef_item_copy (g_ptr_array_index (marks, k));

          mark->number = (int) (made + k) + 1;
          if (k % 3 == 0)
            mark->note = g_strdup ("From the delivery side towards suction; edges sharp, can be felt with a nail.");
          put (inspection, mark);
        }
      made += n;
    }
  return inspection;
}

EfAssessment *
sample_assess (const EfInspection *inspection)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);
  EfAssessment *assessment;

  g_assert_no_error (error);
  assessment = ef_assess (inspection, rules, NULL, NULL, &error);
  g_assert_no_error (error);
  return assessment;
}

EfAssessment *
sample_face_assessment (EfPumpSheet *sheet, EfFaceChart *chart, GPtrArray *marks)
{
  g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, "J-0412");

  put_readings (inspection);
  for (guint i = 0; i < marks->len; i++)
    put (inspection, ef_item_ref (g_ptr_array_index (marks, i)));
  return sample_assess (inspection);
}

static EfReading *
reading_at (EfQuantity quantity, const char *target, const char *place, double value)
{
  EfReading *reading = ef_reading_new (quantity, target, place, 1e-6 * rint (1e6 * value), EF_UNIT_MM, "depth");

  return reading;
}

GPtrArray *
sample_flat_readings (const EfFaceChart *chart)
{
  GPtrArray *readings = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (GArray) places = ef_flat_places (chart, NULL, 0);
  double reach = hypot (chart->u1 - chart->u0, chart->v1 - chart->v0) / 2;

  for (guint i = 0; i < places->len; i++)
    {
      const EfFlatPlace *place = &g_array_index (places, EfFlatPlace, i);
      double x = place->u / reach, y = place->v / reach;
      EfReading *reading = reading_at (EF_READ_FLATNESS, chart->id, NULL, 6e-6 * x - 4e-6 * y + 14e-6 * x * x - 22e-6 * y * y + 5e-6 * x * y);

      reading->u = place->u;
      reading->v = place->v;
      g_ptr_array_add (readings, reading);
    }
  return readings;
}

GPtrArray *
sample_bore_readings (const char *part, const char *place, double diameter, guint n)
{
  GPtrArray *readings = g_ptr_array_new_with_free_func (ef_item_unref);

  for (guint i = 0; i < n; i++)
    {
      double angle = ef_angle_from_deg (180.0 * i / n);
      EfReading *reading = reading_at (EF_READ_BORE_DIAMETER, part, place, diameter + 38e-6 + 6e-6 * cos (2 * (angle - ef_angle_from_deg (105))));

      reading->angle = angle;
      g_ptr_array_add (readings, reading);
    }
  return readings;
}
