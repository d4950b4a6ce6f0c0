/* A role to choose or type, and a PIN.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-who-fields.h"
#include "ef-field.h"
#include "ef-settings.h"

#include <glib/gi18n.h>

struct _EfWhoFields
{
  GtkBox parent_instance;

  EfStore *store;  /* borrowed */
  GPtrArray *roles; /* EfRole *, in use */
  GtkWidget *choice_box, *choice, *message;
  EfField *typed, *pin;
};

static guint committed_signal;

G_DEFINE_FINAL_TYPE (EfWhoFields, ef_who_fields, GTK_TYPE_BOX)

static const EfRole *
chosen (EfWhoFields *self)
{
  guint selected = gtk_drop_down_get_selected (GTK_DROP_DOWN (self->choice));

  /* The first entry asks to choose. */
  return selected >= 1 && selected <= self->roles->len ? self->roles->pdata[selected - 1] : NULL;
}

gboolean
ef_who_fields_asks (EfWhoFields *self)
{
  return self->roles->len > 0;
}

static void
show_parts (EfWhoFields *self)
{
  const EfRole *role = chosen (self);

  gtk_widget_set_visible (self->choice_box, ef_who_fields_asks (self));
  gtk_widget_set_visible (GTK_WIDGET (self->typed), !ef_who_fields_asks (self));
  gtk_widget_set_visible (GTK_WIDGET (self->pin), ef_who_fields_asks (self) && role != NULL && role->has_pin);
}

static void
say (EfWhoFields *self,
     const char *message)
{
  gtk_label_set_label (GTK_LABEL (self->message), message != NULL ? message : "");
  gtk_widget_set_visible (self->message, message != NULL);
}

static void
chosen_cb (EfWhoFields *self)
{
  say (self, NULL);
  ef_field_set_text (self->pin, NULL);
  show_parts (self);
}

void
ef_who_fields_choose (EfWhoFields *self,
                      const char *role)
{
  guint i;

  ef_field_set_text (self->typed, role);
  gtk_drop_down_set_selected (GTK_DROP_DOWN (self->choice), 0);
  for (i = 0; i < self->roles->len; i++)
    if (g_strcmp0 (((EfRole *) self->roles->pdata[i])->name, role) == 0)
      gtk_drop_down_set_selected (GTK_DROP_DOWN (self->choice), i + 1);
  chosen_cb (self);
}

void
ef_who_fields_prefer (EfWhoFields *self,
                      EfAct act)
{
  const EfRole *role = chosen (self);
  guint i;

  if (role != NULL && ef_role_kind_may (role->kind, act))
    return;
  for (i = 0; i < self->roles->len; i++)
    if (ef_role_kind_may (((EfRole *) self->roles->pdata[i])->kind, act))
      {
        ef_who_fields_choose (self, ((EfRole *) self->roles->pdata[i])->name);
        return;
      }
}

void
ef_who_fields_set_store (EfWhoFields *self,
                         EfStore *store)
{
  g_autoptr (GtkStringList) names = gtk_string_list_new (NULL);
  g_autoptr (GError) error = NULL;
  g_autofree char *at_work = ef_settings_role ();
  GPtrArray *roles = store != NULL ? ef_store_roles (store, FALSE, &error) : NULL;
  guint i;

  self->store = store;
  g_ptr_array_set_size (self->roles, 0);
  gtk_string_list_append (names, _ ("Who is it?"));
  for (i = 0; roles != NULL && i < roles->len; i++)
    gtk_string_list_append (names, ((EfRole *) roles->pdata[i])->name);
  if (roles != NULL)
    {
      g_ptr_array_unref (self->roles);
      self->roles = roles;
    }
  gtk_drop_down_set_model (GTK_DROP_DOWN (self->choice), G_LIST_MODEL (names));
  ef_who_fields_choose (self, at_work);
  say (self, error != NULL ? error->message : NULL);
}

