/* The form of faces and bores from readings: numbering of places, who carries the zone, circles from diameters.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/ef-flat-form.h"
#include "metrology/ef-round-form.h"

#include <math.h>
#include <string.h>

static EfPumpSheet *
load_sheet (void)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  EfPumpSheet *sheet = ef_pump_sheet_load (path, &error);

  g_assert_no_error (error);
  return sheet;
}

static void
read_height (GPtrArray *readings,
             const char *face,
             double u,
             double v,
             double height)
{
  EfReading *reading = ef_reading_new (EF_READ_FLATNESS, face, NULL, height, EF_UNIT_MM, NULL);

  reading->u = u;
  reading->v = v;
  g_ptr_array_add (readings, reading);
}

/* A tilted plane with one place 12 um up and one 3 um down: the zone is that of the four corners and these, by hand. */
static void
test_flat (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ();
  g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, "separator/side-a", NULL);
  g_autoptr (GPtrArray) readings = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (EfFlatForm) form = NULL;
  static const double at[5][3] = { { -0.03, -0.02, 0 }, { 0.03, -0.02, 0 }, { 0.03, 0.02, 0 }, { -0.03, 0.02, 0 }, { 0, 0, 12e-6 } };

  for (guint i = 0; i < 5; i++)
    read_height (readings, chart->id, at[i][0], at[i][1], at[i][2] + 2e-4 * at[i][0] - 1e-4 * at[i][1]);
  form = ef_flat_form_new (chart, (EfReading *const *) readings->pdata, readings->len, NULL);
  g_assert_true (form->known);
  g_assert_cmpuint (form->n, ==, 5);
  g_assert_cmpuint (form->n_places, ==, 5); /* the plan's own places give way */
  /* 12 um over corners that lie in one plane; constructed, to the tilt's second order */
  g_assert_cmpfloat_with_epsilon (form->zone, 12e-6, 1e-12);
  g_assert_cmpint (form->points[4].carries, ==, 1);
  g_assert_cmpfloat_with_epsilon (form->points[4].deviation, 6e-6, 1e-12);
  for (guint i = 0; i < 4; i++)
    g_assert_cmpfloat_with_epsilon (form->points[i].deviation, -6e-6, 1e-12);
  g_assert_cmpfloat (form->limit, ==, 0.03e-3);
  g_assert_true (isnan (form->uncertainty));
}

static void
test_flat_numbers (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ();
  g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, "separator/side-a", NULL);
  g_autoptr (GPtrArray) readings = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (GArray) plan = ef_flat_places (chart, NULL, 0);
  const EfFlatPlace *place = &g_array_index (plan, EfFlatPlace, 4);
  g_autoptr (EfFlatForm) form = NULL;

  g_assert_cmpuint (plan->len, ==, 9);
  /* the fifth of the plan twice, one elsewhere, one on another face */
  read_height (readings, chart->id, 0.001, 0.002, 5e-6);
  read_height (readings, chart->id, place->u, place->v, 1e-6);
  read_height (readings, chart->id, place->u + 1e-7, place->v, 3e-6);
  read_height (readings, "separator/side-b", 0, 0, 1e-3);
  form = ef_flat_form_new (chart, (EfReading *const *) readings->pdata, readings->len, NULL);
  g_assert_cmpuint (form->n_places, ==, 10);
  g_assert_cmpuint (form->n, ==, 2);
  g_assert_cmpuint (form->points[0].number, ==, 5);
  g_assert_cmpuint (form->points[0].repeats, ==, 2);
  g_assert_cmpfloat_with_epsilon (form->points[0].height, 2e-6, 1e-15);
  g_assert_cmpuint (form->points[1].number, ==, 10);
  g_assert_false (form->known);
  g_assert_nonnull (strstr (form->reason, "found 2"));
  g_assert_true (isnan (form->zone));
}

static void
read_diameter (GPtrArray *readings,
               double degrees,
               double diameter)
{
  EfReading *reading = ef_reading_new (EF_READ_BORE_DIAMETER, "pressure-housing", "drive", diameter, EF_UNIT_MM, "g");

  reading->angle = degrees * G_PI / 180;
  g_ptr_array_add (readings, reading);
}

