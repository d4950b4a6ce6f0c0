/* The window as a user meets it: jobs, new job, readings by keyboard, verdicts by hand, exports, room on small screens.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-bench-plan.h"
#include "ef-export.h"
#include "ef-field.h"
#include "ef-job-page.h"
#include "ef-jobs-page.h"
#include "ef-new-job-dialog.h"
#include "ef-override-dialog.h"
#include "ef-print.h"
#include "ef-reading-dialog.h"
#include "ef-reading-field.h"
#include "ef-rework-page.h"
#include "ef-settings.h"
#include "ef-sheet-editor.h"
#include "ef-sheets-page.h"
#include "ef-verdict-page.h"
#include "ef-wrap-box.h"
#include "../../src/record/ef-exchange.h"

#include <math.h>
#include <string.h>

#define DEMO_JOBS 5 /* files in data/demo */

static EfJobsPage *
jobs_page (Shell *shell)
{
  return EF_JOBS_PAGE (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_JOBS_PAGE));
}

static guint
n_rows (Shell *shell)
{
  return g_list_model_get_n_items (ef_jobs_page_rows (jobs_page (shell)));
}

static EfField *
field_named (GtkWidget *root,
             const char *label)
{
  GtkWidget *found = NULL;
  GtkWidget *child;

  if (EF_IS_FIELD (root))
    {
      g_autofree char *own = NULL;

      g_object_get (root, "label", &own, NULL);
      return g_strcmp0 (own, label) == 0 ? EF_FIELD (root) : NULL;
    }
  for (child = gtk_widget_get_first_child (root); child != NULL && found == NULL; child = gtk_widget_get_next_sibling (child))
    found = (GtkWidget *) field_named (child, label);
  return (EfField *) found;
}

static const EfInspection *
inspection_of (Shell *shell)
{
  return ef_document_inspection (ef_session_document (ef_window_session (shell->window)));
}

static void
show_page (Shell *shell,
           guint number)
{
  robot_key (GDK_KEY_0 + number, GDK_ALT_MASK);
}

static gboolean
all_assessed (gpointer data)
{
  return ef_store_count (ef_window_store (data), &(EfJobQuery){ .verdict = "" }, NULL) == 0;
}

static void
test_empty_and_demo (Shell *shell,
                     gconstpointer data)
{
  EfSession *session;
  g_autoptr (GPtrArray) jobs = NULL;
  guint i;

  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "No jobs yet"));
  session = shell_open_demo (shell);
  /* The demo that opens first is the launch engine's pump that rework saves. */
  g_assert_cmpstr (inspection_of (shell)->sheet->model, ==, "HL-24");
  g_assert_cmpint (ef_session_assessment (session)->verdict->word, ==, EF_VERDICT_REWORK);

  g_action_group_activate_action (G_ACTION_GROUP (shell->window), "back", NULL);
  robot_settle ();
  g_assert_null (ef_window_session (shell->window));
  g_assert_cmpuint (n_rows (shell), ==, DEMO_JOBS);
  /* Each gets its verdict without having been opened. */
  robot_wait (all_assessed, shell->window, "the verdicts of all jobs");
  jobs = ef_store_jobs (ef_window_store (shell->window), &(EfJobQuery){ 0 }, NULL);
  for (i = 0; i < jobs->len; i++)
    g_assert_cmpstr (((EfJobRow *) g_ptr_array_index (jobs, i))->verdict, !=, "");
  /* Opening the demo again adds nothing. */
  shell_open_demo (shell);
  g_assert_cmpint (ef_store_count (ef_window_store (shell->window), NULL, NULL), ==, DEMO_JOBS);
}

