/* What the pump delivers, in the real window: the strip's first figures, the answer to the complaint, the plots' page, the oil pressure over a face.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-blame-card.h"
#include "ef-flow-view.h"
#include "ef-map-page.h"

#include <math.h>
#include <string.h>

static EfMapPage *
map_page (Shell *shell)
{
  return EF_MAP_PAGE (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_MAP_PAGE));
}

static EfSession *
open_demo (Shell *shell)
{
  EfSession *session = shell_open_demo (shell);

  ef_session_settle_fully (session);
  robot_settle ();
  return session;
}

static void
assert_starts (EfFigureStrip *strip,
               guint i,
               const char *words)
{
  g_assert_nonnull (ef_figure_strip_text (strip, i));
  g_assert_true (g_str_has_prefix (ef_figure_strip_text (strip, i), words));
}

/* Whatever face is open, the three figures that the marking is for come first; the clearance is that of the face's section. */
static void
test_strip (Shell *shell,
            gconstpointer data)
{
  EfSession *session = open_demo (shell);
  EfFigureStrip *strip = ef_map_page_strip (map_page (shell));
  g_autofree char *number = NULL;

  ef_session_select_face (session, "separator/side-a");
  assert_starts (strip, 0, "Hot-idle pressure");
  assert_starts (strip, 1, "Delivery at rated speed");
  assert_starts (strip, 2, "End clearance, pressure section");
  number = g_strdup_printf ("found %.2f bar", ef_session_assessment (session)->flow->state[EF_STATE_FOUND].idle.pressure / 1e5);
  g_assert_nonnull (strstr (ef_figure_strip_text (strip, 0), number));
  g_assert_nonnull (strstr (ef_figure_strip_text (strip, 0), "550 rpm, 115 °C"));
  g_assert_nonnull (strstr (ef_figure_strip_text (strip, 0), "±"));
  g_assert_nonnull (strstr (ef_figure_strip_text (strip, 2), "outside"));
  ef_session_select_face (session, "scavenge-housing/floor");
  assert_starts (strip, 0, "Hot-idle pressure");
  assert_starts (strip, 2, "End clearance, scavenge section");
  g_assert_false (ef_session_refining (session));
}

static void
set_complaint (EfSession *session,
               double pressure)
{
  EfItem *before = g_ptr_array_index (ef_document_inspection (ef_session_document (session))->items[EF_ITEM_HEADER], 0);
  EfJobHeader *after = ef_item_copy (before);
  EfChange *change = ef_change_new ("Complaint");

  after->found_pressure = pressure;
  ef_change_add (change, before, (EfItem *) after);
  ef_item_unref (after);
  g_assert_true (ef_session_apply (session, change));
}

/* The answer stands on the verdict page, follows the complaint, and says what is wanted when there is none. */
static void
test_blame (Shell *shell,
            gconstpointer data)
{
  EfSession *session = open_demo (shell);
  EfBlameCard *card;

  ef_window_show_page (shell->window, "verdict");
  robot_settle ();
  card = EF_BLAME_CARD (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_BLAME_CARD));
  g_assert_nonnull (card);
  g_assert_cmpstr (ef_blame_card_text (card), ==, ef_session_assessment (session)->flow->blame);
  g_assert_true (robot_sees (GTK_WIDGET (card), "Measured 0.82 bar; at 550 rpm and 115 °C a pump as new makes"));
  g_assert_null (robot_find_button (GTK_WIDGET (card), "Note the Complaint"));
  set_complaint (session, 1.39e5);
  ef_session_settle_fully (session);
  robot_settle ();
  g_assert_nonnull (strstr (ef_blame_card_text (card), "No pressure is missing"));
  set_complaint (session, NAN);
  ef_session_settle_fully (session);
  robot_settle ();
  g_assert_nonnull (strstr (ef_blame_card_text (card), "No oil pressure was noted"));
  robot_click (robot_find_button (GTK_WIDGET (card), "Note the Complaint"));
  robot_settle ();
  g_assert_false (gtk_widget_get_mapped (GTK_WIDGET (card)));
}

