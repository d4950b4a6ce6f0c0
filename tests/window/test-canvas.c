/* The map page and its canvas in a real window: handlers of gestures, the keyboard, and one journey with the real pointer.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Expected values follow from what each test does itself (constructed); lengths are compared on the nanometre grid.
 */
#include "window/ef-map-page.h"
#include "window/ef-face-index.h"
#include "window/ef-mark-edit.h"
#include "window/ef-place-text.h"

#include <adwaita.h>
#include <gdk/x11/gdkx.h>
#include <math.h>
#include <X11/extensions/XTest.h>
#include <X11/keysym.h>

typedef struct
{
  EfDocument *document;
  EfSession *session;
  GtkWidget *window, *page;
  EfFaceCanvas *canvas;
  EfMarkCard *card;
  char *message;
} Bench;

/* --- Setting up ----------------------------------------------------------------------------------------------------------------- */

static void
message_cb (EfSession *session,
            const char *text,
            Bench *bench)
{
  g_free (bench->message);
  bench->message = g_strdup (text);
}

static void
turn (void)
{
  int i;

  for (i = 0; i < 30; i++)
    while (g_main_context_iteration (NULL, FALSE))
      ;
}

/* Turns the main loop until @done says so; far more time than any step here takes. */
static gboolean
wait_for (gboolean (*done) (Bench *bench),
          Bench *bench)
{
  gint64 end = g_get_monotonic_time () + 20 * G_TIME_SPAN_SECOND;

  while (!done (bench) && g_get_monotonic_time () < end)
    {
      g_main_context_iteration (NULL, FALSE);
      g_usleep (2000);
    }
  return done (bench);
}

static gboolean
is_laid_out (Bench *bench)
{
  return gtk_widget_get_mapped (GTK_WIDGET (bench->canvas)) && gtk_widget_get_width (GTK_WIDGET (bench->canvas)) > 100;
}

static void
set_up (Bench *bench,
        gconstpointer face)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  EfPumpSheet *sheet = ef_pump_sheet_load (path, &error);

  g_assert_no_error (error);
  bench->document = ef_document_new (ef_inspection_new (sheet, "J-0412"));
  ef_pump_sheet_unref (sheet);
  bench->session = ef_session_new (bench->document, NULL, 0, FALSE);
  g_signal_connect (bench->session, "message", G_CALLBACK (message_cb), bench);
  bench->page = ef_map_page_new (bench->session);
  bench->canvas = ef_map_page_canvas (EF_MAP_PAGE (bench->page));
  bench->card = ef_map_page_card (EF_MAP_PAGE (bench->page));
  bench->window = gtk_window_new ();
  gtk_window_set_default_size (GTK_WINDOW (bench->window), 1270, 780);
  gtk_window_set_child (GTK_WINDOW (bench->window), bench->page);
  ef_session_select_face (bench->session, face);
  gtk_window_present (GTK_WINDOW (bench->window));
  g_assert_true (wait_for (is_laid_out, bench));
  turn ();
}

/* A picture that is still being drawn holds its canvas until it is done. */
static gboolean
is_last_hold (Bench *bench)
{
  return G_OBJECT (bench->session)->ref_count == 1;
}

static void
tear_down (Bench *bench,
           gconstpointer face)
{
  GtkWidget *page = bench->page;

  g_object_add_weak_pointer (G_OBJECT (page), (gpointer *) &page);
  ef_session_settle (bench->session);
  gtk_window_destroy (GTK_WINDOW (bench->window));
  turn ();
  g_assert_null (page);
  g_assert_true (wait_for (is_last_hold, bench));
  g_assert_finalize_object (bench->session);
  g_object_unref (bench->document);
  g_clear_pointer (&bench->message, g_free);
}

/* --- Hands ---------------------------------------------------------------------------------------------------------------------- */

static void
at_mm (Bench *bench,
       double u_mm,
       double v_mm,
       double *x,
       double *y)
{
  ef_face_canvas_to_widget (bench->canvas, u_mm * 1e-3, v_mm * 1e-3, x, y);
}

static void
drag_mm (Bench *bench,
         double u0,
         double v0,
         double u1,
         double v1)
{
  double x0, y0, x1, y1;
  int i;

  at_mm (bench, u0, v0, &x0, &y0);
  at_mm (bench, u1, v1, &x1, &y1);
  ef_face_canvas_press (bench->canvas, x0, y0, 1, EF_TOUCH_POINTER);
  for (i = 1; i <= 8; i++)
    ef_face_canvas_drag_to (bench->canvas, x0 + (x1 - x0) * i / 8, y0 + (y1 - y0) * i / 8);
  ef_face_canvas_release (bench->canvas, x1, y1);
}

static void
click_mm (Bench *bench,
          double u,
          double v,
          int n_press)
{
  double x, y;

  at_mm (bench, u, v, &x, &y);
  ef_face_canvas_hover (bench->canvas, x, y);
  ef_face_canvas_press (bench->canvas, x, y, n_press, EF_TOUCH_POINTER);
  ef_face_canvas_release (bench->canvas, x, y);
}

static GPtrArray *
all_marks (Bench *bench)
{
  return ef_document_inspection (bench->document)->items[EF_ITEM_MARK];
}

static EfMark *
mark_number (Bench *bench,
             guint i)
{
  g_assert_cmpuint (i, <, all_marks (bench)->len);
  return g_ptr_array_index (all_marks (bench), i);
}

static EfMarkNode *
node (EfMark *mark,
      guint i)
{
  g_assert_cmpuint (i, <, mark->nodes->len);
  return &g_array_index (mark->nodes, EfMarkNode, i);
}

/* A pixel of the canvas at most: where a press was rounded. */
static double
pixel (Bench *bench)
{
  double u0, v0, u1, v1;

  ef_face_canvas_to_chart (bench->canvas, 0, 0, &u0, &v0);
  ef_face_canvas_to_chart (bench->canvas, 1, 0, &u1, &v1);
  return u1 - u0;
}

static void
no_snap (Bench *bench)
{
  g_object_set (bench->canvas, "snap", FALSE, NULL);
}

static void
type_into (Bench *bench,
           const char *field,
           const char *text)
{
  GtkWidget *entry = ef_field_entry (ef_mark_card_field (bench->card, field));

  gtk_widget_grab_focus (entry);
  gtk_editable_set_text (GTK_EDITABLE (entry), text);
  g_signal_emit_by_name (entry, "activate");
}

static void
run_action (Bench *bench,
            const char *name)
{
  g_assert_true (gtk_widget_activate_action (bench->page, name, NULL));
}

/* --- Drawing -------------------------------------------------------------------------------------------------------------------- */

