/* First-order uncertainty against the guide's worked examples and closed forms.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "metrology/ef-propagate.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"

#define assert_near(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) - (expected)), <=, (tolerance))

/* JCGM 100:2008 H.2: five sets of voltage, current and phase angle, read together. Data and results from memory. */
static const double volts[5] = { 5.007, 4.994, 5.005, 4.990, 4.999 };
static const double milliamps[5] = { 19.663, 19.639, 19.640, 19.685, 19.678 };
static const double radians[5] = { 1.0456, 1.0438, 1.0468, 1.0428, 1.0433 };

static double
correlation_of (const double *a,
                const double *b,
                const EfRepeats *ra,
                const EfRepeats *rb)
{
  double sum = 0;

  for (guint i = 0; i < 5; i++)
    sum += (a[i] - ra->mean) * (b[i] - rb->mean);

  return sum / 4 / (ra->scatter * rb->scatter);
}

static gboolean
resistance (const double *x,
            guint n,
            double *y,
            gpointer data)
{
  (void) n;
  (void) data;
  *y = x[0] / (x[1] * 1e-3) * cos (x[2]);
  return TRUE;
}

static gboolean
reactance (const double *x,
           guint n,
           double *y,
           gpointer data)
{
  (void) n;
  (void) data;
  *y = x[0] / (x[1] * 1e-3) * sin (x[2]);
  return TRUE;
}

static gboolean
impedance (const double *x,
           guint n,
           double *y,
           gpointer data)
{
  (void) n;
  (void) data;
  *y = x[0] / (x[1] * 1e-3);
  return TRUE;
}

static void
test_h2 (void)
{
  static const struct
  {
    EfModel model;
    double value, u;
  } rows[] = { { resistance, 127.732, 0.071 }, { reactance, 219.847, 0.295 }, { impedance, 254.260, 0.236 } };
  EfRepeats v, i, phi;
  double r[9] = { 1, 0, 0, 0, 1, 0, 0, 0, 1 };

  g_assert_true (ef_repeats (volts, 5, &v, NULL));
  g_assert_true (ef_repeats (milliamps, 5, &i, NULL));
  g_assert_true (ef_repeats (radians, 5, &phi, NULL));
  assert_near (v.mean, 4.9990, 5e-5);
  assert_near (v.u, 0.0032, 5e-5);
  assert_near (i.mean, 19.6610, 5e-5);
  assert_near (i.u, 0.0095, 5e-5);
  assert_near (phi.mean, 1.04446, 5e-6);
  assert_near (phi.u, 0.00075, 5e-6);
  r[1] = r[3] = correlation_of (volts, milliamps, &v, &i);
  r[2] = r[6] = correlation_of (volts, radians, &v, &phi);
  r[5] = r[7] = correlation_of (milliamps, radians, &i, &phi);
  assert_near (r[1], -0.36, 0.006);
  assert_near (r[2], 0.86, 0.006);
  assert_near (r[5], -0.65, 0.006);

  for (guint k = 0; k < G_N_ELEMENTS (rows); k++)
    {
      const double x[3] = { v.mean, i.mean, phi.mean };
      const double u[3] = { v.u, i.u, phi.u };
      g_auto (EfPropagated) out = { 0 };
      g_autoptr (GError) error = NULL;

      g_assert_true (ef_propagate (rows[k].model, NULL, x, u, r, 3, &out, &error));
      g_assert_no_error (error);
      assert_near (out.value, rows[k].value, 6e-4);
      assert_near (out.u, rows[k].u, 6e-4);
    }
}

/* JCGM 100:2008 H.1, an end gauge: u_c 32 nm, 16 effective degrees of freedom, U at 99 % 93 nm. Terms and results from memory. */
static void
test_h1 (void)
{
  const double u[4] = { 25, 9.7, 2.9, 16.6 };
  const double freedom[4] = { 18, 25.6, 50, 2 };
  const double ones[4] = { 1, 1, 1, 1 };
  double uc, effective;

  g_assert_true (ef_propagate_linear (ones, u, NULL, 4, &uc, NULL));
  assert_near (uc, 32, 0.5);
  effective = ef_effective_freedom (u, freedom, 4);
  g_assert_cmpint ((int) effective, ==, 16);
  assert_near (ef_coverage_factor (0.99, 16), 2.92, 0.005);
  assert_near (ef_coverage_factor (0.99, 16) * 32, 93, 0.5);
}

