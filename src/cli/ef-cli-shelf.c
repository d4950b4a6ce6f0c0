/* endfloat shelf: what lies on it, what goes on it, who gets it, and what fits a job.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli-action.h"
#include "ef-cli.h"

#include "../assess/ef-assessment.h"
#include "../record/ef-store-shelf.h"
#include "../shelf/ef-shelf-keep.h"
#include "../shelf/ef-shelf-match.h"

#include <math.h>

typedef struct
{
  EfStore *store;
  char *store_path, *job, *reason, *role, *output;
  char *model, *kind, *state, *material, *quantity;
  double size_min, size_max; /* mm */
  int most;
  gboolean all;
} Options;

static void
options_clear (Options *options)
{
  g_clear_pointer (&options->store, ef_store_close);
  g_free (options->store_path);
  g_free (options->job);
  g_free (options->reason);
  g_free (options->role);
  g_free (options->output);
  g_free (options->model);
  g_free (options->kind);
  g_free (options->state);
  g_free (options->material);
  g_free (options->quantity);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Options, options_clear)

static gboolean
write_text (const Options *options,
            char *text,
            GError **error)
{
  g_autofree char *own = text;

  return ef_cli_write (options->output, own, error);
}

static gboolean
write_object (const Options *options,
              JsonObject *object,
              GError **error)
{
  g_autoptr (JsonNode) node = ef_json_object_node (object);

  return write_text (options, ef_json_to_text (node), error);
}

static gboolean
list (const Options *options,
      const char *text,
      GError **error)
{
  const EfShelfQuery query = {
    .text = text, .model = options->model, .kind = options->kind, .state = options->state, .material = options->material,
    .quantity = options->quantity, .size_min = options->size_min * 1e-3, .size_max = options->size_max * 1e-3,
  };
  g_autoptr (GPtrArray) parts = ef_store_shelf (options->store, &query, error);

  return parts != NULL && write_text (options, ef_shelf_write (parts), error);
}

static gboolean
run_list (const Options *options,
          const char *unused,
          GError **error)
{
  return list (options, NULL, error);
}

static gboolean
run_show (const Options *options,
          const char *code,
          GError **error)
{
  g_autoptr (GPtrArray) unit = ef_store_shelf_unit (options->store, code, error);

  return unit != NULL && write_text (options, ef_shelf_write (unit), error);
}

static gboolean
run_history (const Options *options,
             const char *code,
             GError **error)
{
  g_autoptr (GPtrArray) events = ef_store_shelf_history (options->store, code, error);
  JsonObject *object;
  JsonArray *array;

  if (events == NULL)
    return FALSE;
  object = json_object_new ();
  array = json_array_new ();
  for (guint i = 0; i < events->len; i++)
    {
      const EfShelfEvent *event = events->pdata[i];
      JsonObject *one = json_object_new ();

      json_object_set_string_member (one, "time", event->time);
      json_object_set_string_member (one, "role", event->role);
      json_object_set_string_member (one, "program", event->program);
      json_object_set_string_member (one, "what", event->label);
      json_array_add_object_element (array, one);
    }
  json_object_set_string_member (object, "shelf", code);
  json_object_set_array_member (object, "history", array);

  return write_object (options, object, error);
}

static gint64
find_job (const Options *options,
          const char *number,
          GError **error)
{
  gint64 job;

  if (!ef_store_exists (options->store, number, &job, error))
    return 0;
  if (job == 0)
    g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected a job \"%s\", found none", ef_store_path (options->store), number);

  return job;
}

static EfAssessment *
assess_job (const Options *options,
            const char *number,
            GError **error)
{
  gint64 job = find_job (options, number, error);
  g_autoptr (EfInspection) inspection = job != 0 ? ef_store_load (options->store, job, error) : NULL;
  g_autoptr (EfRuleSet) rules = inspection != NULL ? ef_rule_set_default (error) : NULL;

  return rules != NULL ? ef_assess_in_detail (inspection, rules, NULL, EF_DETAIL_COARSE, NULL, error) : NULL;
}

static gboolean
put_parts (const Options *options,
           GPtrArray *parts,
           GError **error)
{
  g_autoptr (GPtrArray) codes = NULL;
  JsonObject *object;
  JsonArray *array;

  if (!ef_store_shelf_put (options->store, parts, options->role, &codes, error))
    return FALSE;
  object = json_object_new ();
  array = json_array_new ();
  for (guint i = 0; i < codes->len; i++)
    json_array_add_string_element (array, codes->pdata[i]);
  json_object_set_int_member (object, "worth_keeping", parts->len);
  json_object_set_array_member (object, "put", array);

  return write_object (options, object, error);
}

static gboolean
run_put (const Options *options,
         const char *number,
         GError **error)
{
  g_autoptr (EfAssessment) assessment = assess_job (options, number, error);
  g_autoptr (GPtrArray) kept = assessment != NULL ? ef_shelf_keep (&assessment->findings, assessment->verdict) : NULL;

  return kept != NULL && put_parts (options, kept, error);
}

static gboolean
run_import (const Options *options,
            const char *file,
            GError **error)
{
  g_autoptr (GPtrArray) parts = ef_shelf_load (file, error);

  return parts != NULL && put_parts (options, parts, error);
}

static gboolean
move (const Options *options,
      const char *code,
      EfShelfMove what,
      GError **error)
{
  return ef_store_shelf_move (options->store, code, what, options->job, options->reason, options->role, error) && run_show (options, code, error);
}

static gboolean
run_reserve (const Options *options,
             const char *code,
             GError **error)
{
  return move (options, code, EF_SHELF_RESERVE, error);
}

static gboolean
run_withdraw (const Options *options,
              const char *code,
              GError **error)
{
  return move (options, code, EF_SHELF_WITHDRAW, error);
}

