/* The right pump: laws that hold whatever the films, and against the assessment's own flow.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "after-work.h"

#include <string.h>

#include "assess/ef-right-pump.h"
#include "../isolate.h"

static const EfPumpChoice *
choice (const EfRightPump *result,
        const char *model,
        EfPumpState state)
{
  for (guint i = 0; i < result->choices->len; i++)
    {
      const EfPumpChoice *one = result->choices->pdata[i];

      if (g_str_equal (one->model, model) && one->state == state)
        return one;
    }
  g_error ("%s is missing", model);
}

static EfRightPump *
compare (const EfAssessment *assessment,
         const EfDemand *demand)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) sheets = ef_right_pump_sheets (&error);
  EfRightPump *result;

  g_assert_no_error (error);
  result = ef_right_pump_new (assessment, sheets, demand, NULL, &error);
  g_assert_no_error (error);

  return result;
}

/* Without a demand of its own it's the pump's own hot idle: as the assessment has it, which is solved on as many cells. */
static void
test_as_assessed (void)
{
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfAssessment) assessment = after_assess (inspection);
  g_autoptr (EfRightPump) result = compare (assessment, NULL);
  static const EfPumpState states[] = { EF_STATE_NEW, EF_STATE_FOUND, EF_STATE_REWORKED };

  for (guint i = 0; i < G_N_ELEMENTS (states); i++)
    {
      const EfPumpChoice *one = choice (result, "HL-24", states[i]);
      const EfStateFlow *flow = &assessment->flow->state[states[i]];

      g_assert_true (one->known);
      g_assert_cmpfloat_with_epsilon (one->pressure / flow->idle.pressure, 1.0, 1e-6);
      g_assert_cmpfloat_with_epsilon (one->pressure, one->before, 1e-6 * one->before);
      g_assert_cmpfloat_with_epsilon (one->rated_delivery / flow->rated.delivery, 1.0, 1e-2);
      g_assert_cmpfloat_with_epsilon (one->pump_pressure, one->pressure, 1e-9);
    }
  g_assert_cmpfloat_with_epsilon (choice (result, "HL-24", EF_STATE_NEW)->scavenge_ratio, assessment->flow->displacement_ratio, 1e-12);
  /* The heavier class has the larger pockets, the same flange and another pickup, as its sheet says. */
  g_assert_cmpfloat (choice (result, "HL-27", EF_STATE_NEW)->pressure, >, choice (result, "HL-24", EF_STATE_NEW)->pressure);
  g_assert_true (choice (result, "HL-27", EF_STATE_NEW)->same_mounting);
  g_assert_false (choice (result, "HL-27", EF_STATE_NEW)->same_pickup);
  g_assert_false (choice (result, "TG-3", EF_STATE_NEW)->same_mounting);
  g_assert_nonnull (strstr (result->sentence, "HL-27"));
  /* What fits stands before what doesn't. */
  for (guint i = 1; i < result->choices->len; i++)
    g_assert_true (((EfPumpChoice *) result->choices->pdata[i - 1])->same_mounting || !((EfPumpChoice *) result->choices->pdata[i])->same_mounting);
  g_assert_null (strstr (result->sentence, "TG-3"));
}

/* Oil that leaves the pump goes through the cooler and then to bearings and consumers: Ohm's law for oil. */
static void
test_laws (void)
{
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfAssessment) assessment = after_assess (inspection);
  g_autoptr (EfItem) item = (EfItem *) ef_demand_new ();
  EfDemand *demand = (EfDemand *) item;
  g_autoptr (EfRightPump) result = NULL;
  double mu0 = assessment->flow->idle_mu, k0 = assessment->flow->demand, c;

  demand->cooler_flow = 8e-3 / 60;
  demand->cooler_drop = 0.4e5;
  demand->extra_flow = 2e-3 / 60;
  demand->extra_pressure = 1e5;
  demand->hotter = 6;
  demand->speed = 10;
  result = compare (assessment, demand);
  c = mu0 * demand->cooler_flow / demand->cooler_drop;
  g_assert_cmpfloat_with_epsilon (result->k, k0 + mu0 * demand->extra_flow / demand->extra_pressure, 1e-20);
  g_assert_cmpfloat_with_epsilon (result->temperature, assessment->flow->idle_temperature + 6, 1e-9);
  g_assert_cmpfloat (result->mu, <, mu0);
  for (guint i = 0; i < result->choices->len; i++)
    {
      const EfPumpChoice *one = result->choices->pdata[i];

      if (!one->known || one->at_relief)
        continue;
      g_assert_cmpfloat_with_epsilon (result->k * one->pressure / result->mu / one->delivery, 1.0, 1e-5);
      g_assert_cmpfloat_with_epsilon (c * (one->pump_pressure - one->pressure) / result->mu / one->delivery, 1.0, 1e-5);
      g_assert_cmpfloat (one->pressure, <, one->pump_pressure);
      if (isfinite (one->scavenge_ratio))
        g_assert_cmpfloat_with_epsilon (one->scavenge_margin, one->scavenge_ratio * one->displacement * demand->speed / one->delivery, 1e-9);
      g_assert_cmpuint (one->over_speed.n, ==, EF_RIGHT_PUMP_POINTS);
      for (guint p = 1; p < one->over_speed.n; p++)
        {
          g_assert_cmpfloat (one->over_speed.y[p], >=, one->over_speed.y[p - 1]);
          g_assert_cmpfloat (one->over_demand.y[p], <, one->over_demand.y[p - 1]);
        }
    }
}

