/* The Rework page's plan in the real window: the assessment's numbers, from a row to the map, another alternative and back, a reading typed so that nothing helps, the
 * demo that lapping can't save.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-plan-view.h"
#include "ef-reading-field.h"
#include "ef-settings.h"

#include "record/ef-exchange.h"

#include <math.h>
#include <string.h>

static EfPlanView *
plan_view (Shell *shell)
{
  GtkWidget *view;

  ef_window_show_page (shell->window, "rework");
  robot_settle ();
  view = robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_PLAN_VIEW);
  g_assert_nonnull (view);
  g_assert_true (gtk_widget_get_mapped (view));
  return EF_PLAN_VIEW (view);
}

static void
assert_shows_plan (EfPlanView *view,
                   EfSession *session)
{
  const EfLapWork *work = ef_session_assessment (session)->plan;
  g_autofree char *text = ef_plan_view_text (view);
  guint i;

  g_assert_cmpuint (work->stocks->len, >, 0);
  for (i = 0; i < work->stocks->len; i++)
    {
      const EfLapStock *stock = g_ptr_array_index (work->stocks, i);
      g_autofree char *number = ef_settings_format_length (stock->stock);
      g_autofree char *line = g_strdup_printf ("%s: %s,", stock->face_id, number);

      g_assert_nonnull (strstr (text, line));
      g_assert_true (robot_sees (GTK_WIDGET (view), number));
    }
}

static gboolean
is_face_button (GtkWidget *widget,
                gpointer data)
{
  return GTK_IS_BUTTON (widget) && gtk_widget_get_mapped (widget) && g_strcmp0 (g_object_get_data (G_OBJECT (widget), "ef-face"), data) == 0;
}

/* The plan comes first, with the numbers of the assessment; a row opens its face by key. */
static void
test_shown (Shell *shell,
            gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  EfPlanView *view = plan_view (shell);
  GtkWidget *button;

  g_assert_true (robot_sees (GTK_WIDGET (view), "Lapping saves the pump: "));
  g_assert_true (robot_sees (GTK_WIDGET (view), "End clearance before and after"));
  g_assert_true (robot_sees (GTK_WIDGET (view), "What lapping leaves of the wear"));
  assert_shows_plan (view, session);
  button = robot_find (GTK_WIDGET (view), is_face_button, (gpointer) "separator/side-a");
  g_assert_nonnull (button);
  g_assert_cmpint (gtk_widget_get_allocated_height (button), >=, 44);
  gtk_widget_grab_focus (button);
  robot_settle ();
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  g_assert_cmpstr (ef_session_face (session), ==, "separator/side-a");
  g_assert_false (gtk_widget_get_mapped (GTK_WIDGET (view)));
}

static double
clearance_after (EfSession *session)
{
  return ef_assessment_figure (ef_session_assessment (session), "end-clearance", "pressure", NULL)->reworked;
}

static gboolean
is_durable (GtkWidget *widget,
            gpointer data)
{
  return GTK_IS_BUTTON (widget) && g_strcmp0 (g_object_get_data (G_OBJECT (widget), "ef-option"), "durable") == 0;
}

static const char *
goal_of (EfSession *session)
{
  return ef_inspection_header (ef_document_inspection (ef_session_document (session)))->plan_goal;
}

/* Choosing is a change of the job: figures and steps follow, and it can be undone. */
static void
test_choice (Shell *shell,
             gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  EfPlanView *view = plan_view (shell);
  double before = clearance_after (session);
  g_autofree char *text = ef_plan_view_text (view);
  g_autofree char *other = NULL;
  g_autofree char *again = NULL;
  GtkWidget *button = robot_find (GTK_WIDGET (view), is_durable, NULL);

  g_assert_nonnull (button);
  g_assert_null (goal_of (session));
  gtk_widget_grab_focus (button);
  robot_settle ();
  robot_key (GDK_KEY_space, 0);
  robot_settle ();
  g_assert_cmpstr (goal_of (session), ==, "durable");
  ef_session_settle_fully (session);
  robot_settle ();
  /* the most durable is the one with the smaller end clearance */
  g_assert_cmpfloat (clearance_after (session), <, before - 5e-6);
  other = ef_plan_view_text (view);
  g_assert_cmpstr (other, !=, text);
  assert_shows_plan (view, session);
  g_assert_nonnull (strstr (ef_document_undo_label (ef_session_document (session)), "Lapping plan"));
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK);
  robot_settle ();
  ef_session_settle_fully (session);
  robot_settle ();
  g_assert_null (goal_of (session));
  g_assert_cmpfloat_with_epsilon (clearance_after (session), before, 1e-9);
  again = ef_plan_view_text (view);
  g_assert_cmpstr (again, ==, text);
}

