/* Adding and correcting a gauge.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-gauge-dialog.h"
#include "ef-field.h"
#include "ef-settings.h"

#include <glib/gi18n.h>

struct _EfGaugeDialog
{
  EfFormWindow parent_instance;

  GtkWidget *kind;
  EfField *name, *serial, *resolution, *uncertainty, *range_min, *range_max, *checked, *due;

  EfSession *session;
  EfGauge *before; /* NULL: new */
};

static guint saved_signal;

G_DEFINE_FINAL_TYPE (EfGaugeDialog, ef_gauge_dialog, EF_TYPE_FORM_WINDOW)

static EfGauge *
read_fields (EfGaugeDialog *self)
{
  g_autoptr (EfItem) item = ef_item_new (&ef_gauge_class, self->before != NULL ? self->before->item.id : NULL);
  EfGauge *gauge = (EfGauge *) item;
  EfUnit unit = ef_settings_length_unit ();
  g_autoptr (GError) error = NULL;
  gboolean ok = TRUE;

  gauge->kind = gtk_drop_down_get_selected (GTK_DROP_DOWN (self->kind));
  ok = ef_field_string (self->name, TRUE, &gauge->name) && ok;
  ok = ef_field_string (self->serial, FALSE, &gauge->serial) && ok;
  ok = ef_field_quantity (self->resolution, unit, TRUE, &gauge->resolution, NULL) && ok;
  ok = ef_field_quantity (self->uncertainty, unit, TRUE, &gauge->uncertainty, NULL) && ok;
  ok = ef_field_quantity (self->range_min, unit, FALSE, &gauge->range_min, NULL) && ok;
  ok = ef_field_quantity (self->range_max, unit, FALSE, &gauge->range_max, NULL) && ok;
  ok = ef_field_date (self->checked, FALSE, &gauge->checked) && ok;
  ok = ef_field_date (self->due, FALSE, &gauge->due) && ok;
  if (ok && !ef_gauge_check (gauge, &error))
    {
      ef_field_set_message (self->name, error->message);
      ok = FALSE;
    }
  return ok ? (EfGauge *) g_steal_pointer (&item) : NULL;
}

static gboolean
ef_gauge_dialog_accept (EfFormWindow *window)
{
  EfGaugeDialog *self = EF_GAUGE_DIALOG (window);
  g_autoptr (EfItem) gauge = (EfItem *) read_fields (self);
  g_autoptr (EfChange) change = NULL;
  g_autofree char *label = NULL;

  if (gauge == NULL)
    return FALSE;
  label = g_strdup_printf (self->before != NULL ? _ ("Correct gauge: %s") : _ ("Add gauge: %s"), ((EfGauge *) gauge)->name);
  change = ef_change_new (label);
  ef_change_add (change, self->before, gauge);
  if (!ef_session_apply (self->session, g_steal_pointer (&change)))
    return FALSE;
  g_signal_emit (self, saved_signal, 0, gauge->id);
  return TRUE;
}

static void
ef_gauge_dialog_dispose (GObject *object)
{
  EfGaugeDialog *self = EF_GAUGE_DIALOG (object);

  g_clear_object (&self->session);
  g_clear_pointer (&self->before, ef_item_unref);
  G_OBJECT_CLASS (ef_gauge_dialog_parent_class)->dispose (object);
}

