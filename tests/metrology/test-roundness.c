/* Roundness: the four reference circles and the second harmonic.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The point sets of tests/data/form are constructed (contacts that interlace at a known zone; lobes; one-sided wear with noise); their
 * values were found by an exhaustive search over all circles through points and by direct minimisation, which agree.
 */
#include "metrology/ef-roundness.h"
#include "form-data.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"

#define assert_near(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) - (expected)), <=, (tolerance))
#define assert_ratio(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) / (expected) - 1), <=, (tolerance))
/* Coordinates are rounded to 1e-9 mm; values hold to 1e-6 mm. */
#define DATA 1e-9

/* mm */
static const struct
{
  const char *file;
  double zone, squares, circumscribed, inscribed;
  double zone_x, zone_y;
  double squares_x, squares_y, squares_r;
  double circumscribed_r, inscribed_r;
} sets[] = {
  { "round_A_2-2.csv", 0.01000000042, 0.01072519772, 0.01000000042, 0.01505640849, 0.01299999999, -0.007999999917,
    0.01321760674, -0.00858321887, 7.000678305, 7.005, 6.995232937 },
  { "round_B_2-2_bore.csv", 0.02400000026, 0.02484528609, 0.0270272279, 0.02675532925, -0.05000000019, 0.03999999965,
    -0.05002494761, 0.04070878541, 17.9999806, 18.0113643, 17.98826445 },
  { "round_C_3lobe.csv", 0.007999999917, 0.008000000167, 0.007999999967, 0.007999999917, 0.02000000012, 0.01,
    0.01999999992, 0.01, 12, 12.004, 11.996 },
  { "round_D_oval.csv", 0.01, 0.01, 0.01, 0.01258784, -0.03, 0.02,
    -0.03, 0.02, 12, 12.005, NAN },
  { "round_E_bellmouth.csv", 0.008819368615, 0.009957749413, 0.008900790095, 0.0115551665, 0.01144383897, 0.01598430747,
    0.01017796117, 0.01570700115, 7.000841734, 7.004410011, 6.99688449 },
};

static void
test_sets (void)
{
  for (guint i = 0; i < G_N_ELEMENTS (sets); i++)
    {
      g_autoptr (GError) error = NULL;
      guint n;
      g_autofree double *xy = form_data_read (sets[i].file, 2, &n);
      EfCircleFit fit;

      g_test_message ("%s", sets[i].file);
      ef_roundness_least_squares (xy, n, &fit, &error);
      g_assert_no_error (error);
      assert_near (fit.roundness, sets[i].squares * 1e-3, DATA);
      assert_near (fit.x, sets[i].squares_x * 1e-3, DATA);
      assert_near (fit.y, sets[i].squares_y * 1e-3, DATA);
      assert_near (fit.radius, sets[i].squares_r * 1e-3, DATA);
      ef_roundness_minimum_zone (xy, n, &fit, &error);
      g_assert_no_error (error);
      assert_near (fit.roundness, sets[i].zone * 1e-3, DATA);
      assert_near (fit.x, sets[i].zone_x * 1e-3, DATA);
      assert_near (fit.y, sets[i].zone_y * 1e-3, DATA);
      g_assert_cmpuint (fit.n_out, >=, 2);
      g_assert_cmpuint (fit.n_in, >=, 2);
      ef_roundness_circumscribed (xy, n, &fit, &error);
      g_assert_no_error (error);
      assert_near (fit.roundness, sets[i].circumscribed * 1e-3, DATA);
      assert_near (fit.radius, sets[i].circumscribed_r * 1e-3, DATA);
      ef_roundness_inscribed (xy, n, &fit, &error);
      g_assert_no_error (error);
      /* On an oval the centre of the largest inscribed circle can lie either way, so the roundness about it, too. */
      assert_near (fit.roundness, sets[i].inscribed * 1e-3, DATA);
      if (!isnan (sets[i].inscribed_r))
        assert_near (fit.radius, sets[i].inscribed_r * 1e-3, DATA);
    }
}

static double
width_about (const double *xy,
             guint n,
             double x,
             double y,
             double *least)
{
  double high = 0, low = INFINITY;

  for (guint i = 0; i < n; i++)
    {
      double r = hypot (xy[2 * i] - x, xy[2 * i + 1] - y);

      high = MAX (high, r);
      low = MIN (low, r);
    }
  if (least != NULL)
    *least = low;
  return high - low;
}

