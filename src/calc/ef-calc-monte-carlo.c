/* Computations by name: how sure the hot-idle pressure is.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-calc-inspection.h"
#include "ef-calc.h"

#include "../assess/ef-assessment.h"

static JsonNode *
run_monte_carlo (const EfJson *input,
                 GError **error)
{
  static const char *const members[] = { "inspection", "demo", "seed", "draws", NULL };
  guint32 seed = (guint32) ef_json_integer_or (input, "seed", 0, G_MAXUINT32, 1);
  guint draws = (guint) ef_json_integer_or (input, "draws", 0, 5000000, 0);
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (EfRuleSet) rules = NULL;
  g_autoptr (EfAssessment) assessment = NULL;
  g_auto (EfFlowMonteCarlo) result = { 0 };
  JsonNode *node;

  ef_json_only (input, members);
  inspection = ef_calc_read_inspection (input, error);
  rules = inspection != NULL ? ef_rule_set_default (error) : NULL;
  assessment = rules != NULL ? ef_assess_in_detail (inspection, rules, NULL, EF_DETAIL_COARSE, NULL, error) : NULL;
  if (assessment == NULL || !ef_flow_monte_carlo (&assessment->findings, seed, draws, NULL, &result, error))
    return NULL;

  node = ef_flow_monte_carlo_to_json (&result);
  /* A results file says that there is no reason why not; here it's left out. */
  if (result.known)
    json_object_remove_member (json_node_get_object (node), "reason");

  return node;
}

const EfCalc ef_calc_monte_carlo[] = {
  {
      "monte-carlo-pressure",
      "Hot-idle pressure, leakage and end clearance as found, with the clearances drawn at random within their uncertainty",
      "inspection: a whole inspection as in its file; or\n"
      "demo: name of a demo job that comes with the program\n"
      "seed: 1 where not given; the same seed gives the same numbers\n"
      "draws: 0 (default): until two digits of the standard uncertainty hold; otherwise 100 to 5 million",
      "known, reason: why it can't be worked out\n"
      "seed, draws, failed: draws in which a gear would seize, left out\n"
      "end_clearance_mm (cold, mean of both gears), leakage_l_min, hot_idle_pressure_bar: mean, u (standard), low and high of the shortest 95 % interval\n"
      "demand_pressure_bar: the pump sheet's at hot idle; below_demand: probability that the pressure is below it\n"
      "surrogate_error_bar: the largest difference from a direct solve at the points tried (checks)",
      "{\"demo\": \"job-1-hl-24\", \"seed\": 1, \"draws\": 20000}",
      "JCGM 101:2008 clause 7, from memory; half of a gauge's variance is common to all that it reads, an assumption",
      run_monte_carlo,
  },
  { NULL },
};
