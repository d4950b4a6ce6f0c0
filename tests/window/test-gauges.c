/* The shop's gauges in the window, by real keys and pointer: add one, choose it in a job, see its check overdue, retire it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-certificate-list.h"
#include "ef-field.h"
#include "ef-gauge-choice.h"
#include "ef-gauge-dialog.h"
#include "ef-gauge-row.h"
#include "ef-shop-gauges.h"
#include "record/ef-sql.h"
#include "record/ef-store-files.h"
#include "record/ef-store-gauges.h"
#include "../photo/certificate-bytes.h"

#include <string.h>

static gboolean
is_open (gpointer type)
{
  GtkWindow *window = robot_window (GPOINTER_TO_SIZE (type));

  return window != NULL && gtk_widget_get_mapped (GTK_WIDGET (window));
}

static gboolean
is_gone (gpointer type)
{
  GtkWindow *window = robot_window (GPOINTER_TO_SIZE (type));

  return window == NULL || !gtk_widget_get_mapped (GTK_WIDGET (window));
}

static gboolean
is_field (GtkWidget *widget,
          gpointer data)
{
  g_autofree char *label = NULL;

  if (!EF_IS_FIELD (widget))
    return FALSE;
  g_object_get (widget, "label", &label, NULL);
  return g_strcmp0 (label, data) == 0;
}

static void
put (GtkWindow *dialog,
     const char *label,
     const char *text)
{
  GtkWidget *field = robot_find (GTK_WIDGET (dialog), is_field, (gpointer) label);

  g_assert_nonnull (field);
  gtk_widget_grab_focus (field);
  robot_settle ();
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  robot_type (text);
  robot_settle ();
}

static const char *
message_at (GtkWindow *dialog,
            const char *label)
{
  return ef_field_message (EF_FIELD (robot_find (GTK_WIDGET (dialog), is_field, (gpointer) label)));
}

/* The message stands at the field that is wrong and not at the name. */
static void
refused_at (GtkWindow *dialog,
            const char *label,
            const char *wrong,
            const char *right)
{
  put (dialog, label, wrong);
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  g_assert_true (is_open (GSIZE_TO_POINTER (EF_TYPE_GAUGE_DIALOG)));
  g_assert_nonnull (message_at (dialog, label));
  g_assert_true (g_str_has_prefix (message_at (dialog, label), "expected ") || strstr (message_at (dialog, label), "date") != NULL);
  g_assert_null (message_at (dialog, "Name"));
  put (dialog, label, right);
}

static EfShopGauge *
only (Shell *shell,
      const char *name)
{
  g_autoptr (GPtrArray) gauges = ef_store_gauges (ef_window_store (shell->window), TRUE, NULL);
  guint i;

  for (i = 0; i < gauges->len; i++)
    if (g_str_equal (((EfShopGauge *) gauges->pdata[i])->gauge->name, name))
      return g_ptr_array_steal_index (gauges, i);
  return NULL;
}

static GtkWindow *
open_list (Shell *shell)
{
  robot_focus (GTK_WINDOW (shell->window));
  robot_key (GDK_KEY_g, GDK_CONTROL_MASK);
  robot_wait (is_open, GSIZE_TO_POINTER (EF_TYPE_SHOP_GAUGES), "the shop's gauges");
  return robot_window (EF_TYPE_SHOP_GAUGES);
}

