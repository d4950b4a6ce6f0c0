/* Fields of one change, and who makes it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-role-dialog.h"
#include "ef-field.h"
#include "ef-who-fields.h"

#include <glib/gi18n.h>
#include <string.h>

struct _EfRoleDialog
{
  EfFormWindow parent_instance;

  EfStore *store; /* borrowed */
  EfRoleTask task;
  char *name; /* of the role; NULL for one to be added */
  EfField *new_name, *pin, *again, *reason;
  GtkWidget *kind, *kind_box, *note;
  EfWhoFields *who;
};

static guint saved_signal;

G_DEFINE_FINAL_TYPE (EfRoleDialog, ef_role_dialog, EF_TYPE_FORM_WINDOW)

const char *
ef_role_kind_shown (EfRoleKind kind)
{
  static const char *const words[EF_N_ROLE_KINDS] = { N_ ("Bench"), N_ ("Trainer"), N_ ("Clerk"), N_ ("Owner") };

  return (guint) kind < EF_N_ROLE_KINDS ? _ (words[kind]) : "–";
}

static EfRoleKind
chosen_kind (EfRoleDialog *self)
{
  return (EfRoleKind) gtk_drop_down_get_selected (GTK_DROP_DOWN (self->kind));
}

/* The two are the same, or both empty: no PIN. */
static gboolean
check_pin (EfRoleDialog *self)
{
  const char *pin = ef_field_text (self->pin);

  ef_field_set_message (self->pin, NULL);
  ef_field_set_message (self->again, NULL);
  if (g_str_equal (pin, ef_field_text (self->again)))
    return TRUE;
  ef_field_set_message (self->again, _ ("The two aren't the same."));
  gtk_widget_grab_focus (GTK_WIDGET (self->again));
  return FALSE;
}

static gboolean
set_pin (EfRoleDialog *self,
         const char *name,
         const EfWho *who,
         GError **error)
{
  const char *pin = ef_field_text (self->pin);

  return ef_store_set_pin (self->store, name, *pin != '\0' ? pin : NULL, NULL, who, error);
}

static gboolean
add (EfRoleDialog *self,
     const EfWho *who,
     GError **error)
{
  g_autofree char *name = g_strstrip (g_strdup (ef_field_text (self->new_name)));
  const char *pin = ef_field_text (self->pin);
  /* The first owner gives the PIN for themself: before it there's nobody else. */
  EfWho asker = ef_who_fields_asks (self->who) ? *who : (EfWho){ name, NULL };

  if (*pin != '\0' && (g_utf8_strlen (pin, -1) < EF_PIN_MIN || g_utf8_strlen (pin, -1) > EF_PIN_MAX))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "PIN: expected %d to %d characters", EF_PIN_MIN, EF_PIN_MAX);
      return FALSE;
    }
  return ef_store_add_role (self->store, name, chosen_kind (self), &asker, error) && (*pin == '\0' || set_pin (self, name, &asker, error));
}

static gboolean
do_task (EfRoleDialog *self,
         const EfWho *who,
         GError **error)
{
  switch (self->task)
    {
    case EF_ROLE_ADD:
      return add (self, who, error);
    case EF_ROLE_CHANGE:
      return ef_store_change_role (self->store, self->name, chosen_kind (self), who, error);
    case EF_ROLE_PIN:
      return set_pin (self, self->name, who, error);
    case EF_ROLE_REMOVE:
    default:
      return ef_store_remove_role (self->store, self->name, ef_field_text (self->reason), who, error);
    }
}

/* At the field that it is about. */
static void
show_error (EfRoleDialog *self,
            const GError *error)
{
  EfField *field = self->task == EF_ROLE_REMOVE ? self->reason : self->task == EF_ROLE_ADD ? self->new_name : self->pin;

  if (ef_who_fields_take_error (self->who, error))
    return;
  if (strstr (error->message, "PIN:") != NULL && gtk_widget_get_visible (GTK_WIDGET (self->pin)))
    field = self->pin;
  if (!gtk_widget_get_visible (GTK_WIDGET (field)))
    {
      gtk_label_set_label (GTK_LABEL (self->note), error->message);
      gtk_widget_add_css_class (self->note, "error");
      gtk_widget_set_visible (self->note, TRUE);
      return;
    }
  ef_field_set_message (field, error->message);
  gtk_widget_grab_focus (GTK_WIDGET (field));
}

static gboolean
ef_role_dialog_accept (EfFormWindow *window)
{
  EfRoleDialog *self = EF_ROLE_DIALOG (window);
  EfWho who = ef_who_fields_get (self->who);
  g_autoptr (GError) error = NULL;

  ef_field_set_message (self->new_name, NULL);
  ef_field_set_message (self->reason, NULL);
  if (!check_pin (self))
    return FALSE;
  if (!do_task (self, &who, &error))
    {
      show_error (self, error);
      return FALSE;
    }
  g_signal_emit (self, saved_signal, 0);
  return TRUE;
}

static void
ef_role_dialog_finalize (GObject *object)
{
  g_free (EF_ROLE_DIALOG (object)->name);
  G_OBJECT_CLASS (ef_role_dialog_parent_class)->finalize (object);
}

