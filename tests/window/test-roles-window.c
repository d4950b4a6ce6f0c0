/* Roles, PINs, the sealing key and withdrawn jobs in the window: who may set a verdict by hand or sign, and what is said when not; the list of roles
 * by pointer and keys; the key kept, changed and put back; a withdrawn job back in use.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-backups-window.h"
#include "ef-field.h"
#include "ef-key-window.h"
#include "ef-lessons-page.h"
#include "ef-override-dialog.h"
#include "ef-role-button.h"
#include "ef-role-dialog.h"
#include "ef-roles-window.h"
#include "ef-settings.h"
#include "ef-sheet-editor.h"
#include "ef-who-ask.h"
#include "ef-withdrawn-window.h"

#include "../../src/lesson/ef-lesson-store.h"
#include "../../src/record/ef-backup.h"
#include "../../src/record/ef-seal-key.h"
#include "../../src/record/ef-sql.h"
#include "../../src/record/ef-store-roles.h"
#include "../../src/record/ef-store-standing.h"

#include <glib/gstdio.h>
#include <string.h>

static const EfWho owner = { "owner", "4711" };

static EfStore *
store_of (Shell *shell)
{
  return ef_window_store (shell->window);
}

static const EfInspection *
inspection_of (Shell *shell)
{
  return ef_document_inspection (ef_session_document (ef_window_session (shell->window)));
}

static void
add_roles (Shell *shell)
{
  EfStore *store = store_of (shell);
  const EfWho nobody = { "", NULL };
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_store_add_role (store, "owner", EF_ROLE_OWNER, &nobody, &error));
  g_assert_true (ef_store_set_pin (store, "owner", "4711", &ef_seal_strength_least, &(EfWho){ "owner", NULL }, &error));
  g_assert_true (ef_store_add_role (store, "bench 2", EF_ROLE_BENCH, &owner, &error));
  g_assert_true (ef_store_set_pin (store, "bench 2", "2468", &ef_seal_strength_least, &owner, &error));
  g_assert_true (ef_store_add_role (store, "desk", EF_ROLE_CLERK, &owner, &error));
  g_assert_no_error (error);
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

static EfField *
field (GtkWidget *root,
       const char *label)
{
  GtkWidget *found = robot_find (root, is_field, (gpointer) label);

  if (found == NULL)
    g_error ("no field “%s”", label);
  return EF_FIELD (found);
}

static void
put (GtkWidget *root,
     const char *label,
     const char *text)
{
  gtk_widget_grab_focus (GTK_WIDGET (field (root, label)));
  robot_settle ();
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  robot_type (text);
  robot_settle ();
  g_assert_cmpstr (ef_field_text (field (root, label)), ==, text);
}

static void
press (GtkWidget *root,
       const char *label)
{
  GtkWidget *button = robot_find_button (root, label);

  if (button == NULL)
    g_error ("no button “%s”", label);
  gtk_widget_grab_focus (button);
  robot_settle ();
  robot_key (GDK_KEY_space, 0);
  robot_settle ();
}

static void
choose (GtkWidget *root,
        const char *role)
{
  EfWhoFields *who = EF_WHO_FIELDS (robot_find_type (root, EF_TYPE_WHO_FIELDS));

  g_assert_nonnull (who);
  ef_who_fields_choose (who, role);
  robot_settle ();
}

static gboolean
is_gone (gpointer type)
{
  GtkWindow *window = robot_window (GPOINTER_TO_SIZE (type));

  return window == NULL || !gtk_widget_get_mapped (GTK_WIDGET (window));
}

static GtkWidget *
opened (GType type)
{
  GtkWindow *window = robot_window (type);

  if (window == NULL)
    g_error ("no %s", g_type_name (type));
  robot_focus (window);
  return GTK_WIDGET (window);
}

static void
close_window (GType type)
{
  opened (type);
  robot_key (GDK_KEY_Escape, 0);
  robot_settle ();
  /* The first may only have put a message away. */
  if (!is_gone (GSIZE_TO_POINTER (type)))
    robot_key (GDK_KEY_Escape, 0);
  robot_wait (is_gone, GSIZE_TO_POINTER (type), "the window to close");
}

