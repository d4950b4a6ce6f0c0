/* After the rework, by keyboard alone: work recorded, values measured again, one of them outside; the demand and the rates entered.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-after-view.h"
#include "ef-cost-view.h"
#include "ef-field.h"
#include "ef-rework-page.h"
#include "ef-right-pump-view.h"
#include "ef-settings.h"
#include "assess/ef-right-pump.h"

#include <math.h>
#include <string.h>

static const EfInspection *
inspection_of (Shell *shell)
{
  return ef_document_inspection (ef_session_document (ef_window_session (shell->window)));
}

static EfAssessment *
assessment_of (Shell *shell)
{
  EfSession *session = ef_window_session (shell->window);

  ef_session_settle_fully (session);
  return ef_session_assessment (session);
}

static gboolean
is_field (GtkWidget *widget,
          gpointer data)
{
  g_autofree char *label = NULL;

  if (!EF_IS_FIELD (widget) || !gtk_widget_get_mapped (widget))
    return FALSE;
  g_object_get (widget, "label", &label, NULL);
  return g_str_has_prefix (label, data);
}

static GtkWidget *
show (Shell *shell,
      const char *view,
      GType type)
{
  GtkWidget *page, *found;

  ef_window_show_page (shell->window, "rework");
  robot_settle ();
  page = robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_REWORK_PAGE);
  g_assert_nonnull (page);
  ef_rework_page_show (EF_REWORK_PAGE (page), view);
  robot_settle ();
  found = robot_find_type (page, type);
  g_assert_nonnull (found);
  return found;
}

static void
focus (GtkWidget *view,
       const char *label)
{
  GtkWidget *field = robot_find (view, is_field, (gpointer) label);

  if (field == NULL)
    g_error ("no field \"%s\"", label);
  gtk_widget_grab_focus (field);
  robot_settle ();
}

static void
enter (const char *text)
{
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  if (*text != '\0')
    robot_type (text);
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
}

static void
assert_planned (Shell *shell,
                GtkWidget *view,
                const char *face)
{
  EfSession *session = ef_window_session (shell->window);
  GtkWidget *field = robot_find (view, is_field, (gpointer) "Taken off");
  const EfLapStock *stock;
  g_autofree char *expected = NULL;
  g_autofree char *placeholder = NULL;

  ef_session_settle_fully (session);
  stock = ef_lap_stock_find (ef_session_assessment (session)->plan->stocks, face);
  g_assert_nonnull (stock);
  expected = ef_settings_format_length (stock->stock);
  g_object_get (field, "placeholder", &placeholder, NULL);
  g_assert_cmpstr (placeholder, ==, expected);
}

static void
test_after (Shell *shell,
            gconstpointer data)
{
  GtkWidget *view;
  const EfWork *work;
  const EfReading *reading;
  EfAssessment *assessment;
  guint readings;

  shell_open_demo (shell);
  view = show (shell, "after", EF_TYPE_AFTER_VIEW);
  readings = inspection_of (shell)->items[EF_ITEM_READING]->len;

  /* Nothing at all is refused. */
  focus (view, "Note");
  enter ("");
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_WORK]->len, ==, 0);

  /* The empty field shows what the plan asks for. */
  assert_planned (shell, view, "pressure-housing/mating");

  /* The first face is one that has marks, the mating face; Enter goes from field to field and records at the end. */
  focus (view, "Taken off");
  enter ("0,085");
  enter ("11");
  enter ("");
  enter ("12");
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_WORK]->len, ==, 1);
  work = inspection_of (shell)->items[EF_ITEM_WORK]->pdata[0];
  g_assert_cmpfloat_with_epsilon (work->removed, 0.085e-3, 1e-12);
  g_assert_cmpfloat (ef_work_passes (work, "coarse"), ==, 11);
  g_assert_cmpfloat (ef_work_passes (work, "medium"), ==, 0);
  g_assert_cmpfloat (ef_work_passes (work, "fine"), ==, 12);
  g_assert_cmpstr (work->role, ==, "rebuilder");
  g_assert_nonnull (work->time);

  /* Pocket depths again: one as the plan wants it, one far from it. Found: 25.161 and 25.158 mm, 0.085 mm off, in the demo. */
  focus (view, "Pressure section, drive gear");
  enter ("25.076 mm");
  enter ("25.113 mm");
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_READING]->len, ==, readings + 2);
  reading = inspection_of (shell)->items[EF_ITEM_READING]->pdata[readings];
  g_assert_true (reading->after);
  g_assert_cmpint (reading->quantity, ==, EF_READ_POCKET_DEPTH);
  g_assert_cmpfloat_with_epsilon (reading->value, 25.076e-3, 1e-12);
  g_assert_cmpstr (reading->gauge_id, ==, "depth");

  assessment = ef_assessment_ref (assessment_of (shell));
  robot_settle ();
  g_assert_nonnull (assessment->after);
  g_assert_cmpuint (assessment->after->n_outside, ==, 2); /* the depth and the clearance that follows from it */
  g_assert_true (robot_sees (view, "outside"));
  g_assert_true (robot_sees (view, "as expected"));
  /* As found stays as found. */
  g_assert_cmpfloat_with_epsilon (ef_assessment_figure (assessment, "end-clearance", "pressure", NULL)->found, 0.171e-3, 1e-9);
  g_assert_cmpfloat_with_epsilon (ef_assessment_figure (assessment, "end-clearance", "pressure", NULL)->reworked, 25.113e-3 - 24.994e-3, 1e-9);

  g_clear_pointer (&assessment, ef_assessment_unref);

  /* Corrected in the same field: the same reading, and nothing is outside any more. */
  focus (view, "Pressure section, driven gear");
  enter ("25.074 mm");
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_READING]->len, ==, readings + 2);
  g_assert_cmpuint (assessment_of (shell)->after->n_outside, ==, 0);
  robot_settle ();
  g_assert_false (robot_sees (view, "outside"));

  /* Undone step by step. */
  ef_session_undo (ef_window_session (shell->window));
  ef_session_undo (ef_window_session (shell->window));
  ef_session_undo (ef_window_session (shell->window));
  ef_session_undo (ef_window_session (shell->window));
  g_assert_null (assessment_of (shell)->after);
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_WORK]->len, ==, 0);
}

