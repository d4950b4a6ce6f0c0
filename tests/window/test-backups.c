/* Backups as the window makes and shows them, and what it does with a store that is damaged or can't be written.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-backups-window.h"
#include "ef-keeper.h"
#include "ef-settings.h"
#include "robot.h"
#include "shell-fixture.h"

#include "record/ef-backup.h"
#include "record/ef-store-upgrade.h"
#include "../record/samples.h"
#include "record/ef-seal.h"

#include <fcntl.h>
#include <glib/gstdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

static char *
store_path (Shell *shell)
{
  return g_build_filename (shell->folder, "jobs.db", NULL);
}

static GPtrArray *
list_backups (Shell *shell)
{
  g_autofree char *path = store_path (shell);
  g_autofree char *folder = ef_settings_backup_folder (path);
  g_autoptr (GError) error = NULL;
  GPtrArray *backups = ef_backup_list (folder, &error);

  g_assert_no_error (error);

  return backups;
}

static guint
count_backups (Shell *shell)
{
  g_autoptr (GPtrArray) backups = list_backups (shell);

  return backups->len;
}

static gboolean
is_idle (gpointer data)
{
  return !ef_keeper_busy (data);
}

static void
wait_for_keeper (Shell *shell)
{
  robot_wait (is_idle, ef_application_keeper (shell->application), "the backup");
}

static void
count_message (EfKeeper *keeper,
               const char *text,
               gpointer user_data)
{
  g_assert_nonnull (strstr (text, "can't be made"));
  ++*(guint *) user_data;
}

static void
write_note (Shell *shell,
            const char *text)
{
  EfDocument *document = ef_session_document (ef_window_session (shell->window));
  g_autoptr (EfItem) header = ef_item_copy (ef_inspection_header (ef_document_inspection (document)));
  EfChange *change = ef_change_new ("Note");

  g_free (((EfJobHeader *) header)->note);
  ((EfJobHeader *) header)->note = g_strdup (text);
  ef_change_add (change, (gpointer) ef_inspection_header (ef_document_inspection (document)), header);
  g_assert_true (ef_session_apply (ef_window_session (shell->window), change));
}

/* Where one is due it's made, checked, and not made again; closing puts into one more what is new. */
static void
test_by_itself (Shell *shell,
                gconstpointer data)
{
  EfKeeper *keeper = ef_application_keeper (shell->application);
  GtkWindow *second;

  shell_open_demo (shell);
  ef_keeper_look (keeper);
  g_assert_false (ef_keeper_busy (keeper)); /* turned off */

  g_settings_set_boolean (ef_settings_get (), "backup", TRUE);
  ef_keeper_look (keeper);
  wait_for_keeper (shell);
  g_assert_cmpuint (count_backups (shell), ==, 1);
  ef_keeper_look (keeper);
  wait_for_keeper (shell);
  g_assert_cmpuint (count_backups (shell), ==, 1);

  write_note (shell, "newer than the backup");
  ef_keeper_look (keeper);
  wait_for_keeper (shell);
  g_assert_cmpuint (count_backups (shell), ==, 1); /* one change, just now */
  second = GTK_WINDOW (ef_window_new (shell->application));
  gtk_window_present (second);
  robot_settle ();
  gtk_window_close (second);
  robot_settle ();
  wait_for_keeper (shell);
  g_assert_cmpuint (count_backups (shell), ==, 2);
  g_assert_null (ef_keeper_failure (keeper));
  g_settings_set_boolean (ef_settings_get (), "backup", FALSE);
}

