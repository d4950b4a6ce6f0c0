/* The guided tour and "What is this?": offered once, gone through by keyboard, never in the way.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-exploded-view.h"
#include "ef-face-canvas.h"
#include "ef-kind-picker.h"
#include "ef-kind-window.h"
#include "ef-rework-page.h"
#include "ef-settings.h"
#include "ef-tour.h"
#include "robot.h"
#include "shell-fixture.h"

static GtkWidget *
find_card (Shell *shell)
{
  return robot_find_button (GTK_WIDGET (shell->window), "Stop");
}

static gboolean
card_is_there (gpointer shell)
{
  GtkWidget *stop = find_card (shell);

  return stop != NULL && gtk_widget_get_mapped (stop) && gtk_widget_has_focus (robot_find_button (GTK_WIDGET (((Shell *) shell)->window), "Next"));
}

static gboolean
is_marked (GtkWidget *widget,
           gpointer data)
{
  return gtk_widget_has_css_class (widget, "ef-tour-target");
}

static GType
target_type (Shell *shell)
{
  GtkWidget *target = robot_find (GTK_WIDGET (shell->window), is_marked, NULL);

  return target != NULL ? G_OBJECT_TYPE (target) : G_TYPE_INVALID;
}

static gboolean
last_is_there (gpointer shell)
{
  GtkWidget *done = robot_find_button (GTK_WIDGET (((Shell *) shell)->window), "Done");

  return done != NULL && gtk_widget_has_focus (done) && target_type (shell) != G_TYPE_INVALID && target_type (shell) != EF_TYPE_REWORK_PAGE;
}

static gboolean
card_is_gone (gpointer shell)
{
  return find_card (shell) == NULL;
}

/* On the first start there's an offer, which has no focus; sent away it stays away. */
static void
test_offer (Shell *shell,
            gconstpointer data)
{
  GtkWidget *focus;

  g_assert_false (robot_sees (GTK_WIDGET (shell->window), "New here?"));
  focus = gtk_window_get_focus (GTK_WINDOW (shell->window));
  g_settings_set_boolean (ef_settings_get (), "tour-offered", FALSE);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "New here?"));
  g_assert_true (gtk_window_get_focus (GTK_WINDOW (shell->window)) == focus);
  robot_click (robot_find_button (GTK_WIDGET (shell->window), "Not Now"));
  robot_settle ();
  g_assert_false (robot_sees (GTK_WIDGET (shell->window), "New here?"));
  g_assert_true (g_settings_get_boolean (ef_settings_get (), "tour-offered"));
}

/* Not beside an open job. */
static void
test_offer_stays_out_of_jobs (Shell *shell,
                              gconstpointer data)
{
  g_settings_set_boolean (ef_settings_get (), "tour-offered", FALSE);
  robot_settle ();
  shell_open_demo (shell);
  g_assert_false (robot_sees (GTK_WIDGET (shell->window), "New here?"));
  ef_window_show_start (shell->window);
  robot_settle ();
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "New here?"));
}

/* From the offer to the last step by keyboard: it opens the demo, shows each page, and marks what it speaks of. */
static void
test_tour (Shell *shell,
           gconstpointer data)
{
  g_settings_set_boolean (ef_settings_get (), "tour-offered", FALSE);
  robot_settle ();
  robot_click (robot_find_button (GTK_WIDGET (shell->window), "Take the Tour"));
  robot_wait (card_is_there, shell, "the tour's first card");
  g_assert_nonnull (ef_window_session (shell->window));
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "1 of 7"));
  g_assert_cmpuint (target_type (shell), ==, EF_TYPE_EXPLODED_VIEW);
  robot_key (GDK_KEY_Return, 0);
  robot_wait (card_is_there, shell, "the second card");
  g_assert_cmpuint (target_type (shell), ==, EF_TYPE_FACE_CANVAS);
  robot_key (GDK_KEY_Left, 0);
  robot_wait (card_is_there, shell, "the first card again");
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "1 of 7"));
  for (int i = 0; i < ef_tour_n_steps () - 2; i++)
    {
      robot_key (GDK_KEY_Right, 0);
      robot_wait (card_is_there, shell, "the next card");
    }
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "6 of 7"));
  robot_key (GDK_KEY_Right, 0);
  robot_wait (last_is_there, shell, "the last card");
  g_assert_true (robot_sees (GTK_WIDGET (shell->window), "7 of 7"));
  robot_key (GDK_KEY_Return, 0);
  robot_wait (card_is_gone, shell, "the end");
  g_assert_cmpuint (target_type (shell), ==, G_TYPE_INVALID);
}

/* Escape ends it, and so does closing the job. */
static void
test_stop (Shell *shell,
           gconstpointer data)
{
  shell_open_demo (shell);
  g_action_group_activate_action (G_ACTION_GROUP (shell->window), "tour", NULL);
  robot_wait (card_is_there, shell, "the tour");
  robot_key (GDK_KEY_Escape, 0);
  robot_wait (card_is_gone, shell, "the end");
  g_action_group_activate_action (G_ACTION_GROUP (shell->window), "tour", NULL);
  robot_wait (card_is_there, shell, "the tour again");
  ef_window_show_start (shell->window);
  robot_wait (card_is_gone, shell, "the end with the job");
}

static EfKindWindow *
kind_window (void)
{
  return (EfKindWindow *) robot_window (EF_TYPE_KIND_WINDOW);
}

static gboolean
kind_is_shown (gpointer data)
{
  return kind_window () != NULL && gtk_window_is_active (GTK_WINDOW (kind_window ()));
}

/* From the picker by its button and by F1; all kinds by the arrow keys; Escape closes. */
static void
test_what_is_this (Shell *shell,
                   gconstpointer data)
{
  EfKindPicker *picker;
  GtkWidget *window;

  shell_open_demo (shell);
  picker = EF_KIND_PICKER (robot_find_type (GTK_WIDGET (shell->window), EF_TYPE_KIND_PICKER));
  ef_kind_picker_set (picker, EF_MARK_LIP);
  robot_click (robot_find_button (GTK_WIDGET (shell->window), "What Is This?"));
  robot_settle ();
  window = GTK_WIDGET (kind_window ());
  g_assert_nonnull (window);
  robot_focus (GTK_WINDOW (window));
  robot_wait (kind_is_shown, NULL, "the kind's window");
  g_assert_cmpint (ef_kind_window_kind (kind_window ()), ==, EF_MARK_LIP);
  g_assert_true (robot_sees (window, "suction side"));
  for (int i = 0; i < EF_N_MARK_KINDS; i++)
    {
      robot_key (i % 2 == 0 ? GDK_KEY_Right : GDK_KEY_Page_Down, 0);
      robot_settle ();
      g_assert_cmpint (ef_kind_window_kind (kind_window ()), ==, (EF_MARK_LIP + 1 + i) % EF_N_MARK_KINDS);
      g_assert_true (robot_sees (window, "How to measure it"));
    }
  robot_key (GDK_KEY_Escape, 0);
  robot_settle ();
  g_assert_null (kind_window ());
}

int
main (int argc,
      char **argv)
{
  shell_test_init (&argc, &argv);

  SHELL_TEST ("/tour/offer", test_offer);
  SHELL_TEST ("/tour/offer-stays-out-of-jobs", test_offer_stays_out_of_jobs);
  SHELL_TEST ("/tour/tour", test_tour);
  SHELL_TEST ("/tour/stop", test_stop);
  SHELL_TEST ("/tour/what-is-this", test_what_is_this);

  return g_test_run ();
}