static gboolean
sees_hl27 (gpointer view)
{
  return robot_sees (view, "HL-27 is enough");
}

static void
test_right_pump (Shell *shell,
                 gconstpointer data)
{
  GtkWidget *view;
  const EfDemand *demand;

  shell_open_demo (shell);
  view = show (shell, "right-pump", EF_TYPE_RIGHT_PUMP_VIEW);
  /* A flow without its pressure isn't a demand yet. */
  focus (view, "Extra cooler");
  enter ("8");
  g_assert_null (ef_inspection_find (inspection_of (shell), EF_ITEM_DEMAND, "demand"));
  enter ("0.4");
  demand = ef_inspection_find (inspection_of (shell), EF_ITEM_DEMAND, "demand");
  g_assert_nonnull (demand);
  g_assert_cmpfloat_with_epsilon (demand->cooler_flow, 8e-3 / 60, 1e-12);
  g_assert_cmpfloat_with_epsilon (demand->cooler_drop, 0.4e5, 1e-6);
  focus (view, "Oil hotter");
  enter ("5");
  enter ("540 rpm");
  demand = ef_inspection_find (inspection_of (shell), EF_ITEM_DEMAND, "demand");
  g_assert_cmpfloat_with_epsilon (demand->hotter, 5, 1e-9);
  g_assert_cmpfloat_with_epsilon (demand->speed, 9, 1e-9);
  robot_wait (sees_hl27, view, "the answer");
}

static void
test_cost (Shell *shell,
           gconstpointer data)
{
  GtkWidget *view;
  const EfCost *cost;
  g_autofree char *kept = NULL;

  shell_open_demo (shell);
  view = show (shell, "cost", EF_TYPE_COST_VIEW);
  g_assert_true (robot_sees (view, "isn't set"));
  g_assert_null (ef_inspection_find (inspection_of (shell), EF_ITEM_COST, "cost"));
  focus (view, "An hour");
  enter ("60");
  focus (view, "A new pump");
  enter ("480");
  cost = ef_inspection_find (inspection_of (shell), EF_ITEM_COST, "cost");
  g_assert_nonnull (cost);
  g_assert_cmpfloat (cost->hour_rate, ==, 60);
  g_assert_cmpfloat (cost->new_pump, ==, 480);
  assessment_of (shell);
  robot_settle ();
  g_assert_true (robot_sees (view, "cheaper"));
  kept = g_settings_get_string (ef_settings_get (), "cost-rates");
  g_assert_nonnull (strstr (kept, "\"hour_rate\": 60"));
  g_settings_reset (ef_settings_get (), "cost-rates");
  g_settings_reset (ef_settings_get (), "pump-prices");
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  SHELL_TEST ("/window/after/by-keyboard", test_after);
  SHELL_TEST ("/window/after/right-pump", test_right_pump);
  SHELL_TEST ("/window/after/cost", test_cost);
  return g_test_run ();
}
