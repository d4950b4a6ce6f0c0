/* Flatness: least squares and minimum zone.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The point sets of tests/data/form are constructed; their zones follow from the construction (3 highs about a low, 2 highs and
 * 2 lows on crossing chords …) and were found by a linear programme and an exhaustive search over support planes as well.
 */
#include "metrology/ef-flatness.h"
#include "form-data.h"

#include <glpk.h>
#include <math.h>
#include <string.h>
#include "../isolate.h"

#define assert_near(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) - (expected)), <=, (tolerance))
#define assert_ratio(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) / (expected) - 1), <=, (tolerance))

/* mm. Relative tolerance 1e-7 for zones, 1e-6 for rms. */
static const struct
{
  const char *file;
  double vertical, normal;               /* minimum zone */
  double squares, squares_normal, rms;   /* least squares; rms square to the plane */
} sets[] = {
  { "flat_A_3-1.csv", 0.04, 0.04, 0.04998941716, 0.04998942822, 0.01237245185 },
  { "flat_B_2-2.csv", 0.03, 0.02999999925, 0.03623890764, 0.03623890928, 0.008722208446 },
  { "flat_C_1-3_tilted.csv", 0.025, 0.02499375234, 0.02884414425, 0.02883693314, 0.006987115945 },
  { "flat_D_saddle.csv", 0.02, 0.02, 0.02, 0.02, 0.005 },
  { "flat_E_worn.csv", 0.0164, 0.01639999919, 0.01760678571, 0.01760678499, 0.004045182007 },
};

static void
test_sets (void)
{
  for (guint i = 0; i < G_N_ELEMENTS (sets); i++)
    {
      g_autoptr (GError) error = NULL;
      guint n;
      g_autofree double *xyz = form_data_read (sets[i].file, 3, &n);
      EfFlatness flatness;
      EfFlatnessZone zone;

      g_assert_true (ef_flatness_least_squares (xyz, n, &flatness, &error));
      assert_ratio (flatness.flatness * 1e3, sets[i].squares, 1e-7);
      g_assert_true (ef_flatness_least_squares_normal (xyz, n, &flatness, &error));
      assert_ratio (flatness.flatness * 1e3, sets[i].squares_normal, 1e-7);
      assert_ratio (flatness.rms * 1e3, sets[i].rms, 1e-6);
      g_assert_true (ef_flatness_minimum_zone (xyz, n, &zone, &error));
      assert_ratio (zone.zone * 1e3, sets[i].vertical, 1e-7);
      assert_ratio (zone.bound, zone.zone, 1e-9);
      g_assert_true (ef_flatness_minimum_zone_normal (xyz, n, &zone, &error));
      assert_ratio (zone.zone * 1e3, sets[i].normal, 1e-7);
      g_assert_no_error (error);
    }
}

/* The carrying points of A are three highs about the low in the middle; of C one high within three lows. */
static void
test_contacts (void)
{
  guint n;
  g_autofree double *a = form_data_read ("flat_A_3-1.csv", 3, &n);
  g_autofree double *c = NULL;
  EfFlatnessZone zone;

  g_assert_true (ef_flatness_minimum_zone (a, n, &zone, NULL));
  g_assert_cmpuint (zone.n_high, ==, 3);
  g_assert_cmpuint (zone.n_low, ==, 1);
  g_assert_cmpuint (zone.low[0], ==, 3);
  for (guint i = 0; i < 3; i++)
    g_assert_cmpuint (zone.high[i], <, 3);
  c = form_data_read ("flat_C_1-3_tilted.csv", 3, &n);
  g_assert_true (ef_flatness_minimum_zone_normal (c, n, &zone, NULL));
  g_assert_cmpuint (zone.n_high, ==, 1);
  g_assert_cmpuint (zone.n_low, ==, 3);
  g_assert_cmpuint (zone.high[0], ==, 0);
  /* Each carrying point lies half the zone off the plane midway, square to it. */
  for (guint i = 0; i < 4; i++)
    {
      const double *p = c + 3 * (i == 0 ? zone.high[0] : zone.low[i - 1]);
      double off = (p[2] - ef_plane_at (&zone.plane, p[0], p[1])) / sqrt (1 + zone.plane.slope_x * zone.plane.slope_x + zone.plane.slope_y * zone.plane.slope_y);

      assert_near (off, (i == 0 ? 1 : -1) * zone.zone / 2, 1e-12);
    }
}

