/* Moving between the start pages and a job; opening, importing, telling.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-window.h"
#include "ef-import.h"
#include "ef-job-page.h"
#include "ef-new-job-dialog.h"
#include "ef-settings.h"
#include "ef-start-page.h"
#include "ef-verdict-filler.h"

#include <glib/gi18n.h>

struct _EfWindow
{
  AdwApplicationWindow parent_instance;

  AdwToastOverlay *toasts;
  GtkStack *stack;
  EfStartPage *start;
  GtkWidget *job_page; /* NULL while no job is open */
  EfSession *session;
  EfVerdictFiller *filler;
  AdwStatusPage *store_status;

  GtkRevealer *work_revealer;
  GtkLabel *work_label;
  GtkSpinner *work_spinner;
  GtkButton *work_cancel;
  GCancellable *work_cancellable;
};

G_DEFINE_FINAL_TYPE (EfWindow, ef_window, ADW_TYPE_APPLICATION_WINDOW)

static void
set_job_actions_enabled (EfWindow *self,
                         gboolean job_open)
{
  static const char *const names[] = { "back", "page", "print", "export-report", "export-exchange", "export-pictures" };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (names); i++)
    g_simple_action_set_enabled (G_SIMPLE_ACTION (g_action_map_lookup_action (G_ACTION_MAP (self), names[i])), job_open);
}

static void
update_undo (EfWindow *self)
{
  EfDocument *document = self->session != NULL ? ef_session_document (self->session) : NULL;
  gboolean writable = self->session != NULL && !ef_session_read_only (self->session);
  GAction *undo = g_action_map_lookup_action (G_ACTION_MAP (self), "undo");
  GAction *redo = g_action_map_lookup_action (G_ACTION_MAP (self), "redo");

  g_simple_action_set_enabled (G_SIMPLE_ACTION (undo), writable && ef_document_can_undo (document));
  g_simple_action_set_enabled (G_SIMPLE_ACTION (redo), writable && ef_document_can_redo (document));
}

/* What the desktop shows in its list of windows. */
static void
update_title (EfWindow *self)
{
  g_autofree char *title = NULL;

  if (self->session != NULL)
    {
      const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));

      title = g_strdup_printf (_ ("%s, %s – Endfloat"), ef_inspection_header (inspection)->number, inspection->sheet->model);
    }
  gtk_window_set_title (GTK_WINDOW (self), title != NULL ? title : "Endfloat");
}

static void
session_changed_cb (EfWindow *self)
{
  update_undo (self);
  update_title (self);
}

static void
close_job (EfWindow *self)
{
  if (self->session != NULL)
    {
      g_signal_handlers_disconnect_by_data (self->session, self);
      ef_session_stop (self->session);
    }
  if (self->job_page != NULL)
    {
      gtk_stack_remove (self->stack, self->job_page);
      self->job_page = NULL;
    }
  g_clear_object (&self->session);
  session_changed_cb (self);
  set_job_actions_enabled (self, FALSE);
}

/* The open job comes first; the others get their verdicts when it has its own. */
static void
update_hold (EfWindow *self)
{
  ef_verdict_filler_hold (self->filler, self->session != NULL && ef_session_busy (self->session));
}

static void
filled_cb (EfWindow *self)
{
  ef_start_page_refresh (self->start);
}

static void
message_cb (EfWindow *self,
            const char *text)
{
  ef_window_toast (self, text);
}

void
ef_window_open_job (EfWindow *self,
                    gint64 job)
{
  EfStore *store = ef_window_store (self);
  g_autoptr (EfDocument) document = NULL;
  g_autoptr (GError) error = NULL;

  if (store == NULL)
    return;
  document = ef_store_open_document (store, job, &error);
  if (document == NULL)
    {
      ef_window_toast (self, error->message);
      return;
    }
  close_job (self);
  self->session = ef_session_new (document, store, job, FALSE);
  g_signal_connect_swapped (self->session, "message", G_CALLBACK (message_cb), self);
  g_signal_connect_swapped (self->session, "changed", G_CALLBACK (session_changed_cb), self);
  g_signal_connect_swapped (self->session, "notify::busy", G_CALLBACK (update_hold), self);
  self->job_page = GTK_WIDGET (ef_job_page_new (self->session));
  gtk_stack_add_named (self->stack, self->job_page, "job");
  gtk_stack_set_visible_child (self->stack, self->job_page);
  set_job_actions_enabled (self, TRUE);
  session_changed_cb (self);
  update_hold (self);
}

void
ef_window_show_start (EfWindow *self)
{
  gtk_stack_set_visible_child_name (self->stack, ef_window_store (self) != NULL ? "start" : "no-store");
  close_job (self);
  ef_start_page_refresh (self->start);
  update_hold (self);
}

