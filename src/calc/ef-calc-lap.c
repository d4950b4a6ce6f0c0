/* Lapping rates by name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-calc.h"

#include "../rework/ef-lap-rate.h"

#include <float.h>
#include <math.h>

#define MOST_OBSERVATIONS 2000

static JsonNode *
run_preston (const EfJson *input,
             GError **error)
{
  static const char *const members[] = { "preston_1_pa", "pressure_pa", "speed_m_s", "time_s", NULL };
  JsonObject *out;
  double preston, pressure, speed, time;

  ef_json_only (input, members);
  preston = ef_json_number (input, "preston_1_pa", 0, 1e3);
  pressure = ef_json_number (input, "pressure_pa", 0, 1e9);
  speed = ef_json_number (input, "speed_m_s", 0, 1e3);
  time = ef_json_number (input, "time_s", 0, 1e9);
  if (!ef_json_finish (input->context, error))
    return NULL;
  out = json_object_new ();
  ef_json_put (out, "removal_um", 1e6 * ef_lap_preston_removal (preston, pressure, speed, time));

  return ef_json_object_node (out);
}

static JsonArray *
rows_of (const EfLapTable *table,
         const EfLapRates *rates,
         double work)
{
  JsonArray *rows = json_array_new ();

  for (guint g = 0; g < rates->n; g++)
    {
      JsonObject *row = json_object_new ();

      json_object_set_string_member (row, "grit", table->grit[g].name);
      json_object_set_string_member (row, "paper", table->grit[g].paper);
      ef_json_put (row, "grain_um", 1e6 * table->grit[g].grain);
      ef_json_put (row, "removal_um", 1e6 * work * rates->removal[g]);
      ef_json_put (row, "u_um", 1e6 * work * ef_lap_rates_u (rates, g));
      ef_json_put (row, "preston_1_pa", rates->removal[g] / (table->pressure * table->stroke));
      ef_json_put (row, "damage_um", 1e6 * table->grit[g].damage);
      ef_json_put (row, "effort", table->grit[g].effort);
      json_object_set_int_member (row, "observations", rates->observations[g]);
      json_array_add_object_element (rows, row);
    }

  return rows;
}

static JsonNode *
run_lap_rate (const EfJson *input,
              GError **error)
{
  static const char *const members[] = { "material", "pressure_kpa", "stroke_m", NULL };
  g_autoptr (EfLapTable) table = ef_lap_table_default (error);
  g_autofree char *material = NULL;
  double pressure, stroke;
  EfLapRates rates;
  JsonObject *out;

  if (table == NULL)
    return NULL;
  ef_json_only (input, members);
  material = ef_json_string (input, "material");
  pressure = 1e3 * ef_json_number_or (input, "pressure_kpa", DBL_MIN, 10000, 1e-3 * table->pressure);
  stroke = ef_json_number_or (input, "stroke_m", DBL_MIN, 1000, table->stroke);
  if (!ef_json_finish (input->context, error) || !ef_lap_rates_prior (table, material, &rates, error))
    return NULL;

  out = json_object_new ();
  json_object_set_string_member (out, "material", material);
  ef_json_put (out, "pressure_kpa", 1e-3 * pressure);
  ef_json_put (out, "stroke_m", stroke);
  json_object_set_array_member (out, "rates", rows_of (table, &rates, pressure / table->pressure * (stroke / table->stroke)));
  json_object_set_string_member (out, "note", table->note != NULL ? table->note : "");

  return ef_json_object_node (out);
}

static void
read_passes (const EfJson *row,
             const EfLapTable *table,
             EfLapObservation *out)
{
  const char *names[EF_LAP_MOST_GRITS + 1] = { NULL };
  g_auto (EfJson) passes = ef_json_object (row, "passes");

  for (guint g = 0; g < table->n_grits; g++)
    {
      names[g] = table->grit[g].name;
      out->passes[g] = ef_json_number_or (&passes, names[g], 0, 10000, 0);
    }
  ef_json_only (&passes, names);
}

static JsonArray *
observations_out (const EfLapLearned *learned)
{
  JsonArray *rows = json_array_new ();

  for (guint i = 0; i < learned->n; i++)
    {
      JsonObject *row = json_object_new ();

      ef_json_put (row, "distance", learned->score[i]);
      json_object_set_boolean_member (row, "doubtful", learned->doubtful[i]);
      json_array_add_object_element (rows, row);
    }

  return rows;
}

static JsonNode *
run_learn_rate (const EfJson *input,
                GError **error)
{
  static const char *const members[] = { "material", "forgetting", "observations", NULL };
  static const char *const row_members[] = { "passes", "pressure_kpa", "stroke_m", "removal_um", "u_um", NULL };
  g_autoptr (EfLapTable) table = ef_lap_table_default (error);
  g_autofree EfLapObservation *observations = NULL;
  g_autofree char *material = NULL;
  g_auto (EfLapLearned) learned = { 0 };
  g_auto (EfJson) list = { 0 };
  double forgetting;
  JsonObject *out;
  guint n;

  if (table == NULL)
    return NULL;
  ef_json_only (input, members);
  material = ef_json_string (input, "material");
  forgetting = ef_json_number_or (input, "forgetting", DBL_MIN, 1, 1);
  list = ef_json_array (input, "observations", 0, MOST_OBSERVATIONS);
  n = MIN (ef_json_length (&list), MOST_OBSERVATIONS);
  observations = g_new0 (EfLapObservation, MAX (n, 1));
  for (guint i = 0; i < n; i++)
    {
      g_auto (EfJson) row = ef_json_element (&list, i);

      ef_json_only (&row, row_members);
      read_passes (&row, table, &observations[i]);
      observations[i].pressure = 1e3 * ef_json_number_or (&row, "pressure_kpa", DBL_MIN, 10000, NAN);
      observations[i].stroke = ef_json_number_or (&row, "stroke_m", DBL_MIN, 1000, NAN);
      observations[i].removal = 1e-6 * ef_json_number (&row, "removal_um", -5000, 5000);
      observations[i].u = 1e-6 * ef_json_number (&row, "u_um", DBL_MIN, 5000);
    }
  if (!ef_json_finish (input->context, error) || !ef_lap_learn (table, material, observations, n, forgetting, &learned, error))
    return NULL;

  out = json_object_new ();
  json_object_set_string_member (out, "material", material);
  json_object_set_array_member (out, "rates", rows_of (table, &learned.rates, 1.0));
  json_object_set_array_member (out, "observations", observations_out (&learned));

  return ef_json_object_node (out);
}

const EfCalc ef_calc_lap[] = {
  {
      "preston",
      "Removal by lapping from pressure, speed and time",
      "preston_1_pa: coefficient K\n"
      "pressure_pa, speed_m_s, time_s",
      "removal_um: K p v t",
      "{\"preston_1_pa\": 1e-12, \"pressure_pa\": 20000, \"speed_m_s\": 0.25, \"time_s\": 60}",
      "Preston 1927: dz/dt = K p v",
      run_preston,
  },
  {
      "lap-rate",
      "What a pass of each grit takes off a material, before the shop has learned its own rates",
      "material: as in pump sheets, \"aluminium-alloy\"\n"
      "pressure_kpa, stroke_m: of a pass, default the table's",
      "rates: for each grit removal_um by a pass and its standard uncertainty u_um, preston_1_pa, paper (ISO 6344), grain_um, damage_um, effort\n"
      "pressure_kpa, stroke_m: of that pass\n"
      "note: where the table is from",
      "{\"material\": \"aluminium-alloy\"}",
      "Preston 1927; rates: common practice, no source",
      run_lap_rate,
  },
  {
      "learn-rate",
      "The shop's own lapping rates from measured removal over known passes",
      "material: as in pump sheets\n"
      "forgetting: weight of the observation before as a share of the one after it, above 0 to 1, default 1\n"
      "observations: oldest first; each with\n"
      "  passes: {\"coarse\": 8, \"fine\": 4}\n"
      "  pressure_kpa, stroke_m: of a pass, default the table's\n"
      "  removal_um: before less after\n"
      "  u_um: its standard uncertainty",
      "rates: as in lap-rate, by a standard pass; observations: how many each was learned from\n"
      "observations: for each its distance from what the others say, in standard uncertainties, and whether it's doubtful and was left out",
      "{\"material\": \"aluminium-alloy\", \"observations\": [\n"
      "  {\"passes\": {\"coarse\": 8, \"medium\": 4, \"fine\": 4}, \"removal_um\": 56, \"u_um\": 2},\n"
      "  {\"passes\": {\"medium\": 8, \"fine\": 4}, \"removal_um\": 21, \"u_um\": 2},\n"
      "  {\"passes\": {\"coarse\": 10, \"fine\": 5}, \"removal_um\": 53, \"u_um\": 2},\n"
      "  {\"passes\": {\"coarse\": 10, \"fine\": 5}, \"removal_um\": 153, \"u_um\": 2}]}",
      "Recursive least squares (Plackett 1950); what lies over 3.5 standard uncertainties from what the others say is left out and named",
      run_learn_rate,
  },
  { NULL },
};
