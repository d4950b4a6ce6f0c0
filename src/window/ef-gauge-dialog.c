/* Adding and correcting a gauge, of a job or of the shop.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-gauge-dialog.h"
#include "ef-certificate-list.h"
#include "ef-field.h"
#include "ef-settings.h"

#include <glib/gi18n.h>
#include <string.h>

struct _EfGaugeDialog
{
  EfFormWindow parent_instance;

  GtkWidget *kind;
  EfField *name, *serial, *resolution, *uncertainty, *range_min, *range_max, *checked, *due, *note;
  EfCertificateList *certificates; /* NULL until it's known where they are kept */
  GtkWidget *in_shop; /* NULL: not asked */

  EfSession *session; /* NULL: a gauge of the shop */
  EfStore *store;     /* the shop's */
  gint64 version;     /* in the shop's list; 0 new */
  EfGauge *before;    /* NULL: new */
};

static guint saved_signal;

G_DEFINE_FINAL_TYPE (EfGaugeDialog, ef_gauge_dialog, EF_TYPE_FORM_WINDOW)

/* At the field it's about, without its name. */
static void
show_refusal (EfGaugeDialog *self,
              const char *name,
              const char *message)
{
  const struct { const char *name; EfField *field; } fields[] = {
    { "name", self->name }, { "resolution", self->resolution }, { "uncertainty", self->uncertainty }, { "range_min", self->range_min },
    { "range_max", self->range_max }, { "checked", self->checked }, { "due", self->due },
  };
  g_autofree char *head = g_strconcat (name, ": ", NULL);
  const char *words = strstr (message, head);
  EfField *field = self->name;

  for (guint i = 0; i < G_N_ELEMENTS (fields); i++)
    if (g_str_equal (fields[i].name, name))
      field = fields[i].field;
  ef_field_set_message (field, words != NULL ? words + strlen (head) : message);
  gtk_widget_grab_focus (GTK_WIDGET (field));
}

static EfGauge *
read_fields (EfGaugeDialog *self)
{
  g_autoptr (EfItem) item = ef_item_new (&ef_gauge_class, self->before != NULL ? self->before->item.id : NULL);
  EfGauge *gauge = (EfGauge *) item;
  EfUnit unit = ef_settings_length_unit ();
  g_autoptr (GError) error = NULL;
  const char *name = NULL;
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
  ok = ef_field_string (self->note, FALSE, &gauge->note) && ok;
  gauge->certificates = ef_certificate_list_get (self->certificates);
  if (ok && !ef_gauge_check_field (gauge, &name, &error))
    {
      show_refusal (self, name, error->message);
      ok = FALSE;
    }
  return ok ? (EfGauge *) g_steal_pointer (&item) : NULL;
}

static gboolean
keep_in_shop (EfGaugeDialog *self,
              const EfGauge *gauge,
              GError **error)
{
  g_autofree char *role = ef_settings_role ();
  g_autofree char *bench = ef_settings_bench ();

  return ef_store_put_gauge (self->store, gauge, self->version, role, bench, error);
}

static gboolean
keep_in_job (EfGaugeDialog *self,
             EfItem *gauge)
{
  g_autofree char *label = g_strdup_printf (self->before != NULL ? _ ("Correct gauge: %s") : _ ("Add gauge: %s"), ((EfGauge *) gauge)->name);
  g_autoptr (EfChange) change = ef_change_new (label);

  ef_change_add (change, self->before, gauge);
  return ef_session_apply (self->session, g_steal_pointer (&change));
}

