/* Bores from diameters, and taper.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Constructed throughout: diameters are made from the numbers that should come out.
 */
#include "metrology/ef-bore.h"

#include <math.h>
#include "../isolate.h"

#define assert_near(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) - (expected)), <=, (tolerance))
#define DEGREE (G_PI / 180)

static void
test_recovers (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (12);

  for (int round = 0; round < 200; round++)
    {
      guint n = (guint) g_rand_int_range (rand, 5, 20);
      double angles[20], diameters[20];
      double mean = g_rand_double_range (rand, 0.01, 0.05);
      double amplitude = g_rand_double_range (rand, 1e-6, 20e-6);
      double direction = g_rand_double_range (rand, 0, G_PI);
      EfBoreShape shape;
      double turn;

      for (guint i = 0; i < n; i++)
        {
          angles[i] = i * G_PI / n + g_rand_double_range (rand, -0.5, 0.5) / n + g_rand_int_range (rand, -2, 3) * G_PI;
          diameters[i] = mean + 2 * amplitude * cos (2 * (angles[i] - direction));
        }
      g_assert_true (ef_bore_from_diameters (angles, diameters, NULL, n, &shape, NULL));
      assert_near (shape.mean, mean, 1e-15);
      assert_near (shape.amplitude, amplitude, 1e-15);
      assert_near (shape.elongation, 4 * amplitude, 1e-15);
      turn = fabs (shape.direction - direction);
      assert_near (MIN (turn, G_PI - turn), 0, 1e-8);
      assert_near (shape.residual, 0, 1e-15);
      g_assert_true (isnan (shape.u_elongation));
    }
}

/* What is orthogonal to the model on even directions stays in the residual: a fourth harmonic of 3 um. */
static void
test_residual (void)
{
  double angles[12], diameters[12];
  EfBoreShape shape;

  for (int i = 0; i < 12; i++)
    {
      angles[i] = i * 15 * DEGREE;
      diameters[i] = 0.016 + 10e-6 * cos (2 * (angles[i] - 1)) + 3e-6 * cos (4 * angles[i]);
    }
  g_assert_true (ef_bore_from_diameters (angles, diameters, NULL, 12, &shape, NULL));
  assert_near (shape.elongation, 20e-6, 1e-15);
  assert_near (shape.residual, 3e-6 / G_SQRT2, 1e-15);

  /* A round bore has no direction. */
  for (int i = 0; i < 12; i++)
    diameters[i] = 0.016;
  g_assert_true (ef_bore_from_diameters (angles, diameters, NULL, 12, &shape, NULL));
  g_assert_cmpfloat (shape.elongation, ==, 0);
  g_assert_true (isnan (shape.direction));
}

/* First-order uncertainties against the scatter of 20,000 simulated bores. */
static void
test_uncertainty (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (99);
  static const double angles[] = { 0, 20 * DEGREE, 50 * DEGREE, 95 * DEGREE, 130 * DEGREE, 160 * DEGREE };
  static const double u[] = { 2e-6, 3e-6, 2e-6, 1e-6, 2e-6, 4e-6 };
  const int trials = 20000;
  EfBoreShape exact;
  double sums[3] = { 0 }, squares[3] = { 0 };
  double truth[6];

  for (int i = 0; i < 6; i++)
    truth[i] = 0.018 + 60e-6 * cos (2 * (angles[i] - 0.7));
  g_assert_true (ef_bore_from_diameters (angles, truth, u, 6, &exact, NULL));
  for (int trial = 0; trial < trials; trial++)
    {
      double diameters[6];
      EfBoreShape shape;
      double values[3];

      for (int i = 0; i < 6; i++)
        {
          double sum = -6;

          for (int k = 0; k < 12; k++) /* near enough normal, variance 1 */
            sum += g_rand_double (rand);
          diameters[i] = truth[i] + u[i] * sum;
        }
      g_assert_true (ef_bore_from_diameters (angles, diameters, u, 6, &shape, NULL));
      values[0] = shape.mean - exact.mean;
      values[1] = shape.elongation - exact.elongation;
      values[2] = shape.direction - exact.direction;
      for (int k = 0; k < 3; k++)
        {
          sums[k] += values[k];
          squares[k] += values[k] * values[k];
        }
    }
  /* A standard deviation from 20,000 trials scatters by half a percent: four times that. */
  g_assert_cmpfloat (fabs (sqrt (squares[0] / trials - pow (sums[0] / trials, 2)) / exact.u_mean - 1), <, 0.02);
  g_assert_cmpfloat (fabs (sqrt (squares[1] / trials - pow (sums[1] / trials, 2)) / exact.u_elongation - 1), <, 0.02);
  g_assert_cmpfloat (fabs (sqrt (squares[2] / trials - pow (sums[2] / trials, 2)) / exact.u_direction - 1), <, 0.02);
}

