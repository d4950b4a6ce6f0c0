/* Rows bound to the settings.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-preferences.h"
#include "ef-ask-path.h"
#include "ef-settings.h"

#include <glib/gi18n.h>

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
  AdwComboRow *decision;
  AdwComboRow *coverage;
  GtkSwitch *backup;
  AdwActionRow *backup_folder;
  GtkWidget *backup_beside;
  GtkSpinButton *backup_most;
};

G_DEFINE_FINAL_TYPE (EfPreferences, ef_preferences, ADW_TYPE_PREFERENCES_WINDOW)

/* The values of a choice, in the order of its row's list. */
static const char *const length_units[] = { "mm", "um", "in", "thou", NULL };
static const char *const pressure_units[] = { "bar", "psi", NULL };
static const char *const papers[] = { "a4", "letter", NULL };
static const char *const colour_schemes[] = { "follow", "light", "dark", NULL };

static const char *const decisions[] = { "rule-set", "guard-band", "expanded", "shared-risk", NULL };
static const double coverages[] = { 0.90, 0.95, 0.99 };

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

static gboolean
coverage_to_row (GValue *value,
                 GVariant *variant,
                 gpointer user_data)
{
  double coverage = g_variant_get_double (variant);
  guint nearest = 0;
  guint i;

  for (i = 1; i < G_N_ELEMENTS (coverages); i++)
    if (ABS (coverages[i] - coverage) < ABS (coverages[nearest] - coverage))
      nearest = i;
  g_value_set_uint (value, nearest);
  return TRUE;
}

static GVariant *
row_to_coverage (const GValue *value,
                 const GVariantType *type,
                 gpointer user_data)
{
  guint selected = g_value_get_uint (value);

  return selected < G_N_ELEMENTS (coverages) ? g_variant_new_double (coverages[selected]) : NULL;
}

/* Only a guard band by coverage has one to choose. */
static void
decision_chosen_cb (EfPreferences *self)
{
  gtk_widget_set_sensitive (GTK_WIDGET (self->coverage), adw_combo_row_get_selected (self->decision) == 1);
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
show_backup_folder (EfPreferences *self)
{
  g_autofree char *folder = g_settings_get_string (ef_settings_get (), "backup-folder");
  gboolean beside = *folder == '\0';

  adw_action_row_set_subtitle (self->backup_folder, beside ? _ ("Beside the jobs") : folder);
  gtk_widget_set_visible (self->backup_beside, !beside);
}

static void
backup_beside_cb (EfPreferences *self)
{
  g_settings_reset (ef_settings_get (), "backup-folder");
}

static void
folder_chosen_cb (GtkWidget *owner,
                  const char *path,
                  gpointer data)
{
  g_settings_set_string (ef_settings_get (), "backup-folder", path);
}

static void
backup_choose_cb (EfPreferences *self)
{
  const EfAskPath ask = { .title = _ ("Folder of the backups"), .accept = _ ("_Choose"), .action = GTK_FILE_CHOOSER_ACTION_SELECT_FOLDER };

  ef_ask_path (GTK_WIDGET (self), &ask, folder_chosen_cb, NULL, NULL);
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
  gtk_widget_class_bind_template_child (widget_class, EfPreferences, decision);
  gtk_widget_class_bind_template_child (widget_class, EfPreferences, coverage);
  gtk_widget_class_bind_template_child (widget_class, EfPreferences, backup);
  gtk_widget_class_bind_template_child (widget_class, EfPreferences, backup_folder);
  gtk_widget_class_bind_template_child (widget_class, EfPreferences, backup_beside);
  gtk_widget_class_bind_template_child (widget_class, EfPreferences, backup_most);
  gtk_widget_class_bind_template_callback (widget_class, backup_beside_cb);
  gtk_widget_class_bind_template_callback (widget_class, backup_choose_cb);
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
  bind_choice ("decision", self->decision, decisions);
  g_settings_bind_with_mapping (settings, "coverage", self->coverage, "selected", G_SETTINGS_BIND_DEFAULT, coverage_to_row, row_to_coverage, NULL, NULL);
  g_signal_connect_object (self->decision, "notify::selected", G_CALLBACK (decision_chosen_cb), self, G_CONNECT_SWAPPED);
  decision_chosen_cb (self);
  g_settings_bind (settings, "text-size", self->text_size, "value", G_SETTINGS_BIND_DEFAULT);
  g_settings_bind (settings, "backup", self->backup, "active", G_SETTINGS_BIND_DEFAULT);
  g_signal_connect_object (settings, "changed::backup-folder", G_CALLBACK (show_backup_folder), self, G_CONNECT_SWAPPED);
  show_backup_folder (self);
  /* The button's is a double. */
  g_settings_bind (settings, "backup-most", self->backup_most, "value", G_SETTINGS_BIND_DEFAULT);
  g_settings_bind (settings, "bench", self->bench, "text", G_SETTINGS_BIND_DEFAULT);
  g_settings_bind (settings, "role", self->role, "text", G_SETTINGS_BIND_DEFAULT);
}

void
ef_preferences_show (GtkWindow *parent)
{
  gtk_window_present (g_object_new (EF_TYPE_PREFERENCES, "transient-for", parent, NULL));
}
