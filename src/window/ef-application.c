/* Start-up, the store, application-wide actions and keys.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-application.h"
#include "ef-help.h"
#include "ef-agreement-window.h"
#include "ef-kind-picker.h"
#include "ef-kind-window.h"
#include "ef-preferences.h"
#include "ef-settings.h"
#include "ef-ui-resources.h"
#include "ef-window.h"

#include "../record/ef-store-upgrade.h"

#include <glib/gi18n.h>
#include <fcntl.h>
#include <unistd.h>

struct _EfApplication
{
  AdwApplication parent_instance;

  char *store_path;
  EfStore *store;
  char *store_failure;
  char *damage;
  EfKeeper *keeper;

  GCancellable *upgrading; /* NULL: no */
  int permille;            /* of that; written by the worker */
  guint ticker;
  gboolean lacks_backup;
  gboolean upgrade_stopped;
  gboolean demo_waits;   /* asked for on the command line, until there is a store */
  GPtrArray *files_wait; /* GFile * */
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

/* What the command line asked for; once the store is there. */
static void
take_in (EfApplication *self,
         EfWindow *window,
         gboolean demo,
         GFile **files,
         guint n_files)
{
  if (self->upgrading != NULL)
    {
      self->demo_waits |= demo;
      for (guint i = 0; i < n_files; i++)
        g_ptr_array_add (self->files_wait, g_object_ref (files[i]));
      return;
    }
  if (demo)
    ef_window_open_demo (window);
  if (n_files > 0)
    ef_window_import (window, files, n_files);
}