/* Each thing asked for more lowers the pressure; faster raises it. */
static void
test_directions (void)
{
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfAssessment) assessment = after_assess (inspection);
  g_autoptr (EfRightPump) plain = compare (assessment, NULL);
  double base = choice (plain, "HL-24", EF_STATE_NEW)->pressure;

  for (guint what = 0; what < 4; what++)
    {
      g_autoptr (EfItem) item = (EfItem *) ef_demand_new ();
      EfDemand *demand = (EfDemand *) item;
      g_autoptr (EfRightPump) result = NULL;
      double pressure;

      if (what == 0)
        demand->cooler_flow = 1e-4, demand->cooler_drop = 0.3e5;
      else if (what == 1)
        demand->extra_flow = 3e-5, demand->extra_pressure = 1e5;
      else if (what == 2)
        demand->hotter = 10;
      else
        demand->speed = 1.2 * assessment->flow->idle_speed;
      result = compare (assessment, demand);
      pressure = choice (result, "HL-24", EF_STATE_NEW)->pressure;
      if (what < 3)
        g_assert_cmpfloat (pressure, <, 0.995 * base);
      else
        g_assert_cmpfloat (pressure, >, 1.05 * base);
    }
}

/* A sheet of the data folder, with pieces of its text exchanged: pairs, ended by NULL. */
static EfPumpSheet *
changed_sheet (const char *name,
               const char *const *pairs)
{
  g_autofree char *path = ef_data_path ("pump-sheets", name, NULL);
  g_autoptr (GString) text = g_string_new (NULL);
  g_autofree char *whole = NULL;
  g_autoptr (GError) error = NULL;
  EfPumpSheet *sheet;

  g_assert_true (g_file_get_contents (path, &whole, NULL, &error));
  g_string_assign (text, whole);
  for (; pairs[0] != NULL; pairs += 2)
    g_assert_cmpuint (g_string_replace (text, pairs[0], pairs[1], 0), >, 0);
  sheet = ef_pump_sheet_parse (text->str, name, &error);
  g_assert_no_error (error);

  return sheet;
}

/* What can't be worked out comes last, with its reason, and isn't told as a choice. */
static void
test_unknown_last (void)
{
  static const char *const pairs[] = { "\"rc-4\"", "\"aa-1\"", "\"RC-4\"", "\"AA-1\"", "\"role\": \"pressure\"", "\"role\": \"scavenge\"", NULL };
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfAssessment) assessment = after_assess (inspection);
  g_autoptr (GPtrArray) sheets = ef_right_pump_sheets (NULL);
  g_autoptr (EfRightPump) result = NULL;
  g_autoptr (JsonNode) node = NULL;
  JsonArray *choices;
  JsonObject *last;
  const EfPumpChoice *one;

  g_ptr_array_insert (sheets, 0, changed_sheet ("rc-4.json", pairs));
  result = ef_right_pump_new (assessment, sheets, NULL, NULL, NULL);
  one = result->choices->pdata[result->choices->len - 1];
  g_assert_cmpstr (one->id, ==, "aa-1");
  g_assert_false (one->known);
  g_assert_nonnull (strstr (one->reason, "no pressure section"));
  g_assert_null (strstr (result->sentence, "AA-1"));
  node = ef_right_pump_to_json (result);
  choices = json_object_get_array_member (json_node_get_object (node), "choices");
  last = json_array_get_object_element (choices, json_array_get_length (choices) - 1);
  g_assert_cmpstr (json_object_get_string_member (last, "reason"), ==, one->reason);
  g_assert_false (json_object_has_member (last, "idle_pressure_bar"));
}

