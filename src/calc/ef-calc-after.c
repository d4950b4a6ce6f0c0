/* After the rework, the right pump, and cost by name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-calc.h"
#include "ef-calc-inspection.h"

#include "../assess/ef-assessment.h"
#include "../assess/ef-right-pump.h"

#include <float.h>
#include <math.h>

#define MOST_ROWS 1000
#define FAR 1e9

static JsonNode *
run_after_compare (const EfJson *input,
                   GError **error)
{
  static const char *const members[] = { "values", NULL };
  static const char *const row_members[] = { "name", "predicted_mm", "u_predicted_mm", "measured_mm", "u_measured_mm", NULL };
  g_auto (EfJson) list = { 0 };
  JsonArray *rows = json_array_new ();
  JsonObject *out = json_object_new ();
  gint64 outside = 0;

  ef_json_only (input, members);
  list = ef_json_array (input, "values", 1, MOST_ROWS);
  for (guint i = 0; i < ef_json_length (&list); i++)
    {
      g_auto (EfJson) row = ef_json_element (&list, i);
      g_autofree char *name = ef_json_string_or (&row, "name", "");
      double predicted = ef_json_number (&row, "predicted_mm", -FAR, FAR);
      double u_predicted = ef_json_number (&row, "u_predicted_mm", 0, FAR);
      double measured = ef_json_number (&row, "measured_mm", -FAR, FAR);
      double u_measured = ef_json_number (&row, "u_measured_mm", 0, FAR);
      double en = ef_after_en (measured, u_measured, predicted, u_predicted);
      JsonObject *one = json_object_new ();

      ef_json_only (&row, row_members);
      if (!(u_predicted > 0 || u_measured > 0))
        ef_json_fail (&row, EF_ERROR_RANGE, "expected an uncertainty above 0");
      json_object_set_string_member (one, "name", name);
      ef_json_put (one, "difference_mm", measured - predicted);
      ef_json_put (one, "en", en);
      json_object_set_boolean_member (one, "outside", fabs (en) > 1);
      outside += fabs (en) > 1;
      json_array_add_object_element (rows, one);
    }
  json_object_set_array_member (out, "values", rows);
  json_object_set_int_member (out, "outside", outside);

  return ef_json_object_node (out);
}

static EfDemand *
read_demand (const EfJson *input)
{
  static const char *const members[] = { "id", "cooler_flow_lpm", "cooler_drop_bar", "extra_flow_lpm", "extra_pressure_bar", "hotter_k", "speed_rpm", "note", NULL };
  g_auto (EfJson) json = ef_json_optional (input, "demand");
  EfDemand *demand = ef_demand_new ();

  if (json.node == NULL)
    return demand;
  ef_json_only (&json, members);
  demand->cooler_flow = ef_json_number_or (&json, "cooler_flow_lpm", DBL_MIN, 6e4, NAN) / 6e4;
  demand->cooler_drop = 1e5 * ef_json_number_or (&json, "cooler_drop_bar", 0, 1000, NAN);
  demand->extra_flow = ef_json_number_or (&json, "extra_flow_lpm", 0, 6e4, NAN) / 6e4;
  demand->extra_pressure = 1e5 * ef_json_number_or (&json, "extra_pressure_bar", DBL_MIN, 1000, NAN);
  demand->hotter = ef_json_number_or (&json, "hotter_k", -100, 100, NAN);
  demand->speed = ef_json_number_or (&json, "speed_rpm", DBL_MIN, 6e4, NAN) / 60;
  if (isnan (demand->cooler_flow) != isnan (demand->cooler_drop))
    ef_json_fail (&json, EF_ERROR_INVALID, "expected both cooler_flow_lpm and cooler_drop_bar, or none");
  if (isnan (demand->extra_flow) != isnan (demand->extra_pressure))
    ef_json_fail (&json, EF_ERROR_INVALID, "expected both extra_flow_lpm and extra_pressure_bar, or none");

  return demand;
}

/* The inspection assessed, coarse: only what doesn't depend on fine films is asked of it. */
static EfAssessment *
assess_input (const EfJson *input,
              GError **error)
{
  g_autoptr (EfInspection) inspection = ef_calc_read_inspection (input, error);
  g_autoptr (EfRuleSet) rules = inspection != NULL ? ef_rule_set_default (error) : NULL;

  return rules != NULL ? ef_assess_in_detail (inspection, rules, NULL, EF_DETAIL_COARSE, NULL, error) : NULL;
}

static JsonNode *
run_right_pump (const EfJson *input,
                GError **error)
{
  static const char *const members[] = { "inspection", "demo", "demand", NULL };
  g_autoptr (EfItem) demand = NULL;
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (GPtrArray) sheets = NULL;
  g_autoptr (EfRightPump) result = NULL;

  ef_json_only (input, members);
  demand = &read_demand (input)->item;
  assessment = assess_input (input, error);
  sheets = assessment != NULL ? ef_right_pump_sheets (error) : NULL;
  if (sheets == NULL)
    return NULL;
  result = ef_right_pump_new (assessment, sheets, (const EfDemand *) demand, NULL, error);

  return result != NULL ? ef_right_pump_to_json (result) : NULL;
}