static gboolean
run_restore (const Options *options,
             const char *code,
             GError **error)
{
  return move (options, code, EF_SHELF_RESTORE, error);
}

static gboolean
run_use (const Options *options,
         const char *code,
         GError **error)
{
  gint64 job;

  if (options->job == NULL)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_INVALID, "use: expected --job NUMBER");
      return FALSE;
    }
  job = find_job (options, options->job, error);

  return job != 0 && ef_store_shelf_use (options->store, code, job, error) && run_show (options, code, error);
}

static gboolean
run_return (const Options *options,
            const char *code,
            GError **error)
{
  return ef_store_shelf_return (options->store, code, options->reason, options->role, error) && run_show (options, code, error);
}

static gboolean
run_match (const Options *options,
           const char *number,
           GError **error)
{
  g_autoptr (EfAssessment) assessment = assess_job (options, number, error);
  g_autoptr (GPtrArray) shelf = NULL;
  g_autoptr (EfShelfMatch) match = NULL;
  g_autoptr (JsonNode) node = NULL;
  EfShelfQuery query = { 0 };

  if (assessment == NULL)
    return FALSE;
  query.sheet = assessment->inspection->sheet->id;
  shelf = ef_store_shelf (options->store, &query, error);
  match = shelf != NULL ? ef_shelf_match (&assessment->findings, assessment->verdict, shelf, &assessment->decision, options->all ? EF_SHELF_OPEN_ALL : EF_SHELF_OPEN_UNSOUND,
                                          (guint) CLAMP (options->most, 1, 1000), NULL, error) : NULL;
  if (match == NULL)
    return FALSE;
  node = ef_shelf_match_to_json (match);

  return write_text (options, ef_json_to_text (node), error);
}

typedef struct
{
  EfCliAction action;
  gboolean (*run) (const Options *options, const char *argument, GError **error);
} Action;

static const Action actions[] = {
  { { "list", NULL, "what lies on the shelf, narrowed by the options" }, run_list },
  { { "search", "WORDS", "the same, with all of these words" }, list },
  { { "show", "CODE", "a part and its mates" }, run_show },
  { { "history", "CODE", "all that happened to it" }, run_history },
  { { "put", "JOB", "what is worth keeping of a job's pump; the same part isn't put twice" }, run_put },
  { { "import", "FILE", "parts from a shelf file", TRUE }, run_import },
  { { "match", "JOB", "what fits the job, and why the rest doesn't" }, run_match },
  { { "reserve", "CODE", "for --job" }, run_reserve },
  { { "use", "CODE", "in --job" }, run_use },
  { { "return", "CODE", "from the job that has it reserved or uses it" }, run_return },
  { { "withdraw", "CODE", "with --reason" }, run_withdraw },
  { { "restore", "CODE", "what was withdrawn, with --reason" }, run_restore },
};

int
ef_cli_shelf (int argc,
              char **argv)
{
  g_auto (Options) options = { .size_min = NAN, .size_max = NAN, .most = 5 };
  const GOptionEntry entries[] = {
    { "store", 0, 0, G_OPTION_ARG_FILENAME, &options.store_path, "The store (default: the user's)", "FILE" },
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &options.output, "Write here (default: standard output)", "FILE" },
    { "job", 'j', 0, G_OPTION_ARG_STRING, &options.job, "Number of the job that reserves or uses", "NUMBER" },
    { "reason", 0, 0, G_OPTION_ARG_STRING, &options.reason, "Why it's withdrawn, restored or returned", "TEXT" },
    { "role", 0, 0, G_OPTION_ARG_STRING, &options.role, "Who does it, for the history", "ROLE" },
    { "model", 0, 0, G_OPTION_ARG_STRING, &options.model, "Only this pump model", "MODEL" },
    { "kind", 0, 0, G_OPTION_ARG_STRING, &options.kind, "Only gear, housing, plate, cover or shaft", "KIND" },
    { "state", 0, 0, G_OPTION_ARG_STRING, &options.state, "Only free, reserved, used or withdrawn", "STATE" },
    { "material", 0, 0, G_OPTION_ARG_STRING, &options.material, "Only this material", "MATERIAL" },
    { "size", 0, 0, G_OPTION_ARG_STRING, &options.quantity, "With a size of this kind, such as face-width", "QUANTITY" },
    { "from", 0, 0, G_OPTION_ARG_DOUBLE, &options.size_min, "of at least so many mm", "MM" },
    { "to", 0, 0, G_OPTION_ARG_DOUBLE, &options.size_max, "of at most so many mm", "MM" },
    { "most", 0, 0, G_OPTION_ARG_INT, &options.most, "How many assemblies to tell (default: 5)", "N" },
    { "all", 0, 0, G_OPTION_ARG_NONE, &options.all, "Let sound parts give way too", NULL },
    G_OPTION_ENTRY_NULL
  };
  g_autofree char *summary = ef_cli_actions_text ("The shelf of kept parts. Results as JSON (schema shelf.schema.json). Actions:", actions, G_N_ELEMENTS (actions), sizeof (Action));
  g_autofree char *default_path = NULL;
  g_autoptr (GError) error = NULL;
  const Action *action;
  int code;

  if (!ef_cli_options (entries, "ACTION [ARGUMENT]", summary, &argc, &argv, &code))
    return code;
  action = ef_cli_action ("shelf", "an action", actions, G_N_ELEMENTS (actions), sizeof (Action), argc - 1, argv + 1);
  if (action == NULL)
    return EF_EXIT_USAGE;

  default_path = ef_store_default_path ();
  options.store = ef_cli_action_store (&action->action, options.store_path != NULL ? options.store_path : default_path, &error);
  if (options.store == NULL || !action->run (&options, argc > 2 ? argv[2] : NULL, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