static const EfOverride *
override_of (Shell *shell,
             const char *subject)
{
  return ef_inspection_find (inspection_of (shell), EF_ITEM_OVERRIDE, subject);
}

/* A verdict by hand: PIN wrong, then right; a role that may not. */
static void
test_override (Shell *shell,
               gconstpointer data)
{
  const EfOverride *override;
  EfSession *session;
  GtkWidget *dialog;
  g_autofree char *subject = NULL;

  g_settings_set_string (ef_settings_get (), "role", "bench 2");
  session = shell_open_demo (shell);
  add_roles (shell);
  subject = g_strdup (ef_session_assessment (session)->verdict->id);
  ef_window_show_page (shell->window, "verdict");
  robot_settle ();
  press (GTK_WIDGET (shell->window), "Set Another Verdict…");
  dialog = opened (EF_TYPE_OVERRIDE_DIALOG);
  put (dialog, "Reason", "customer wants new parts");
  put (dialog, "PIN", "2469");
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  g_assert_false (is_gone (GSIZE_TO_POINTER (EF_TYPE_OVERRIDE_DIALOG)));
  g_assert_null (override_of (shell, subject));
  g_assert_cmpstr (ef_field_message (field (dialog, "PIN")), ==, "bench 2: this isn't the PIN");
  g_assert_cmpstr (ef_field_text (field (dialog, "Reason")), ==, "customer wants new parts");

  /* The clerk may not, and has no PIN to be asked for. */
  choose (dialog, "desk");
  g_assert_null (robot_find (dialog, is_field, (gpointer) "PIN"));
  press (dialog, "Set Verdict");
  g_assert_null (override_of (shell, subject));
  g_assert_true (robot_sees (dialog, "desk, as clerk, may not set a verdict by hand: that is for bench, trainer, owner"));

  choose (dialog, "bench 2");
  g_assert_false (robot_sees (dialog, "may not"));
  put (dialog, "PIN", "2468");
  robot_key (GDK_KEY_Return, 0);
  robot_wait (is_gone, GSIZE_TO_POINTER (EF_TYPE_OVERRIDE_DIALOG), "the form to close");
  override = override_of (shell, subject);
  g_assert_nonnull (override);
  g_assert_cmpstr (override->role, ==, "bench 2");
  g_assert_cmpstr (override->reason, ==, "customer wants new parts");

  /* Back again: asked as well. */
  robot_focus (GTK_WINDOW (shell->window));
  ef_session_settle_fully (session);
  robot_settle ();
  press (GTK_WIDGET (shell->window), "Back to the Computed Verdict");
  dialog = opened (EF_TYPE_WHO_DIALOG);
  put (dialog, "PIN", "0000");
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  g_assert_nonnull (override_of (shell, subject));
  put (dialog, "PIN", "2468");
  robot_key (GDK_KEY_Return, 0);
  robot_wait (is_gone, GSIZE_TO_POINTER (EF_TYPE_WHO_DIALOG), "the question to close");
  g_assert_null (override_of (shell, subject));
}

static gboolean
is_stored (gpointer data)
{
  g_autoptr (GPtrArray) sheets = ef_store_sheets (store_of (data), NULL);

  return sheets->len > 0;
}

/* A pump sheet is the trainer's and the owner's. */
static void
test_sheet (Shell *shell,
            gconstpointer data)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, &error);
  GtkWidget *editor, *dialog;

  g_assert_no_error (error);
  g_settings_set_string (ef_settings_get (), "role", "desk");
  add_roles (shell);
  editor = GTK_WIDGET (ef_sheet_editor_show (GTK_WINDOW (shell->window), store_of (shell), sheet, TRUE));
  robot_focus (GTK_WINDOW (editor));
  press (editor, "Save in the Store");
  dialog = opened (EF_TYPE_WHO_DIALOG);
  press (dialog, "Save");
  g_assert_true (robot_sees (dialog, "desk, as clerk, may not change pump sheets: that is for trainer, owner"));
  g_assert_false (is_stored (shell));
  choose (dialog, "owner");
  put (dialog, "PIN", "4711");
  robot_key (GDK_KEY_Return, 0);
  robot_wait (is_stored, shell, "the sheet to be stored");
  robot_wait (is_gone, GSIZE_TO_POINTER (EF_TYPE_WHO_DIALOG), "the question to close");
}

