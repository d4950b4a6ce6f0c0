/* What goes out of the window for others: the report of a sealed job with its file attached, and verifying such files, changed ones too.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * With ENDFLOAT_PICTURES set to a folder, the screens are kept there as PNG.
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-claim-dialog.h"
#include "ef-export.h"
#include "ef-verify-window.h"

#include "../../src/record/ef-seal.h"
#include "../../src/record/ef-verify.h"

#include <string.h>

/* A sealed job; by the program's own functions, since the panel has a test of its own. */
static EfSession *
open_sealed (Shell *shell)
{
  EfSession *session = shell_open_demo (shell);
  EfStore *store = ef_session_store (session);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfSealKey) key = ef_seal_key_make (store, "brass and oil", &ef_seal_strength_least, "owner", &error);

  g_assert_no_error (error);
  ef_session_settle_fully (session);
  g_assert_cmpint (ef_seal_assessed_job (store, ef_session_job (session), ef_session_assessment (session), "bench 2", NULL, key, &error), >, 0);
  g_assert_no_error (error);
  ef_session_refresh_standing (session);
  robot_settle ();

  return session;
}

static gboolean
is_set (gpointer data)
{
  return *(gpointer *) data != NULL;
}

static void
exported_cb (GObject *source,
             GAsyncResult *result,
             gpointer user_data)
{
  *(GAsyncResult **) user_data = g_object_ref (result);
}

static void
export_report (EfSession *session,
               const char *path)
{
  g_autoptr (GAsyncResult) result = NULL;
  g_autoptr (GError) error = NULL;

  ef_export_async (session, EF_EXPORT_REPORT, path, NULL, exported_cb, &result);
  robot_wait (is_set, &result, "the report");
  g_assert_true (ef_export_finish (session, result, &error));
  g_assert_no_error (error);
}

static gboolean
is_verified (gpointer data)
{
  return !ef_verify_window_busy (data);
}

static void
keep_picture (const char *name)
{
  const char *to = g_getenv ("ENDFLOAT_PICTURES");
  g_autofree char *command = NULL;

  if (to == NULL)
    return;
  robot_settle ();
  command = g_strdup_printf ("import -window root %s/%s.png", to, name);
  g_assert_true (g_spawn_command_line_sync (command, NULL, NULL, NULL, NULL));
}

static void
verify (EfVerifyWindow *window,
        const char *path)
{
  ef_verify_window_verify (window, path);
  robot_wait (is_verified, window, "the file to be verified");
  robot_settle ();
}

/* One digit of the sealed file inside the PDF. */
static void
change_pdf (const char *from,
            const char *to)
{
  g_autofree char *data = NULL;
  gsize length;
  char *at;

  g_assert_true (g_file_get_contents (from, &data, &length, NULL));
  at = memmem (data, length, "\"hours\": 4310", 13);
  g_assert_nonnull (at);
  memcpy (at, "\"hours\": 1310", 13);
  g_assert_true (g_file_set_contents (to, data, (gssize) length, NULL));
}

static void
test_report (Shell *shell,
             gconstpointer data)
{
  EfSession *session = open_sealed (shell);
  g_autofree char *path = g_build_filename (shell->folder, "report.pdf", NULL);
  g_autofree char *changed = g_build_filename (shell->folder, "changed.pdf", NULL);
  g_autofree char *no_pdf = g_build_filename (shell->folder, "short.pdf", NULL);
  EfVerifyWindow *window;

  export_report (session, path);
  ef_window_show_page (shell->window, "record");
  robot_settle ();
  /* It was sealed without a sign-off, which can't be put in any more. */
  g_assert_false (robot_sees (GTK_WIDGET (shell->window), "Still missing"));
  window = ef_verify_window_show (GTK_WIDGET (shell->window), ef_store_path (ef_session_store (session)));
  robot_wait (is_verified, window, "the store to be verified");
  verify (window, path);
  g_assert_true (robot_sees (GTK_WIDGET (window), "Every seal holds"));
  g_assert_true (robot_sees (GTK_WIDGET (window), "report.pdf"));
  g_assert_true (robot_sees (GTK_WIDGET (window), "The pages are a drawing of it"));
  keep_picture ("verify-pdf");
  change_pdf (path, changed);
  verify (window, changed);
  g_assert_true (robot_sees (GTK_WIDGET (window), "Something was changed"));
  g_assert_true (robot_sees (GTK_WIDGET (window), "job: running hours"));
  g_assert_true (robot_sees (GTK_WIDGET (window), "attachment: SHA-256"));
  keep_picture ("verify-pdf-changed");
  g_assert_true (g_file_set_contents (no_pdf, "%PDF-1.7\nnothing", -1, NULL));
  verify (window, no_pdf);
  g_assert_true (robot_sees (GTK_WIDGET (window), "It can't be verified"));
  g_assert_true (robot_sees (GTK_WIDGET (window), "damaged or cut off"));
  gtk_window_destroy (GTK_WINDOW (window));
  robot_settle ();
}

