/* A lesson from making to result, in the real window with real pointer and keys.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-attempt-page.h"
#include "ef-lesson-editor.h"
#include "ef-lessons-page.h"
#include "ef-result-page.h"
#include "ef-specimen-form.h"
#include "robot.h"
#include "shell-fixture.h"

#include <glib/gstdio.h>
#include <math.h>
#include <string.h>

#define MM 1e-3
#define FACE "separator/side-a"

static void
press (Shell *shell,
       const char *label)
{
  GtkWidget *button = robot_find_button (GTK_WIDGET (shell->window), label);

  if (button == NULL)
    g_error ("no button \"%s\"", label);
  robot_click (button);
  robot_settle ();
}

static EfLessonsPage *
lessons_page (Shell *shell)
{
  return EF_LESSONS_PAGE (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_LESSONS_PAGE));
}

static void
open_lessons (Shell *shell)
{
  shell_open_demo (shell);
  robot_key (GDK_KEY_Up, GDK_ALT_MASK);
  robot_settle ();
  press (shell, "Lessons");
  robot_settle ();
  g_assert_nonnull (lessons_page (shell));
}

static gboolean
window_is_there (gpointer data)
{
  GtkWindow *window = robot_window (*(GType *) data);

  return window != NULL && gtk_widget_get_mapped (GTK_WIDGET (window));
}

static gboolean
no_window (gpointer data)
{
  return robot_window (*(GType *) data) == NULL;
}

/* Into the entry of the form that is open. */
static void
answer_form (Shell *shell,
             const char *text)
{
  GType type = g_type_from_name ("EfLessonForm");
  GtkWindow *form;
  GtkWidget *entry;

  robot_wait (window_is_there, &type, "the form");
  form = robot_window (type);
  robot_focus (form);
  entry = robot_find_type (GTK_WIDGET (form), GTK_TYPE_TEXT);
  gtk_widget_grab_focus (entry);
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  robot_type (text);
  robot_key (GDK_KEY_Return, 0);
  robot_wait (no_window, &type, "the form to close");
}

/* The trainer makes a lesson of the first job, gives one face and a note. */
static void
make_lesson (Shell *shell)
{
  GType type = EF_TYPE_LESSON_EDITOR;
  EfLessonEditor *editor;
  GtkWidget *button, *entry;
  guint n_before;

  press (shell, "Make from a Job…");
  answer_form (shell, "J-0412");
  robot_wait (window_is_there, &type, "the editor");
  editor = EF_LESSON_EDITOR (robot_window (type));
  robot_focus (GTK_WINDOW (editor));
  entry = robot_find_type (GTK_WIDGET (editor), GTK_TYPE_TEXT);
  gtk_widget_grab_focus (entry);
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  robot_type ("Plate of the launch");
  robot_key (GDK_KEY_Tab, 0);
  robot_settle ();
  g_assert_cmpstr (ef_lesson_editor_lesson (editor)->terms.title, ==, "Plate of the launch");

  /* A gauge taken away and brought back by undo. */
  n_before = g_strv_length (ef_lesson_editor_lesson (editor)->terms.gauges);
  button = robot_find_button (GTK_WIDGET (editor), "Bore gauge 15–35 mm");
  g_assert_nonnull (button);
  gtk_check_button_set_active (GTK_CHECK_BUTTON (button), FALSE);
  g_assert_cmpuint (g_strv_length (ef_lesson_editor_lesson (editor)->terms.gauges), ==, n_before - 1);
  ef_lesson_editor_undo (editor);
  g_assert_cmpuint (g_strv_length (ef_lesson_editor_lesson (editor)->terms.gauges), ==, n_before);
  ef_lesson_editor_undo (editor);
  g_assert_cmpstr (ef_lesson_editor_lesson (editor)->terms.title, !=, "Plate of the launch");
  ef_lesson_editor_redo (editor);
  g_assert_cmpstr (ef_lesson_editor_lesson (editor)->terms.title, ==, "Plate of the launch");
  robot_key (GDK_KEY_Escape, 0);
  robot_wait (no_window, &type, "the editor to close");
}

static EfAttemptPage *
attempt_page (Shell *shell)
{
  return EF_ATTEMPT_PAGE (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_ATTEMPT_PAGE));
}

static gboolean
attempt_is_open (gpointer data)
{
  return robot_find_type (GTK_WIDGET (((Shell *) data)->window), EF_TYPE_ATTEMPT_PAGE) != NULL;
}

static const EfInspection *
inspection_of (Shell *shell)
{
  return ef_document_inspection (ef_session_document (ef_window_session (shell->window)));
}

