/* Computations by name: how often a verdict is wrong.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-calc.h"

#include "../judge/ef-coverage.h"

#include <math.h>

#define MOST 20

static void
put_share (JsonObject *object,
           const char *name,
           const EfShare *share)
{
  JsonObject *one = json_object_new ();

  json_object_set_int_member (one, "count", share->count);
  json_object_set_int_member (one, "of", share->of);
  if (isfinite (share->share))
    {
      json_object_set_double_member (one, "share", share->share);
      json_object_set_double_member (one, "low", share->low);
      json_object_set_double_member (one, "high", share->high);
    }
  json_object_set_object_member (object, name, one);
}

static void
put_rows (JsonArray *rows,
          const EfDecisionRule *rule,
          double factor,
          const EfCoverage coverage[EF_N_COVERAGE_ITEMS])
{
  for (guint i = 0; i < EF_N_COVERAGE_ITEMS; i++)
    {
      JsonObject *row = json_object_new ();

      json_object_set_string_member (row, "rule", ef_decision_rule_name (rule->kind));
      if (rule->kind == EF_DECISION_GUARD_BAND)
        json_object_set_double_member (row, "coverage", rule->coverage);
      json_object_set_double_member (row, "gauge_factor", factor);
      json_object_set_string_member (row, "item", ef_coverage_item_names[i]);
      json_object_set_double_member (row, "limit_um", 1e6 * coverage[i].limit);
      put_share (row, "use_at_limit", &coverage[i].use_at_limit);
      put_share (row, "false_use", &coverage[i].false_use);
      put_share (row, "false_reject", &coverage[i].false_reject);
      put_share (row, "measure_again", &coverage[i].undecided);
      json_array_add_object_element (rows, row);
    }
}

static guint
read_rules (const EfJson *input,
            EfDecisionRule rules[MOST])
{
  static const char *const members[] = { "rule", "coverage", NULL };
  g_auto (EfJson) list = ef_json_array (input, "rules", 1, MOST);
  guint n = MIN (ef_json_length (&list), MOST);

  for (guint i = 0; i < n; i++)
    {
      g_auto (EfJson) one = ef_json_element (&list, i);

      ef_json_only (&one, members);
      rules[i].kind = (EfDecisionKind) ef_json_choice (&one, "rule", ef_decision_rule_names);
      rules[i].coverage = ef_json_number_or (&one, "coverage", 0.5, 0.9999, 0.95);
    }

  return n;
}

static guint
read_factors (const EfJson *input,
              double factors[MOST])
{
  g_auto (EfJson) list = ef_json_array (input, "gauge_factors", 1, MOST);
  guint n = MIN (ef_json_length (&list), MOST);

  for (guint i = 0; i < n; i++)
    {
      g_auto (EfJson) one = ef_json_element (&list, i);

      factors[i] = ef_json_value (&one, 0.01, 100);
    }

  return n;
}

static JsonNode *
run_coverage (const EfJson *input,
              GError **error)
{
  static const char *const members[] = { "seed", "pumps", "spread_um", "rules", "gauge_factors", NULL };
  EfCoverageOptions options = { 0 };
  EfDecisionRule decisions[MOST];
  double factors[MOST];
  guint n_rules, n_factors;
  g_autofree char *path = NULL;
  g_autoptr (EfPumpSheet) sheet = NULL;
  g_autoptr (EfRuleSet) rules = NULL;
  g_autoptr (JsonArray) rows = json_array_new ();
  JsonObject *result;
  JsonNode *node;

  ef_json_only (input, members);
  options.seed = (guint32) ef_json_number_or (input, "seed", 0, G_MAXUINT32, 1);
  options.pumps = (guint) ef_json_number (input, "pumps", 1, 1e6);
  options.spread = 1e-6 * ef_json_number_or (input, "spread_um", 0.1, 100, 15);
  n_rules = read_rules (input, decisions);
  n_factors = read_factors (input, factors);
  if (!ef_json_finish (input->context, error))
    return NULL;
  path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  sheet = ef_pump_sheet_load (path, error);
  rules = sheet != NULL ? ef_rule_set_default (error) : NULL;
  if (rules == NULL)
    return NULL;
  for (guint k = 0; k < n_factors; k++)
    for (guint i = 0; i < n_rules; i++)
      {
        EfCoverage coverage[EF_N_COVERAGE_ITEMS];

        options.gauge_factor = factors[k];
        if (!ef_rule_set_use_decision (rules, &decisions[i], error) || !ef_coverage_run (sheet, rules, &options, NULL, coverage, error))
          return NULL;
        put_rows (rows, &decisions[i], factors[k], coverage);
      }
  result = json_object_new ();
  json_object_set_array_member (result, "rows", g_steal_pointer (&rows));
  node = json_node_new (JSON_NODE_OBJECT);
  json_node_take_object (node, result);

  return node;
}

const EfCalc ef_calc_coverage[] = {
  {
    .name = "coverage-experiment",
    .summary = "How often verdicts on simulated pumps with known truth are wrong, by decision rule and fineness of the gauges",
    .input = "seed: 1 where not given; pumps: drawn at random, and as many at the limit; spread_um: truth lies evenly within this of the limit, 15 where not given\n"
             "rules: array of {rule: guard-band, expanded or shared-risk, coverage: one-sided, 0.95 where not given}\n"
             "gauge_factors: array; the gauges' usual uncertainties times this",
    .output = "rows: for each gauge factor, rule and item: use_at_limit (truth is the limit), false_use (of those truly beyond), false_reject (rework or scrap, of\n"
              "those truly within), measure_again (of all): each {count, of, share, low, high}, the interval at 95 %",
    .example = "{\"seed\": 1, \"pumps\": 20, \"rules\": [{\"rule\": \"guard-band\", \"coverage\": 0.95}, {\"rule\": \"shared-risk\"}], \"gauge_factors\": [1]}",
    .source = "the decision rules: ISO 14253-1, JCGM 106; interval: Clopper and Pearson; all from memory",
    .run = run_coverage,
  },
  { 0 },
};
