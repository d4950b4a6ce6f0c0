/* Frame of small forms.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-form-window.h"
#include "ef-field.h"
#include "ef-look.h"

#include <glib/gi18n.h>

typedef struct
{
  GtkWidget *accept;
  GtkWidget *column, *scrolled;
} EfFormWindowPrivate;

#define WIDTH 520
#define MOST_HEIGHT 620 /* of the fields; what's more is scrolled to */

G_DEFINE_TYPE_WITH_PRIVATE (EfFormWindow, ef_form_window, ADW_TYPE_WINDOW)

static void
ef_form_window_class_init (EfFormWindowClass *klass)
{
  gtk_widget_class_add_binding_action (GTK_WIDGET_CLASS (klass), GDK_KEY_Escape, 0, "window.close", NULL);
}

static GtkWidget *
make_header (EfFormWindow *self)
{
  EfFormWindowPrivate *priv = ef_form_window_get_instance_private (self);
  GtkWidget *header = g_object_new (ADW_TYPE_HEADER_BAR, "show-start-title-buttons", FALSE, "show-end-title-buttons", FALSE, NULL);
  GtkWidget *cancel = gtk_button_new_with_mnemonic (_ ("_Cancel"));

  priv->accept = gtk_button_new_with_mnemonic (_ ("_Keep"));
  gtk_actionable_set_action_name (GTK_ACTIONABLE (cancel), "window.close");
  gtk_widget_add_css_class (cancel, "ef-touch");
  gtk_widget_add_css_class (priv->accept, "ef-touch");
  gtk_widget_add_css_class (priv->accept, "suggested-action");
  g_signal_connect_swapped (priv->accept, "clicked", G_CALLBACK (ef_form_window_accept), self);
  adw_header_bar_pack_start (ADW_HEADER_BAR (header), cancel);
  adw_header_bar_pack_end (ADW_HEADER_BAR (header), priv->accept);
  return header;
}

static void
ef_form_window_init (EfFormWindow *self)
{
  EfFormWindowPrivate *priv = ef_form_window_get_instance_private (self);
  GtkWidget *content = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);

  priv->scrolled = g_object_new (GTK_TYPE_SCROLLED_WINDOW, "hscrollbar-policy", GTK_POLICY_NEVER, "vexpand", TRUE,
                                 "propagate-natural-height", TRUE, "max-content-height", MOST_HEIGHT, NULL);
  priv->column = gtk_box_new (GTK_ORIENTATION_VERTICAL, 18);
  g_object_set (priv->column, "margin-start", 18, "margin-end", 18, "margin-top", 18, "margin-bottom", 18, NULL);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (priv->scrolled), priv->column);
  gtk_box_append (GTK_BOX (content), make_header (self));
  gtk_box_append (GTK_BOX (content), priv->scrolled);
  adw_window_set_content (ADW_WINDOW (self), content);
  gtk_window_set_modal (GTK_WINDOW (self), TRUE);
  gtk_window_set_default_size (GTK_WINDOW (self), WIDTH, -1);
}

void
ef_form_window_set_accept_label (EfFormWindow *self,
                                 const char *label)
{
  EfFormWindowPrivate *priv = ef_form_window_get_instance_private (self);

  gtk_button_set_label (GTK_BUTTON (priv->accept), label);
}

static void
follow_field (EfFormWindow *self,
              GtkWidget *child)
{
  if (EF_IS_FIELD (child))
    g_signal_connect_object (child, "committed", G_CALLBACK (ef_form_window_accept), self, G_CONNECT_SWAPPED);
}

void
ef_form_window_add (EfFormWindow *self,
                    GtkWidget *child)
{
  EfFormWindowPrivate *priv = ef_form_window_get_instance_private (self);

  follow_field (self, child);
  gtk_box_append (GTK_BOX (priv->column), child);
}

void
ef_form_window_add_pair (EfFormWindow *self,
                         GtkWidget *left,
                         GtkWidget *right)
{
  EfFormWindowPrivate *priv = ef_form_window_get_instance_private (self);
  GtkWidget *box = g_object_new (GTK_TYPE_BOX, "spacing", 12, "homogeneous", TRUE, NULL);

  follow_field (self, left);
  follow_field (self, right);
  gtk_box_append (GTK_BOX (box), left);
  gtk_box_append (GTK_BOX (box), right);
  gtk_box_append (GTK_BOX (priv->column), box);
}

GtkWidget *
ef_labelled (const char *label,
             GtkWidget *child)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 4);
  GtkWidget *caption = g_object_new (GTK_TYPE_LABEL, "label", label, "xalign", 0.0f, "wrap", TRUE, NULL);

  gtk_widget_add_css_class (caption, "caption-heading");
  gtk_label_set_mnemonic_widget (GTK_LABEL (caption), child);
  gtk_accessible_update_relation (GTK_ACCESSIBLE (child), GTK_ACCESSIBLE_RELATION_LABELLED_BY, caption, NULL, -1);
  gtk_box_append (GTK_BOX (box), caption);
  gtk_box_append (GTK_BOX (box), child);
  return box;
}

/* As high as its fields are at this width, words broken into lines and all; left to itself the window asks how high they'd be if they had all the width they wanted. */
static void
fit (EfFormWindow *self,
     int width)
{
  EfFormWindowPrivate *priv = ef_form_window_get_instance_private (self);
  int height;

  gtk_widget_measure (priv->column, GTK_ORIENTATION_VERTICAL, width, NULL, &height, NULL, NULL);
  gtk_scrolled_window_set_min_content_height (GTK_SCROLLED_WINDOW (priv->scrolled), MIN (height, MOST_HEIGHT));
  gtk_window_set_default_size (GTK_WINDOW (self), width, -1);
}

void
ef_form_window_refit (EfFormWindow *self)
{
  int width, height;

  gtk_window_get_default_size (GTK_WINDOW (self), &width, &height);
  fit (self, width);
}

void
ef_form_window_accept (EfFormWindow *self)
{
  if (EF_FORM_WINDOW_GET_CLASS (self)->accept (self))
    gtk_window_close (GTK_WINDOW (self));
  else
    ef_form_window_refit (self);
}

void
ef_form_window_show (EfFormWindow *self,
                     GtkWidget *parent)
{
  GtkRoot *root = gtk_widget_get_root (parent);

  if (GTK_IS_WINDOW (root))
    gtk_window_set_transient_for (GTK_WINDOW (self), GTK_WINDOW (root));
  fit (self, (int) (WIDTH * CLAMP (ef_look_text_scale (), 1.0, 1.5)));
  gtk_window_present (GTK_WINDOW (self));
}
