/* Asking for files and folders, with a user's keys.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "robot.h"
#include "shell-fixture.h"

#include "ef-ask-path.h"

#include <glib/gstdio.h>

typedef struct
{
  GtkWindow *window;
  GtkWidget *owner;
  char *folder;
  GPtrArray *paths; /* chosen */
  guint n_chosen, n_freed;
} Fixture;

static void
set_up (Fixture *fixture,
        gconstpointer data)
{
  fixture->window = GTK_WINDOW (gtk_window_new ());
  fixture->owner = gtk_label_new ("owner");
  gtk_window_set_child (fixture->window, fixture->owner);
  gtk_window_present (fixture->window);
  fixture->folder = g_dir_make_tmp ("endfloat-ask-XXXXXX", NULL);
  fixture->paths = g_ptr_array_new_with_free_func (g_free);
}

static gboolean
no_dialog (gpointer data)
{
  return robot_window (GTK_TYPE_FILE_CHOOSER_DIALOG) == NULL;
}

static void
tear_down (Fixture *fixture,
           gconstpointer data)
{
  robot_wait (no_dialog, NULL, "the file dialog to go");
  if (fixture->window != NULL)
    gtk_window_destroy (fixture->window);
  g_rmdir (fixture->folder);
  g_free (fixture->folder);
  g_ptr_array_unref (fixture->paths);
}

static void
free_cb (gpointer data)
{
  ((Fixture *) data)->n_freed++;
}

static void
path_cb (GtkWidget *owner,
         const char *path,
         gpointer data)
{
  Fixture *fixture = data;

  g_assert_true (owner == fixture->owner);
  g_assert_cmpuint (fixture->n_freed, ==, 0);
  g_ptr_array_add (fixture->paths, g_strdup (path));
  fixture->n_chosen++;
}

/* Closes what it was asked for, as a window does that has its answer. */
static void
closing_cb (GtkWidget *owner,
            const char *path,
            gpointer data)
{
  Fixture *fixture = data;

  path_cb (owner, path, data);
  gtk_window_destroy (fixture->window);
  fixture->window = NULL;
}

static void
files_cb (GtkWidget *owner,
          GListModel *files,
          gpointer data)
{
  Fixture *fixture = data;

  for (guint i = 0; i < g_list_model_get_n_items (files); i++)
    {
      g_autoptr (GFile) file = g_list_model_get_item (files, i);

      g_ptr_array_add (fixture->paths, g_file_get_path (file));
    }
  fixture->n_chosen++;
}

static gboolean
dialog_is_open (gpointer data)
{
  GtkWindow **dialog = data;

  *dialog = robot_window (GTK_TYPE_FILE_CHOOSER_DIALOG);

  return *dialog != NULL && gtk_widget_get_mapped (GTK_WIDGET (*dialog));
}

static gboolean
is_freed (gpointer data)
{
  return ((Fixture *) data)->n_freed > 0;
}

static GtkWindow *
wait_for_dialog (void)
{
  GtkWindow *dialog = NULL;

  robot_wait (dialog_is_open, &dialog, "the file dialog");
  robot_focus (dialog);

  return dialog;
}

/* Types @name in @folder into the dialog, and chooses it. */
static char *
answer (Fixture *fixture,
        const char *name)
{
  char *path = g_build_filename (fixture->folder, name, NULL);

  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  robot_type (path);
  robot_key (GDK_KEY_Return, 0);
  robot_wait (is_freed, fixture, "the answer");

  return path;
}

static const EfAskPath save = { .title = "Keep it", .accept = "_Keep", .action = GTK_FILE_CHOOSER_ACTION_SAVE, .name = "proposed.txt" };

static void
test_save (Fixture *fixture,
           gconstpointer data)
{
  g_autofree char *path = NULL;
  GtkWindow *dialog;

  ef_ask_path (fixture->owner, &save, path_cb, fixture, free_cb);
  dialog = wait_for_dialog ();
  g_assert_cmpstr (gtk_window_get_title (dialog), ==, "Keep it");
  g_assert_true (gtk_window_get_transient_for (dialog) == fixture->window);
  g_assert_true (gtk_window_get_modal (dialog));
  g_assert_nonnull (robot_find_button (GTK_WIDGET (dialog), "Keep"));
  {
    g_autoptr (GFile) proposed = gtk_file_chooser_get_file (GTK_FILE_CHOOSER (dialog));
    g_autofree char *name = g_file_get_basename (proposed);

    g_assert_cmpstr (name, ==, "proposed.txt");
  }
  path = answer (fixture, "kept.txt");
  g_assert_cmpuint (fixture->n_chosen, ==, 1);
  g_assert_cmpuint (fixture->n_freed, ==, 1);
  g_assert_cmpstr (fixture->paths->pdata[0], ==, path);
}