static EfCost *
read_cost (const EfJson *input)
{
  static const char *const members[] = { "id", "currency", "hour_rate", "new_pump", "parts", "minutes", "note", NULL };
  const char *names[EF_N_COST_KINDS + 1] = { NULL };
  g_auto (EfJson) json = ef_json_optional (input, "cost");
  g_auto (EfJson) minutes = { 0 };
  EfCost *cost = ef_cost_new ();

  if (json.node == NULL)
    return cost;
  ef_json_only (&json, members);
  cost->currency = ef_json_string_or (&json, "currency", NULL);
  cost->hour_rate = ef_json_number_or (&json, "hour_rate", 0, 1e9, NAN);
  cost->new_pump = ef_json_number_or (&json, "new_pump", 0, 1e12, NAN);
  cost->parts = ef_json_number_or (&json, "parts", 0, 1e12, NAN);
  minutes = ef_json_optional (&json, "minutes");
  for (guint i = 0; i < EF_N_COST_KINDS; i++)
    {
      names[i] = ef_cost_kind_name (i);
      if (minutes.node != NULL)
        cost->minutes[i] = ef_json_number_or (&minutes, names[i], 0, 1e5, NAN);
    }
  if (minutes.node != NULL)
    ef_json_only (&minutes, names);

  return cost;
}

static JsonNode *
run_rework_cost (const EfJson *input,
                 GError **error)
{
  static const char *const members[] = { "inspection", "demo", "passes", "cost", NULL };
  g_autoptr (EfItem) cost = NULL;
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (EfCostSummary) summary = NULL;
  double passes;

  ef_json_only (input, members);
  passes = ef_json_number_or (input, "passes", 0, 1e5, 0);
  cost = &read_cost (input)->item;
  assessment = assess_input (input, error);
  if (assessment == NULL)
    return NULL;
  summary = ef_cost_summary_new (assessment->steps, passes, passes > 0.0 ? 0.0 : assessment->cost->passes_planned, (const EfCost *) cost);

  return ef_cost_summary_to_json (summary);
}

const EfCalc ef_calc_after[] = {
  {
      "after-compare",
      "Values measured after a rework against what was expected of them",
      "values: each with\n"
      "  name: text, default empty\n"
      "  predicted_mm, u_predicted_mm: expected, and its standard uncertainty\n"
      "  measured_mm, u_measured_mm",
      "values: for each difference_mm, en (difference over the combined expanded uncertainty, k = 2) and whether it's outside (|en| > 1)\n"
      "outside: how many",
      "{\"values\": [{\"name\": \"end clearance\", \"predicted_mm\": 0.060, \"u_predicted_mm\": 0.004, \"measured_mm\": 0.064, \"u_measured_mm\": 0.003},\n"
      " {\"name\": \"width\", \"predicted_mm\": 24.990, \"u_predicted_mm\": 0.003, \"measured_mm\": 24.978, \"u_measured_mm\": 0.002}]}",
      "Normalized error En: ISO 13528, ISO/IEC 17043",
      run_after_compare,
  },
  {
      "right-pump",
      "Which pump model suits a demand: all models on the engine of an inspected pump",
      "inspection: a whole inspection as in its file; or\n"
      "demo: name of a demo job that comes with the program\n"
      "demand: what is asked beyond the pump sheet's hot idle, all optional:\n"
      "  cooler_flow_lpm, cooler_drop_bar: pressure lost in an extra cooler and its lines at a flow, oil as at hot idle\n"
      "  extra_flow_lpm, extra_pressure_bar: flow of added consumers at a pressure, oil as at hot idle\n"
      "  hotter_k: oil hotter than at the sheet's hot idle\n"
      "  speed_rpm: of the pump at idle",
      "choices: this pump as found and after rework, and each model as new, with the pressure at the bearings and the delivery at hot idle, delivery at the rated point,\n"
      "  scavenge ratio (of displacements) and margin (to what is delivered), whether mounting and pickup are the same, and curves over speed and demand\n"
      "sentence: what each would hold and which is enough\n"
      "wanted_bar, speed_rpm, temperature_c, viscosity_mPa_s\n"
      "demand_m3: k = mu Q / p with added consumers; demand_at_pump_m3: with the cooler in the way; pressure_share: of the pump's that reaches the bearings\n"
      "notes: what isn't modelled",
      "{\"demo\": \"job-1-hl-24\", \"demand\": {\"cooler_flow_lpm\": 8, \"cooler_drop_bar\": 0.4, \"hotter_k\": 5}}",
      "docs/flow-model.md; laminar resistances in series and side by side",
      run_right_pump,
  },
  {
      "rework-cost",
      "Time and money for the rework against a new pump, by the shop's own rates",
      "inspection: a whole inspection as in its file; or\n"
      "demo: name of a demo job that comes with the program\n"
      "passes: of lapping, default: those planned\n"
      "cost: all optional: currency, hour_rate, new_pump, parts; minutes: object with strip, lap, pass, rework, clean, measure, assemble, fit",
      "lines: for each kind of work its count, minutes each (own: set by the shop; else common practice), total_minutes and amount\n"
      "passes_planned: of the passes counted, those that come from the plan\n"
      "rework_minutes, rework, replace_minutes, replacement, saved: null where something isn't set\n"
      "sentence",
      "{\"demo\": \"job-1-hl-24\", \"passes\": 30, \"cost\": {\"currency\": \"units\", \"hour_rate\": 60, \"new_pump\": 480, \"parts\": 25}}",
      "sum of counts times minutes; minutes that aren't set: common practice, no source",
      run_rework_cost,
  },
  { NULL },
};
