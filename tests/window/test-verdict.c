/* Why, by keyboard: from a reason down its chain, to the readings and back; what crosses parts stands on top.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"
#include "shell-fixture.h"

#include "ef-cross-list.h"
#include "ef-verdict-page.h"
#include "ef-why-panel.h"

#include <string.h>

static gboolean
is_why_of (GtkWidget *widget,
           gpointer rule)
{
  const char *sentence = g_object_get_data (G_OBJECT (widget), "ef-reason");

  return GTK_IS_BUTTON (widget) && sentence != NULL && strstr (sentence, rule) != NULL;
}

static gboolean
leads_to (GtkWidget *widget,
          gpointer prefix)
{
  const char *ref = g_object_get_data (G_OBJECT (widget), "ef-ref");

  return GTK_IS_LIST_BOX_ROW (widget) && ref != NULL && g_str_has_prefix (ref, prefix);
}

static GtkWidget *
focus_of (Shell *shell)
{
  return gtk_window_get_focus (GTK_WINDOW (shell->window));
}

static gboolean
has_focus_within (Shell *shell,
                  GtkWidget *widget)
{
  GtkWidget *focus = focus_of (shell);

  return focus != NULL && (focus == widget || gtk_widget_is_ancestor (focus, widget));
}

/* Presses Down and Tab until a row that leads to @prefix has the keyboard. */
static void
go_to_link (Shell *shell,
            GtkWidget *panel,
            const char *prefix)
{
  for (guint i = 0; i < 40; i++)
    {
      GtkWidget *focus = focus_of (shell);

      if (focus != NULL && leads_to (focus, (gpointer) prefix))
        return;
      robot_key (i == 0 ? GDK_KEY_Tab : GDK_KEY_Down, 0);
      robot_settle ();
      g_assert_true (has_focus_within (shell, panel));
    }
  g_error ("no link to %s by keyboard", prefix);
}

static gboolean
readings_shown (gpointer data)
{
  Shell *shell = data;

  return robot_sees (GTK_WIDGET (shell->window), "Pocket depth");
}

static void
test_why (Shell *shell,
          gconstpointer data)
{
  GtkWidget *page, *panel, *button;

  shell_open_demo (shell);
  ef_window_show_page (shell->window, "verdict");
  robot_settle ();
  page = robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_VERDICT_PAGE);
  g_assert_nonnull (page);
  g_assert_null (robot_find_type (page, EF_TYPE_WHY_PANEL));
  /* 25.161 - 24.990: over the limit, from readings */
  g_assert_true (ef_verdict_page_select (EF_VERDICT_PAGE (page), "section:pressure"));
  robot_settle ();
  button = robot_find (page, is_why_of, "nd clearance");
  g_assert_nonnull (button);
  gtk_widget_grab_focus (button);
  robot_settle ();
  robot_key (GDK_KEY_space, 0);
  robot_settle ();
  panel = robot_find_type (page, EF_TYPE_WHY_PANEL);
  g_assert_nonnull (panel);
  g_assert_true (has_focus_within (shell, panel));
  g_assert_true (robot_sees (panel, "Rule"));
  g_assert_true (robot_sees (panel, "guard band at 95 %"));
  g_assert_true (robot_sees (panel, "25.160 mm"));
  g_assert_true (robot_sees (panel, "Resolution"));
  g_assert_nonnull (robot_find (panel, leads_to, "reading:"));
  g_assert_nonnull (robot_find (panel, leads_to, "gauge:"));

  /* Esc closes and gives the keyboard back */
  robot_key (GDK_KEY_Escape, 0);
  robot_settle ();
  g_assert_null (robot_find_type (page, EF_TYPE_WHY_PANEL));
  g_assert_true (focus_of (shell) == button);

  robot_key (GDK_KEY_space, 0);
  robot_settle ();
  go_to_link (shell, panel, "reading:");
  robot_key (GDK_KEY_Return, 0);
  robot_wait (readings_shown, shell, "the readings page");
  g_assert_false (gtk_widget_get_mapped (page));
}

static void
test_mark (Shell *shell,
           gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  GtkWidget *page, *panel, *button;

  ef_window_show_page (shell->window, "verdict");
  robot_settle ();
  page = robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_VERDICT_PAGE);
  g_assert_true (ef_verdict_page_select (EF_VERDICT_PAGE (page), "part:separator"));
  robot_settle ();
  button = robot_find (page, is_why_of, "groove");
  g_assert_nonnull (button);
  robot_click (button);
  robot_settle ();
  panel = robot_find_type (page, EF_TYPE_WHY_PANEL);
  g_assert_nonnull (panel);
  go_to_link (shell, panel, "mark:");
  robot_key (GDK_KEY_Return, 0);
  robot_settle ();
  g_assert_false (gtk_widget_get_mapped (page));
  g_assert_nonnull (ef_session_mark (session));
  g_assert_cmpstr (ef_session_face (session), ==, "separator/side-a");
}

/* A job that was judged under other rules says so when it's opened. */
static void
test_rules_before (Shell *shell,
                   gconstpointer data)
{
  EfSession *session;
  GtkWidget *page;

  ef_store_use_rules (ef_window_store (shell->window), "common-practice 1");
  session = shell_open_demo (shell);
  g_assert_nonnull (ef_session_assessment (session)->rules_before);
  ef_window_show_page (shell->window, "verdict");
  robot_settle ();
  page = robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_VERDICT_PAGE);
  g_assert_true (robot_sees (page, "Judged before under common-practice 1 (last on "));
  g_assert_true (robot_sees (page, "now under common-practice 2."));
}

/* Nothing to say where the rules are the same. */
static void
test_rules_same (Shell *shell,
                 gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);

  g_assert_null (ef_session_assessment (session)->rules_before);
  ef_window_show_page (shell->window, "verdict");
  robot_settle ();
  g_assert_false (robot_sees (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_VERDICT_PAGE), "Judged before"));
}

static void
test_across (Shell *shell,
             gconstpointer data)
{
  EfSession *session = shell_open_demo (shell);
  EfAssessment *assessment = ef_session_assessment (session);
  GtkWidget *list;
  const EfCross *cross;

  ef_window_show_page (shell->window, "verdict");
  robot_settle ();
  list = robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_CROSS_LIST);
  g_assert_nonnull (list);
  g_assert_true (robot_sees (list, "What crosses parts"));
  g_assert_cmpuint (assessment->across->len, >, 0);
  cross = assessment->across->pdata[0];
  gtk_expander_set_expanded (GTK_EXPANDER (robot_find_type (list, GTK_TYPE_EXPANDER)), TRUE);
  robot_settle ();
  g_assert_true (robot_sees (list, cross->sentence));
  g_assert_true (robot_sees (list, cross->next));
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);
  shell_full_detail ();
  SHELL_TEST ("/window/verdict/why", test_why);
  SHELL_TEST ("/window/verdict/mark", test_mark);
  SHELL_TEST ("/window/verdict/rules-before", test_rules_before);
  SHELL_TEST ("/window/verdict/rules-same", test_rules_same);
  SHELL_TEST ("/window/verdict/across", test_across);

  return g_test_run ();
}
