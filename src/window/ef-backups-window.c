/* A list that fills from workers, one at a time.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-backups-window.h"
#include "ef-ask-path.h"
#include "ef-who-ask.h"
#include "ef-settings.h"
#include "ef-wrap-box.h"

#include "../record/ef-backup.h"
#include "../record/ef-salvage.h"

#include <glib/gi18n.h>

struct _EfBackupsWindow
{
  AdwWindow parent_instance;

  EfApplication *application;
  EfWindow *window; /* weak: this one is transient for it */
  char *store_path, *folder;
  GtkWidget *icon, *title, *words, *work, *work_words, *progress, *cancel, *list, *make, *take_out, *rebuild, *losses;
  GPtrArray *backups;  /* EfBackup * */
  GPtrArray *rows;     /* Row *, beside them */
  guint n_checked;
  gboolean good_found; /* the newest sound one has been marked */

  GCancellable *checking, *working;
  double share; /* guarded by the lock */
  GMutex lock;
  guint ticker;
};

G_DEFINE_FINAL_TYPE (EfBackupsWindow, ef_backups_window, ADW_TYPE_WINDOW)

typedef struct
{
  GtkWidget *row, *icon, *restore;
} Row;

/* What a worker needs and brings back. */
typedef struct
{
  char *store_path, *folder, *backup;
  EfBackupPolicy policy;
  EfPermit *permit; /* to put a backup back */
  EfBackupsWindow *window; /* held by the task's callback */
  guint row;
  gint64 n_jobs;
  EfBackupDifference difference;
  gboolean comparable;
  gboolean new_store; /* @folder is the path of one, to be made of what can be read */
  char *kept;
} Work;

static void list_again (EfBackupsWindow *self);
static void check_next (EfBackupsWindow *self);

static void
work_free (gpointer data)
{
  Work *work = data;

  g_free (work->store_path);
  g_free (work->folder);
  g_free (work->backup);
  g_free (work->kept);
  ef_permit_free (work->permit);
  g_free (work);
}

static Work *
work_new (EfBackupsWindow *self)
{
  Work *work = g_new0 (Work, 1);

  work->window = self;
  work->store_path = g_strdup (self->store_path);
  work->folder = g_strdup (self->folder);
  work->policy = ef_settings_backup_policy ();

  return work;
}

static void
start_task (EfBackupsWindow *self,
            Work *work,
            GCancellable *cancellable,
            GTaskThreadFunc thread,
            GAsyncReadyCallback done)
{
  g_autoptr (GTask) task = g_task_new (NULL, cancellable, done, g_object_ref (self));

  g_task_set_task_data (task, work, work_free);
  /* Our own errors say that it was stopped. */
  g_task_set_check_cancellable (task, FALSE);
  g_task_run_in_thread (task, thread);
}

/* The head: how the store is. */

static void
show_head (EfBackupsWindow *self,
           const char *icon,
           const char *css_class,
           const char *title,
           const char *words)
{
  gtk_image_set_from_icon_name (GTK_IMAGE (self->icon), icon);
  gtk_widget_remove_css_class (self->icon, "success");
  gtk_widget_remove_css_class (self->icon, "warning");
  gtk_widget_remove_css_class (self->icon, "error");
  if (css_class != NULL)
    gtk_widget_add_css_class (self->icon, css_class);
  gtk_label_set_label (GTK_LABEL (self->title), title);
  gtk_label_set_label (GTK_LABEL (self->words), words);
}

/* "Checked copies of all jobs, in /srv/shop/jobs.backups: 1.2 GB of at most 20 GB". */
static char *
kept_words (EfBackupsWindow *self)
{
  g_autoptr (GPtrArray) backups = ef_backup_list (self->folder, NULL);
  goffset most = ef_settings_backup_policy ().most;
  g_autofree char *limit = g_format_size ((guint64) most);
  g_autofree char *taken = NULL;
  goffset size = 0;

  for (guint i = 0; backups != NULL && i < backups->len; i++)
    size += ((const EfBackup *) backups->pdata[i])->size;
  taken = g_format_size ((guint64) size);
  if (most == 0)
    return g_strdup_printf (_ ("Checked copies of all jobs, in %s: %s"), self->folder, taken);

  return g_strdup_printf (_ ("Checked copies of all jobs, in %s: %s of at most %s"), self->folder, taken, limit);
}

