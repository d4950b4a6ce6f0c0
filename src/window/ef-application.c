/* Start-up, the store, application-wide actions and keys.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-application.h"
#include "ef-help.h"
#include "ef-preferences.h"
#include "ef-settings.h"
#include "ef-ui-resources.h"
#include "ef-window.h"

#include <glib/gi18n.h>

struct _EfApplication
{
  AdwApplication parent_instance;

  char *store_path;
  EfStore *store;
  char *store_failure;
};

G_DEFINE_FINAL_TYPE (EfApplication, ef_application, ADW_TYPE_APPLICATION)

static const GOptionEntry options[] = {
  { "demo", 0, 0, G_OPTION_ARG_NONE, NULL, N_ ("Open the demo job"), NULL },
  { "store", 0, 0, G_OPTION_ARG_FILENAME, NULL, N_ ("Keep the jobs in this file"), N_ ("FILE") },
  { "version", 0, 0, G_OPTION_ARG_NONE, NULL, N_ ("Show the version and end"), NULL },
  { G_OPTION_REMAINING, 0, 0, G_OPTION_ARG_FILENAME_ARRAY, NULL, NULL, N_ ("[EXCHANGE-FILE…]") },
  { NULL }
};

static EfWindow *
ensure_window (EfApplication *self)
{
  GList *l;

  for (l = gtk_application_get_windows (GTK_APPLICATION (self)); l != NULL; l = l->next)
    if (EF_IS_WINDOW (l->data))
      return l->data;
  return ef_window_new (self);
}

static void
ef_application_activate (GApplication *application)
{
  gtk_window_present (GTK_WINDOW (ensure_window (EF_APPLICATION (application))));
}

static void
ef_application_open (GApplication *application,
                     GFile **files,
                     int n_files,
                     const char *hint)
{
  EfWindow *window = ensure_window (EF_APPLICATION (application));

  gtk_window_present (GTK_WINDOW (window));
  ef_window_import (window, files, n_files);
}

/* What must be known before there is a primary instance. */
static int
ef_application_handle_local_options (GApplication *application,
                                     GVariantDict *dict)
{
  EfApplication *self = EF_APPLICATION (application);
  const char *path;

  if (g_variant_dict_contains (dict, "version"))
    {
      g_print ("endfloat %s\n", EF_VERSION);
      return 0;
    }
  if (g_variant_dict_lookup (dict, "store", "^&ay", &path))
    {
      g_free (self->store_path);
      self->store_path = g_canonicalize_filename (path, NULL);
      g_application_set_flags (application, g_application_get_flags (application) | G_APPLICATION_NON_UNIQUE);
    }
  return -1;
}

static int
ef_application_command_line (GApplication *application,
                             GApplicationCommandLine *command_line)
{
  EfApplication *self = EF_APPLICATION (application);
  GVariantDict *dict = g_application_command_line_get_options_dict (command_line);
  g_autoptr (GPtrArray) files = g_ptr_array_new_with_free_func (g_object_unref);
  g_autofree const char **paths = NULL;
  EfWindow *window = ensure_window (self);
  guint i;

  gtk_window_present (GTK_WINDOW (window));
  if (g_variant_dict_lookup (dict, G_OPTION_REMAINING, "^a&ay", &paths))
    for (i = 0; paths[i] != NULL; i++)
      g_ptr_array_add (files, g_application_command_line_create_file_for_arg (command_line, paths[i]));
  if (g_variant_dict_contains (dict, "demo"))
    ef_window_open_demo (window);
  if (files->len > 0)
    ef_window_import (window, (GFile **) files->pdata, files->len);
  return 0;
}

static void
quit_action (GSimpleAction *action,
             GVariant *parameter,
             gpointer user_data)
{
  GtkApplication *application = GTK_APPLICATION (user_data);
  g_autoptr (GList) windows = g_list_copy (gtk_application_get_windows (application));
  GList *l;

  /* By closing, so that each window can keep its size and say no. */
  for (l = windows; l != NULL; l = l->next)
    gtk_window_close (GTK_WINDOW (l->data));
}

static void
preferences_action (GSimpleAction *action,
                    GVariant *parameter,
                    gpointer user_data)
{
  ef_preferences_show (gtk_application_get_active_window (GTK_APPLICATION (user_data)));
}

static void
help_action (GSimpleAction *action,
             GVariant *parameter,
             gpointer user_data)
{
  ef_help_show (gtk_application_get_active_window (GTK_APPLICATION (user_data)));
}

static void
about_action (GSimpleAction *action,
              GVariant *parameter,
              gpointer user_data)
{
  adw_show_about_window (gtk_application_get_active_window (GTK_APPLICATION (user_data)),
                         "application-name", "Endfloat",
                         "application-icon", EF_APP_ID,
                         "version", EF_VERSION,
                         "developer-name", _ ("The Endfloat developers"),
                         "comments", _ ("From a stripped gear oil pump on the bench to a decision that can be shown, taught and defended."),
                         "copyright", "© 2026 The Endfloat developers",
                         "license-type", GTK_LICENSE_GPL_3_0,
                         NULL);
}

