/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-why-panel.h"

#include "ef-gauge-row.h"

#include <glib/gi18n.h>
#include <string.h>

struct _EfWhyPanel
{
  GtkBox parent_instance;

  GtkWidget *list;
  GtkWidget *scrolled;
  EfSession *session;
};

enum
{
  FOLLOW,
  CLOSE,
  N_SIGNALS
};
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfWhyPanel, ef_why_panel, GTK_TYPE_BOX)

static void
activated_cb (EfWhyPanel *self,
              GtkListBoxRow *row)
{
  const char *ref = g_object_get_data (G_OBJECT (row), "ef-ref");
  g_autofree char *kept = g_strdup (ref);

  if (kept != NULL)
    g_signal_emit (self, signals[FOLLOW], 0, kept);
}

static void
close_cb (EfWhyPanel *self)
{
  g_signal_emit (self, signals[CLOSE], 0);
}

static gboolean
escape_cb (GtkWidget *widget,
           GVariant *args,
           gpointer user_data)
{
  close_cb (EF_WHY_PANEL (widget));

  return TRUE;
}

static const char *
go_text (EfWhyKind kind)
{
  switch (kind)
    {
    case EF_WHY_MARK:
      return _ ("Show on the map");
    case EF_WHY_READING:
      return _ ("Show in the readings");
    case EF_WHY_GAUGE:
      return _ ("Open the gauge");
    default:
      return NULL;
    }
}

static GtkWidget *
label (const char *text,
       const char *css_class)
{
  GtkWidget *widget = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, NULL);

  if (css_class != NULL)
    gtk_widget_add_css_class (widget, css_class);

  return widget;
}

/* Title, with a sign where something wants looking at; the words; where it leads. */
static GtkWidget *
row_body (const EfWhyLink *link,
          const char *text)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 2);
  GtkWidget *head = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 6);
  GtkWidget *title = label (link->title, "heading");

  gtk_widget_set_hexpand (title, TRUE);
  if (link->warning)
    gtk_box_append (GTK_BOX (head), gtk_image_new_from_icon_name ("dialog-warning-symbolic"));
  gtk_box_append (GTK_BOX (head), title);
  if (go_text (link->kind) != NULL && link->ref != NULL)
    gtk_box_append (GTK_BOX (head), gtk_image_new_from_icon_name ("go-next-symbolic"));
  gtk_box_append (GTK_BOX (box), head);
  gtk_box_append (GTK_BOX (box), label (text, NULL));

  return box;
}

/* What became of the shop's gauge since, or what the link says. */
static char *
link_text (const EfAssessment *assessment,
           const GPtrArray *shop,
           const EfWhyLink *link)
{
  gboolean of_gauge = link->kind == EF_WHY_GAUGE && link->ref != NULL && g_str_has_prefix (link->ref, "gauge:");
  const EfGauge *gauge = of_gauge ? ef_inspection_find (assessment->inspection, EF_ITEM_GAUGE, link->ref + strlen ("gauge:")) : NULL;
  g_autofree char *since = gauge != NULL ? ef_gauge_since_words (shop, gauge) : NULL;

  return since != NULL ? g_strdup_printf (_ ("%s In the shop's list: %s."), link->text, since) : g_strdup (link->text);
}

static GtkWidget *
make_row (const EfWhyLink *link,
          const char *text)
{
  GtkWidget *row = gtk_list_box_row_new ();
  gboolean leads = go_text (link->kind) != NULL && link->ref != NULL;
  g_autofree char *name = g_strdup_printf (leads ? "%s. %s. %s" : "%s. %s", link->title, text, leads ? go_text (link->kind) : "");

  gtk_list_box_row_set_child (GTK_LIST_BOX_ROW (row), row_body (link, text));
  gtk_list_box_row_set_activatable (GTK_LIST_BOX_ROW (row), leads);
  gtk_widget_add_css_class (row, "ef-why-link");
  if (leads)
    {
      g_object_set_data_full (G_OBJECT (row), "ef-ref", g_strdup (link->ref), g_free);
      gtk_widget_set_tooltip_text (row, go_text (link->kind));
    }
  gtk_accessible_update_property (GTK_ACCESSIBLE (row), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);

  return row;
}

void
ef_why_panel_show (EfWhyPanel *self,
                   const EfAssessment *assessment,
                   const EfVerdict *node,
                   const EfReason *reason)
{
  g_autoptr (GPtrArray) chain = ef_why_chain (assessment, node, reason);
  EfStore *store = ef_session_store (self->session);
  g_autoptr (GPtrArray) shop = store != NULL ? ef_store_gauges (store, TRUE, NULL) : NULL;
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (self->list)) != NULL)
    gtk_list_box_remove (GTK_LIST_BOX (self->list), child);
  for (guint i = 0; i < chain->len; i++)
    {
      g_autofree char *text = link_text (assessment, shop, chain->pdata[i]);

      gtk_list_box_append (GTK_LIST_BOX (self->list), make_row (chain->pdata[i], text));
    }
  gtk_adjustment_set_value (gtk_scrolled_window_get_vadjustment (GTK_SCROLLED_WINDOW (self->scrolled)), 0);
}

static void
ef_why_panel_dispose (GObject *object)
{
  g_clear_object (&EF_WHY_PANEL (object)->session);
  G_OBJECT_CLASS (ef_why_panel_parent_class)->dispose (object);
}

static void
ef_why_panel_class_init (EfWhyPanelClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_why_panel_dispose;
  gtk_widget_class_add_binding (widget_class, GDK_KEY_Escape, 0, escape_cb, NULL);
  signals[FOLLOW] = g_signal_new ("follow", G_TYPE_FROM_CLASS (klass), G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
  signals[CLOSE] = g_signal_new ("close", G_TYPE_FROM_CLASS (klass), G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static void
ef_why_panel_init (EfWhyPanel *self)
{
  GtkWidget *head = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);
  GtkWidget *title = label (_ ("Why?"), "title-3");
  GtkWidget *close = gtk_button_new_with_label (_ ("Close"));

  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_widget_add_css_class (GTK_WIDGET (self), "ef-pane-right");
  gtk_widget_add_css_class (head, "ef-why-head");
  gtk_widget_add_css_class (close, "ef-touch");
  gtk_widget_set_tooltip_text (close, _ ("Close (Esc)"));
  gtk_widget_set_hexpand (title, TRUE);
  gtk_box_append (GTK_BOX (head), title);
  gtk_box_append (GTK_BOX (head), close);
  gtk_box_append (GTK_BOX (self), head);
  self->list = gtk_list_box_new ();
  gtk_list_box_set_selection_mode (GTK_LIST_BOX (self->list), GTK_SELECTION_NONE);
  gtk_widget_add_css_class (self->list, "ef-why");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->list), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("From the verdict to the gauge"), -1);
  self->scrolled = g_object_new (GTK_TYPE_SCROLLED_WINDOW, "hscrollbar-policy", GTK_POLICY_NEVER, "vexpand", TRUE, "child", self->list, NULL);
  gtk_box_append (GTK_BOX (self), self->scrolled);
  g_signal_connect_object (close, "clicked", G_CALLBACK (close_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (self->list, "row-activated", G_CALLBACK (activated_cb), self, G_CONNECT_SWAPPED);
}

GtkWidget *
ef_why_panel_new (EfSession *session)
{
  EfWhyPanel *self = g_object_new (EF_TYPE_WHY_PANEL, NULL);

  self->session = g_object_ref (session);

  return GTK_WIDGET (self);
}
