/* endfloat report: an exchange file in, the report as PDF out.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "ef-cli-inspection.h"
#include "../draw/ef-draw.h"

#include <string.h>

static gboolean
paper_from_name (const char *name,
                 EfPaper *paper_out)
{
  if (name == NULL || g_ascii_strcasecmp (name, "a4") == 0)
    *paper_out = EF_PAPER_A4;
  else if (g_ascii_strcasecmp (name, "letter") == 0)
    *paper_out = EF_PAPER_LETTER;
  else
    return FALSE;

  return TRUE;
}

static gboolean
created_is_valid (const char *created)
{
  g_autoptr (GTimeZone) utc = g_time_zone_new_utc ();
  g_autoptr (GDateTime) time = g_date_time_new_from_iso8601 (created, utc);

  return time != NULL;
}

int
ef_cli_report (int argc,
               char **argv)
{
  g_autofree char *output = NULL;
  g_autofree char *rules = NULL;
  g_autofree char *paper_name = NULL;
  g_autofree char *created = NULL;
  const GOptionEntry entries[] = {
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &output, "PDF to write (must be given)", "FILE" },
    { "paper", 'p', 0, G_OPTION_ARG_STRING, &paper_name, "a4 (default) or letter", "SIZE" },
    { "rules", 'r', 0, G_OPTION_ARG_FILENAME, &rules, "Rule set (default: the one shipped)", "FILE" },
    { "created", 0, 0, G_OPTION_ARG_STRING, &created, "Time written into the PDF, ISO 8601 (default: now)", "TIME" },
    G_OPTION_ENTRY_NULL
  };
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (GError) error = NULL;
  EfPaper paper;
  int code;

  if (!ef_cli_options (entries, "INSPECTION", "The report of an inspection as PDF.", &argc, &argv, &code))
    return code;
  if (argc != 2)
    return ef_cli_usage_error ("report", "expected one inspection file, found %d", argc - 1);
  if (output == NULL)
    return ef_cli_usage_error ("report", "--output is missing: expected the PDF to write");
  if (!paper_from_name (paper_name, &paper))
    return ef_cli_usage_error ("report", "--paper: expected a4 or letter, found \"%s\"", paper_name);
  if (created != NULL && !created_is_valid (created))
    return ef_cli_usage_error ("report", "--created: expected an ISO 8601 time such as 2026-03-01T08:00:00Z, found \"%s\"", created);

  assessment = ef_cli_assess_file (argv[1], rules, &error);
  if (assessment == NULL || !ef_report_write_pdf (assessment, output, paper, created, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