static void
show_store (EfBackupsWindow *self)
{
  EfApplication *application = self->application;
  const char *reason = NULL;
  EfStore *store = ef_application_store (application, &reason);
  const char *damage = ef_application_store_damage (application);
  const char *failure = ef_keeper_failure (ef_application_keeper (application));
  g_autofree char *words = NULL;

  gtk_widget_set_visible (self->take_out, damage != NULL || store == NULL);
  gtk_widget_set_visible (self->rebuild, damage != NULL || store == NULL);
  /* A copy of a damaged one wouldn't be sound. */
  gtk_widget_set_visible (self->make, damage == NULL && store != NULL);
  gtk_widget_set_sensitive (self->make, self->working == NULL);
  if (damage != NULL)
    show_head (self, "dialog-error-symbolic", "error", _ ("The store of the jobs is damaged"), damage);
  else if (store == NULL)
    show_head (self, "dialog-error-symbolic", "error", _ ("The jobs can't be opened"), reason != NULL ? reason : self->store_path);
  else if (failure != NULL)
    {
      words = g_strdup_printf (_ ("The last one by itself: %s"), failure);
      show_head (self, "dialog-warning-symbolic", "warning", _ ("No backup could be made"), words);
    }
  else
    {
      words = kept_words (self);
      show_head (self, "document-save-symbolic", NULL, _ ("Backups of the jobs"), words);
    }
}

/* Work with its progress. */

static void
progress_cb (double share,
             gpointer user_data)
{
  EfBackupsWindow *self = user_data;

  g_mutex_lock (&self->lock);
  self->share = share;
  g_mutex_unlock (&self->lock);
}

static gboolean
tick_cb (gpointer user_data)
{
  EfBackupsWindow *self = user_data;
  double share;

  g_mutex_lock (&self->lock);
  share = self->share;
  g_mutex_unlock (&self->lock);
  gtk_progress_bar_set_fraction (GTK_PROGRESS_BAR (self->progress), share);

  return G_SOURCE_CONTINUE;
}

static void
allow_restoring (EfBackupsWindow *self)
{
  guint i;

  for (i = 0; i < self->rows->len; i++)
    gtk_widget_set_sensitive (((Row *) self->rows->pdata[i])->restore, self->working == NULL);
  gtk_widget_set_sensitive (self->take_out, self->working == NULL);
  gtk_widget_set_sensitive (self->rebuild, self->working == NULL);
}

static gboolean
begin_work (EfBackupsWindow *self,
            const char *words)
{
  if (self->working != NULL)
    return FALSE;
  self->working = g_cancellable_new ();
  self->share = 0;
  gtk_label_set_label (GTK_LABEL (self->work_words), words);
  gtk_widget_set_visible (self->work, TRUE);
  gtk_widget_set_visible (self->losses, FALSE);
  self->ticker = g_timeout_add (100, tick_cb, self);
  allow_restoring (self);
  gtk_widget_set_sensitive (self->make, FALSE);

  return TRUE;
}

/* FALSE when the window is gone. */
static gboolean
end_work (EfBackupsWindow *self)
{
  g_clear_handle_id (&self->ticker, g_source_remove);
  g_clear_object (&self->working);
  if (self->progress == NULL)
    return FALSE;
  gtk_widget_set_visible (self->work, FALSE);
  allow_restoring (self);

  return TRUE;
}

static void
cancel_cb (EfBackupsWindow *self)
{
  if (self->working != NULL)
    g_cancellable_cancel (self->working);
}

static void
show_losses (EfBackupsWindow *self,
             const char *text)
{
  gtk_label_set_label (GTK_LABEL (self->losses), text);
  gtk_widget_set_visible (self->losses, TRUE);
}

/* Making one. */

static void
make_thread (GTask *task,
             gpointer source,
             gpointer task_data,
             GCancellable *cancellable)
{
  Work *work = task_data;
  GError *error = NULL;
  g_autoptr (EfStore) store = ef_store_open_to_read (work->store_path, &error);
  char *path = store != NULL ? ef_backup_make (store, work->folder, &work->policy, progress_cb, work->window, cancellable, &error) : NULL;

  if (path != NULL)
    g_task_return_pointer (task, path, g_free);
  else
    g_task_return_error (task, error);
}