/* A folder that can't be: told once, written into the log each time; a folder that can, and all is well again. */
static void
test_failure_told_once (Shell *shell,
                        gconstpointer data)
{
  EfKeeper *keeper = ef_application_keeper (shell->application);
  g_autofree char *log_path = ef_backup_log_path ();
  g_autofree char *log = NULL;
  guint n_messages = 0;
  gulong handler = g_signal_connect (keeper, "message", G_CALLBACK (count_message), &n_messages);

  g_remove (log_path);
  shell_open_demo (shell);
  g_settings_set_string (ef_settings_get (), "backup-folder", "/proc/none");
  g_settings_set_boolean (ef_settings_get (), "backup", TRUE);
  ef_keeper_look (keeper);
  wait_for_keeper (shell);
  g_assert_cmpuint (n_messages, ==, 1);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "No backup could be made"));
  g_assert_nonnull (ef_keeper_failure (keeper));
  ef_keeper_look (keeper);
  wait_for_keeper (shell);
  g_assert_cmpuint (n_messages, ==, 1);
  g_assert_true (g_file_get_contents (log_path, &log, NULL, NULL));
  g_assert_nonnull (strstr (strstr (log, "no backup: ") + 1, "no backup: "));

  g_settings_reset (ef_settings_get (), "backup-folder");
  ef_keeper_look (keeper);
  wait_for_keeper (shell);
  g_assert_null (ef_keeper_failure (keeper));
  g_assert_cmpuint (count_backups (shell), ==, 1);
  g_settings_set_boolean (ef_settings_get (), "backup", FALSE);
  g_signal_handler_disconnect (keeper, handler);
}

static gboolean
list_is_idle (gpointer data)
{
  return !ef_backups_window_busy (data);
}

static gboolean
window_is_gone (gpointer data)
{
  return robot_window (EF_TYPE_BACKUPS_WINDOW) == NULL;
}

static EfBackupsWindow *
open_list (Shell *shell)
{
  GtkWindow *window;

  g_action_group_activate_action (G_ACTION_GROUP (shell->window), "backups", NULL);
  window = robot_window (EF_TYPE_BACKUPS_WINDOW);
  g_assert_nonnull (window);
  robot_wait (list_is_idle, window, "the backups to be looked through");
  robot_focus (window);

  return EF_BACKUPS_WINDOW (window);
}

static void
press (GtkWidget *root,
       const char *label)
{
  GtkWidget *button = robot_find_button (root, label);

  g_assert_nonnull (button);
  robot_click (button);
  robot_settle ();
}

static void
make_backup (Shell *shell)
{
  g_settings_set_boolean (ef_settings_get (), "backup", TRUE);
  ef_keeper_look (ef_application_keeper (shell->application));
  wait_for_keeper (shell);
  g_settings_set_boolean (ef_settings_get (), "backup", FALSE);
  g_assert_cmpuint (count_backups (shell), ==, 1);
}

static guint
count_kept (Shell *shell)
{
  g_autoptr (GDir) dir = g_dir_open (shell->folder, 0, NULL);
  const char *name;
  guint n = 0;

  while ((name = g_dir_read_name (dir)) != NULL)
    n += strstr (name, ".before-") != NULL;

  return n;
}

/* What is newer is told; putting back asks first, keeps the store aside, and shows what was put back. */
static void
test_put_back (Shell *shell,
               gconstpointer data)
{
  gint64 n_jobs;
  EfBackupsWindow *list;

  shell_open_demo (shell);
  n_jobs = ef_store_count (ef_window_store (shell->window), NULL, NULL);
  make_backup (shell);
  write_note (shell, "newer than the backup");
  list = open_list (shell);
  g_assert_true (robot_sees (GTK_WIDGET (list), "checked: sound"));
  g_assert_true (robot_sees (GTK_WIDGET (list), "Not in it: 1 newer edit of its jobs"));
  g_assert_null (robot_find_button (GTK_WIDGET (list), "Exchange Files of What Can Be Read…"));
  g_assert_null (robot_find_button (GTK_WIDGET (list), "New Store of What Can Be Read…"));

  press (GTK_WIDGET (list), "Put Back…");
  g_assert_true (robot_sees (GTK_WIDGET (robot_window (ADW_TYPE_MESSAGE_DIALOG)), "Not in it: 1 newer edit of its jobs"));
  press (GTK_WIDGET (robot_window (ADW_TYPE_MESSAGE_DIALOG)), "Cancel");
  g_assert_cmpuint (count_kept (shell), ==, 0);
  g_assert_nonnull (ef_window_session (shell->window));

  press (GTK_WIDGET (list), "Put Back…");
  press (GTK_WIDGET (robot_window (ADW_TYPE_MESSAGE_DIALOG)), "Put Back");
  robot_wait (window_is_gone, NULL, "the backup to be put back");
  g_assert_null (ef_window_session (shell->window));
  g_assert_cmpuint (count_kept (shell), ==, 1);
  g_assert_cmpint (ef_store_count (ef_window_store (shell->window), NULL, NULL), ==, n_jobs);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "Put back. The store that was there is kept as"));
  wait_for_keeper (shell);
}