static gboolean
is_signed (Shell *shell)
{
  return ef_inspection_find (inspection_of (shell), EF_ITEM_TICK, "sign-off") != NULL;
}

static void
test_sign (Shell *shell,
           gconstpointer data)
{
  GtkWidget *window = GTK_WIDGET (shell->window);
  GtkWidget *tab;
  const EfTick *tick;
  EfStanding standing;

  g_settings_set_string (ef_settings_get (), "role", "desk");
  add_roles (shell);
  ef_window_refresh_store (shell->window);
  shell_open_demo (shell);
  ef_window_show_page (shell->window, "record");
  robot_settle ();
  tab = robot_find_button (window, "Seal");
  gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (tab), TRUE);
  robot_settle ();
  press (window, "Sign Off Only");
  g_assert_false (is_signed (shell));
  g_assert_true (robot_sees (window, "desk, as clerk, may not sign off and seal: that is for bench, trainer, owner"));
  choose (window, "bench 2");
  press (window, "Sign Off Only");
  g_assert_false (is_signed (shell));
  g_assert_cmpstr (ef_field_message (field (window, "PIN")), ==, "bench 2: PIN: expected it, found none");
  put (window, "PIN", "2468");
  press (window, "Sign Off Only");
  g_assert_true (is_signed (shell));
  tick = ef_inspection_find (inspection_of (shell), EF_ITEM_TICK, "sign-off");
  g_assert_cmpstr (tick->role, ==, "bench 2");
  {
    g_autoptr (GPtrArray) history = ef_store_history (store_of (shell), ef_session_job (ef_window_session (shell->window)), NULL);

    /* The row is of who is at work at this bench; the sign-off itself says who signed. */
    g_assert_cmpstr (((EfHistoryRow *) history->pdata[history->len - 1])->role, ==, "desk");
  }
  g_assert_cmpstr (ef_field_text (field (window, "PIN")), ==, "");
  /* The bench may not withdraw, the desk may. */
  put (window, "Reason for a revision or for withdrawing", "entered twice");
  put (window, "PIN", "2468");
  press (window, "Withdraw Job");
  g_assert_true (robot_sees (window, "bench 2, as bench, may not withdraw or reinstate a job: that is for clerk, owner"));
  choose (window, "desk");
  press (window, "Withdraw Job");
  g_assert_true (ef_store_standing (store_of (shell), ef_session_job (ef_window_session (shell->window)), &standing, NULL));
  g_assert_true (standing.withdrawn);
}

static EfRole *
role (Shell *shell,
      const char *name)
{
  return ef_store_role (store_of (shell), name, NULL);
}

static void
open_menu_item (Shell *shell,
                const char *action)
{
  robot_focus (GTK_WINDOW (shell->window));
  g_assert_true (gtk_widget_activate_action (GTK_WIDGET (shell->window), action, NULL));
  robot_settle ();
}

