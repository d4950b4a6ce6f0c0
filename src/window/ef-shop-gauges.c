/* A list of the shop's gauges, those in use first.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-shop-gauges.h"
#include "ef-list-window.h"
#include "ef-gauge-dialog.h"
#include "ef-gauge-row.h"
#include "ef-settings.h"

#include <glib/gi18n.h>

struct _EfShopGauges
{
  AdwWindow parent_instance;

  AdwToastOverlay *toasts;
  GtkWidget *list;
  GtkWidget *retired_title;
  GtkWidget *retired;

  EfStore *store;
  GPtrArray *gauges; /* EfShopGauge * */
};

static guint changed_signal;

G_DEFINE_FINAL_TYPE (EfShopGauges, ef_shop_gauges, ADW_TYPE_WINDOW)

static void fill (EfShopGauges *self);

static void
tell (EfShopGauges *self,
      const char *text)
{
  g_autofree char *escaped = g_markup_escape_text (text, -1);

  adw_toast_overlay_add_toast (self->toasts, adw_toast_new (escaped));
}

static const EfShopGauge *
find (EfShopGauges *self,
      const char *id)
{
  guint i;

  for (i = 0; id != NULL && i < self->gauges->len; i++)
    {
      const EfShopGauge *gauge = g_ptr_array_index (self->gauges, i);

      if (g_str_equal (gauge->gauge->item.id, id))
        return gauge;
    }
  return NULL;
}

static void
changed (EfShopGauges *self)
{
  fill (self);
  g_signal_emit (self, changed_signal, 0);
}

static void
add_cb (EfShopGauges *self)
{
  EfGaugeDialog *dialog = ef_gauge_dialog_show_shop (GTK_WIDGET (self), self->store, NULL);

  g_signal_connect_object (dialog, "saved", G_CALLBACK (changed), self, G_CONNECT_SWAPPED);
}

static void
activated_cb (EfShopGauges *self,
              GtkWidget *row)
{
  const EfShopGauge *gauge = find (self, g_object_get_data (G_OBJECT (row), "ef-gauge"));
  EfGaugeDialog *dialog;

  if (gauge == NULL)
    return;
  dialog = ef_gauge_dialog_show_shop (GTK_WIDGET (self), self->store, gauge);
  g_signal_connect_object (dialog, "saved", G_CALLBACK (changed), self, G_CONNECT_SWAPPED);
}

static void
set_retired (EfShopGauges *self,
             const char *id,
             const char *reason)
{
  const EfShopGauge *gauge = find (self, id);
  g_autofree char *role = ef_settings_role ();
  g_autofree char *bench = ef_settings_bench ();
  g_autoptr (GError) error = NULL;

  if (gauge == NULL)
    return;
  if (!ef_store_retire_gauge (self->store, id, gauge->version, reason, role, bench, &error))
    tell (self, error->message);
  changed (self);
}

static void
reason_changed_cb (GtkEditable *entry,
                   AdwMessageDialog *dialog)
{
  g_autofree char *reason = g_strstrip (g_strdup (gtk_editable_get_text (entry)));

  adw_message_dialog_set_response_enabled (dialog, "retire", *reason != '\0');
}

static void
retire_answered_cb (EfShopGauges *self,
                    const char *response,
                    AdwMessageDialog *dialog)
{
  GtkEditable *entry = GTK_EDITABLE (adw_message_dialog_get_extra_child (dialog));
  g_autofree char *reason = g_strstrip (g_strdup (gtk_editable_get_text (entry)));

  if (g_str_equal (response, "retire") && *reason != '\0')
    set_retired (self, g_object_get_data (G_OBJECT (dialog), "ef-gauge"), reason);
}