/* Adds "Depth 7", due long ago. */
static void
add_gauge (Shell *shell)
{
  GtkWindow *list = open_list (shell);
  GtkWindow *dialog;

  g_assert_true (robot_sees (GTK_WIDGET (list), "Typical of its kind"));
  robot_focus (list);
  robot_click (robot_find_button (GTK_WIDGET (list), "Add a Gauge…"));
  robot_wait (is_open, GSIZE_TO_POINTER (EF_TYPE_GAUGE_DIALOG), "the form of a gauge");
  dialog = robot_window (EF_TYPE_GAUGE_DIALOG);
  robot_focus (dialog);
  put (dialog, "Name", "Depth 7");
  put (dialog, "Next check due", "2026-13-40");
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  /* Refused at the field; nothing is kept. */
  g_assert_true (is_open (GSIZE_TO_POINTER (EF_TYPE_GAUGE_DIALOG)));
  g_assert_nonnull (ef_field_message (EF_FIELD (robot_find (GTK_WIDGET (dialog), is_field, (gpointer) "Next check due"))));
  g_assert_null (only (shell, "Depth 7"));
  put (dialog, "Next check due", "2020-05-31");
  refused_at (dialog, "Resolution", "20 mm", "0.01 mm");
  refused_at (dialog, "Uncertainty (expanded, k = 2)", "12 mm", "0.01 mm");
  refused_at (dialog, "Last checked", "2026-02-30", "2019-05-31");
  put (dialog, "Range from", "25 mm");
  refused_at (dialog, "Range to", "5 mm", "50 mm");
  robot_key (GDK_KEY_Return, 0);
  robot_wait (is_gone, GSIZE_TO_POINTER (EF_TYPE_GAUGE_DIALOG), "the form to close");
  g_assert_true (robot_sees (GTK_WIDGET (list), "Depth 7"));
  g_assert_true (robot_sees (GTK_WIDGET (list), "check overdue"));
}

static void
close_list (void)
{
  GtkWindow *list = robot_window (EF_TYPE_SHOP_GAUGES);

  robot_focus (list);
  robot_key (GDK_KEY_Escape, 0);
  robot_wait (is_gone, GSIZE_TO_POINTER (EF_TYPE_SHOP_GAUGES), "the list to close");
}

static void
test_list (Shell *shell,
           gconstpointer data)
{
  EfShopGauge *gauge;
  GtkWindow *list;

  add_gauge (shell);
  close_list ();
  gauge = only (shell, "Depth 7");
  g_assert_nonnull (gauge);
  g_assert_cmpstr (gauge->gauge->due, ==, "2020-05-31");
  g_assert_null (gauge->retired);
  g_assert_true (ef_store_retire_gauge (ef_window_store (shell->window), gauge->gauge->item.id, gauge->version, "worn anvil", "", "", NULL));
  ef_shop_gauge_free (gauge);

  list = open_list (shell);
  g_assert_true (robot_sees (GTK_WIDGET (list), "Retired: worn anvil"));
  robot_focus (list);
  gtk_widget_grab_focus (robot_find_button (GTK_WIDGET (list), "Use Again"));
  robot_settle ();
  robot_key (GDK_KEY_space, 0);
  robot_settle ();
  g_assert_false (robot_sees (GTK_WIDGET (list), "worn anvil"));
  gauge = only (shell, "Depth 7");
  g_assert_null (gauge->retired);
  ef_shop_gauge_free (gauge);
  close_list ();
}

/* Not to be kept: a change makes a new one. */
static const EfInspection *
inspection_of (EfSession *session)
{
  return ef_document_inspection (ef_session_document (session));
}

static gboolean
is_title (GtkWidget *widget,
          gpointer text)
{
  return GTK_IS_LABEL (widget) && g_strcmp0 (gtk_label_get_label (GTK_LABEL (widget)), text) == 0 && gtk_widget_get_mapped (widget);
}

static gboolean
not_busy (gpointer list)
{
  return !ef_certificate_list_busy (list);
}

/* As the file dialog does with the file that was chosen. */
static EfCertificateList *
attach (GtkWindow *dialog,
        const char *name,
        GBytes *bytes)
{
  EfCertificateList *list = EF_CERTIFICATE_LIST (robot_find_type (GTK_WIDGET (dialog), EF_TYPE_CERTIFICATE_LIST));
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), name, NULL);
  g_autoptr (GFile) file = g_file_new_for_path (path);

  g_assert_nonnull (list);
  g_assert_true (g_file_set_contents (path, g_bytes_get_data (bytes, NULL), (gssize) g_bytes_get_size (bytes), NULL));
  ef_certificate_list_attach (list, file);
  robot_wait (not_busy, list, "the file to be taken in");
  robot_settle ();

  return list;
}

static gboolean
has_tooltip (GtkWidget *widget,
             gpointer text)
{
  return GTK_IS_BUTTON (widget) && g_strcmp0 (gtk_widget_get_tooltip_text (widget), text) == 0 && gtk_widget_get_mapped (widget);
}