/* d(t) = 18.040 + 0.012 cos 2 (t - 30 deg) / 2: everything follows by hand; constructed. */
static void
test_round (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ();
  g_autoptr (GPtrArray) readings = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (EfItem) gauge = (EfItem *) ef_gauge_default (EF_GAUGE_BORE);
  EfGauge *gauges[1] = { (EfGauge *) gauge };
  g_autoptr (EfRoundForm) form = NULL;
  g_autoptr (EfRoundForm) few = NULL;

  g_free (gauge->id);
  gauge->id = g_strdup ("g");
  for (int k = 0; k < 6; k++)
    read_diameter (readings, 30 * k + (k == 3 ? 180 : 0), 18.040e-3 + 6e-6 * cos (2 * (30 * k - 30) * G_PI / 180));
  few = ef_round_form_new (sheet, EF_READ_BORE_DIAMETER, "pressure-housing", "drive", (EfReading *const *) readings->pdata, 2, gauges, 1, NULL);
  g_assert_false (few->known);
  g_assert_nonnull (strstr (few->reason, "found 2"));
  form = ef_round_form_new (sheet, EF_READ_BORE_DIAMETER, "pressure-housing", "drive", (EfReading *const *) readings->pdata, readings->len, gauges, 1, NULL);
  g_assert_true (form->known && form->oval_known);
  g_assert_cmpuint (form->n_directions, ==, 6);
  g_assert_cmpuint (form->n_points, ==, 12);
  g_assert_cmpfloat_with_epsilon (form->ovality, 12e-6, 1e-12);
  g_assert_cmpfloat_with_epsilon (form->direction, G_PI / 6, 1e-9);
  g_assert_true (form->u_ovality > 0 && form->u_direction > 0);
  /* half the spread of the six diameters: +6 at 30, -6 at 120 degrees */
  for (int kind = 0; kind < EF_N_CIRCLES; kind++)
    {
      g_assert_cmpfloat_with_epsilon (form->circle[kind].roundness, 6e-6, 1e-10);
      g_assert_cmpfloat (hypot (form->circle[kind].x, form->circle[kind].y), <, 1e-9);
    }
  g_assert_cmpfloat_with_epsilon (form->circle[EF_CIRCLE_MCCI].radius, 9.023e-3, 1e-11);
  g_assert_cmpfloat_with_epsilon (form->circle[EF_CIRCLE_MICI].radius, 9.017e-3, 1e-11);
  g_assert_cmpfloat (form->limit, ==, 0.03e-3);
}

/* Half of the bore read at 40 degrees C: of a light-alloy housing they come out larger by 20 K of its expansion, and that's no ovality. */
static void
test_round_warm (void)
{
  g_autoptr (EfPumpSheet) sheet = load_sheet ();
  g_autoptr (GPtrArray) readings = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (GPtrArray) derived = NULL;
  g_autoptr (EfRoundForm) form = NULL;
  double alpha = NAN;

  g_assert_true (ef_material_expansion (ef_pump_sheet_part (sheet, "pressure-housing")->material, &alpha));
  for (int k = 0; k < 6; k++)
    {
      double warm = k < 3 ? 20 : 0;

      read_diameter (readings, 30 * k, 18.040e-3 * (1 + warm * alpha));
      ((EfReading *) readings->pdata[k])->temperature = 293.15 + warm;
    }
  derived = ef_derive (sheet, (EfReading *const *) readings->pdata, readings->len, NULL, 0);
  form = ef_round_form_new (sheet, EF_READ_BORE_DIAMETER, "pressure-housing", "drive", (EfReading *const *) readings->pdata, readings->len, NULL, 0, NULL);
  g_assert_cmpuint (form->n_directions, ==, 6);
  for (int k = 0; k < 6; k++)
    g_assert_cmpfloat_with_epsilon (form->directions[k].diameter, 18.040e-3, 10e-9); /* second order: (20 alpha)^2 of 18 mm is 4 nm */
  g_assert_cmpfloat (form->ovality, <, 20e-9);
  g_assert_cmpfloat_with_epsilon (form->ovality, ef_derived_find (derived, "bore-ovality", "pressure-housing", "drive")->value, 1e-12);
}

static void
test_round_points (void)
{
  double xy[2 * 36];
  static const double line[] = { 0, 0, 1, 0, 2, 0 };
  g_autoptr (EfRoundForm) form = NULL;
  g_autoptr (EfRoundForm) bad = ef_round_form_from_points (line, 3);

  g_assert_false (bad->known);
  g_assert_nonnull (bad->reason);
  for (int k = 0; k < 36; k++)
    {
      double t = k * G_PI / 18, r = 9e-3 + 4e-6 * cos (2 * (t - 1)) + 1e-6 * cos (3 * t);

      xy[2 * k] = 1e-4 + r * cos (t);
      xy[2 * k + 1] = -2e-4 + r * sin (t);
    }
  form = ef_round_form_from_points (xy, 36);
  g_assert_true (form->known && form->oval_known && !form->from_diameters);
  g_assert_cmpfloat_with_epsilon (form->amplitude, 4e-6, 1e-8);
  g_assert_cmpfloat_with_epsilon (form->direction, 1.0, 1e-3);
  g_assert_cmpfloat (form->circle[EF_CIRCLE_MZCI].roundness, <=, form->circle[EF_CIRCLE_LSCI].roundness);
}

int
main (int argc,
      char **argv)
{
  g_test_init (&argc, &argv, NULL);
  g_test_add_func ("/metrology/form/flat", test_flat);
  g_test_add_func ("/metrology/form/flat-numbers", test_flat_numbers);
  g_test_add_func ("/metrology/form/round", test_round);
  g_test_add_func ("/metrology/form/round-warm", test_round_warm);
  g_test_add_func ("/metrology/form/round-points", test_round_points);
  return g_test_run ();
}
