/* The record page by pointer and keys: sign and seal, a sealed job that can't be changed, a revision, comparing two states, verifying a changed store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * With ENDFLOAT_PICTURES set to a folder, the screens are kept there as PNG.
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-compare-window.h"
#include "ef-field.h"
#include "ef-seal-panel.h"
#include "ef-verify-window.h"

#include "../../src/record/ef-seal.h"
#include "../../src/record/ef-sql.h"
#include "../../src/record/ef-store-standing.h"

#include <string.h>

static EfSession *
session_of (Shell *shell)
{
  return ef_window_session (shell->window);
}

static EfStanding
standing_of (Shell *shell)
{
  EfStanding standing;

  g_assert_true (ef_store_standing (ef_session_store (session_of (shell)), ef_session_job (session_of (shell)), &standing, NULL));

  return standing;
}

static gboolean
is_field (GtkWidget *widget,
          gpointer data)
{
  g_autofree char *label = NULL;

  if (!EF_IS_FIELD (widget) || !gtk_widget_get_mapped (widget))
    return FALSE;
  g_object_get (widget, "label", &label, NULL);

  return g_strcmp0 (label, data) == 0;
}

/* The check buttons of the history, counted down. */
static gboolean
is_nth_check (GtkWidget *widget,
              gpointer data)
{
  guint *left = data;

  return GTK_IS_CHECK_BUTTON (widget) && gtk_widget_get_mapped (widget) && gtk_widget_get_ancestor (widget, GTK_TYPE_LIST_BOX) != NULL && --*left == 0;
}

static void
fill_field (Shell *shell,
            const char *label,
            const char *text)
{
  GtkWidget *field = robot_find (GTK_WIDGET (shell->window), is_field, (gpointer) label);

  if (field == NULL)
    g_error ("no field \"%s\"", label);
  gtk_widget_grab_focus (field);
  robot_settle ();
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  robot_type (text);
  robot_settle ();
  g_assert_cmpstr (ef_field_text (EF_FIELD (field)), ==, text);
}

static void
press (GtkWidget *root,
       const char *label)
{
  GtkWidget *button = robot_find_button (root, label);

  if (button == NULL)
    g_error ("no button \"%s\"", label);
  gtk_widget_grab_focus (button);
  robot_settle ();
  robot_key (GDK_KEY_space, 0);
  robot_settle ();
}

static gboolean
is_sealed (gpointer data)
{
  return standing_of (data).sealed > 0;
}

static gboolean
is_at_rest (gpointer data)
{
  EfSealPanel *panel = EF_SEAL_PANEL (robot_find_type (GTK_WIDGET (((Shell *) data)->window), EF_TYPE_SEAL_PANEL));

  return panel != NULL && !ef_seal_panel_busy (panel);
}

static gboolean
is_verified (gpointer data)
{
  GtkWindow *window = robot_window (EF_TYPE_VERIFY_WINDOW);

  return window != NULL && !ef_verify_window_busy (EF_VERIFY_WINDOW (window));
}

static void
open_tab (Shell *shell,
          const char *label)
{
  GtkWidget *button;

  ef_window_show_page (shell->window, "record");
  robot_settle ();
  button = robot_find_button (GTK_WIDGET (shell->window), label);
  g_assert_nonnull (button);
  gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (button), TRUE);
  robot_settle ();
}

static void
keep_picture (const char *name)
{
  const char *folder = g_getenv ("ENDFLOAT_PICTURES");
  g_autofree char *command = NULL;

  if (folder == NULL)
    return;
  for (guint i = 0; i < 20; i++)
    {
      robot_settle ();
      g_usleep (20000);
    }
  command = g_strdup_printf ("import -window root %s/%s.png", folder, name);
  g_assert_true (g_spawn_command_line_sync (command, NULL, NULL, NULL, NULL));
}

static void
seal_demo (Shell *shell)
{
  shell_open_demo (shell);
  robot_focus (GTK_WINDOW (shell->window));
  open_tab (shell, "Seal");
  keep_picture ("record-open");
  fill_field (shell, "Role", "clerk");
  fill_field (shell, "Note", "looked through");
  press (GTK_WIDGET (shell->window), "Sign and Seal");
  robot_settle ();
}

static void
make_change (Shell *shell,
             const char *note)
{
  const EfJobHeader *before = ef_inspection_header (ef_document_inspection (ef_session_document (session_of (shell))));
  g_autoptr (EfItem) item = ef_item_copy (before);
  EfChange *change = ef_change_new ("Note");

  g_free (((EfJobHeader *) item)->note);
  ((EfJobHeader *) item)->note = g_strdup (note);
  ef_change_add (change, (gpointer) before, item);
  ef_session_apply (session_of (shell), change);
}

static void
deepen_mark (Shell *shell)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (session_of (shell)));
  EfMark *before = inspection->items[EF_ITEM_MARK]->pdata[0];
  g_autoptr (EfItem) item = ef_item_copy (before);
  EfChange *change = ef_change_new ("Deeper");

  ef_mark_set_depth ((EfMark *) item, 0.4e-3, EF_UNIT_MM, NULL);
  ef_change_add (change, before, item);
  g_assert_true (ef_session_apply (session_of (shell), change));
}

static const char *
note_of (Shell *shell)
{
  return ef_inspection_header (ef_document_inspection (ef_session_document (session_of (shell))))->note;
}

