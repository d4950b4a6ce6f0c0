/* The table of verbs, and what they share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "../base/ef-error.h"
#include "../record/ef-store-roles.h"

#include <errno.h>
#include <gio/gio.h>
#include <glib/gstdio.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

typedef struct
{
  const char *name;
  const char *summary;
  EfCliRun run;
} EfVerb;

static int ef_cli_help (int argc, char **argv);
static int ef_cli_version (int argc, char **argv);

static const EfVerb verbs[] = {
  { "assess", "work out wear, verdicts and rework of an inspection; results as JSON", ef_cli_assess },
  { "report", "write the report of an inspection as PDF", ef_cli_report },
  { "steps", "write the step sheet of an inspection as PDF, on one page", ef_cli_steps },
  { "pictures", "draw an inspection's faces and its exploded pump as PNG or SVG", ef_cli_pictures },
  { "check-sheet", "read pump sheets and say what is wrong with them", ef_cli_check_sheet },
  { "compare", "say what differs between two inspections, or between two states of one job", ef_cli_compare },
  { "compute", "run one computation by name: JSON in on stdin, JSON out", ef_cli_compute },
  { "roles", "list the roles of the shop; add them, set their PINs", ef_cli_roles },
  { "photos", "list a job's photos, attach more, take their files out; look at a photo file", ef_cli_photos },
  { "gauges", "list the shop's gauges or a job's; attach certificates, take them off and out", ef_cli_gauges },
  { "jobs", "list a store's jobs: search, filter, as a table, CSV or JSON", ef_cli_jobs },
  { "statistics", "what wears out, end clearance against hours, how often rework held; text, JSON, CSV, pictures", ef_cli_statistics },
  { "seal", "seal a job of a store, and keep the key that does it", ef_cli_seal },
  { "verify", "say what holds of a sealed file, report, claim pack or store, and what doesn't", ef_cli_verify },
  { "claim-pack", "put all that the other party gets of a sealed job into one zip file", ef_cli_claim_pack },
  { "shelf", "list, search and fill the shelf of kept parts; match, reserve and use them", ef_cli_shelf },
  { "backup", "copy a store, checked; list and check the copies there are", ef_cli_backup },
  { "salvage", "take out of a damaged store what can be read, as exchange files or a new store", ef_cli_salvage },
  { "restore", "put a backup in the place of a store, which is kept aside", ef_cli_restore },
  { "upgrade", "bring a store of an earlier version up to date, after a backup", ef_cli_upgrade },
  { "lesson", "make lessons, their sheets and attempts; read gauges on a sheet; score an attempt", ef_cli_lesson },
  { "specimen", "wear a pump by simulation from a seed: a job with known truth, to learn and test on", ef_cli_specimen },
  { "help", "list the verbs", ef_cli_help },
  { "--help", NULL, ef_cli_help },
  { "-h", NULL, ef_cli_help },
  { "version", "say which version this is", ef_cli_version },
  { "--version", NULL, ef_cli_version },
};

static int
ef_cli_help (int argc,
             char **argv)
{
  g_print ("Usage: endfloat [FILE…] [--demo] [--store PATH]      open the window\n"
           "       endfloat VERB [OPTION…]                       work without one\n\nVerbs:\n");
  for (gsize i = 0; i < G_N_ELEMENTS (verbs); i++)
    if (verbs[i].summary != NULL)
      g_print ("  %-12s %s\n", verbs[i].name, verbs[i].summary);
  g_print ("\n\"endfloat VERB --help\" lists the options of a verb; endfloat(1) has examples.\n"
           "Exit codes: 0 done, 1 the input is wrong, 2 the command is wrong, 3 a file can't be read or written.\n");

  return EF_EXIT_OK;
}

static int
ef_cli_version (int argc,
                char **argv)
{
  g_print ("endfloat %s\n", EF_VERSION);

  return EF_EXIT_OK;
}

static const EfVerb *
find_verb (const char *word)
{
  for (gsize i = 0; i < G_N_ELEMENTS (verbs); i++)
    if (g_str_equal (verbs[i].name, word))
      return &verbs[i];

  return NULL;
}

gboolean
ef_cli_is_verb (const char *word)
{
  return word != NULL && find_verb (word) != NULL;
}

int
ef_cli_main (int argc,
             char **argv)
{
  const EfVerb *verb = argc > 1 ? find_verb (argv[1]) : NULL;

  if (verb == NULL)
    return ef_cli_usage_error (NULL, "no verb \"%s\"", argc > 1 ? argv[1] : "");

  return verb->run (argc - 1, argv + 1);
}

gboolean
ef_cli_options (const GOptionEntry *entries,
                const char *parameters,
                const char *summary,
                int *argc,
                char ***argv,
                int *code_out)
{
  g_autoptr (GOptionContext) context = g_option_context_new (parameters);
  g_autoptr (GError) error = NULL;
  const char *verb = (*argv)[0];
  g_autofree char *program = g_strconcat ("endfloat ", verb, NULL);

  g_set_prgname (program);
  g_option_context_add_main_entries (context, entries, NULL);
  g_option_context_set_summary (context, summary);
  g_option_context_set_help_enabled (context, FALSE);
  for (int i = 1; i < *argc; i++)
    if (g_str_equal ((*argv)[i], "--help") || g_str_equal ((*argv)[i], "-h"))
      {
        g_autofree char *help = g_option_context_get_help (context, TRUE, NULL);

        g_print ("%s", help);
        *code_out = EF_EXIT_OK;
        return FALSE;
      }
  if (g_option_context_parse (context, argc, argv, &error))
    return TRUE;
  *code_out = ef_cli_usage_error (verb, "%s", error->message);

  return FALSE;
}

int
ef_cli_usage_error (const char *verb,
                    const char *format,
                    ...)
{
  g_autofree char *message = NULL;
  va_list args;

  va_start (args, format);
  message = g_strdup_vprintf (format, args);
  va_end (args);
  g_printerr ("endfloat: %s\n", message);
  if (verb != NULL)
    g_printerr ("\"endfloat %s --help\" lists the options.\n", verb);
  else
    g_printerr ("\"endfloat help\" lists the verbs.\n");

  return EF_EXIT_USAGE;
}

int
ef_cli_report_error (const GError *error)
{
  g_printerr ("endfloat: %s\n", error->message);
  if (error->domain == G_FILE_ERROR || error->domain == G_IO_ERROR)
    return EF_EXIT_IO;
  if (error->domain == EF_ERROR && (error->code == EF_ERROR_IO || error->code == EF_ERROR_FULL || error->code == EF_ERROR_BUSY))
    return EF_EXIT_IO;

  return EF_EXIT_INPUT;
}

gboolean
ef_cli_can_read (const char *path,
                 GError **error)
{
  if (g_access (path, R_OK) == 0)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: %s", path, g_strerror (errno));

  return FALSE;
}

void
ef_cli_progress (double share,
                 gpointer shown)
{
  int *last = shown;
  int percent = (int) (100 * share);

  if (percent == *last)
    return;
  *last = percent;
  g_printerr ("\r%3d %%%s", percent, percent == 100 ? "\r      \r" : "");
}

gboolean
ef_cli_write (const char *path,
              const char *text,
              GError **error)
{
  if (path != NULL && !g_str_equal (path, "-"))
    return g_file_set_contents (path, text, -1, error);
  if (fputs (text, stdout) >= 0 && fflush (stdout) == 0)
    return TRUE;
  g_set_error_literal (error, EF_ERROR, EF_ERROR_IO, "standard output: can't write");

  return FALSE;
}

char *
ef_cli_read_line (const char *path,
                  GError **error)
{
  FILE *file = g_str_equal (path, "-") ? stdin : g_fopen (path, "r");
  int code = errno;
  char *line = NULL;
  size_t size = 0;
  char *text = NULL;

  if (file == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: can't be read: %s", path, g_strerror (code));
      return NULL;
    }
  if (getline (&line, &size, file) < 0)
    g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected a line, found none", file == stdin ? "standard input" : path);
  else
    {
      line[strcspn (line, "\r\n")] = '\0';
      text = g_strdup (line);
    }
  free (line);
  if (file != stdin)
    fclose (file);

  return text;
}

void
ef_cli_warn_access (const char *store_path)
{
  g_autofree char *warning = ef_store_access_warning (store_path);

  if (warning != NULL)
    g_printerr ("endfloat: %s\n", warning);
}

gboolean
ef_cli_check_day (const char *verb,
                  const char *option,
                  const char *day)
{
  g_auto (GStrv) parts = day != NULL ? g_strsplit (day, "-", -1) : NULL;

  if (day == NULL)
    return TRUE;
  if (g_strv_length (parts) == 3 && strlen (day) == 10
      && g_date_valid_dmy ((GDateDay) g_ascii_strtoull (parts[2], NULL, 10), (GDateMonth) g_ascii_strtoull (parts[1], NULL, 10),
                           (GDateYear) g_ascii_strtoull (parts[0], NULL, 10)))
    return TRUE;
  ef_cli_usage_error (verb, "--%s: expected a day such as 2026-03-01, found \"%s\"", option, day);

  return FALSE;
}