static void
test_line_then_depth (Bench *bench,
                      gconstpointer data)
{
  EfMark *mark;
  double px = pixel (bench);
  GtkWidget *depth = ef_field_entry (ef_mark_card_field (bench->card, "depth"));

  no_snap (bench);
  ef_face_canvas_set_kind (bench->canvas, EF_MARK_GROOVE);
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_LINE);
  drag_mm (bench, -4, -12, 3, 11);

  g_assert_cmpuint (all_marks (bench)->len, ==, 1);
  mark = mark_number (bench, 0);
  g_assert_cmpint (mark->kind, ==, EF_MARK_GROOVE);
  g_assert_cmpint (mark->shape, ==, EF_SHAPE_LINE);
  g_assert_cmpuint (mark->nodes->len, ==, 2);
  g_assert_cmpfloat_with_epsilon (node (mark, 0)->u, -4e-3, px);
  g_assert_cmpfloat_with_epsilon (node (mark, 1)->v, 11e-3, px);
  g_assert_cmpuint (mark->depths->len, ==, 0);
  g_assert_cmpstr (ef_session_mark (bench->session), ==, mark->item.id);

  /* The depth is asked for at once. */
  g_assert_true (gtk_widget_has_focus (GTK_WIDGET (gtk_editable_get_delegate (GTK_EDITABLE (depth)))));
  type_into (bench, "depth", "0,04 mm");
  mark = mark_number (bench, 0);
  g_assert_cmpuint (mark->depths->len, ==, 1);
  g_assert_cmpfloat (g_array_index (mark->depths, EfMarkDepth, 0).depth, ==, ef_length_from_mm (0.04));
  /* And the keyboard goes back to the face. */
  g_assert_true (gtk_widget_has_focus (GTK_WIDGET (bench->canvas)));

  type_into (bench, "depth", "1.5 thou");
  mark = mark_number (bench, 0);
  /* 1 thou is 25.4 um exactly (international inch). */
  g_assert_cmpfloat (g_array_index (mark->depths, EfMarkDepth, 0).depth, ==, ef_length_on_grid (38.1e-6));
  g_assert_cmpint (g_array_index (mark->depths, EfMarkDepth, 0).unit, ==, EF_UNIT_THOU);

  /* Three changes, three steps back and forth. */
  ef_session_undo (bench->session);
  g_assert_cmpfloat (ef_mark_deepest (mark_number (bench, 0)), ==, ef_length_from_mm (0.04));
  ef_session_undo (bench->session);
  ef_session_undo (bench->session);
  g_assert_cmpuint (all_marks (bench)->len, ==, 0);
  g_assert_false (ef_document_can_undo (bench->document));
  ef_session_redo (bench->session);
  ef_session_redo (bench->session);
  g_assert_cmpfloat (ef_mark_deepest (mark_number (bench, 0)), ==, ef_length_from_mm (0.04));
}

static void
test_point_and_area (Bench *bench,
                     gconstpointer data)
{
  double px = pixel (bench), x, y;
  EfMark *mark;
  int i;

  no_snap (bench);
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_POINT);
  drag_mm (bench, -20, 14, -18, 14);
  mark = mark_number (bench, 0);
  g_assert_cmpint (mark->shape, ==, EF_SHAPE_POINT);
  g_assert_cmpfloat_with_epsilon (mark->size, 4e-3, 2 * px);

  /* A press without a drag takes the last diameter. */
  click_mm (bench, 20, 14, 1);
  g_assert_cmpfloat (mark_number (bench, 1)->size, ==, mark->size);

  /* Node after node; the double press ends it without one more node. */
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_AREA);
  click_mm (bench, 10, -5, 1);
  click_mm (bench, 20, -5, 1);
  click_mm (bench, 20, 5, 1);
  g_assert_cmpuint (all_marks (bench)->len, ==, 2);
  click_mm (bench, 20, 5, 2);
  g_assert_cmpuint (all_marks (bench)->len, ==, 3);
  g_assert_cmpuint (mark_number (bench, 2)->nodes->len, ==, 3);

  /* Freehand round a circle of 4 mm: area within 5 % of the circle's, and far fewer nodes than the stroke had points. */
  at_mm (bench, -16, 0, &x, &y);
  ef_face_canvas_press (bench->canvas, x, y, 1, EF_TOUCH_FINGER);
  for (i = 1; i < 200; i++)
    {
      at_mm (bench, -20 + 4 * cos (2 * G_PI * i / 200), 4 * sin (2 * G_PI * i / 200), &x, &y);
      ef_face_canvas_drag_to (bench->canvas, x, y);
    }
  ef_face_canvas_release (bench->canvas, x, y);
  mark = mark_number (bench, 3);
  g_assert_cmpint (mark->shape, ==, EF_SHAPE_AREA);
  g_assert_cmpuint (mark->nodes->len, <, 40);
  g_assert_cmpuint (mark->nodes->len, >, 5);
  g_assert_cmpfloat_with_epsilon (ef_mark_area (mark), G_PI * 16e-6, 0.05 * G_PI * 16e-6);
}

static void
test_polyline_ends_and_cancels (Bench *bench,
                                gconstpointer data)
{
  no_snap (bench);
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_LINE);
  click_mm (bench, -10, 0, 1);
  click_mm (bench, 0, 5, 1);
  click_mm (bench, 10, 0, 1);
  click_mm (bench, 14, 3, 1);
  /* Backspace takes the last node away. */
  ef_face_canvas_delete (bench->canvas);
  run_action (bench, "face.finish");
  g_assert_cmpuint (all_marks (bench)->len, ==, 1);
  g_assert_cmpuint (mark_number (bench, 0)->nodes->len, ==, 3);

  click_mm (bench, -10, 8, 1);
  click_mm (bench, 0, 8, 1);
  g_assert_true (ef_face_canvas_cancel (bench->canvas));
  g_assert_cmpuint (all_marks (bench)->len, ==, 1);
  /* One more step back leaves the tool, then the selection, then there is nothing to leave. */
  g_assert_true (ef_face_canvas_cancel (bench->canvas));
  g_assert_cmpint (ef_face_canvas_tool (bench->canvas), ==, EF_TOOL_SELECT);
  g_assert_true (ef_face_canvas_cancel (bench->canvas));
  g_assert_null (ef_session_mark (bench->session));
  g_assert_false (ef_face_canvas_cancel (bench->canvas));

  /* A second finger or a lost grab drops the stroke without a change. */
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_LINE);
  ef_face_canvas_press (bench->canvas, 100, 100, 1, EF_TOUCH_FINGER);
  ef_face_canvas_drag_to (bench->canvas, 180, 120);
  ef_face_canvas_cancel (bench->canvas);
  ef_face_canvas_release (bench->canvas, 180, 120);
  g_assert_cmpuint (all_marks (bench)->len, ==, 1);
}

static void
test_pen_draws_at_once (Bench *bench,
                        gconstpointer data)
{
  double x, y;

  /* With the select tool, on empty ground: the pen draws a line where a mouse would move the face. */
  no_snap (bench);
  at_mm (bench, -5, -10, &x, &y);
  ef_face_canvas_press (bench->canvas, x, y, 1, EF_TOUCH_PEN);
  ef_face_canvas_drag_to (bench->canvas, x + 60, y + 20);
  ef_face_canvas_release (bench->canvas, x + 80, y + 30);
  g_assert_cmpuint (all_marks (bench)->len, ==, 1);
  g_assert_cmpint (mark_number (bench, 0)->shape, ==, EF_SHAPE_LINE);
}

/* --- Reshaping ------------------------------------------------------------------------------------------------------------------ */

static void
draw_line (Bench *bench)
{
  no_snap (bench);
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_LINE);
  drag_mm (bench, -20, -5, 20, 8);
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_SELECT);
}

