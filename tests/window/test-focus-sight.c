/* What has the keyboard stays in sight while the page around it grows.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "robot.h"

#include "ef-focus-sight.h"

#define VIEW 300
#define TALL 400

typedef struct
{
  GtkWidget *window, *scrolled, *above, *entry;
} Page;

/* An entry between two tall boxes, in a scrolled window that shows one of them at a time. */
static void
set_up (Page *page,
        gconstpointer unused)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  GtkWidget *below = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);

  page->window = gtk_window_new ();
  page->scrolled = gtk_scrolled_window_new ();
  page->above = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  page->entry = gtk_entry_new ();
  gtk_widget_set_size_request (page->above, 200, 100);
  gtk_widget_set_size_request (below, 200, TALL);
  gtk_box_append (GTK_BOX (box), page->above);
  gtk_box_append (GTK_BOX (box), page->entry);
  gtk_box_append (GTK_BOX (box), below);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (page->scrolled), box);
  gtk_window_set_child (GTK_WINDOW (page->window), page->scrolled);
  gtk_window_set_default_size (GTK_WINDOW (page->window), 300, VIEW);
  ef_keep_focus_in_sight (GTK_SCROLLED_WINDOW (page->scrolled));
  gtk_window_present (GTK_WINDOW (page->window));
  robot_focus (GTK_WINDOW (page->window));
  gtk_widget_grab_focus (page->entry);
  robot_settle ();
}

static void
tear_down (Page *page,
           gconstpointer unused)
{
  gtk_window_destroy (GTK_WINDOW (page->window));
  robot_settle ();
}

static gboolean
is_in_sight (gpointer data)
{
  Page *page = data;
  graphene_rect_t box;

  return gtk_widget_compute_bounds (page->entry, page->scrolled, &box) && box.origin.y >= 0
         && box.origin.y + box.size.height <= gtk_widget_get_height (page->scrolled);
}

static gboolean
has_scrolled (gpointer data)
{
  return gtk_adjustment_get_value (gtk_scrolled_window_get_vadjustment (GTK_SCROLLED_WINDOW (((Page *) data)->scrolled))) > 0;
}

static void
test_grows (Page *page,
            gconstpointer unused)
{
  g_assert_true (is_in_sight (page));
  gtk_widget_set_size_request (page->above, 200, 100 + TALL);
  robot_wait (has_scrolled, page, "the page to scroll");
  g_assert_true (is_in_sight (page));
}

/* Who has scrolled it away looks at something else. */
static void
test_scrolled_away (Page *page,
                    gconstpointer unused)
{
  GtkAdjustment *down = gtk_scrolled_window_get_vadjustment (GTK_SCROLLED_WINDOW (page->scrolled));
  double value;

  gtk_adjustment_set_value (down, 200);
  robot_settle ();
  g_assert_false (is_in_sight (page));
  value = gtk_adjustment_get_value (down);
  gtk_widget_set_size_request (page->above, 200, 150);
  robot_settle ();
  g_assert_false (is_in_sight (page));
  g_assert_cmpfloat (gtk_adjustment_get_value (down), ==, value);
}

#define ADD(path, function) g_test_add (path, Page, NULL, set_up, function, tear_down)

int
main (int argc,
      char **argv)
{
  gtk_test_init (&argc, &argv, NULL);
  g_object_set (gtk_settings_get_default (), "gtk-enable-animations", FALSE, NULL);
  ADD ("/window/focus-sight/grows", test_grows);
  ADD ("/window/focus-sight/scrolled-away", test_scrolled_away);

  return g_test_run ();
}
