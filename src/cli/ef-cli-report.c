/* endfloat report: an exchange file or a job of a store in, the report as PDF out.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "ef-cli-paper.h"

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
  g_autofree char *path = NULL;
  g_autofree char *number = NULL;
  const GOptionEntry entries[] = {
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &output, "PDF to write (must be given)", "FILE" },
    { "store", 's', 0, G_OPTION_ARG_FILENAME, &path, "Store of the job, instead of an exchange file", "FILE" },
    { "job", 'n', 0, G_OPTION_ARG_STRING, &number, "Number of the job in the store", "NUMBER" },
    { "paper", 'p', 0, G_OPTION_ARG_STRING, &paper_name, "a4 (default) or letter", "SIZE" },
    { "rules", 'r', 0, G_OPTION_ARG_FILENAME, &rules, "Rule set (default: the one shipped)", "FILE" },
    { "created", 0, 0, G_OPTION_ARG_STRING, &created, "Time written into the PDF, ISO 8601 (default: now)", "TIME" },
    G_OPTION_ENTRY_NULL
  };
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (EfReportSeal) seal = NULL;
  g_autoptr (GError) error = NULL;
  EfCliSource source;
  EfPaper paper;
  int code;

  if (!ef_cli_options (entries, "[INSPECTION]", "The report of an inspection as PDF. Of a sealed one it carries the seal and the sealed exchange file.", &argc, &argv, &code))
    return code;
  source = (EfCliSource) { .store = path, .number = number, .rules = rules, .with_photos = TRUE };
  code = ef_cli_paper_source ("report", argc, argv, &source);
  if (code != EF_EXIT_OK)
    return code;
  if (output == NULL)
    return ef_cli_usage_error ("report", "--output is missing: expected the PDF to write");
  if (!ef_cli_paper_from_name (paper_name, &paper))
    return ef_cli_usage_error ("report", "--paper: expected a4 or letter, found \"%s\"", paper_name);
  if (created != NULL && !created_is_valid (created))
    return ef_cli_usage_error ("report", "--created: expected an ISO 8601 time such as 2026-03-01T08:00:00Z, found \"%s\"", created);

  assessment = ef_cli_paper_read (&source, &seal, &error);
  if (assessment == NULL || !ef_report_write_pdf (assessment, seal, output, paper, created, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
