/* What a view that scrolls is built of.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-plain-view.h"

#include <adwaita.h>

GtkWidget *
ef_plain_view_new (GtkBox *parent,
                   int width)
{
  GtkWidget *scrolled = g_object_new (GTK_TYPE_SCROLLED_WINDOW, "hscrollbar-policy", GTK_POLICY_NEVER, "vexpand", TRUE, NULL);
  GtkWidget *viewport = g_object_new (GTK_TYPE_VIEWPORT, "scroll-to-focus", TRUE, NULL);
  GtkWidget *clamp = g_object_new (ADW_TYPE_CLAMP, "maximum-size", width, "tightening-threshold", width, NULL);
  GtkWidget *column = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 18,
                                    "margin-start", 24, "margin-end", 24, "margin-top", 18, "margin-bottom", 24, NULL);

  adw_clamp_set_child (ADW_CLAMP (clamp), column);
  gtk_viewport_set_child (GTK_VIEWPORT (viewport), clamp);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (scrolled), viewport);
  gtk_box_append (parent, scrolled);
  return column;
}

GtkWidget *
ef_plain_text (const char *text,
               const char *css_class)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, NULL);

  if (css_class != NULL)
    gtk_widget_add_css_class (label, css_class);
  return label;
}

GtkWidget *
ef_plain_card (GtkWidget *column,
               const char *title)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 12);

  gtk_widget_add_css_class (box, "ef-group");
  gtk_widget_add_css_class (box, "card");
  gtk_box_append (GTK_BOX (box), ef_plain_text (title, "heading"));
  gtk_box_append (GTK_BOX (column), box);
  return box;
}

GtkWidget *
ef_plain_flow (GtkWidget *box)
{
  GtkWidget *flow = g_object_new (GTK_TYPE_FLOW_BOX, "selection-mode", GTK_SELECTION_NONE, "homogeneous", TRUE,
                                  "column-spacing", 12, "row-spacing", 12, "min-children-per-line", 1, "max-children-per-line", 4, NULL);

  gtk_box_append (GTK_BOX (box), flow);
  return flow;
}

void
ef_plain_flow_add (GtkWidget *flow,
                   GtkWidget *child)
{
  gtk_flow_box_append (GTK_FLOW_BOX (flow), child);
  gtk_widget_set_focusable (gtk_widget_get_last_child (flow), FALSE);
}

void
ef_plain_clear (GtkWidget *box)
{
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (box)) != NULL)
    gtk_box_remove (GTK_BOX (box), child);
}