static void
test_seal (Shell *shell,
           gconstpointer data)
{
  GtkWidget *window = GTK_WIDGET (shell->window);
  g_autofree char *note = NULL;
  GtkWindow *other;

  seal_demo (shell);
  g_assert_cmpint (standing_of (shell).sealed, ==, 0); /* no passphrase yet */
  fill_field (shell, "Passphrase of the sealing key", "brass and oil");
  fill_field (shell, "Passphrase again", "brass and oik");
  press (window, "Sign and Seal");
  g_assert_cmpint (standing_of (shell).sealed, ==, 0);
  g_assert_true (robot_sees (window, "The two aren't the same."));
  fill_field (shell, "Passphrase again", "brass and oil");
  press (window, "Sign and Seal");
  robot_wait (is_sealed, shell, "the job to be sealed");
  robot_wait (is_at_rest, shell, "the panel to rest");
  robot_settle ();
  g_assert_true (robot_sees (window, "Sealed, number 2"));
  g_assert_true (ef_session_read_only (session_of (shell)));
  keep_picture ("record-sealed");

  /* Nothing can be changed, until a revision is opened that says why. */
  note = g_strdup (note_of (shell));
  make_change (shell, "smuggled");
  g_assert_cmpstr (note_of (shell), ==, note);
  press (window, "Open Revision");
  g_assert_cmpint (standing_of (shell).sealed, ==, 2);
  g_assert_true (robot_sees (window, "This needs a reason"));
  fill_field (shell, "Reason for a revision or for withdrawing", "bore measured again");
  press (window, "Open Revision");
  g_assert_cmpint (standing_of (shell).sealed, ==, 0);
  g_assert_cmpuint (standing_of (shell).revision, ==, 2);
  g_assert_false (ef_session_read_only (session_of (shell)));
  make_change (shell, "second look");
  deepen_mark (shell);
  g_assert_cmpstr (note_of (shell), ==, "second look");
  g_assert_true (robot_sees (window, "Revision open"));

  /* What was sealed against what is now. */
  open_tab (shell, "History");
  keep_picture ("record-history");
  g_assert_true (robot_sees (window, "bore measured again"));
  {
    GtkWidget *list = robot_find_button (window, "Compare with Now");

    g_assert_nonnull (list);
    g_assert_false (gtk_widget_get_sensitive (list)); /* nothing is chosen */
  }
  {
    guint left = 4; /* the entry before the revision was opened */
    GtkWidget *check = robot_find (window, is_nth_check, &left);

    g_assert_nonnull (check);
    gtk_check_button_set_active (GTK_CHECK_BUTTON (check), TRUE);
    robot_settle ();
  }
  press (window, "Compare with Now");
  other = robot_window (EF_TYPE_COMPARE_WINDOW);
  g_assert_nonnull (other);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (other), "Job: note"));
  g_assert_true (robot_sees (GTK_WIDGET (other), "→ second look"));
  g_assert_true (robot_sees (GTK_WIDGET (other), "→ 0.4 mm"));
  g_assert_true (robot_sees (GTK_WIDGET (other), "1 mark changed, "));
  keep_picture ("compare");
  gtk_window_destroy (other);
  robot_settle ();
}

static void
test_verify (Shell *shell,
             gconstpointer data)
{
  GtkWidget *window = GTK_WIDGET (shell->window);
  GtkWindow *other;
  EfSql sql = { NULL, (char *) "tampered" };
  g_autofree char *path = NULL;
  g_autoptr (GError) error = NULL;

  seal_demo (shell);
  fill_field (shell, "Passphrase of the sealing key", "brass and oil");
  fill_field (shell, "Passphrase again", "brass and oil");
  press (window, "Sign and Seal");
  robot_wait (is_sealed, shell, "the job to be sealed");
  robot_wait (is_at_rest, shell, "the panel to rest");
  press (window, "Verify…");
  robot_wait (is_verified, shell, "the store to be verified");
  robot_settle ();
  other = robot_window (EF_TYPE_VERIFY_WINDOW);
  g_assert_true (robot_sees (GTK_WIDGET (other), "Every seal holds"));
  keep_picture ("verify-holds");
  gtk_window_destroy (other);
  robot_settle ();

  /* One field behind the program's back. */
  path = g_strdup (ef_store_path (ef_session_store (session_of (shell))));
  g_assert_cmpint (sqlite3_open (path, &sql.db), ==, SQLITE_OK);
  g_assert_true (ef_sql_run (&sql, NULL, &error, "UPDATE item SET body = json_set (body, '$.hours', 12) WHERE job = ? AND kind = 'header'", "i",
                             ef_session_job (session_of (shell))));
  sqlite3_close (sql.db);
  press (window, "Verify…");
  robot_wait (is_verified, shell, "the store to be verified");
  robot_settle ();
  other = robot_window (EF_TYPE_VERIFY_WINDOW);
  g_assert_true (robot_sees (GTK_WIDGET (other), "Something was changed"));
  g_assert_true (robot_sees (GTK_WIDGET (other), "job: running hours"));
  keep_picture ("verify-changed");
  gtk_window_destroy (other);
  robot_settle ();
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  SHELL_TEST ("/record/seal-revise-compare", test_seal);
  SHELL_TEST ("/record/verify", test_verify);

  return g_test_run ();
}