static const GActionEntry actions[] = {
  { "quit", quit_action },
  { "preferences", preferences_action },
  { "help", help_action },
  { "about", about_action },
};

static const struct
{
  const char *action;
  const char *accels[4];
} keys[] = {
  { "app.quit", { "<Control>q" } },
  { "app.preferences", { "<Control>comma" } },
  { "app.help", { "F1" } },
  { "win.show-help-overlay", { "<Control>question", "<Control>F1" } },
  { "win.new-job", { "<Control>n" } },
  { "win.import", { "<Control>o" } },
  { "win.search", { "<Control>f" } },
  { "win.back", { "<Alt>Up", "<Control>w" } },
  { "win.undo", { "<Control>z" } },
  { "win.redo", { "<Control><Shift>z", "<Control>y" } },
  { "win.print", { "<Control>p" } },
  { "win.export-report", { "<Control>e" } },
  { "win.page(1)", { "<Alt>1", "<Control>1" } },
  { "win.page(2)", { "<Alt>2", "<Control>2" } },
  { "win.page(3)", { "<Alt>3", "<Control>3" } },
  { "win.page(4)", { "<Alt>4", "<Control>4" } },
  { "win.page(5)", { "<Alt>5", "<Control>5" } },
};

gboolean
ef_application_use_store (EfApplication *self,
                          const char *path)
{
  g_autofree char *own = g_strdup (path);
  g_autoptr (GError) error = NULL;

  g_clear_pointer (&self->store, ef_store_close);
  g_clear_pointer (&self->store_failure, g_free);
  g_free (self->store_path);
  self->store_path = g_steal_pointer (&own);
  self->store = ef_store_open (self->store_path, &error);
  if (self->store == NULL)
    self->store_failure = g_strdup (error->message);
  return self->store != NULL;
}

static void
ef_application_startup (GApplication *application)
{
  EfApplication *self = EF_APPLICATION (application);
  g_autofree char *path = g_strdup (self->store_path);
  guint i;

  G_APPLICATION_CLASS (ef_application_parent_class)->startup (application);
  gtk_window_set_default_icon_name (EF_APP_ID);
  ef_settings_follow_display ();
  g_action_map_add_action_entries (G_ACTION_MAP (self), actions, G_N_ELEMENTS (actions), self);
  for (i = 0; i < G_N_ELEMENTS (keys); i++)
    gtk_application_set_accels_for_action (GTK_APPLICATION (self), keys[i].action, keys[i].accels);
  if (path == NULL)
    path = ef_store_default_path ();
  ef_application_use_store (self, path);
}

static void
ef_application_shutdown (GApplication *application)
{
  EfApplication *self = EF_APPLICATION (application);

  G_APPLICATION_CLASS (ef_application_parent_class)->shutdown (application);
  g_clear_pointer (&self->store, ef_store_close);
}

static void
ef_application_finalize (GObject *object)
{
  EfApplication *self = EF_APPLICATION (object);

  g_clear_pointer (&self->store, ef_store_close);
  g_free (self->store_path);
  g_free (self->store_failure);
  G_OBJECT_CLASS (ef_application_parent_class)->finalize (object);
}

static void
ef_application_class_init (EfApplicationClass *klass)
{
  GApplicationClass *application_class = G_APPLICATION_CLASS (klass);

  G_OBJECT_CLASS (klass)->finalize = ef_application_finalize;
  application_class->startup = ef_application_startup;
  application_class->shutdown = ef_application_shutdown;
  application_class->activate = ef_application_activate;
  application_class->open = ef_application_open;
  application_class->handle_local_options = ef_application_handle_local_options;
  application_class->command_line = ef_application_command_line;
}

static void
ef_application_init (EfApplication *self)
{
  g_resources_register (ef_ui_get_resource ());
  g_application_add_main_option_entries (G_APPLICATION (self), options);
  g_application_set_option_context_parameter_string (G_APPLICATION (self), "");
  g_application_set_option_context_summary (G_APPLICATION (self),
                                            _ ("Opens the jobs in a window. For work without one see “endfloat help” and endfloat(1)."));
}

EfApplication *
ef_application_new (const char *store_path)
{
  EfApplication *self = g_object_new (EF_TYPE_APPLICATION,
                                      "application-id", EF_APP_ID,
                                      "flags", G_APPLICATION_HANDLES_COMMAND_LINE | G_APPLICATION_HANDLES_OPEN,
                                      NULL);

  self->store_path = g_strdup (store_path);
  return self;
}

EfStore *
ef_application_store (EfApplication *self,
                      const char **reason_out)
{
  if (reason_out != NULL)
    *reason_out = self->store_failure;
  return self->store;
}
