/* The shelf in the window: the demo job that is saved from it, and the page that lists it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-shelf-matches.h"
#include "ef-shelf-object.h"
#include "ef-shelf-page.h"
#include "record/ef-store-shelf.h"
#include "robot.h"
#include "shell-fixture.h"

#include <math.h>

static gboolean
job_is_open (gpointer data)
{
  EfSession *session = ef_window_session (data);

  return session != NULL && ef_session_assessment (session) != NULL && !ef_session_busy (session);
}

static EfSession *
open_job (Shell *shell,
          const char *number)
{
  gint64 job;

  g_assert_true (ef_store_exists (ef_window_store (shell->window), number, &job, NULL));
  g_assert_cmpint (job, >, 0);
  ef_window_open_job (shell->window, job);
  robot_wait (job_is_open, shell->window, "the job and its verdict");

  return ef_window_session (shell->window);
}

static gboolean
matches_are_there (gpointer data)
{
  GtkWidget *matches = robot_find_type (GTK_WIDGET (data), EF_TYPE_SHELF_MATCHES);

  return matches != NULL && ef_shelf_matches_ready (EF_SHELF_MATCHES (matches));
}

static void
assert_state (EfStore *store,
              const char *code,
              EfShelfState state,
              const char *holder)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfShelfPart) part = ef_store_shelf_part (store, code, &error);

  g_assert_no_error (error);
  g_assert_cmpint (part->state, ==, state);
  g_assert_cmpstr (part->holder, ==, holder);
}

static void
press (Shell *shell,
       const char *label)
{
  GtkWidget *button = robot_find_button (GTK_WIDGET (shell->window), label);

  g_assert_nonnull (button);
  robot_click (button);
  robot_settle ();
}

static void
test_saved_from_the_shelf (Shell *shell,
                           gconstpointer unused)
{
  g_autoptr (EfStore) other = NULL;
  g_autoptr (GError) error = NULL;
  EfSession *session;
  const EfAssessment *assessment;
  double found;

  shell_open_demo (shell);
  session = open_job (shell, "J-0418");
  found = ef_session_assessment (session)->flow->state[EF_STATE_FOUND].idle.pressure;
  other = ef_store_open (ef_store_path (ef_window_store (shell->window)), &error);
  g_assert_no_error (error);
  ef_window_show_page (shell->window, "rework");
  robot_settle ();
  press (shell, "From the Shelf");
  robot_wait (matches_are_there, shell->window, "what the shelf holds");
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "S-0001 + S-0002"));
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "Hot-idle pressure then"));

  press (shell, "Reserve");
  robot_wait (matches_are_there, shell->window, "the shelf after reserving");
  assert_state (other, "S-0002", EF_SHELF_RESERVED, "J-0418");
  g_assert_nonnull (robot_find_button (GTK_WIDGET (shell->window), "Give Back"));

  press (shell, "Use");
  robot_wait (job_is_open, shell->window, "the verdict with the pair in it");
  robot_wait (matches_are_there, shell->window, "the shelf after using");
  assert_state (other, "S-0001", EF_SHELF_USED, "J-0418");
  assessment = ef_session_assessment (session);
  g_assert_nonnull (assessment->fitted);
  g_assert_cmpint (ef_verdict_find (assessment->verdict, "pair:pressure")->word, ==, EF_VERDICT_SCRAP); /* as found it stays */
  g_assert_cmpint (assessment->fitted->verdict->word, ==, EF_VERDICT_USE);
  g_assert_cmpfloat (assessment->flow->state[EF_STATE_REWORKED].idle.pressure, >, found);
  g_assert_cmpstr (((EfStep *) assessment->steps->pdata[0])->phase, ==, "strip");
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "S-0001 in place of"));

  /* It's an edit like any other. */
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK);
  robot_settle ();
  assert_state (other, "S-0001", EF_SHELF_FREE, NULL);
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK | GDK_SHIFT_MASK);
  robot_settle ();
  assert_state (other, "S-0001", EF_SHELF_USED, "J-0418");
}

static gboolean
is_shelf_page (GtkWidget *widget,
               gpointer unused)
{
  return EF_IS_SHELF_PAGE (widget);
}