static void
retire_cb (EfShopGauges *self,
           GtkWidget *button)
{
  const EfShopGauge *gauge = find (self, g_object_get_data (G_OBJECT (button), "ef-gauge"));
  g_autofree char *title = NULL;
  GtkWidget *dialog, *entry;

  if (gauge == NULL)
    return;
  title = g_strdup_printf (_ ("Retire “%s”?"), gauge->gauge->name);
  dialog = adw_message_dialog_new (GTK_WINDOW (self), title, _ ("It stays in the list of retired gauges and in every job that used it. Say why it isn't used any more."));
  adw_message_dialog_add_responses (ADW_MESSAGE_DIALOG (dialog), "cancel", _ ("_Cancel"), "retire", _ ("_Retire"), NULL);
  adw_message_dialog_set_response_appearance (ADW_MESSAGE_DIALOG (dialog), "retire", ADW_RESPONSE_DESTRUCTIVE);
  adw_message_dialog_set_response_enabled (ADW_MESSAGE_DIALOG (dialog), "retire", FALSE);
  adw_message_dialog_set_default_response (ADW_MESSAGE_DIALOG (dialog), "retire");
  entry = g_object_new (GTK_TYPE_ENTRY, "activates-default", TRUE, "placeholder-text", _ ("dropped, out of tolerance, lost"), NULL);
  gtk_accessible_update_property (GTK_ACCESSIBLE (entry), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Reason"), -1);
  adw_message_dialog_set_extra_child (ADW_MESSAGE_DIALOG (dialog), entry);
  g_object_set_data_full (G_OBJECT (dialog), "ef-gauge", g_strdup (gauge->gauge->item.id), g_free);
  g_signal_connect (entry, "changed", G_CALLBACK (reason_changed_cb), dialog);
  g_signal_connect_object (dialog, "response", G_CALLBACK (retire_answered_cb), self, G_CONNECT_SWAPPED);
  gtk_window_present (GTK_WINDOW (dialog));
  gtk_widget_grab_focus (entry);
}

static void
use_again_cb (EfShopGauges *self,
              GtkWidget *button)
{
  set_retired (self, g_object_get_data (G_OBJECT (button), "ef-gauge"), NULL);
}

static GtkWidget *
make_row (EfShopGauges *self,
          const EfShopGauge *gauge)
{
  GtkWidget *row = ef_gauge_row_new (gauge->gauge);
  GtkWidget *button = gtk_button_new_with_label (gauge->retired == NULL ? _ ("Retire…") : _ ("Use Again"));

  if (gauge->retired != NULL)
    {
      g_autofree char *text = g_strdup_printf (_ ("Retired: %s"), gauge->retired);

      adw_action_row_set_subtitle (ADW_ACTION_ROW (row), text);
    }
  gtk_widget_set_valign (button, GTK_ALIGN_CENTER);
  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_add_css_class (button, "flat");
  g_object_set_data_full (G_OBJECT (button), "ef-gauge", g_strdup (gauge->gauge->item.id), g_free);
  g_signal_connect_object (button, "clicked", G_CALLBACK (gauge->retired == NULL ? retire_cb : use_again_cb), self, G_CONNECT_SWAPPED);
  adw_action_row_add_suffix (ADW_ACTION_ROW (row), button);
  return row;
}

static void
clear (GtkWidget *list)
{
  GtkWidget *child;

  while ((child = gtk_widget_get_first_child (list)) != NULL)
    gtk_list_box_remove (GTK_LIST_BOX (list), child);
}

static void
fill (EfShopGauges *self)
{
  g_autoptr (GError) error = NULL;
  GPtrArray *gauges = ef_store_gauges (self->store, TRUE, &error);
  guint n_retired = 0;
  guint i;

  if (gauges == NULL)
    {
      tell (self, error->message);
      return;
    }
  g_clear_pointer (&self->gauges, g_ptr_array_unref);
  self->gauges = gauges;
  clear (self->list);
  clear (self->retired);
  for (i = 0; i < gauges->len; i++)
    {
      const EfShopGauge *gauge = g_ptr_array_index (gauges, i);

      gtk_list_box_append (GTK_LIST_BOX (gauge->retired == NULL ? self->list : self->retired), make_row (self, gauge));
      n_retired += gauge->retired != NULL;
    }
  gtk_widget_set_visible (self->list, gauges->len > n_retired);
  gtk_widget_set_visible (self->retired, n_retired > 0);
  gtk_widget_set_visible (self->retired_title, n_retired > 0);
}

static void
ef_shop_gauges_dispose (GObject *object)
{
  g_clear_pointer (&EF_SHOP_GAUGES (object)->gauges, g_ptr_array_unref);
  G_OBJECT_CLASS (ef_shop_gauges_parent_class)->dispose (object);
}

static void
ef_shop_gauges_class_init (EfShopGaugesClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_shop_gauges_dispose;
  changed_signal = g_signal_new ("changed", EF_TYPE_SHOP_GAUGES, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  gtk_widget_class_add_binding_action (GTK_WIDGET_CLASS (klass), GDK_KEY_Escape, 0, "window.close", NULL);
}

static GtkWidget *
make_list (EfShopGauges *self,
           const char *label)
{
  GtkWidget *list = g_object_new (GTK_TYPE_LIST_BOX, "selection-mode", GTK_SELECTION_NONE, NULL);

  gtk_widget_add_css_class (list, "boxed-list");
  gtk_accessible_update_property (GTK_ACCESSIBLE (list), GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
  g_signal_connect_swapped (list, "row-activated", G_CALLBACK (activated_cb), self);
  return list;
}

static GtkWidget *
make_column (EfShopGauges *self)
{
  GtkWidget *column = gtk_box_new (GTK_ORIENTATION_VERTICAL, 18);
  GtkWidget *note = g_object_new (GTK_TYPE_LABEL, "label",
                                  _ ("A job takes a copy of each gauge it uses, as it is that day. “Typical of its kind” is common practice, without a source: put in what the gauge's certificate says."),
                                  "xalign", 0.0f, "wrap", TRUE, NULL);

  gtk_widget_add_css_class (note, "dim-label");
  self->list = make_list (self, _ ("Gauges in use"));
  self->retired_title = g_object_new (GTK_TYPE_LABEL, "label", _ ("Retired"), "xalign", 0.0f, NULL);
  gtk_widget_add_css_class (self->retired_title, "title-4");
  self->retired = make_list (self, _ ("Retired gauges"));
  gtk_box_append (GTK_BOX (column), note);
  gtk_box_append (GTK_BOX (column), self->list);
  gtk_box_append (GTK_BOX (column), self->retired_title);
  gtk_box_append (GTK_BOX (column), self->retired);
  return column;
}

static void
ef_shop_gauges_init (EfShopGauges *self)
{
  GtkWidget *add = gtk_button_new_with_label (_ ("Add a Gauge…"));

  g_signal_connect_swapped (add, "clicked", G_CALLBACK (add_cb), self);
  self->toasts = ef_list_window_dress (ADW_WINDOW (self), _ ("Shop Gauges"), make_column (self), 860, add, 760, 640);
}

EfShopGauges *
ef_shop_gauges_show (GtkWidget *parent,
                     EfStore *store)
{
  EfShopGauges *self = g_object_new (EF_TYPE_SHOP_GAUGES, NULL);
  g_autoptr (GError) error = NULL;

  self->store = store;
  if (!ef_store_seed_gauges (store, &error))
    tell (self, error->message);
  fill (self);
  gtk_window_set_transient_for (GTK_WINDOW (self), GTK_WINDOW (gtk_widget_get_root (parent)));
  gtk_window_present (GTK_WINDOW (self));
  return self;
}
