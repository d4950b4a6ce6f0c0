/* Rows of gauges, each opening its form.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-gauge-list.h"
#include "ef-gauge-dialog.h"
#include "ef-settings.h"

#include <glib/gi18n.h>

struct _EfGaugeList
{
  GtkBox parent_instance;

  GtkWidget *list;
  EfSession *session;
};

G_DEFINE_FINAL_TYPE (EfGaugeList, ef_gauge_list, GTK_TYPE_BOX)

static void
add_cb (EfGaugeList *self)
{
  ef_gauge_dialog_show (GTK_WIDGET (self), self->session, NULL);
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

static char *
describe (const EfGauge *gauge,
          gboolean overdue)
{
  g_autofree char *resolution = ef_settings_format_length (gauge->resolution);
  g_autofree char *uncertainty = ef_settings_format_length (gauge->uncertainty);
  GString *text = g_string_new (_ (ef_gauge_kind_label (gauge->kind)));

  if (gauge->serial != NULL && gauge->serial[0] != '\0')
    g_string_append_printf (text, _ (", no. %s"), gauge->serial);
  g_string_append_printf (text, _ (" · resolution %s · uncertainty %s (k = 2)"), resolution, uncertainty);
  if (gauge->checked != NULL)
    g_string_append_printf (text, _ (" · checked %s"), gauge->checked);
  if (gauge->due != NULL)
    g_string_append_printf (text, overdue ? _ (" · check was due %s") : _ (" · due %s"), gauge->due);
  return g_string_free (text, FALSE);
}

static GtkWidget *
make_row (const EfGauge *gauge)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_local ();
  g_autofree char *today = g_date_time_format (now, "%Y-%m-%d");
  gboolean overdue = ef_gauge_overdue (gauge, today);
  g_autofree char *text = describe (gauge, overdue);
  GtkWidget *row = g_object_new (ADW_TYPE_ACTION_ROW, "use-markup", FALSE, "title", gauge->name, "subtitle", text, "activatable", TRUE, NULL);

  adw_action_row_set_subtitle_lines (ADW_ACTION_ROW (row), 0);
  if (overdue)
    {
      GtkWidget *icon = gtk_image_new_from_icon_name ("dialog-warning-symbolic");

      gtk_widget_set_tooltip_text (icon, _ ("The gauge's check is overdue"));
      gtk_accessible_update_property (GTK_ACCESSIBLE (icon), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("The gauge's check is overdue"), -1);
      adw_action_row_add_suffix (ADW_ACTION_ROW (row), icon);
    }
  adw_action_row_add_suffix (ADW_ACTION_ROW (row), gtk_image_new_from_icon_name ("go-next-symbolic"));
  g_object_set_data_full (G_OBJECT (row), "ef-gauge", g_strdup (gauge->item.id), g_free);
  return row;
}

static void
fill (EfGaugeList *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const GPtrArray *gauges = inspection->items[EF_ITEM_GAUGE];
  GtkWidget *child;
  guint i;

  while ((child = gtk_widget_get_first_child (self->list)) != NULL)
    gtk_list_box_remove (GTK_LIST_BOX (self->list), child);
  for (i = 0; i < gauges->len; i++)
    gtk_list_box_append (GTK_LIST_BOX (self->list), make_row (g_ptr_array_index (gauges, i)));
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

  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 18);
  gtk_widget_add_css_class (title, "title-2");
  gtk_widget_add_css_class (note, "dim-label");
  gtk_widget_add_css_class (add, "ef-touch");
  gtk_widget_set_halign (add, GTK_ALIGN_START);
  self->list = g_object_new (GTK_TYPE_LIST_BOX, "selection-mode", GTK_SELECTION_NONE, NULL);
  gtk_widget_add_css_class (self->list, "boxed-list");
  gtk_box_append (GTK_BOX (self), title);
  gtk_box_append (GTK_BOX (self), note);
  gtk_box_append (GTK_BOX (self), self->list);
  gtk_box_append (GTK_BOX (self), add);
  g_signal_connect_swapped (self->list, "row-activated", G_CALLBACK (activated_cb), self);
  g_signal_connect_swapped (add, "clicked", G_CALLBACK (add_cb), self);
}

GtkWidget *
ef_gauge_list_new (EfSession *session)
{
  EfGaugeList *self = g_object_new (EF_TYPE_GAUGE_LIST, NULL);

  self->session = g_object_ref (session);
  g_signal_connect_object (session, "changed", G_CALLBACK (fill), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (ef_settings_get (), "changed::length-unit", G_CALLBACK (fill), self, G_CONNECT_SWAPPED);
  fill (self);
  return GTK_WIDGET (self);
}
