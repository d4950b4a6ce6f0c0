/* The main job in the real window, with real pointer and keys: open the demo, press a part, draw a groove, type its depth, see verdict
 * and figures follow, undo, redo, export the report and read it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-map-page.h"
#include "ef-settings.h"
#include "ef-verdict-badge.h"

#include <math.h>
#include <string.h>

#define PART "scavenge-housing"
#define FACE "scavenge-housing/floor"

static EfMapPage *
map_page (Shell *shell)
{
  return EF_MAP_PAGE (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_MAP_PAGE));
}

static const EfInspection *
inspection_of (Shell *shell)
{
  return ef_document_inspection (ef_session_document (ef_window_session (shell->window)));
}

/* All that the strip says, as one text. */
static char *
figures (Shell *shell)
{
  EfFigureStrip *strip = ef_map_page_strip (map_page (shell));
  GString *text = g_string_new (NULL);
  guint i;

  for (i = 0; i < ef_figure_strip_length (strip); i++)
    g_string_append_printf (text, "%s\n", ef_figure_strip_text (strip, i));
  return g_string_free (text, FALSE);
}

/* Until the fine answer is there too: the coarse one's figures differ in the last place. */
static void
wait_for_verdict (Shell *shell)
{
  /* to the finest: figures are compared */
  ef_session_settle_fully (ef_window_session (shell->window));
  robot_settle ();
}

static void
press_part (Shell *shell)
{
  EfSession *session = ef_window_session (shell->window);
  EfExplodedView *exploded = ef_map_page_exploded (map_page (shell));
  double x, y;

  g_assert_true (ef_exploded_view_place (exploded, PART, &x, &y));
  robot_click_at (GTK_WIDGET (exploded), x, y);
  g_assert_cmpstr (ef_session_part (session), ==, PART);
  g_assert_nonnull (ef_session_face (session));
  if (g_strcmp0 (ef_session_face (session), FACE) != 0)
    robot_click (ef_face_row_button (ef_map_page_faces (map_page (shell)), 0));
  g_assert_cmpstr (ef_session_face (session), ==, FACE);
}

/* A straight piece of sound material, 6 mm long at least. */
static void
find_room (EfFaceChart *chart,
           double from[2],
           double to[2])
{
  const guint n = 40;
  guint i, j, k;

  for (j = 1; j < n; j++)
    for (i = 1; i < n; i++)
      {
        double u = chart->u0 + (chart->u1 - chart->u0) * i / n;
        double v = chart->v0 + (chart->v1 - chart->v0) * j / n;
        gboolean all = TRUE;

        for (k = 0; k <= 20; k++)
          all = all && ef_region_contains (chart->solid, u + 6e-3 * k / 20, v);
        if (all)
          {
            from[0] = u;
            to[0] = u + 6e-3;
            from[1] = to[1] = v;
            return;
          }
      }
  g_assert_not_reached ();
}

static const EfMark *
draw_groove (Shell *shell)
{
  EfFaceCanvas *canvas = ef_map_page_canvas (map_page (shell));
  double from[2], to[2], xy[4];
  guint before = inspection_of (shell)->items[EF_ITEM_MARK]->len;
  const GPtrArray *marks;
  const EfMark *mark;

  robot_click (robot_find_button (GTK_WIDGET (shell->window), "Line"));
  robot_click (robot_find_button (GTK_WIDGET (shell->window), "Groove"));
  ef_face_canvas_settle (canvas);
  find_room (ef_face_canvas_chart (canvas), from, to);
  ef_face_canvas_to_widget (canvas, from[0], from[1], &xy[0], &xy[1]);
  ef_face_canvas_to_widget (canvas, to[0], to[1], &xy[2], &xy[3]);
  robot_drag (GTK_WIDGET (canvas), xy, 2);
  marks = inspection_of (shell)->items[EF_ITEM_MARK];
  g_assert_cmpuint (marks->len, ==, before + 1);
  mark = g_ptr_array_index (marks, before);
  g_assert_cmpint (mark->kind, ==, EF_MARK_GROOVE);
  g_assert_cmpint (mark->shape, ==, EF_SHAPE_LINE);
  g_assert_cmpstr (mark->face_id, ==, FACE);
  /* It lies where it was drawn, give or take what the pointer's whole pixels and snapping leave. */
  g_assert_cmpfloat (hypot (g_array_index (mark->nodes, EfMarkNode, 0).u - from[0], g_array_index (mark->nodes, EfMarkNode, 0).v - from[1]), <, 1.5e-3);
  g_assert_cmpfloat (ef_mark_length (mark), >, 4e-3);
  return mark;
}

static gboolean
file_exists (gpointer data)
{
  return g_file_test (data, G_FILE_TEST_IS_REGULAR);
}

static gboolean
chooser_is_open (gpointer data)
{
  GtkWindow **window = data;

  *window = robot_window (GTK_TYPE_FILE_CHOOSER_DIALOG);
  return *window != NULL && gtk_widget_get_mapped (GTK_WIDGET (*window));
}