static void
test_search (Shell *shell,
             gconstpointer data)
{
  GtkWidget *window = GTK_WIDGET (shell->window);
  GtkWidget *search, *drop_down;

  shell_open_demo (shell);
  robot_key (GDK_KEY_Up, GDK_ALT_MASK);
  g_assert_cmpuint (n_rows (shell), ==, DEMO_JOBS);
  robot_wait (all_assessed, shell->window, "the verdicts of all jobs");
  search = robot_find_type (window, GTK_TYPE_SEARCH_ENTRY);
  robot_key (GDK_KEY_f, GDK_CONTROL_MASK);
  robot_type ("railcar");
  /* The search entry waits a moment before it tells. */
  g_signal_emit_by_name (search, "search-changed");
  g_assert_cmpuint (n_rows (shell), ==, 1);
  gtk_editable_set_text (GTK_EDITABLE (search), "nothing like it");
  g_signal_emit_by_name (search, "search-changed");
  g_assert_cmpuint (n_rows (shell), ==, 0);
  robot_settle ();
  g_assert_true (robot_sees (window, "No job fits"));
  robot_click (robot_find_button (window, "Show All Jobs"));
  g_assert_cmpuint (n_rows (shell), ==, DEMO_JOBS);

  drop_down = robot_find_type (window, GTK_TYPE_DROP_DOWN);
  gtk_drop_down_set_selected (GTK_DROP_DOWN (drop_down), 1 + EF_VERDICT_REWORK);
  g_assert_cmpuint (n_rows (shell), ==, 1);
  /* The pair of one, the housing of the other that can't be lapped within its limits. */
  gtk_drop_down_set_selected (GTK_DROP_DOWN (drop_down), 1 + EF_VERDICT_SCRAP);
  g_assert_cmpuint (n_rows (shell), ==, 2);
  gtk_drop_down_set_selected (GTK_DROP_DOWN (drop_down), 1 + EF_N_VERDICTS);
  g_assert_cmpuint (n_rows (shell), ==, 0);
  gtk_drop_down_set_selected (GTK_DROP_DOWN (drop_down), 0);

  /* The list opens a job by Enter in the search field. */
  gtk_editable_set_text (GTK_EDITABLE (search), "HL-27");
  g_signal_emit_by_name (search, "search-changed");
  robot_key (GDK_KEY_f, GDK_CONTROL_MASK);
  robot_key (GDK_KEY_Return, 0);
  g_assert_nonnull (ef_window_session (shell->window));
  g_assert_cmpstr (inspection_of (shell)->sheet->model, ==, "HL-27");
}

static void
test_new_job (Shell *shell,
              gconstpointer data)
{
  GtkWindow *dialog;
  GtkWidget *widget;
  EfField *number, *pressure;
  const EfJobHeader *header;

  shell_open_demo (shell);
  robot_key (GDK_KEY_Up, GDK_ALT_MASK);
  robot_key (GDK_KEY_n, GDK_CONTROL_MASK);
  dialog = robot_window (EF_TYPE_NEW_JOB_DIALOG);
  g_assert_nonnull (dialog);
  widget = GTK_WIDGET (dialog);
  robot_focus (dialog);
  number = field_named (widget, "Job number");
  pressure = field_named (widget, "Oil pressure found, hot idle");
  /* The demo jobs run up to J-0425. */
  g_assert_cmpstr (ef_field_text (number), ==, "J-0432");

  /* A number that is taken, and a pressure that is none: each is told at its field, nothing is lost. */
  ef_field_set_text (number, "J-0412");
  ef_field_set_text (pressure, "low");
  robot_click (robot_find_button (widget, "Begin"));
  g_assert_nonnull (ef_field_message (pressure));
  g_assert_cmpstr (ef_field_text (pressure), ==, "low");
  ef_field_set_text (pressure, "0,9 bar");
  robot_click (robot_find_button (widget, "Begin"));
  g_assert_null (ef_field_message (pressure));
  g_assert_nonnull (ef_field_message (number));
  g_assert_nonnull (robot_window (EF_TYPE_NEW_JOB_DIALOG));

  ef_field_set_text (number, "J-0432");
  ef_field_set_text (field_named (widget, "At pump speed"), "600 rpm");
  ef_field_set_text (field_named (widget, "Vessel or machine"), "ferry, standby engine");
  robot_click (robot_find_button (widget, "Begin"));
  g_assert_null (robot_window (EF_TYPE_NEW_JOB_DIALOG));
  g_assert_nonnull (ef_window_session (shell->window));
  header = ef_inspection_header (inspection_of (shell));
  g_assert_cmpstr (header->number, ==, "J-0432");
  g_assert_cmpstr (header->customer, ==, "ferry, standby engine");
  g_assert_cmpfloat_with_epsilon (header->found_pressure, 0.9e5, 1e-6);
  g_assert_cmpfloat_with_epsilon (header->found_speed, 10.0, 1e-9);
  g_assert_true (isnan (header->expected_pressure));
  g_assert_cmpint (ef_store_count (ef_window_store (shell->window), NULL, NULL), ==, DEMO_JOBS + 1);
}

