/* The frame of windows that keep a list of the shop's.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-list-window.h"

AdwToastOverlay *
ef_list_window_dress (AdwWindow *window,
                      const char *title,
                      GtkWidget *column,
                      int column_width,
                      GtkWidget *start,
                      int width,
                      int height)
{
  GtkWidget *content = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  GtkWidget *header = adw_header_bar_new ();
  GtkWidget *clamp = g_object_new (ADW_TYPE_CLAMP, "maximum-size", column_width, "child", column, NULL);
  GtkWidget *scrolled = g_object_new (GTK_TYPE_SCROLLED_WINDOW, "hscrollbar-policy", GTK_POLICY_NEVER, "vexpand", TRUE, "child", clamp, NULL);
  GtkWidget *toasts = adw_toast_overlay_new ();

  g_object_set (column, "margin-start", 18, "margin-end", 18, "margin-top", 18, "margin-bottom", 24, NULL);
  if (start != NULL)
    {
      gtk_widget_add_css_class (start, "ef-touch");
      adw_header_bar_pack_start (ADW_HEADER_BAR (header), start);
    }
  gtk_box_append (GTK_BOX (content), header);
  gtk_box_append (GTK_BOX (content), scrolled);
  adw_toast_overlay_set_child (ADW_TOAST_OVERLAY (toasts), content);
  adw_window_set_content (window, toasts);
  gtk_window_set_title (GTK_WINDOW (window), title);
  gtk_window_set_modal (GTK_WINDOW (window), TRUE);
  gtk_window_set_default_size (GTK_WINDOW (window), width, height);

  return ADW_TOAST_OVERLAY (toasts);
}
