/* endfloat salvage: what can be read of a damaged store, as exchange files or as a new store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "../record/ef-salvage.h"

int
ef_cli_salvage (int argc,
                char **argv)
{
  g_autofree char *new_store = NULL;
  const GOptionEntry entries[] = {
    { "new-store", 'o', 0, G_OPTION_ARG_FILENAME, &new_store, "Into a new store at this place, where there must be none, instead of exchange files", "FILE" },
    G_OPTION_ENTRY_NULL
  };
  g_autoptr (EfSalvage) salvage = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *report = NULL;
  int code;

  if (!ef_cli_options (entries, "STORE [FOLDER]",
                       "Reads each job that can be read of a damaged store and writes it into the folder as an exchange file, with its seal where it has\n"
                       "one. Or, with --new-store, writes a new store with all rows that can be read, their history and seals included, verifies it, and puts a report beside it.\n"
                       "Nothing is written to the damaged store. Exit code 0: all of it could be read; 1: something couldn't, which is named.",
                       &argc, &argv, &code))
    return code;
  if (argc != (new_store != NULL ? 2 : 3))
    return ef_cli_usage_error ("salvage", "expected a store and either a folder or --new-store");
  if (ef_cli_can_read (argv[1], &error))
    salvage = new_store != NULL ? ef_salvage_store (argv[1], new_store, NULL, NULL, NULL, &error) : ef_salvage (argv[1], argv[2], NULL, NULL, NULL, &error);
  if (salvage == NULL)
    return ef_cli_report_error (error);
  if (new_store != NULL)
    {
      report = ef_salvage_report (salvage);
      g_print ("%s", report);
    }
  else
    {
      g_print ("jobs written: %" G_GINT64_FORMAT " of %" G_GINT64_FORMAT "; of these from their history alone: %" G_GINT64_FORMAT "\n",
               salvage->n_written, salvage->n_jobs, salvage->n_replayed);
      for (guint i = 0; i < salvage->losses->len; i++)
        g_print ("%s\n", (const char *) salvage->losses->pdata[i]);
    }

  return salvage->losses->len == 0 ? EF_EXIT_OK : EF_EXIT_INPUT;
}
