/* Intervals of shares, product-limit estimate and straight lines against published examples.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "stats/ef-proportion.h"
#include "stats/ef-survival.h"
#include "stats/ef-trend.h"

#include <math.h>

#define assert_near(value, expected, tolerance) \
  G_STMT_START { \
    double v_ = (value), e_ = (expected); \
    if (!(fabs (v_ - e_) <= (tolerance))) \
      g_error ("%s:%d: expected %.15g, found %.15g", __FILE__, __LINE__, e_, v_); \
  } G_STMT_END

/* R. G. Newcombe, Statistics in Medicine 17 (1998) 857, table I: methods 3 (score) and 5 ("exact"), from memory. */
static void
test_proportion (void)
{
  static const struct
  {
    guint n, of;
    double low, high, exact_low, exact_high;
  } published[] = {
    { 81, 263, 0.2553, 0.3662, 0.2527, 0.3676 },
    { 15, 148, 0.0624, 0.1605, 0.0578, 0.1617 },
    { 0, 20, 0.0000, 0.1611, 0.0000, 0.1684 },
    { 1, 29, 0.0061, 0.1718, 0.0009, 0.1776 },
  };

  for (guint i = 0; i < G_N_ELEMENTS (published); i++)
    {
      EfProportion p = ef_proportion (published[i].n, published[i].of, 0.95);

      assert_near (p.share, (double) published[i].n / published[i].of, 1e-15);
      assert_near (p.low, published[i].low, 5.1e-5);
      assert_near (p.high, published[i].high, 5.1e-5);
      assert_near (p.exact_low, published[i].exact_low, 5.1e-5);
      assert_near (p.exact_high, published[i].exact_high, 5.1e-5);
    }
}

/* The exact interval by its definition: at its ends the tails of the binomial are 2.5 % each (constructed); what is counted and what isn't are mirror images. */
static void
test_proportion_laws (void)
{
  for (guint of = 1; of <= 12; of++)
    for (guint n = 0; n <= of; n++)
      {
        EfProportion p = ef_proportion (n, of, 0.95);
        EfProportion mirror = ef_proportion (of - n, of, 0.95);
        double above = 0, below = 0;

        for (guint k = 0; k <= of; k++)
          {
            double binomial = exp (lgamma (of + 1) - lgamma (k + 1) - lgamma (of - k + 1));

            if (k >= n)
              above += binomial * pow (p.exact_low, k) * pow (1 - p.exact_low, of - k);
            if (k <= n)
              below += binomial * pow (p.exact_high, k) * pow (1 - p.exact_high, of - k);
          }
        if (n > 0)
          assert_near (above, 0.025, 1e-9);
        if (n < of)
          assert_near (below, 0.025, 1e-9);
        assert_near (p.low, 1 - mirror.high, 1e-12);
        assert_near (p.exact_low, 1 - mirror.exact_high, 1e-9);
        g_assert_true (p.low <= p.share && p.share <= p.high);
      }
  g_assert_true (isnan (ef_proportion (0, 0, 0.95).share));
  /* Tens of thousands: both intervals come to the normal one, p -+ 1.96 sqrt (p (1 - p) / n) (common practice). */
  for (guint n = 1000; n < 100000; n += 7000)
    {
      EfProportion p = ef_proportion (n, 100000, 0.95);
      double half = 1.959964 * sqrt (p.share * (1 - p.share) / 100000);

      assert_near (p.low, p.share - half, 3e-5);
      assert_near (p.high, p.share + half, 3e-5);
      assert_near (p.exact_low, p.share - half, 3e-5);
      assert_near (p.exact_high, p.share + half, 3e-5);
    }
}

static EfSurvival *
survival_of (const double *times,
             guint n,
             guint64 events)
{
  EfSpell spells[64];

  for (guint i = 0; i < n; i++)
    spells[i] = (EfSpell) { times[i], (events >> i) & 1 };

  return ef_survival_new (spells, n, 0.95);
}

/* Remission of leukaemia under 6-mercaptopurine and placebo, weeks: E. J. Freireich et al., Blood 21 (1963) 699. Estimates and Greenwood's errors as in
 * D. R. Cox, D. Oakes, Analysis of Survival Data, and in D. G. Kleinbaum, M. Klein, Survival Analysis; from memory. */