static gboolean
nothing_is_changed (gpointer data)
{
  return robot_sees (data, "Nothing was changed: ");
}

/* Another program has the store open: refused, said, and the store is open again as it was. */
static void
test_put_back_refused (Shell *shell,
                       gconstpointer data)
{
  g_autofree char *path = store_path (shell);
  g_autoptr (EfStore) other = NULL;
  g_autoptr (GError) error = NULL;
  EfBackupsWindow *list;
  gint64 n_jobs;

  shell_open_demo (shell);
  n_jobs = ef_store_count (ef_window_store (shell->window), NULL, NULL);
  make_backup (shell);
  other = ef_store_open (path, &error);
  g_assert_no_error (error);
  list = open_list (shell);
  press (GTK_WIDGET (list), "Put Back…");
  press (GTK_WIDGET (robot_window (ADW_TYPE_MESSAGE_DIALOG)), "Put Back");
  robot_wait (nothing_is_changed, list, "the refusal");
  robot_wait (list_is_idle, list, "the backups to be looked through");
  g_assert_cmpuint (count_kept (shell), ==, 0);
  g_assert_cmpint (ef_store_count (ef_window_store (shell->window), NULL, NULL), ==, n_jobs);
  gtk_window_close (GTK_WINDOW (list));
  robot_settle ();
}

static gboolean
notice_is_shown (gpointer data)
{
  return robot_sees (data, "The store of the jobs is damaged");
}

/* A store damaged in its middle opens, and that is found at the start; the list offers the newest sound backup, and puts it back. What can be read is
 * taken out. */
static void
test_damaged (Shell *shell,
              gconstpointer data)
{
  g_autofree char *path = store_path (shell);
  g_autofree char *bytes = NULL;
  g_autofree char *out = g_build_filename (shell->folder, "taken-out", NULL);
  g_autoptr (GDir) taken = NULL;
  EfBackupsWindow *list;
  gint64 n_jobs;
  gsize length;

  shell_open_demo (shell);
  n_jobs = ef_store_count (ef_window_store (shell->window), NULL, NULL);
  make_backup (shell);
  ef_application_release_store (shell->application);
  wait_for_keeper (shell);
  g_assert_true (g_file_get_contents (path, &bytes, &length, NULL));
  memset (bytes + length / 8192 * 4096, 0xa5, 4096);
  g_assert_true (g_file_set_contents (path, bytes, (gssize) length, NULL));

  g_assert_true (ef_application_use_store (shell->application, path));
  robot_wait (notice_is_shown, shell->window, "the damage to be found");
  list = open_list (shell);
  g_assert_true (robot_sees (GTK_WIDGET (list), "The store of the jobs is damaged"));
  g_assert_nonnull (robot_find_button (GTK_WIDGET (list), "Exchange Files of What Can Be Read…"));
  g_assert_nonnull (robot_find_button (GTK_WIDGET (list), "New Store of What Can Be Read…"));
  ef_backups_window_salvage (list, out);
  robot_wait (list_is_idle, list, "the jobs to be taken out");
  g_assert_true (robot_sees (GTK_WIDGET (list), "Taken out: "));
  taken = g_dir_open (out, 0, NULL);
  g_assert_nonnull (g_dir_read_name (taken));
  {
    g_autofree char *rebuilt = g_build_filename (shell->folder, "rebuilt.endfloat", NULL);
    g_autofree char *report = g_strconcat (rebuilt, ".report.txt", NULL);

    ef_backups_window_salvage_store (list, rebuilt);
    robot_wait (list_is_idle, list, "the new store to be made");
    g_assert_true (robot_sees (GTK_WIDGET (list), "Jobs in the new store: "));
    g_assert_true (g_file_test (report, G_FILE_TEST_EXISTS));
    g_assert_true (ef_backup_check (rebuilt, NULL, NULL));
  }

  press (GTK_WIDGET (list), "Put Back…");
  press (GTK_WIDGET (robot_window (ADW_TYPE_MESSAGE_DIALOG)), "Put Back");
  robot_wait (window_is_gone, NULL, "the backup to be put back");
  wait_for_keeper (shell);
  g_assert_false (notice_is_shown (shell->window));
  g_assert_cmpint (ef_store_count (ef_window_store (shell->window), NULL, NULL), ==, n_jobs);
  g_assert_cmpuint (count_kept (shell), ==, 1);
}