static gboolean
ef_gauge_dialog_accept (EfFormWindow *window)
{
  EfGaugeDialog *self = EF_GAUGE_DIALOG (window);
  /* A file on its way in belongs to what is kept. */
  g_autoptr (EfItem) gauge = ef_certificate_list_busy (self->certificates) ? NULL : (EfItem *) read_fields (self);
  gboolean in_shop = self->session == NULL || (self->in_shop != NULL && gtk_check_button_get_active (GTK_CHECK_BUTTON (self->in_shop)));
  g_autoptr (GError) error = NULL;

  /* What was attached is in the store before the gauge names it; "kept" comes back here. */
  if (gauge == NULL || !ef_certificate_list_keep (self->certificates) || (self->session != NULL && !keep_in_job (self, gauge)))
    return FALSE;
  if (in_shop && !keep_in_shop (self, (EfGauge *) gauge, &error))
    {
      if (self->session == NULL)
        {
          ef_field_set_message (self->name, error->message);
          return FALSE;
        }
      ef_session_message (self->session, error->message);
    }
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
new_field (const char *label,
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
  self->name = new_field (_ ("Name"), _ ("Depth micrometer 0–25 mm"));
  self->serial = new_field (_ ("Serial or shop number"), "");
  self->resolution = new_field (_ ("Resolution"), "0.01 mm");
  self->uncertainty = new_field (_ ("Uncertainty (expanded, k = 2)"), "0.01 mm");
  self->range_min = new_field (_ ("Range from"), "0 mm");
  self->range_max = new_field (_ ("Range to"), "25 mm");
  self->checked = new_field (_ ("Last checked"), "2026-03-09");
  self->due = new_field (_ ("Next check due"), "2027-03-09");
  self->note = new_field (_ ("Certificate or note"), _ ("certificate 114, or none"));
  ef_form_window_add_pair (window, ef_labelled (_ ("Kind"), self->kind), GTK_WIDGET (self->serial));
  ef_form_window_add (window, GTK_WIDGET (self->name));
  ef_form_window_add_pair (window, GTK_WIDGET (self->resolution), GTK_WIDGET (self->uncertainty));
  ef_form_window_add_pair (window, GTK_WIDGET (self->range_min), GTK_WIDGET (self->range_max));
  ef_form_window_add_pair (window, GTK_WIDGET (self->checked), GTK_WIDGET (self->due));
  ef_form_window_add (window, GTK_WIDGET (self->note));
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
  ef_field_set_text (self->note, gauge->note);
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

static EfGaugeDialog *
dialog_new (EfStore *store,
            const EfGauge *gauge)
{
  EfGaugeDialog *self = g_object_new (EF_TYPE_GAUGE_DIALOG, "title", gauge != NULL ? _ ("Gauge") : _ ("Add a Gauge"), NULL);

  self->store = store;
  self->certificates = EF_CERTIFICATE_LIST (ef_certificate_list_new (store));
  g_signal_connect_object (self->certificates, "kept", G_CALLBACK (ef_form_window_accept), self, G_CONNECT_SWAPPED);
  ef_form_window_add (EF_FORM_WINDOW (self), GTK_WIDGET (self->certificates));
  if (gauge != NULL)
    {
      self->before = ef_item_ref ((gpointer) gauge);
      fill (self, gauge);
      ef_certificate_list_set (self->certificates, gauge->certificates);
    }
  else
    kind_chosen_cb (self);
  return self;
}

static EfGaugeDialog *
show (EfGaugeDialog *self,
      GtkWidget *parent)
{
  ef_form_window_show (EF_FORM_WINDOW (self), parent);
  gtk_widget_grab_focus (GTK_WIDGET (self->name));
  return self;
}

EfGaugeDialog *
ef_gauge_dialog_show (GtkWidget *parent,
                      EfSession *session,
                      const EfGauge *gauge)
{
  EfGaugeDialog *self = dialog_new (ef_session_store (session), gauge);

  self->session = g_object_ref (session);
  if (gauge == NULL && self->store != NULL)
    {
      self->in_shop = gtk_check_button_new_with_mnemonic (_ ("Keep it in the _shop's list too"));
      gtk_check_button_set_active (GTK_CHECK_BUTTON (self->in_shop), TRUE);
      gtk_widget_add_css_class (self->in_shop, "ef-touch");
      ef_form_window_add (EF_FORM_WINDOW (self), self->in_shop);
    }
  return show (self, parent);
}

EfGaugeDialog *
ef_gauge_dialog_show_shop (GtkWidget *parent,
                           EfStore *store,
                           const EfShopGauge *gauge)
{
  EfGaugeDialog *self = dialog_new (store, gauge != NULL ? gauge->gauge : NULL);

  self->version = gauge != NULL ? gauge->version : 0;
  return show (self, parent);
}

void
ef_gauge_dialog_suggest (EfGaugeDialog *self,
                         EfGaugeKind kind)
{
  if (self->before == NULL)
    gtk_drop_down_set_selected (GTK_DROP_DOWN (self->kind), kind);
}
