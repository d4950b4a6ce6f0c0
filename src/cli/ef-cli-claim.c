/* endfloat claim-pack: what the other party gets of a sealed job, as one zip file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "ef-cli-inspection.h"
#include "../draw/ef-claim-pack.h"

int
ef_cli_claim_pack (int argc,
                   char **argv)
{
  g_autofree char *output = NULL;
  g_autofree char *path = NULL;
  g_autofree char *number = NULL;
  g_autofree char *paper = NULL;
  g_autofree char *left_out = NULL;
  const GOptionEntry entries[] = {
    { "output", 'o', 0, G_OPTION_ARG_FILENAME, &output, "Zip file to write (must be given)", "FILE" },
    { "store", 's', 0, G_OPTION_ARG_FILENAME, &path, "Store of the job (must be given)", "FILE" },
    { "job", 'n', 0, G_OPTION_ARG_STRING, &number, "Number of the sealed job (must be given)", "NUMBER" },
    { "without", 'w', 0, G_OPTION_ARG_STRING, &left_out, "What to leave out, with commas between: customer, roles, notes, photos, certificates", "WORDS" },
    { "paper", 'p', 0, G_OPTION_ARG_STRING, &paper, "a4 (default) or letter", "SIZE" },
    G_OPTION_ENTRY_NULL
  };
  g_autoptr (EfStore) store = NULL;
  g_autoptr (GError) error = NULL;
  guint without = 0;
  gint64 job;
  int code;

  if (!ef_cli_options (entries, NULL, "The report, the sealed exchange file, photos, gauges with their certificates, key and verification of a sealed job in one zip file.", &argc, &argv, &code))
    return code;
  if (argc != 1)
    return ef_cli_usage_error ("claim-pack", "expected options only, found \"%s\"", argv[1]);
  if (path == NULL || number == NULL || output == NULL)
    return ef_cli_usage_error ("claim-pack", "expected --store, --job and --output");
  if (paper != NULL && g_ascii_strcasecmp (paper, "a4") != 0 && g_ascii_strcasecmp (paper, "letter") != 0)
    return ef_cli_usage_error ("claim-pack", "--paper: expected a4 or letter, found \"%s\"", paper);
  if (left_out != NULL && !ef_claim_without_parse (left_out, &without, &error))
    return ef_cli_usage_error ("claim-pack", "--without: %s", error->message);

  store = ef_cli_can_read (path, &error) ? ef_store_open (path, &error) : NULL;
  job = store != NULL ? ef_cli_find_job (store, number, &error) : 0;
  if (job == 0
      || !ef_claim_pack_write (store, job, paper != NULL && g_ascii_strcasecmp (paper, "letter") == 0 ? EF_PAPER_LETTER : EF_PAPER_A4, without, output, NULL, NULL,
                               NULL, &error))
    return ef_cli_report_error (error);

  return EF_EXIT_OK;
}