static void
test_move_and_reshape (Bench *bench,
                       gconstpointer data)
{
  double px = pixel (bench), x, y, size;
  EfMark *mark;

  draw_line (bench);
  type_into (bench, "depth", "0.05");

  /* A node, by its handle. */
  drag_mm (bench, 20, 8, 16, 12);
  mark = mark_number (bench, 0);
  g_assert_cmpfloat_with_epsilon (node (mark, 1)->u, 16e-3, px);
  g_assert_cmpfloat_with_epsilon (node (mark, 1)->v, 12e-3, px);
  g_assert_cmpfloat_with_epsilon (node (mark, 0)->u, -20e-3, px);
  g_assert_cmpint (ef_face_canvas_node (bench->canvas), ==, 1);

  /* The plus in the middle makes a node. */
  drag_mm (bench, -2, 3.5, -2, -8);
  mark = mark_number (bench, 0);
  g_assert_cmpuint (mark->nodes->len, ==, 3);
  g_assert_cmpfloat_with_epsilon (node (mark, 1)->v, -8e-3, px);
  g_assert_cmpint (ef_face_canvas_node (bench->canvas), ==, 1);

  /* Delete takes the active node, then refuses, then the mark. */
  ef_face_canvas_delete (bench->canvas);
  g_assert_cmpuint (mark_number (bench, 0)->nodes->len, ==, 2);
  ef_face_canvas_set_node (bench->canvas, 0);
  ef_face_canvas_delete (bench->canvas);
  g_assert_cmpuint (mark_number (bench, 0)->nodes->len, ==, 2);
  g_assert_nonnull (bench->message);

  /* The whole mark, by its body: a quarter of the way along, clear of handles. The depth reading moves with it. */
  drag_mm (bench, -11, -0.75, -11, 3.25);
  mark = mark_number (bench, 0);
  g_assert_cmpfloat_with_epsilon (node (mark, 0)->v, -1e-3, 2 * px);
  g_assert_cmpfloat_with_epsilon (node (mark, 1)->v, 16e-3, 2 * px);
  g_assert_cmpfloat (g_array_index (mark->depths, EfMarkDepth, 0).v, ==, node (mark, 0)->v);

  /* Its width, by the square handle, 48 px off the edge of the line. */
  size = mark->size;
  ef_face_canvas_to_widget (bench->canvas, (node (mark, 0)->u + node (mark, 1)->u) / 2, (node (mark, 0)->v + node (mark, 1)->v) / 2, &x, &y);
  {
    double dx = 36, dy = -17, length = hypot (36, 17), nx, ny, reach = size / 2 / px + 48;

    dx /= length;
    dy /= length;
    nx = dy;
    ny = -dx;
    ef_face_canvas_press (bench->canvas, x + nx * reach, y + ny * reach, 1, EF_TOUCH_POINTER);
    ef_face_canvas_drag_to (bench->canvas, x + nx * (reach + 20), y + ny * (reach + 20));
    ef_face_canvas_release (bench->canvas, x + nx * (reach + 20), y + ny * (reach + 20));
  }
  mark = mark_number (bench, 0);
  g_assert_cmpfloat_with_epsilon (mark->size, size + 40 * px, 3 * px);

  ef_face_canvas_set_node (bench->canvas, -1);
  ef_face_canvas_delete (bench->canvas);
  g_assert_cmpuint (all_marks (bench)->len, ==, 0);
  /* Each gesture was one step: line, depth, node, plus, node off, move, width, delete. */
  {
    int steps = 0;

    while (ef_document_can_undo (bench->document))
      {
        ef_session_undo (bench->session);
        steps++;
      }
    g_assert_cmpint (steps, ==, 8);
  }
}

static void
test_press_selects_smallest (Bench *bench,
                             gconstpointer data)
{
  no_snap (bench);
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_AREA);
  click_mm (bench, 8, -14, 1);
  click_mm (bench, 34, -14, 1);
  click_mm (bench, 34, 14, 1);
  click_mm (bench, 8, 14, 1);
  run_action (bench, "face.finish");
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_POINT);
  drag_mm (bench, 20, 0, 21, 0);
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_SELECT);
  ef_session_select_mark (bench->session, NULL);

  click_mm (bench, 20.2, 0, 1);
  g_assert_cmpstr (ef_session_mark (bench->session), ==, mark_number (bench, 1)->item.id);
  click_mm (bench, 12, 10, 1);
  g_assert_cmpstr (ef_session_mark (bench->session), ==, mark_number (bench, 0)->item.id);
  /* The list goes with it, and the other way round. */
  g_assert_cmpstr (ef_mark_list_selected (ef_map_page_list (EF_MAP_PAGE (bench->page))), ==, mark_number (bench, 0)->item.id);
  ef_mark_list_select (ef_map_page_list (EF_MAP_PAGE (bench->page)), 1);
  g_assert_cmpstr (ef_session_mark (bench->session), ==, mark_number (bench, 1)->item.id);
  g_assert_cmpint (ef_face_canvas_selected (bench->canvas)->number, ==, 2);
  /* Empty ground drops the selection. */
  click_mm (bench, -30, -28, 1);
  g_assert_null (ef_session_mark (bench->session));
}

/* --- Snapping, zoom, ruler ------------------------------------------------------------------------------------------------------ */

static void
test_snap (Bench *bench,
           gconstpointer data)
{
  EfFaceChart *chart = ef_face_canvas_chart (bench->canvas);
  const EfSnap *circle = NULL;
  double u, v, x, y;
  g_autofree char *hint = NULL;
  EfMark *mark;
  guint i;

  for (i = 0; i < chart->snaps->len && circle == NULL; i++)
    if (g_array_index (chart->snaps, EfSnap, i).kind == EF_SNAP_CIRCLE)
      circle = &g_array_index (chart->snaps, EfSnap, i);
  g_assert_nonnull (circle);

  /* 6 px outside the circle, in a direction where nothing else is named. */
  u = circle->u + circle->radius * cos (0.7);
  v = circle->v + circle->radius * sin (0.7);
  ef_face_canvas_to_widget (bench->canvas, u, v, &x, &y);
  x += 6 * cos (0.7);
  y -= 6 * sin (0.7);
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_POINT);
  ef_face_canvas_hover (bench->canvas, x, y);
  g_object_get (bench->canvas, "hint", &hint, NULL);
  g_assert_nonnull (hint);
  ef_face_canvas_press (bench->canvas, x, y, 1, EF_TOUCH_POINTER);
  ef_face_canvas_release (bench->canvas, x, y);
  mark = mark_number (bench, 0);
  {
    double su = node (mark, 0)->u, sv = node (mark, 0)->v;

    /* What was caught is a fixed point of snapping. */
    g_assert_nonnull (ef_face_chart_snap (chart, 1e-6, &su, &sv));
    g_assert_cmpfloat_with_epsilon (su, node (mark, 0)->u, 2e-9);
    g_assert_cmpfloat_with_epsilon (sv, node (mark, 0)->v, 2e-9);
  }

  /* Off: the place is where it was pressed. */
  run_action (bench, "face.snap");
  ef_face_canvas_press (bench->canvas, x, y, 1, EF_TOUCH_POINTER);
  ef_face_canvas_release (bench->canvas, x, y);
  ef_face_canvas_to_chart (bench->canvas, x, y, &u, &v);
  g_assert_cmpfloat_with_epsilon (node (mark_number (bench, 1), 0)->u, u, 1e-9);
  g_assert_cmpfloat_with_epsilon (node (mark_number (bench, 1), 0)->v, v, 1e-9);
}