void
ef_window_show_page (EfWindow *self,
                     const char *page)
{
  if (self->job_page != NULL)
    ef_job_page_show (EF_JOB_PAGE (self->job_page), page);
}

void
ef_window_show_reading (EfWindow *self,
                        const EfReading *reading)
{
  if (self->job_page != NULL)
    ef_job_page_show_reading (EF_JOB_PAGE (self->job_page), reading);
}

EfStore *
ef_window_store (EfWindow *self)
{
  GtkApplication *application = gtk_window_get_application (GTK_WINDOW (self));

  return application != NULL ? ef_application_store (EF_APPLICATION (application), NULL) : NULL;
}

EfSession *
ef_window_session (EfWindow *self)
{
  return self->session;
}

void
ef_window_toast (EfWindow *self,
                 const char *text)
{
  AdwToast *toast;
  g_autofree char *escaped = g_markup_escape_text (text, -1);

  toast = adw_toast_new (escaped);
  adw_toast_set_timeout (toast, strlen (text) > 60 ? 10 : 5);
  adw_toast_overlay_add_toast (self->toasts, toast);
}

void
ef_window_begin_work (EfWindow *self,
                      const char *text,
                      GCancellable *cancellable)
{
  g_set_object (&self->work_cancellable, cancellable);
  gtk_label_set_label (self->work_label, text);
  gtk_spinner_start (self->work_spinner);
  gtk_widget_set_visible (GTK_WIDGET (self->work_cancel), cancellable != NULL);
  gtk_widget_set_visible (GTK_WIDGET (self->work_revealer), TRUE);
  gtk_revealer_set_reveal_child (self->work_revealer, TRUE);
}

void
ef_window_end_work (EfWindow *self)
{
  gtk_spinner_stop (self->work_spinner);
  gtk_revealer_set_reveal_child (self->work_revealer, FALSE);
  gtk_widget_set_visible (GTK_WIDGET (self->work_revealer), FALSE);
  g_clear_object (&self->work_cancellable);
}

static void
work_cancel_cb (EfWindow *self)
{
  if (self->work_cancellable != NULL)
    g_cancellable_cancel (self->work_cancellable);
}

static void
import_done_cb (GObject *source,
                GAsyncResult *result,
                gpointer user_data)
{
  g_autoptr (EfWindow) self = EF_WINDOW (g_object_ref (source));
  g_autoptr (EfImportResult) imported = ef_import_finish (result);
  guint i;

  ef_window_end_work (self);
  for (i = 0; i < imported->failures->len; i++)
    ef_window_toast (self, g_ptr_array_index (imported->failures, i));
  ef_start_page_refresh (self->start);
  if (imported->open > 0)
    ef_window_open_job (self, imported->open);
  ef_verdict_filler_start (self->filler);
}

static void
begin_import (EfWindow *self,
              GFile **files,
              guint n_files,
              EfImportFlags flags)
{
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  EfStore *store = ef_window_store (self);

  if (store == NULL || self->work_cancellable != NULL)
    return;
  ef_window_begin_work (self, flags & EF_IMPORT_DEMO ? _ ("Reading the demo jobs…") : _ ("Reading the exchange file…"), cancellable);
  ef_import_async (G_OBJECT (self), store, files, n_files, flags, cancellable, import_done_cb, NULL);
}

void
ef_window_import (EfWindow *self,
                  GFile **files,
                  guint n_files)
{
  begin_import (self, files, n_files, 0);
}

void
ef_window_open_demo (EfWindow *self)
{
  g_autoptr (GPtrArray) files = NULL;
  g_autoptr (GError) error = NULL;

  files = ef_import_demo_files (&error);
  if (files == NULL)
    {
      ef_window_toast (self, error->message);
      return;
    }
  begin_import (self, (GFile **) files->pdata, files->len, EF_IMPORT_DEMO);
}

EfWindow *
ef_window_of (GtkWidget *widget)
{
  GtkWidget *window = gtk_widget_get_ancestor (widget, EF_TYPE_WINDOW);

  return window != NULL ? EF_WINDOW (window) : NULL;
}

static void
new_job_action (GSimpleAction *action,
                GVariant *parameter,
                gpointer user_data)
{
  EfWindow *self = user_data;

  if (ef_window_store (self) != NULL)
    ef_new_job_dialog_show (self);
}