/* Opens a job without readings on the launch engine's pump. */
static void
open_blank_job (Shell *shell)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, &error);
  g_autoptr (EfInspection) inspection = NULL;
  gint64 job;

  g_assert_no_error (error);
  inspection = ef_inspection_new (sheet, "J-1");
  job = ef_store_add (ef_window_store (shell->window), inspection, &error);
  g_assert_no_error (error);
  ef_window_open_job (shell->window, job);
  ef_session_settle_fully (ef_window_session (shell->window));
  robot_settle ();
}

static EfReadingField *
focused_field (Shell *shell)
{
  GtkWidget *focus = gtk_window_get_focus (GTK_WINDOW (shell->window));
  GtkWidget *field = focus != NULL ? gtk_widget_get_ancestor (focus, EF_TYPE_READING_FIELD) : NULL;

  g_assert_nonnull (field);
  return EF_READING_FIELD (field);
}

static void
test_readings_by_keyboard (Shell *shell,
                           gconstpointer data)
{
  const GPtrArray *readings;
  const EfReading *reading;
  EfReadingField *first, *second;

  open_blank_job (shell);
  show_page (shell, 2);
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "Still missing"));
  first = focused_field (shell);
  g_assert_cmpint (ef_reading_field_slot (first)->quantity, ==, EF_READ_POCKET_DEPTH);

  /* A comma decimal, Enter: kept, and the next field has the cursor. */
  robot_type ("25,130");
  robot_key (GDK_KEY_Return, 0);
  readings = inspection_of (shell)->items[EF_ITEM_READING];
  g_assert_cmpuint (readings->len, ==, 1);
  reading = g_ptr_array_index (readings, 0);
  g_assert_cmpfloat (reading->value, ==, 25.130e-3);
  g_assert_cmpstr (reading->target, ==, "pressure");
  g_assert_cmpstr (reading->place, ==, "drive");
  g_assert_nonnull (reading->time);
  second = focused_field (shell);
  g_assert_true (second != first);
  g_assert_cmpstr (ef_reading_field_slot (second)->place, ==, "driven");

  /* What can't be read stays, with a message, and nothing is kept. */
  robot_type ("abc");
  robot_key (GDK_KEY_Return, 0);
  g_assert_true (focused_field (shell) == second);
  g_assert_nonnull (ef_field_message (ef_reading_field_field (second)));
  g_assert_cmpstr (ef_field_text (ef_reading_field_field (second)), ==, "abc");
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_READING]->len, ==, 1);

  /* Nor is a depth that no such pocket can have. */
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  robot_type ("251.3");
  robot_key (GDK_KEY_Return, 0);
  g_assert_nonnull (ef_field_message (ef_reading_field_field (second)));
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_READING]->len, ==, 1);

  /* In micrometres, and Ctrl+Enter stays for a repeat. */
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  robot_type ("25128 um");
  robot_key (GDK_KEY_Return, GDK_CONTROL_MASK);
  robot_type ("25.132");
  robot_key (GDK_KEY_Return, GDK_CONTROL_MASK);
  g_assert_true (focused_field (shell) == second);
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_READING]->len, ==, 3);
  reading = g_ptr_array_index (inspection_of (shell)->items[EF_ITEM_READING], 1);
  g_assert_cmpint (reading->unit, ==, EF_UNIT_UM);
  g_assert_cmpfloat (reading->value, ==, 25.128e-3);
  g_assert_true (robot_sees (GTK_WIDGET (second), "mean of 2: 25.130 mm"));

  /* Enter in an empty field moves on; on to the face widths, from which the end clearance follows. */
  robot_key (GDK_KEY_Return, 0);
  g_assert_cmpint (ef_reading_field_slot (focused_field (shell))->quantity, ==, EF_READ_FACE_WIDTH);
  robot_type ("25.003");
  robot_key (GDK_KEY_Return, 0);
  /* 25.130 - 25.003 */
  g_assert_nonnull (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_READING_FIELD));
  {
    g_autoptr (GPtrArray) derived = NULL;
    const EfDerived *clearance;

    readings = inspection_of (shell)->items[EF_ITEM_READING];
    derived = ef_derive (inspection_of (shell)->sheet, (EfReading *const *) readings->pdata, readings->len, NULL, 0);
    clearance = ef_derived_find (derived, "end-clearance", "pressure", "drive");
    g_assert_nonnull (clearance);
    g_assert_cmpfloat_with_epsilon (clearance->value, 0.127e-3, 1e-9);
  }
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "End clearance, drive gear"));
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "0.127 mm"));

  /* Ctrl+Z takes the last one back, also from the store. */
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK);
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_READING]->len, ==, 3);
  {
    g_autoptr (EfInspection) kept = ef_store_load (ef_window_store (shell->window), ef_session_job (ef_window_session (shell->window)), NULL);

    g_assert_true (ef_inspection_equal (kept, inspection_of (shell)));
  }
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK | GDK_SHIFT_MASK);
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_READING]->len, ==, 4);
}