/* In the results file, in its own units. */
static void
test_in_the_results (void)
{
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfAssessment) assessment = after_assess (inspection);
  g_autoptr (EfRightPump) result = compare (assessment, NULL);
  g_autoptr (JsonNode) node = ef_right_pump_to_json (result);
  JsonObject *root = json_node_get_object (node);
  JsonArray *choices = json_object_get_array_member (root, "choices");

  g_assert_cmpuint (json_array_get_length (choices), ==, result->choices->len);
  g_assert_cmpfloat_with_epsilon (json_object_get_double_member (root, "speed_rpm"), 60 * result->speed, 1e-9);
  g_assert_cmpfloat_with_epsilon (json_object_get_double_member (root, "wanted_bar"), 1e-5 * result->wanted, 1e-12);
  for (guint i = 0; i < result->choices->len; i++)
    {
      const EfPumpChoice *one = result->choices->pdata[i];
      JsonObject *row = json_array_get_object_element (choices, i);
      JsonArray *first = json_array_get_array_element (json_object_get_array_member (row, "over_speed_rpm_bar"), 0);

      g_assert_cmpstr (json_object_get_string_member (row, "pump"), ==, one->id);
      g_assert_cmpfloat_with_epsilon (json_object_get_double_member (row, "displacement_cm3"), 1e6 * one->displacement, 1e-9);
      g_assert_cmpfloat_with_epsilon (json_object_get_double_member (row, "idle_pressure_bar"), 1e-5 * one->pressure, 1e-9);
      g_assert_cmpfloat_with_epsilon (json_object_get_double_member (row, "pump_pressure_bar"), 1e-5 * one->pump_pressure, 1e-9);
      g_assert_cmpfloat_with_epsilon (json_object_get_double_member (row, "idle_delivery_l_min"), 6e4 * one->delivery, 1e-9);
      g_assert_cmpfloat_with_epsilon (json_object_get_double_member (row, "rated_delivery_l_min"), 6e4 * one->rated_delivery, 1e-9);
      g_assert_cmpfloat_with_epsilon (json_array_get_double_element (first, 0), 60 * one->over_speed.x[0], 1e-9);
      g_assert_cmpfloat_with_epsilon (json_array_get_double_element (first, 1), 1e-5 * one->over_speed.y[0], 1e-9);
      g_assert_cmpint (json_object_has_member (row, "scavenge_margin"), ==, isfinite (one->scavenge_margin));
    }
}

/* The job's own sheet counts for its model, not the one of the same id in the data folder; what the job expects is wanted, else what its sheet says. */
static void
test_own_sheet (void)
{
  static const char *const pairs[] = { "Six-stud flange, pattern H", "Five-stud flange of its own", NULL };
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfItem) header = ef_item_copy (ef_inspection_header (inspection));
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (EfRightPump) result = NULL;
  g_autoptr (EfAssessment) unsaid = NULL;
  g_autoptr (EfRightPump) by_sheet = NULL;
  guint own = 0;

  ef_pump_sheet_unref (inspection->sheet);
  inspection->sheet = changed_sheet ("hl-24.json", pairs);
  assessment = after_assess (inspection);
  result = compare (assessment, NULL);
  g_assert_true (g_str_has_prefix (choice (result, "HL-24", EF_STATE_NEW)->mounting, "Five-stud flange of its own"));
  g_assert_false (choice (result, "HL-27", EF_STATE_NEW)->same_mounting);
  for (guint i = 0; i < result->choices->len; i++)
    own += ((EfPumpChoice *) result->choices->pdata[i])->this_model && ((EfPumpChoice *) result->choices->pdata[i])->state == EF_STATE_NEW;
  g_assert_cmpuint (own, ==, 1);
  g_assert_cmpfloat (result->wanted, ==, ef_inspection_header (inspection)->expected_pressure);
  g_assert_cmpstr (result->wanted_from, ==, "the job");

  ((EfJobHeader *) header)->expected_pressure = NAN;
  g_assert_true (ef_inspection_swap (inspection, inspection->items[EF_ITEM_HEADER]->pdata[0], header, NULL));
  unsaid = after_assess (inspection);
  by_sheet = compare (unsaid, NULL);
  g_assert_cmpfloat (by_sheet->wanted, ==, ef_pump_sheet_rated (inspection->sheet, "hot idle")->pressure);
  g_assert_cmpstr (by_sheet->wanted_from, ==, "the pump sheet");
}

static void
test_refuses (void)
{
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfAssessment) assessment = after_assess (inspection);
  g_autoptr (GPtrArray) none = g_ptr_array_new ();
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  g_autoptr (EfRightPump) alone = ef_right_pump_new (assessment, none, NULL, NULL, NULL);
  g_autoptr (EfRightPump) stopped = NULL;
  g_autoptr (GPtrArray) sheets = ef_right_pump_sheets (NULL);
  g_autoptr (GError) error = NULL;

  /* Its own model is always there. */
  g_assert_nonnull (alone);
  g_assert_true (choice (alone, "HL-24", EF_STATE_NEW)->known);
  g_cancellable_cancel (cancellable);
  stopped = ef_right_pump_new (assessment, sheets, NULL, cancellable, &error);
  g_assert_null (stopped);
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/right-pump/as-assessed", test_as_assessed);
  g_test_add_func ("/right-pump/laws", test_laws);
  g_test_add_func ("/right-pump/directions", test_directions);
  g_test_add_func ("/right-pump/unknown-last", test_unknown_last);
  g_test_add_func ("/right-pump/in-the-results", test_in_the_results);
  g_test_add_func ("/right-pump/own-sheet", test_own_sheet);
  g_test_add_func ("/right-pump/refuses", test_refuses);

  return g_test_run ();
}