static void
test_zoom_and_pan (Bench *bench,
                   gconstpointer data)
{
  const double places[][2] = { { 50, 60 }, { 300, 200 }, { 420, 333 } };
  const double factors[] = { 1.2, 3, 0.4, 1.7 };
  double u0, v0, u1, v1, x, y, zoom;
  guint i, k;

  for (i = 0; i < G_N_ELEMENTS (places); i++)
    for (k = 0; k < G_N_ELEMENTS (factors); k++)
      {
        ef_face_canvas_to_chart (bench->canvas, places[i][0], places[i][1], &u0, &v0);
        ef_face_canvas_zoom_at (bench->canvas, factors[k], places[i][0], places[i][1]);
        ef_face_canvas_to_chart (bench->canvas, places[i][0], places[i][1], &u1, &v1);
        g_assert_cmpfloat_with_epsilon (u1, u0, 1e-12);
        g_assert_cmpfloat_with_epsilon (v1, v0, 1e-12);
      }

  ef_face_canvas_fit (bench->canvas);
  g_assert_cmpfloat_with_epsilon (ef_face_canvas_zoom (bench->canvas), 1, 1e-12);
  ef_face_canvas_to_widget (bench->canvas, 0, 0, &x, &y);
  ef_face_canvas_pan_by (bench->canvas, 31, -17);
  ef_face_canvas_to_widget (bench->canvas, 0, 0, &u1, &v1);
  g_assert_cmpfloat_with_epsilon (u1 - x, 31, 1e-9);
  g_assert_cmpfloat_with_epsilon (v1 - y, -17, 1e-9);
  /* However far it is pushed, a piece stays in sight. */
  ef_face_canvas_pan_by (bench->canvas, 1e5, 1e5);
  ef_face_canvas_to_widget (bench->canvas, ef_face_canvas_chart (bench->canvas)->u0, ef_face_canvas_chart (bench->canvas)->v1, &x, &y);
  g_assert_cmpfloat (x, <, gtk_widget_get_width (GTK_WIDGET (bench->canvas)));
  g_assert_cmpfloat (y, <, gtk_widget_get_height (GTK_WIDGET (bench->canvas)));

  /* Limits and nonsense. */
  ef_face_canvas_fit (bench->canvas);
  ef_face_canvas_zoom_at (bench->canvas, NAN, 10, 10);
  ef_face_canvas_zoom_at (bench->canvas, -2, 10, 10);
  g_assert_cmpfloat_with_epsilon (ef_face_canvas_zoom (bench->canvas), 1, 1e-12);
  for (i = 0; i < 100; i++)
    ef_face_canvas_zoom_at (bench->canvas, 2, 10, 10);
  zoom = ef_face_canvas_zoom (bench->canvas);
  g_assert_true (isfinite (zoom));
  run_action (bench, "face.zoom-out");
  g_assert_cmpfloat_with_epsilon (ef_face_canvas_zoom (bench->canvas), 0.8 * zoom, 1e-9 * zoom);
  ef_face_canvas_settle (bench->canvas);
}

static void
test_ruler (Bench *bench,
            gconstpointer data)
{
  g_autofree char *hint = NULL;

  no_snap (bench);
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_RULER);
  drag_mm (bench, -10, -5, -7, -1);
  g_object_get (bench->canvas, "hint", &hint, NULL);
  /* 3-4-5: 5 mm at 53.13 degrees; a pixel is some tenths of a millimetre, so only the leading figures are asked for. */
  g_assert_nonnull (hint);
  g_assert_cmpfloat_with_epsilon (g_ascii_strtod (hint, NULL), 5, 0.05);
  g_assert_nonnull (strstr (hint, "53."));
  g_assert_cmpuint (all_marks (bench)->len, ==, 0);
  g_assert_false (ef_document_can_undo (bench->document));
}

static void
test_read_out (Bench *bench,
               gconstpointer data)
{
  g_autofree char *text = NULL;
  double x, y;

  at_mm (bench, -12, 9, &x, &y);
  ef_face_canvas_hover (bench->canvas, x, y);
  g_object_get (bench->canvas, "read-out", &text, NULL);
  g_assert_nonnull (text);
  g_assert_true (g_str_has_prefix (text, "x -12.00   y 9.00 mm"));
  g_assert_nonnull (strstr (text, "°"));
  g_assert_nonnull (strstr (text, "radius"));
}

/* --- From the keyboard ---------------------------------------------------------------------------------------------------------- */

static void
test_keyboard_mark (Bench *bench,
                    gconstpointer data)
{
  EfMark *mark;

  run_action (bench, "face.new-mark");
  ef_mark_card_set_new_shape (bench->card, EF_SHAPE_LINE);
  gtk_editable_set_text (GTK_EDITABLE (ef_field_entry (ef_mark_card_field (bench->card, "new-places"))), "12,5 -3; 14 mm, 2 mm; 16,2");
  gtk_editable_set_text (GTK_EDITABLE (ef_field_entry (ef_mark_card_field (bench->card, "new-size"))), "300 um");
  type_into (bench, "new-depth", "1.5 thou");
  g_assert_cmpuint (all_marks (bench)->len, ==, 1);
  mark = mark_number (bench, 0);
  g_assert_cmpuint (mark->nodes->len, ==, 3);
  g_assert_cmpfloat (node (mark, 0)->u, ==, ef_length_from_mm (12.5));
  g_assert_cmpfloat (node (mark, 0)->v, ==, ef_length_from_mm (-3));
  g_assert_cmpfloat (node (mark, 1)->u, ==, ef_length_from_mm (14));
  g_assert_cmpfloat (node (mark, 2)->u, ==, ef_length_from_mm (16));
  g_assert_cmpfloat (node (mark, 2)->v, ==, ef_length_from_mm (2));
  g_assert_cmpfloat (mark->size, ==, ef_length_from_mm (0.3));
  g_assert_cmpfloat (ef_mark_deepest (mark), ==, ef_length_on_grid (38.1e-6));
  g_assert_cmpstr (ef_session_mark (bench->session), ==, mark->item.id);
  g_assert_true (gtk_widget_has_focus (GTK_WIDGET (bench->canvas)));

  /* Arrows move it by a step of the grid, with Ctrl by a tenth; without a selection they move the face. */
  {
    double step = ef_face_canvas_grid_step (bench->canvas), x0, y0, x1, y1;

    ef_face_canvas_nudge (bench->canvas, 1, 0, FALSE);
    ef_face_canvas_nudge (bench->canvas, 0, -1, TRUE);
    g_assert_cmpfloat_with_epsilon (node (mark_number (bench, 0), 0)->u, 12.5e-3 + step, 1e-9);
    g_assert_cmpfloat_with_epsilon (node (mark_number (bench, 0), 0)->v, -3e-3 - step / 10, 1e-9);
    ef_session_select_mark (bench->session, NULL);
    at_mm (bench, 0, 0, &x0, &y0);
    ef_face_canvas_nudge (bench->canvas, 1, 0, FALSE);
    at_mm (bench, 0, 0, &x1, &y1);
    g_assert_cmpfloat (x1, <, x0);
    g_assert_cmpfloat (node (mark_number (bench, 0), 0)->u, ==, node (mark, 0)->u + (node (mark_number (bench, 0), 0)->u - node (mark, 0)->u));
  }
}