/* Direct search: the centre walks downhill on a grid that gets finer. @kind 0: zone width, 1: largest radius, 2: smallest, negative. */
static double
search (const double *xy,
        guint n,
        int kind,
        double x,
        double y)
{
  double best = INFINITY;
  double step = 1e-3;
  double where[2] = { x, y };

  while (step > 1e-15)
    {
      gboolean better = FALSE;

      for (int k = 0; k < 16; k++)
        {
          double u = where[0] + step * cos (k * G_PI / 8);
          double v = where[1] + step * sin (k * G_PI / 8);
          double low;
          double width = width_about (xy, n, u, v, &low);
          double value = kind == 0 ? width : kind == 1 ? width + low : -low;

          if (value < best)
            {
              best = value;
              x = u;
              y = v;
              better = TRUE;
            }
        }
      where[0] = x;
      where[1] = y;
      if (!better)
        step *= 0.7;
    }
  return best;
}

static double
largest_gap (const double *xy,
             const EfCircleFit *fit)
{
  double gap = 0;

  for (guint i = 0; i < fit->n_out; i++)
    {
      double t = atan2 (xy[2 * fit->out[i] + 1] - fit->y, xy[2 * fit->out[i]] - fit->x);
      double next = 2 * G_PI;

      assert_near (hypot (xy[2 * fit->out[i]] - fit->x, xy[2 * fit->out[i] + 1] - fit->y), fit->radius, 1e-15);
      for (guint j = 0; j < fit->n_out; j++)
        {
          double turn = fmod (atan2 (xy[2 * fit->out[j] + 1] - fit->y, xy[2 * fit->out[j]] - fit->x) - t + 4 * G_PI, 2 * G_PI);

          if (j != i)
            next = MIN (next, turn);
        }
      gap = MAX (gap, next);
    }
  return gap;
}

static double *
random_round (GRand *rand,
              int round,
              guint *n_out)
{
  guint n = (guint) g_rand_int_range (rand, 5, 30);
  double *xy = g_new (double, 2 * n);
  double noise = round % 2 == 0 ? 10e-6 : 300e-6;

  for (guint i = 0; i < n; i++)
    {
      double t = 2 * G_PI * i / n + g_rand_double_range (rand, -0.3, 0.3) / n;
      double r = 9e-3 + g_rand_double_range (rand, -noise, noise) + (round % 3 == 1 ? 30e-6 * cos (2 * t) : 0);

      if (round % 5 == 4)
        r = rint (r * 1e6) * 1e-6;
      xy[2 * i] = 0.02 + r * cos (t);
      xy[2 * i + 1] = -0.01 + r * sin (t);
    }
  *n_out = n;
  return xy;
}

/* 300 random sets: no walk from anywhere finds better, and walking from the answer doesn't leave it. */
static void
test_against_search (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (314);

  for (int round = 0; round < 300; round++)
    {
      g_autoptr (GError) error = NULL;
      guint n;
      g_autofree double *xy = random_round (rand, round, &n);
      EfCircleFit zone, circumscribed, inscribed;
      double low, width;

      ef_roundness_minimum_zone (xy, n, &zone, &error);
      g_assert_no_error (error);
      ef_roundness_circumscribed (xy, n, &circumscribed, &error);
      g_assert_no_error (error);
      ef_roundness_inscribed (xy, n, &inscribed, &error);
      g_assert_no_error (error);

      /* What the circles say of themselves. */
      width = width_about (xy, n, zone.x, zone.y, &low);
      assert_near (zone.roundness, width, 1e-15);
      assert_near (zone.radius, low + width / 2, 1e-15);
      width = width_about (xy, n, circumscribed.x, circumscribed.y, &low);
      assert_near (circumscribed.radius, low + width, 1e-15);
      assert_near (circumscribed.roundness, width, 1e-15);
      width_about (xy, n, inscribed.x, inscribed.y, &low);
      assert_near (inscribed.radius, low, 1e-15);

      for (int k = 0; k < 4; k++)
        {
          double x = 0.02 + (k == 0 ? 0 : g_rand_double_range (rand, -1e-3, 1e-3));
          double y = -0.01 + (k == 0 ? 0 : g_rand_double_range (rand, -1e-3, 1e-3));

          g_assert_cmpfloat (search (xy, n, 0, x, y), >=, zone.roundness - 1e-14);
          g_assert_cmpfloat (-search (xy, n, 2, x, y), <=, inscribed.radius + 1e-14);
        }
      /* A circle about all points is the least when its contacts leave no half turn free. */
      g_assert_cmpfloat (search (xy, n, 1, 0.02, -0.01), >=, circumscribed.radius - 1e-14);
      g_assert_cmpfloat (largest_gap (xy, &circumscribed), <=, G_PI + 1e-6);
      assert_near (search (xy, n, 0, zone.x, zone.y), zone.roundness, 1e-14);
      assert_near (-search (xy, n, 2, inscribed.x, inscribed.y), inscribed.radius, 1e-14);
      g_assert_cmpfloat (inscribed.radius, <=, circumscribed.radius);
    }
}