/* Along mark 3 of the demo's file: a groove over the land between delivery and suction, 0.16 mm deep in the middle. */
static void
draw_groove (Shell *shell)
{
  EfFaceCanvas *canvas = ef_map_page_canvas (ef_attempt_page_map (attempt_page (shell)));
  const double uv[] = { -0.2, -8.2, 0.1, -4, 0.45, 0, 0.4, 4, 0.7, 8.2 };
  double xy[10];

  robot_key (GDK_KEY_2, GDK_ALT_MASK);
  robot_settle ();
  ef_session_select_face (ef_window_session (shell->window), FACE);
  robot_settle ();
  ef_face_canvas_settle (canvas);
  press (shell, "Line");
  press (shell, "Groove");
  for (guint i = 0; i < 5; i++)
    ef_face_canvas_to_widget (canvas, uv[2 * i] * MM, uv[2 * i + 1] * MM, &xy[2 * i], &xy[2 * i + 1]);
  robot_drag (GTK_WIDGET (canvas), xy, 5);
  robot_settle ();
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_MARK]->len, ==, 1);
}

static void
measure_groove (Shell *shell)
{
  const EfMark *mark;

  press (shell, "Measure Depth");
  robot_settle ();
  mark = inspection_of (shell)->items[EF_ITEM_MARK]->pdata[0];
  g_assert_cmpuint (mark->depths->len, ==, 3);
  /* The demo's depth, and what the gauge may err: U = 0.004 mm. */
  g_assert_cmpfloat (fabs (ef_mark_deepest (mark) - 0.16 * MM), <, 0.012 * MM);
  g_assert_nonnull (g_array_index (mark->depths, EfMarkDepth, 0).gauge_id);
}

static void
decide_rework (Shell *shell)
{
  const EfOverride *decision;

  robot_key (GDK_KEY_4, GDK_ALT_MASK);
  robot_settle ();
  ef_attempt_page_decide (attempt_page (shell), "separator", EF_VERDICT_REWORK);
  robot_settle ();
  decision = ef_inspection_find (inspection_of (shell), EF_ITEM_OVERRIDE, "part:separator");
  g_assert_nonnull (decision);
  /* With the keyboard: back and forth. */
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK);
  robot_settle ();
  g_assert_null (ef_inspection_find (inspection_of (shell), EF_ITEM_OVERRIDE, "part:separator"));
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK | GDK_SHIFT_MASK);
  robot_settle ();
  g_assert_nonnull (ef_inspection_find (inspection_of (shell), EF_ITEM_OVERRIDE, "part:separator"));
}

/* Nothing was worked out, and none of the words that would tell is on the screen but those to choose from. */
static void
assert_blind (Shell *shell)
{
  GtkWidget *window = GTK_WIDGET (shell->window);

  g_assert_null (ef_session_assessment (ef_window_session (shell->window)));
  g_assert_false (ef_session_busy (ef_window_session (shell->window)));
  g_assert_false (robot_sees (window, "Joins delivery"));
  g_assert_false (robot_sees (window, "Hot-idle pressure"));
  g_assert_false (robot_sees (window, "End clearance, pressure section"));
}

static gboolean
result_is_there (gpointer data)
{
  GtkWidget *page = robot_find_type (GTK_WIDGET (((Shell *) data)->window), EF_TYPE_RESULT_PAGE);

  return page != NULL && ef_result_page_ready (EF_RESULT_PAGE (page));
}

static void
hand_in (Shell *shell)
{
  GType type = ADW_TYPE_MESSAGE_DIALOG;

  press (shell, "Hand In…");
  robot_wait (window_is_there, &type, "the question");
  robot_focus (robot_window (type));
  robot_key (GDK_KEY_Return, 0);
  robot_wait (result_is_there, shell, "the result");
  robot_focus (GTK_WINDOW (shell->window));
}

static void
check_result (Shell *shell)
{
  EfResultPage *page = EF_RESULT_PAGE (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_RESULT_PAGE));
  const EfLessonScore *score = ef_result_page_score (page);
  g_autofree char *path = g_build_filename (shell->folder, "record.pdf", NULL);
  g_autofree char *text = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_nonnull (score);
  g_assert_cmpuint (score->marks->n_found, ==, 1);
  g_assert_cmpuint (score->marks->n_false, ==, 0);
  g_assert_cmpuint (score->kinds[EF_MARK_GROOVE].found, ==, 1);
  g_assert_cmpfloat (score->score, >, 0);
  g_assert_cmpfloat (score->score, <, 1);
  g_assert_true (robot_sees (GTK_WIDGET (page), "of 100"));
  g_assert_true (robot_sees (GTK_WIDGET (page), "Mark by Mark"));
  g_assert_true (robot_sees (GTK_WIDGET (page), "Separator plate: rework, as in the reference."));
  g_assert_true (ef_result_page_write_certificate (page, path, &error));
  g_assert_no_error (error);
  g_assert_true (g_file_get_contents (path, &text, NULL, NULL));
  g_assert_true (g_str_has_prefix (text, "%PDF"));
}

