/* The table of verbs, and what they share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "../base/ef-error.h"

#include <errno.h>
#include <gio/gio.h>
#include <glib/gstdio.h>
#include <stdio.h>
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
  { "pictures", "draw an inspection's faces and its exploded pump as PNG or SVG", ef_cli_pictures },
  { "check-sheet", "read pump sheets and say what is wrong with them", ef_cli_check_sheet },
  { "compute", "run one computation by name: JSON in on stdin, JSON out", ef_cli_compute },
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
