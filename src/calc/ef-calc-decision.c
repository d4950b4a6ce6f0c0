/* Uncertainty, decisions and risks by name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-calc.h"

#include "../metrology/ef-decision.h"
#include "../metrology/ef-monte-carlo.h"
#include "../metrology/ef-propagate.h"
#include "../metrology/ef-scale-risk.h"

#include <math.h>

#define MOST_INPUTS 100
#define MOST_REPEATS 100000
#define FAR 1e12

/* y = constant + sum c_i x_i, or y = constant x product x_i ^ c_i. */
typedef struct
{
  gboolean product;
  double constant;
  guint n;
  EfUncertain inputs[MOST_INPUTS];
  double c[MOST_INPUTS];
  double correlation[MOST_INPUTS * MOST_INPUTS];
} Problem;

static gboolean
model (const double *x,
       guint n,
       double *y,
       gpointer data)
{
  const Problem *problem = data;

  *y = problem->constant;
  for (guint i = 0; i < n; i++)
    {
      if (problem->product)
        *y *= pow (x[i], problem->c[i]);
      else
        *y += problem->c[i] * x[i];
    }

  return isfinite (*y);
}

static void
read_correlations (const EfJson *input,
                   Problem *problem)
{
  static const char *const members[] = { "of", "r", NULL };
  g_auto (EfJson) list = { 0 };

  for (guint i = 0; i < problem->n; i++)
    problem->correlation[i * problem->n + i] = 1;
  if (!ef_json_has (input, "correlations"))
    return;
  list = ef_json_array (input, "correlations", 0, MOST_INPUTS * MOST_INPUTS);
  for (guint k = 0; k < ef_json_length (&list); k++)
    {
      g_auto (EfJson) row = ef_json_element (&list, k);
      g_auto (EfJson) of = ef_json_array (&row, "of", 2, 2);
      double r = ef_json_number (&row, "r", -1, 1);
      guint place[2] = { 0, 0 };

      ef_json_only (&row, members);
      for (guint i = 0; i < 2; i++)
        {
          g_auto (EfJson) one = ef_json_element (&of, i);

          place[i] = (guint) ef_json_value (&one, 0, problem->n - 1.0);
        }
      if (place[0] == place[1])
        ef_json_fail (&of, EF_ERROR_INVALID, "expected two inputs, found the same twice");
      else
        problem->correlation[place[0] * problem->n + place[1]] = problem->correlation[place[1] * problem->n + place[0]] = r;
    }
}

static Problem *
read_problem (const EfJson *input)
{
  static const char *const members[] = { "value", "spread", "distribution", "c", NULL };
  static const char *const models[] = { "sum", "product", NULL };
  g_auto (EfJson) list = ef_json_array (input, "inputs", 1, MOST_INPUTS);
  Problem *problem = g_new0 (Problem, 1);

  problem->product = ef_json_has (input, "model") && ef_json_choice (input, "model", models) == 1;
  problem->constant = ef_json_number_or (input, "constant", -FAR, FAR, problem->product ? 1 : 0);
  problem->n = MIN (ef_json_length (&list), MOST_INPUTS);
  for (guint i = 0; i < problem->n; i++)
    {
      g_auto (EfJson) row = ef_json_element (&list, i);

      ef_json_only (&row, members);
      problem->inputs[i].value = ef_json_number (&row, "value", -FAR, FAR);
      problem->inputs[i].spread = ef_json_number (&row, "spread", 0, FAR);
      problem->inputs[i].distribution = ef_json_has (&row, "distribution")
                                          ? (EfDistribution) ef_json_choice (&row, "distribution", ef_distribution_names) : EF_DISTRIBUTION_NORMAL;
      problem->c[i] = ef_json_number_or (&row, "c", -FAR, FAR, 1);
    }
  read_correlations (input, problem);

  return problem;
}