/* From none to two by keys, the header's button with them; wrong PIN of the owner at its field. */
static void
test_list (Shell *shell,
           gconstpointer data)
{
  EfRoleButton *button = EF_ROLE_BUTTON (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_ROLE_BUTTON));
  GtkWidget *window, *dialog;
  g_autoptr (EfRole) first = NULL;
  g_autoptr (EfRole) second = NULL;

  g_settings_reset (ef_settings_get (), "role");
  g_assert_null (button); /* hidden: not to be seen */
  open_menu_item (shell, "win.roles");
  window = opened (EF_TYPE_ROLES_WINDOW);
  g_assert_true (robot_sees (window, "No roles yet: everybody may do everything"));
  press (window, "Add a Role…");
  dialog = opened (EF_TYPE_ROLE_DIALOG);
  g_assert_true (robot_sees (dialog, "The first role is the owner's"));
  put (dialog, "Name of the role", "owner");
  put (dialog, "New PIN (empty: none)", "471");
  put (dialog, "New PIN again", "472");
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  g_assert_cmpstr (ef_field_message (field (dialog, "New PIN again")), ==, "The two aren't the same.");
  put (dialog, "New PIN again", "471");
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  g_assert_cmpstr (ef_field_message (field (dialog, "New PIN (empty: none)")), ==, "PIN: expected 4 to 64 characters");
  put (dialog, "New PIN (empty: none)", "4711");
  put (dialog, "New PIN again", "4711");
  robot_key (GDK_KEY_Return, 0);
  robot_wait (is_gone, GSIZE_TO_POINTER (EF_TYPE_ROLE_DIALOG), "the form to close");
  first = role (shell, "owner");
  g_assert_true (first != NULL && first->kind == EF_ROLE_OWNER && first->has_pin);
  robot_focus (GTK_WINDOW (window));
  g_assert_true (robot_sees (window, "Owner · PIN"));

  press (window, "Add a Role…");
  dialog = opened (EF_TYPE_ROLE_DIALOG);
  put (dialog, "Name of the role", "bench 2");
  choose (dialog, "owner");
  put (dialog, "PIN", "0000");
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  g_assert_cmpstr (ef_field_message (field (dialog, "PIN")), ==, "owner: this isn't the PIN");
  g_assert_null (role (shell, "bench 2"));
  put (dialog, "PIN", "4711");
  robot_key (GDK_KEY_Return, 0);
  robot_wait (is_gone, GSIZE_TO_POINTER (EF_TYPE_ROLE_DIALOG), "the form to close");
  second = role (shell, "bench 2");
  g_assert_true (second != NULL && second->kind == EF_ROLE_BENCH && !second->has_pin);
  close_window (EF_TYPE_ROLES_WINDOW);

  /* Who is at work, by the header. */
  robot_focus (GTK_WINDOW (shell->window));
  button = EF_ROLE_BUTTON (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_ROLE_BUTTON));
  g_assert_nonnull (button);
  g_assert_true (robot_sees (GTK_WIDGET (button), "Who is at work?"));
  gtk_menu_button_popup (GTK_MENU_BUTTON (robot_find_type (GTK_WIDGET (button), GTK_TYPE_MENU_BUTTON)));
  robot_settle ();
  robot_click (robot_find_button (GTK_WIDGET (button), "bench 2"));
  robot_settle ();
  {
    g_autofree char *at_work = ef_settings_role ();

    g_assert_cmpstr (at_work, ==, "bench 2");
  }
  g_assert_true (robot_sees (GTK_WIDGET (button), "bench 2"));
}

static gboolean
is_at_rest (gpointer window)
{
  return !ef_key_window_busy (window);
}

static void
run_sql (Shell *shell,
         const char *text)
{
  EfSql sql = { NULL, (char *) "store" };
  g_autoptr (GError) error = NULL;

  g_assert_cmpint (sqlite3_open (ef_store_path (store_of (shell)), &sql.db), ==, SQLITE_OK);
  g_assert_true (ef_sql_exec (&sql, text, &error));
  g_assert_no_error (error);
  sqlite3_close (sql.db);
}

static gboolean
opens (Shell *shell,
       const char *passphrase)
{
  g_autoptr (EfSealKey) key = ef_seal_key_unlock (store_of (shell), passphrase, NULL);

  return key != NULL;
}