static void
test_leaving_keeps (Shell *shell,
                    gconstpointer data)
{
  EfReadingField *first;

  open_blank_job (shell);
  show_page (shell, 2);
  first = focused_field (shell);
  robot_type ("25.111");
  robot_key (GDK_KEY_Tab, 0);
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_READING]->len, ==, 1);
  g_assert_cmpstr (ef_field_text (ef_reading_field_field (first)), ==, "");
}

static void
test_correct_reading (Shell *shell,
                      gconstpointer data)
{
  GtkWindow *dialog;
  EfReadingField *first;
  const EfReading *reading;

  open_blank_job (shell);
  show_page (shell, 2);
  first = focused_field (shell);
  robot_type ("25.1304");
  robot_key (GDK_KEY_Return, 0);
  robot_click (robot_find_button (GTK_WIDGET (first), "25.1304 mm"));
  dialog = robot_window (EF_TYPE_READING_DIALOG);
  g_assert_nonnull (dialog);
  robot_focus (dialog);
  ef_field_set_text (field_named (GTK_WIDGET (dialog), "Value"), "25.1306");
  ef_field_set_text (field_named (GTK_WIDGET (dialog), "Temperature of the part"), "24 °C");
  robot_click (robot_find_button (GTK_WIDGET (dialog), "Keep"));
  reading = g_ptr_array_index (inspection_of (shell)->items[EF_ITEM_READING], 0);
  g_assert_cmpfloat (reading->value, ==, 25.1306e-3);
  g_assert_cmpfloat_with_epsilon (reading->temperature, 297.15, 1e-9);
  robot_focus (GTK_WINDOW (shell->window));
  robot_click (robot_find_button (GTK_WIDGET (first), "25.1306 mm"));
  dialog = robot_window (EF_TYPE_READING_DIALOG);
  robot_focus (dialog);
  robot_click (robot_find_button (GTK_WIDGET (dialog), "Remove This Reading"));
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_READING]->len, ==, 0);
}

static void
test_override (Shell *shell,
               gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  EfVerdictPage *page;
  GtkWindow *dialog;
  const EfVerdict *pump;
  EfJobRow *row;

  show_page (shell, 3);
  page = EF_VERDICT_PAGE (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_VERDICT_PAGE));
  g_assert_true (ef_verdict_page_select (page, "pump"));
  robot_settle ();
  robot_click (robot_find_button (GTK_WIDGET (page), "Set Another Verdict…"));
  dialog = robot_window (EF_TYPE_OVERRIDE_DIALOG);
  g_assert_nonnull (dialog);
  robot_focus (dialog);
  robot_click (robot_find_button (GTK_WIDGET (dialog), "Scrap"));
  /* Without a reason it's refused. */
  robot_click (robot_find_button (GTK_WIDGET (dialog), "Set Verdict"));
  g_assert_nonnull (ef_field_message (field_named (GTK_WIDGET (dialog), "Reason")));
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_OVERRIDE]->len, ==, 0);
  ef_field_set_text (field_named (GTK_WIDGET (dialog), "Reason"), "cracked while it was clamped");
  robot_click (robot_find_button (GTK_WIDGET (dialog), "Set Verdict"));
  ef_session_settle_fully (session);
  robot_settle ();

  pump = ef_session_assessment (session)->verdict;
  g_assert_cmpint (pump->word, ==, EF_VERDICT_SCRAP);
  g_assert_cmpint (pump->computed, ==, EF_VERDICT_REWORK);
  g_assert_true (robot_sees (GTK_WIDGET (page), "cracked while it was clamped"));
  row = shell_job_row (shell);
  g_assert_cmpstr (row->verdict, ==, "scrap");
  ef_job_row_free (row);

  robot_focus (GTK_WINDOW (shell->window));
  robot_click (robot_find_button (GTK_WIDGET (page), "Back to the Computed Verdict"));
  ef_session_settle_fully (session);
  g_assert_cmpint (ef_session_assessment (session)->verdict->word, ==, EF_VERDICT_REWORK);
  row = shell_job_row (shell);
  g_assert_cmpstr (row->verdict, ==, "rework");
  ef_job_row_free (row);
}

