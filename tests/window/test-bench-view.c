/* The bench view with real keys and pointer: steps one by one, ticked off with role and time, taken back, on disk at once.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-bench-view.h"
#include "ef-rework-page.h"
#include "ef-settings.h"

#include <string.h>

static const EfInspection *
inspection_of (Shell *shell)
{
  return ef_document_inspection (ef_session_document (ef_window_session (shell->window)));
}

static GPtrArray *
steps_of (Shell *shell)
{
  return ef_session_assessment (ef_window_session (shell->window))->steps;
}

static const EfTick *
tick_at (Shell *shell,
         guint index)
{
  return ef_inspection_find (inspection_of (shell), EF_ITEM_TICK, ((const EfStep *) g_ptr_array_index (steps_of (shell), index))->id);
}

static EfBenchView *
open_by_key (Shell *shell)
{
  EfBenchView *view;

  robot_key (GDK_KEY_F11, 0);
  view = EF_BENCH_VIEW (robot_window (EF_TYPE_BENCH_VIEW));
  g_assert_nonnull (view);
  robot_focus (GTK_WINDOW (view));
  return view;
}

/* All of it is to be read: the step, why, cautions, tools, checks, and how far one is. */
static void
expect_shown (Shell *shell,
              EfBenchView *view,
              guint index)
{
  const EfStep *step = g_ptr_array_index (steps_of (shell), index);
  g_autofree char *progress = g_strdup_printf ("Step %u of %u", index + 1, steps_of (shell)->len);
  guint i;

  g_assert_cmpuint (ef_bench_view_step (view), ==, index);
  g_assert_true (robot_sees (GTK_WIDGET (view), progress));
  g_assert_true (robot_sees (GTK_WIDGET (view), step->text));
  if (step->why != NULL)
    g_assert_true (robot_sees (GTK_WIDGET (view), step->why));
  for (i = 0; i < step->cautions->len; i++)
    g_assert_true (robot_sees (GTK_WIDGET (view), g_ptr_array_index (step->cautions, i)));
  for (i = 0; i < step->checks->len; i++)
    g_assert_true (robot_sees (GTK_WIDGET (view), g_ptr_array_index (step->checks, i)));
  for (i = 0; i < step->tools->len; i++)
    g_assert_true (robot_sees (GTK_WIDGET (view), g_ptr_array_index (step->tools, i)));
}

static void
expect_on_disk (Shell *shell)
{
  EfSession *session = ef_window_session (shell->window);
  g_autofree char *path = g_build_filename (shell->folder, "jobs.db", NULL);
  g_autoptr (EfStore) store = ef_store_open (path, NULL);
  g_autoptr (EfInspection) kept = ef_store_load (store, ef_session_job (session), NULL);

  g_assert_true (ef_inspection_equal (kept, inspection_of (shell)));
}

static void
test_keys (Shell *shell,
           gconstpointer data)
{
  static const guint on[] = { GDK_KEY_space, GDK_KEY_Page_Down, GDK_KEY_Right, GDK_KEY_Down };
  static const guint back[] = { GDK_KEY_Page_Up, GDK_KEY_Left, GDK_KEY_Up, GDK_KEY_BackSpace };
  g_autofree char *role = NULL;
  EfBenchView *view;
  guint i;

  shell_open_demo (shell);
  role = ef_settings_role ();
  view = open_by_key (shell);
  expect_shown (shell, view, 0);
  /* The first steps of the demo are short enough not to be scrolled. */
  for (i = 0; i < G_N_ELEMENTS (on); i++)
    {
      robot_key (on[i], 0);
      expect_shown (shell, view, i + 1);
    }
  for (i = 0; i < G_N_ELEMENTS (back); i++)
    {
      robot_key (back[i], 0);
      expect_shown (shell, view, G_N_ELEMENTS (on) - 1 - i);
    }
  robot_key (GDK_KEY_Page_Up, 0);
  expect_shown (shell, view, 0);
  robot_key (GDK_KEY_End, 0);
  expect_shown (shell, view, steps_of (shell)->len - 1);
  robot_key (GDK_KEY_Home, 0);

  robot_key (GDK_KEY_Return, 0);
  g_assert_nonnull (tick_at (shell, 0));
  g_assert_cmpstr (tick_at (shell, 0)->role, ==, role);
  g_assert_nonnull (tick_at (shell, 0)->time);
  g_assert_true (g_str_has_suffix (tick_at (shell, 0)->time, "Z"));
  expect_on_disk (shell);
  expect_shown (shell, view, 1);
  g_assert_true (robot_sees (GTK_WIDGET (view), "1 done"));
  robot_key (GDK_KEY_Return, 0);
  g_assert_nonnull (tick_at (shell, 1));
  robot_key (GDK_KEY_z, GDK_CONTROL_MASK);
  g_assert_null (tick_at (shell, 1));
  expect_on_disk (shell);
  robot_key (GDK_KEY_Home, 0);
  g_assert_true (robot_sees (GTK_WIDGET (view), "Done by"));
  robot_key (GDK_KEY_Return, 0);
  g_assert_null (tick_at (shell, 0));
  expect_on_disk (shell);
  expect_shown (shell, view, 0);
  robot_key (GDK_KEY_Return, 0);

  robot_key (GDK_KEY_Escape, 0);
  g_assert_null (robot_window (EF_TYPE_BENCH_VIEW));
  robot_focus (GTK_WINDOW (shell->window));
  /* It opens where the work goes on. */
  view = open_by_key (shell);
  expect_shown (shell, view, 1);
  robot_key (GDK_KEY_F11, 0);
  g_assert_null (robot_window (EF_TYPE_BENCH_VIEW));
  robot_focus (GTK_WINDOW (shell->window));
}