static void
test_page (Shell *shell,
           gconstpointer unused)
{
  GtkWidget *page;
  GListModel *rows;

  shell_open_demo (shell);
  ef_window_show_start (shell->window);
  robot_settle ();
  press (shell, "Shelf");
  page = robot_find (GTK_WIDGET (shell->window), is_shelf_page, NULL);
  g_assert_nonnull (page);
  rows = ef_shelf_page_rows (EF_SHELF_PAGE (page));
  g_assert_cmpuint (g_list_model_get_n_items (rows), ==, 20);
  g_assert_true (robot_sees (page, "S-0001 · Drive gear"));
  g_assert_true (robot_sees (page, "Sizes"));

  /* Searched by keyboard. */
  ef_shelf_page_search (EF_SHELF_PAGE (page));
  robot_settle ();
  robot_type ("chipped");
  for (int i = 0; i < 40 && g_list_model_get_n_items (rows) != 1; i++)
    {
      g_usleep (20000);
      robot_settle ();
    }
  g_assert_cmpuint (g_list_model_get_n_items (rows), ==, 1);
  g_assert_true (robot_sees (page, "Withdrawn: Dropped"));
  g_assert_nonnull (robot_find_button (page, "Put Back…"));
}

static double
main_size (GListModel *rows,
           guint i,
           const char *quantity)
{
  g_autoptr (EfShelfObject) object = g_list_model_get_item (rows, i);
  const EfPartSize *size = ef_replacement_size (ef_shelf_object_part (object)->part, quantity, NULL);

  g_assert_nonnull (size);

  return size->value;
}

/* The window's own answer against the sizes of what it shows; with comma, other units, and nonsense. */
static void
test_by_size (Shell *shell,
              gconstpointer unused)
{
  GtkWidget *page;
  GListModel *rows;
  double narrow, wide;
  guint n, inside = 0;
  g_autofree char *least = NULL, *most = NULL, *in_um = NULL;

  shell_open_demo (shell);
  ef_window_show_start (shell->window);
  robot_settle ();
  press (shell, "Shelf");
  page = robot_find (GTK_WIDGET (shell->window), is_shelf_page, NULL);
  rows = ef_shelf_page_rows (EF_SHELF_PAGE (page));
  ef_shelf_page_filter_size (EF_SHELF_PAGE (page), "face-width", NULL, NULL);
  robot_settle ();
  n = g_list_model_get_n_items (rows);
  g_assert_cmpuint (n, >, 2);
  narrow = wide = main_size (rows, 0, "face-width");
  for (guint i = 0; i < n; i++)
    {
      narrow = fmin (narrow, main_size (rows, i, "face-width"));
      wide = fmax (wide, main_size (rows, i, "face-width"));
    }
  g_assert_cmpfloat (wide, >, narrow);
  for (guint i = 0; i < n; i++)
    inside += main_size (rows, i, "face-width") < wide - 1e-7;
  least = g_strdup_printf ("%.3f", narrow * 1e3 - 0.001);
  most = g_strdup_printf ("%.4f", wide * 1e3 - 0.0001);
  ef_shelf_page_filter_size (EF_SHELF_PAGE (page), "face-width", least, most);
  robot_settle ();
  g_assert_cmpuint (g_list_model_get_n_items (rows), ==, inside);
  in_um = g_strdup_printf ("%.1f um", wide * 1e6 - 0.1);
  ef_shelf_page_filter_size (EF_SHELF_PAGE (page), "face-width", g_strdelimit (least, ".", ','), in_um);
  robot_settle ();
  g_assert_cmpuint (g_list_model_get_n_items (rows), ==, inside);
  /* What can't be read or is the wrong way round is said at the field, and changes nothing. */
  ef_shelf_page_filter_size (EF_SHELF_PAGE (page), "face-width", "30", "29");
  robot_settle ();
  g_assert_true (robot_sees (page, "Expected no less than the size it begins with."));
  g_assert_cmpuint (g_list_model_get_n_items (rows), ==, inside);
  ef_shelf_page_filter_size (EF_SHELF_PAGE (page), "face-width", "5000 mm", NULL);
  robot_settle ();
  g_assert_cmpuint (g_list_model_get_n_items (rows), ==, 0);
  press (shell, "Show All Parts");
  g_assert_cmpuint (g_list_model_get_n_items (rows), ==, 20);
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  SHELL_TEST ("/shelf/saved", test_saved_from_the_shelf);
  SHELL_TEST ("/shelf/page", test_page);
  SHELL_TEST ("/shelf/by-size", test_by_size);

  return g_test_run ();
}
