/* Setting up and taking down a program under test.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "shell-fixture.h"
#include "ef-settings.h"
#include "robot.h"

#include <glib/gstdio.h>

static EfApplication *the_application;

void
shell_test_init (int *argc,
                 char ***argv)
{
  ef_session_set_finest (EF_DETAIL_COARSE);
  gtk_test_init (argc, argv, NULL);
  adw_init ();
  g_object_set (gtk_settings_get_default (), "gtk-enable-animations", FALSE, "gtk-cursor-blink", FALSE,
                "gtk-font-name", "DejaVu Sans 10", "gtk-icon-theme-name", "Adwaita", NULL);
}

void
shell_full_detail (void)
{
  ef_session_set_finest (EF_DETAIL_FULL);
}

static gboolean
nothing_runs (gpointer data)
{
  return !ef_keeper_busy (data);
}

static void
remove_folder (const char *folder)
{
  g_autoptr (GDir) dir = g_dir_open (folder, 0, NULL);
  const char *name;

  while (dir != NULL && (name = g_dir_read_name (dir)) != NULL)
    {
      g_autofree char *path = g_build_filename (folder, name, NULL);

      if (g_file_test (path, G_FILE_TEST_IS_DIR))
        remove_folder (path);
      else
        g_unlink (path);
    }
  g_rmdir (folder);
}

void
shell_set_up (Shell *shell,
              gconstpointer data)
{
  g_autofree char *path = NULL;
  g_autoptr (GError) error = NULL;

  shell->folder = g_dir_make_tmp ("endfloat-test-XXXXXX", &error);
  g_assert_no_error (error);
  path = g_build_filename (shell->folder, "jobs.db", NULL);
  /* One application for the process: a second would find its actions taken. */
  /* A test that is about backups turns them on. */
  g_settings_set_boolean (ef_settings_get (), "backup", FALSE);
  g_settings_reset (ef_settings_get (), "backup-folder");
  /* A test that is about the tour's offer takes it back. */
  g_settings_set_boolean (ef_settings_get (), "tour-offered", TRUE);
  if (the_application == NULL)
    {
      the_application = ef_application_new (path);
      g_application_set_flags (G_APPLICATION (the_application), G_APPLICATION_NON_UNIQUE);
      g_assert_true (g_application_register (G_APPLICATION (the_application), NULL, &error));
      g_assert_no_error (error);
    }
  else
    g_assert_true (ef_application_use_store (the_application, path));
  g_settings_reset (ef_settings_get (), "text-size");
  g_settings_reset (ef_settings_get (), "length-unit");
  shell->application = the_application;
  shell->window = ef_window_new (the_application);
  gtk_window_set_default_size (GTK_WINDOW (shell->window), 1270, 790);
  gtk_window_present (GTK_WINDOW (shell->window));
  robot_focus (GTK_WINDOW (shell->window));
}

void
shell_tear_down (Shell *shell,
                 gconstpointer data)
{
  gpointer window = shell->window;

  /* Nothing may keep the window, or it would keep the job and the store. */
  g_object_add_weak_pointer (G_OBJECT (window), &window);
  gtk_window_destroy (GTK_WINDOW (shell->window));
  robot_settle ();
  g_assert_null (window);
  robot_wait (nothing_runs, ef_application_keeper (shell->application), "what looks through the store");
  remove_folder (shell->folder);
  g_free (shell->folder);
}

static gboolean
job_is_assessed (gpointer data)
{
  EfSession *session = ef_window_session (data);

  return session != NULL && ef_session_assessment (session) != NULL && !ef_session_busy (session);
}

EfSession *
shell_open_demo (Shell *shell)
{
  g_action_group_activate_action (G_ACTION_GROUP (shell->window), "demo", NULL);
  robot_wait (job_is_assessed, shell->window, "the demo job and its verdict");
  /* A finer answer that comes later would lay pages out anew under the pointer. */
  ef_session_settle_fully (ef_window_session (shell->window));
  robot_settle ();

  return ef_window_session (shell->window);
}

EfJobRow *
shell_job_row (Shell *shell)
{
  EfSession *session = ef_window_session (shell->window);
  g_autoptr (GPtrArray) jobs = ef_store_jobs (ef_window_store (shell->window), &(EfJobQuery){ 0 }, NULL);
  EfJobRow *found = NULL;
  guint i;

  g_assert_nonnull (jobs);
  for (i = 0; i < jobs->len; i++)
    {
      EfJobRow *row = g_ptr_array_index (jobs, i);

      if (row->id == ef_session_job (session))
        {
          found = row;
          /* The array frees its rows: keep this one. */
          g_ptr_array_set_free_func (jobs, NULL);
        }
    }
  for (i = 0; found != NULL && i < jobs->len; i++)
    if (g_ptr_array_index (jobs, i) != found)
      ef_job_row_free (g_ptr_array_index (jobs, i));
  g_assert_nonnull (found);
  return found;
}
