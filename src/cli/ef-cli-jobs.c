/* endfloat jobs: the list of a store's jobs, searched and filtered.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "../judge/ef-judge.h"
#include "../record/ef-jobs-write.h"

typedef struct
{
  EfStore *store;
  char *store_path, *output;
  char *search, *verdict, *model, *finding, *standing, *from, *to, *order;
  gboolean withdrawn, ascending, json, csv, count;
  int limit, offset;
} Options;

static void
options_clear (Options *options)
{
  g_clear_pointer (&options->store, ef_store_close);
  g_free (options->store_path);
  g_free (options->output);
  g_free (options->search);
  g_free (options->verdict);
  g_free (options->model);
  g_free (options->finding);
  g_free (options->standing);
  g_free (options->from);
  g_free (options->to);
  g_free (options->order);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Options, options_clear)

static const char *const standings[] = { "any", "open", "sealed", NULL };
static const char *const orders[] = { "received", "number", "model", "for", "verdict", "pressure", NULL };
static const char *const verdicts[] = { "use-again", "measure-again", "rework", "scrap", "none", NULL };

/* The place of @word among @words, 0 for none given; -1 after saying what was expected. */
static int
choose (const char *option,
        const char *word,
        const char *const *words)
{
  g_autofree char *all = g_strjoinv (", ", (char **) words);

  if (word == NULL)
    return 0;
  for (int i = 0; words[i] != NULL; i++)
    if (g_str_equal (word, words[i]))
      return i;
  ef_cli_usage_error ("jobs", "--%s: expected one of %s, found \"%s\"", option, all, word);

  return -1;
}

static gboolean
make_query (const Options *options,
            EfJobQuery *query)
{
  int standing = choose ("standing", options->standing, standings);
  int order = choose ("order", options->order, orders);
  int verdict = choose ("verdict", options->verdict, verdicts);

  if (standing < 0 || order < 0 || verdict < 0 || !ef_cli_check_day ("jobs", "from", options->from) || !ef_cli_check_day ("jobs", "to", options->to))
    return FALSE;
  if (options->limit < 0 || options->offset < 0)
    {
      ef_cli_usage_error ("jobs", "--limit and --offset: expected a number from 0");
      return FALSE;
    }
  *query = (EfJobQuery) {
    .text = options->search, .model = options->model, .finding = options->finding, .from = options->from, .to = options->to,
    .verdict = options->verdict == NULL ? NULL : g_str_equal (options->verdict, "none") ? "" : options->verdict,
    .standing = (EfJobsStanding) standing, .order = (EfJobsOrder) order, .ascending = options->ascending, .withdrawn = options->withdrawn,
  };

  return TRUE;
}

static gboolean
list (const Options *options,
      const EfJobQuery *query,
      GError **error)
{
  g_autoptr (GArray) ids = ef_store_job_ids (options->store, query, error);
  g_autoptr (GPtrArray) rows = NULL;
  g_autofree char *text = NULL;
  guint start, n;

  if (ids == NULL)
    return FALSE;
  start = MIN ((guint) options->offset, ids->len);
  n = options->limit > 0 ? MIN ((guint) options->limit, ids->len - start) : ids->len - start;
  if (options->count)
    text = g_strdup_printf ("%u\n", ids->len);
  else
    {
      rows = ef_store_job_rows (options->store, ids->len > 0 ? &g_array_index (ids, gint64, start) : NULL, n, error);
      if (rows == NULL)
        return FALSE;
      text = options->json ? ef_jobs_to_json (rows, ids->len) : options->csv ? ef_jobs_to_csv (rows) : ef_jobs_to_table (rows);
    }

  return ef_cli_write (options->output, text, error);
}

int
ef_cli_jobs (int argc,
             char **argv)
{
  g_auto (Options) options = { 0 };
  const GOptionEntry entries[] = {
    { "store", 0, 0, G_OPTION_ARG_FILENAME, &options.store_path, "The store (default: the user's)", "FILE" },
    { "search", 's', 0, G_OPTION_ARG_STRING, &options.search, "Words or pieces of them, all to be found: number, pump, serial, notes, findings, …", "WORDS" },
    { "verdict", 0, 0, G_OPTION_ARG_STRING, &options.verdict, "use-again, measure-again, rework, scrap, none", "VERDICT" },
    { "from", 0, 0, G_OPTION_ARG_STRING, &options.from, "Received on this day or later", "DAY" },
    { "to", 0, 0, G_OPTION_ARG_STRING, &options.to, "Received on this day or earlier", "DAY" },
    { "model", 0, 0, G_OPTION_ARG_STRING, &options.model, "Only this pump model", "MODEL" },
    { "finding", 0, 0, G_OPTION_ARG_STRING, &options.finding, "With this kind of mark, or found by this rule", "NAME" },
    { "standing", 0, 0, G_OPTION_ARG_STRING, &options.standing, "any, open or sealed", "WORD" },
    { "withdrawn", 0, 0, G_OPTION_ARG_NONE, &options.withdrawn, "Those that were withdrawn instead of the others", NULL },
    { "order", 0, 0, G_OPTION_ARG_STRING, &options.order, "received (newest first), number, model, for, verdict or pressure", "COLUMN" },
    { "ascending", 0, 0, G_OPTION_ARG_NONE, &options.ascending, "Smallest or oldest first", NULL },
    { "limit", 0, 0, G_OPTION_ARG_INT, &options.limit, "At most so many", "N" },
    { "offset", 0, 0, G_OPTION_ARG_INT, &options.offset, "Leave out the first so many", "N" },
    { "count", 0, 0, G_OPTION_ARG_NONE, &options.count, "Only how many there are", NULL },
    { "json", 'j', 0, G_OPTION_ARG_NONE, &options.json, "As JSON", NULL },
    { "csv", 0, 0, G_OPTION_ARG_NONE, &options.csv, "As CSV (RFC 4180)", NULL },
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &options.output, "Write here (default: standard output)", "FILE" },
    G_OPTION_ENTRY_NULL
  };
  g_autofree char *default_path = NULL;
  g_autoptr (GError) error = NULL;
  EfJobQuery query;
  int code;

  if (!ef_cli_options (entries, NULL, "The jobs of a store, those that fit all that is given, as a table, CSV or JSON.", &argc, &argv, &code))
    return code;
  if (argc != 1)
    return ef_cli_usage_error ("jobs", "expected options alone, found \"%s\"", argv[1]);
  if (!make_query (&options, &query))
    return EF_EXIT_USAGE;
  default_path = ef_store_default_path ();
  if (options.store_path == NULL)
    options.store_path = g_steal_pointer (&default_path);
  if (ef_cli_can_read (options.store_path, &error))
    options.store = ef_store_open (options.store_path, &error);
  if (options.store == NULL || !list (&options, &query, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