static JsonNode *
run_propagate (const EfJson *input,
               GError **error)
{
  static const char *const members[] = { "model", "constant", "inputs", "correlations", "probability", NULL };
  g_autofree Problem *problem = read_problem (input);
  double probability = ef_json_number_or (input, "probability", 0.01, 0.9999, 0.95);
  double x[MOST_INPUTS], u[MOST_INPUTS];
  g_auto (EfPropagated) out = { 0 };
  JsonObject *result;
  JsonArray *sensitivity, *share;

  ef_json_only (input, members);
  if (!ef_json_finish (input->context, error))
    return NULL;
  for (guint i = 0; i < problem->n; i++)
    {
      x[i] = problem->inputs[i].value;
      u[i] = ef_distribution_u (problem->inputs[i].distribution, problem->inputs[i].spread);
    }
  if (!ef_propagate (model, problem, x, u, problem->correlation, problem->n, &out, error))
    return NULL;

  result = json_object_new ();
  sensitivity = json_array_new ();
  share = json_array_new ();
  for (guint i = 0; i < problem->n; i++)
    {
      json_array_add_double_element (sensitivity, out.sensitivity[i]);
      json_array_add_double_element (share, out.share[i]);
    }
  ef_json_put (result, "value", out.value);
  ef_json_put (result, "u", out.u);
  ef_json_put (result, "expanded", ef_coverage_factor (probability, INFINITY) * out.u);
  json_object_set_array_member (result, "sensitivity", sensitivity);
  json_object_set_array_member (result, "share", share);
  return ef_json_object_node (result);
}

static JsonNode *
run_monte_carlo (const EfJson *input,
                 GError **error)
{
  static const char *const members[] = { "model", "constant", "inputs", "correlations", "probability", "seed", "trials", "digits", "lower", "upper", NULL };
  g_autofree Problem *problem = read_problem (input);
  EfMonteCarloOptions options = {
    .seed = (guint32) ef_json_integer_or (input, "seed", 0, G_MAXUINT32, 1),
    .trials = (guint) ef_json_integer_or (input, "trials", 0, 10000000, 0),
    .probability = ef_json_number_or (input, "probability", 0.01, 0.9999, 0.95),
    .digits = (guint) ef_json_integer_or (input, "digits", 1, 3, 2),
    .lower = ef_json_number_or (input, "lower", -FAR, FAR, NAN),
    .upper = ef_json_number_or (input, "upper", -FAR, FAR, NAN),
  };
  EfMonteCarlo out;
  JsonObject *result;

  ef_json_only (input, members);
  if (!ef_json_finish (input->context, error)
      || !ef_monte_carlo (model, problem, problem->inputs, ef_json_has (input, "correlations") ? problem->correlation : NULL, problem->n,
                          &options, NULL, &out, error))
    return NULL;

  result = json_object_new ();
  json_object_set_int_member (result, "trials", out.trials);
  json_object_set_boolean_member (result, "stable", out.stable || options.trials > 0);
  ef_json_put (result, "mean", out.mean);
  ef_json_put (result, "u", out.u);
  ef_json_put (result, "median", out.median);
  ef_json_put (result, "low", out.low);
  ef_json_put (result, "high", out.high);
  ef_json_put (result, "shortest_low", out.short_low);
  ef_json_put (result, "shortest_high", out.short_high);
  ef_json_put (result, "within", out.within);
  return ef_json_object_node (result);
}

static JsonNode *
run_repeats (const EfJson *input,
             GError **error)
{
  static const char *const members[] = { "values", NULL };
  g_auto (EfJson) list = ef_json_array (input, "values", 1, MOST_REPEATS);
  guint n = ef_json_length (&list);
  g_autofree double *values = g_new0 (double, n + 1);
  EfRepeats repeats;
  JsonObject *result;

  ef_json_only (input, members);
  for (guint i = 0; i < n; i++)
    {
      g_auto (EfJson) one = ef_json_element (&list, i);

      values[i] = ef_json_value (&one, -FAR, FAR);
    }
  if (!ef_json_finish (input->context, error) || !ef_repeats (values, n, &repeats, error))
    return NULL;

  result = json_object_new ();
  ef_json_put (result, "mean", repeats.mean);
  ef_json_put (result, "scatter", repeats.scatter);
  ef_json_put (result, "u", repeats.u);
  ef_json_put (result, "factor", repeats.factor);
  return ef_json_object_node (result);
}