static void
test_bad_input_keeps_text (Bench *bench,
                           gconstpointer data)
{
  EfField *depth = ef_mark_card_field (bench->card, "depth");
  EfField *size = ef_mark_card_field (bench->card, "size");
  EfField *places = ef_mark_card_field (bench->card, "new-places");

  draw_line (bench);
  type_into (bench, "depth", "0.04x");
  g_assert_nonnull (ef_field_message (depth));
  g_assert_cmpstr (ef_field_text (depth), ==, "0.04x");
  g_assert_cmpuint (mark_number (bench, 0)->depths->len, ==, 0);
  type_into (bench, "depth", "-0.04");
  g_assert_nonnull (ef_field_message (depth));
  type_into (bench, "depth", "21 mm");
  g_assert_nonnull (ef_field_message (depth));
  type_into (bench, "size", "0");
  g_assert_nonnull (ef_field_message (size));
  g_assert_cmpuint (mark_number (bench, 0)->depths->len, ==, 0);
  type_into (bench, "depth", "0.04");
  g_assert_null (ef_field_message (depth));
  g_assert_cmpfloat (ef_mark_deepest (mark_number (bench, 0)), ==, ef_length_from_mm (0.04));
  /* Empty: not known again. */
  type_into (bench, "depth", "");
  g_assert_cmpuint (mark_number (bench, 0)->depths->len, ==, 0);

  run_action (bench, "face.new-mark");
  ef_mark_card_set_new_shape (bench->card, EF_SHAPE_AREA);
  type_into (bench, "new-places", "1, 2; 3, 4");
  g_assert_nonnull (ef_field_message (places));
  type_into (bench, "new-places", "1, 2; 3, ; 5, 6");
  g_assert_nonnull (ef_field_message (places));
  g_assert_nonnull (strstr (ef_field_message (places), "2"));
  g_assert_cmpstr (ef_field_text (places), ==, "1, 2; 3, ; 5, 6");
  g_assert_cmpuint (all_marks (bench)->len, ==, 1);
}

static void
test_node_table (Bench *bench,
                 gconstpointer data)
{
  EfNodeTable *table;
  GtkEntry *x, *depth;
  EfMark *mark;

  draw_line (bench);
  table = ef_mark_card_nodes (bench->card);
  x = ef_node_table_entry (table, 1, 0);
  g_assert_nonnull (x);
  gtk_editable_set_text (GTK_EDITABLE (x), "17,25 mm");
  g_signal_emit_by_name (x, "activate");
  g_assert_cmpfloat (node (mark_number (bench, 0), 1)->u, ==, ef_length_from_mm (17.25));
  depth = ef_node_table_entry (table, 0, 2);
  gtk_editable_set_text (GTK_EDITABLE (depth), "0.03");
  g_signal_emit_by_name (depth, "activate");
  depth = ef_node_table_entry (table, 1, 2);
  gtk_editable_set_text (GTK_EDITABLE (depth), "70 um");
  g_signal_emit_by_name (depth, "activate");
  mark = mark_number (bench, 0);
  g_assert_cmpuint (mark->depths->len, ==, 2);
  g_assert_cmpfloat (ef_mark_deepest (mark), ==, ef_length_from_mm (0.07));
  /* Half way along the line, half way between: the interpolation of wear/. */
  g_assert_cmpfloat_with_epsilon (ef_mark_depth_at (mark, (node (mark, 0)->u + node (mark, 1)->u) / 2, (node (mark, 0)->v + node (mark, 1)->v) / 2), 0.05e-3, 1e-9);

  gtk_editable_set_text (GTK_EDITABLE (ef_node_table_entry (table, 0, 1)), "two");
  g_signal_emit_by_name (ef_node_table_entry (table, 0, 1), "activate");
  g_assert_nonnull (ef_node_table_message (table, 0));
  g_assert_cmpstr (gtk_editable_get_text (GTK_EDITABLE (ef_node_table_entry (table, 0, 1))), ==, "two");
}

static void
test_number_pad (Bench *bench,
                 gconstpointer data)
{
  const char *const keys[] = { "9", "back", "0", ".", "0", "7", "enter" };
  guint i;

  draw_line (bench);
  ef_mark_card_enter_depth (bench->card);
  for (i = 0; i < G_N_ELEMENTS (keys); i++)
    ef_number_pad_press (ef_mark_card_pad (bench->card), keys[i]);
  g_assert_cmpfloat (ef_mark_deepest (mark_number (bench, 0)), ==, ef_length_from_mm (0.07));
}

/* Forward from nothing: first, second, then out; and back. */
static void
test_steps_through_marks (Bench *bench,
                          gconstpointer data)
{
  no_snap (bench);
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_POINT);
  click_mm (bench, -20, 14, 1);
  click_mm (bench, 20, 14, 1);
  ef_session_select_mark (bench->session, NULL);
  gtk_widget_grab_focus (GTK_WIDGET (bench->canvas));
  g_assert_true (gtk_widget_child_focus (GTK_WIDGET (bench->canvas), GTK_DIR_TAB_FORWARD));
  g_assert_cmpstr (ef_session_mark (bench->session), ==, mark_number (bench, 0)->item.id);
  g_assert_true (gtk_widget_child_focus (GTK_WIDGET (bench->canvas), GTK_DIR_TAB_FORWARD));
  g_assert_cmpstr (ef_session_mark (bench->session), ==, mark_number (bench, 1)->item.id);
  g_assert_false (gtk_widget_child_focus (GTK_WIDGET (bench->canvas), GTK_DIR_TAB_FORWARD));
  g_assert_true (gtk_widget_child_focus (GTK_WIDGET (bench->canvas), GTK_DIR_TAB_BACKWARD));
  g_assert_cmpstr (ef_session_mark (bench->session), ==, mark_number (bench, 0)->item.id);
}

/* A mark that is stepped to comes into sight, and no further than it must. */
static void
test_reveal (Bench *bench,
             gconstpointer data)
{
  double x, y, x0, y0;
  int i;

  no_snap (bench);
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_POINT);
  click_mm (bench, -40, 0, 1);
  click_mm (bench, 40, 0, 1);
  for (i = 0; i < 6; i++)
    {
      at_mm (bench, 40, 0, &x, &y);
      ef_face_canvas_zoom_at (bench->canvas, 1.5, x, y);
    }
  at_mm (bench, -40, 0, &x, &y);
  g_assert_cmpfloat (x, <, 0);
  ef_face_canvas_step_mark (bench->canvas, -1);
  at_mm (bench, -40, 0, &x, &y);
  g_assert_cmpfloat (x, >, 0);
  g_assert_cmpfloat (x, <, gtk_widget_get_width (GTK_WIDGET (bench->canvas)) / 2.0);
  at_mm (bench, 0, 0, &x0, &y0);
  ef_session_select_mark (bench->session, NULL);
  ef_face_canvas_step_mark (bench->canvas, 1);
  at_mm (bench, 0, 0, &x, &y);
  g_assert_cmpfloat (x, ==, x0);
}