static gboolean
is_depth_field (GtkWidget *widget,
                gpointer data)
{
  return EF_IS_READING_FIELD (widget) && gtk_widget_get_mapped (widget) && ef_reading_field_slot (EF_READING_FIELD (widget))->quantity == EF_READ_POCKET_DEPTH
         && g_str_has_prefix (ef_reading_field_slot (EF_READING_FIELD (widget))->target, "pressure");
}

static const EfReading *
depth_reading (EfSession *session)
{
  const GPtrArray *readings = ef_document_inspection (ef_session_document (session))->items[EF_ITEM_READING];
  guint i;

  for (i = 0; i < readings->len; i++)
    {
      const EfReading *reading = g_ptr_array_index (readings, i);

      if (reading->quantity == EF_READ_POCKET_DEPTH && g_str_has_prefix (reading->target, "pressure"))
        return reading;
    }
  return NULL;
}

/* A pocket so deep that the face has less stock than it takes: a deeper reading typed in beside the first. */
static void
test_becomes_infeasible (Shell *shell,
                         gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  const EfReading *reading = depth_reading (session);
  g_autofree char *typed = NULL;
  GtkWidget *field;
  EfPlanView *view;

  g_assert_nonnull (reading);
  typed = g_strdup_printf ("%.3f mm", 1e3 * reading->value + 0.6);
  ef_window_show_page (shell->window, "readings");
  robot_settle ();
  field = robot_find (GTK_WIDGET (shell->window), is_depth_field, NULL);
  g_assert_nonnull (field);
  gtk_widget_grab_focus (GTK_WIDGET (ef_reading_field_field (EF_READING_FIELD (field))));
  robot_settle ();
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  robot_type (typed);
  robot_key (GDK_KEY_Return, 0);
  ef_session_settle_fully (session);
  view = plan_view (shell);
  g_assert_false (ef_session_assessment (session)->plan->feasible);
  g_assert_true (robot_sees (GTK_WIDGET (view), "It can't be lapped within the limits: "));
  g_assert_true (robot_sees (GTK_WIDGET (view), ((const EfLapConflict *) g_ptr_array_index (ef_session_assessment (session)->plan->conflicts, 0))->sentence));
  ef_session_undo (session);
  ef_session_settle_fully (session);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (view), "Lapping saves the pump: "));
}

static EfSession *
session_of_demo (const char *file)
{
  g_autofree char *path = ef_data_path ("demo", file, NULL);
  g_autoptr (GError) error = NULL;
  EfInspection *inspection = ef_exchange_load (path, &error);
  g_autoptr (EfDocument) document = NULL;
  EfSession *session;

  g_assert_no_error (error);
  document = ef_document_new (inspection);
  session = ef_session_new (document, NULL, 0, FALSE);
  ef_session_settle_fully (session);
  return session;
}

/* Jobs with other endings, each in a view of its own. */
static void
test_states (Shell *shell,
             gconstpointer data)
{
  static const struct
  {
    const char *file, *words;
  } cases[] = {
    { "job-3-tg-3.json", "Nothing to lap" },
    { "job-5-hl-24.json", "It can't be lapped within the limits: " },
  };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autoptr (EfSession) session = session_of_demo (cases[i].file);
      GtkWidget *window = gtk_window_new ();
      GtkWidget *view = ef_plan_view_new (session);

      gtk_window_set_default_size (GTK_WINDOW (window), 1200, 760);
      gtk_window_set_child (GTK_WINDOW (window), view);
      gtk_window_present (GTK_WINDOW (window));
      robot_settle ();
      g_assert_true (robot_sees (view, cases[i].words));
      if (ef_session_assessment (session)->plan->conflicts != NULL)
        g_assert_true (robot_sees (view, ((const EfLapConflict *) g_ptr_array_index (ef_session_assessment (session)->plan->conflicts, 0))->sentence));
      gtk_window_destroy (GTK_WINDOW (window));
      ef_session_stop (session);
    }
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  SHELL_TEST ("/window/plan/shown", test_shown);
  SHELL_TEST ("/window/plan/choice", test_choice);
  SHELL_TEST ("/window/plan/becomes-infeasible", test_becomes_infeasible);
  SHELL_TEST ("/window/plan/states", test_states);
  return g_test_run ();
}
