/* Rows of gauges, each opening its form.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-gauge-list.h"
#include "ef-gauge-dialog.h"
#include "ef-gauge-row.h"
#include "ef-settings.h"
#include "ef-shop-gauges.h"

#include <glib/gi18n.h>

struct _EfGaugeList
{
  GtkBox parent_instance;

  GtkWidget *list;
  GtkWidget *shop; /* opens the shop's list; hidden where nothing is kept */
  EfSession *session;
};

G_DEFINE_FINAL_TYPE (EfGaugeList, ef_gauge_list, GTK_TYPE_BOX)

static void
add_cb (EfGaugeList *self)
{
  ef_gauge_dialog_show (GTK_WIDGET (self), self->session, NULL);
}

static void
shop_cb (EfGaugeList *self)
{
  ef_shop_gauges_show (GTK_WIDGET (self), ef_session_store (self->session));
}

static void
activated_cb (EfGaugeList *self,
              GtkWidget *row)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const char *id = g_object_get_data (G_OBJECT (row), "ef-gauge");
  const EfGauge *gauge = id != NULL ? ef_inspection_find (inspection, EF_ITEM_GAUGE, id) : NULL;

  if (gauge != NULL)
    ef_gauge_dialog_show (GTK_WIDGET (self), self->session, gauge);
}

static GtkWidget *
make_row (const EfGauge *gauge,
          const GPtrArray *shop)
{
  GtkWidget *row = ef_gauge_row_new (gauge);
  g_autofree char *since = ef_gauge_since_words (shop, gauge);

  if (since != NULL)
    {
      g_autofree char *text = g_strdup_printf ("%s\n%s", adw_action_row_get_subtitle (ADW_ACTION_ROW (row)), since);

      adw_action_row_set_subtitle (ADW_ACTION_ROW (row), text);
    }

  adw_action_row_add_suffix (ADW_ACTION_ROW (row), gtk_image_new_from_icon_name ("go-next-symbolic"));
  return row;
}

static void
fill (EfGaugeList *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const GPtrArray *gauges = inspection->items[EF_ITEM_GAUGE];
  EfStore *store = ef_session_store (self->session);
  g_autoptr (GPtrArray) shop = store != NULL ? ef_store_gauges (store, TRUE, NULL) : NULL;
  GtkWidget *child;
  guint i;

  while ((child = gtk_widget_get_first_child (self->list)) != NULL)
    gtk_list_box_remove (GTK_LIST_BOX (self->list), child);
  for (i = 0; i < gauges->len; i++)
    gtk_list_box_append (GTK_LIST_BOX (self->list), make_row (g_ptr_array_index (gauges, i), shop));
  gtk_widget_set_visible (self->list, gauges->len > 0);
}

static void
ef_gauge_list_dispose (GObject *object)
{
  g_clear_object (&EF_GAUGE_LIST (object)->session);
  G_OBJECT_CLASS (ef_gauge_list_parent_class)->dispose (object);
}

static void
ef_gauge_list_class_init (EfGaugeListClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_gauge_list_dispose;
}

static void
ef_gauge_list_init (EfGaugeList *self)
{
  GtkWidget *title = g_object_new (GTK_TYPE_LABEL, "label", _ ("Gauges"), "xalign", 0.0f, "wrap", TRUE, NULL);
  GtkWidget *note = g_object_new (GTK_TYPE_LABEL, "label",
                                  _ ("A verdict is only as good as the gauge. The uncertainty stands on its certificate; what is filled in for a new gauge is common practice, without a source."),
                                  "xalign", 0.0f, "wrap", TRUE, NULL);
  GtkWidget *add = gtk_button_new_with_label (_ ("Add a Gauge…"));
  GtkWidget *buttons = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 12);

  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 18);
  gtk_widget_add_css_class (title, "title-2");
  gtk_widget_add_css_class (note, "dim-label");
  gtk_widget_add_css_class (add, "ef-touch");
  self->shop = gtk_button_new_with_label (_ ("Shop Gauges…"));
  gtk_widget_add_css_class (self->shop, "ef-touch");
  gtk_box_append (GTK_BOX (buttons), add);
  gtk_box_append (GTK_BOX (buttons), self->shop);
  self->list = g_object_new (GTK_TYPE_LIST_BOX, "selection-mode", GTK_SELECTION_NONE, NULL);
  gtk_widget_add_css_class (self->list, "boxed-list");
  gtk_box_append (GTK_BOX (self), title);
  gtk_box_append (GTK_BOX (self), note);
  gtk_box_append (GTK_BOX (self), self->list);
  gtk_box_append (GTK_BOX (self), buttons);
  g_signal_connect_swapped (self->list, "row-activated", G_CALLBACK (activated_cb), self);
  g_signal_connect_swapped (add, "clicked", G_CALLBACK (add_cb), self);
  g_signal_connect_swapped (self->shop, "clicked", G_CALLBACK (shop_cb), self);
}

GtkWidget *
ef_gauge_list_new (EfSession *session)
{
  EfGaugeList *self = g_object_new (EF_TYPE_GAUGE_LIST, NULL);

  self->session = g_object_ref (session);
  gtk_widget_set_visible (self->shop, ef_session_store (session) != NULL);
  g_signal_connect_object (session, "changed", G_CALLBACK (fill), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (ef_settings_get (), "changed::length-unit", G_CALLBACK (fill), self, G_CONNECT_SWAPPED);
  /* The shop's list may have been changed meanwhile. */
  g_signal_connect (self, "map", G_CALLBACK (fill), NULL);
  fill (self);
  return GTK_WIDGET (self);
}