/* Zone width about a centre, but as soon as it can't be less than @least: any number above it. */
static double
width_below (const double *xy,
             guint n,
             double x,
             double y,
             double least)
{
  double high = 0, low = INFINITY;

  for (guint i = 0; i < n && !(high - low > least); i++)
    {
      double r = hypot (xy[2 * i] - x, xy[2 * i + 1] - y);

      high = MAX (high, r);
      low = MIN (low, r);
    }

  return high - low;
}

/* The least zone about any centre where two bisectors meet: those of two outside and of two inside points are among them, and so are the centres
 * of all circles through three points. */
static double
zone_by_all_centres (const double *xy,
                     guint n)
{
  double least = INFINITY;

  for (guint i = 1; i < n; i++)
    for (guint j = 0; j < i; j++)
      for (guint k = i; k < n; k++)
        for (guint l = 0; l < k; l++)
          {
            double a = xy[2 * i] - xy[2 * j], b = xy[2 * i + 1] - xy[2 * j + 1];
            double c = xy[2 * k] - xy[2 * l], d = xy[2 * k + 1] - xy[2 * l + 1];
            double e = a * (xy[2 * i] + xy[2 * j]) / 2 + b * (xy[2 * i + 1] + xy[2 * j + 1]) / 2;
            double f = c * (xy[2 * k] + xy[2 * l]) / 2 + d * (xy[2 * k + 1] + xy[2 * l + 1]) / 2;
            double cross = a * d - b * c;
            double x, y;

            if (fabs (cross) < 1e-14)
              continue;
            x = (e * d - b * f) / cross;
            y = (a * f - e * c) / cross;
            if (hypot (x - 0.02, y + 0.01) < 4e-3)
              least = MIN (least, width_below (xy, n, x, y, least));
          }

  return least;
}

/* 1,000 random sets of 5 to 12 points, smooth, rough, oval, rounded to the micrometre (ties). */
static void
test_against_all_centres (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (2718);
  guint held = 0;

  for (int round = 0; held < 1000; round++)
    {
      guint n;
      g_autofree double *xy = random_round (rand, round, &n);
      EfCircleFit zone;

      g_assert_cmpint (round, <, 5000);
      if (n > 12)
        for (guint i = 0; i < 12; i++)
          for (guint k = 0; k < 2; k++)
            xy[2 * i + k] = xy[2 * (i * n / 12) + k];
      n = MIN (n, 12);
      if (!ef_roundness_minimum_zone (xy, n, &zone, NULL))
        continue; /* a gap of half a turn */
      /* 1e-9 of the zone, and a few last places of the coordinates. */
      assert_near (zone.roundness, zone_by_all_centres (xy, n), 1e-9 * zone.roundness + 1e-16);
      held++;
    }
}

static void
assert_fails (const double *xy,
              guint n,
              EfError code)
{
  EfCircleFit fit;
  EfHarmonic harmonic;

  for (int k = 0; k < 5; k++)
    {
      g_autoptr (GError) error = NULL;
      gboolean done = k == 0   ? ef_roundness_least_squares (xy, n, &fit, &error)
                      : k == 1 ? ef_roundness_minimum_zone (xy, n, &fit, &error)
                      : k == 2 ? ef_roundness_circumscribed (xy, n, &fit, &error)
                      : k == 3 ? ef_roundness_inscribed (xy, n, &fit, &error)
                               : ef_roundness_second_harmonic (xy, n, &harmonic, &error);

      g_assert_false (done);
      g_assert_error (error, EF_ERROR, (int) code);
    }
}