static JsonNode *
run_decision (const EfJson *input,
              GError **error)
{
  static const char *const members[] = { "value", "u", "lower", "upper", "rule", "coverage", NULL };
  EfDecisionRule rule = EF_DECISION_DEFAULT;
  double value = ef_json_number (input, "value", -FAR, FAR);
  double u = ef_json_number (input, "u", 0, FAR);
  double lower = ef_json_number_or (input, "lower", -FAR, FAR, NAN);
  double upper = ef_json_number_or (input, "upper", -FAR, FAR, NAN);
  EfDecision decision;
  JsonObject *result;

  ef_json_only (input, members);
  if (ef_json_has (input, "rule"))
    rule.kind = (EfDecisionKind) ef_json_choice (input, "rule", ef_decision_rule_names);
  rule.coverage = ef_json_number_or (input, "coverage", 0.5, 0.9999, 0.95);
  if (!ef_json_finish (input->context, error) || !ef_decide (&rule, value, u, lower, upper, &decision, error))
    return NULL;

  result = json_object_new ();
  json_object_set_string_member (result, "zone", ef_decision_zone_name (decision.zone));
  ef_json_put (result, "guard_band", decision.guard);
  ef_json_put (result, "probability", decision.probability);
  ef_json_put (result, "accept_lower", decision.accept_lower);
  ef_json_put (result, "accept_upper", decision.accept_upper);
  ef_json_put (result, "reject_lower", decision.reject_lower);
  ef_json_put (result, "reject_upper", decision.reject_upper);
  ef_json_put (result, "needed_u", decision.needed_u);
  return ef_json_object_node (result);
}

static JsonNode *
run_conformance (const EfJson *input,
                 GError **error)
{
  static const char *const members[] = { "value", "u", "lower", "upper", NULL };
  double value = ef_json_number (input, "value", -FAR, FAR);
  double u = ef_json_number (input, "u", 0, FAR);
  double lower = ef_json_number_or (input, "lower", -FAR, FAR, NAN);
  double upper = ef_json_number_or (input, "upper", -FAR, FAR, NAN);
  JsonObject *result;

  ef_json_only (input, members);
  if (lower > upper)
    ef_json_fail (input, EF_ERROR_INVALID, "expected lower below upper, found %g and %g", lower, upper);
  if (!ef_json_finish (input->context, error))
    return NULL;

  result = json_object_new ();
  ef_json_put (result, "probability", ef_conformance_probability (value, u, lower, upper));
  return ef_json_object_node (result);
}

static JsonNode *
run_scale_risk (const EfJson *input,
                GError **error)
{
  static const char *const members[] = { "u_um", "step_um", "rule", "coverage", NULL };
  EfDecisionRule rule = EF_DECISION_DEFAULT;
  double u = 1e-6 * ef_json_number (input, "u_um", 1e-6, 1e6);
  double step = 1e-6 * ef_json_number (input, "step_um", 0, 1e6);
  EfScaleRisk risk;
  JsonObject *result;

  ef_json_only (input, members);
  if (ef_json_has (input, "rule"))
    rule.kind = (EfDecisionKind) ef_json_choice (input, "rule", ef_decision_rule_names);
  rule.coverage = ef_json_number_or (input, "coverage", 0.5, 0.9999, 0.95);
  if (!ef_json_finish (input->context, error) || !ef_scale_risk (&rule, u, step, &risk, error))
    return NULL;

  result = json_object_new ();
  ef_json_put (result, "u_um", 1e6 * risk.u);
  ef_json_put (result, "guard_band_um", 1e6 * risk.guard);
  ef_json_put (result, "promised", risk.promised);
  ef_json_put (result, "lowest", risk.lowest);
  ef_json_put (result, "highest", risk.highest);
  ef_json_put (result, "mean", risk.mean);
  ef_json_put (result, "guard_band_every_fall_um", 1e6 * risk.guard_every_fall);
  return ef_json_object_node (result);
}