/* One that isn't even a store any more: the page that says so leads to the backups. */
static void
test_unopenable (Shell *shell,
                 gconstpointer data)
{
  g_autofree char *path = store_path (shell);
  EfBackupsWindow *list;
  gint64 n_jobs;

  shell_open_demo (shell);
  n_jobs = ef_store_count (ef_window_store (shell->window), NULL, NULL);
  make_backup (shell);
  ef_application_release_store (shell->application);
  wait_for_keeper (shell);
  g_assert_true (g_file_set_contents (path, "what a bad disk gives back", -1, NULL));
  g_assert_false (ef_application_use_store (shell->application, path));
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "The jobs can't be opened"));
  press (GTK_WIDGET (shell->window), "Backups…");
  list = EF_BACKUPS_WINDOW (robot_window (EF_TYPE_BACKUPS_WINDOW));
  g_assert_nonnull (list);
  robot_wait (list_is_idle, list, "the backups to be looked through");
  g_assert_true (robot_sees (GTK_WIDGET (list), "can't be told"));
  robot_focus (GTK_WINDOW (list));
  robot_key (GDK_KEY_Return, 0); /* the newest sound one has the focus */
  robot_settle ();
  press (GTK_WIDGET (robot_window (ADW_TYPE_MESSAGE_DIALOG)), "Put Back");
  robot_wait (window_is_gone, NULL, "the backup to be put back");
  wait_for_keeper (shell);
  g_assert_cmpint (ef_store_count (ef_window_store (shell->window), NULL, NULL), ==, n_jobs);
}

static void
set_modes (Shell *shell,
           mode_t mode)
{
  static const char *const endings[] = { "", "-wal", "-shm" };
  g_autofree char *path = store_path (shell);
  guint i;

  for (i = 0; i < G_N_ELEMENTS (endings); i++)
    {
      g_autofree char *file = g_strconcat (path, endings[i], NULL);

      if (g_file_test (file, G_FILE_TEST_EXISTS))
        g_assert_cmpint (chmod (file, mode), ==, 0);
    }
}

/* As somebody who may read the folder and not write it: root could write anything, so for the time being this is nobody. */
static void
be_refused (Shell *shell)
{
  set_modes (shell, 0444);
  g_assert_cmpint (chmod (shell->folder, 0555), ==, 0);
  if (geteuid () == 0)
    g_assert_cmpint (seteuid (65534), ==, 0);
}

static void
be_allowed (Shell *shell)
{
  if (geteuid () == 65534)
    g_assert_cmpint (seteuid (0), ==, 0);
  g_assert_cmpint (chmod (shell->folder, 0755), ==, 0);
  set_modes (shell, 0600);
}

static gboolean
job_is_assessed (gpointer data)
{
  EfSession *session = ef_window_session (data);

  return session != NULL && ef_session_assessment (session) != NULL && !ef_session_busy (session);
}

