/* endfloat statistics: what a store's jobs tell, as text, JSON, CSV and pictures.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "../base/ef-json.h"
#include "../draw/ef-draw-statistics.h"
#include "../stats/ef-outcome.h"

#include <glib/gstdio.h>
#include <unistd.h>

#define PICTURE_WIDTH 1200
#define PICTURE_HEIGHT 800

typedef struct
{
  char *store, *output, *model, *from, *to, *today, *csv, *pictures, *format;
  gboolean json, stale;
} Options;

static void
options_clear (Options *options)
{
  g_free (options->store);
  g_free (options->output);
  g_free (options->model);
  g_free (options->from);
  g_free (options->to);
  g_free (options->today);
  g_free (options->csv);
  g_free (options->pictures);
  g_free (options->format);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Options, options_clear)

static void
show_progress (guint done,
               guint all,
               gpointer user_data)
{
  if (isatty (STDERR_FILENO))
    g_printerr ("\r%u of %u jobs worked out%s", done, all, done == all ? "\n" : "");
}

static char *
plain_text (const EfStatistics *statistics)
{
  GString *text = g_string_new (NULL);

  g_string_append_printf (text, "%u jobs, %u of them worked out.\n", statistics->n_jobs, statistics->n_known);
  if (statistics->n_stale > 0)
    g_string_append_printf (text, "%u jobs of the store aren't worked out as they stand now.\n", statistics->n_stale);
  if (statistics->n_rule_sets > 1)
    g_string_append_printf (text, "They were judged by %u rule sets, which makes them less comparable.\n", statistics->n_rule_sets);
  for (EfStatisticsPlot plot = 0; plot < EF_N_STATISTICS; plot++)
    {
      g_autofree char *words = ef_statistics_words (statistics, plot);

      g_string_append_printf (text, "\n%s\n%s\n", ef_statistics_plot_title (plot), words);
      for (guint i = 0; plot == EF_STATISTICS_WEAR && i < statistics->wear->len; i++)
        {
          const EfWearCount *count = statistics->wear->pdata[i];
          g_autofree char *label = ef_statistics_wear_label (count, TRUE);

          g_string_append_printf (text, "  %4u of %-4u %3.0f %% (%.0f to %.0f %%)  %s\n", (guint) count->jobs.n, (guint) count->jobs.of, 100 * count->jobs.share,
                                  100 * count->jobs.low, 100 * count->jobs.high, label);
        }
    }

  return g_string_free (text, FALSE);
}

static int
find_plot (const char *name)
{
  for (int plot = 0; plot < EF_N_STATISTICS; plot++)
    if (g_str_equal (name, ef_statistics_plot_name ((EfStatisticsPlot) plot)))
      return plot;

  return -1;
}

static gboolean
write_pictures (const Options *options,
                const EfStatistics *statistics,
                GError **error)
{
  if (g_mkdir_with_parents (options->pictures, 0777) != 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: can't be made", options->pictures);
      return FALSE;
    }
  for (EfStatisticsPlot plot = 0; plot < EF_N_STATISTICS; plot++)
    {
      g_autofree char *name = g_strdup_printf ("%s.%s", ef_statistics_plot_name (plot), options->format != NULL ? options->format : "png");
      g_autofree char *path = g_build_filename (options->pictures, name, NULL);

      if (!ef_picture_write_statistics (statistics, plot, path, PICTURE_WIDTH, PICTURE_HEIGHT, error))
        return FALSE;
    }

  return TRUE;
}

static gboolean
run (const Options *options,
     int plot,
     GError **error)
{
  const EfStatisticsQuery query = { options->model, options->from, options->to, options->today };
  g_autoptr (EfStatistics) statistics = NULL;
  g_autoptr (JsonNode) node = NULL;
  g_autofree char *text = NULL;
  guint failed = 0;

  if (!ef_cli_can_read (options->store, error)
      || (!options->stale && ef_outcomes_fill (options->store, 0, show_progress, NULL, &failed, NULL, error) < 0))
    return FALSE;
  if (failed > 0)
    g_printerr ("endfloat: %u jobs can't be assessed and don't count\n", failed);
  statistics = ef_statistics_read (options->store, &query, NULL, error);
  if (statistics == NULL || (options->pictures != NULL && !write_pictures (options, statistics, error)))
    return FALSE;
  node = options->json ? ef_statistics_to_json (statistics) : NULL;
  text = options->json ? ef_json_to_text (node) : plot >= 0 ? ef_statistics_csv (statistics, (EfStatisticsPlot) plot) : plain_text (statistics);

  return ef_cli_write (options->output, text, error);
}

int
ef_cli_statistics (int argc,
                   char **argv)
{
  g_auto (Options) options = { 0 };
  const GOptionEntry entries[] = {
    { "store", 0, 0, G_OPTION_ARG_FILENAME, &options.store, "The store (default: the user's)", "FILE" },
    { "model", 0, 0, G_OPTION_ARG_STRING, &options.model, "Only this pump model", "MODEL" },
    { "from", 0, 0, G_OPTION_ARG_STRING, &options.from, "Jobs received on this day or later", "DAY" },
    { "to", 0, 0, G_OPTION_ARG_STRING, &options.to, "Jobs received on this day or earlier", "DAY" },
    { "today", 0, 0, G_OPTION_ARG_STRING, &options.today, "Up to when nothing was heard of pumps that didn't come back (default: today)", "DAY" },
    { "json", 'j', 0, G_OPTION_ARG_NONE, &options.json, "As JSON (schema statistics.schema.json)", NULL },
    { "csv", 0, 0, G_OPTION_ARG_STRING, &options.csv, "The data of one plot as CSV: wear, clearance or rework", "PLOT" },
    { "pictures", 0, 0, G_OPTION_ARG_FILENAME, &options.pictures, "Draw the plots into this folder too", "FOLDER" },
    { "format", 'f', 0, G_OPTION_ARG_STRING, &options.format, "png or svg", "FORMAT" },
    { "as-kept", 0, 0, G_OPTION_ARG_NONE, &options.stale, "Don't work out jobs first that aren't yet, or were changed since", NULL },
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &options.output, "Write here (default: standard output)", "FILE" },
    G_OPTION_ENTRY_NULL
  };
  g_autoptr (GError) error = NULL;
  int plot = -1;
  int code;

  if (!ef_cli_options (entries, NULL, "What wears out on which model, end clearance against running hours, and how often rework held,\n"
                                      "from a store's own jobs. Jobs that aren't worked out yet are worked out first and kept in the store.", &argc, &argv, &code))
    return code;
  if (argc != 1)
    return ef_cli_usage_error ("statistics", "expected options alone, found \"%s\"", argv[1]);
  if (options.csv != NULL && (plot = find_plot (options.csv)) < 0)
    return ef_cli_usage_error ("statistics", "--csv: expected wear, clearance or rework, found \"%s\"", options.csv);
  if (options.format != NULL && !g_str_equal (options.format, "png") && !g_str_equal (options.format, "svg"))
    return ef_cli_usage_error ("statistics", "--format: expected png or svg, found \"%s\"", options.format);
  if (!ef_cli_check_day ("statistics", "from", options.from) || !ef_cli_check_day ("statistics", "to", options.to) || !ef_cli_check_day ("statistics", "today", options.today))
    return EF_EXIT_USAGE;
  if (options.store == NULL)
    options.store = ef_store_default_path ();
  if (!run (&options, plot, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
