/* endfloat assess: an exchange file in, a results file out.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "ef-cli-inspection.h"

int
ef_cli_assess (int argc,
               char **argv)
{
  g_autofree char *output = NULL;
  g_autofree char *rules = NULL;
  const GOptionEntry entries[] = {
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &output, "Results file (default: standard output)", "FILE" },
    { "rules", 'r', 0, G_OPTION_ARG_FILENAME, &rules, "Rule set (default: the one shipped)", "FILE" },
    G_OPTION_ENTRY_NULL
  };
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (JsonNode) node = NULL;
  g_autofree char *text = NULL;
  g_autoptr (GError) error = NULL;
  int code;

  if (!ef_cli_options (entries, "INSPECTION", "Wear, verdicts, figures and rework steps of an inspection, as JSON.", &argc, &argv, &code))
    return code;
  if (argc != 2)
    return ef_cli_usage_error ("assess", "expected one inspection file, found %d", argc - 1);

  assessment = ef_cli_assess_file (argv[1], rules, &error);
  if (assessment == NULL)
    return ef_cli_report_error (error);
  node = ef_assessment_to_json (assessment);
  text = ef_json_to_text (node);
  if (!ef_cli_write (output, text, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
