/* How often verdicts are wrong, counted on simulated pumps.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "judge/ef-coverage.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include "../isolate.h"

#define PUMPS 1200

static void
run (EfDecisionKind kind,
     double level,
     double factor,
     EfCoverage out[EF_N_COVERAGE_ITEMS])
{
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, &error);
  g_autoptr (EfRuleSet) rules = NULL;
  EfDecisionRule decision = { kind, level };
  EfCoverageOptions options = { 20, PUMPS, 15e-6, factor };

  g_assert_no_error (error);
  rules = ef_rule_set_default (&error);
  g_assert_no_error (error);
  g_assert_true (ef_rule_set_use_decision (rules, &decision, &error));
  g_assert_true (ef_coverage_run (sheet, rules, &options, NULL, out, &error));
  g_assert_no_error (error);
}

/* The guard band's promise: a part at its limit is used again in 1 - coverage of the cases. Readings come in steps of 1 um, which makes that up to half a step
 * more or less of it: u is 2.5 um at least. A flatness, the largest of many, is measured too great on the whole. Bounds: closed form, and 4 standard
 * errors of 1,200 trials. */
static void
assert_at_limit (const EfCoverage coverage[EF_N_COVERAGE_ITEMS],
                 double risk,
                 double factor)
{
  double step = 0.5 / (2.5 * factor);
  double most = gsl_cdf_ugaussian_P (gsl_cdf_ugaussian_Pinv (risk) + step);
  double least = gsl_cdf_ugaussian_P (gsl_cdf_ugaussian_Pinv (risk) - step);

  most += 4 * sqrt (most * (1 - most) / PUMPS);
  least -= 4 * sqrt (least * (1 - least) / PUMPS);
  for (guint i = 0; i < EF_N_COVERAGE_ITEMS; i++)
    {
      g_assert_cmpuint (coverage[i].use_at_limit.of, ==, PUMPS);
      g_assert_cmpfloat (coverage[i].use_at_limit.share, <, most);
      /* averaged over all that are beyond it's rarer still */
      g_assert_cmpfloat (coverage[i].false_use.share, <, risk);
      g_assert_cmpfloat (coverage[i].false_reject.share, <, risk);
      if (i != EF_COVERAGE_FLATNESS)
        g_assert_cmpfloat (coverage[i].use_at_limit.share, >, least);
    }
}

static void
test_guard_band (void)
{
  EfCoverage at_95[EF_N_COVERAGE_ITEMS], at_80[EF_N_COVERAGE_ITEMS];

  run (EF_DECISION_GUARD_BAND, 0.95, 1, at_95);
  assert_at_limit (at_95, 0.05, 1);
  run (EF_DECISION_GUARD_BAND, 0.8, 1, at_80);
  assert_at_limit (at_80, 0.2, 1);
  for (guint i = 0; i < EF_N_COVERAGE_ITEMS; i++)
    g_assert_cmpuint (at_80[i].undecided.count, <, at_95[i].undecided.count);
}

/* Without a guard band an even chance at the limit, and nothing undecided. */
static void
test_shared_risk (void)
{
  EfCoverage coverage[EF_N_COVERAGE_ITEMS];

  run (EF_DECISION_SHARED_RISK, 0.95, 1, coverage);
  for (guint i = 0; i < EF_N_COVERAGE_ITEMS; i++)
    g_assert_cmpuint (coverage[i].undecided.count, ==, 0);
  g_assert_cmpfloat (fabs (coverage[EF_COVERAGE_END_CLEARANCE].use_at_limit.share - 0.5), <, 4 * sqrt (0.25 / PUMPS) + 0.05);
  g_assert_cmpfloat (coverage[EF_COVERAGE_END_CLEARANCE].false_use.share, >, 0.05);
}

/* Coarser gauges cost readings, not safety. */
static void
test_gauges (void)
{
  EfCoverage fine[EF_N_COVERAGE_ITEMS], coarse[EF_N_COVERAGE_ITEMS];

  run (EF_DECISION_GUARD_BAND, 0.95, 0.5, fine);
  run (EF_DECISION_GUARD_BAND, 0.95, 2, coarse);
  assert_at_limit (coarse, 0.05, 2);
  for (guint i = 0; i < EF_N_COVERAGE_ITEMS; i++)
    g_assert_cmpfloat (coarse[i].undecided.share, >, 1.5 * fine[i].undecided.share);
}

static void
test_repeatable (void)
{
  EfCoverage one[EF_N_COVERAGE_ITEMS], two[EF_N_COVERAGE_ITEMS];

  run (EF_DECISION_EXPANDED, 0.95, 1, one);
  run (EF_DECISION_EXPANDED, 0.95, 1, two);
  for (guint i = 0; i < EF_N_COVERAGE_ITEMS; i++)
    {
      g_assert_cmpuint (one[i].false_use.count, ==, two[i].false_use.count);
      g_assert_cmpuint (one[i].undecided.count, ==, two[i].undecided.count);
    }
}

/* 0 of n: upper end 1 - 0.025^(1/n), closed form; 1 of 10: 0.00253 to 0.44502 (common tables, from memory). */
static void
test_share (void)
{
  EfShare none = ef_share (0, 20), all = ef_share (20, 20), one = ef_share (1, 10);

  g_assert_cmpfloat (none.low, ==, 0.0);
  g_assert_cmpfloat (fabs (none.high - (1 - pow (0.025, 1 / 20.0))), <, 1e-9);
  g_assert_cmpfloat (fabs (all.low - pow (0.025, 1 / 20.0)), <, 1e-9);
  g_assert_cmpfloat (all.high, ==, 1.0);
  g_assert_cmpfloat (fabs (one.low - 0.00253), <, 5e-6);
  g_assert_cmpfloat (fabs (one.high - 0.44502), <, 5e-6);
  g_assert_true (isnan (ef_share (0, 0).share));
}

static void
test_refused (void)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, NULL);
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (NULL);
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  g_autoptr (GError) error = NULL;
  EfCoverageOptions options = { 1, 10, 15e-6, 0 };
  EfCoverage out[EF_N_COVERAGE_ITEMS];

  g_assert_false (ef_coverage_run (sheet, rules, &options, NULL, out, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  options.gauge_factor = 1;
  options.spread = 50e-6; /* more than some limits */
  g_assert_false (ef_coverage_run (sheet, rules, &options, NULL, out, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  options.spread = 15e-6;
  g_cancellable_cancel (cancellable);
  g_assert_false (ef_coverage_run (sheet, rules, &options, cancellable, out, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/judge/coverage/guard-band", test_guard_band);
  g_test_add_func ("/judge/coverage/shared-risk", test_shared_risk);
  g_test_add_func ("/judge/coverage/gauges", test_gauges);
  g_test_add_func ("/judge/coverage/repeatable", test_repeatable);
  g_test_add_func ("/judge/coverage/share", test_share);
  g_test_add_func ("/judge/coverage/refused", test_refused);

  return g_test_run ();
}