static void
made_cb (GObject *source,
         GAsyncResult *result,
         gpointer user_data)
{
  g_autoptr (EfBackupsWindow) self = user_data;
  g_autoptr (GError) error = NULL;
  g_autofree char *path = g_task_propagate_pointer (G_TASK (result), &error);

  if (!end_work (self))
    return;
  show_store (self);
  if (error != NULL && error->code != EF_ERROR_CANCELLED)
    show_head (self, "dialog-error-symbolic", "error", _ ("No backup could be made"), error->message);
  list_again (self);
}

static void
make_cb (EfBackupsWindow *self)
{
  if (begin_work (self, _ ("Copying all jobs and looking through the copy…")))
    start_task (self, work_new (self), self->working, make_thread, made_cb);
}

/* Taking out what can be read. */

static void
salvage_thread (GTask *task,
                gpointer source,
                gpointer task_data,
                GCancellable *cancellable)
{
  Work *work = task_data;
  GError *error = NULL;
  EfSalvage *salvage = work->new_store ? ef_salvage_store (work->store_path, work->folder, progress_cb, work->window, cancellable, &error)
                                       : ef_salvage (work->store_path, work->folder, progress_cb, work->window, cancellable, &error);

  if (salvage != NULL)
    g_task_return_pointer (task, salvage, (GDestroyNotify) ef_salvage_free);
  else
    g_task_return_error (task, error);
}

static void
salvaged_cb (GObject *source,
             GAsyncResult *result,
             gpointer user_data)
{
  g_autoptr (EfBackupsWindow) self = user_data;
  g_autoptr (GError) error = NULL;
  const Work *work = g_task_get_task_data (G_TASK (result));
  g_autoptr (EfSalvage) salvage = g_task_propagate_pointer (G_TASK (result), &error);
  g_autoptr (GString) text = g_string_new (NULL);
  guint i;

  if (!end_work (self))
    return;
  if (salvage == NULL)
    {
      show_losses (self, error->message);
      return;
    }
  if (work->new_store)
    {
      g_autofree char *report = ef_salvage_report (salvage);

      g_string_append_printf (text, _ ("New store: %s. Open it by “endfloat --store”, or put it in the place of the damaged one while the program is closed.\n"), work->folder);
      g_string_append_printf (text, _ ("The report is also in %s.report.txt.\n\n%s"), work->folder, report);
      show_losses (self, text->str);
      return;
    }
  g_string_append_printf (text, _ ("Taken out: %" G_GINT64_FORMAT " of %" G_GINT64_FORMAT " jobs, into %s."),
                          salvage->n_written, salvage->n_jobs, work->folder);
  for (i = 0; i < salvage->losses->len; i++)
    g_string_append_printf (text, "\n%s", (const char *) salvage->losses->pdata[i]);
  show_losses (self, text->str);
}

static void
begin_salvage (EfBackupsWindow *self,
               const char *folder,
               gboolean new_store)
{
  Work *work;

  if (!begin_work (self, _ ("Reading each job…")))
    return;
  work = work_new (self);
  g_free (work->folder);
  work->folder = g_strdup (folder);
  work->new_store = new_store;
  start_task (self, work, self->working, salvage_thread, salvaged_cb);
}

void
ef_backups_window_salvage (EfBackupsWindow *self,
                           const char *folder)
{
  begin_salvage (self, folder, FALSE);
}

void
ef_backups_window_salvage_store (EfBackupsWindow *self,
                                 const char *path)
{
  begin_salvage (self, path, TRUE);
}

static void
take_out_chosen_cb (GtkWidget *owner,
                    const char *path,
                    gpointer data)
{
  ef_backups_window_salvage (EF_BACKUPS_WINDOW (owner), path);
}

static void
take_out_cb (EfBackupsWindow *self)
{
  const EfAskPath ask = { .title = _ ("Folder for the exchange files"), .accept = _ ("_Choose"), .action = GTK_FILE_CHOOSER_ACTION_SELECT_FOLDER };

  ef_ask_path (GTK_WIDGET (self), &ask, take_out_chosen_cb, NULL, NULL);
}