/* The same programme as a whole, by GLPK: heights in @unit so that its tolerances are small beside them. */
static double
zone_by_glpk (const double *xyz,
              guint n,
              double reach,
              double unit)
{
  glp_prob *problem = glp_create_prob ();
  glp_smcp options;
  double zone;

  glp_init_smcp (&options);
  options.msg_lev = GLP_MSG_OFF;
  options.tol_bnd = options.tol_dj = 1e-12;
  glp_set_obj_dir (problem, GLP_MIN);
  glp_add_cols (problem, 4);
  for (int k = 1; k <= 4; k++)
    glp_set_col_bnds (problem, k, GLP_FR, 0, 0);
  glp_set_obj_coef (problem, 1, 1);
  glp_set_obj_coef (problem, 2, -1);
  glp_add_rows (problem, 2 * (int) n);
  for (guint i = 0; i < n; i++)
    {
      const int high[] = { 0, 1, 3, 4 };
      const int low[] = { 0, 2, 3, 4 };
      const double row[] = { 0, 1, xyz[3 * i] / reach, xyz[3 * i + 1] / reach };

      glp_set_mat_row (problem, 2 * (int) i + 1, 3, high, row);
      glp_set_row_bnds (problem, 2 * (int) i + 1, GLP_LO, xyz[3 * i + 2] / unit, 0);
      glp_set_mat_row (problem, 2 * (int) i + 2, 3, low, row);
      glp_set_row_bnds (problem, 2 * (int) i + 2, GLP_UP, 0, xyz[3 * i + 2] / unit);
    }
  g_assert_cmpint (glp_simplex (problem, &options), ==, 0);
  g_assert_cmpint (glp_get_status (problem), ==, GLP_OPT);
  zone = glp_get_obj_val (problem) * unit;
  glp_delete_prob (problem);
  return zone;
}

/* 1,000 sets of all sorts: scattered, grids, worn bowls, rounded heights (many ties), tilted, few points. */
static void
test_against_glpk (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (20260602);

  for (int round = 0; round < 1000; round++)
    {
      g_autoptr (GError) error = NULL;
      guint n = (guint) g_rand_int_range (rand, round % 4 == 1 ? 9 : 4, 80);
      g_autofree double *xyz = g_new (double, 3 * n);
      double tilt = round % 3 == 0 ? 0.02 : 0;
      double expected;
      EfFlatnessZone zone;

      for (guint i = 0; i < n; i++)
        {
          double *p = xyz + 3 * i;

          p[0] = round % 4 == 1 ? (i % 7 - 3.0) * 0.01 : g_rand_double_range (rand, -0.04, 0.04);
          p[1] = round % 4 == 1 ? (i / 7 - 3.0) * 0.008 : g_rand_double_range (rand, -0.03, 0.03);
          p[2] = g_rand_double_range (rand, -20e-6, 20e-6);
          if (round % 5 == 2)
            p[2] += 30e-6 * (p[0] * p[0] + p[1] * p[1]) / 0.0025;
          if (round % 2 == 0)
            p[2] = round % 6 == 0 ? rint (p[2] * 1e6) * 1e-6 : rint (p[2] * 1e5) * 1e-5;
          p[2] += tilt * p[0] - tilt / 3 * p[1];
        }
      if (round % 7 == 3) /* repeats */
        memcpy (xyz, xyz + 3 * (n - 1), 3 * sizeof (double));

      ef_flatness_minimum_zone (xyz, n, &zone, &error);
      g_assert_no_error (error);
      expected = zone_by_glpk (xyz, n, 0.05, 20e-6);
      assert_near (zone.zone, expected, 1e-9 * expected + 1e-17);
      assert_near (zone.bound, expected, 1e-9 * expected + 1e-17);
      g_assert_cmpuint (zone.n_high + zone.n_low, <=, 4);
      /* The carrying points and their weights give the zone again. */
      for (guint i = 0; i < zone.n_high; i++)
        expected -= zone.high_weight[i] * xyz[3 * zone.high[i] + 2];
      for (guint i = 0; i < zone.n_low; i++)
        expected += zone.low_weight[i] * xyz[3 * zone.low[i] + 2];
      assert_near (expected, 0, 1e-9 * zone.zone + 1e-16);
    }
}

/* All planes through three points with a parallel one through a fourth, and all through two chords: the least distance of those that
 * hold all points. */
