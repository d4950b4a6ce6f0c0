/* The agreement window: tables typed, worked out, refused with row and column.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-agreement-window.h"
#include "lesson/ef-lesson.h"
#include "record/ef-store-lessons.h"
#include "robot.h"
#include "shell-fixture.h"

static GtkWidget *
open_window (Shell *shell)
{
  GtkWidget *window = GTK_WIDGET (ef_agreement_window_show (GTK_WINDOW (shell->window)));

  robot_settle ();
  robot_focus (GTK_WINDOW (window));

  return window;
}

static void
close_window (GtkWidget *window)
{
  gtk_window_destroy (GTK_WINDOW (window));
  robot_settle ();
}

/* The example by its button: both methods, the words and the pictures' cards are there. */
static void
test_study (Shell *shell,
            gconstpointer data)
{
  GtkWidget *window = open_window (shell);

  g_assert_false (robot_sees (window, "Average and range"));
  robot_click (robot_find_button (window, "Show an Example"));
  robot_settle ();
  g_assert_true (robot_sees (window, "3 parts, 2 appraisers, 2 trials"));
  g_assert_true (robot_sees (window, "Average and range"));
  g_assert_true (robot_sees (window, "Analysis of variance"));
  g_assert_true (robot_sees (window, "Distinct categories"));
  g_assert_true (robot_sees (window, "By part"));
  close_window (window);
}

static void
test_refused (Shell *shell,
              gconstpointer data)
{
  GtkWidget *window = open_window (shell);
  EfAgreementWindow *self = EF_AGREEMENT_WINDOW (window);

  g_assert_false (ef_agreement_window_set_study (self, "part,appraiser,trial,value\na,x,1,soft\n", "bench.csv"));
  robot_settle ();
  g_assert_true (robot_sees (window, "bench.csv: row 2, column “value”: expected a number, found “soft”"));
  g_assert_false (robot_sees (window, "Average and range"));
  /* one appraiser is no study: said by the numerics */
  g_assert_false (ef_agreement_window_set_study (self, "part,appraiser,trial,value\na,x,1,1\na,x,2,2\nb,x,1,1\nb,x,2,1\n", "bench.csv"));
  close_window (window);
}

static void
test_people (Shell *shell,
             gconstpointer data)
{
  GtkWidget *window = open_window (shell);

  g_assert_true (ef_agreement_window_set_ratings (EF_AGREEMENT_WINDOW (window), "item,rater,category,rule\n1,t,rework,plate-groove\n1,a,scrap,plate-groove\n2,t,use-again,dent\n2,a,use-again,dent\n"
                                                                                "3,t,scrap,flank\n3,a,scrap,flank\n", "people.csv"));
  gtk_stack_set_visible_child_name (GTK_STACK (robot_find_type (window, GTK_TYPE_STACK)), "ratings");
  robot_settle ();
  g_assert_true (robot_sees (window, "3 items, 2 people, 3 categories"));
  g_assert_true (robot_sees (window, "People disagree most on plate-groove: 1 of 1 pairs"));
  g_assert_true (robot_sees (window, "Which rule people disagree on"));
  robot_key (GDK_KEY_Escape, 0);
  robot_settle ();
  g_assert_null (robot_window (EF_TYPE_AGREEMENT_WINDOW));
}

static gboolean
sees_ratings (gpointer window)
{
  return robot_sees (window, "Which rule people disagree on");
}

/* One apprentice decides as the reference does, but for the first part. */
static void
add_attempt (EfStore *store,
             const EfLesson *lesson,
             const char *digest,
             const char *who,
             gboolean wrong)
{
  g_autoptr (EfInspection) inspection = ef_inspection_new (lesson->reference->sheet, "A-1");
  g_autoptr (GError) error = NULL;

  for (guint i = 0; i < lesson->verdicts->len; i++)
    {
      const EfLessonVerdict *verdict = lesson->verdicts->pdata[i];
      g_autofree char *id = g_strdup_printf ("part:%s", verdict->part);
      EfOverride *decision = ef_item_new (&ef_override_class, id);

      decision->verdict = g_strdup (ef_verdict_name (wrong && i == 0 ? EF_VERDICT_MEASURE : verdict->verdict));
      decision->reason = g_strdup ("Seen so.");
      ef_inspection_swap (inspection, NULL, &decision->item, &error);
      g_assert_no_error (error);
      ef_item_unref (decision);
    }
  g_assert_cmpint (ef_store_add_attempt (store, digest, "Torn filter", who, inspection, "2026-03-16T08:00:00Z", "2026-03-16T09:00:00Z", &error), >, 0);
  g_assert_no_error (error);
}

/* From a lesson and its attempts in the store to the rule that people disagree on. */
static void
test_attempts (Shell *shell,
               gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  EfStore *store = ef_window_store (shell->window);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLesson) lesson = ef_lesson_new (ef_document_inspection (ef_session_document (session)), NULL, &error);
  g_autofree char *digest = NULL, *body = NULL;
  EfLessonRow row = { 0 };
  GtkWidget *window;

  g_assert_no_error (error);
  digest = ef_lesson_digest (lesson, &error);
  g_assert_no_error (error);
  body = ef_lesson_write (lesson);
  row = (EfLessonRow){ .name = lesson->terms.name, .digest = digest, .title = (char *) "Torn filter", .pump = (char *) "hl-24", .role = (char *) "trainer", .label = (char *) "made", .whole = TRUE, .body = body };
  g_assert_true (ef_store_put_lesson (store, &row, &error));
  g_assert_no_error (error);
  add_attempt (store, lesson, digest, "apprentice 1", FALSE);
  add_attempt (store, lesson, digest, "apprentice 2", TRUE);
  window = open_window (shell);
  gtk_stack_set_visible_child_name (GTK_STACK (robot_find_type (window, GTK_TYPE_STACK)), "ratings");
  robot_settle ();
  robot_click (robot_find_button (window, "Compare the Attempts"));
  robot_wait (sees_ratings, window, "the attempts side by side");
  g_assert_true (robot_sees (window, "3 people"));
  g_assert_true (robot_sees (window, "People disagree most on"));
  close_window (window);
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);

  SHELL_TEST ("/agreement-window/study", test_study);
  SHELL_TEST ("/agreement-window/refused", test_refused);
  SHELL_TEST ("/agreement-window/people", test_people);
  SHELL_TEST ("/agreement-window/attempts", test_attempts);

  return g_test_run ();
}
