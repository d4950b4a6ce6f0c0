/* Random draws against closed forms and the supplement's worked examples.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Tolerances are about 4 standard errors of the number of trials: of a mean u / sqrt n, of a standard deviation u / sqrt (2 n) for normal results,
 * of a quantile sqrt (q (1 - q) / n) over the density there.
 */
#include "../check-values.h"
#include "metrology/ef-monte-carlo.h"

#include <stdio.h>
#include "../isolate.h"

#define assert_near(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) - (expected)), <=, (tolerance))
#define TRIALS 1000000

static gboolean
sum (const double *x,
     guint n,
     double *y,
     gpointer data)
{
  (void) data;
  *y = 0;
  for (guint i = 0; i < n; i++)
    *y += x[i];
  return TRUE;
}

static gboolean
cube (const double *x,
      guint n,
      double *y,
      gpointer data)
{
  (void) n;
  (void) data;
  *y = x[0] * x[0] * x[0];
  return TRUE;
}

static EfMonteCarlo
run (EfModel model,
     const EfUncertain *inputs,
     guint n,
     guint trials,
     guint seed)
{
  EfMonteCarloOptions options = { .seed = seed, .trials = trials };
  EfMonteCarlo result;
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_monte_carlo (model, NULL, inputs, NULL, n, &options, NULL, &result, &error));
  g_assert_no_error (error);

  return result;
}

static EfMonteCarlo additive[3], cubic[2];
static guint rows_done;

static void
simulate (void)
{
  const double root3 = sqrt (3);
  EfUncertain inputs[4];

  for (guint i = 0; i < 4; i++)
    inputs[i] = (EfUncertain){ 0, EF_DISTRIBUTION_NORMAL, 1 };
  additive[0] = run (sum, inputs, 4, TRIALS, 1);
  for (guint i = 0; i < 4; i++)
    inputs[i] = (EfUncertain){ 0, EF_DISTRIBUTION_RECTANGULAR, root3 };
  additive[1] = run (sum, inputs, 4, TRIALS, 2);
  inputs[3].spread = 10 * root3;
  additive[2] = run (sum, inputs, 4, TRIALS, 3);
  inputs[0] = (EfUncertain){ 0.08, EF_DISTRIBUTION_NORMAL, 0.008 };
  cubic[0] = run (cube, inputs, 1, TRIALS, 4);
  inputs[0] = (EfUncertain){ 0.06, EF_DISTRIBUTION_NORMAL, 0.012 };
  cubic[1] = run (cube, inputs, 1, TRIALS, 5);
}

static double
simulated (const CheckRow *row)
{
  const EfMonteCarlo *result = g_str_has_prefix (row->name, "JCGM 101 9.2.") ? &additive[row->name[13] - '2'] : &cubic[row->name[strlen (row->name) - 1] - '1'];

  if (g_str_has_prefix (row->quantity, "u(y)") || g_str_equal (row->quantity, "sd[Q]"))
    return result->u;
  if (g_str_has_prefix (row->quantity, "95 %"))
    return (result->high - result->low) / 2;
  if (g_str_equal (row->quantity, "E[Q]"))
    return result->mean;
  if (g_str_equal (row->quantity, "quantile 0.025"))
    return result->low;
  if (g_str_equal (row->quantity, "quantile 0.975"))
    return result->high;

  return result->median;
}

/* First order, and the normal distribution's interval, aren't drawn. */
static void
check_first_order (const CheckRow *row)
{
  const double tables[2][2] = { { 0.08, 0.008 }, { 0.06, 0.012 } };
  const double u[4] = { 1, 1, 1, 10 };
  const double ones[4] = { 1, 1, 1, 1 };
  double uc;

  if (g_str_has_prefix (row->quantity, "GUM"))
    {
      g_assert_true (ef_propagate_linear (ones, u, NULL, 4, &uc, NULL));
      check_near (row, ef_coverage_factor (0.95, INFINITY) * uc);
    }
  else
    {
      const double *h = tables[row->name[strlen (row->name) - 1] - '1'];
      const double sensitivity = 3 * h[0] * h[0];

      g_assert_true (ef_propagate_linear (&sensitivity, &h[1], NULL, 1, &uc, NULL));
      check_near (row, uc);
    }
}

static void
check_row (const CheckRow *row)
{
  if (!g_str_has_prefix (row->name, "JCGM 101") && !g_str_has_prefix (row->name, "MC cubic"))
    return;
  rows_done++;
  if (g_str_has_prefix (row->quantity, "GUM") || g_str_has_prefix (row->quantity, "first-order"))
    {
      check_first_order (row);
      return;
    }
  /* 4 standard errors at a million trials are 0.3 % of u of the normal cases; the outer quantiles of the cubes, near 0, 0.9 % of themselves. */
  if (fabs (simulated (row) - row->value) > (strstr (row->quantity, "0.025") != NULL ? 0.012 : 0.004) * row->value)
    g_error ("%s: %s: expected %g, found %g", row->name, row->quantity, row->value, simulated (row));
}

