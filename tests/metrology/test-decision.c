/* Decisions under uncertainty: every row of tests/data/decision.csv that isn't drawn at random, and what must hold for any.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../check-values.h"
#include "../fixed-random.h"
#include "metrology/ef-decision.h"
#include "metrology/ef-propagate.h"
#include "metrology/ef-scale-risk.h"

#include <gsl/gsl_cdf.h>
#include <stdio.h>
#include "../isolate.h"

#define assert_near(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) - (expected)), <=, (tolerance))

static guint rows_done;

static double
limit_of (const CheckRow *row,
          const char *name)
{
  g_autofree char *none = g_strconcat (name, "=None", NULL);

  return strstr (row->inputs, none) != NULL ? NAN : check_input (row->inputs, name, NAN);
}

static void
check_guard (const CheckRow *row)
{
  double u = check_input (row->inputs, "U", NAN) / check_input (row->inputs, "k", NAN);
  gboolean old = strstr (row->quantity, "1998") != NULL;
  EfDecisionRule rule = { old ? EF_DECISION_EXPANDED : EF_DECISION_GUARD_BAND, check_input (row->inputs, "p", NAN) };
  EfDecision d;
  double middle = isnan (limit_of (row, "TL")) ? 0 : (limit_of (row, "TL") + limit_of (row, "TU")) / 2;

  g_assert_true (ef_decide (&rule, middle, u, limit_of (row, "TL"), limit_of (row, "TU"), &d, NULL));
  g_assert_cmpint (d.zone, ==, EF_ZONE_ACCEPT);
  if (g_str_equal (row->quantity, "u"))
    check_near (row, u);
  else if (g_str_has_prefix (row->quantity, "guard band"))
    check_near (row, d.guard);
  else if (g_str_has_prefix (row->quantity, "lower acceptance"))
    check_near (row, d.accept_lower);
  else if (g_str_has_prefix (row->quantity, "upper acceptance"))
    check_near (row, d.accept_upper);
  else if (g_str_has_prefix (row->quantity, "lower rejection"))
    check_near (row, d.reject_lower);
  else if (g_str_has_prefix (row->quantity, "upper rejection"))
    check_near (row, d.reject_upper);
  else
    g_error ("%s: no check for “%s”", row->name, row->quantity);
}

static void
check_global (const CheckRow *row)
{
  double mean, spread, u, tolerance[2], acceptance[2];
  EfGlobalRisk risk;

  g_assert_cmpint (sscanf (row->inputs, "process N(%lf,%lf);um=%lf;T=[%lf,%lf];A=[%lf,%lf]", &mean, &spread, &u, &tolerance[0], &tolerance[1],
                           &acceptance[0], &acceptance[1]), ==, 7);
  g_assert_true (ef_global_risk (mean, spread, u, tolerance, acceptance, &risk, NULL));
  check_near (row, strstr (row->quantity, "consumer") != NULL ? risk.consumer : strstr (row->quantity, "producer") != NULL ? risk.producer : risk.nonconforming);
}

static void
check_row (const CheckRow *row)
{
  if (g_str_equal (row->quantity, "conformance probability p_c"))
    check_near (row, ef_conformance_probability (check_input (row->inputs, "y", NAN), check_input (row->inputs, "u", NAN),
                                                 limit_of (row, "TL"), limit_of (row, "TU")));
  else if (g_str_equal (row->quantity, "z=Phi^-1(p)"))
    {
      EfDecisionRule rule = { EF_DECISION_GUARD_BAND, check_input (row->inputs, "p", NAN) };

      check_near (row, ef_decision_factor (&rule));
    }
  else if (g_str_has_prefix (row->name, "guard-"))
    check_guard (row);
  else if (g_str_has_prefix (row->name, "global-"))
    check_global (row);
  else
    return; /* drawn at random: test-monte-carlo */
  rows_done++;
}

static void
test_table (void)
{
  guint rows = check_table ("decision.csv", check_row);

  g_assert_cmpuint (rows_done, ==, 38);
  g_assert_cmpuint (rows, ==, 57);
}