static void
import_response_cb (GtkNativeDialog *dialog,
                    int response,
                    gpointer user_data)
{
  EfWindow *self = user_data;

  if (response == GTK_RESPONSE_ACCEPT)
    {
      g_autoptr (GListModel) files = gtk_file_chooser_get_files (GTK_FILE_CHOOSER (dialog));
      g_autoptr (GPtrArray) array = g_ptr_array_new_with_free_func (g_object_unref);
      guint i;

      for (i = 0; i < g_list_model_get_n_items (files); i++)
        g_ptr_array_add (array, g_list_model_get_item (files, i));
      if (array->len > 0)
        ef_window_import (self, (GFile **) array->pdata, array->len);
    }
  gtk_native_dialog_destroy (dialog);
  g_object_unref (dialog);
}

static void
import_action (GSimpleAction *action,
               GVariant *parameter,
               gpointer user_data)
{
  EfWindow *self = user_data;
  GtkFileChooserNative *dialog = gtk_file_chooser_native_new (_ ("Import exchange files"), GTK_WINDOW (self),
                                                              GTK_FILE_CHOOSER_ACTION_OPEN, _ ("_Import"), _ ("_Cancel"));
  g_autoptr (GtkFileFilter) filter = gtk_file_filter_new ();

  gtk_file_filter_set_name (filter, _ ("Exchange files"));
  gtk_file_filter_add_suffix (filter, "json");
  gtk_file_chooser_add_filter (GTK_FILE_CHOOSER (dialog), filter);
  gtk_file_chooser_set_select_multiple (GTK_FILE_CHOOSER (dialog), TRUE);
  gtk_native_dialog_set_modal (GTK_NATIVE_DIALOG (dialog), TRUE);
  g_signal_connect_object (dialog, "response", G_CALLBACK (import_response_cb), self, 0);
  gtk_native_dialog_show (GTK_NATIVE_DIALOG (dialog));
}

static void
demo_action (GSimpleAction *action,
             GVariant *parameter,
             gpointer user_data)
{
  ef_window_open_demo (user_data);
}

static void
search_action (GSimpleAction *action,
               GVariant *parameter,
               gpointer user_data)
{
  EfWindow *self = user_data;

  if (self->session == NULL)
    ef_start_page_search (self->start);
}

static void
back_action (GSimpleAction *action,
             GVariant *parameter,
             gpointer user_data)
{
  ef_window_show_start (user_data);
}

static void
page_action (GSimpleAction *action,
             GVariant *parameter,
             gpointer user_data)
{
  static const char *const pages[] = { "map", "readings", "verdict", "rework", "record" };
  int number = g_variant_get_int32 (parameter);

  if (number >= 1 && number <= (int) G_N_ELEMENTS (pages))
    ef_window_show_page (user_data, pages[number - 1]);
}

/* A text that is being written has its own undo; everything else is the job's. */
static gboolean
text_undo (EfWindow *self,
           const char *action)
{
  GtkWidget *focus = gtk_window_get_focus (GTK_WINDOW (self));

  return GTK_IS_TEXT_VIEW (focus) && gtk_widget_activate_action (focus, action, NULL);
}

static void
undo_action (GSimpleAction *action,
             GVariant *parameter,
             gpointer user_data)
{
  EfWindow *self = user_data;

  if (self->session != NULL && !text_undo (self, "text.undo"))
    ef_session_undo (self->session);
}

static void
redo_action (GSimpleAction *action,
             GVariant *parameter,
             gpointer user_data)
{
  EfWindow *self = user_data;

  if (self->session != NULL && !text_undo (self, "text.redo"))
    ef_session_redo (self->session);
}

/* Actions of the job page, so that menu and keys reach them from everywhere. */
static void
job_action (GSimpleAction *action,
            GVariant *parameter,
            gpointer user_data)
{
  EfWindow *self = user_data;

  if (self->job_page != NULL)
    ef_job_page_do (EF_JOB_PAGE (self->job_page), g_action_get_name (G_ACTION (action)));
}

static void
other_store_response_cb (GtkNativeDialog *dialog,
                         int response,
                         gpointer user_data)
{
  EfWindow *self = user_data;

  if (response == GTK_RESPONSE_ACCEPT)
    {
      g_autoptr (GFile) file = gtk_file_chooser_get_file (GTK_FILE_CHOOSER (dialog));
      g_autofree char *path = g_file_get_path (file);

      if (path != NULL)
        ef_application_use_store (EF_APPLICATION (gtk_window_get_application (GTK_WINDOW (self))), path);
      ef_window_refresh_store (self);
    }
  gtk_native_dialog_destroy (dialog);
  g_object_unref (dialog);
}

static void
other_store_action (GSimpleAction *action,
                    GVariant *parameter,
                    gpointer user_data)
{
  EfWindow *self = user_data;
  GtkFileChooserNative *dialog = gtk_file_chooser_native_new (_ ("Open another store"), GTK_WINDOW (self),
                                                              GTK_FILE_CHOOSER_ACTION_OPEN, _ ("_Open"), _ ("_Cancel"));

  gtk_native_dialog_set_modal (GTK_NATIVE_DIALOG (dialog), TRUE);
  g_signal_connect_object (dialog, "response", G_CALLBACK (other_store_response_cb), self, 0);
  gtk_native_dialog_show (GTK_NATIVE_DIALOG (dialog));
}

