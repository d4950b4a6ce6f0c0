/* Correcting or removing a reading.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-reading-dialog.h"
#include "ef-field.h"
#include "ef-gauge-choice.h"
#include "ef-settings.h"

#include <glib/gi18n.h>

struct _EfReadingDialog
{
  EfFormWindow parent_instance;

  EfField *value, *temperature, *note;
  EfGaugeChoice *gauge;

  EfSession *session;
  EfReading *before;
};

G_DEFINE_FINAL_TYPE (EfReadingDialog, ef_reading_dialog, EF_TYPE_FORM_WINDOW)

static EfReading *
read_fields (EfReadingDialog *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  g_autoptr (EfItem) item = ef_item_copy (self->before);
  EfReading *reading = (EfReading *) item;
  g_autoptr (GError) error = NULL;
  g_autofree char *note = NULL;
  const EfGauge *gauge;
  gboolean ok = TRUE;

  ok = ef_field_quantity (self->value, self->before->unit, TRUE, &reading->value, &reading->unit) && ok;
  ok = ef_field_quantity (self->temperature, EF_UNIT_CELSIUS, FALSE, &reading->temperature, NULL) && ok;
  ok = ef_field_string (self->note, FALSE, &note) && ok;
  if (!ok)
    return NULL;
  g_free (reading->note);
  reading->note = g_steal_pointer (&note);
  g_free (reading->gauge_id);
  reading->gauge_id = g_strdup (ef_gauge_choice_get (self->gauge));
  gauge = reading->gauge_id != NULL ? ef_inspection_find (inspection, EF_ITEM_GAUGE, reading->gauge_id) : NULL;
  if (!ef_reading_check (reading, inspection->sheet, &error) || (gauge != NULL && !ef_reading_check_gauge (reading, gauge, &error)))
    {
      ef_field_set_message (self->value, error->message);
      return NULL;
    }
  return (EfReading *) g_steal_pointer (&item);
}

static gboolean
ef_reading_dialog_accept (EfFormWindow *window)
{
  EfReadingDialog *self = EF_READING_DIALOG (window);
  g_autoptr (EfItem) after = (EfItem *) read_fields (self);
  g_autoptr (EfChange) change = NULL;

  if (after == NULL)
    return FALSE;
  if (ef_item_equal (self->before, after))
    return TRUE;
  change = ef_change_new (_ ("Correct reading"));
  ef_change_add (change, self->before, after);
  return ef_session_apply (self->session, g_steal_pointer (&change));
}

static void
remove_cb (EfReadingDialog *self)
{
  g_autoptr (EfChange) change = ef_change_new (_ ("Remove reading"));

  ef_change_add (change, self->before, NULL);
  if (ef_session_apply (self->session, g_steal_pointer (&change)))
    gtk_window_close (GTK_WINDOW (self));
}

static void
ef_reading_dialog_dispose (GObject *object)
{
  EfReadingDialog *self = EF_READING_DIALOG (object);

  g_clear_object (&self->session);
  g_clear_pointer (&self->before, ef_item_unref);
  G_OBJECT_CLASS (ef_reading_dialog_parent_class)->dispose (object);
}

static void
ef_reading_dialog_class_init (EfReadingDialogClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_reading_dialog_dispose;
  EF_FORM_WINDOW_CLASS (klass)->accept = ef_reading_dialog_accept;
}

static void
ef_reading_dialog_init (EfReadingDialog *self)
{
}

static void
build (EfReadingDialog *self)
{
  EfFormWindow *window = EF_FORM_WINDOW (self);
  GtkWidget *remove = gtk_button_new_with_label (_ ("Remove This Reading"));
  g_autofree char *value = ef_settings_exact (self->before->value, self->before->unit);
  g_autofree char *temperature = ef_settings_exact (self->before->temperature, EF_UNIT_CELSIUS);

  self->value = EF_FIELD (ef_field_new (_ ("Value")));
  self->temperature = EF_FIELD (ef_field_new (_ ("Temperature of the part")));
  self->note = EF_FIELD (ef_field_new (_ ("Note")));
  self->gauge = EF_GAUGE_CHOICE (ef_gauge_choice_new (self->session));
  g_object_set (self->temperature, "placeholder", "20 °C", NULL);
  ef_field_set_text (self->value, value);
  ef_field_set_text (self->temperature, temperature);
  ef_field_set_text (self->note, self->before->note);
  ef_gauge_choice_set (self->gauge, self->before->gauge_id);
  gtk_widget_add_css_class (remove, "ef-touch");
  gtk_widget_add_css_class (remove, "destructive-action");
  g_signal_connect_swapped (remove, "clicked", G_CALLBACK (remove_cb), self);
  ef_form_window_add_pair (window, GTK_WIDGET (self->value), GTK_WIDGET (self->temperature));
  ef_form_window_add (window, ef_labelled (_ ("Gauge"), GTK_WIDGET (self->gauge)));
  ef_form_window_add (window, GTK_WIDGET (self->note));
  ef_form_window_add (window, remove);
}

EfReadingDialog *
ef_reading_dialog_show (GtkWidget *parent,
                        EfSession *session,
                        const EfReading *reading,
                        const char *title)
{
  EfReadingDialog *self = g_object_new (EF_TYPE_READING_DIALOG, "title", title, NULL);

  self->session = g_object_ref (session);
  self->before = ef_item_ref ((gpointer) reading);
  build (self);
  ef_form_window_show (EF_FORM_WINDOW (self), parent);
  gtk_widget_grab_focus (GTK_WIDGET (self->value));
  return self;
}