#define INPUTS "inputs: array of {value, spread, distribution, c}; spread: standard deviation of a normal distribution, half width of a " \
               "rectangular or triangular one (normal where not said)\n" \
               "model: sum (constant + sum c x; the default) or product (constant times the product of x^c); constant: 0 or 1 where not given\n" \
               "correlations: array of {of: [i, j], r}, optional\n"

const EfCalc ef_calc_decision[] = {
  {
    .name = "repeats",
    .summary = "Mean, scatter and type A uncertainty of repeated readings",
    .input = "values: array of numbers",
    .output = "mean, scatter (of one reading), u (of the mean), factor (that few readings call for)",
    .example = "{\"values\": [25.003, 25.001, 25.004, 25.002]}",
    .source = "JCGM 100 (GUM) 4.2; factor: t distribution, one-sided 95 %, over 1.645",
    .run = run_repeats,
  },
  {
    .name = "propagate",
    .summary = "Uncertainty of a sum or product from that of its inputs, first order, with correlation",
    .input = INPUTS "probability: two-sided, of the expanded uncertainty, 0.95 where not given",
    .output = "value, u, expanded, sensitivity, share (of the variance)",
    .example = "{\"inputs\": [{\"value\": 25.13, \"spread\": 0.004}, {\"value\": 25.003, \"spread\": 0.0025, \"c\": -1}, "
               "{\"value\": 0, \"spread\": 0.006, \"distribution\": \"rectangular\"}]}",
    .source = "JCGM 100 (GUM) 5.1, 5.2",
    .run = run_propagate,
  },
  {
    .name = "monte-carlo",
    .summary = "Uncertainty of a sum or product by drawing its inputs at random",
    .input = INPUTS "probability: of the coverage interval; seed; trials (not given or 0: as many as it takes for digits significant digits of u)\n"
             "lower, upper: limits, optional",
    .output = "trials, stable, mean, u, median, low, high, shortest_low, shortest_high, within (share between the limits)",
    .example = "{\"trials\": 20000, \"upper\": 0.13, \"inputs\": [{\"value\": 25.13, \"spread\": 0.004}, {\"value\": 25.003, \"spread\": 0.0025, \"c\": -1}, "
               "{\"value\": 0, \"spread\": 0.006, \"distribution\": \"rectangular\"}]}",
    .source = "JCGM 101",
    .run = run_monte_carlo,
  },
  {
    .name = "decision",
    .summary = "Accept, reject or undecided: a value with its uncertainty against limits",
    .input = "value, u (standard); lower, upper: limits, each optional\n"
             "rule: guard-band (default), expanded, shared-risk; coverage: of the guard band, one-sided, 0.95 where not given",
    .output = "zone, guard_band, probability (of conformity), accept_lower, accept_upper, reject_lower, reject_upper, needed_u (that would decide)",
    .example = "{\"value\": 0.127, \"u\": 0.00585, \"lower\": 0.05, \"upper\": 0.13}",
    .source = "ISO 14253-1; JCGM 106",
    .run = run_decision,
  },
  {
    .name = "conformance",
    .summary = "Probability that the true value lies within limits",
    .input = "value, u (standard); lower, upper: limits, each optional",
    .output = "probability",
    .example = "{\"value\": 13.6, \"u\": 1.8, \"lower\": 12.5, \"upper\": 16.3}",
    .source = "JCGM 106 clause 7",
    .run = run_conformance,
  },
  {
    .name = "scale-risk",
    .summary = "How often one reading of a thing exactly at its limit is accepted, as the limit falls between two marks of the gauge's scale",
    .input = "u_um: standard uncertainty of the gauge without its scale; step_um: of the scale\n"
             "rule: guard-band (default), expanded, shared-risk; coverage: of the guard band, one-sided, 0.95 where not given",
    .output = "u_um (with the scale as a rectangle), guard_band_um, promised (without steps), lowest, highest, mean (over all falls), "
              "guard_band_every_fall_um (with which the highest is what is promised)",
    .example = "{\"u_um\": 3.6, \"step_um\": 1}",
    .source = "first principles: normal error, rounded to the nearest mark",
    .run = run_scale_risk,
  },
  { 0 },
};