static void
test_reason_shows_mark (Shell *shell,
                        gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  EfVerdictPage *page;
  GtkWidget *job_page;

  show_page (shell, 3);
  page = EF_VERDICT_PAGE (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_VERDICT_PAGE));
  g_assert_true (ef_verdict_page_select (page, "part:separator"));
  robot_settle ();
  g_assert_null (ef_session_mark (session));
  robot_click (robot_find_button (GTK_WIDGET (page), "Mark 3"));
  job_page = robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_JOB_PAGE);
  g_assert_cmpstr (ef_job_page_shown (EF_JOB_PAGE (job_page)), ==, "map");
  g_assert_nonnull (ef_session_mark (session));
  g_assert_cmpstr (ef_session_part (session), ==, "separator");
}

static void
test_tick_steps (Shell *shell,
                 gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  GtkWidget *page, *check;
  const EfTick *tick;
  g_autofree char *step = NULL;

  ef_session_settle_fully (session);
  show_page (shell, 4);
  page = robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_REWORK_PAGE);
  ef_rework_page_show (EF_REWORK_PAGE (page), "steps");
  robot_settle ();
  step = g_strdup (((EfStep *) g_ptr_array_index (ef_session_assessment (session)->steps, 0))->id);
  check = robot_find_type (page, GTK_TYPE_CHECK_BUTTON);
  robot_click (check);
  tick = ef_inspection_find (inspection_of (shell), EF_ITEM_TICK, step);
  g_assert_nonnull (tick);
  g_assert_cmpstr (tick->role, ==, "rebuilder");
  g_assert_true (robot_sees (page, "Done by rebuilder"));
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK);
  g_assert_null (ef_inspection_find (inspection_of (shell), EF_ITEM_TICK, step));
  g_assert_false (gtk_check_button_get_active (GTK_CHECK_BUTTON (check)));
}

static void
test_newest_assessment_wins (Shell *shell,
                             gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  guint i;

  /* Ten changes faster than any can be assessed: what stands in the end belongs to the last. */
  for (i = 0; i < 10; i++)
    {
      EfJobHeader *after = ef_item_copy (ef_inspection_header (inspection_of (shell)));
      EfChange *change = ef_change_new ("Change note");

      g_free (after->note);
      after->note = g_strdup_printf ("note %u", i);
      ef_change_add (change, (gpointer) ef_inspection_header (inspection_of (shell)), after);
      ef_item_unref (after);
      g_assert_true (ef_session_apply (session, change));
    }
  g_assert_true (ef_session_busy (session));
  ef_session_settle_fully (session);
  g_assert_cmpuint (ef_session_assessment (session)->serial, ==, ef_document_serial (ef_session_document (session)));
  g_assert_cmpstr (ef_inspection_header (ef_session_assessment (session)->inspection)->note, ==, "note 9");
}

static void
exported_cb (GObject *source,
             GAsyncResult *result,
             gpointer user_data)
{
  GAsyncResult **out = user_data;

  *out = g_object_ref (result);
}

static gboolean
is_set (gpointer data)
{
  return *(gpointer *) data != NULL;
}

static gboolean
export_to (EfSession *session,
           EfExportKind kind,
           const char *path,
           GError **error)
{
  g_autoptr (GAsyncResult) result = NULL;

  ef_export_async (session, kind, path, NULL, exported_cb, &result);
  robot_wait (is_set, &result, "the export");
  return ef_export_finish (session, result, error);
}