static void
test_delivery (Shell *shell,
               gconstpointer data)
{
  EfSession *session = open_demo (shell);
  const EfFlowResult *flow = ef_session_assessment (session)->flow;
  EfFlowView *view;
  g_autofree char *text = NULL;
  g_autofree char *row = NULL;

  ef_window_show_page (shell->window, "verdict");
  robot_settle ();
  robot_click (robot_find_button (GTK_WIDGET (shell->window), "Delivery"));
  view = EF_FLOW_VIEW (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_FLOW_VIEW));
  g_assert_nonnull (view);
  g_assert_true (gtk_widget_get_mapped (GTK_WIDGET (view)));
  text = ef_flow_view_text (view);
  row = g_strdup_printf ("Volumetric efficiency at rated speed: as new %.1f %%, as found %.1f %%, after rework %.1f %%", 100 * flow->state[EF_STATE_NEW].rated.efficiency,
                         100 * flow->state[EF_STATE_FOUND].rated.efficiency, 100 * flow->state[EF_STATE_REWORKED].rated.efficiency);
  g_assert_nonnull (strstr (text, row));
  g_assert_true (robot_sees (GTK_WIDGET (view), "Hot idle: 550 rpm, 115 °C"));
  g_assert_true (robot_sees (GTK_WIDGET (view), "Where the pressure is lost"));
  g_assert_true (robot_sees (GTK_WIDGET (view), "Taken for granted, and not in the model"));
}

static void
change_gauge (EfSession *session,
              const char *id,
              double factor)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (session));
  EfChange *change = ef_change_new ("Coarser gauges");
  guint i;

  for (i = 0; i < inspection->items[EF_ITEM_GAUGE]->len; i++)
    {
      EfItem *before = g_ptr_array_index (inspection->items[EF_ITEM_GAUGE], i);
      g_autoptr (EfItem) after = ef_item_copy (before);

      if (!g_str_equal (before->id, id))
        continue;
      ((EfGauge *) after)->uncertainty *= factor;
      ef_change_add (change, before, after);
    }
  g_assert_true (ef_session_apply (session, change));
}

static gboolean
is_said (gpointer view)
{
  return strstr (ef_flow_view_sure (view), "drawn at random") != NULL || strstr (ef_flow_view_sure (view), "Not drawn") != NULL;
}

/* Beside the first-order interval stands the one drawn at random with the same seed as by name; it follows the gauges, an edit that comes while
 * it's being drawn takes its place, and where it can't be drawn the reason stands there. */
static void
test_sure (Shell *shell,
           gconstpointer data)
{
  EfSession *session = open_demo (shell);
  const EfAssessment *assessment = ef_session_assessment (session);
  g_auto (EfFlowMonteCarlo) alone = { 0 };
  g_autoptr (GError) error = NULL;
  g_autofree char *drawn = NULL;
  g_autofree char *first = NULL;
  g_autofree char *before = NULL;
  double u = assessment->flow->state[EF_STATE_FOUND].idle_uncertainty, pressure = assessment->flow->state[EF_STATE_FOUND].idle.pressure;
  EfFlowView *view;

  ef_window_show_page (shell->window, "verdict");
  robot_settle ();
  robot_click (robot_find_button (GTK_WIDGET (shell->window), "Delivery"));
  view = EF_FLOW_VIEW (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_FLOW_VIEW));
  g_assert_true (ef_flow_monte_carlo (&assessment->findings, 1, 50000, NULL, &alone, &error));
  g_assert_no_error (error);
  g_assert_true (alone.known);
  drawn = g_strdup_printf ("%.2f bar to %.2f bar", alone.pressure.low / 1e5, alone.pressure.high / 1e5);
  first = g_strdup_printf ("%.2f bar to %.2f bar", (pressure - 2 * u) / 1e5, (pressure + 2 * u) / 1e5);
  g_assert_true (robot_sees (GTK_WIDGET (view), "Drawn at random"));
  g_assert_true (robot_sees (GTK_WIDGET (view), drawn));
  g_assert_true (robot_sees (GTK_WIDGET (view), first));
  g_assert_true (robot_sees (GTK_WIDGET (view), "50000 times"));
  g_assert_true (robot_sees (GTK_WIDGET (view), "seed 1"));

  /* The window goes on: two edits one after the other, only the last counts. */
  before = g_strdup (ef_flow_view_sure (view));
  change_gauge (session, "mic", 20.0);
  g_assert_cmpstr (ef_flow_view_sure (view), ==, before);
  change_gauge (session, "mic", 1.0 / 20.0);
  ef_session_settle_fully (session);
  robot_settle ();
  g_assert_cmpstr (ef_flow_view_sure (view), ==, before);
  change_gauge (session, "depth", 3.0);
  ef_session_settle_fully (session);
  robot_settle ();
  g_assert_false (robot_sees (GTK_WIDGET (view), drawn));
  g_assert_cmpfloat (ef_session_assessment (session)->flow->monte_carlo.pressure.u, >, alone.pressure.u);
  change_gauge (session, "depth", 1000.0);
  ef_session_settle_fully (session);
  robot_wait (is_said, view, "why nothing could be drawn");
  g_assert_nonnull (strstr (ef_flow_view_sure (view), "Not drawn at random"));
}