static void
rebuild_chosen_cb (GtkNativeDialog *dialog,
                   int response,
                   gpointer user_data)
{
  g_autoptr (GFile) file = response == GTK_RESPONSE_ACCEPT ? gtk_file_chooser_get_file (GTK_FILE_CHOOSER (dialog)) : NULL;
  g_autofree char *path = file != NULL ? g_file_get_path (file) : NULL;

  if (path != NULL)
    ef_backups_window_salvage_store (user_data, path);
  gtk_native_dialog_destroy (dialog);
  g_object_unref (dialog);
}

static void
rebuild_cb (EfBackupsWindow *self)
{
  GtkFileChooserNative *dialog = gtk_file_chooser_native_new (_ ("Write the new store"), GTK_WINDOW (self), GTK_FILE_CHOOSER_ACTION_SAVE, _ ("_Write"), _ ("_Cancel"));
  g_autofree char *base = g_path_get_basename (self->store_path);
  g_autofree char *name = g_strconcat ("salvaged-", base, NULL);

  gtk_file_chooser_set_current_name (GTK_FILE_CHOOSER (dialog), name);
  gtk_native_dialog_set_modal (GTK_NATIVE_DIALOG (dialog), TRUE);
  g_signal_connect_object (dialog, "response", G_CALLBACK (rebuild_chosen_cb), self, 0);
  gtk_native_dialog_show (GTK_NATIVE_DIALOG (dialog));
}

/* Putting one back. */

static void
restore_thread (GTask *task,
                gpointer source,
                gpointer task_data,
                GCancellable *cancellable)
{
  Work *work = task_data;
  GError *error = NULL;

  if (ef_backup_restore (work->backup, work->store_path, work->permit, &work->kept, progress_cb, work->window, cancellable, &error))
    g_task_return_boolean (task, TRUE);
  else
    g_task_return_error (task, error);
}

static void
restored_cb (GObject *source,
             GAsyncResult *result,
             gpointer user_data)
{
  g_autoptr (EfBackupsWindow) self = user_data;
  g_autoptr (GError) error = NULL;
  const Work *work = g_task_get_task_data (G_TASK (result));
  gboolean restored = g_task_propagate_boolean (G_TASK (result), &error);
  g_autofree char *text = NULL;
  gboolean here = end_work (self);

  if (restored)
    text = work->kept != NULL ? g_strdup_printf (_ ("Put back. The store that was there is kept as %s"), work->kept) : g_strdup (_ ("Put back."));
  else
    text = g_strdup_printf (_ ("Nothing was changed: %s"), error->message);
  ef_backup_log (work->store_path, text);
  ef_application_use_store (self->application, work->store_path);
  if (self->window != NULL)
    ef_window_toast (self->window, text);
  g_application_release (G_APPLICATION (self->application));
  if (!here)
    return;
  if (restored)
    gtk_window_close (GTK_WINDOW (self));
  else
    {
      show_store (self);
      show_losses (self, text);
      list_again (self);
    }
}

/* Nothing of this program holds the store any more. */
static void
released_cb (GObject *source,
             GAsyncResult *result,
             gpointer user_data)
{
  Work *work = user_data;
  g_autoptr (EfBackupsWindow) self = work->window;

  start_task (self, work, self->working, restore_thread, restored_cb);
}

void
ef_backups_window_restore (EfBackupsWindow *self,
                           const char *backup_path)
{
  EfApplication *application = self->application;
  EfStore *store = ef_application_store (application, NULL);
  Work *work;

  if (self->window != NULL && ef_window_working (self->window))
    {
      show_losses (self, _ ("Jobs are just being imported. Wait until that is done, or cancel it."));
      return;
    }
  if (!begin_work (self, _ ("Looking through the backup and putting it in place…")))
    return;
  /* Also when all windows are closed meanwhile. */
  g_application_hold (G_APPLICATION (self->application));
  if (self->checking != NULL)
    g_cancellable_cancel (self->checking);
  work = work_new (self);
  work->backup = g_strdup (backup_path);
  work->window = g_object_ref (self);
  work->permit = store != NULL ? ef_store_permit (store) : NULL;
  ef_application_release_store (application);
  ef_keeper_rest_async (ef_application_keeper (application), released_cb, work);
}

static gboolean
restore_allowed (gpointer owner,
                 const char *role,
                 const char *reason)
{
  g_autofree char *backup = g_object_steal_data (G_OBJECT (owner), "ef-backup");

  if (backup != NULL)
    ef_backups_window_restore (owner, backup);
  return TRUE;
}