/* Keeps every worker waiting, so that what is begun now can't end before it's let go; GTask lets what was cancelled through first. */
#define BLOCKERS 96

typedef struct
{
  GMutex lock;
  GCond cond;
  gboolean open;
  gint left; /* atomic */
} Gate;

static void
wait_thread (GTask *task,
             gpointer source,
             gpointer task_data,
             GCancellable *cancellable)
{
  Gate *gate = task_data;

  g_mutex_lock (&gate->lock);
  while (!gate->open)
    g_cond_wait (&gate->cond, &gate->lock);
  g_mutex_unlock (&gate->lock);
  g_atomic_int_add (&gate->left, -1);
}

static void
close_gate (Gate *gate)
{
  gate->left = BLOCKERS;
  for (int i = 0; i < BLOCKERS; i++)
    {
      g_autoptr (GTask) task = g_task_new (NULL, NULL, NULL, NULL);

      g_task_set_task_data (task, gate, NULL);
      g_task_run_in_thread (task, wait_thread);
    }
}

static void
open_gate (Gate *gate)
{
  g_mutex_lock (&gate->lock);
  gate->open = TRUE;
  g_cond_broadcast (&gate->cond);
  g_mutex_unlock (&gate->lock);
}

static gboolean
all_through (gpointer data)
{
  return g_atomic_int_get (&((Gate *) data)->left) == 0;
}

/* Stopped half-way: that is said, nothing of the last answer is left standing, and the window goes on. */
static void
test_stop (Shell *shell,
           gconstpointer data)
{
  EfSession *session = open_sealed (shell);
  const char *path = ef_store_path (ef_session_store (session));
  EfVerifyWindow *window = ef_verify_window_show (GTK_WIDGET (shell->window), path);
  GtkWidget *again;
  static Gate gate;

  robot_wait (is_verified, window, "the store to be verified");
  robot_settle ();
  again = robot_find_button (GTK_WIDGET (window), "Verify Again");
  g_assert_true (robot_sees (GTK_WIDGET (window), "Every seal holds"));
  g_assert_true (robot_sees (GTK_WIDGET (window), "Public keys it was sealed with"));
  g_assert_null (robot_find_button (GTK_WIDGET (window), "Stop"));
  close_gate (&gate);
  ef_verify_window_verify (window, path);
  robot_settle ();
  g_assert_true (ef_verify_window_busy (window));
  g_assert_false (gtk_widget_is_sensitive (again));
  g_assert_cmpint (gtk_widget_get_allocated_height (robot_find_button (GTK_WIDGET (window), "Stop")), >=, 44);
  keep_picture ("verify-busy");
  robot_focus (GTK_WINDOW (window));
  robot_click (robot_find_button (GTK_WIDGET (window), "Stop"));
  robot_wait (is_verified, window, "it to stop");
  open_gate (&gate);
  robot_wait (all_through, &gate, "the workers");
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (window), "Stopped before the end"));
  g_assert_false (robot_sees (GTK_WIDGET (window), "Every seal holds"));
  g_assert_false (robot_sees (GTK_WIDGET (window), "Public keys it was sealed with"));
  g_assert_null (robot_find_button (GTK_WIDGET (window), "Stop"));
  keep_picture ("verify-stopped");
  robot_click (again);
  robot_wait (is_verified, window, "the store to be verified after all");
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (window), "Every seal holds"));
  gtk_window_destroy (GTK_WINDOW (window));
  robot_settle ();
}