static void
press (EfBenchView *view,
       const char *label)
{
  GtkWidget *button = robot_find_button (GTK_WIDGET (view), label);

  g_assert_nonnull (button);
  /* to be hit with a thumb */
  g_assert_cmpint (gtk_widget_get_height (button), >=, 44);
  robot_click (button);
}

static void
test_pointer (Shell *shell,
              gconstpointer data)
{
  GtkWidget *button;
  EfBenchView *view;

  shell_open_demo (shell);
  ef_window_show_page (shell->window, "rework");
  robot_settle ();
  ef_rework_page_show (EF_REWORK_PAGE (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_REWORK_PAGE)), "steps");
  robot_settle ();
  button = robot_find_button (GTK_WIDGET (shell->window), "Bench View");
  g_assert_nonnull (button);
  robot_click (button);
  view = EF_BENCH_VIEW (robot_window (EF_TYPE_BENCH_VIEW));
  g_assert_nonnull (view);
  robot_focus (GTK_WINDOW (view));
  press (view, "Next →");
  expect_shown (shell, view, 1);
  press (view, "← Back");
  expect_shown (shell, view, 0);
  press (view, "Mark as Done");
  g_assert_nonnull (tick_at (shell, 0));
  expect_on_disk (shell);
  expect_shown (shell, view, 1);
  press (view, "Leave (Esc)");
  g_assert_null (robot_window (EF_TYPE_BENCH_VIEW));
  robot_focus (GTK_WINDOW (shell->window));
  /* The list on the page shows the same. */
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "1 of "));
}

/* A step longer than the screen is read to its end before the next one comes. */
static void
test_long_step (Shell *shell,
                gconstpointer data)
{
  EfBenchView *view;
  guint longest = 0, at, presses;
  guint i;

  gtk_window_set_default_size (GTK_WINDOW (shell->window), 1024, 560);
  robot_settle ();
  shell_open_demo (shell);
  for (i = 0; i < steps_of (shell)->len; i++)
    if (strlen (((const EfStep *) g_ptr_array_index (steps_of (shell), i))->text) > strlen (((const EfStep *) g_ptr_array_index (steps_of (shell), longest))->text))
      longest = i;
  view = open_by_key (shell);
  gtk_window_unfullscreen (GTK_WINDOW (view));
  gtk_window_set_default_size (GTK_WINDOW (view), 1024, 560);
  robot_settle ();
  for (presses = 0; ef_bench_view_step (view) < longest && presses < 200; presses++)
    robot_key (GDK_KEY_space, 0);
  g_assert_cmpuint (ef_bench_view_step (view), ==, longest);
  at = ef_bench_view_step (view);
  robot_key (GDK_KEY_space, 0);
  g_assert_cmpuint (ef_bench_view_step (view), ==, at);
  for (presses = 0; ef_bench_view_step (view) == at && presses < 20; presses++)
    robot_key (GDK_KEY_space, 0);
  g_assert_cmpuint (ef_bench_view_step (view), ==, at + 1);
  robot_key (GDK_KEY_Escape, 0);
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  SHELL_TEST ("/window/bench-view/keys", test_keys);
  SHELL_TEST ("/window/bench-view/pointer", test_pointer);
  SHELL_TEST ("/window/bench-view/long-step", test_long_step);
  return g_test_run ();
}