static void
test_export (Shell *shell,
             gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  g_autoptr (GError) error = NULL;
  g_autofree char *pdf = g_build_filename (shell->folder, "report.pdf", NULL);
  g_autofree char *json = g_build_filename (shell->folder, "job.json", NULL);
  g_autofree char *nowhere = g_build_filename (shell->folder, "no", "such", "folder", "report.pdf", NULL);
  g_autofree char *picture = g_build_filename (shell->folder, "separator-side-a.png", NULL);
  g_autofree char *pump = g_build_filename (shell->folder, "pump.png", NULL);
  g_autoptr (EfInspection) read = NULL;
  g_autofree char *bytes = NULL;

  g_assert_true (export_to (session, EF_EXPORT_REPORT, pdf, &error));
  g_assert_no_error (error);
  g_assert_true (g_file_get_contents (pdf, &bytes, NULL, NULL));
  g_assert_true (g_str_has_prefix (bytes, "%PDF"));
  g_assert_true (export_to (session, EF_EXPORT_EXCHANGE, json, &error));
  read = ef_exchange_load (json, &error);
  g_assert_no_error (error);
  g_assert_true (ef_inspection_equal (read, inspection_of (shell)));
  g_assert_true (export_to (session, EF_EXPORT_PICTURES, shell->folder, &error));
  g_assert_true (g_file_test (picture, G_FILE_TEST_IS_REGULAR));
  g_assert_true (g_file_test (pump, G_FILE_TEST_IS_REGULAR));
  g_assert_false (export_to (session, EF_EXPORT_REPORT, nowhere, &error));
  g_assert_nonnull (error);
}

static void
test_print (Shell *shell,
            gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  GtkPrintOperation *(*const make[]) (EfAssessment *, EfReportSeal *) = { ef_print_report_operation, ef_print_steps_operation };
  static const char *const needed[] = { "separator", "Step sheet J-0412" };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (make); i++)
    {
      g_autoptr (GtkPrintOperation) operation = make[i] (ef_session_assessment (session), NULL);
      g_autofree char *path = g_build_filename (shell->folder, "print.pdf", NULL);
      g_autofree char *command = g_strdup_printf ("pdftotext -layout %s -", path);
      g_autofree char *text = NULL;
      g_autoptr (GError) error = NULL;

      gtk_print_operation_set_export_filename (operation, path);
      g_assert_cmpint (gtk_print_operation_run (operation, GTK_PRINT_OPERATION_ACTION_EXPORT, NULL, &error), ==, GTK_PRINT_OPERATION_RESULT_APPLY);
      g_assert_no_error (error);
      g_assert_true (g_spawn_command_line_sync (command, &text, NULL, NULL, &error));
      g_assert_nonnull (strstr (text, needed[i]));
      /* the step sheet is one page, and each page ends in a form feed */
      if (make[i] == ef_print_steps_operation)
        g_assert_true (strchr (text, '\f') == text + strlen (text) - 1);
    }
}

static void
test_bad_import (Shell *shell,
                 gconstpointer data)
{
  g_autofree char *path = g_build_filename (shell->folder, "broken.json", NULL);
  g_autoptr (GFile) file = g_file_new_for_path (path);

  g_assert_true (g_file_set_contents (path, "{ \"format\": \"endfloat-inspection\", ", -1, NULL));
  ef_window_import (shell->window, &file, 1);
  while (!robot_sees (GTK_WIDGET (shell->window), "broken.json"))
    g_main_context_iteration (NULL, TRUE);
  g_assert_null (ef_window_session (shell->window));
  g_assert_cmpint (ef_store_count (ef_window_store (shell->window), NULL, NULL), ==, 0);
}

static void
test_bad_store (Shell *shell,
                gconstpointer data)
{
  g_autofree char *path = g_build_filename (shell->folder, "other.db", NULL);
  g_autofree char *good = g_build_filename (shell->folder, "jobs.db", NULL);

  g_assert_true (g_file_set_contents (path, "this is no store, but a text that is long enough to be looked at as one", -1, NULL));
  g_assert_false (ef_application_use_store (shell->application, path));
  ef_window_refresh_store (shell->window);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "The jobs can't be opened"));
  /* Nothing that needs a store may crash without one. */
  g_action_group_activate_action (G_ACTION_GROUP (shell->window), "new-job", NULL);
  g_action_group_activate_action (G_ACTION_GROUP (shell->window), "demo", NULL);
  robot_settle ();
  g_assert_true (ef_application_use_store (shell->application, good));
  ef_window_refresh_store (shell->window);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "No jobs yet"));
}

static GtkTextBuffer *
editor_buffer (GtkWindow *editor)
{
  return gtk_text_view_get_buffer (GTK_TEXT_VIEW (robot_find_type (GTK_WIDGET (editor), GTK_TYPE_TEXT_VIEW)));
}