static gboolean
has_settled (gpointer data)
{
  return ef_face_canvas_pressure_settled (data);
}

/* By key; of the face at hand only; not on faces without a film; anew after an edit. */
static void
test_pressure (Shell *shell,
               gconstpointer data)
{
  EfSession *session = open_demo (shell);
  EfFaceCanvas *canvas = ef_map_page_canvas (map_page (shell));
  EfMark *groove = ef_mark_new ("separator/side-a", EF_MARK_GROOVE, EF_SHAPE_LINE, 1e-3);
  EfChange *change = ef_change_new ("Groove");
  double before;

  ef_session_select_face (session, "separator/side-a");
  gtk_widget_grab_focus (GTK_WIDGET (canvas));
  g_assert_null (ef_face_canvas_field (canvas));
  robot_key (GDK_KEY_o, 0);
  robot_wait (has_settled, canvas, "the oil pressure over the plate");
  g_assert_cmpstr (ef_face_canvas_field (canvas)->face_id, ==, "separator/side-a");
  before = ef_face_canvas_field (canvas)->pressure;

  ef_mark_add_node (groove, 4e-3, -11e-3);
  ef_mark_add_node (groove, 4e-3, 11e-3);
  ef_mark_set_depth (groove, 0.25e-3, EF_UNIT_MM, NULL);
  groove->number = 900;
  ef_change_add (change, NULL, (EfItem *) groove);
  ef_item_unref (groove);
  g_assert_true (ef_session_apply (session, change));
  ef_session_settle_fully (session);
  robot_wait (has_settled, canvas, "the oil pressure after the edit");
  /* a groove from delivery to suction costs pressure */
  g_assert_cmpfloat (ef_face_canvas_field (canvas)->pressure, <, before - 1000);

  ef_session_select_face (session, "pressure-housing/wall-drive");
  g_assert_null (ef_face_canvas_field (canvas));
  ef_session_select_face (session, "pressure-housing/floor");
  g_assert_null (ef_face_canvas_field (canvas));
  robot_wait (has_settled, canvas, "the oil pressure over the floor");
  g_assert_cmpstr (ef_face_canvas_field (canvas)->face_id, ==, "pressure-housing/floor");
  /* back: it's kept */
  ef_session_select_face (session, "separator/side-a");
  g_assert_true (ef_face_canvas_pressure_settled (canvas));
  robot_key (GDK_KEY_o, 0);
  g_assert_null (ef_face_canvas_field (canvas));
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  shell_full_detail ();
  SHELL_TEST ("/window/flow/strip", test_strip);
  SHELL_TEST ("/window/flow/blame", test_blame);
  SHELL_TEST ("/window/flow/delivery", test_delivery);
  SHELL_TEST ("/window/flow/sure", test_sure);
  SHELL_TEST ("/window/flow/pressure", test_pressure);
  return g_test_run ();
}