/* It opens for looking, says so, refuses changes, exports elsewhere, and opens as usual when it may be written again. */
static void
test_read_only (Shell *shell,
                gconstpointer data)
{
  g_autofree char *path = store_path (shell);
  g_autofree char *elsewhere = g_dir_make_tmp ("endfloat-elsewhere-XXXXXX", NULL);
  g_autofree char *file = g_build_filename (elsewhere, "out.json", NULL);
  g_autoptr (GPtrArray) jobs = NULL;
  g_autoptr (GError) error = NULL;
  const char *reason;
  gint64 n_jobs;
  EfStore *store;

  shell_open_demo (shell);
  n_jobs = ef_store_count (ef_window_store (shell->window), NULL, NULL);
  g_assert_cmpint (chmod (elsewhere, 0777), ==, 0);
  ef_application_release_store (shell->application);
  wait_for_keeper (shell);
  be_refused (shell);
  ef_application_use_store (shell->application, path);
  ef_application_store (shell->application, &reason);
  g_assert_cmpstr (reason, ==, NULL);
  robot_settle ();
  store = ef_window_store (shell->window);
  g_assert_true (ef_store_read_only (store));
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "The jobs can be looked at and exported, not changed"));
  g_assert_false (g_action_group_get_action_enabled (G_ACTION_GROUP (shell->window), "new-job"));

  jobs = ef_store_jobs (store, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpint (jobs->len, ==, n_jobs);
  ef_window_open_job (shell->window, ((EfJobRow *) jobs->pdata[0])->id);
  robot_wait (job_is_assessed, shell->window, "the job and its verdict");
  g_assert_true (ef_session_read_only (ef_window_session (shell->window)));
  g_assert_true (ef_seal_export_file (store, ((EfJobRow *) jobs->pdata[0])->id, file, &error));
  g_assert_no_error (error);
  ef_window_show_start (shell->window);

  press (GTK_WIDGET (shell->window), "Try Again");
  g_assert_true (ef_store_read_only (ef_window_store (shell->window)));
  be_allowed (shell);
  press (GTK_WIDGET (shell->window), "Try Again");
  g_assert_false (ef_store_read_only (ef_window_store (shell->window)));
  g_assert_false (robot_sees (GTK_WIDGET (shell->window), "The jobs can be looked at and exported, not changed"));
  g_assert_true (g_action_group_get_action_enabled (G_ACTION_GROUP (shell->window), "new-job"));
  g_remove (file);
  g_rmdir (elsewhere);
}

static gboolean
has_store (gpointer shell)
{
  return ef_application_store (((Shell *) shell)->application, NULL) != NULL;
}

static gboolean
not_upgrading (gpointer shell)
{
  return !ef_application_upgrading (((Shell *) shell)->application, NULL);
}

static gboolean
says_stopped (gpointer shell)
{
  return robot_sees (GTK_WIDGET (((Shell *) shell)->window), "That was stopped; nothing was changed in it");
}

static gboolean
says_no_backup (gpointer shell)
{
  return robot_sees (GTK_WIDGET (((Shell *) shell)->window), "expected a backup of it before that, found that none can be made");
}

/* An older store in the place of the shell's, as it is when the program was updated. */
static char *
put_older (Shell *shell)
{
  static const char *const ends[] = { "", "-wal", "-shm" };
  char *path = store_path (shell);

  ef_application_release_store (shell->application);
  wait_for_keeper (shell);
  for (guint i = 0; i < G_N_ELEMENTS (ends); i++)
    {
      g_autofree char *one = g_strconcat (path, ends[i], NULL);

      g_remove (one);
    }
  unpack_sample (9, path);

  return path;
}

static gint64
version_of (const char *path)
{
  gint64 from = 0, to = 0;

  return ef_store_upgrade_needed (path, &from, &to) ? from : to;
}

/* In a worker, with its progress in the window, after a backup; then the jobs are there. */
static void
test_older (Shell *shell,
            gconstpointer data)
{
  g_autofree char *path = put_older (shell);

  g_assert_false (ef_application_use_store (shell->application, path));
  g_assert_true (ef_application_upgrading (shell->application, NULL));
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "Bringing the jobs up to date"));
  g_assert_false (robot_sees (GTK_WIDGET (shell->window), "Try Again"));
  robot_wait (has_store, shell, "the store to be brought up to date");
  g_assert_false (ef_application_upgrading (shell->application, NULL));
  g_assert_cmpuint (count_backups (shell), ==, 1);
  g_assert_cmpint (ef_store_count (ef_window_store (shell->window), NULL, NULL), ==, 3);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "S-1"));
  g_assert_false (robot_sees (GTK_WIDGET (shell->window), "Bringing the jobs up to date"));
}