static void
ef_role_dialog_class_init (EfRoleDialogClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_role_dialog_finalize;
  EF_FORM_WINDOW_CLASS (klass)->accept = ef_role_dialog_accept;
  saved_signal = g_signal_new ("saved", EF_TYPE_ROLE_DIALOG, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static EfField *
make_secret (const char *label)
{
  EfField *field = EF_FIELD (ef_field_new (label));
  GtkWidget *entry = ef_field_entry (field);

  gtk_entry_set_visibility (GTK_ENTRY (entry), FALSE);
  gtk_entry_set_input_purpose (GTK_ENTRY (entry), GTK_INPUT_PURPOSE_PASSWORD);
  return field;
}

static void
ef_role_dialog_init (EfRoleDialog *self)
{
  EfFormWindow *window = EF_FORM_WINDOW (self);
  const char *kinds[EF_N_ROLE_KINDS + 1] = { NULL };
  guint i;

  for (i = 0; i < EF_N_ROLE_KINDS; i++)
    kinds[i] = ef_role_kind_shown ((EfRoleKind) i);
  self->note = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, "visible", FALSE, NULL);
  self->new_name = EF_FIELD (ef_field_new (_ ("Name of the role")));
  g_object_set (self->new_name, "placeholder", _ ("bench 2"), NULL);
  self->kind = gtk_drop_down_new_from_strings (kinds);
  gtk_widget_add_css_class (self->kind, "ef-touch");
  self->kind_box = ef_labelled (_ ("Kind"), self->kind);
  self->pin = make_secret (_ ("New PIN (empty: none)"));
  self->again = make_secret (_ ("New PIN again"));
  self->reason = EF_FIELD (ef_field_new (_ ("Reason")));
  self->who = EF_WHO_FIELDS (ef_who_fields_new ());
  ef_form_window_add (window, self->note);
  ef_form_window_add (window, GTK_WIDGET (self->new_name));
  ef_form_window_add (window, self->kind_box);
  ef_form_window_add (window, GTK_WIDGET (self->pin));
  ef_form_window_add (window, GTK_WIDGET (self->again));
  ef_form_window_add (window, GTK_WIDGET (self->reason));
  ef_form_window_add (window, ef_labelled (_ ("Done by"), GTK_WIDGET (self->who)));
  g_signal_connect_object (self->who, "committed", G_CALLBACK (ef_form_window_accept), self, G_CONNECT_SWAPPED);
}

static void
show_fields (EfRoleDialog *self)
{
  gboolean asks = ef_who_fields_asks (self->who);
  gboolean pin = self->task == EF_ROLE_PIN || self->task == EF_ROLE_ADD;

  gtk_widget_set_visible (GTK_WIDGET (self->new_name), self->task == EF_ROLE_ADD);
  gtk_widget_set_visible (self->kind_box, self->task == EF_ROLE_ADD || self->task == EF_ROLE_CHANGE);
  gtk_widget_set_visible (GTK_WIDGET (self->pin), pin);
  gtk_widget_set_visible (GTK_WIDGET (self->again), pin);
  gtk_widget_set_visible (GTK_WIDGET (self->reason), self->task == EF_ROLE_REMOVE);
  gtk_widget_set_visible (gtk_widget_get_parent (GTK_WIDGET (self->who)), asks);
  if (asks)
    return;
  gtk_label_set_label (GTK_LABEL (self->note), _ ("The first role is the owner's: the one who answers for the shop and can put a forgotten PIN right."));
  gtk_widget_set_visible (self->note, TRUE);
  gtk_drop_down_set_selected (GTK_DROP_DOWN (self->kind), EF_ROLE_OWNER);
  gtk_widget_set_sensitive (self->kind, FALSE);
}

static char *
title_for (EfRoleTask task,
           const EfRole *role)
{
  switch (task)
    {
    case EF_ROLE_CHANGE:
      return g_strdup_printf (_ ("Kind of “%s”"), role->name);
    case EF_ROLE_PIN:
      return g_strdup_printf (_ ("PIN of “%s”"), role->name);
    case EF_ROLE_REMOVE:
      return g_strdup_printf (_ ("Remove “%s”"), role->name);
    case EF_ROLE_ADD:
    default:
      return g_strdup (_ ("Add a Role"));
    }
}

EfRoleDialog *
ef_role_dialog_show (GtkWidget *parent,
                     EfStore *store,
                     EfRoleTask task,
                     const EfRole *role)
{
  static const char *const accepts[] = { N_ ("_Add"), N_ ("_Change"), N_ ("_Set PIN"), N_ ("_Remove") };
  EfRoleDialog *self = g_object_new (EF_TYPE_ROLE_DIALOG, NULL);
  g_autofree char *title = NULL;

  self->store = store;
  self->task = task;
  self->name = role != NULL ? g_strdup (role->name) : NULL;
  title = title_for (task, role);
  gtk_window_set_title (GTK_WINDOW (self), title);
  ef_form_window_set_accept_label (EF_FORM_WINDOW (self), _ (accepts[task]));
  ef_who_fields_set_store (self->who, store);
  ef_who_fields_prefer (self->who, EF_ACT_ROLES);
  if (role != NULL)
    gtk_drop_down_set_selected (GTK_DROP_DOWN (self->kind), role->kind);
  /* One's own PIN is one's own affair. */
  if (task == EF_ROLE_PIN && role != NULL)
    ef_who_fields_choose (self->who, role->name);
  show_fields (self);
  ef_form_window_show (EF_FORM_WINDOW (self), parent);
  return self;
}