/* The published figures themselves: JCGM 106 clause 7 prints 0.92, 0.99, 0.66 (from memory). */
static void
test_published (void)
{
  assert_near (ef_conformance_probability (-5.47, 0.05, NAN, -5.40), 0.92, 0.005);
  assert_near (ef_conformance_probability (509.7, 8.6, 490, NAN), 0.99, 0.005);
  assert_near (ef_conformance_probability (13.6, 1.8, 12.5, 16.3), 0.66, 0.005);
}

/* computation.md W3: depth 25.130 and width 25.003 mm, u 4.0 and 2.5 um, rectangular +-6 um: u 5.85 um, P (c > 0.130) 0.304. */
static void
test_plan_verdict (void)
{
  const double sensitivity[3] = { 1, -1, 1 };
  const double u[3] = { 4.0, 2.5, ef_u_rectangular (6) };
  EfDecisionRule rule = EF_DECISION_DEFAULT;
  EfDecision d;
  double uc;

  g_assert_true (ef_propagate_linear (sensitivity, u, NULL, 3, &uc, NULL));
  assert_near (uc, 5.85, 0.005);
  g_assert_true (ef_decide (&rule, 127, uc, 50, 130, &d, NULL));
  assert_near (1 - d.probability, 0.304, 5e-4);
  g_assert_cmpint (d.zone, ==, EF_ZONE_UNDECIDED);
  g_assert_cmpint (d.side, ==, 1);
  /* 3 um from the limit over 1.645. */
  assert_near (d.needed_u, 3 / 1.644854, 1e-5);
}

/* The zones of a value from far inside to far outside, for each rule. */
static void
test_zones (void)
{
  static const struct
  {
    EfDecisionKind kind;
    double g;
  } rows[] = { { EF_DECISION_GUARD_BAND, 1.6449 }, { EF_DECISION_EXPANDED, 2 }, { EF_DECISION_SHARED_RISK, 0 } };

  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
    for (int side = -1; side <= 1; side += 2)
      for (double y = -4.05; y < 4; y += 0.1)
        {
          EfDecisionRule rule = { rows[i].kind, 0.95 };
          EfDecisionZone expected = y < -rows[i].g ? EF_ZONE_ACCEPT : y > rows[i].g ? EF_ZONE_REJECT : EF_ZONE_UNDECIDED;
          EfDecision d;

          g_assert_true (ef_decide (&rule, side * y, 1, side < 0 ? 0 : NAN, side < 0 ? NAN : 0, &d, NULL));
          g_assert_cmpint (d.zone, ==, expected);
          g_assert_cmpint (d.side, ==, side);
        }
}

/* More uncertainty never turns anything into accepted or rejected; a value further in never makes it worse. */
static void
test_monotonic (void)
{
  for (guint run = 0; run < 5000; run++)
    {
      EfDecisionRule rule = { (EfDecisionKind) fixed_int (0, 2), fixed_double (0.6, 0.999) };
      double y = fixed_double (-2, 2);
      double u = fixed_double (0, 2);
      double width = fixed_double (0.1, 3);
      EfDecision a, b;

      g_assert_true (ef_decide (&rule, y, u, -width, width, &a, NULL));
      g_assert_true (ef_decide (&rule, y, u * fixed_double (1, 3), -width, width, &b, NULL));
      g_assert_true (b.zone == a.zone || b.zone == EF_ZONE_UNDECIDED);
      g_assert_true (ef_decide (&rule, y * fixed_double (0, 1), u, -width, width, &b, NULL));
      g_assert_cmpint (b.zone, <=, a.zone);
      g_assert_cmpfloat (b.probability, >=, a.probability - 1e-12);
      if (a.zone == EF_ZONE_UNDECIDED && a.needed_u > 0 && u > 0)
        {
          /* The gauge it asks for decides, one a little coarser doesn't. */
          g_assert_true (ef_decide (&rule, y, a.needed_u * 0.9999, -width, width, &b, NULL));
          g_assert_cmpint (b.zone, !=, EF_ZONE_UNDECIDED);
          g_assert_true (ef_decide (&rule, y, a.needed_u * 1.0001, -width, width, &b, NULL));
          g_assert_cmpint (b.zone, ==, EF_ZONE_UNDECIDED);
        }
    }
}