static void
test_key (Shell *shell,
          gconstpointer data)
{
  g_autofree char *file = g_build_filename (shell->folder, "key.json", NULL);
  g_autoptr (EfSealKey) key = NULL;
  g_autofree char *first = NULL;
  g_autofree char *second = NULL;
  GtkWidget *window;

  open_menu_item (shell, "win.seal-key");
  window = opened (EF_TYPE_KEY_WINDOW);
  g_assert_true (robot_sees (window, "There is no key yet"));
  close_window (EF_TYPE_KEY_WINDOW);
  key = ef_seal_key_make (store_of (shell), "brass and oil", &ef_seal_strength_least, "owner", NULL);
  first = g_strdup (ef_seal_key_public (key));
  open_menu_item (shell, "win.seal-key");
  window = opened (EF_TYPE_KEY_WINDOW);
  ef_key_window_export (EF_KEY_WINDOW (window), file);
  robot_wait (is_at_rest, window, "the key to be kept");
  g_assert_true (g_file_test (file, G_FILE_TEST_EXISTS));
  g_assert_true (robot_sees (window, "The locked key is kept in the file"));

  /* The passphrase: wrong, too short, unlike, then right. */
  put (window, "Passphrase of the key", "iron and oil");
  put (window, "New passphrase", "short");
  put (window, "New passphrase again", "short");
  press (window, "Change the Passphrase");
  g_assert_cmpstr (ef_field_message (field (window, "New passphrase")), ==, "At least 8 characters.");
  put (window, "New passphrase", "tin and tallow");
  press (window, "Change the Passphrase");
  g_assert_cmpstr (ef_field_message (field (window, "New passphrase again")), ==, "The two aren't the same.");
  put (window, "New passphrase again", "tin and tallow");
  press (window, "Change the Passphrase");
  robot_wait (is_at_rest, window, "the passphrase to be refused");
  g_assert_cmpstr (ef_field_message (field (window, "Passphrase of the key")), ==, "The key doesn't open with this passphrase.");
  g_assert_true (opens (shell, "brass and oil"));
  put (window, "Passphrase of the key", "brass and oil");
  press (window, "Change the Passphrase");
  robot_wait (is_at_rest, window, "the passphrase to be changed");
  g_assert_true (robot_sees (window, "The key has the new passphrase"));
  g_assert_true (opens (shell, "tin and tallow"));
  g_assert_false (opens (shell, "brass and oil"));

  /* Its box lost: back from the file, with the passphrase it had then. */
  run_sql (shell, "DELETE FROM seal_key");
  g_assert_false (opens (shell, "tin and tallow"));
  put (window, "Passphrase of the key", "tin and tallow");
  ef_key_window_restore (EF_KEY_WINDOW (window), file);
  robot_wait (is_at_rest, window, "the key to be refused");
  g_assert_false (robot_sees (window, "The key is back."));
  put (window, "Passphrase of the key", "brass and oil");
  ef_key_window_restore (EF_KEY_WINDOW (window), file);
  robot_wait (is_at_rest, window, "the key to be put back");
  g_assert_true (robot_sees (window, "The key is back."));
  g_assert_true (opens (shell, "brass and oil"));

  /* A new one, which wants a reason. */
  put (window, "Passphrase of the key", "brass and oil");
  put (window, "New passphrase", "lead and lard");
  put (window, "New passphrase again", "lead and lard");
  press (window, "Make a New Key");
  g_assert_nonnull (ef_field_message (field (window, "Reason for a new key")));
  put (window, "Reason for a new key", "foreman left");
  press (window, "Make a New Key");
  robot_wait (is_at_rest, window, "a new key");
  g_assert_true (robot_sees (window, "A new key seals from now on"));
  second = ef_seal_key_current (store_of (shell), NULL);
  g_assert_cmpstr (second, !=, first);
  g_assert_true (opens (shell, "lead and lard"));
  close_window (EF_TYPE_KEY_WINDOW);
}

/* With roles, the key is the owner's. */
static void
test_key_roles (Shell *shell,
                gconstpointer data)
{
  g_autofree char *file = g_build_filename (shell->folder, "key.json", NULL);
  g_autoptr (EfSealKey) key = ef_seal_key_make (store_of (shell), "brass and oil", &ef_seal_strength_least, "owner", NULL);
  GtkWidget *window;

  g_assert_nonnull (key);
  add_roles (shell);
  open_menu_item (shell, "win.seal-key");
  window = opened (EF_TYPE_KEY_WINDOW);
  choose (window, "bench 2");
  put (window, "PIN", "2468");
  ef_key_window_export (EF_KEY_WINDOW (window), file);
  g_assert_true (is_at_rest (window));
  g_assert_false (g_file_test (file, G_FILE_TEST_EXISTS));
  g_assert_true (robot_sees (window, "bench 2, as bench, may not change, export or restore the sealing key: that is for owner"));
  choose (window, "owner");
  put (window, "PIN", "4711");
  ef_key_window_export (EF_KEY_WINDOW (window), file);
  robot_wait (is_at_rest, window, "the key to be kept");
  g_assert_true (g_file_test (file, G_FILE_TEST_EXISTS));
  close_window (EF_TYPE_KEY_WINDOW);
}