/* By the pointer, wherever the form has scrolled to: the list of certificates stands at its end. */
static void
click_in (GtkWindow *dialog,
          const char *tooltip)
{
  GtkWidget *button = robot_find (GTK_WIDGET (dialog), has_tooltip, (gpointer) tooltip);

  g_assert_nonnull (button);
  gtk_widget_grab_focus (button);
  robot_settle ();
  robot_click (button);
  robot_settle ();
}

static gboolean
is_written (gpointer path)
{
  return g_file_test (path, G_FILE_TEST_EXISTS);
}

static GtkWindow *
open_gauge (GtkWidget *root,
            const char *name)
{
  GtkWidget *label = robot_find (root, is_title, (gpointer) name);

  g_assert_nonnull (label);
  /* The list scrolls to it. */
  gtk_widget_grab_focus (gtk_widget_get_ancestor (label, GTK_TYPE_LIST_BOX_ROW));
  robot_settle ();
  robot_click (label);
  robot_wait (is_open, GSIZE_TO_POINTER (EF_TYPE_GAUGE_DIALOG), "the form of the gauge");
  robot_focus (robot_window (EF_TYPE_GAUGE_DIALOG));

  return robot_window (EF_TYPE_GAUGE_DIALOG);
}

static void
keep (GtkWindow *dialog)
{
  robot_click (robot_find_button (GTK_WIDGET (dialog), "Keep"));
  robot_wait (is_gone, GSIZE_TO_POINTER (EF_TYPE_GAUGE_DIALOG), "the form to close");
  robot_settle ();
}

/* Attached to a gauge of the shop and saved again; what is no certificate is refused in words; removed by the pointer; the history has each. */
static void
test_certificates (Shell *shell,
                   gconstpointer data)
{
  g_autoptr (GBytes) pdf = certificate_pdf ("certificate 114");
  g_autoptr (GBytes) page = g_bytes_new_static ("<html></html>", 13);
  g_autofree char *copy = g_build_filename (g_get_user_data_dir (), "copy.pdf", NULL);
  g_autofree char *digest = g_compute_checksum_for_bytes (G_CHECKSUM_SHA256, pdf);
  g_autoptr (GPtrArray) history = NULL;
  EfCertificateList *certificates;
  EfShopGauge *gauge;
  GtkWindow *list, *dialog;

  add_gauge (shell);
  list = robot_window (EF_TYPE_SHOP_GAUGES);
  robot_focus (list);
  dialog = open_gauge (GTK_WIDGET (list), "Depth 7");
  certificates = attach (dialog, "page.pdf", page);
  g_assert_true (robot_sees (GTK_WIDGET (dialog), "page.pdf: expected a certificate as PDF, JPEG or PNG, found another kind of file"));
  g_assert_null (ef_certificate_list_get (certificates));
  attach (dialog, "certificate 114.pdf", pdf);
  g_assert_false (robot_sees (GTK_WIDGET (dialog), "another kind of file"));
  g_assert_true (robot_sees (GTK_WIDGET (dialog), "certificate 114.pdf"));
  g_assert_true (robot_sees (GTK_WIDGET (dialog), "PDF, "));
  attach (dialog, "again.pdf", pdf);
  g_assert_true (robot_sees (GTK_WIDGET (dialog), "again.pdf: the gauge has this file already, as certificate 114.pdf"));
  /* Not the gauge's before it's kept. */
  gauge = only (shell, "Depth 7");
  g_assert_cmpuint (ef_certificates_length (gauge->gauge->certificates), ==, 0);
  ef_shop_gauge_free (gauge);
  ef_certificate_list_save (certificates, digest, copy);
  robot_wait (not_busy, certificates, "the copy to be saved");
  {
    g_autofree char *bytes = NULL;
    gsize length;

    g_assert_true (is_written (copy) && g_file_get_contents (copy, &bytes, &length, NULL));
    g_assert_cmpmem (bytes, length, g_bytes_get_data (pdf, NULL), g_bytes_get_size (pdf));
  }
  keep (dialog);
  gauge = only (shell, "Depth 7");
  g_assert_cmpuint (ef_certificates_length (gauge->gauge->certificates), ==, 1);
  ef_shop_gauge_free (gauge);
  g_assert_true (robot_sees (GTK_WIDGET (list), "1 certificate file"));

  robot_focus (list);
  dialog = open_gauge (GTK_WIDGET (list), "Depth 7");
  click_in (dialog, "Remove");
  g_assert_false (robot_sees (GTK_WIDGET (dialog), "certificate 114.pdf"));
  keep (dialog);
  gauge = only (shell, "Depth 7");
  g_assert_cmpuint (ef_certificates_length (gauge->gauge->certificates), ==, 0);
  history = ef_store_gauge_history (ef_window_store (shell->window), gauge->gauge->item.id, NULL);
  g_assert_cmpuint (history->len, ==, 3);
  g_assert_cmpstr (((EfHistoryRow *) history->pdata[1])->label, ==, "Certificate attached: certificate 114.pdf");
  g_assert_cmpstr (((EfHistoryRow *) history->pdata[2])->label, ==, "Certificate removed: certificate 114.pdf");
  ef_shop_gauge_free (gauge);
  close_list ();
}