/* Where the shop has roles, it's an owner's to do; a store that can't be opened asks nobody. */
static void
restore_response_cb (AdwMessageDialog *dialog,
                     const char *response,
                     EfBackupsWindow *self)
{
  EfStore *store = ef_application_store (self->application, NULL);

  if (!g_str_equal (response, "restore"))
    return;
  g_object_set_data_full (G_OBJECT (self), "ef-backup", g_strdup (g_object_get_data (G_OBJECT (dialog), "backup")), g_free);
  ef_who_ask (GTK_WIDGET (self), store, EF_ACT_RESTORE, _ ("Put a Backup Back"), _ ("_Put Back"), NULL, restore_allowed, G_OBJECT (self));
}

static char *
local_time (const char *utc)
{
  g_autoptr (GDateTime) time = g_date_time_new_from_iso8601 (utc, NULL);
  g_autoptr (GDateTime) local = time != NULL ? g_date_time_to_local (time) : NULL;

  return local != NULL ? g_date_time_format (local, _ ("%-e %B %Y, %H:%M:%S")) : g_strdup (utc);
}

static void
restore_cb (GtkWidget *button,
            EfBackupsWindow *self)
{
  guint i = GPOINTER_TO_UINT (g_object_get_data (G_OBJECT (button), "row"));
  const EfBackup *backup = self->backups->pdata[i];
  g_autofree char *time = local_time (backup->time);
  g_autofree char *heading = g_strdup_printf (_ ("Put back the backup of %s?"), time);
  const char *difference = adw_action_row_get_subtitle (ADW_ACTION_ROW (((Row *) self->rows->pdata[i])->row));
  g_autofree char *body = g_strdup_printf (_ ("%s.\nThe store that is there now is kept beside it under a name with the time; nothing is overwritten."), difference);
  GtkWidget *dialog = adw_message_dialog_new (GTK_WINDOW (self), heading, body);

  adw_message_dialog_add_responses (ADW_MESSAGE_DIALOG (dialog), "cancel", _ ("_Cancel"), "restore", _ ("_Put Back"), NULL);
  adw_message_dialog_set_response_appearance (ADW_MESSAGE_DIALOG (dialog), "restore", ADW_RESPONSE_SUGGESTED);
  adw_message_dialog_set_default_response (ADW_MESSAGE_DIALOG (dialog), "cancel");
  adw_message_dialog_set_close_response (ADW_MESSAGE_DIALOG (dialog), "cancel");
  g_object_set_data_full (G_OBJECT (dialog), "backup", g_strdup (backup->path), g_free);
  g_signal_connect_object (dialog, "response", G_CALLBACK (restore_response_cb), self, 0);
  gtk_window_present (GTK_WINDOW (dialog));
}

/* The list. */

static void
check_thread (GTask *task,
              gpointer source,
              gpointer task_data,
              GCancellable *cancellable)
{
  Work *work = task_data;
  GError *error = NULL;

  if (!ef_backup_check (work->backup, &work->n_jobs, &error))
    {
      g_task_return_error (task, error);
      return;
    }
  work->comparable = ef_backup_compare (work->backup, work->store_path, &work->difference, NULL);
  g_task_return_boolean (task, TRUE);
}

/* "Not in it: 1 newer job, 3 newer edits of its jobs". */
static void
append_newer (GString *text,
              const EfBackupDifference *difference)
{
  g_string_append (text, _ ("Not in it: "));
  if (difference->jobs > 0)
    g_string_append_printf (text, g_dngettext (NULL, "%" G_GINT64_FORMAT " newer job", "%" G_GINT64_FORMAT " newer jobs", (gulong) difference->jobs), difference->jobs);
  if (difference->jobs > 0 && difference->edits > 0)
    g_string_append (text, ", ");
  if (difference->edits > 0)
    g_string_append_printf (text, g_dngettext (NULL, "%" G_GINT64_FORMAT " newer edit of its jobs", "%" G_GINT64_FORMAT " newer edits of its jobs", (gulong) difference->edits), difference->edits);
}