static void
try_normal (const double *xyz,
            guint n,
            const double a[3],
            const double b[3],
            double *least)
{
  double m[3] = { a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0] };
  double length = sqrt (m[0] * m[0] + m[1] * m[1] + m[2] * m[2]);
  double high = -INFINITY, low = INFINITY;

  if (length < 1e-12)
    return;
  for (guint i = 0; i < n; i++)
    {
      double d = (m[0] * xyz[3 * i] + m[1] * xyz[3 * i + 1] + m[2] * xyz[3 * i + 2]) / length;

      high = MAX (high, d);
      low = MIN (low, d);
      if (high - low >= *least)
        return;
    }
  *least = high - low;
}

static double
zone_by_search (const double *xyz,
                guint n)
{
  double least = INFINITY;
  guint pairs = n * (n - 1) / 2;
  g_autofree double *chords = g_new (double, 3 * pairs);
  guint c = 0;

  for (guint i = 0; i < n; i++)
    for (guint j = 0; j < i; j++, c++)
      for (guint k = 0; k < 3; k++)
        chords[3 * c + k] = xyz[3 * i + k] - xyz[3 * j + k];
  /* Two chords that share a point span a plane through three points. */
  for (guint i = 0; i < pairs; i++)
    for (guint j = 0; j < i; j++)
      try_normal (xyz, n, chords + 3 * i, chords + 3 * j, &least);
  return least;
}

/* Distance square to the planes, against the search, with slopes up to a quarter. */
static void
test_against_search (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (77);

  for (int round = 0; round < 60; round++)
    {
      g_autoptr (GError) error = NULL;
      guint n = (guint) g_rand_int_range (rand, 4, 22);
      g_autofree double *xyz = g_new (double, 3 * n);
      double height = round % 2 == 0 ? 20e-6 : 1e-3;
      EfFlatnessZone zone;

      for (guint i = 0; i < n; i++)
        {
          xyz[3 * i] = g_rand_double_range (rand, -0.04, 0.04);
          xyz[3 * i + 1] = g_rand_double_range (rand, -0.04, 0.04);
          xyz[3 * i + 2] = g_rand_double_range (rand, -height, height) + (round % 3) * 0.1 * xyz[3 * i] - 0.05 * xyz[3 * i + 1];
        }
      g_assert_true (ef_flatness_minimum_zone_normal (xyz, n, &zone, &error));
      assert_ratio (zone.zone, zone_by_search (xyz, n), 1e-9);
    }
}

static void
assert_fails (const double *xyz,
              guint n,
              EfError code)
{
  EfFlatness flatness;
  EfFlatnessZone zone;

  for (int k = 0; k < 4; k++)
    {
      g_autoptr (GError) error = NULL;
      gboolean done = k == 0   ? ef_flatness_least_squares (xyz, n, &flatness, &error)
                      : k == 1 ? ef_flatness_least_squares_normal (xyz, n, &flatness, &error)
                      : k == 2 ? ef_flatness_minimum_zone (xyz, n, &zone, &error)
                               : ef_flatness_minimum_zone_normal (xyz, n, &zone, &error);

      g_assert_false (done);
      g_assert_error (error, EF_ERROR, (int) code);
    }
}

