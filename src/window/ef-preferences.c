/* Rows bound to the settings.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-preferences.h"
#include "ef-settings.h"

struct _EfPreferences
{
  AdwPreferencesWindow parent_instance;

  AdwComboRow *length_unit;
  AdwComboRow *pressure_unit;
  AdwComboRow *paper;
  AdwComboRow *colour_scheme;
  GtkSpinButton *text_size;
  AdwEntryRow *bench;
  AdwEntryRow *role;
};

G_DEFINE_FINAL_TYPE (EfPreferences, ef_preferences, ADW_TYPE_PREFERENCES_WINDOW)

/* The values of a choice, in the order of its row's list. */
static const char *const length_units[] = { "mm", "um", "in", "thou", NULL };
static const char *const pressure_units[] = { "bar", "psi", NULL };
static const char *const papers[] = { "a4", "letter", NULL };
static const char *const colour_schemes[] = { "follow", "light", "dark", NULL };

static gboolean
choice_to_row (GValue *value,
               GVariant *variant,
               gpointer user_data)
{
  const char *const *choices = user_data;
  guint i;

  for (i = 0; choices[i] != NULL; i++)
    if (g_str_equal (choices[i], g_variant_get_string (variant, NULL)))
      {
        g_value_set_uint (value, i);
        return TRUE;
      }
  return FALSE;
}

static GVariant *
row_to_choice (const GValue *value,
               const GVariantType *type,
               gpointer user_data)
{
  const char *const *choices = user_data;
  guint selected = g_value_get_uint (value);

  if (selected >= g_strv_length ((char **) choices))
    return NULL;
  return g_variant_new_string (choices[selected]);
}

static void
bind_choice (const char *key,
             AdwComboRow *row,
             const char *const *choices)
{
  g_settings_bind_with_mapping (ef_settings_get (), key, row, "selected", G_SETTINGS_BIND_DEFAULT,
                                choice_to_row, row_to_choice, (gpointer) choices, NULL);
}

static void
ef_preferences_dispose (GObject *object)
{
  gtk_widget_dispose_template (GTK_WIDGET (object), EF_TYPE_PREFERENCES);
  G_OBJECT_CLASS (ef_preferences_parent_class)->dispose (object);
}

static void
ef_preferences_class_init (EfPreferencesClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_preferences_dispose;
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/preferences.ui");
  gtk_widget_class_bind_template_child (widget_class, EfPreferences, length_unit);
  gtk_widget_class_bind_template_child (widget_class, EfPreferences, pressure_unit);
  gtk_widget_class_bind_template_child (widget_class, EfPreferences, paper);
  gtk_widget_class_bind_template_child (widget_class, EfPreferences, colour_scheme);
  gtk_widget_class_bind_template_child (widget_class, EfPreferences, text_size);
  gtk_widget_class_bind_template_child (widget_class, EfPreferences, bench);
  gtk_widget_class_bind_template_child (widget_class, EfPreferences, role);
}

static void
ef_preferences_init (EfPreferences *self)
{
  GSettings *settings = ef_settings_get ();

  gtk_widget_init_template (GTK_WIDGET (self));
  bind_choice ("length-unit", self->length_unit, length_units);
  bind_choice ("pressure-unit", self->pressure_unit, pressure_units);
  bind_choice ("paper", self->paper, papers);
  bind_choice ("colour-scheme", self->colour_scheme, colour_schemes);
  g_settings_bind (settings, "text-size", self->text_size, "value", G_SETTINGS_BIND_DEFAULT);
  g_settings_bind (settings, "bench", self->bench, "text", G_SETTINGS_BIND_DEFAULT);
  g_settings_bind (settings, "role", self->role, "text", G_SETTINGS_BIND_DEFAULT);
}

void
ef_preferences_show (GtkWindow *parent)
{
  gtk_window_present (g_object_new (EF_TYPE_PREFERENCES, "transient-for", parent, NULL));
}
