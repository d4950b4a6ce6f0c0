/* A form that asks who, and why.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-who-ask.h"
#include "ef-field.h"

#include <glib/gi18n.h>

struct _EfWhoDialog
{
  EfFormWindow parent_instance;

  EfWhoFields *who;
  EfField *reason;
  EfAct act;
  EfWhoDone done;
  GWeakRef owner;
};

G_DEFINE_FINAL_TYPE (EfWhoDialog, ef_who_dialog, EF_TYPE_FORM_WINDOW)

static gboolean
ef_who_dialog_accept (EfFormWindow *window)
{
  EfWhoDialog *self = EF_WHO_DIALOG (window);
  g_autoptr (GObject) owner = g_weak_ref_get (&self->owner);
  g_autofree char *role = NULL;
  g_autofree char *reason = NULL;

  if (gtk_widget_get_visible (GTK_WIDGET (self->reason)) && !ef_field_string (self->reason, TRUE, &reason))
    {
      ef_field_set_message (self->reason, _ ("This needs a reason: it stands in the history."));
      gtk_widget_grab_focus (GTK_WIDGET (self->reason));
      return FALSE;
    }
  if (!ef_who_fields_authorise (self->who, self->act, FALSE, &role))
    return FALSE;
  return owner == NULL || self->done (owner, role, reason);
}

static void
ef_who_dialog_finalize (GObject *object)
{
  g_weak_ref_clear (&EF_WHO_DIALOG (object)->owner);
  G_OBJECT_CLASS (ef_who_dialog_parent_class)->finalize (object);
}

static void
ef_who_dialog_class_init (EfWhoDialogClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_who_dialog_finalize;
  EF_FORM_WINDOW_CLASS (klass)->accept = ef_who_dialog_accept;
}

static void
ef_who_dialog_init (EfWhoDialog *self)
{
  EfFormWindow *window = EF_FORM_WINDOW (self);

  g_weak_ref_init (&self->owner, NULL);
  self->reason = EF_FIELD (ef_field_new (_ ("Reason")));
  self->who = EF_WHO_FIELDS (ef_who_fields_new ());
  ef_form_window_add (window, GTK_WIDGET (self->reason));
  ef_form_window_add (window, GTK_WIDGET (self->who));
  g_signal_connect_object (self->who, "committed", G_CALLBACK (ef_form_window_accept), self, G_CONNECT_SWAPPED);
}

void
ef_who_ask (GtkWidget *parent,
            EfStore *store,
            EfAct act,
            const char *title,
            const char *accept_label,
            const char *reason_label,
            EfWhoDone done,
            GObject *owner)
{
  EfWhoDialog *self = g_object_new (EF_TYPE_WHO_DIALOG, "title", title, NULL);

  ef_who_fields_set_store (self->who, store);
  if (!ef_who_fields_asks (self->who) && reason_label == NULL)
    {
      gtk_window_destroy (GTK_WINDOW (self));
      done (owner, NULL, NULL);
      return;
    }
  self->act = act;
  self->done = done;
  g_weak_ref_set (&self->owner, owner);
  ef_form_window_set_accept_label (EF_FORM_WINDOW (self), accept_label);
  gtk_widget_set_visible (GTK_WIDGET (self->reason), reason_label != NULL);
  if (reason_label != NULL)
    ef_field_set_label (self->reason, reason_label);
  ef_form_window_show (EF_FORM_WINDOW (self), parent);
}
