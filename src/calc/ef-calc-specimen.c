/* Specimens of known truth by name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-calc.h"

#include "../assess/ef-specimen-trial.h"
#include "../record/ef-exchange.h"

#include <math.h>
#include <string.h>

#define MOST_SEEDS 10000

/* "hl-24", one of the shipped. */
static EfPumpSheet *
load_sheet (const EfJson *input,
            GError **error)
{
  g_autofree char *name = ef_json_string (input, "sheet");
  g_autofree char *file = name != NULL ? g_strconcat (name, ".json", NULL) : NULL;
  g_autofree char *path = NULL;

  if (file == NULL || strchr (file, '/') != NULL)
    {
      ef_json_fail (input, EF_ERROR_INVALID, "sheet: expected the id of a shipped pump sheet, such as hl-24");
      ef_json_finish (input->context, error);
      return NULL;
    }
  path = ef_data_path ("pump-sheets", file, NULL);

  return ef_pump_sheet_load (path, error);
}

static JsonObject *
scatter_to_json (const EfScatter *scatter)
{
  JsonObject *object = json_object_new ();

  json_object_set_int_member (object, "n", scatter->n);
  ef_json_put (object, "mean_square", scatter->chi2 / scatter->n);
  ef_json_put (object, "within_2u", (double) scatter->within / scatter->n);
  ef_json_put (object, "p", ef_scatter_p (scatter));

  return object;
}

static JsonObject *
table_to_json (const EfSpecimenTrial *trial)
{
  JsonObject *table = json_object_new ();

  for (int made = EF_CAUSE_LOAD; made < EF_N_CAUSES; made++)
    {
      JsonObject *row = json_object_new ();

      for (int found = 0; found < EF_N_CAUSES; found++)
        json_object_set_int_member (row, ef_cause_names[found], trial->table[made][found]);
      json_object_set_object_member (table, ef_cause_names[made], row);
    }

  return table;
}

static JsonNode *
trial_to_json (const EfSpecimenTrial *trial)
{
  JsonObject *result = json_object_new ();
  JsonObject *readings = json_object_new ();
  JsonArray *difficulty = json_array_new (), *wrong = json_array_new ();

  json_object_set_int_member (result, "n", trial->n);
  json_object_set_int_member (result, "right", trial->right);
  ef_json_put (result, "right_share", (double) trial->right / trial->n);
  json_object_set_object_member (result, "made_found", table_to_json (trial));
  for (int d = 0; d < EF_SPECIMEN_HARDEST; d++)
    json_array_add_double_element (difficulty, trial->of_difficulty[d] > 0 ? (double) trial->right_of_difficulty[d] / trial->of_difficulty[d] : 0.0);
  json_object_set_array_member (result, "right_share_of_difficulty", difficulty);
  for (guint i = 0; i < trial->n_wrong; i++)
    json_array_add_int_element (wrong, trial->wrong[i]);
  json_object_set_array_member (result, "wrong_seeds", wrong);
  for (int kind = 0; kind < EF_N_GAUGE_KINDS; kind++)
    if (trial->readings[kind].n > 0)
      json_object_set_object_member (readings, ef_gauge_kind_name (kind), scatter_to_json (&trial->readings[kind]));
  json_object_set_object_member (result, "readings", readings);
  if (trial->derived.n > 0)
    json_object_set_object_member (result, "derived", scatter_to_json (&trial->derived));

  return ef_json_object_node (result);
}