static void
replace_text (GtkTextBuffer *buffer,
              const char *from,
              const char *to)
{
  GtkTextIter start, end, at;

  gtk_text_buffer_get_start_iter (buffer, &at);
  g_assert_true (gtk_text_iter_forward_search (&at, from, 0, &start, &end, NULL));
  gtk_text_buffer_delete (buffer, &start, &end);
  gtk_text_buffer_insert (buffer, &start, to, -1);
}

static gboolean
sees_module (gpointer data)
{
  return robot_sees (data, "module_mm");
}

static gboolean
sees_sound (gpointer data)
{
  return robot_sees (data, "This pump sheet is sound");
}

static void
test_sheet_editor (Shell *shell,
                   gconstpointer data)
{
  EfStore *store = ef_window_store (shell->window);
  g_autofree char *path = ef_data_path ("pump-sheets", "rc-4.json", NULL);
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, NULL);
  GtkWindow *editor = GTK_WINDOW (ef_sheet_editor_show (GTK_WINDOW (shell->window), store, sheet, FALSE));
  GtkTextBuffer *buffer = editor_buffer (editor);
  g_autofree char *before = NULL;
  g_autoptr (GPtrArray) own = NULL;
  GtkTextIter cursor;
  g_autofree char *line = NULL;
  GtkTextIter line_end;

  robot_focus (editor);
  g_assert_true (robot_sees (GTK_WIDGET (editor), "This pump sheet is sound"));
  replace_text (buffer, "\"module_mm\": ", "\"module_mm\": -");
  robot_wait (sees_module, editor, "the message about the module");
  g_assert_false (gtk_widget_get_sensitive (robot_find_button (GTK_WIDGET (editor), "Save in the Store")));
  /* Go There puts the cursor on the line that is wrong. */
  robot_click (robot_find_button (GTK_WIDGET (editor), "Go There"));
  gtk_text_buffer_get_iter_at_mark (buffer, &cursor, gtk_text_buffer_get_insert (buffer));
  gtk_text_iter_set_line_offset (&cursor, 0);
  line_end = cursor;
  gtk_text_iter_forward_to_line_end (&line_end);
  line = gtk_text_buffer_get_text (buffer, &cursor, &line_end, FALSE);
  g_assert_nonnull (strstr (line, "module_mm"));
  replace_text (buffer, "\"module_mm\": -", "\"module_mm\": ");
  robot_wait (sees_sound, editor, "the sheet to be sound again");
  robot_click (robot_find_button (GTK_WIDGET (editor), "Save in the Store"));
  own = ef_store_sheets (store, NULL);
  g_assert_cmpuint (own->len, ==, 1);
  g_assert_cmpstr (((EfPumpSheet *) g_ptr_array_index (own, 0))->id, ==, "rc-4-2");
}

/* Every page must fit a screen of 1024 x 700, also with text twice as large. */
static void
test_fits (Shell *shell,
           gconstpointer data)
{
  static const char *const pages[] = { "map", "readings", "verdict", "rework", "record" };
  static const int sizes[] = { 100, 200 };
  guint s, p;

  shell_open_demo (shell);
  for (s = 0; s < G_N_ELEMENTS (sizes); s++)
    {
      g_settings_set_int (ef_settings_get (), "text-size", sizes[s]);
      robot_settle ();
      for (p = 0; p <= G_N_ELEMENTS (pages); p++)
        {
          int width, height;

          if (p < G_N_ELEMENTS (pages))
            ef_window_show_page (shell->window, pages[p]);
          else
            ef_window_show_start (shell->window);
          robot_settle ();
          gtk_widget_measure (GTK_WIDGET (shell->window), GTK_ORIENTATION_HORIZONTAL, -1, &width, NULL, NULL, NULL);
          gtk_widget_measure (GTK_WIDGET (shell->window), GTK_ORIENTATION_VERTICAL, MAX (width, 1024), &height, NULL, NULL, NULL);
          g_test_message ("%s at %d %%: at least %d x %d", p < G_N_ELEMENTS (pages) ? pages[p] : "start", sizes[s], width, height);
          g_assert_cmpint (width, <=, 1024);
          g_assert_cmpint (height, <=, 700);
        }
      {
        GtkWidget *sheets = robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_SHEETS_PAGE);
        int width;

        gtk_widget_measure (sheets, GTK_ORIENTATION_HORIZONTAL, -1, &width, NULL, NULL, NULL);
        g_test_message ("pump sheets at %d %%: at least %d", sizes[s], width);
        g_assert_cmpint (width, <=, 1024);
      }
      shell_open_demo (shell);
    }
}