static void
packed_cb (GObject *source,
           GAsyncResult *result,
           gpointer user_data)
{
  *(GAsyncResult **) user_data = g_object_ref (result);
}

/* What the dialog's button does once a place was chosen. */
static void
pack (EfSession *session,
      guint without,
      const char *path)
{
  g_autoptr (GAsyncResult) result = NULL;
  g_autoptr (GError) error = NULL;

  ef_claim_async (session, without, path, NULL, NULL, NULL, packed_cb, &result);
  robot_wait (is_set, &result, "the pack");
  g_assert_true (ef_claim_finish (result, &error));
  g_assert_no_error (error);
}

static gboolean
is_switch (GtkWidget *widget,
           gpointer data)
{
  return GTK_IS_SWITCH (widget) && gtk_widget_get_mapped (widget) && (*(int *) data)-- == 0;
}

static void
test_claim_pack (Shell *shell,
                 gconstpointer data)
{
  EfSession *session = open_sealed (shell);
  g_autofree char *path = g_build_filename (shell->folder, "claim.zip", NULL);
  g_autofree char *short_path = g_build_filename (shell->folder, "short.zip", NULL);
  EfClaimDialog *dialog;
  EfVerifyWindow *window;
  int third = 2;

  ef_window_show_page (shell->window, "record");
  robot_settle ();
  robot_click (robot_find_button (GTK_WIDGET (shell->window), "Claim Pack…"));
  robot_settle ();
  dialog = EF_CLAIM_DIALOG (robot_window (EF_TYPE_CLAIM_DIALOG));
  g_assert_nonnull (dialog);
  g_assert_cmpuint (ef_claim_dialog_without (dialog), ==, 0);
  g_assert_true (robot_sees (GTK_WIDGET (dialog), "The other party can verify all of it."));
  keep_picture ("claim-pack");
  robot_focus (GTK_WINDOW (dialog));
  robot_click (robot_find (GTK_WIDGET (dialog), is_switch, &third));
  robot_settle ();
  g_assert_cmpuint (ef_claim_dialog_without (dialog), ==, EF_CLAIM_WITHOUT_NOTES);
  g_assert_true (robot_sees (GTK_WIDGET (dialog), "The other party can verify less"));
  keep_picture ("claim-pack-less");
  gtk_window_destroy (GTK_WINDOW (dialog));
  robot_settle ();

  pack (session, 0, path);
  pack (session, EF_CLAIM_WITHOUT_NOTES, short_path);
  window = ef_verify_window_show (GTK_WIDGET (shell->window), path);
  robot_wait (is_verified, window, "the pack to be verified");
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (window), "Every seal holds"));
  verify (window, short_path);
  g_assert_true (robot_sees (GTK_WIDGET (window), "Every seal holds"));
  g_assert_true (robot_sees (GTK_WIDGET (window), "part inspection"));
  keep_picture ("verify-pack");
  gtk_window_destroy (GTK_WINDOW (window));
  robot_settle ();
}

/* An open job has nothing to pack; it's said why. */
static void
test_open_job (Shell *shell,
               gconstpointer data)
{
  shell_open_demo (shell);
  ef_window_show_page (shell->window, "record");
  robot_settle ();
  robot_click (robot_find_button (GTK_WIDGET (shell->window), "Claim Pack…"));
  robot_settle ();
  g_assert_null (robot_window (EF_TYPE_CLAIM_DIALOG));
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "seal it first"));
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  shell_full_detail ();
  SHELL_TEST ("/papers/report", test_report);
  SHELL_TEST ("/papers/stop", test_stop);
  SHELL_TEST ("/papers/claim-pack", test_claim_pack);
  SHELL_TEST ("/papers/open-job", test_open_job);

  return g_test_run ();
}