static void
test_freireich (void)
{
  static const double treated[] = { 6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35 };
  static const char ends[] = "111010100110001100000"; /* in the order above: 6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ … */
  static const double placebo[] = { 1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23 };
  static const struct
  {
    double time, holds, error;
    guint at_risk, events;
  } published[] = {
    { 6, 0.8571, 0.0764, 21, 3 }, { 7, 0.8067, 0.0869, 17, 1 }, { 10, 0.7529, 0.0963, 15, 1 }, { 13, 0.6902, 0.1068, 12, 1 },
    { 16, 0.6275, 0.1141, 11, 1 }, { 22, 0.5378, 0.1282, 7, 1 }, { 23, 0.4482, 0.1346, 6, 1 },
  };
  guint64 events = 0;
  g_autoptr (EfSurvival) drug = NULL;
  g_autoptr (EfSurvival) none = survival_of (placebo, G_N_ELEMENTS (placebo), G_MAXUINT64);
  EfSurvivalStep step;

  for (guint i = 0; i < G_N_ELEMENTS (treated); i++)
    events |= (guint64) (ends[i] == '1') << i;
  drug = survival_of (treated, G_N_ELEMENTS (treated), events);
  g_assert_cmpuint (drug->n, ==, 21);
  g_assert_cmpuint (drug->events, ==, 9);
  g_assert_cmpuint (drug->steps->len, ==, G_N_ELEMENTS (published));
  for (guint i = 0; i < G_N_ELEMENTS (published); i++)
    {
      const EfSurvivalStep *one = &g_array_index (drug->steps, EfSurvivalStep, i);

      g_assert_cmpfloat (one->time, ==, published[i].time);
      g_assert_cmpuint (one->at_risk, ==, published[i].at_risk);
      g_assert_cmpuint (one->events, ==, published[i].events);
      assert_near (one->holds, published[i].holds, 6e-5);
      assert_near (one->error, published[i].error, 6e-5);
      g_assert_true (one->low < one->holds && one->holds < one->high && one->low > 0 && one->high < 1);
    }
  assert_near (drug->median, 23, 0);
  assert_near (none->median, 8, 0);
  assert_near (drug->longest, 35, 0);
  g_assert_true (ef_survival_at (drug, 12.9, &step));
  assert_near (step.holds, 0.7529, 6e-5);
  g_assert_true (ef_survival_at (drug, 5.9, &step));
  assert_near (step.holds, 1, 0);
  g_assert_false (ef_survival_at (drug, 36, &step));
  /* log (-log) interval at 6 weeks: S^exp (-+ 1.96 error / (S |ln S|)) worked by hand. */
  step = g_array_index (drug->steps, EfSurvivalStep, 0);
  assert_near (step.low, pow (6.0 / 7, exp (1.959964 * sqrt (1.0 / 126) / log (7.0 / 6))), 1e-6);
  /* Nobody censored: the share of those above, with the binomial's error. */
  g_assert_true (ef_survival_at (none, 8, &step));
  assert_near (step.holds, 8.0 / 21, 1e-12);
  assert_near (step.error, sqrt (8.0 / 21 * 13 / 21 / 21), 1e-12);
}

static void
test_survival_edges (void)
{
  g_autoptr (EfSurvival) empty = ef_survival_new (NULL, 0, 0.95);
  const double one_time[] = { 3 };
  g_autoptr (EfSurvival) one = survival_of (one_time, 1, 1);
  g_autoptr (EfSurvival) watched = survival_of (one_time, 1, 0);

  g_assert_cmpuint (empty->steps->len, ==, 0);
  g_assert_true (isnan (empty->median));
  g_assert_cmpfloat (g_array_index (one->steps, EfSurvivalStep, 0).holds, ==, 0);
  g_assert_true (isnan (g_array_index (one->steps, EfSurvivalStep, 0).low));
  g_assert_cmpfloat (one->median, ==, 3);
  g_assert_cmpuint (watched->steps->len, ==, 0);
  g_assert_cmpfloat (watched->longest, ==, 3);
}

/* NIST StRD, linear regression, data set Norris (calibration of ozone monitors), certified values; data from memory. */
static void
test_norris (void)
{
  static const double y[] = { 0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8,
                              557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2 };
  static const double x[] = { 0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6,
                              556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5 };
  EfTrend trend = ef_trend (x, y, G_N_ELEMENTS (x), 0.95);
  double low, high, middle;

  g_assert_true (trend.known);
  assert_near (trend.intercept, -0.262323073774029, 1e-12);
  assert_near (trend.slope, 1.00211681802045, 1e-13);
  assert_near (trend.intercept_error, 0.232818234301152, 1e-12);
  assert_near (trend.slope_error, 0.429796848199937e-03, 1e-14);
  assert_near (trend.residual, 0.884796396144373, 1e-12);
  assert_near (trend.r_squared, 0.999993745883712, 1e-13);
  /* The band at the mean is t s / sqrt n; Student's t with 34 degrees of freedom at 97.5 % is 2.0322 (any table). */
  middle = ef_trend_at (&trend, trend.x_mean, &low, &high);
  assert_near (high - middle, 2.0322 * 0.884796396144373 / 6, 1e-4);
  assert_near (middle - low, high - middle, 1e-9);
  assert_near (trend.robust_slope, trend.slope, 0.002);
}

/* Constructed: a few wild points draw the plain line away, not the robust one. What isn't a line isn't made one. */
static void
test_trend_odd (void)
{
  double x[40], y[40], low, high;
  EfTrend trend;

  for (guint i = 0; i < 40; i++)
    {
      x[i] = 250.0 * i;
      y[i] = 60e-6 + 5e-9 * x[i] + (i % 2 ? 1e-6 : -1e-6) + (i >= 37 ? 400e-6 : 0);
    }
  trend = ef_trend (x, y, 40, 0.95);
  g_assert_true (trend.slope > 8e-9);
  assert_near (trend.robust_slope, 5e-9, 0.3e-9);
  assert_near (trend.robust_intercept, 60e-6, 2e-6);
  g_assert_false (ef_trend (x, y, 2, 0.95).known);
  x[0] = x[1] = x[2] = 5;
  trend = ef_trend (x, y, 3, 0.95);
  g_assert_false (trend.known);
  g_assert_true (isnan (ef_trend_at (&trend, 5, &low, &high)) && isnan (low) && isnan (high));
  g_assert_false (ef_trend (x, y, 0, 0.95).known);
}

int
main (int argc,
      char **argv)
{
  g_test_init (&argc, &argv, NULL);
  g_test_add_func ("/numbers/proportion", test_proportion);
  g_test_add_func ("/numbers/proportion-laws", test_proportion_laws);
  g_test_add_func ("/numbers/freireich", test_freireich);
  g_test_add_func ("/numbers/survival-edges", test_survival_edges);
  g_test_add_func ("/numbers/norris", test_norris);
  g_test_add_func ("/numbers/trend-odd", test_trend_odd);

  return g_test_run ();
}