EfWho
ef_who_fields_get (EfWhoFields *self)
{
  const EfRole *role = chosen (self);

  if (!ef_who_fields_asks (self))
    return (EfWho){ ef_field_text (self->typed), NULL };
  return (EfWho){ role != NULL ? role->name : "", ef_field_text (self->pin) };
}

gboolean
ef_who_fields_take_error (EfWhoFields *self,
                          const GError *error)
{
  if (g_error_matches (error, EF_ERROR, EF_ERROR_PIN))
    {
      /* It may have got one since the list was read. */
      gtk_widget_set_visible (GTK_WIDGET (self->pin), TRUE);
      ef_field_set_message (self->pin, error->message);
      gtk_widget_grab_focus (GTK_WIDGET (self->pin));
      return TRUE;
    }
  if (!g_error_matches (error, EF_ERROR, EF_ERROR_REFUSED))
    return FALSE;
  say (self, error->message);
  gtk_widget_grab_focus (self->choice);
  return TRUE;
}

gboolean
ef_who_fields_authorise (EfWhoFields *self,
                         EfAct act,
                         gboolean required,
                         char **role_out)
{
  EfWho who = ef_who_fields_get (self);
  g_autoptr (GError) error = NULL;

  say (self, NULL);
  ef_field_set_message (self->pin, NULL);
  if (!ef_who_fields_asks (self) && !ef_field_string (self->typed, required, role_out))
    return FALSE;
  if (self->store != NULL && !ef_store_authorise (self->store, &who, act, &error))
    {
      if (!ef_who_fields_take_error (self, error))
        say (self, error->message);
      return FALSE;
    }
  if (ef_who_fields_asks (self))
    *role_out = g_strdup (who.name);
  ef_field_set_text (self->pin, NULL);
  return TRUE;
}

static void
committed_cb (EfWhoFields *self)
{
  g_signal_emit (self, committed_signal, 0);
}

static void
ef_who_fields_finalize (GObject *object)
{
  g_ptr_array_unref (EF_WHO_FIELDS (object)->roles);
  G_OBJECT_CLASS (ef_who_fields_parent_class)->finalize (object);
}

static void
ef_who_fields_class_init (EfWhoFieldsClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_who_fields_finalize;
  committed_signal = g_signal_new ("committed", EF_TYPE_WHO_FIELDS, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
}

static void
ef_who_fields_init (EfWhoFields *self)
{
  GtkWidget *entry;

  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 12);
  self->roles = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_role_free);
  self->typed = EF_FIELD (ef_field_new (_ ("Role")));
  g_object_set (self->typed, "placeholder", _ ("foreman, bench 2"), NULL);
  self->choice = gtk_drop_down_new (NULL, NULL);
  gtk_widget_add_css_class (self->choice, "ef-touch");
  self->choice_box = ef_labelled (_ ("Role"), self->choice);
  self->pin = EF_FIELD (ef_field_new (_ ("PIN")));
  entry = ef_field_entry (self->pin);
  gtk_entry_set_visibility (GTK_ENTRY (entry), FALSE);
  gtk_entry_set_input_purpose (GTK_ENTRY (entry), GTK_INPUT_PURPOSE_PASSWORD);
  self->message = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, "visible", FALSE, NULL);
  gtk_widget_add_css_class (self->message, "error");
  gtk_box_append (GTK_BOX (self), GTK_WIDGET (self->typed));
  gtk_box_append (GTK_BOX (self), self->choice_box);
  gtk_box_append (GTK_BOX (self), GTK_WIDGET (self->pin));
  gtk_box_append (GTK_BOX (self), self->message);
  g_signal_connect_swapped (self->choice, "notify::selected", G_CALLBACK (chosen_cb), self);
  g_signal_connect_swapped (self->typed, "committed", G_CALLBACK (committed_cb), self);
  g_signal_connect_swapped (self->pin, "committed", G_CALLBACK (committed_cb), self);
  show_parts (self);
}

GtkWidget *
ef_who_fields_new (void)
{
  return g_object_new (EF_TYPE_WHO_FIELDS, NULL);
}