static void
test_table (void)
{
  simulate ();
  check_table ("decision.csv", check_row);
  g_assert_cmpuint (rows_done, ==, 19);
}

/* computation.md W3: rectangular +-6 um beside normal 4.0 and 2.5 um: P (c > 0.130) 0.308, given with 0.005. The sum's distribution is a uniform one
 * smeared by a normal one, sigma 4.717: 1/12 times the integral of the tail from 3 - 6 to 3 + 6 = 0.3080 (closed form). */
static void
test_plan_verdict (void)
{
  const EfUncertain inputs[3] = {
    { 25130, EF_DISTRIBUTION_NORMAL, 4.0 }, { -25003, EF_DISTRIBUTION_NORMAL, 2.5 }, { 0, EF_DISTRIBUTION_RECTANGULAR, 6 }
  };
  EfMonteCarloOptions options = { .seed = 6, .trials = TRIALS, .lower = NAN, .upper = 130 };
  EfMonteCarlo result;

  g_assert_true (ef_monte_carlo (sum, NULL, inputs, NULL, 3, &options, NULL, &result, NULL));
  assert_near (1 - result.within, 0.308, 0.002);
  assert_near (result.u, 5.85, 0.02);
}

/* JCGM 101 9.3, comparison of a weight with a reference: drawn 1.2341 mg, u 0.0754, 95 % from 1.0834 to 1.3825; first order u 0.0539, the
 * density terms having no sensitivity at their means. Inputs and results from memory. */
static gboolean
weight (const double *x,
        guint n,
        double *y,
        gpointer data)
{
  (void) n;
  (void) data;
  *y = (x[0] + x[1]) * (1 + (x[2] - 1.2) * (1 / x[3] - 1 / x[4])) - 100000;
  return TRUE;
}

static void
test_weight (void)
{
  const EfUncertain inputs[5] = {
    { 100000, EF_DISTRIBUTION_NORMAL, 0.050 }, { 1.234, EF_DISTRIBUTION_NORMAL, 0.020 }, { 1.2, EF_DISTRIBUTION_RECTANGULAR, 0.1 },
    { 8000, EF_DISTRIBUTION_RECTANGULAR, 1000 }, { 8000, EF_DISTRIBUTION_RECTANGULAR, 50 }
  };
  const double x[5] = { 100000, 1.234, 1.2, 8000, 8000 };
  double u[5];
  EfMonteCarlo result = run (weight, inputs, 5, TRIALS, 7);
  g_auto (EfPropagated) first = { 0 };

  for (guint i = 0; i < 5; i++)
    u[i] = ef_distribution_u (inputs[i].distribution, inputs[i].spread);
  g_assert_true (ef_propagate (weight, NULL, x, u, NULL, 5, &first, NULL));
  assert_near (first.value, 1.2340, 5e-5);
  assert_near (first.u, 0.0539, 5e-5);
  assert_near (result.mean, 1.2341, 4e-4);
  assert_near (result.u, 0.0754, 3e-4);
  assert_near (result.short_low, 1.0834, 4e-3);
  assert_near (result.short_high, 1.3825, 4e-3);
}

static gboolean
difference (const double *x,
            guint n,
            double *y,
            gpointer data)
{
  (void) n;
  (void) data;
  *y = x[0] - x[1];
  return TRUE;
}

/* u of a difference: sqrt (9 + 4 - 2 r 6), closed form; r = 1 leaves 1. */
static void
test_correlated (void)
{
  const EfUncertain inputs[2] = { { 5, EF_DISTRIBUTION_NORMAL, 3 }, { 1, EF_DISTRIBUTION_NORMAL, 2 } };
  EfMonteCarloOptions options = { .seed = 8, .trials = 400000 };

  for (double r = -1; r <= 1; r += 0.5)
    {
      const double correlation[4] = { 1, r, r, 1 };
      EfMonteCarlo result;

      g_assert_true (ef_monte_carlo (difference, NULL, inputs, correlation, 2, &options, NULL, &result, NULL));
      assert_near (result.u, sqrt (13 - 12 * r), 0.005 * sqrt (13 - 12 * r));
      assert_near (result.mean, 4, 4 * 5 / sqrt (400000));
    }
}