static void
test_every_tooth (Bench *bench,
                  gconstpointer data)
{
  EfFaceChart *chart = ef_face_canvas_chart (bench->canvas);
  guint teeth = (guint) chart->section->pair.in.teeth[chart->gear];
  guint before;

  no_snap (bench);
  ef_face_canvas_set_tool (bench->canvas, EF_TOOL_POINT);
  click_mm (bench, chart->section->pair.in.tip_radius[chart->gear] * 900, 0, 1);
  g_assert_cmpuint (all_marks (bench)->len, ==, 1);
  run_action (bench, "face.teeth");
  g_assert_cmpuint (all_marks (bench)->len, ==, teeth);
  ef_session_undo (bench->session);
  g_assert_cmpuint (all_marks (bench)->len, ==, 1);
  before = all_marks (bench)->len;
  run_action (bench, "face.mate");
  g_assert_cmpuint (all_marks (bench)->len, ==, before + 1);
  g_assert_cmpstr (mark_number (bench, 1)->face_id, !=, mark_number (bench, 0)->face_id);
}

/* --- The page ----------------------------------------------------------------------------------------------------------------------- */

static void
test_accessible (Bench *bench,
                 gconstpointer data)
{
  const char *wrong;

  gtk_test_accessible_assert_role (GTK_ACCESSIBLE (bench->canvas), GTK_ACCESSIBLE_ROLE_IMG);
  /* The check gives the value that is there where it differs. */
  wrong = gtk_test_accessible_check_property (GTK_ACCESSIBLE (bench->canvas), GTK_ACCESSIBLE_PROPERTY_LABEL, ef_face_canvas_chart (bench->canvas)->name);
  g_assert_cmpstr (wrong, ==, NULL);
  draw_line (bench);
  type_into (bench, "depth", "0.04");
  wrong = gtk_test_accessible_check_property (GTK_ACCESSIBLE (bench->canvas), GTK_ACCESSIBLE_PROPERTY_DESCRIPTION,
                                              "1 mark, zoom 100 %. Selected: mark 1, Scoring, 0.040 mm");
  g_assert_cmpstr (wrong, ==, NULL);
}

static void
test_press_part (Bench *bench,
                 gconstpointer data)
{
  EfExplodedView *exploded = ef_map_page_exploded (EF_MAP_PAGE (bench->page));
  double x, y;

  g_assert_true (ef_exploded_view_place (exploded, "pressure-drive-gear", &x, &y));
  g_assert_true (ef_exploded_view_press (exploded, x, y));
  g_assert_cmpstr (ef_session_part (bench->session), ==, "pressure-drive-gear");
  g_assert_true (g_str_has_prefix (ef_session_face (bench->session), "pressure-drive-gear/"));
  g_assert_cmpuint (ef_face_row_length (ef_map_page_faces (EF_MAP_PAGE (bench->page))), >=, 5);
  /* Keys go to the face from now on. */
  g_assert_true (gtk_widget_has_focus (GTK_WIDGET (bench->canvas)));
  gtk_toggle_button_set_active (GTK_TOGGLE_BUTTON (ef_face_row_button (ef_map_page_faces (EF_MAP_PAGE (bench->page)), 2)), TRUE);
  g_assert_cmpstr (ef_session_face (bench->session), ==, ef_face_canvas_chart (bench->canvas)->id);
}

static void
test_figures_follow (Bench *bench,
                     gconstpointer data)
{
  EfFigureStrip *strip = ef_map_page_strip (EF_MAP_PAGE (bench->page));
  g_autofree char *before = NULL;
  gboolean told = FALSE;
  guint i;

  ef_session_settle (bench->session);
  g_assert_cmpint (ef_figure_strip_part_verdict (strip), ==, EF_VERDICT_USE);
  ef_face_canvas_set_kind (bench->canvas, EF_MARK_GROOVE);
  draw_line (bench);
  type_into (bench, "depth", "0.2 mm");
  ef_session_settle (bench->session);
  for (i = 0; i < ef_figure_strip_length (strip); i++)
    told = told || strstr (ef_figure_strip_text (strip, i), "found 0.200 mm") != NULL;
  g_assert_true (told);
  g_assert_cmpint (ef_figure_strip_part_verdict (strip), ==, EF_VERDICT_REWORK);
  ef_session_undo (bench->session);
  ef_session_undo (bench->session);
  ef_session_settle (bench->session);
  g_assert_cmpint (ef_figure_strip_part_verdict (strip), ==, EF_VERDICT_USE);
}

/* A session that may only be looked at changes nothing, whatever is pressed. */
static void
test_read_only (void)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  EfPumpSheet *sheet = ef_pump_sheet_load (path, NULL);
  Bench bench = { 0 };

  bench.document = ef_document_new (ef_inspection_new (sheet, "J-0413"));
  ef_pump_sheet_unref (sheet);
  bench.session = ef_session_new (bench.document, NULL, 0, TRUE);
  bench.page = ef_map_page_new (bench.session);
  bench.canvas = ef_map_page_canvas (EF_MAP_PAGE (bench.page));
  bench.window = gtk_window_new ();
  gtk_window_set_default_size (GTK_WINDOW (bench.window), 1270, 780);
  gtk_window_set_child (GTK_WINDOW (bench.window), bench.page);
  ef_session_select_face (bench.session, "separator/side-a");
  gtk_window_present (GTK_WINDOW (bench.window));
  g_assert_true (wait_for (is_laid_out, &bench));
  ef_face_canvas_set_tool (bench.canvas, EF_TOOL_LINE);
  drag_mm (&bench, -5, -5, 5, 5);
  gtk_widget_activate_action (bench.page, "face.new-mark", NULL);
  g_assert_cmpuint (all_marks (&bench)->len, ==, 0);
  tear_down (&bench, NULL);
}

/* --- A journey with the real pointer --------------------------------------------------------------------------------------------- */

typedef struct
{
  Display *display;
  int x0, y0; /* of the canvas on the screen */
} Pointer;

static void
find_canvas (Bench *bench,
             Pointer *pointer)
{
  GdkSurface *surface = gtk_native_get_surface (GTK_NATIVE (bench->window));
  graphene_point_t origin = GRAPHENE_POINT_INIT (0, 0), place;
  double sx, sy;
  Window child;
  int x, y;

  pointer->display = gdk_x11_display_get_xdisplay (gdk_surface_get_display (surface));
  XTranslateCoordinates (pointer->display, gdk_x11_surface_get_xid (surface), DefaultRootWindow (pointer->display), 0, 0, &x, &y, &child);
  gtk_native_get_surface_transform (GTK_NATIVE (bench->window), &sx, &sy);
  g_assert_true (gtk_widget_compute_point (GTK_WIDGET (bench->canvas), bench->window, &origin, &place));
  pointer->x0 = x + (int) lround (sx + place.x);
  pointer->y0 = y + (int) lround (sy + place.y);
}

static void
settle_input (Pointer *pointer)
{
  gint64 end = g_get_monotonic_time () + 60000;

  XSync (pointer->display, False);
  while (g_get_monotonic_time () < end)
    {
      g_main_context_iteration (NULL, FALSE);
      g_usleep (1000);
    }
}