/* Stopped while it waits for a window that makes a backup there: not a byte of it is changed, and it can be tried again by the pointer. */
static void
test_older_stopped (Shell *shell,
                    gconstpointer data)
{
  g_autofree char *path = put_older (shell);
  g_autofree char *before = NULL;
  g_autofree char *after = NULL;
  g_autofree char *backups = ef_backup_default_folder (path);
  gsize length, length_after;
  GtkWidget *again;
  int held;

  g_assert_true (g_file_get_contents (path, &before, &length, NULL));
  g_assert_cmpint (g_mkdir_with_parents (backups, 0700), ==, 0);
  held = g_open (backups, O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0);
  g_assert_cmpint (held, >=, 0);
  g_assert_cmpint (flock (held, LOCK_EX | LOCK_NB), ==, 0);
  g_assert_false (ef_application_use_store (shell->application, path));
  g_action_group_activate_action (G_ACTION_GROUP (shell->window), "stop-upgrade", NULL);
  robot_wait (not_upgrading, shell, "the work to be stopped");
  robot_wait (says_stopped, shell, "that it was stopped");
  g_assert_true (g_file_get_contents (path, &after, &length_after, NULL));
  g_assert_cmpmem (before, length, after, length_after);
  close (held);
  /* Whoever stopped it isn't told of a failure. */
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "The jobs aren't up to date yet"));
  robot_focus (GTK_WINDOW (shell->window));
  again = robot_find_button (GTK_WIDGET (shell->window), "Try Again");
  g_assert_true (gtk_widget_has_css_class (again, "suggested-action"));
  robot_click (again);
  robot_wait (has_store, shell, "the store to be brought up to date");
}

/* Where no backup can be made nothing is done before somebody says so. */
static void
test_older_without_backup (Shell *shell,
                           gconstpointer data)
{
  g_autofree char *path = put_older (shell);

  g_settings_set_string (ef_settings_get (), "backup-folder", "/proc/none");
  g_assert_false (ef_application_use_store (shell->application, path));
  robot_wait (not_upgrading, shell, "the backup to fail");
  robot_wait (says_no_backup, shell, "that no backup can be made");
  g_assert_cmpint (version_of (path), ==, 9);
  robot_focus (GTK_WINDOW (shell->window));
  robot_click (robot_find_button (GTK_WIDGET (shell->window), "Go On Without a Backup"));
  robot_wait (has_store, shell, "the store to be brought up to date");
  g_settings_reset (ef_settings_get (), "backup-folder");
  g_assert_cmpint (version_of (path), >, 9);
  g_assert_cmpuint (count_backups (shell), ==, 0);
}

int
main (int argc,
      char **argv)
{
  g_autofree char *state = g_dir_make_tmp ("endfloat-state-XXXXXX", NULL);
  g_autofree char *folder = g_build_filename (state, "endfloat", NULL);
  g_autofree char *log = NULL;
  int code;

  g_setenv ("XDG_STATE_HOME", state, TRUE);
  shell_test_init (&argc, &argv);
  SHELL_TEST ("/backups/by-itself", test_by_itself);
  SHELL_TEST ("/backups/put-back", test_put_back);
  SHELL_TEST ("/backups/put-back-refused", test_put_back_refused);
  SHELL_TEST ("/backups/damaged", test_damaged);
  SHELL_TEST ("/backups/older", test_older);
  SHELL_TEST ("/backups/older-stopped", test_older_stopped);
  SHELL_TEST ("/backups/older-without-backup", test_older_without_backup);
  SHELL_TEST ("/backups/unopenable", test_unopenable);
  SHELL_TEST ("/backups/read-only", test_read_only);
  SHELL_TEST ("/backups/failure-told-once", test_failure_told_once);

  code = g_test_run ();
  log = ef_backup_log_path ();
  g_remove (log);
  g_rmdir (folder);
  g_rmdir (state);

  return code;
}