static gboolean
sees_written (gpointer data)
{
  return robot_sees (data, "Written:");
}

/* Ctrl+E, then the place where it goes is typed into the file dialog. */
static char *
export_report (Shell *shell)
{
  char *path = g_build_filename (shell->folder, "journey.pdf", NULL);
  GtkWindow *chooser = NULL;

  robot_focus (GTK_WINDOW (shell->window));
  robot_key (GDK_KEY_e, GDK_CONTROL_MASK);
  robot_wait (chooser_is_open, &chooser, "the file dialog");
  robot_focus (chooser);
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  robot_type (path);
  robot_key (GDK_KEY_Return, 0);
  robot_wait (file_exists, path, "the report's file");
  robot_wait (sees_written, shell->window, "the word that it's written");
  return path;
}

static char *
pdf_text (const char *path)
{
  const char *arguments[] = { "pdftotext", "-layout", path, "-", NULL };
  g_autoptr (GError) error = NULL;
  char *text = NULL;
  int status;

  g_spawn_sync (NULL, (char **) arguments, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &text, NULL, &status, &error);
  g_assert_no_error (error);
  g_assert_cmpint (status, ==, 0);
  return text;
}

static void
test_journey (Shell *shell,
              gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  EfFigureStrip *strip;
  g_autofree char *figures_before = NULL;
  g_autofree char *figures_after = NULL;
  g_autofree char *figures_undone = NULL;
  g_autofree char *report = NULL;
  g_autofree char *text = NULL;
  g_autofree char *numbered = NULL;
  g_autofree char *id = NULL;
  const EfMark *mark;

  g_assert_cmpstr (inspection_of (shell)->sheet->model, ==, "HL-24");
  press_part (shell);
  wait_for_verdict (shell);
  strip = ef_map_page_strip (map_page (shell));
  figures_before = figures (shell);
  g_assert_cmpint (ef_figure_strip_part_verdict (strip), ==, EF_VERDICT_USE);
  g_assert_cmpint (ef_figure_strip_pump_verdict (strip), ==, EF_VERDICT_REWORK);

  mark = draw_groove (shell);
  id = g_strdup (mark->item.id);
  g_assert_true (isnan (ef_mark_deepest (mark)));
  g_assert_cmpstr (ef_session_mark (session), ==, id);

  /* The cursor is in the depth field already. */
  robot_type ("0,4 mm");
  robot_key (GDK_KEY_Return, 0);
  mark = ef_inspection_find (inspection_of (shell), EF_ITEM_MARK, id);
  g_assert_cmpfloat (ef_mark_deepest (mark), ==, 0.4e-3);
  wait_for_verdict (shell);
  figures_after = figures (shell);
  g_test_message ("before:\n%s\nafter:\n%s", figures_before, figures_after);
  g_assert_cmpstr (figures_after, !=, figures_before);
  g_assert_nonnull (strstr (figures_after, "0.400 mm"));
  g_assert_cmpint (ef_figure_strip_part_verdict (strip), !=, EF_VERDICT_USE);
  /* As the pump's tree has it. */
  g_assert_cmpint (ef_figure_strip_part_verdict (strip), ==,
                   (int) ef_verdict_find (ef_session_assessment (session)->verdict, "part:" PART)->word);

  /* Twice back: the depth, the groove. */
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK);
  mark = ef_inspection_find (inspection_of (shell), EF_ITEM_MARK, id);
  g_assert_nonnull (mark);
  g_assert_true (isnan (ef_mark_deepest (mark)));
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK);
  g_assert_null (ef_inspection_find (inspection_of (shell), EF_ITEM_MARK, id));
  wait_for_verdict (shell);
  figures_undone = figures (shell);
  g_assert_cmpstr (figures_undone, ==, figures_before);
  g_assert_cmpint (ef_figure_strip_part_verdict (strip), ==, EF_VERDICT_USE);

  /* And forth again, for the report. */
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK | GDK_SHIFT_MASK);
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK | GDK_SHIFT_MASK);
  mark = ef_inspection_find (inspection_of (shell), EF_ITEM_MARK, id);
  g_assert_nonnull (mark);
  numbered = g_strdup_printf ("Mark %d, groove on the scavenge housing", mark->number);
  wait_for_verdict (shell);
  report = export_report (shell);
  text = pdf_text (report);
  g_assert_nonnull (strstr (text, "J-0412"));
  g_assert_nonnull (strstr (text, "HL-24 launch engine oil pump"));
  g_assert_nonnull (strstr (text, numbered));
  g_assert_nonnull (strstr (text, "0.40 mm ± 0.06 mm"));

  /* All of it is on disk. */
  {
    g_autoptr (EfInspection) kept = ef_store_load (ef_window_store (shell->window), ef_session_job (session), NULL);

    g_assert_true (ef_inspection_equal (kept, inspection_of (shell)));
  }
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  shell_full_detail ();
  SHELL_TEST ("/window/journey", test_journey);
  return g_test_run ();
}