static void
test_cancel (Fixture *fixture,
             gconstpointer data)
{
  ef_ask_path (fixture->owner, &save, path_cb, fixture, free_cb);
  wait_for_dialog ();
  robot_key (GDK_KEY_Escape, 0);
  robot_wait (is_freed, fixture, "the end");
  g_assert_cmpuint (fixture->n_chosen, ==, 0);
  g_assert_cmpuint (fixture->n_freed, ==, 1);
}

/* Whoever asked is gone: so is the dialog, and nobody is told. */
static void
test_owner_goes (Fixture *fixture,
                 gconstpointer data)
{
  ef_ask_path (fixture->owner, &save, path_cb, fixture, free_cb);
  wait_for_dialog ();
  gtk_window_set_child (fixture->window, NULL);
  g_assert_cmpuint (fixture->n_freed, ==, 1);
  g_assert_cmpuint (fixture->n_chosen, ==, 0);
}

static void
test_answer_closes (Fixture *fixture,
                    gconstpointer data)
{
  g_autofree char *path = NULL;

  ef_ask_path (fixture->owner, &save, closing_cb, fixture, free_cb);
  wait_for_dialog ();
  path = answer (fixture, "last.txt");
  g_assert_cmpuint (fixture->n_chosen, ==, 1);
  g_assert_cmpuint (fixture->n_freed, ==, 1);
  g_assert_cmpstr (fixture->paths->pdata[0], ==, path);
}

/* Files are shown by their ending, in whatever case it's written; others when asked for. */
static void
test_filters (Fixture *fixture,
              gconstpointer data)
{
  static const char *const endings[] = { "jpg", "png", NULL };
  const EfAskPath ask = { .title = "Photos", .accept = "_Attach", .kind = "Photos", .endings = endings, .or_all = TRUE };
  g_autoptr (GListModel) filters = NULL;
  GtkWindow *dialog;

  ef_ask_files (fixture->owner, &ask, files_cb, fixture, free_cb);
  dialog = wait_for_dialog ();
  g_assert_true (gtk_file_chooser_get_select_multiple (GTK_FILE_CHOOSER (dialog)));
  g_assert_cmpint (gtk_file_chooser_get_action (GTK_FILE_CHOOSER (dialog)), ==, GTK_FILE_CHOOSER_ACTION_OPEN);
  filters = gtk_file_chooser_get_filters (GTK_FILE_CHOOSER (dialog));
  g_assert_cmpuint (g_list_model_get_n_items (filters), ==, 2);
  for (int i = 0; i < 3; i++)
    {
      static const char *const names[] = { "a.png", "B.JPG", "c.pdf" };
      g_autoptr (GFileInfo) info = g_file_info_new ();
      g_autoptr (GtkFilter) photos = g_list_model_get_item (filters, 0);
      g_autoptr (GtkFilter) all = g_list_model_get_item (filters, 1);

      g_file_info_set_display_name (info, names[i]);
      g_file_info_set_name (info, names[i]);
      g_assert_cmpint (gtk_filter_match (photos, info), ==, i < 2);
      g_assert_true (gtk_filter_match (all, info));
    }
  robot_key (GDK_KEY_Escape, 0);
  robot_wait (is_freed, fixture, "the end");
}

static gboolean
is_selected (gpointer data)
{
  g_autoptr (GListModel) files = gtk_file_chooser_get_files (data);

  return g_list_model_get_n_items (files) == 1;
}

static void
test_files (Fixture *fixture,
            gconstpointer data)
{
  const EfAskPath ask = { .title = "Open", .accept = "_Open" };
  g_autofree char *there = g_build_filename (fixture->folder, "there.json", NULL);
  g_autoptr (GFile) file = g_file_new_for_path (there);
  GtkWindow *dialog;

  g_assert_true (g_file_set_contents (there, "{}", -1, NULL));
  ef_ask_files (fixture->owner, &ask, files_cb, fixture, free_cb);
  dialog = wait_for_dialog ();
  gtk_file_chooser_set_file (GTK_FILE_CHOOSER (dialog), file, NULL);
  robot_wait (is_selected, dialog, "the file to be selected");
  robot_click (robot_find_button (GTK_WIDGET (dialog), "Open"));
  robot_wait (is_freed, fixture, "the answer");
  g_assert_cmpuint (fixture->n_chosen, ==, 1);
  g_assert_cmpuint (fixture->paths->len, ==, 1);
  g_assert_cmpstr (fixture->paths->pdata[0], ==, there);
  g_unlink (there);
}

#define ADD(path, function) g_test_add (path, Fixture, NULL, set_up, function, tear_down)

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  ADD ("/window/ask-path/save", test_save);
  ADD ("/window/ask-path/cancel", test_cancel);
  ADD ("/window/ask-path/owner-goes", test_owner_goes);
  ADD ("/window/ask-path/answer-closes", test_answer_closes);
  ADD ("/window/ask-path/filters", test_filters);
  ADD ("/window/ask-path/files", test_files);

  return g_test_run ();
}