static void
ef_gauge_dialog_class_init (EfGaugeDialogClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_gauge_dialog_dispose;
  EF_FORM_WINDOW_CLASS (klass)->accept = ef_gauge_dialog_accept;
  saved_signal = g_signal_new ("saved", EF_TYPE_GAUGE_DIALOG, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
}

static EfField *
field (const char *label,
       const char *placeholder)
{
  EfField *made = EF_FIELD (ef_field_new (label));

  g_object_set (made, "placeholder", placeholder, NULL);
  return made;
}

static void kind_chosen_cb (EfGaugeDialog *self);

static void
ef_gauge_dialog_init (EfGaugeDialog *self)
{
  EfFormWindow *window = EF_FORM_WINDOW (self);
  g_autoptr (GtkStringList) kinds = gtk_string_list_new (NULL);
  int kind;

  for (kind = 0; kind < EF_N_GAUGE_KINDS; kind++)
    gtk_string_list_append (kinds, _ (ef_gauge_kind_label (kind)));
  self->kind = gtk_drop_down_new (G_LIST_MODEL (g_steal_pointer (&kinds)), NULL);
  gtk_widget_add_css_class (self->kind, "ef-touch");
  gtk_drop_down_set_selected (GTK_DROP_DOWN (self->kind), EF_GAUGE_MICROMETER);
  g_signal_connect_swapped (self->kind, "notify::selected", G_CALLBACK (kind_chosen_cb), self);
  self->name = field (_ ("Name"), _ ("Depth micrometer 0–25 mm"));
  self->serial = field (_ ("Serial or shop number"), "");
  self->resolution = field (_ ("Resolution"), "0.01 mm");
  self->uncertainty = field (_ ("Uncertainty (expanded, k = 2)"), "0.01 mm");
  self->range_min = field (_ ("Range from"), "0 mm");
  self->range_max = field (_ ("Range to"), "25 mm");
  self->checked = field (_ ("Last checked"), "2026-03-09");
  self->due = field (_ ("Next check due"), "2027-03-09");
  ef_form_window_add_pair (window, ef_labelled (_ ("Kind"), self->kind), GTK_WIDGET (self->serial));
  ef_form_window_add (window, GTK_WIDGET (self->name));
  ef_form_window_add_pair (window, GTK_WIDGET (self->resolution), GTK_WIDGET (self->uncertainty));
  ef_form_window_add_pair (window, GTK_WIDGET (self->range_min), GTK_WIDGET (self->range_max));
  ef_form_window_add_pair (window, GTK_WIDGET (self->checked), GTK_WIDGET (self->due));
}

static void
set_length (EfField *target,
            double metres)
{
  g_autofree char *text = ef_settings_exact (metres, ef_settings_length_unit ());

  ef_field_set_text (target, text);
}

static void
fill (EfGaugeDialog *self,
      const EfGauge *gauge)
{
  if (gtk_drop_down_get_selected (GTK_DROP_DOWN (self->kind)) != (guint) gauge->kind)
    gtk_drop_down_set_selected (GTK_DROP_DOWN (self->kind), gauge->kind);
  ef_field_set_text (self->name, gauge->name);
  ef_field_set_text (self->serial, gauge->serial);
  set_length (self->resolution, gauge->resolution);
  set_length (self->uncertainty, gauge->uncertainty);
  set_length (self->range_min, gauge->range_min);
  set_length (self->range_max, gauge->range_max);
  ef_field_set_text (self->checked, gauge->checked);
  ef_field_set_text (self->due, gauge->due);
}

/* A new gauge begins with what is usual for its kind, to be replaced by its certificate. */
static void
kind_chosen_cb (EfGaugeDialog *self)
{
  g_autoptr (EfItem) usual = NULL;

  if (self->before != NULL)
    return;
  usual = (EfItem *) ef_gauge_default (gtk_drop_down_get_selected (GTK_DROP_DOWN (self->kind)));
  fill (self, (EfGauge *) usual);
}

EfGaugeDialog *
ef_gauge_dialog_show (GtkWidget *parent,
                      EfSession *session,
                      const EfGauge *gauge)
{
  EfGaugeDialog *self = g_object_new (EF_TYPE_GAUGE_DIALOG, "title", gauge != NULL ? _ ("Gauge") : _ ("Add a Gauge"), NULL);

  self->session = g_object_ref (session);
  if (gauge != NULL)
    {
      self->before = ef_item_ref ((gpointer) gauge);
      fill (self, gauge);
    }
  else
    kind_chosen_cb (self);
  ef_form_window_show (EF_FORM_WINDOW (self), parent);
  gtk_widget_grab_focus (GTK_WIDGET (self->name));
  return self;
}
