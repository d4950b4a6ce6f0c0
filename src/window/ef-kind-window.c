/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-kind-window.h"

#include "ef-look.h"

#include "../draw/ef-kind-card.h"

#include <glib/gi18n.h>

#define WIDTH 560
#define HEIGHT 700
#define DRAWING_HEIGHT 280
#define N_HEADINGS 5

struct _EfKindWindow
{
  AdwWindow parent_instance;

  EfMarkKind kind;
  GtkWidget *title, *drawing;
  GtkWidget *text[N_HEADINGS];
};

G_DEFINE_FINAL_TYPE (EfKindWindow, ef_kind_window, ADW_TYPE_WINDOW)

static void
show_kind (EfKindWindow *self,
           EfMarkKind kind)
{
  const EfKindWords *words = ef_kind_words (kind);
  const char *const texts[N_HEADINGS] = { words->looks, words->feels, words->origin, words->harmless, words->measure };
  g_autofree char *title = g_strdup_printf (_ ("What is this? %s"), _ (ef_mark_kind_label (kind)));

  self->kind = kind;
  gtk_window_set_title (GTK_WINDOW (self), title);
  adw_window_title_set_title (ADW_WINDOW_TITLE (self->title), _ (ef_mark_kind_label (kind)));
  for (int i = 0; i < N_HEADINGS; i++)
    gtk_label_set_label (GTK_LABEL (self->text[i]), _ (texts[i]));
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->drawing), GTK_ACCESSIBLE_PROPERTY_LABEL, title, GTK_ACCESSIBLE_PROPERTY_DESCRIPTION, _ (words->looks), -1);
  gtk_widget_queue_draw (self->drawing);
}

static void
step_action (GtkWidget *widget,
             const char *name,
             GVariant *parameter)
{
  EfKindWindow *self = EF_KIND_WINDOW (widget);
  int step = g_variant_get_int32 (parameter);

  show_kind (self, (EfMarkKind) (((int) self->kind + step + EF_N_MARK_KINDS) % EF_N_MARK_KINDS));
}

static void
draw_cb (GtkDrawingArea *area,
         cairo_t *cr,
         int width,
         int height,
         gpointer user_data)
{
  EfKindWindow *self = user_data;
  EfDrawStyle style;

  ef_look_style (&style);
  ef_draw_kind_card (cr, &style, self->kind, width, height);
}

static GtkWidget *
step_button (const char *icon,
             int step,
             const char *name)
{
  GtkWidget *button = gtk_button_new_from_icon_name (icon);

  gtk_widget_set_size_request (button, EF_TARGET, EF_TARGET);
  gtk_widget_set_tooltip_text (button, name);
  gtk_accessible_update_property (GTK_ACCESSIBLE (button), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  gtk_actionable_set_action_name (GTK_ACTIONABLE (button), "kind.step");
  gtk_actionable_set_action_target (GTK_ACTIONABLE (button), "i", step);

  return button;
}

static GtkWidget *
make_texts (EfKindWindow *self)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 6);
  GtkWidget *scrolled = gtk_scrolled_window_new ();

  self->drawing = gtk_drawing_area_new ();
  gtk_widget_set_size_request (self->drawing, -1, DRAWING_HEIGHT);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (self->drawing), draw_cb, self, NULL);
  ef_look_follow (self->drawing);
  gtk_box_append (GTK_BOX (box), self->drawing);
  for (int i = 0; i < N_HEADINGS; i++)
    {
      GtkWidget *heading = gtk_label_new (_ (ef_kind_headings[i]));

      self->text[i] = gtk_label_new (NULL);
      gtk_widget_add_css_class (heading, "heading");
      gtk_widget_set_margin_top (heading, 8);
      gtk_label_set_xalign (GTK_LABEL (heading), 0);
      gtk_label_set_xalign (GTK_LABEL (self->text[i]), 0);
      gtk_label_set_wrap (GTK_LABEL (self->text[i]), TRUE);
      gtk_box_append (GTK_BOX (box), heading);
      gtk_box_append (GTK_BOX (box), self->text[i]);
    }
  g_object_set (box, "margin-start", 18, "margin-end", 18, "margin-top", 12, "margin-bottom", 24, NULL);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (scrolled), box);
  gtk_scrolled_window_set_policy (GTK_SCROLLED_WINDOW (scrolled), GTK_POLICY_NEVER, GTK_POLICY_AUTOMATIC);
  gtk_widget_set_vexpand (scrolled, TRUE);

  return scrolled;
}

/* Before the buttons take the arrows for moving the focus. */
static gboolean
key_cb (GtkEventControllerKey *key,
        guint value,
        guint code,
        GdkModifierType state,
        EfKindWindow *self)
{
  int step = value == GDK_KEY_Left || value == GDK_KEY_Page_Up ? -1 : value == GDK_KEY_Right || value == GDK_KEY_Page_Down ? 1 : 0;

  if (step == 0)
    return GDK_EVENT_PROPAGATE;
  gtk_widget_activate_action (GTK_WIDGET (self), "kind.step", "i", step);

  return GDK_EVENT_STOP;
}

static void
ef_kind_window_class_init (EfKindWindowClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  gtk_widget_class_install_action (widget_class, "kind.step", "i", step_action);
  gtk_widget_class_add_binding_action (widget_class, GDK_KEY_Escape, 0, "window.close", NULL);
}

static void
ef_kind_window_init (EfKindWindow *self)
{
  GtkWidget *content = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  GtkWidget *bar = adw_header_bar_new ();
  GtkEventController *key = gtk_event_controller_key_new ();

  self->title = adw_window_title_new (NULL, NULL);
  adw_header_bar_set_title_widget (ADW_HEADER_BAR (bar), self->title);
  adw_header_bar_pack_start (ADW_HEADER_BAR (bar), step_button ("go-previous-symbolic", -1, _ ("Previous kind")));
  adw_header_bar_pack_start (ADW_HEADER_BAR (bar), step_button ("go-next-symbolic", 1, _ ("Next kind")));
  gtk_box_append (GTK_BOX (content), bar);
  gtk_box_append (GTK_BOX (content), make_texts (self));
  adw_window_set_content (ADW_WINDOW (self), content);
  gtk_event_controller_set_propagation_phase (key, GTK_PHASE_CAPTURE);
  g_signal_connect (key, "key-pressed", G_CALLBACK (key_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), key);
  gtk_window_set_default_size (GTK_WINDOW (self), WIDTH, HEIGHT);
}

EfKindWindow *
ef_kind_window_show (GtkWindow *parent,
                     EfMarkKind kind)
{
  EfKindWindow *self = g_object_new (EF_TYPE_KIND_WINDOW, "transient-for", parent, NULL);

  show_kind (self, (guint) kind < EF_N_MARK_KINDS ? kind : EF_MARK_SCORING);
  gtk_window_present (GTK_WINDOW (self));

  return self;
}

EfMarkKind
ef_kind_window_kind (EfKindWindow *self)
{
  return self->kind;
}