static const GActionEntry actions[] = {
  { "new-job", new_job_action },
  { "import", import_action },
  { "demo", demo_action },
  { "search", search_action },
  { "back", back_action },
  { "page", page_action, "i" },
  { "undo", undo_action },
  { "redo", redo_action },
  { "print", job_action },
  { "export-report", job_action },
  { "export-exchange", job_action },
  { "export-pictures", job_action },
  { "other-store", other_store_action },
};

static gboolean
ef_window_close_request (GtkWindow *window)
{
  EfWindow *self = EF_WINDOW (window);
  GSettings *settings = ef_settings_get ();
  int width, height;

  gtk_window_get_default_size (window, &width, &height);
  if (width >= 360 && height >= 360)
    {
      g_settings_set_int (settings, "window-width", width);
      g_settings_set_int (settings, "window-height", height);
    }
  g_settings_set_boolean (settings, "window-maximized", gtk_window_is_maximized (window));
  if (self->work_cancellable != NULL)
    g_cancellable_cancel (self->work_cancellable);
  return GTK_WINDOW_CLASS (ef_window_parent_class)->close_request (window);
}

static void
ef_window_constructed (GObject *object)
{
  G_OBJECT_CLASS (ef_window_parent_class)->constructed (object);
  /* Not earlier: "maximized" is a construct property. */
  if (g_settings_get_boolean (ef_settings_get (), "window-maximized"))
    gtk_window_maximize (GTK_WINDOW (object));
}

static void
ef_window_dispose (GObject *object)
{
  EfWindow *self = EF_WINDOW (object);

  if (self->session != NULL)
    {
      g_signal_handlers_disconnect_by_data (self->session, self);
      ef_session_stop (self->session);
      g_clear_object (&self->session);
    }
  self->job_page = NULL;
  if (self->filler != NULL)
    {
      g_signal_handlers_disconnect_by_data (self->filler, self);
      ef_verdict_filler_set_store (self->filler, NULL);
      g_clear_object (&self->filler);
    }
  g_clear_object (&self->work_cancellable);
  gtk_widget_dispose_template (GTK_WIDGET (self), EF_TYPE_WINDOW);
  G_OBJECT_CLASS (ef_window_parent_class)->dispose (object);
}

static void
ef_window_class_init (EfWindowClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->constructed = ef_window_constructed;
  G_OBJECT_CLASS (klass)->dispose = ef_window_dispose;
  GTK_WINDOW_CLASS (klass)->close_request = ef_window_close_request;
  g_type_ensure (EF_TYPE_START_PAGE);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/window.ui");
  gtk_widget_class_bind_template_child (widget_class, EfWindow, toasts);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, stack);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, start);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, store_status);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, work_revealer);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, work_label);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, work_spinner);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, work_cancel);
  gtk_widget_class_bind_template_callback (widget_class, work_cancel_cb);
}

static void
ef_window_init (EfWindow *self)
{
  GSettings *settings = ef_settings_get ();

  g_action_map_add_action_entries (G_ACTION_MAP (self), actions, G_N_ELEMENTS (actions), self);
  gtk_widget_init_template (GTK_WIDGET (self));
  self->filler = ef_verdict_filler_new ();
  g_signal_connect_swapped (self->filler, "filled", G_CALLBACK (filled_cb), self);
  gtk_window_set_default_size (GTK_WINDOW (self), g_settings_get_int (settings, "window-width"),
                               g_settings_get_int (settings, "window-height"));
  set_job_actions_enabled (self, FALSE);
  update_undo (self);
}

void
ef_window_refresh_store (EfWindow *self)
{
  EfApplication *application = EF_APPLICATION (gtk_window_get_application (GTK_WINDOW (self)));
  const char *reason = NULL;
  EfStore *store = ef_application_store (application, &reason);
  g_autofree char *escaped = reason != NULL ? g_markup_escape_text (reason, -1) : NULL;

  adw_status_page_set_description (self->store_status, escaped);
  ef_start_page_set_store (self->start, store);
  ef_verdict_filler_set_store (self->filler, store);
  ef_verdict_filler_start (self->filler);
  gtk_stack_set_visible_child_name (self->stack, store != NULL ? "start" : "no-store");
}

EfWindow *
ef_window_new (EfApplication *application)
{
  EfWindow *self = g_object_new (EF_TYPE_WINDOW, "application", application, NULL);

  ef_window_refresh_store (self);
  return self;
}