static void
test_withdrawn (Shell *shell,
                gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  gint64 job = ef_session_job (session);
  EfStanding standing;
  GtkWidget *window, *dialog;

  g_assert_true (ef_store_withdraw (store_of (shell), job, "desk", "entered twice", NULL));
  ef_session_refresh_standing (session);
  open_menu_item (shell, "win.withdrawn");
  window = opened (EF_TYPE_WITHDRAWN_WINDOW);
  g_assert_true (robot_sees (window, "J-0412"));
  g_assert_true (robot_sees (window, "by desk: entered twice"));
  press (window, "Reinstate…");
  dialog = opened (EF_TYPE_WHO_DIALOG);
  press (dialog, "Reinstate");
  g_assert_cmpstr (ef_field_message (field (dialog, "Reason")), ==, "This needs a reason: it stands in the history.");
  put (dialog, "Reason", "it was the other one");
  robot_key (GDK_KEY_Return, 0);
  robot_wait (is_gone, GSIZE_TO_POINTER (EF_TYPE_WHO_DIALOG), "the question to close");
  g_assert_true (ef_store_standing (store_of (shell), job, &standing, NULL));
  g_assert_false (standing.withdrawn);
  g_assert_false (ef_session_read_only (session));
  robot_focus (GTK_WINDOW (window));
  g_assert_true (robot_sees (window, "No job is withdrawn."));
  close_window (EF_TYPE_WITHDRAWN_WINDOW);
}

/* The role that was added after the backup is gone again. The window closes by itself; there's no store for a while. */
static gboolean
is_put_back (gpointer data)
{
  EfStore *store = store_of (data);
  g_autoptr (EfRole) later = store != NULL ? ef_store_role (store, "bench 7", NULL) : NULL;

  return store != NULL && later == NULL;
}

static gboolean
is_listed (gpointer window)
{
  return !ef_backups_window_busy (window) && robot_find_button (window, "Put Back…") != NULL;
}

/* Putting a backup back is the owner's: asked after the question whether it's meant. */
static void
test_restore (Shell *shell,
              gconstpointer data)
{
  g_autofree char *folder = ef_backup_default_folder (ef_store_path (store_of (shell)));
  g_autofree char *copy = NULL;
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRole) later = NULL;
  GtkWidget *window, *dialog;

  g_settings_set_string (ef_settings_get (), "role", "desk");
  add_roles (shell);
  copy = ef_backup_make (store_of (shell), folder, NULL, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  g_assert_true (ef_store_add_role (store_of (shell), "bench 7", EF_ROLE_BENCH, &owner, &error));
  window = GTK_WIDGET (ef_backups_window_show (shell->window));
  robot_wait (is_listed, window, "the backup to be listed");
  robot_focus (GTK_WINDOW (window));
  press (window, "Put Back…");
  dialog = opened (ADW_TYPE_MESSAGE_DIALOG);
  press (dialog, "Put Back");
  dialog = opened (EF_TYPE_WHO_DIALOG);
  press (dialog, "Put Back");
  g_assert_true (robot_sees (dialog, "desk, as clerk, may not restore a backup: that is for owner"));
  later = role (shell, "bench 7");
  g_assert_nonnull (later);
  choose (dialog, "owner");
  put (dialog, "PIN", "4711");
  robot_key (GDK_KEY_Return, 0);
  robot_wait (is_put_back, shell, "the backup to be put back");
  robot_settle ();
}