static void
test_degenerate (void)
{
  const double line[] = { 0, 0, 0.01, 0.01, 0.02, 0.02, 0.03, 0.03, 0.005, 0.005 };
  const double same[] = { 0.01, 0, 0.01, 0, 0.01, 0, 0.01, 0, 0.01, 0 };
  const double triangle[] = { 0.01, 0, -0.005, 0.008, -0.004, -0.009 };
  const double square[] = { 0.01, 0.01, -0.01, 0.01, -0.01, -0.01, 0.01, -0.01 };
  double nan[] = { 0.01, 0, -0.01, 0, 0, NAN, 0, -0.01 };
  double arc[40], twice[96];
  EfCircleFit fit, once;
  guint n;
  g_autofree double *bore = form_data_read ("round_A_2-2.csv", 2, &n);

  assert_fails (line, 5, EF_ERROR_GEOMETRY);
  assert_fails (same, 5, EF_ERROR_GEOMETRY);
  assert_fails (triangle, 2, EF_ERROR_INVALID);
  assert_fails (nan, 4, EF_ERROR_INVALID);
  for (int i = 0; i < 20; i++)
    {
      arc[2 * i] = 0.01 * cos (i * 0.1);
      arc[2 * i + 1] = 0.01 * sin (i * 0.1);
    }
  assert_fails (arc, 20, EF_ERROR_GEOMETRY);

  /* Three points lie on one circle, and so do the corners of a square. */
  g_assert_true (ef_roundness_minimum_zone (triangle, 3, &fit, NULL));
  assert_near (fit.roundness, 0, 1e-16);
  g_assert_true (ef_roundness_inscribed (triangle, 3, &fit, NULL));
  g_assert_true (ef_roundness_circumscribed (triangle, 3, &once, NULL));
  assert_near (fit.radius, once.radius, 1e-16);
  g_assert_true (ef_roundness_minimum_zone (square, 4, &fit, NULL));
  assert_near (fit.roundness, 0, 1e-16);
  g_assert_true (ef_roundness_inscribed (square, 4, &fit, NULL));
  assert_near (fit.radius, 0.01 * G_SQRT2, 1e-16);
  g_assert_true (ef_roundness_circumscribed (square, 4, &fit, NULL));
  assert_near (fit.radius, 0.01 * G_SQRT2, 1e-16);

  /* All points twice. */
  g_assert_cmpuint (n, ==, 24);
  memcpy (twice, bore, 48 * sizeof (double));
  memcpy (twice + 48, bore, 48 * sizeof (double));
  g_assert_true (ef_roundness_minimum_zone (bore, 24, &once, NULL));
  g_assert_true (ef_roundness_minimum_zone (twice, 48, &fit, NULL));
  assert_near (fit.roundness, once.roundness, 1e-15);
  g_assert_true (ef_roundness_inscribed (bore, 24, &once, NULL));
  g_assert_true (ef_roundness_inscribed (twice, 48, &fit, NULL));
  assert_near (fit.radius, once.radius, 1e-15);
}

/* r = 12 + 0.005 cos 2 (t - 35 deg) mm about a centre off the origin. Constructed. */
static void
test_harmonic (void)
{
  double xy[72];
  EfHarmonic harmonic;

  for (int i = 0; i < 36; i++)
    {
      double t = i * i * 0.01 + i * G_PI / 18; /* not evenly */
      double r = 12e-3 + 5e-6 * cos (2 * (t - 35 * G_PI / 180));

      xy[2 * i] = 0.003 + r * cos (t);
      xy[2 * i + 1] = -0.002 + r * sin (t);
    }
  g_assert_true (ef_roundness_second_harmonic (xy, 36, &harmonic, NULL));
  assert_near (harmonic.amplitude, 5e-6, 5e-9);
  assert_near (harmonic.direction, 35 * G_PI / 180, 1e-3);
  g_assert_false (ef_roundness_second_harmonic (xy, 4, &harmonic, NULL));
}

static void
test_many (void)
{
  const guint n = 100000;
  g_autoptr (GRand) rand = g_rand_new_with_seed (8);
  g_autofree double *xy = g_new (double, 2 * n);
  EfCircleFit squares, zone, circumscribed, inscribed;
  EfHarmonic harmonic;

  for (guint i = 0; i < n; i++)
    {
      double t = g_rand_double_range (rand, 0, 2 * G_PI);
      double r = 9e-3 + g_rand_double_range (rand, -2e-6, 2e-6) + 8e-6 * cos (2 * t) + 15e-6 * MAX (0, cos (t - 1));

      xy[2 * i] = 0.02 + r * cos (t);
      xy[2 * i + 1] = 0.01 + r * sin (t);
    }
  g_assert_true (ef_roundness_least_squares (xy, n, &squares, NULL));
  g_assert_true (ef_roundness_minimum_zone (xy, n, &zone, NULL));
  g_assert_true (ef_roundness_circumscribed (xy, n, &circumscribed, NULL));
  g_assert_true (ef_roundness_inscribed (xy, n, &inscribed, NULL));
  g_assert_true (ef_roundness_second_harmonic (xy, n, &harmonic, NULL));
  g_assert_cmpfloat (zone.roundness, <=, MIN (squares.roundness, MIN (circumscribed.roundness, inscribed.roundness)));
  g_assert_cmpfloat (inscribed.radius, <=, squares.radius);
  g_assert_cmpfloat (circumscribed.radius, >=, squares.radius);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);

  g_test_add_func ("/metrology/roundness/sets", test_sets);
  g_test_add_func ("/metrology/roundness/against-search", test_against_search);
  g_test_add_func ("/metrology/roundness/against-all-centres", test_against_all_centres);
  g_test_add_func ("/metrology/roundness/degenerate", test_degenerate);
  g_test_add_func ("/metrology/roundness/second-harmonic", test_harmonic);
  g_test_add_func ("/metrology/roundness/many-points", test_many);

  return g_test_run ();
}