static char *
describe (const EfBackup *backup,
          const Work *work)
{
  g_autofree char *size = g_format_size ((guint64) backup->size);
  g_autoptr (GString) text = g_string_new (NULL);

  g_string_append_printf (text, g_dngettext (NULL, "%" G_GINT64_FORMAT " job", "%" G_GINT64_FORMAT " jobs", (gulong) work->n_jobs), work->n_jobs);
  g_string_append_printf (text, _ (", %s, checked: sound. "), size);
  if (!work->comparable)
    g_string_append (text, _ ("What is newer in the store can't be told, since it can't be read"));
  else if (work->difference.jobs == 0 && work->difference.edits == 0)
    g_string_append (text, _ ("Nothing in the store is newer"));
  else
    append_newer (text, &work->difference);

  return g_string_free (g_steal_pointer (&text), FALSE);
}

static void
show_checked (EfBackupsWindow *self,
              const Work *work,
              const GError *error)
{
  Row *row = self->rows->pdata[work->row];
  g_autofree char *text = error == NULL ? describe (self->backups->pdata[work->row], work) : g_strdup_printf (_ ("Not sound: %s"), error->message);

  adw_action_row_set_subtitle (ADW_ACTION_ROW (row->row), text);
  gtk_image_set_from_icon_name (GTK_IMAGE (row->icon), error == NULL ? "object-select-symbolic" : "dialog-warning-symbolic");
  gtk_widget_add_css_class (row->icon, error == NULL ? "success" : "error");
  gtk_widget_set_visible (row->restore, error == NULL);
  if (error == NULL && !self->good_found)
    {
      self->good_found = TRUE;
      gtk_widget_add_css_class (row->restore, "suggested-action");
      if (ef_application_store_damage (self->application) != NULL)
        gtk_widget_grab_focus (row->restore);
    }
}

static void
checked_cb (GObject *source,
            GAsyncResult *result,
            gpointer user_data)
{
  g_autoptr (EfBackupsWindow) self = user_data;
  g_autoptr (GError) error = NULL;
  const Work *work = g_task_get_task_data (G_TASK (result));
  gboolean stale = g_task_get_cancellable (G_TASK (result)) != self->checking || g_cancellable_is_cancelled (self->checking);

  g_task_propagate_boolean (G_TASK (result), &error);
  if (self->progress == NULL || stale)
    return;
  show_checked (self, work, error);
  self->n_checked++;
  check_next (self);
}

static void
check_next (EfBackupsWindow *self)
{
  Work *work;

  if (self->n_checked >= self->backups->len)
    {
      g_clear_object (&self->checking);
      return;
    }
  work = work_new (self);
  work->row = self->n_checked;
  work->backup = g_strdup (((EfBackup *) self->backups->pdata[work->row])->path);
  start_task (self, work, self->checking, check_thread, checked_cb);
}