static JsonNode *
run_trial (const EfJson *input,
           GError **error)
{
  static const char *const members[] = { "sheet", "first_seed", "n", "difficulty", NULL };
  g_autoptr (EfPumpSheet) sheet = NULL;
  g_autoptr (EfRuleSet) rules = NULL;
  guint32 first = (guint32) ef_json_number_or (input, "first_seed", 0, G_MAXINT32, 1);
  guint n = (guint) ef_json_number_or (input, "n", 1, MOST_SEEDS, 40);
  int difficulty = (int) ef_json_number_or (input, "difficulty", 0, EF_SPECIMEN_HARDEST, 0);
  EfSpecimenTrial trial;

  ef_json_only (input, members);
  if (!ef_json_finish (input->context, error))
    return NULL;
  sheet = load_sheet (input, error);
  rules = sheet != NULL ? ef_rule_set_default (error) : NULL;
  if (rules == NULL || !ef_specimen_trial (sheet, rules, first, n, difficulty, NULL, &trial, error))
    return NULL;

  return trial_to_json (&trial);
}

static JsonNode *
run_specimen (const EfJson *input,
              GError **error)
{
  static const char *const members[] = { "sheet", "seed", "cause", "difficulty", NULL };
  g_autoptr (EfPumpSheet) sheet = NULL;
  g_autoptr (EfSpecimen) specimen = NULL;
  EfSpecimenOptions options = { 1, EF_CAUSE_NONE, 1, { 0, 0 } };
  JsonObject *result;

  ef_json_only (input, members);
  options.seed = (guint32) ef_json_number_or (input, "seed", 0, G_MAXINT32, 1);
  options.difficulty = (int) ef_json_number_or (input, "difficulty", 1, EF_SPECIMEN_HARDEST, 1);
  if (ef_json_has (input, "cause"))
    options.cause = (EfCause) ef_json_choice (input, "cause", ef_cause_names);
  if (!ef_json_finish (input->context, error))
    return NULL;
  sheet = load_sheet (input, error);
  if (sheet == NULL || !ef_specimen_load (sheet, options.load_psi, error))
    return NULL;
  specimen = ef_specimen_new (sheet, &options, error);
  if (specimen == NULL)
    return NULL;

  result = json_object_new ();
  json_object_set_string_member (result, "cause", ef_cause_names[specimen->cause]);
  json_object_set_string_member (result, "story", specimen->story);
  json_object_set_int_member (result, "marks", specimen->truth->items[EF_ITEM_MARK]->len);
  json_object_set_int_member (result, "readings", specimen->truth->items[EF_ITEM_READING]->len);
  ef_json_put (result, "load_drive_deg", options.load_psi[0] * 180.0 / G_PI);
  ef_json_put (result, "load_driven_deg", options.load_psi[1] * 180.0 / G_PI);

  return ef_json_object_node (result);
}

const EfCalc ef_calc_specimen[] = {
  {
    .name = "specimen",
    .summary = "A pump worn by simulation from a seed: what happened to it",
    .input = "sheet: id of a shipped pump sheet\nseed: 1 where not given\ncause: none (drawn from the seed), load, debris, end-wear, misfit, foreign-body\ndifficulty: 1 to 3, 1 where not given",
    .output = "cause, story, number of marks and readings of the truth, load_drive_deg, load_driven_deg: directions of the computed load (the verb specimen writes the whole job)",
    .example = "{\"sheet\": \"hl-24\", \"seed\": 7, \"cause\": \"load\", \"difficulty\": 2}",
    .source = "the program's own model of wear, see docs/teaching.md",
    .run = run_specimen,
  },
  {
    .name = "specimen-experiment",
    .summary = "Whether the judge names the cause that specimens were made with, and readings scatter as their gauges say",
    .input = "sheet: id of a shipped pump sheet\nfirst_seed: 1 where not given\nn: seeds, 40 where not given\ndifficulty: 1 to 3; 0 (default): in turn",
    .output = "n, right, right_share, made_found (table), right_share_of_difficulty, wrong_seeds (the first 20), readings by gauge and derived: n, mean_square of deviation over "
              "standard uncertainty, within_2u, p (chi-square, two-sided)",
    .example = "{\"sheet\": \"hl-24\", \"n\": 2}",
    .source = "chi-square distribution (GNU Scientific Library); see docs/teaching.md",
    .run = run_trial,
  },
  { 0 },
};
