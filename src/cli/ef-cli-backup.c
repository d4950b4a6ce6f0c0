/* endfloat backup and restore: copies of the store made, listed, checked, and put back.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli.h"
#include "../record/ef-backup.h"
#include "../record/ef-store-roles.h"

#include <gio/gio.h>
#include <unistd.h>

static int
make (const char *store_path,
      const char *folder,
      const EfBackupPolicy *policy)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = NULL;
  g_autofree char *path = NULL;
  int shown = -1;

  if (ef_cli_can_read (store_path, &error))
    store = ef_store_open_to_read (store_path, &error);
  if (store != NULL)
    path = ef_backup_make (store, folder, policy, isatty (STDERR_FILENO) ? ef_cli_progress : NULL, &shown, NULL, &error);
  if (path == NULL)
    return ef_cli_report_error (error);
  g_print ("%s\n", path);

  return EF_EXIT_OK;
}

/* One line a backup: time, size, jobs, whether it's sound. */
static int
list (const char *folder)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) backups = ef_backup_list (folder, &error);
  int code = EF_EXIT_OK;

  if (backups == NULL)
    return ef_cli_report_error (error);
  for (guint i = 0; i < backups->len; i++)
    {
      const EfBackup *backup = backups->pdata[i];
      g_autofree char *size = g_format_size ((guint64) backup->size);
      g_autoptr (GError) unsound = NULL;
      gint64 n_jobs;

      if (ef_backup_check (backup->path, &n_jobs, &unsound))
        g_print ("%s  %10s  jobs: %6" G_GINT64_FORMAT "  sound  %s\n", backup->time, size, n_jobs, backup->path);
      else
        {
          g_print ("%s  %10s  NOT SOUND  %s\n", backup->time, size, unsound->message);
          code = EF_EXIT_INPUT;
        }
    }

  return code;
}

static int
check (const char *path)
{
  g_autoptr (GError) error = NULL;
  gint64 n_jobs;

  if (!ef_cli_can_read (path, &error) || !ef_backup_check (path, &n_jobs, &error))
    return ef_cli_report_error (error);
  g_print ("%s: sound, jobs: %" G_GINT64_FORMAT "\n", path, n_jobs);

  return EF_EXIT_OK;
}

int
ef_cli_backup (int argc,
               char **argv)
{
  g_autofree char *folder = NULL;
  gboolean only_list = FALSE;
  gboolean only_check = FALSE;
  int most = EF_BACKUP_MOST_GB;
  EfBackupPolicy policy = ef_backup_policy_default;
  const GOptionEntry entries[] = {
    { "folder", 'f', 0, G_OPTION_ARG_FILENAME, &folder, "Folder of this store's backups (default: NAME.backups beside the store)", "FOLDER" },
    { "most", 'm', 0, G_OPTION_ARG_INT, &most, "Most that the backups may take together, in GB; 0: no limit (default: 20)", "GB" },
    { "list", 'l', 0, G_OPTION_ARG_NONE, &only_list, "List the backups there are, newest first, each checked", NULL },
    { "check", 'c', 0, G_OPTION_ARG_NONE, &only_check, "Check the file given, a backup or a store, and say how many jobs it holds", NULL },
    G_OPTION_ENTRY_NULL
  };
  int code;

  if (!ef_cli_options (entries, "STORE",
                       "Copies a store, also while it's in use. The copy is checked before it counts; then older ones are let go: kept are the\n"
                       "newest 10, and the newest of each of 14 days, 8 weeks and 12 months,\n"
                       "as long as they take no more than --most together. The newest sound one always stays. Prints the new file's name.", &argc, &argv, &code))
    return code;
  if (argc != 2)
    return ef_cli_usage_error ("backup", "expected one store, found %d", argc - 1);
  if (only_list && only_check)
    return ef_cli_usage_error ("backup", "expected --list or --check, found both");
  if (most < 0 || most > 100000)
    return ef_cli_usage_error ("backup", "--most: expected 0 to 100000 GB, found %d", most);
  policy.most = (goffset) most * 1000000000;
  if (folder == NULL)
    folder = ef_backup_default_folder (argv[1]);
  if (only_check)
    return check (argv[1]);

  return only_list ? list (folder) : make (argv[1], folder, &policy);
}

int
ef_cli_restore (int argc,
                char **argv)
{
  g_autofree char *role = NULL;
  g_autofree char *pin_file = NULL;
  const GOptionEntry entries[] = {
    { "role", 'r', 0, G_OPTION_ARG_STRING, &role, "Who does it, where the shop has roles: an owner", "ROLE" },
    { "pin-file", 0, 0, G_OPTION_ARG_FILENAME, &pin_file, "File whose first line is the role's PIN, where it has one; -: standard input", "FILE" },
    G_OPTION_ENTRY_NULL
  };
  g_autoptr (GError) error = NULL;
  g_autofree char *kept = NULL;
  g_autofree char *pin = NULL;
  g_autoptr (EfPermit) permit = NULL;
  EfWho who = { NULL, NULL };
  int shown = -1;
  int code;

  if (!ef_cli_options (entries, "BACKUP STORE",
                       "Puts a backup in the place of a store that no program has open. The store that was there, sound or not, is kept beside it\n"
                       "under a name with the time, which is printed.", &argc, &argv, &code))
    return code;
  if (argc != 3)
    return ef_cli_usage_error ("restore", "expected a backup and a store, found %d", argc - 1);
  if (pin_file != NULL && (pin = ef_cli_read_line (pin_file, &error)) == NULL)
    return ef_cli_report_error (error);
  who = (EfWho){ role != NULL ? role : "", pin };
  if (!ef_cli_can_read (argv[1], &error) || !ef_store_authorise_restore (argv[2], &who, &permit, &error)
      || !ef_backup_restore (argv[1], argv[2], permit, &kept, isatty (STDERR_FILENO) ? ef_cli_progress : NULL, &shown, NULL, &error))
    return ef_cli_report_error (error);
  if (kept != NULL)
    g_print ("%s\n", kept);

  return EF_EXIT_OK;
}