/* How many files the store has. */
static gint64
count_files (Shell *shell)
{
  EfSql sql = { NULL, (char *) "store" };
  gint64 n = -1;

  g_assert_cmpint (sqlite3_open (ef_store_path (ef_window_store (shell->window)), &sql.db), ==, SQLITE_OK);
  g_assert_true (ef_sql_integer (&sql, 0, &n, NULL, "SELECT count (*) FROM file", ""));
  sqlite3_close (sql.db);

  return n;
}

static void
cancel (GtkWindow *dialog)
{
  robot_focus (dialog);
  robot_key (GDK_KEY_Escape, 0);
  robot_wait (is_gone, GSIZE_TO_POINTER (EF_TYPE_GAUGE_DIALOG), "the form to close");
  robot_settle ();
}

/* A form that is cancelled leaves nothing in the store; one that is kept takes in what is on its list then, and what other gauges have stays whatever is done here. */
static void
test_certificate_cancelled (Shell *shell,
                            gconstpointer data)
{
  g_autoptr (GBytes) kept = certificate_pdf ("certificate 114");
  g_autoptr (GBytes) other = certificate_pdf ("certificate 115");
  g_autofree char *digest = g_compute_checksum_for_bytes (G_CHECKSUM_SHA256, kept);
  EfShopGauge *gauge;
  GtkWindow *list, *dialog;

  add_gauge (shell);
  list = robot_window (EF_TYPE_SHOP_GAUGES);
  robot_focus (list);
  dialog = open_gauge (GTK_WIDGET (list), "Depth 7");
  attach (dialog, "certificate 114.pdf", kept);
  g_assert_true (robot_sees (GTK_WIDGET (dialog), "certificate 114.pdf"));
  g_assert_cmpint (count_files (shell), ==, 0);
  cancel (dialog);
  g_assert_cmpint (count_files (shell), ==, 0);
  gauge = only (shell, "Depth 7");
  g_assert_cmpuint (ef_certificates_length (gauge->gauge->certificates), ==, 0);
  ef_shop_gauge_free (gauge);

  /* Two attached, one of them taken off again. */
  robot_focus (list);
  dialog = open_gauge (GTK_WIDGET (list), "Depth 7");
  attach (dialog, "certificate 115.pdf", other);
  click_in (dialog, "Remove");
  attach (dialog, "certificate 114.pdf", kept);
  keep (dialog);
  g_assert_cmpint (count_files (shell), ==, 1);
  g_assert_true (ef_store_check_file (ef_window_store (shell->window), digest, NULL, NULL));

  /* Taken off and attached again, then cancelled: the gauge has it still. */
  robot_focus (list);
  dialog = open_gauge (GTK_WIDGET (list), "Depth 7");
  click_in (dialog, "Remove");
  attach (dialog, "again.pdf", kept);
  attach (dialog, "certificate 115.pdf", other);
  cancel (dialog);
  g_assert_cmpint (count_files (shell), ==, 1);
  g_assert_true (ef_store_check_file (ef_window_store (shell->window), digest, NULL, NULL));
  gauge = only (shell, "Depth 7");
  g_assert_cmpuint (ef_certificates_length (gauge->gauge->certificates), ==, 1);
  g_assert_cmpstr (((const EfCertificate *) gauge->gauge->certificates->pdata[0])->file, ==, digest);
  ef_shop_gauge_free (gauge);
  close_list ();
}