static void
ef_application_open (GApplication *application,
                     GFile **files,
                     int n_files,
                     const char *hint)
{
  EfWindow *window = ensure_window (EF_APPLICATION (application));

  gtk_window_present (GTK_WINDOW (window));
  take_in (EF_APPLICATION (application), window, FALSE, files, (guint) n_files);
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
  take_in (self, window, g_variant_dict_contains (dict, "demo"), (GFile **) files->pdata, files->len);
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
agreement_action (GSimpleAction *action,
                  GVariant *parameter,
                  gpointer user_data)
{
  ef_agreement_window_show (gtk_application_get_active_window (GTK_APPLICATION (user_data)));
}

static void
kinds_action (GSimpleAction *action,
              GVariant *parameter,
              gpointer user_data)
{
  ef_kind_window_show (gtk_application_get_active_window (GTK_APPLICATION (user_data)), EF_MARK_SCORING);
}

/* On the kinds of wear help is about the kind that is chosen. */
static EfKindPicker *
focused_picker (GtkWindow *window)
{
  GtkWidget *focus = window != NULL ? gtk_window_get_focus (window) : NULL;
  GtkWidget *picker = focus != NULL ? gtk_widget_get_ancestor (focus, EF_TYPE_KIND_PICKER) : NULL;

  return picker != NULL ? EF_KIND_PICKER (picker) : NULL;
}

static void
help_action (GSimpleAction *action,
             GVariant *parameter,
             gpointer user_data)
{
  GtkWindow *window = gtk_application_get_active_window (GTK_APPLICATION (user_data));
  EfKindPicker *picker = focused_picker (window);

  if (picker != NULL)
    {
      ef_kind_window_show (window, ef_kind_picker_focused (picker));
      return;
    }
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
  { "kinds", kinds_action },
  { "agreement", agreement_action },
  { "about", about_action },
};

static const struct
{
  const char *action;
  const char *accels[4];
} keys[] = {
  { "app.quit", { "<Control>q" } },
  { "app.preferences", { "<Control>comma" } },
  { "win.shop-gauges", { "<Control>g" } },
  { "app.help", { "F1" } },
  { "win.show-help-overlay", { "<Control>question", "<Control>F1" } },
  { "win.new-job", { "<Control>n" } },
  { "win.import", { "<Control>o" } },
  { "win.search", { "<Control>f" } },
  { "win.back", { "<Alt>Up", "<Control>w" } },
  { "win.undo", { "<Control>z" } },
  { "win.redo", { "<Control><Shift>z", "<Control>y" } },
  { "win.print", { "<Control>p" } },
  { "win.bench-view", { "F11" } },
  { "win.export-report", { "<Control>e" } },
  { "win.page(1)", { "<Alt>1", "<Control>1" } },
  { "win.page(2)", { "<Alt>2", "<Control>2" } },
  { "win.page(3)", { "<Alt>3", "<Control>3" } },
  { "win.page(4)", { "<Alt>4", "<Control>4" } },
  { "win.page(5)", { "<Alt>5", "<Control>5" } },
};

static void
for_each_window (EfApplication *self,
                 void (*act) (EfWindow *window))
{
  g_autoptr (GList) windows = g_list_copy (gtk_application_get_windows (GTK_APPLICATION (self)));
  GList *l;

  for (l = windows; l != NULL; l = l->next)
    if (EF_IS_WINDOW (l->data))
      act (l->data);
}

void
ef_application_release_store (EfApplication *self)
{
  for_each_window (self, ef_window_release_store);
  ef_keeper_set_store (self->keeper, NULL);
  g_clear_pointer (&self->store, ef_store_close);
}

static gboolean
open_store (EfApplication *self)
{
  g_autoptr (GError) looking = NULL;
  g_autoptr (GError) error = NULL;

  self->store = ef_store_open (self->store_path, &error);
  /* A folder or file that can't be written, or a full disk: what is there can be looked at. */
  if (self->store == NULL && (error->code == EF_ERROR_IO || error->code == EF_ERROR_FULL))
    self->store = ef_store_open_read_only (self->store_path, &looking);
  if (self->store == NULL)
    {
      self->store_failure = looking != NULL ? g_strdup_printf ("%s; %s", error->message, looking->message) : g_strdup (error->message);
      if (error->code == EF_ERROR_CORRUPT)
        self->damage = g_strdup (error->message);
    }
  ef_keeper_set_store (self->keeper, self->store != NULL && !ef_store_read_only (self->store) ? self->store_path : NULL);
  for_each_window (self, ef_window_refresh_store);
  return self->store != NULL;
}

/* --- Bringing one of an earlier version up to date ----------------------------------------------------------------------------------- */

static void
upgrade_progress_cb (double share,
                     gpointer user_data)
{
  g_atomic_int_set (&EF_APPLICATION (user_data)->permille, (int) (1000 * share));
}

static gboolean
upgrade_tick_cb (gpointer user_data)
{
  for_each_window (user_data, ef_window_show_upgrade);
  return G_SOURCE_CONTINUE;
}

/* What was asked for on the command line meanwhile. */
static void
take_in_waiting (EfApplication *self)
{
  g_autoptr (GPtrArray) files = g_steal_pointer (&self->files_wait);
  gboolean demo = self->demo_waits;
  GList *windows = gtk_application_get_windows (GTK_APPLICATION (self));

  self->files_wait = g_ptr_array_new_with_free_func (g_object_unref);
  self->demo_waits = FALSE;
  for (; windows != NULL; windows = windows->next)
    if (EF_IS_WINDOW (windows->data) && self->store != NULL)
      {
        take_in (self, windows->data, demo, (GFile **) files->pdata, files->len);
        return;
      }
}

static void
upgraded_cb (GObject *source,
             GAsyncResult *result,
             gpointer user_data)
{
  g_autoptr (EfApplication) self = user_data;
  g_autoptr (GError) error = NULL;
  EfUpgradeOutcome outcome = ef_store_upgrade_finish (result, &error);
  /* Another store was chosen since. */
  gboolean stale = g_task_get_cancellable (G_TASK (result)) != self->upgrading;

  g_application_release (G_APPLICATION (self));
  if (stale)
    return;
  g_clear_handle_id (&self->ticker, g_source_remove);
  g_clear_object (&self->upgrading);
  if (outcome == EF_UPGRADED)
    open_store (self);
  else
    {
      self->lacks_backup = outcome == EF_UPGRADE_NO_BACKUP;
      self->upgrade_stopped = error->code == EF_ERROR_CANCELLED;
      self->store_failure = error->code == EF_ERROR_CANCELLED ? g_strdup_printf (_ ("%s has to be brought up to date before it can be opened. That was stopped; nothing was changed in it."), self->store_path)
                                                              : g_strdup (error->message);
      if (error->code == EF_ERROR_CORRUPT)
        self->damage = g_strdup (error->message);
      for_each_window (self, ef_window_refresh_store);
    }
  take_in_waiting (self);
}

static void
begin_upgrade (EfApplication *self,
               gboolean without_backup)
{
  g_autofree char *folder = ef_settings_backup_folder (self->store_path);
  const EfBackupPolicy policy = ef_settings_backup_policy ();
  EfUpgrade how = { folder, &policy, without_backup, upgrade_progress_cb, self, NULL };

  g_clear_pointer (&self->store_failure, g_free);
  self->lacks_backup = FALSE;
  self->upgrade_stopped = FALSE;
  self->upgrading = how.cancellable = g_cancellable_new ();
  self->permille = 0;
  self->ticker = g_timeout_add (100, upgrade_tick_cb, self);
  /* Also when all windows are closed meanwhile. */
  g_application_hold (G_APPLICATION (self));
  ef_store_upgrade_async (self->store_path, &how, upgraded_cb, g_object_ref (self));
  for_each_window (self, ef_window_refresh_store);
}

/* One that can't be written is looked at, brought up to date in memory. */
static gboolean
can_be_written (const char *path)
{
  g_autofree char *folder = g_path_get_dirname (path);

  return faccessat (AT_FDCWD, path, W_OK, AT_EACCESS) == 0 && faccessat (AT_FDCWD, folder, W_OK, AT_EACCESS) == 0;
}

gboolean
ef_application_use_store (EfApplication *self,
                          const char *path)
{
  g_autofree char *own = g_strdup (path);

  ef_application_release_store (self);
  ef_application_stop_upgrade (self);
  g_clear_object (&self->upgrading);
  g_clear_handle_id (&self->ticker, g_source_remove);
  g_clear_pointer (&self->store_failure, g_free);
  g_clear_pointer (&self->damage, g_free);
  self->lacks_backup = FALSE;
  self->upgrade_stopped = FALSE;
  g_free (self->store_path);
  self->store_path = g_steal_pointer (&own);
  if (!ef_store_upgrade_needed (self->store_path, NULL, NULL) || !can_be_written (self->store_path))
    return open_store (self);
  begin_upgrade (self, FALSE);
  return FALSE;
}

gboolean
ef_application_upgrading (EfApplication *self,
                          double *share_out)
{
  if (share_out != NULL)
    *share_out = g_atomic_int_get (&self->permille) / 1000.0;
  return self->upgrading != NULL;
}

void
ef_application_stop_upgrade (EfApplication *self)
{
  if (self->upgrading != NULL)
    g_cancellable_cancel (self->upgrading);
}

gboolean
ef_application_lacks_backup (EfApplication *self)
{
  return self->lacks_backup;
}

gboolean
ef_application_upgrade_stopped (EfApplication *self)
{
  return self->upgrade_stopped;
}

void
ef_application_upgrade_anyway (EfApplication *self)
{
  if (self->lacks_backup && self->upgrading == NULL)
    begin_upgrade (self, TRUE);
}

static void
keeper_damaged_cb (EfApplication *self,
                   const char *reason)
{
  if (self->damage != NULL)
    return;
  self->damage = g_strdup (reason);
  for_each_window (self, ef_window_refresh_notice);
}

static void
keeper_message_cb (EfApplication *self,
                   const char *text)
{
  GList *l;

  for (l = gtk_application_get_windows (GTK_APPLICATION (self)); l != NULL; l = l->next)
    if (EF_IS_WINDOW (l->data))
      ef_window_toast (l->data, text);
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
kept_cb (GObject *source,
         GAsyncResult *result,
         gpointer user_data)
{
  g_autoptr (GApplication) application = user_data;

  g_application_release (application);
}

/* The last window is gone; the program stays for what is new to go into a backup. */
static void
ef_application_window_removed (GtkApplication *application,
                               GtkWindow *window)
{
  EfApplication *self = EF_APPLICATION (application);

  if (EF_IS_WINDOW (window))
    {
      /* Nobody waits for it any more; it's done at the next start. */
      ef_application_stop_upgrade (self);
      g_application_hold (G_APPLICATION (self));
      ef_keeper_close_async (self->keeper, kept_cb, g_object_ref (self));
    }
  GTK_APPLICATION_CLASS (ef_application_parent_class)->window_removed (application, window);
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
  g_free (self->damage);
  g_clear_object (&self->keeper);
  g_clear_handle_id (&self->ticker, g_source_remove);
  g_clear_object (&self->upgrading);
  g_clear_pointer (&self->files_wait, g_ptr_array_unref);
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
  GTK_APPLICATION_CLASS (klass)->window_removed = ef_application_window_removed;
}

static void
ef_application_init (EfApplication *self)
{
  g_resources_register (ef_ui_get_resource ());
  self->keeper = ef_keeper_new ();
  self->files_wait = g_ptr_array_new_with_free_func (g_object_unref);
  g_signal_connect_object (self->keeper, "message", G_CALLBACK (keeper_message_cb), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (self->keeper, "damaged", G_CALLBACK (keeper_damaged_cb), self, G_CONNECT_SWAPPED);
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

EfKeeper *
ef_application_keeper (EfApplication *self)
{
  return self->keeper;
}

const char *
ef_application_store_path (EfApplication *self)
{
  return self->store_path;
}

const char *
ef_application_store_damage (EfApplication *self)
{
  return self->damage;
}