static void
test_whole (Shell *shell,
            gconstpointer data)
{
  EfStore *store;
  gint64 jobs;
  g_autoptr (GPtrArray) attempts = NULL;

  open_lessons (shell);
  store = ef_window_store (shell->window);
  jobs = ef_store_count (store, NULL, NULL);
  make_lesson (shell);
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "Plate of the launch"));

  press (shell, "Start…");
  answer_form (shell, "apprentice 7");
  robot_wait (attempt_is_open, shell, "the attempt");
  draw_groove (shell);
  measure_groove (shell);
  assert_blind (shell);
  decide_rework (shell);

  /* Left and gone on with: all is there. */
  robot_key (GDK_KEY_Up, GDK_ALT_MASK);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "under way, 1 marks"));
  press (shell, "Go On");
  robot_wait (attempt_is_open, shell, "the attempt again");
  g_assert_cmpuint (inspection_of (shell)->items[EF_ITEM_MARK]->len, ==, 1);

  hand_in (shell);
  check_result (shell);
  g_assert_cmpint (ef_store_count (store, NULL, NULL), ==, jobs);
  attempts = ef_store_attempts (store, "apprentice 7", NULL);
  g_assert_cmpuint (attempts->len, ==, 1);
  g_assert_false (isnan (((EfAttemptRow *) attempts->pdata[0])->score));
  robot_key (GDK_KEY_Up, GDK_ALT_MASK);
  robot_settle ();
  g_assert_nonnull (ef_lessons_page_suggested (lessons_page (shell)));
  g_assert_nonnull (robot_find_button (GTK_WIDGET (shell->window), "Result"));
}

/* A newer or a wrong file is refused with its reason, and nothing is taken in. */
static void
test_refused (Shell *shell,
              gconstpointer data)
{
  g_autofree char *path = g_build_filename (shell->folder, "lesson.json", NULL);
  g_autofree char *whole = ef_data_path ("lessons", "torn-filter.json", NULL);
  g_autofree char *text = NULL;
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) lessons = NULL;
  char *at;

  open_lessons (shell);
  g_assert_true (g_file_get_contents (whole, &text, NULL, NULL));
  at = strstr (text, "\"version\": 1");
  at[strlen ("\"version\": ")] = '9';
  g_assert_true (g_file_set_contents (path, text, -1, NULL));
  g_assert_false (ef_lessons_page_import (lessons_page (shell), path, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NEWER_FORMAT);
  g_clear_error (&error);
  g_assert_true (g_file_set_contents (path, "{\"format\": \"endfloat-pump-sheet\"}", -1, NULL));
  g_assert_false (ef_lessons_page_import (lessons_page (shell), path, &error));
  g_assert_nonnull (strstr (error->message, "format"));
  lessons = ef_store_lessons (ef_window_store (shell->window), TRUE, NULL);
  g_assert_cmpuint (lessons->len, ==, 1); /* the demo's */
}

/* Worn in the window: a wrong seed is refused at its field, a right one makes a lesson and opens it to be looked over. */
static void
test_specimen (Shell *shell,
               gconstpointer data)
{
  GType form_type = EF_TYPE_SPECIMEN_FORM, editor_type = EF_TYPE_LESSON_EDITOR;
  g_autoptr (GPtrArray) lessons = NULL;
  GtkWindow *form;
  EfLessonEditor *editor;
  GtkWidget *seed;

  open_lessons (shell);
  press (shell, "New Specimen…");
  robot_wait (window_is_there, &form_type, "the form");
  form = robot_window (form_type);
  robot_focus (form);
  seed = robot_find_type (GTK_WIDGET (form), GTK_TYPE_TEXT);
  gtk_widget_grab_focus (seed);
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  robot_type ("7.5");
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (form), "A whole number is needed here."));
  lessons = ef_store_lessons (ef_window_store (shell->window), TRUE, NULL);
  g_assert_cmpuint (lessons->len, ==, 1); /* the demo's */
  robot_key (GDK_KEY_a, GDK_CONTROL_MASK);
  robot_type ("7");
  robot_key (GDK_KEY_Return, 0);
  robot_wait (no_window, &form_type, "the pump to be worn");
  robot_wait (window_is_there, &editor_type, "the editor");
  editor = EF_LESSON_EDITOR (robot_window (editor_type));
  g_assert_nonnull (strstr (ef_lesson_editor_lesson (editor)->terms.title, "difficulty 1"));
  /* The seed isn't in what the apprentice gets to see. */
  g_assert_null (strstr (ef_lesson_editor_lesson (editor)->terms.title, "specimen 7,"));
  g_clear_pointer (&lessons, g_ptr_array_unref);
  lessons = ef_store_lessons (ef_window_store (shell->window), TRUE, NULL);
  g_assert_cmpuint (lessons->len, ==, 2);
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  SHELL_TEST ("/lessons/whole", test_whole);
  SHELL_TEST ("/lessons/refused", test_refused);
  SHELL_TEST ("/lessons/specimen", test_specimen);

  return g_test_run ();
}