static void
real_move (Pointer *pointer,
           double x,
           double y)
{
  XTestFakeMotionEvent (pointer->display, -1, pointer->x0 + (int) lround (x), pointer->y0 + (int) lround (y), 0);
  settle_input (pointer);
}

static void
real_key (Pointer *pointer,
          KeySym sym)
{
  KeyCode code = XKeysymToKeycode (pointer->display, sym);

  XTestFakeKeyEvent (pointer->display, code, True, 0);
  XTestFakeKeyEvent (pointer->display, code, False, 0);
  settle_input (pointer);
}

static gboolean
has_one_mark (Bench *bench)
{
  return all_marks (bench)->len == 1;
}

static gboolean
has_depth (Bench *bench)
{
  return all_marks (bench)->len == 1 && mark_number (bench, 0)->depths->len == 1;
}

static gboolean
is_zoomed (Bench *bench)
{
  return ef_face_canvas_zoom (bench->canvas) > 1.1;
}

static void
test_real_pointer (Bench *bench,
                   gconstpointer data)
{
  Pointer pointer;
  double x0, y0, x1, y1, u0, v0, u1, v1, px = pixel (bench);
  EfMark *mark;
  int i;

  no_snap (bench);
  find_canvas (bench, &pointer);
  XSetInputFocus (pointer.display, gdk_x11_surface_get_xid (gtk_native_get_surface (GTK_NATIVE (bench->window))), RevertToParent, CurrentTime);
  gtk_widget_grab_focus (GTK_WIDGET (bench->canvas));
  settle_input (&pointer);
  real_key (&pointer, XK_l);
  g_assert_cmpint (ef_face_canvas_tool (bench->canvas), ==, EF_TOOL_LINE);

  at_mm (bench, -6, -14, &x0, &y0);
  at_mm (bench, 5, 12, &x1, &y1);
  real_move (&pointer, x0, y0);
  XTestFakeButtonEvent (pointer.display, 1, True, 0);
  settle_input (&pointer);
  for (i = 1; i <= 6; i++)
    real_move (&pointer, x0 + (x1 - x0) * i / 6, y0 + (y1 - y0) * i / 6);
  XTestFakeButtonEvent (pointer.display, 1, False, 0);
  g_assert_true (wait_for (has_one_mark, bench));
  mark = mark_number (bench, 0);
  g_assert_cmpuint (mark->nodes->len, ==, 2);
  g_assert_cmpfloat_with_epsilon (node (mark, 0)->u, -6e-3, 2 * px);
  g_assert_cmpfloat_with_epsilon (node (mark, 1)->v, 12e-3, 2 * px);

  /* The depth, typed at once. */
  settle_input (&pointer);
  real_key (&pointer, XK_0);
  real_key (&pointer, XK_period);
  real_key (&pointer, XK_1);
  real_key (&pointer, XK_Return);
  g_assert_true (wait_for (has_depth, bench));
  g_assert_cmpfloat (ef_mark_deepest (mark_number (bench, 0)), ==, ef_length_from_mm (0.1));

  /* The wheel: what is under the pointer stays there. */
  real_move (&pointer, x1, y1);
  ef_face_canvas_to_chart (bench->canvas, x1, y1, &u0, &v0);
  /* The first notch may only tell where the wheel stands. */
  for (i = 0; i < 3; i++)
    {
      XTestFakeButtonEvent (pointer.display, 4, True, 0);
      XTestFakeButtonEvent (pointer.display, 4, False, 0);
      settle_input (&pointer);
    }
  g_assert_true (wait_for (is_zoomed, bench));
  ef_face_canvas_to_chart (bench->canvas, x1, y1, &u1, &v1);
  g_assert_cmpfloat_with_epsilon (u1, u0, px);
  g_assert_cmpfloat_with_epsilon (v1, v0, px);
}

/* --- Without a window ------------------------------------------------------------------------------------------------------------ */

static void
test_places (void)
{
  static const struct
  {
    const char *text;
    double u, v; /* mm */
  } good[] = {
    { "12.5, -3", 12.5, -3 },
    { "12,5 -3", 12.5, -3 },
    { "12,5, -3", 12.5, -3 },
    { "12,-3", 12, -3 },
    { "12,5,3,2", 12.5, 3.2 },
    { "  1 mm   2 mm ", 1, 2 },
    { "1 mm, 200 um", 1, 0.2 },
    { "1, 2 in", 25.4, 50.8 },
  };
  static const char *const bad[] = { "", "12", "12.5,", ", 3", "a, b", "1 2 3", "1, 2 deg", "nan, 1" };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (good); i++)
    {
      g_autoptr (GError) error = NULL;
      double u, v;

      ef_parse_place (good[i].text, EF_UNIT_MM, &u, &v, &error);
      g_assert_no_error (error);
      g_assert_cmpfloat (u, ==, ef_length_from_mm (good[i].u));
      g_assert_cmpfloat (v, ==, ef_length_from_mm (good[i].v));
    }
  for (i = 0; i < G_N_ELEMENTS (bad); i++)
    {
      g_autoptr (GError) error = NULL;
      double u, v;

      g_assert_false (ef_parse_place (bad[i], EF_UNIT_MM, &u, &v, &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_PARSE);
    }
}

static void
test_exact_text (void)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (20260211);
  const EfUnit units[] = { EF_UNIT_MM, EF_UNIT_UM, EF_UNIT_THOU, EF_UNIT_INCH };
  int i;

  for (i = 0; i < 2000; i++)
    {
      double metres = ef_length_on_grid (g_rand_double_range (random, -0.2, 0.2)), back;
      EfUnit unit = units[i % 4];
      g_autofree char *text = ef_format_exact (metres, unit);

      g_assert_true (ef_parse_length (text, EF_UNIT_MM, &back, NULL, NULL));
      g_assert_cmpfloat (back, ==, metres);
    }
}

/* Against asking each mark in turn. */
static void
test_index (void)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (7);
  g_autoptr (GPtrArray) marks = g_ptr_array_new_with_free_func (ef_item_unref);
  EfFaceIndex *index;
  int i;
  guint k, found = 0;

  for (i = 0; i < 700; i++)
    {
      EfMarkShape shape = i % 3;
      EfMark *mark = ef_mark_new ("separator/side-a", EF_MARK_SCORING, shape, g_rand_double_range (random, 1e-4, 2e-3));
      double u = g_rand_double_range (random, -0.05, 0.05), v = g_rand_double_range (random, -0.03, 0.03);
      int n = shape == EF_SHAPE_POINT ? 1 : shape == EF_SHAPE_LINE ? 4
                                                                   : 5;

      for (k = 0; k < (guint) n; k++)
        ef_mark_add_node (mark, u + g_rand_double_range (random, -4e-3, 4e-3), v + g_rand_double_range (random, -4e-3, 4e-3));
      g_ptr_array_add (marks, mark);
    }
  index = ef_face_index_new (marks);
  for (i = 0; i < 2000; i++)
    {
      double u = g_rand_double_range (random, -0.06, 0.06), v = g_rand_double_range (random, -0.04, 0.04), reach = 5e-4;
      double nearest = G_MAXDOUBLE;
      EfMark *picked = ef_face_index_pick (index, u, v, reach);

      for (k = 0; k < marks->len; k++)
        nearest = MIN (nearest, ef_mark_distance (g_ptr_array_index (marks, k), u, v));
      g_assert_true ((picked != NULL) == (nearest <= reach));
      if (picked != NULL)
        {
          g_assert_cmpfloat (ef_mark_distance (picked, u, v), ==, nearest);
          found++;
        }
    }
  /* The comparison said something both ways. */
  g_assert_cmpuint (found, >, 100);
  g_assert_cmpuint (found, <, 1990);
  ef_face_index_free (index);

  g_ptr_array_set_size (marks, 0);
  index = ef_face_index_new (marks);
  g_assert_null (ef_face_index_pick (index, 0, 0, 1));
  ef_face_index_free (index);
}