static void
assert_fails (const double *angles,
              const double *diameters,
              const double *u,
              guint n,
              EfError code)
{
  EfBoreShape shape;
  g_autoptr (GError) error = NULL;

  g_assert_false (ef_bore_from_diameters (angles, diameters, u, n, &shape, &error));
  g_assert_error (error, EF_ERROR, (int) code);
}

static void
test_refusals (void)
{
  double angles[] = { 0, 0.5, 1, 1.5, 2, 2.5 };
  double diameters[] = { 0.016, 0.016, 0.016, 0.016, 0.016, 0.016 };
  double u[] = { 1e-6, 1e-6, 1e-6, 1e-6, -1e-6, 1e-6 };
  const double repeats[] = { 0, 0.5, 1, 1.5, G_PI, 0.5 + G_PI };
  const double close[] = { 0, 2e-5, 4e-5, 6e-5, 8e-5, 1e-4 };

  assert_fails (angles, diameters, NULL, 0, EF_ERROR_INVALID);
  assert_fails (angles, diameters, NULL, 4, EF_ERROR_INVALID);
  assert_fails (repeats, diameters, NULL, 6, EF_ERROR_INVALID);
  assert_fails (close, diameters, NULL, 6, EF_ERROR_GEOMETRY);
  assert_fails (angles, diameters, u, 6, EF_ERROR_INVALID);
  angles[3] = NAN;
  assert_fails (angles, diameters, NULL, 6, EF_ERROR_INVALID);
  angles[3] = 1.5;
  diameters[5] = 0;
  assert_fails (angles, diameters, NULL, 6, EF_ERROR_INVALID);
  diameters[5] = INFINITY;
  assert_fails (angles, diameters, NULL, 6, EF_ERROR_INVALID);
}

static void
test_taper (void)
{
  double places[] = { 2e-3, 8e-3, 14e-3, 14e-3 };
  double diameters[] = { 0.018, 0.018006, 0.018010, 0.018014 };
  const double u[] = { 2e-6, 2e-6, 2e-6, 2e-6 };
  EfTaper taper;
  g_autoptr (GError) error = NULL;

  /* Two places: the difference itself, u in quadrature. */
  g_assert_true (ef_bore_taper (places, diameters, u, 2, &taper, &error));
  assert_near (taper.taper, 6e-6, 1e-15);
  assert_near (taper.slope, 1e-3, 1e-12);
  assert_near (taper.u_taper, G_SQRT2 * 2e-6, 1e-15);
  assert_near (taper.residual, 0, 1e-15);
  /* Means 0, 6, 12 um at 2, 8, 14, 14 mm lie on a line: 12 um, with 2 um of scatter in two of four. */
  g_assert_true (ef_bore_taper (places, diameters, NULL, 4, &taper, &error));
  assert_near (taper.taper, 12e-6, 1e-14);
  assert_near (taper.residual, sqrt (2) * 1e-6, 1e-14);
  g_assert_true (isnan (taper.u_taper));

  g_assert_false (ef_bore_taper (places + 2, diameters, NULL, 2, &taper, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_false (ef_bore_taper (places, diameters, NULL, 0, &taper, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  places[1] = NAN;
  g_assert_false (ef_bore_taper (places, diameters, NULL, 3, &taper, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);

  g_test_add_func ("/metrology/bore/recovers-the-model", test_recovers);
  g_test_add_func ("/metrology/bore/residual", test_residual);
  g_test_add_func ("/metrology/bore/uncertainty-against-simulation", test_uncertainty);
  g_test_add_func ("/metrology/bore/refusals", test_refusals);
  g_test_add_func ("/metrology/bore/taper", test_taper);

  return g_test_run ();
}
