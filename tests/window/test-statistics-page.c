/* The page of statistics, and the list written as CSV, as a user meets them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-jobs-page.h"
#include "ef-statistics-page.h"

#include <glib/gstdio.h>
#include <string.h>

static EfJobsPage *
jobs_page (Shell *shell)
{
  return EF_JOBS_PAGE (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_JOBS_PAGE));
}

static EfStatisticsPage *
statistics_page (Shell *shell)
{
  return EF_STATISTICS_PAGE (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_STATISTICS_PAGE));
}

static gboolean
all_worked_out (gpointer data)
{
  EfStatisticsPage *page = data;
  const EfStatistics *statistics = ef_statistics_page_statistics (page);

  return !ef_statistics_page_busy (page) && statistics != NULL && statistics->n_stale == 0 && statistics->n_known > 0;
}

static GtkWidget *
view_stack (GtkWidget *widget)
{
  while (widget != NULL && !ADW_IS_VIEW_STACK (widget))
    widget = gtk_widget_get_parent (widget);

  return widget;
}

/* Worked out by itself when it comes into sight; then what is shown is written. */
static void
test_statistics (Shell *shell,
                 gconstpointer data)
{
  g_autofree char *folder = g_dir_make_tmp ("statistics-XXXXXX", NULL);
  g_autofree char *csv = g_build_filename (folder, "wear.csv", NULL);
  g_autofree char *picture = g_build_filename (folder, "clearance.svg", NULL);
  g_autofree char *list = g_build_filename (folder, "jobs.csv", NULL);
  g_autofree char *text = NULL;
  g_autofree char *jobs = NULL;
  EfStatisticsPage *page;

  shell_open_demo (shell);
  robot_key (GDK_KEY_Up, GDK_ALT_MASK);
  page = statistics_page (shell);
  adw_view_stack_set_visible_child_name (ADW_VIEW_STACK (view_stack (GTK_WIDGET (page))), "statistics");
  robot_wait (all_worked_out, page, "the statistics of the demo jobs");
  g_assert_cmpuint (ef_statistics_page_statistics (page)->n_known, ==, 5);
  g_assert_true (robot_sees (GTK_WIDGET (page), "What wears out"));
  g_assert_true (robot_sees (GTK_WIDGET (page), "How often rework held"));
  ef_statistics_page_export (page, EF_STATISTICS_WEAR, csv);
  ef_statistics_page_export (page, EF_STATISTICS_CLEARANCE, picture);
  g_assert_true (g_file_get_contents (csv, &text, NULL, NULL));
  g_assert_true (g_str_has_prefix (text, "model,subject,"));
  g_assert_nonnull (strstr (text, "\r\nHL-24,"));
  g_assert_true (g_file_test (picture, G_FILE_TEST_IS_REGULAR));

  adw_view_stack_set_visible_child_name (ADW_VIEW_STACK (view_stack (GTK_WIDGET (page))), "jobs");
  robot_settle ();
  ef_jobs_page_export (jobs_page (shell), list);
  g_assert_true (g_file_get_contents (list, &jobs, NULL, NULL));
  g_assert_true (g_str_has_prefix (jobs, "number,pump,model,"));
  g_assert_nonnull (strstr (jobs, "\r\nJ-0412,"));
  g_unlink (csv);
  g_unlink (picture);
  g_unlink (list);
  g_rmdir (folder);
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  shell_full_detail ();
  SHELL_TEST ("/window/statistics", test_statistics);

  return g_test_run ();
}