static void
test_simplify (void)
{
  GArray *nodes = g_array_new (FALSE, FALSE, sizeof (EfMarkNode));
  int i;

  /* A right angle drawn with 101 points: its three corners are what remains. */
  for (i = 0; i <= 100; i++)
    {
      EfMarkNode at = { i <= 50 ? i * 1e-4 : 50e-4, i <= 50 ? 0 : (i - 50) * 1e-4 };

      g_array_append_val (nodes, at);
    }
  ef_mark_edit_simplify (nodes, 1e-6);
  g_assert_cmpuint (nodes->len, ==, 3);
  g_assert_cmpfloat (g_array_index (nodes, EfMarkNode, 1).u, ==, 50e-4);
  g_assert_cmpfloat (g_array_index (nodes, EfMarkNode, 1).v, ==, 0);
  g_array_set_size (nodes, 2);
  ef_mark_edit_simplify (nodes, 1);
  g_assert_cmpuint (nodes->len, ==, 2);
  g_array_unref (nodes);
}

static void
test_edit_nodes (void)
{
  EfMark *mark = ef_mark_new ("separator/side-a", EF_MARK_GROOVE, EF_SHAPE_LINE, 1e-3);

  ef_mark_add_node (mark, 0, 0);
  ef_mark_add_node (mark, 0.01, 0);
  ef_mark_edit_set_node_depth (mark, 1, 4e-5, EF_UNIT_MM, "g1");
  g_assert_cmpfloat (ef_mark_edit_node_depth (mark, 1)->depth, ==, ef_length_on_grid (4e-5));
  g_assert_null (ef_mark_edit_node_depth (mark, 0));
  ef_mark_edit_move_node (mark, 1, 0.012, 0.003);
  g_assert_cmpfloat (ef_mark_edit_node_depth (mark, 1)->v, ==, ef_length_on_grid (0.003));
  ef_mark_edit_set_node_depth (mark, 1, 5e-5, EF_UNIT_UM, NULL);
  g_assert_cmpuint (mark->depths->len, ==, 1);
  g_assert_null (ef_mark_edit_node_depth (mark, 1)->gauge_id);
  g_assert_false (ef_mark_edit_remove_node (mark, 1));
  ef_mark_edit_insert_node (mark, 1, 0.005, 0);
  g_assert_true (ef_mark_edit_remove_node (mark, 2));
  g_assert_cmpuint (mark->depths->len, ==, 0);
  g_assert_cmpuint (mark->nodes->len, ==, 2);
  ef_item_unref (mark);
}

#define SIDE "separator/side-a"

int
main (int argc,
      char **argv)
{
  g_autoptr (GtkCssProvider) css = NULL;

  gtk_test_init (&argc, &argv, NULL);
  adw_init ();
  css = gtk_css_provider_new ();
  g_object_set (gtk_settings_get_default (), "gtk-enable-animations", FALSE, "gtk-cursor-blink", FALSE,
                "gtk-font-name", "DejaVu Sans 10", "gtk-icon-theme-name", "Adwaita", NULL);

  /* An application loads it by itself. */
  gtk_css_provider_load_from_resource (css, "/io/github/endfloat/Endfloat/style.css");
  gtk_style_context_add_provider_for_display (gdk_display_get_default (), GTK_STYLE_PROVIDER (css), GTK_STYLE_PROVIDER_PRIORITY_APPLICATION);

  gtk_icon_theme_add_resource_path (gtk_icon_theme_get_for_display (gdk_display_get_default ()), "/io/github/endfloat/Endfloat/icons");

  g_test_add_func ("/canvas/places-as-typed", test_places);
  g_test_add_func ("/canvas/exact-text", test_exact_text);
  g_test_add_func ("/canvas/index-against-all", test_index);
  g_test_add_func ("/canvas/simplify", test_simplify);
  g_test_add_func ("/canvas/edit-nodes", test_edit_nodes);
  g_test_add ("/canvas/line-then-depth", Bench, SIDE, set_up, test_line_then_depth, tear_down);
  g_test_add ("/canvas/point-and-area", Bench, SIDE, set_up, test_point_and_area, tear_down);
  g_test_add ("/canvas/polyline-ends-and-cancels", Bench, SIDE, set_up, test_polyline_ends_and_cancels, tear_down);
  g_test_add ("/canvas/pen-draws-at-once", Bench, SIDE, set_up, test_pen_draws_at_once, tear_down);
  g_test_add ("/canvas/move-and-reshape", Bench, SIDE, set_up, test_move_and_reshape, tear_down);
  g_test_add ("/canvas/press-selects-smallest", Bench, SIDE, set_up, test_press_selects_smallest, tear_down);
  g_test_add ("/canvas/snap", Bench, SIDE, set_up, test_snap, tear_down);
  g_test_add ("/canvas/zoom-and-pan", Bench, SIDE, set_up, test_zoom_and_pan, tear_down);
  g_test_add ("/canvas/ruler", Bench, SIDE, set_up, test_ruler, tear_down);
  g_test_add ("/canvas/read-out", Bench, SIDE, set_up, test_read_out, tear_down);
  g_test_add ("/canvas/keyboard-mark", Bench, SIDE, set_up, test_keyboard_mark, tear_down);
  g_test_add ("/canvas/bad-input-keeps-text", Bench, SIDE, set_up, test_bad_input_keeps_text, tear_down);
  g_test_add ("/canvas/node-table", Bench, SIDE, set_up, test_node_table, tear_down);
  g_test_add ("/canvas/number-pad", Bench, SIDE, set_up, test_number_pad, tear_down);
  g_test_add ("/canvas/steps-through-marks", Bench, SIDE, set_up, test_steps_through_marks, tear_down);
  g_test_add ("/canvas/reveal", Bench, SIDE, set_up, test_reveal, tear_down);
  g_test_add ("/canvas/every-tooth", Bench, "pressure-drive-gear/end-a", set_up, test_every_tooth, tear_down);
  g_test_add ("/canvas/accessible", Bench, SIDE, set_up, test_accessible, tear_down);
  g_test_add ("/canvas/press-part", Bench, SIDE, set_up, test_press_part, tear_down);
  g_test_add ("/canvas/figures-follow", Bench, SIDE, set_up, test_figures_follow, tear_down);
  g_test_add_func ("/canvas/read-only", test_read_only);
  g_test_add ("/canvas/real-pointer", Bench, SIDE, set_up, test_real_pointer, tear_down);
  return g_test_run ();
}