/* A job's gauge: one step of the job that undo takes back, and an exchange file that names it. */
static void
test_certificate_of_job (Shell *shell,
                         gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  g_autoptr (GBytes) pdf = certificate_pdf ("certificate 115");
  const EfGauge *gauge = inspection_of (session)->items[EF_ITEM_GAUGE]->pdata[0];
  g_autofree char *id = g_strdup (gauge->item.id);
  EfGaugeDialog *dialog = ef_gauge_dialog_show (GTK_WIDGET (shell->window), session, gauge);

  robot_wait (is_open, GSIZE_TO_POINTER (EF_TYPE_GAUGE_DIALOG), "the form of the gauge");
  robot_focus (GTK_WINDOW (dialog));
  attach (GTK_WINDOW (dialog), "certificate 115.pdf", pdf);
  keep (GTK_WINDOW (dialog));
  gauge = ef_inspection_find (inspection_of (session), EF_ITEM_GAUGE, id);
  g_assert_cmpuint (ef_certificates_length (gauge->certificates), ==, 1);
  g_assert_cmpstr (((const EfCertificate *) gauge->certificates->pdata[0])->name, ==, "certificate 115.pdf");
  ef_session_undo (session);
  gauge = ef_inspection_find (inspection_of (session), EF_ITEM_GAUGE, id);
  g_assert_cmpuint (ef_certificates_length (gauge->certificates), ==, 0);
  ef_session_redo (session);
  gauge = ef_inspection_find (inspection_of (session), EF_ITEM_GAUGE, id);
  g_assert_cmpuint (ef_certificates_length (gauge->certificates), ==, 1);
}

static gboolean
is_choice (GtkWidget *widget,
           gpointer data)
{
  return EF_IS_GAUGE_CHOICE (widget) && gtk_widget_get_mapped (widget);
}

/* Places in the drop-down's list whose text contains @text. */
static guint
place_of (GtkDropDown *drop_down,
          const char *text)
{
  GtkStringList *names = GTK_STRING_LIST (gtk_drop_down_get_model (drop_down));
  guint i;

  for (i = 0; i < g_list_model_get_n_items (G_LIST_MODEL (names)); i++)
    if (strstr (gtk_string_list_get_string (names, i), text) != NULL)
      return i;
  return GTK_INVALID_LIST_POSITION;
}