static void
test_repeats (void)
{
  EfDecisionRule rule = EF_DECISION_DEFAULT;
  guint n = ef_decision_repeats (&rule, 10, 2, 8, 50);

  /* 1.645 sqrt (4 + (t 8)^2 / n) <= 10 with t the factor for n - 1: at the edge. */
  g_assert_cmpuint (n, >, 2);
  g_assert_cmpfloat (1.644854 * hypot (2, ef_repeats_factor (n - 1) * 8 / sqrt (n)), <=, 10);
  g_assert_cmpfloat (1.644854 * hypot (2, ef_repeats_factor (n - 2) * 8 / sqrt (n - 1)), >, 10);
  /* What repeating doesn't lessen is too much alone. */
  g_assert_cmpuint (ef_decision_repeats (&rule, 10, 7, 1, 50), ==, 0);
  g_assert_cmpuint (ef_decision_repeats (&rule, 1, 0, 100, 50), ==, 0);
}

static void
test_exact_and_refused (void)
{
  EfDecisionRule rule = EF_DECISION_DEFAULT;
  EfDecisionRule wrong = { EF_DECISION_GUARD_BAND, 1 };
  EfDecisionKind kind;
  EfDecision d;
  EfGlobalRisk risk;
  const double tolerance[2] = { 0, 1 };
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_decide (&rule, 1, 0, 0, 1, &d, NULL));
  g_assert_cmpint (d.zone, ==, EF_ZONE_ACCEPT);
  g_assert_cmpfloat (d.probability, ==, 1);
  g_assert_true (ef_decide (&rule, 1.0001, 0, 0, 1, &d, NULL));
  g_assert_cmpint (d.zone, ==, EF_ZONE_REJECT);
  g_assert_cmpfloat (d.probability, ==, 0);
  g_assert_true (ef_decide (&rule, 5, 1, NAN, NAN, &d, NULL));
  g_assert_cmpint (d.zone, ==, EF_ZONE_ACCEPT);
  g_assert_cmpfloat (d.probability, ==, 1);
  g_assert_false (ef_decide (&rule, NAN, 1, 0, 1, &d, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_false (ef_decide (&rule, 0, -1, 0, 1, &d, NULL));
  g_assert_false (ef_decide (&rule, 0, 1, 1, 0, &d, NULL));
  g_assert_false (ef_decide (&wrong, 0, 1, 0, 1, &d, NULL));
  g_assert_false (ef_global_risk (0, 0, 1, tolerance, tolerance, &risk, NULL));
  for (guint i = 0; i < EF_N_DECISION_RULES; i++)
    {
      g_assert_true (ef_decision_rule_from_name (ef_decision_rule_name (i), &kind));
      g_assert_cmpint (kind, ==, i);
    }
  g_assert_false (ef_decision_rule_from_name ("by-eye", &kind));
}

#define FALLS 400

/* Accepted at the limit (0), mark by mark through the decision itself: the limit lies @fall of a step above a mark. */
static double
accepted_at_limit (const EfDecisionRule *rule,
                   double gauge_u,
                   double step,
                   double u,
                   double fall)
{
  double sum = 0;

  for (int k = -200; k <= 200; k++)
    {
      double mark = (k - fall) * step;
      EfDecision d;

      g_assert_true (ef_decide (rule, mark, u, NAN, 0, &d, NULL));
      if (d.zone == EF_ZONE_ACCEPT)
        sum += gsl_cdf_ugaussian_P ((mark + step / 2) / gauge_u) - gsl_cdf_ugaussian_P ((mark - step / 2) / gauge_u);
    }

  return sum;
}

/* The formula's bounds and mean against sums over the marks, for many falls; the wider guard band keeps what is promised at each of them. */
static void
test_scale (void)
{
  static const double steps[] = { 0.2e-6, 1e-6, 4e-6 };
  static const EfDecisionRule rules[] = { { EF_DECISION_GUARD_BAND, 0.95 }, { EF_DECISION_GUARD_BAND, 0.99 }, { EF_DECISION_EXPANDED, 0.95 }, { EF_DECISION_SHARED_RISK, 0.95 } };
  const double gauge_u = 1.25e-6;

  for (guint r = 0; r < G_N_ELEMENTS (rules); r++)
    for (guint s = 0; s < G_N_ELEMENTS (steps); s++)
      {
        double low = 1, high = 0, mean = 0, widest = 0;
        EfScaleRisk risk;

        g_assert_true (ef_scale_risk (&rules[r], gauge_u, steps[s], &risk, NULL));
        for (guint i = 0; i < FALLS; i++)
          {
            double rate = accepted_at_limit (&rules[r], gauge_u, steps[s], risk.u, (i + 0.5) / FALLS);

            low = fmin (low, rate);
            high = fmax (high, rate);
            mean += rate / FALLS;
            if (rules[r].kind != EF_DECISION_SHARED_RISK)
              widest = fmax (widest, accepted_at_limit (&rules[r], gauge_u, steps[s], risk.guard_every_fall / ef_decision_factor (&rules[r]), (i + 0.5) / FALLS));
          }
        g_assert_cmpfloat (low, >=, risk.lowest - 1e-9);
        g_assert_cmpfloat (high, <=, risk.highest + 1e-9);
        /* A fall in 400 away from either end. */
        assert_near (low, risk.lowest, 0.005);
        assert_near (high, risk.highest, 0.005);
        /* The jump from highest to lowest is met within one of the falls. */
        assert_near (mean, risk.mean, (risk.highest - risk.lowest) / FALLS);
        if (rules[r].kind != EF_DECISION_SHARED_RISK)
          {
            g_assert_cmpfloat (widest, <=, risk.promised + 1e-9);
            assert_near (widest, risk.promised, 0.005);
          }
      }
}

/* What docs/decision.md says of the scale; without steps, what is promised; what can't be. */
static void
test_scale_figures (void)
{
  const EfDecisionRule rule = EF_DECISION_DEFAULT;
  g_autoptr (GError) error = NULL;
  EfScaleRisk risk;

  g_assert_true (ef_scale_risk (&rule, 3.6e-6, 1e-6, &risk, NULL));
  assert_near (risk.lowest, 0.037, 0.0005);
  assert_near (risk.highest, 0.0654, 0.0005);
  assert_near (risk.mean, 0.05, 0.0005);
  g_assert_true (ef_scale_risk (&rule, 3.6e-6, 0, &risk, NULL));
  assert_near (risk.lowest, 0.05, 1e-9);
  assert_near (risk.highest, 0.05, 1e-9);
  assert_near (risk.mean, 0.05, 1e-9);
  assert_near (risk.guard_every_fall, risk.guard, 1e-15);
  /* With 99 % what 95 % promises is kept at every fall, if the gauge isn't finer than half a step. */
  for (double u = 0.5e-6; u < 20e-6; u *= 1.2)
    {
      g_assert_true (ef_scale_risk (&(EfDecisionRule){ EF_DECISION_GUARD_BAND, 0.99 }, u, 1e-6, &risk, NULL));
      g_assert_cmpfloat (risk.highest, <, 0.0465);
    }
  g_assert_false (ef_scale_risk (&rule, 0, 1e-6, &risk, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/metrology/decision/table", test_table);
  g_test_add_func ("/metrology/decision/published", test_published);
  g_test_add_func ("/metrology/decision/plan-verdict", test_plan_verdict);
  g_test_add_func ("/metrology/decision/zones", test_zones);
  g_test_add_func ("/metrology/decision/monotonic", test_monotonic);
  g_test_add_func ("/metrology/decision/repeats", test_repeats);
  g_test_add_func ("/metrology/decision/scale", test_scale);
  g_test_add_func ("/metrology/decision/scale-figures", test_scale_figures);
  g_test_add_func ("/metrology/decision/exact-and-refused", test_exact_and_refused);

  return g_test_run ();
}