/* The title of the lesson that came with the demo, as the store has it. */
static char *
lesson_title (Shell *shell)
{
  g_autoptr (EfLessonRow) row = ef_store_lesson (store_of (shell), "torn-filter", NULL);

  g_assert_nonnull (row);
  return g_strdup (row->title);
}

static gboolean
is_replaced (gpointer data)
{
  g_autofree char *title = lesson_title (data);

  return g_str_equal (title, "Another title");
}

/* A lesson read in over one that is there is the trainer's; who may not is told, and nothing changes. */
static void
test_lesson (Shell *shell,
             gconstpointer data)
{
  g_autofree char *path = g_build_filename (shell->folder, "lesson.json", NULL);
  g_autoptr (GFile) file = g_file_new_for_path (path);
  g_autoptr (GListStore) files = g_list_store_new (G_TYPE_FILE);
  g_autofree char *text = NULL;
  g_autofree char *before = NULL;
  g_autofree char *after = NULL;
  EfLesson *lesson;
  EfLessonsPage *page;
  GtkWidget *dialog;

  g_settings_set_string (ef_settings_get (), "role", "desk");
  shell_open_demo (shell);
  robot_key (GDK_KEY_Up, GDK_ALT_MASK);
  robot_settle ();
  robot_click (robot_find_button (GTK_WIDGET (shell->window), "Lessons"));
  robot_settle ();
  page = EF_LESSONS_PAGE (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_LESSONS_PAGE));
  lesson = ef_lesson_store_get (store_of (shell), "torn-filter", NULL);
  g_free (lesson->terms.title);
  lesson->terms.title = g_strdup ("Another title");
  text = ef_lesson_write (lesson);
  ef_lesson_free (lesson);
  g_assert_true (g_file_set_contents (path, text, -1, NULL));
  g_list_store_append (files, file);
  add_roles (shell);
  before = lesson_title (shell);

  ef_lessons_page_import_files (page, G_LIST_MODEL (files));
  dialog = opened (EF_TYPE_WHO_DIALOG);
  press (dialog, "Replace");
  g_assert_true (robot_sees (dialog, "desk, as clerk, may not change a lesson: that is for trainer, owner"));
  choose (dialog, "owner");
  put (dialog, "PIN", "4712");
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  g_assert_cmpstr (ef_field_message (field (dialog, "PIN")), ==, "owner: this isn't the PIN");
  after = lesson_title (shell);
  g_assert_cmpstr (after, ==, before);
  put (dialog, "PIN", "4711");
  robot_key (GDK_KEY_Return, 0);
  robot_wait (is_replaced, shell, "the lesson to be replaced");
  robot_wait (is_gone, GSIZE_TO_POINTER (EF_TYPE_WHO_DIALOG), "the question to close");
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "Another title"));
}

/* A store that others can change is told of when it's opened, one of the user's own isn't. */
static void
test_access (Shell *shell,
             gconstpointer data)
{
  GtkWidget *window = GTK_WIDGET (shell->window);

  ef_window_refresh_store (shell->window);
  robot_settle ();
  g_assert_false (robot_sees (window, "by others on this computer"));
  g_assert_cmpint (g_chmod (ef_store_path (store_of (shell)), 0664), ==, 0);
  ef_window_refresh_store (shell->window);
  robot_settle ();
  g_assert_true (robot_sees (window, "can be changed by others on this computer (mode 0664)"));
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  /* Verdicts are worked out all the while; none of this waits for them. */
  robot_set_patience (300000);
  SHELL_TEST ("/window/roles/override", test_override);
  SHELL_TEST ("/window/roles/sheet", test_sheet);
  SHELL_TEST ("/window/roles/sign", test_sign);
  SHELL_TEST ("/window/roles/list", test_list);
  SHELL_TEST ("/window/roles/key", test_key);
  SHELL_TEST ("/window/roles/key-roles", test_key_roles);
  SHELL_TEST ("/window/roles/withdrawn", test_withdrawn);
  SHELL_TEST ("/window/roles/restore", test_restore);
  SHELL_TEST ("/window/roles/lesson", test_lesson);
  SHELL_TEST ("/window/roles/access", test_access);
  return g_test_run ();
}