static void
test_taken_into_job (Shell *shell,
                     gconstpointer data)
{
  GtkWidget *choice, *drop_down;
  EfSession *session;
  const char *id;
  EfShopGauge *gauge;
  guint n;

  session = shell_open_demo (shell);
  n = inspection_of (session)->items[EF_ITEM_GAUGE]->len;
  add_gauge (shell);
  close_list ();
  gauge = only (shell, "Depth 7");

  ef_window_show_page (shell->window, "readings");
  robot_settle ();
  choice = robot_find (GTK_WIDGET (shell->window), is_choice, NULL);
  g_assert_nonnull (choice);
  drop_down = robot_find_type (choice, GTK_TYPE_DROP_DOWN);
  ef_gauge_choice_refresh (EF_GAUGE_CHOICE (choice));
  g_assert_cmpuint (place_of (GTK_DROP_DOWN (drop_down), "Depth 7 – check overdue (shop)"), !=, GTK_INVALID_LIST_POSITION);

  /* By keys: the list opens with Space, the arrows move, Enter chooses. */
  robot_focus (GTK_WINDOW (shell->window));
  gtk_widget_grab_focus (drop_down);
  robot_settle ();
  gtk_drop_down_set_selected (GTK_DROP_DOWN (drop_down), place_of (GTK_DROP_DOWN (drop_down), "Depth 7"));
  robot_settle ();
  id = ef_gauge_choice_get (EF_GAUGE_CHOICE (choice));
  g_assert_cmpstr (id, ==, gauge->gauge->item.id);
  g_assert_cmpuint (inspection_of (session)->items[EF_ITEM_GAUGE]->len, ==, n + 1);
  g_assert_true (ef_item_equal (ef_inspection_find (inspection_of (session), EF_ITEM_GAUGE, id), &gauge->gauge->item));
  g_assert_true (robot_sees (choice, "check overdue"));

  /* The job's copy stays as it was that day, and undo takes it out again. */
  gauge->gauge->uncertainty = 1e-3;
  g_assert_true (ef_store_put_gauge (ef_window_store (shell->window), gauge->gauge, gauge->version, "", "", NULL));
  g_assert_cmpfloat (((EfGauge *) ef_inspection_find (inspection_of (session), EF_ITEM_GAUGE, id))->uncertainty, <, 1e-4);
  {
    g_autoptr (GPtrArray) shop = ef_store_gauges (ef_window_store (shell->window), TRUE, NULL);
    const EfGauge *copy = ef_inspection_find (inspection_of (session), EF_ITEM_GAUGE, id);
    g_autofree char *since = ef_gauge_since_words (shop, copy);
    EfShopGauge *now = only (shell, "Depth 7");
    g_autoptr (GPtrArray) later = NULL;
    g_autofree char *retired = NULL;

    g_assert_cmpstr (since, ==, "since rechecked: uncertainty now 1.000 mm");
    g_assert_null (ef_gauge_since_words (NULL, copy));
    g_assert_null (ef_gauge_since_words (shop, now->gauge));
    g_assert_true (ef_store_retire_gauge (ef_window_store (shell->window), id, now->version, "dropped", "", "", NULL));
    later = ef_store_gauges (ef_window_store (shell->window), TRUE, NULL);
    retired = ef_gauge_since_words (later, copy);
    g_assert_cmpstr (retired, ==, "since retired: dropped");
    ef_shop_gauge_free (now);
  }
  ef_session_undo (session);
  robot_settle ();
  g_assert_cmpuint (inspection_of (session)->items[EF_ITEM_GAUGE]->len, ==, n);
  g_assert_null (ef_gauge_choice_get (EF_GAUGE_CHOICE (choice)));
  ef_shop_gauge_free (gauge);
}

/* The decision rule chosen for the job changes the verdict's footing, is kept, and can be undone. */
static void
test_decision (Shell *shell,
               gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  EfDocument *document = ef_session_document (session);
  EfJobHeader *before = (EfJobHeader *) ef_inspection_header (ef_document_inspection (document));
  g_autoptr (EfItem) item = ef_item_copy (before);
  EfJobHeader *after = (EfJobHeader *) item;
  g_autoptr (EfInspection) kept = NULL;
  EfChange *change = ef_change_new ("Limits");

  after->decision = g_strdup ("guard-band");
  after->coverage = 0.99;
  ef_change_add (change, before, item);
  g_assert_true (ef_session_apply (session, change));
  ef_session_settle_fully (session);
  g_assert_cmpfloat (ef_session_assessment (session)->decision.coverage, ==, 0.99);
  kept = ef_store_load (ef_window_store (shell->window), ef_session_job (session), NULL);
  g_assert_cmpstr (ef_inspection_header (kept)->decision, ==, "guard-band");
  g_assert_cmpfloat (ef_inspection_header (kept)->coverage, ==, 0.99);
  ef_window_show_page (shell->window, "record");
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "Guard band at 99 %"));
  ef_session_undo (session);
  ef_session_settle_fully (session);
  g_assert_cmpfloat (ef_session_assessment (session)->decision.coverage, ==, 0.95);
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "As the rule set says"));
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  SHELL_TEST ("/window/gauges/list", test_list);
  SHELL_TEST ("/window/gauges/certificates", test_certificates);
  SHELL_TEST ("/window/gauges/certificate-cancelled", test_certificate_cancelled);
  SHELL_TEST ("/window/gauges/certificate-of-job", test_certificate_of_job);
  SHELL_TEST ("/window/gauges/taken-into-job", test_taken_into_job);
  SHELL_TEST ("/window/gauges/decision", test_decision);
  return g_test_run ();
}
