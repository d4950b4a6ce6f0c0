/* endfloat upgrade: a store of an earlier version brought up to date, after a backup.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "../record/ef-store-upgrade.h"

#include <unistd.h>

int
ef_cli_upgrade (int argc,
                char **argv)
{
  g_autofree char *folder = NULL;
  gboolean without_backup = FALSE;
  const GOptionEntry entries[] = {
    { "folder", 'f', 0, G_OPTION_ARG_FILENAME, &folder, "Folder of this store's backups (default: NAME.backups beside the store)", "FOLDER" },
    { "without-backup", 0, 0, G_OPTION_ARG_NONE, &without_backup, "Go on without a backup: there's no way back then", NULL },
    G_OPTION_ENTRY_NULL
  };
  int shown = -1;
  EfUpgrade how = { .user_data = &shown };
  g_autofree char *backup = NULL;
  g_autoptr (GError) error = NULL;
  gint64 from, to;
  int code;

  if (!ef_cli_options (entries, "STORE",
                       "Brings a store that an earlier version of the program made up to the present version: a checked backup first, whose name is printed,\n"
                       "then all steps or none. The other verbs and the window do the same by themselves, and refuse where no backup can be made.",
                       &argc, &argv, &code))
    return code;
  if (argc != 2)
    return ef_cli_usage_error ("upgrade", "expected one store, found %d", argc - 1);
  if (!ef_cli_can_read (argv[1], &error))
    return ef_cli_report_error (error);
  how.folder = folder;
  how.without_backup = without_backup;
  how.progress = isatty (STDERR_FILENO) ? ef_cli_progress : NULL;
  if (!ef_store_upgrade_needed (argv[1], &from, &to))
    from = to;
  if (ef_store_upgrade (argv[1], &how, &backup, &error) != EF_UPGRADED)
    return ef_cli_report_error (error);
  if (backup != NULL)
    g_print ("%s\n", backup);
  if (from == to)
    g_print ("%s: of version %" G_GINT64_FORMAT " already\n", argv[1], to);
  else
    g_print ("%s: from version %" G_GINT64_FORMAT " to %" G_GINT64_FORMAT "\n", argv[1], from, to);

  return EF_EXIT_OK;
}