static void
test_repeatable (void)
{
  const EfUncertain inputs[2] = { { 0.08, EF_DISTRIBUTION_TRIANGULAR, 0.01 }, { 1, EF_DISTRIBUTION_NORMAL, 0.1 } };
  EfMonteCarlo a = run (sum, inputs, 2, 5000, 42);
  EfMonteCarlo b = run (sum, inputs, 2, 5000, 42);
  EfMonteCarlo c = run (sum, inputs, 2, 5000, 43);

  g_assert_cmpmem (&a, sizeof a, &b, sizeof b);
  g_assert_cmpfloat (a.mean, !=, c.mean);
  g_assert_true (isnan (a.within));
  assert_near (run (sum, inputs, 1, TRIALS, 9).u, 0.01 / sqrt (6), 3e-5);
}

/* Adaptive: u to two digits, here 2.0: mean, u and ends of the interval within 0.05. */
static void
test_adaptive (void)
{
  EfUncertain inputs[4];
  EfMonteCarloOptions options = { .seed = 10 };
  EfMonteCarlo result;

  for (guint i = 0; i < 4; i++)
    inputs[i] = (EfUncertain){ 0, EF_DISTRIBUTION_NORMAL, 1 };
  g_assert_true (ef_monte_carlo (sum, NULL, inputs, NULL, 4, &options, NULL, &result, NULL));
  g_assert_true (result.stable);
  g_assert_cmpuint (result.trials, >=, 20000);
  g_assert_cmpuint (result.trials, <, 2000000);
  assert_near (result.u, 2, 0.05);
  assert_near (result.high, 3.92, 0.06);
  options.digits = 1;
  {
    guint fine = result.trials;

    g_assert_true (ef_monte_carlo (sum, NULL, inputs, NULL, 4, &options, NULL, &result, NULL));
    g_assert_cmpuint (result.trials, <, fine);
  }
  /* Not given the trials it needs, it says so. */
  options.digits = 3;
  options.most_trials = 30000;
  g_assert_true (ef_monte_carlo (sum, NULL, inputs, NULL, 4, &options, NULL, &result, NULL));
  g_assert_false (result.stable);
}

static gboolean
root (const double *x,
      guint n,
      double *y,
      gpointer data)
{
  (void) n;
  (void) data;
  *y = sqrt (x[0]);
  return x[0] >= 0;
}

static void
test_refusals (void)
{
  EfUncertain input = { 1, EF_DISTRIBUTION_RECTANGULAR, 1.01 };
  EfUncertain pair[2] = { { 1, EF_DISTRIBUTION_NORMAL, 1 }, { 1, EF_DISTRIBUTION_RECTANGULAR, 1 } };
  const double correlation[4] = { 1, 0.5, 0.5, 1 };
  EfMonteCarloOptions options = { .seed = 11, .trials = 10000 };
  EfMonteCarlo result;
  g_autoptr (GError) error = NULL;
  g_autoptr (GCancellable) cancelled = g_cancellable_new ();

  /* No value in 0.5 % of the trials: left out and counted; in 5 %: refused. */
  g_assert_true (ef_monte_carlo (root, NULL, &input, NULL, 1, &options, NULL, &result, NULL));
  g_assert_cmpuint (result.failed, >, 0);
  input.spread = 1.1;
  g_assert_false (ef_monte_carlo (root, NULL, &input, NULL, 1, &options, NULL, &result, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_clear_error (&error);
  g_assert_false (ef_monte_carlo (sum, NULL, pair, correlation, 2, &options, NULL, &result, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  input.spread = -1;
  g_assert_false (ef_monte_carlo (sum, NULL, &input, NULL, 1, &options, NULL, &result, NULL));
  input.spread = 1;
  options.trials = 10;
  g_assert_false (ef_monte_carlo (sum, NULL, &input, NULL, 1, &options, NULL, &result, NULL));
  options.trials = 1000;
  options.probability = 1;
  g_assert_false (ef_monte_carlo (sum, NULL, &input, NULL, 1, &options, NULL, &result, NULL));
  options.probability = 0;
  g_cancellable_cancel (cancelled);
  g_assert_false (ef_monte_carlo (sum, NULL, &input, NULL, 1, &options, cancelled, &result, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/metrology/monte-carlo/table", test_table);
  g_test_add_func ("/metrology/monte-carlo/plan-verdict", test_plan_verdict);
  g_test_add_func ("/metrology/monte-carlo/jcgm-101-weight", test_weight);
  g_test_add_func ("/metrology/monte-carlo/correlated", test_correlated);
  g_test_add_func ("/metrology/monte-carlo/repeatable", test_repeatable);
  g_test_add_func ("/metrology/monte-carlo/adaptive", test_adaptive);
  g_test_add_func ("/metrology/monte-carlo/refusals", test_refusals);

  return g_test_run ();
}