static void
add_row (EfBackupsWindow *self,
         const EfBackup *backup)
{
  g_autofree char *title = local_time (backup->time);
  g_autofree char *name = g_strdup_printf (_ ("Put back the backup of %s"), title);
  Row *row = g_new0 (Row, 1);

  row->row = g_object_new (ADW_TYPE_ACTION_ROW, "use-markup", FALSE, "title", title, "subtitle", _ ("Looking through it…"), NULL);
  adw_action_row_set_title_lines (ADW_ACTION_ROW (row->row), 0);
  adw_action_row_set_subtitle_lines (ADW_ACTION_ROW (row->row), 0);
  row->icon = gtk_image_new_from_icon_name ("document-save-symbolic");
  adw_action_row_add_prefix (ADW_ACTION_ROW (row->row), row->icon);
  row->restore = g_object_new (GTK_TYPE_BUTTON, "label", _ ("Put Back…"), "valign", GTK_ALIGN_CENTER, "visible", FALSE, NULL);
  gtk_widget_add_css_class (row->restore, "ef-touch");
  gtk_accessible_update_property (GTK_ACCESSIBLE (row->restore), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  g_object_set_data (G_OBJECT (row->restore), "row", GUINT_TO_POINTER (self->rows->len));
  g_signal_connect_object (row->restore, "clicked", G_CALLBACK (restore_cb), self, 0);
  adw_action_row_add_suffix (ADW_ACTION_ROW (row->row), row->restore);
  gtk_list_box_append (GTK_LIST_BOX (self->list), row->row);
  g_ptr_array_add (self->rows, row);
}

static void
list_again (EfBackupsWindow *self)
{
  g_autoptr (GError) error = NULL;
  GPtrArray *backups = ef_backup_list (self->folder, &error);
  GtkWidget *child;
  guint i;

  if (self->checking != NULL)
    g_cancellable_cancel (self->checking);
  g_clear_object (&self->checking);
  while ((child = gtk_widget_get_first_child (self->list)) != NULL)
    gtk_list_box_remove (GTK_LIST_BOX (self->list), child);
  g_ptr_array_set_size (self->rows, 0);
  g_clear_pointer (&self->backups, g_ptr_array_unref);
  self->backups = backups != NULL ? backups : g_ptr_array_new ();
  self->n_checked = 0;
  self->good_found = FALSE;
  for (i = 0; i < self->backups->len; i++)
    add_row (self, self->backups->pdata[i]);
  if (self->backups->len == 0)
    gtk_list_box_append (GTK_LIST_BOX (self->list),
                         g_object_new (ADW_TYPE_ACTION_ROW, "use-markup", FALSE, "title", _ ("There is no backup yet"),
                                       "subtitle", error != NULL ? error->message : self->folder, NULL));
  self->checking = g_cancellable_new ();
  check_next (self);
}

static gboolean
close_request (GtkWindow *window)
{
  EfBackupsWindow *self = EF_BACKUPS_WINDOW (window);

  /* Between releasing the store and opening it again this window stays; it can be cancelled. */
  if (self->working != NULL)
    {
      g_cancellable_cancel (self->working);
      return TRUE;
    }
  if (self->checking != NULL)
    g_cancellable_cancel (self->checking);

  return GTK_WINDOW_CLASS (ef_backups_window_parent_class)->close_request (window);
}

static void
ef_backups_window_dispose (GObject *object)
{
  EfBackupsWindow *self = EF_BACKUPS_WINDOW (object);

  g_clear_handle_id (&self->ticker, g_source_remove);
  self->progress = NULL;
  G_OBJECT_CLASS (ef_backups_window_parent_class)->dispose (object);
}

static void
ef_backups_window_finalize (GObject *object)
{
  EfBackupsWindow *self = EF_BACKUPS_WINDOW (object);

  g_clear_weak_pointer (&self->window);
  g_clear_object (&self->application);
  g_clear_object (&self->checking);
  g_clear_object (&self->working);
  g_clear_pointer (&self->backups, g_ptr_array_unref);
  g_ptr_array_unref (self->rows);
  g_mutex_clear (&self->lock);
  g_free (self->store_path);
  g_free (self->folder);
  G_OBJECT_CLASS (ef_backups_window_parent_class)->finalize (object);
}

static void
ef_backups_window_class_init (EfBackupsWindowClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_backups_window_dispose;
  G_OBJECT_CLASS (klass)->finalize = ef_backups_window_finalize;
  GTK_WINDOW_CLASS (klass)->close_request = close_request;
  gtk_widget_class_add_binding_action (GTK_WIDGET_CLASS (klass), GDK_KEY_Escape, 0, "window.close", NULL);
}

static GtkWidget *
make_label (const char *css_class)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, NULL);

  if (css_class != NULL)
    gtk_widget_add_css_class (label, css_class);

  return label;
}

static GtkWidget *
make_button (EfBackupsWindow *self,
             const char *label,
             GCallback clicked)
{
  GtkWidget *button = gtk_button_new_with_label (label);

  gtk_widget_add_css_class (button, "ef-touch");
  gtk_widget_set_valign (button, GTK_ALIGN_CENTER);
  g_signal_connect_swapped (button, "clicked", clicked, self);

  return button;
}

static GtkWidget *
make_head (EfBackupsWindow *self)
{
  GtkWidget *box = g_object_new (GTK_TYPE_BOX, "spacing", 12, NULL);
  GtkWidget *texts = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 6, "hexpand", TRUE, NULL);
  GtkWidget *buttons = ef_wrap_box_new (6);

  self->icon = g_object_new (GTK_TYPE_IMAGE, "pixel-size", 48, "valign", GTK_ALIGN_START, NULL);
  self->title = make_label ("title-2");
  self->words = make_label (NULL);
  self->make = make_button (self, _ ("Make One Now"), G_CALLBACK (make_cb));
  self->rebuild = make_button (self, _ ("New Store of What Can Be Read…"), G_CALLBACK (rebuild_cb));
  gtk_widget_set_tooltip_text (self->rebuild, _ ("With history, seals, photos, gauges and shelf, and a report of what couldn't be read"));
  self->take_out = make_button (self, _ ("Exchange Files of What Can Be Read…"), G_CALLBACK (take_out_cb));
  gtk_widget_set_tooltip_text (self->take_out, _ ("One file for each job that can be read, into a folder"));
  ef_wrap_box_append (EF_WRAP_BOX (buttons), self->make);
  ef_wrap_box_append (EF_WRAP_BOX (buttons), self->rebuild);
  ef_wrap_box_append (EF_WRAP_BOX (buttons), self->take_out);
  gtk_box_append (GTK_BOX (texts), self->title);
  gtk_box_append (GTK_BOX (texts), self->words);
  gtk_box_append (GTK_BOX (texts), buttons);
  gtk_box_append (GTK_BOX (box), self->icon);
  gtk_box_append (GTK_BOX (box), texts);

  return box;
}