/* All tools of the map can be pressed, however large the text: none is cut off by the window or put on another. */
static void
test_tools_in_reach (Shell *shell,
                     gconstpointer data)
{
  static const int sizes[] = { 100, 150, 200 };

  shell_open_demo (shell);
  gtk_window_set_default_size (GTK_WINDOW (shell->window), 1024, 700);
  for (guint s = 0; s < G_N_ELEMENTS (sizes); s++)
    {
      GtkWidget *tools;
      graphene_rect_t row, last = GRAPHENE_RECT_INIT (0, 0, 0, 0);
      guint n = 0;

      g_settings_set_int (ef_settings_get (), "text-size", sizes[s]);
      robot_settle ();
      tools = robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_WRAP_BOX);
      g_assert_true (gtk_widget_compute_bounds (tools, tools, &row));
      for (GtkWidget *child = gtk_widget_get_first_child (tools); child != NULL; child = gtk_widget_get_next_sibling (child))
        {
          graphene_rect_t box;

          g_assert_true (gtk_widget_compute_bounds (child, tools, &box));
          g_assert_true (graphene_rect_contains_rect (&row, &box));
          g_assert_false (n > 0 && graphene_rect_intersection (&last, &box, &last) && last.size.width > 0.5 && last.size.height > 0.5);
          if (GTK_IS_TOGGLE_BUTTON (child))
            g_assert_cmpint (gtk_widget_get_height (child), >=, 44);
          last = box;
          n++;
        }
      g_assert_cmpuint (n, ==, 12); /* ten tools, a separator and the zoom */
      g_assert_cmpfloat (row.size.width, <=, 1024);
    }
  g_settings_reset (ef_settings_get (), "text-size");
}

static gboolean
too_small (GtkWidget *widget,
           gpointer data)
{
  if (!gtk_widget_get_mapped (widget) || !gtk_widget_has_css_class (widget, "ef-touch"))
    return FALSE;
  return gtk_widget_get_allocated_height (widget) < 44 && gtk_widget_get_width (widget) > 0;
}

static void
test_targets (Shell *shell,
              gconstpointer data)
{
  static const char *const pages[] = { "readings", "verdict", "rework", "record" };
  guint i;

  shell_open_demo (shell);
  for (i = 0; i < G_N_ELEMENTS (pages); i++)
    {
      GtkWidget *bad;

      ef_window_show_page (shell->window, pages[i]);
      robot_settle ();
      bad = robot_find (GTK_WIDGET (shell->window), too_small, NULL);
      if (bad != NULL)
        g_test_message ("%s “%s” in %s on page %s is %d px high", G_OBJECT_TYPE_NAME (bad), GTK_IS_BUTTON (bad) ? gtk_button_get_label (GTK_BUTTON (bad)) : "",
                        gtk_widget_get_tooltip_text (bad), pages[i], gtk_widget_get_allocated_height (bad));
      g_assert_null (bad);
    }
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  SHELL_TEST ("/window/jobs/empty-and-demo", test_empty_and_demo);
  SHELL_TEST ("/window/jobs/search", test_search);
  SHELL_TEST ("/window/jobs/new", test_new_job);
  SHELL_TEST ("/window/readings/by-keyboard", test_readings_by_keyboard);
  SHELL_TEST ("/window/readings/leaving-a-field-keeps", test_leaving_keeps);
  SHELL_TEST ("/window/readings/correct-and-remove", test_correct_reading);
  SHELL_TEST ("/window/verdict/by-hand", test_override);
  SHELL_TEST ("/window/verdict/reason-shows-mark", test_reason_shows_mark);
  SHELL_TEST ("/window/rework/tick", test_tick_steps);
  SHELL_TEST ("/window/session/newest-wins", test_newest_assessment_wins);
  SHELL_TEST ("/window/export/files", test_export);
  SHELL_TEST ("/window/export/print", test_print);
  SHELL_TEST ("/window/import/broken-file", test_bad_import);
  SHELL_TEST ("/window/store/broken", test_bad_store);
  SHELL_TEST ("/window/sheets/editor", test_sheet_editor);
  SHELL_TEST ("/window/look/fits-small-screens", test_fits);
  SHELL_TEST ("/window/look/targets", test_targets);
  SHELL_TEST ("/window/map/tools-in-reach", test_tools_in_reach);
  return g_test_run ();
}