static void
test_degenerate (void)
{
  const double line[] = { 0, 0, 0, 0.01, 0.02, 1e-6, 0.02, 0.04, 0, 0.03, 0.06, 2e-6, 0.04, 0.08, 1e-6 };
  const double same[] = { 0.01, 0.01, 0, 0.01, 0.01, 1e-6, 0.01, 0.01, 2e-6, 0.01, 0.01, 0 };
  const double three[] = { 0, 0, 1e-5, 0.03, 0, -2e-5, 0, 0.02, 3e-5 };
  double nan[] = { 0, 0, 0, 0.03, 0, 0, 0, 0.02, NAN, 0.01, 0.01, 0 };
  double stacked[] = { 0, 0, 0, 0, 0, 25e-6, 0.03, 0, 0, 0, 0.02, 0, 0.03, 0.02, 10e-6 };
  double plane[300];
  EfFlatness flatness;
  EfFlatnessZone zone;

  assert_fails (line, 5, EF_ERROR_GEOMETRY);
  assert_fails (same, 4, EF_ERROR_GEOMETRY);
  assert_fails (three, 2, EF_ERROR_INVALID);
  assert_fails (nan, 4, EF_ERROR_INVALID);
  nan[8] = 1e30;
  assert_fails (nan, 4, EF_ERROR_INVALID);

  /* Three places always lie on a plane. */
  g_assert_true (ef_flatness_minimum_zone_normal (three, 3, &zone, NULL));
  assert_near (zone.zone, 0, 1e-19);
  g_assert_true (ef_flatness_least_squares (three, 3, &flatness, NULL));
  assert_near (flatness.flatness, 0, 1e-19);

  /* Two heights at one place can't be nearer than they are. */
  g_assert_true (ef_flatness_minimum_zone (stacked, 5, &zone, NULL));
  assert_ratio (zone.zone, 25e-6, 1e-12);

  /* A tilted plane to rounding, all places twice. */
  for (int i = 0; i < 100; i++)
    {
      plane[3 * i] = i % 10 / 2 * 0.01;
      plane[3 * i + 1] = i / 10 * 0.007;
      plane[3 * i + 2] = 0.3 + 0.1 * plane[3 * i] - 0.2 * plane[3 * i + 1];
    }
  g_assert_true (ef_flatness_minimum_zone_normal (plane, 100, &zone, NULL));
  assert_near (zone.zone, 0, 1e-15);
  g_assert_cmpuint (zone.n_high, >=, 1);
  g_assert_cmpuint (zone.n_low, >=, 1);
  assert_near (zone.plane.slope_x, 0.1, 1e-12);
}

/* Moving, turning about the normal, scaling and the order of the points don't change the zone. */
static void
test_laws (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (3);
  guint n;
  g_autofree double *xyz = form_data_read ("flat_E_worn.csv", 3, &n);
  g_autofree double *moved = g_new (double, 3 * n);
  EfFlatnessZone zone, other;

  g_assert_true (ef_flatness_minimum_zone_normal (xyz, n, &zone, NULL));
  for (int round = 0; round < 20; round++)
    {
      double t = g_rand_double_range (rand, 0, 6);
      double scale = g_rand_double_range (rand, 0.1, 3);
      guint shift = (guint) g_rand_int_range (rand, 0, (gint32) n);

      for (guint i = 0; i < n; i++)
        {
          const double *p = xyz + 3 * ((i + shift) % n);

          moved[3 * i] = scale * (cos (t) * p[0] - sin (t) * p[1]) + 0.2;
          moved[3 * i + 1] = scale * (sin (t) * p[0] + cos (t) * p[1]) - 0.1;
          moved[3 * i + 2] = scale * p[2] + 0.05;
        }
      g_assert_true (ef_flatness_minimum_zone_normal (moved, n, &other, NULL));
      assert_ratio (other.zone, scale * zone.zone, 1e-9);
    }
}

/* 100,000 points of a worn face, heights as a probe gives them, to a tenth of a micrometre. */
static void
test_many (void)
{
  const guint n = 100000;
  g_autoptr (GRand) rand = g_rand_new_with_seed (1);
  g_autofree double *xyz = g_new (double, 3 * n);
  EfFlatness flatness;
  EfFlatnessZone zone;

  for (guint i = 0; i < n; i++)
    {
      xyz[3 * i] = g_rand_double_range (rand, -0.05, 0.05);
      xyz[3 * i + 1] = g_rand_double_range (rand, -0.04, 0.04);
      xyz[3 * i + 2] = rint ((g_rand_double_range (rand, 0, 4e-6) + 0.01 * xyz[3 * i] * xyz[3 * i] + 0.003 * xyz[3 * i + 1]) * 1e7) * 1e-7;
    }
  g_assert_true (ef_flatness_least_squares_normal (xyz, n, &flatness, NULL));
  g_assert_true (ef_flatness_minimum_zone_normal (xyz, n, &zone, NULL));
  assert_ratio (zone.bound, zone.zone, 1e-9);
  g_assert_cmpfloat (zone.zone, <=, flatness.flatness);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);

  g_test_add_func ("/metrology/flatness/sets", test_sets);
  g_test_add_func ("/metrology/flatness/carrying-points", test_contacts);
  g_test_add_func ("/metrology/flatness/against-glpk", test_against_glpk);
  g_test_add_func ("/metrology/flatness/against-search", test_against_search);
  g_test_add_func ("/metrology/flatness/degenerate", test_degenerate);
  g_test_add_func ("/metrology/flatness/laws", test_laws);
  g_test_add_func ("/metrology/flatness/many-points", test_many);

  return g_test_run ();
}