static GtkWidget *
make_work (EfBackupsWindow *self)
{
  GtkWidget *texts = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 6, "hexpand", TRUE, NULL);

  self->work = g_object_new (GTK_TYPE_BOX, "spacing", 12, "visible", FALSE, NULL);
  self->work_words = make_label (NULL);
  self->progress = gtk_progress_bar_new ();
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->progress), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Done so far"), -1);
  self->cancel = make_button (self, _ ("Cancel"), G_CALLBACK (cancel_cb));
  gtk_box_append (GTK_BOX (texts), self->work_words);
  gtk_box_append (GTK_BOX (texts), self->progress);
  gtk_box_append (GTK_BOX (self->work), texts);
  gtk_box_append (GTK_BOX (self->work), self->cancel);

  return self->work;
}

static void
ef_backups_window_init (EfBackupsWindow *self)
{
  GtkWidget *content = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  GtkWidget *scrolled = g_object_new (GTK_TYPE_SCROLLED_WINDOW, "hscrollbar-policy", GTK_POLICY_NEVER, "vexpand", TRUE, NULL);
  GtkWidget *column = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 18, "margin-start", 18, "margin-end", 18,
                                    "margin-top", 18, "margin-bottom", 18, NULL);
  GtkWidget *header = adw_header_bar_new ();

  g_mutex_init (&self->lock);
  self->rows = g_ptr_array_new_with_free_func (g_free);
  adw_header_bar_set_title_widget (ADW_HEADER_BAR (header), adw_window_title_new (_ ("Backups"), NULL));
  self->list = g_object_new (GTK_TYPE_LIST_BOX, "selection-mode", GTK_SELECTION_NONE, NULL);
  gtk_widget_add_css_class (self->list, "boxed-list");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->list), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Backups, newest first"), -1);
  self->losses = make_label ("ef-caution");
  gtk_label_set_selectable (GTK_LABEL (self->losses), TRUE);
  gtk_widget_set_visible (self->losses, FALSE);
  gtk_box_append (GTK_BOX (column), make_head (self));
  gtk_box_append (GTK_BOX (column), make_work (self));
  gtk_box_append (GTK_BOX (column), self->losses);
  gtk_box_append (GTK_BOX (column), self->list);
  gtk_scrolled_window_set_child (GTK_SCROLLED_WINDOW (scrolled), column);
  gtk_box_append (GTK_BOX (content), header);
  gtk_box_append (GTK_BOX (content), scrolled);
  adw_window_set_content (ADW_WINDOW (self), content);
  gtk_window_set_title (GTK_WINDOW (self), _ ("Backups"));
  gtk_window_set_default_size (GTK_WINDOW (self), 760, 640);
}

EfBackupsWindow *
ef_backups_window_show (EfWindow *over)
{
  EfBackupsWindow *self = g_object_new (EF_TYPE_BACKUPS_WINDOW, "transient-for", over, "modal", TRUE, NULL);

  self->application = g_object_ref (EF_APPLICATION (gtk_window_get_application (GTK_WINDOW (over))));
  g_set_weak_pointer (&self->window, over);
  self->store_path = g_strdup (ef_application_store_path (self->application));
  self->folder = ef_settings_backup_folder (self->store_path);
  show_store (self);
  list_again (self);
  gtk_window_present (GTK_WINDOW (self));

  return self;
}

gboolean
ef_backups_window_busy (EfBackupsWindow *self)
{
  return self->checking != NULL || self->working != NULL;
}