/* Table G.2 of the guide, from memory: t for 95.45 and 95 %. */
static void
test_factors (void)
{
  static const double t9545[][2] = { { 1, 13.97 }, { 2, 4.53 }, { 5, 2.65 }, { 10, 2.28 }, { 50, 2.05 } };
  static const double t95[][2] = { { 1, 12.71 }, { 4, 2.78 }, { 20, 2.09 } };

  for (guint i = 0; i < G_N_ELEMENTS (t9545); i++)
    assert_near (ef_coverage_factor (0.9545, t9545[i][0]), t9545[i][1], 0.006);
  for (guint i = 0; i < G_N_ELEMENTS (t95); i++)
    assert_near (ef_coverage_factor (0.95, t95[i][0]), t95[i][1], 0.006);
  assert_near (ef_coverage_factor (0.95, INFINITY), 1.959964, 1e-6);
  g_assert_true (isnan (ef_coverage_factor (1, 3)));
  /* t one-sided at 95 %: 6.314, 2.920, 2.132, 1.833 (common tables), over 1.645. */
  assert_near (ef_repeats_factor (1), 6.314 / 1.645, 2e-3);
  assert_near (ef_repeats_factor (2), 2.920 / 1.645, 1e-3);
  assert_near (ef_repeats_factor (4), 2.132 / 1.645, 1e-3);
  assert_near (ef_repeats_factor (9), 1.833 / 1.645, 1e-3);
  g_assert_cmpfloat (ef_repeats_factor (INFINITY), ==, 1);
  g_assert_cmpfloat (ef_repeats_factor (0), ==, 1);
}

static void
test_repeats (void)
{
  const double values[4] = { 25.001, 25.003, 25.002, 25.006 };
  const double bad[2] = { 1, NAN };
  EfRepeats repeats;
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_repeats (values, 4, &repeats, NULL));
  assert_near (repeats.mean, 25.003, 1e-12);
  assert_near (repeats.scatter, sqrt (14.0 / 3) * 1e-3, 1e-12);
  assert_near (repeats.u, repeats.scatter / 2, 1e-15);
  g_assert_true (ef_repeats (values, 1, &repeats, NULL));
  g_assert_cmpfloat (repeats.scatter, ==, 0);
  g_assert_cmpfloat (repeats.factor, ==, 1);
  g_assert_false (ef_repeats (values, 0, &repeats, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_false (ef_repeats (bad, 2, &repeats, NULL));
}

/* Sum and difference of two values read with one gauge, r = 1: errors add up, or cancel. */
static void
test_sign (void)
{
  const double u[2] = { 3, 2 };
  const double sum[2] = { 1, 1 };
  const double difference[2] = { 1, -1 };
  const double whole[4] = { 1, 1, 1, 1 };
  const double half[4] = { 1, 0.5, 0.5, 1 };
  double out;

  g_assert_true (ef_propagate_linear (difference, u, NULL, 2, &out, NULL));
  assert_near (out, sqrt (13), 1e-12);
  g_assert_true (ef_propagate_linear (difference, u, whole, 2, &out, NULL));
  assert_near (out, 1, 1e-12);
  g_assert_true (ef_propagate_linear (sum, u, whole, 2, &out, NULL));
  assert_near (out, 5, 1e-12);
  g_assert_true (ef_propagate_linear (difference, u, half, 2, &out, NULL));
  assert_near (out, sqrt (7), 1e-12);
}

static gboolean
nowhere (const double *x,
         guint n,
         double *y,
         gpointer data)
{
  (void) n;
  (void) data;
  *y = sqrt (x[0]);
  return TRUE;
}

static void
test_shares_and_refusals (void)
{
  const double x[3] = { 0.5, 19.661, 1.0 };
  const double u[3] = { 0.01, 0, 0.001 };
  const double asymmetric[9] = { 1, 0.5, 0, 0.4, 1, 0, 0, 0, 1 };
  /* 1 with 2 and 2 with 3 fully alike, 1 and 3 opposite: can't be. */
  const double impossible[9] = { 1, 0.9, -0.9, 0.9, 1, 0.9, -0.9, 0.9, 1 };
  const double negative[1] = { -1 };
  const double one[1] = { 1 };
  const double wide[1] = { 2 };
  g_auto (EfPropagated) out = { 0 };
  g_autoptr (GError) error = NULL;
  double u_out;

  g_assert_true (ef_propagate (resistance, NULL, x, u, NULL, 3, &out, NULL));
  assert_near (out.share[0] + out.share[1] + out.share[2], 1, 1e-12);
  g_assert_cmpfloat (out.share[1], ==, 0);
  g_assert_cmpfloat (out.sensitivity[1], ==, 0);
  g_assert_false (ef_propagate_linear (x, u, asymmetric, 3, &u_out, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_false (ef_propagate_linear (x, u, impossible, 3, &u_out, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_false (ef_propagate_linear (one, negative, NULL, 1, &u_out, NULL));
  /* The square root has no value one uncertainty below. */
  g_assert_false (ef_propagate (nowhere, NULL, one, wide, NULL, 1, &out, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  assert_near (ef_u_rectangular (6), 3.4641016, 1e-7);
  assert_near (ef_u_triangular (6), 2.4494897, 1e-7);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/metrology/propagate/gum-h1", test_h1);
  g_test_add_func ("/metrology/propagate/gum-h2", test_h2);
  g_test_add_func ("/metrology/propagate/factors", test_factors);
  g_test_add_func ("/metrology/propagate/repeats", test_repeats);
  g_test_add_func ("/metrology/propagate/sign-of-correlation", test_sign);
  g_test_add_func ("/metrology/propagate/shares-and-refusals", test_shares_and_refusals);

  return g_test_run ();
}
