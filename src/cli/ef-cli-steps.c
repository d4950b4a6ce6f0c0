/* endfloat steps: an exchange file or a job of a store in, the step sheet as PDF out.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "ef-cli-paper.h"
#include "../draw/ef-step-sheet.h"

int
ef_cli_steps (int argc,
              char **argv)
{
  g_autofree char *output = NULL;
  g_autofree char *rules = NULL;
  g_autofree char *paper_name = NULL;
  g_autofree char *path = NULL;
  g_autofree char *number = NULL;
  const GOptionEntry entries[] = {
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &output, "PDF to write (must be given)", "FILE" },
    { "store", 's', 0, G_OPTION_ARG_FILENAME, &path, "Store of the job, instead of an exchange file", "FILE" },
    { "job", 'n', 0, G_OPTION_ARG_STRING, &number, "Number of the job in the store", "NUMBER" },
    { "paper", 'p', 0, G_OPTION_ARG_STRING, &paper_name, "a4 (default) or letter", "SIZE" },
    { "rules", 'r', 0, G_OPTION_ARG_FILENAME, &rules, "Rule set (default: the one shipped)", "FILE" },
    G_OPTION_ENTRY_NULL
  };
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (EfReportSeal) seal = NULL;
  g_autoptr (GError) error = NULL;
  EfCliSource source;
  EfPaper paper;
  int code;

  if (!ef_cli_options (entries, "[INSPECTION]", "The step sheet of an inspection as PDF, on one page. It says whether the job is sealed.", &argc, &argv, &code))
    return code;
  source = (EfCliSource) { .store = path, .number = number, .rules = rules };
  code = ef_cli_paper_source ("steps", argc, argv, &source);
  if (code != EF_EXIT_OK)
    return code;
  if (output == NULL)
    return ef_cli_usage_error ("steps", "--output is missing: expected the PDF to write");
  if (!ef_cli_paper_from_name (paper_name, &paper))
    return ef_cli_usage_error ("steps", "--paper: expected a4 or letter, found \"%s\"", paper_name);

  assessment = ef_cli_paper_read (&source, &seal, &error);
  if (assessment == NULL || !ef_step_sheet_write_pdf (assessment, seal, output, paper, NULL, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
