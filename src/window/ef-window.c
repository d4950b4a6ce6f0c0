/* Moving between the start pages and a job; opening, importing, telling.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-window.h"
#include "ef-ask-path.h"
#include "ef-backups-window.h"
#include "ef-attempt-page.h"
#include "ef-bench-view.h"
#include "ef-import.h"
#include "ef-job-page.h"
#include "ef-key-window.h"
#include "ef-new-job-dialog.h"
#include "ef-roles-window.h"
#include "ef-result-page.h"
#include "ef-settings.h"
#include "ef-shop-gauges.h"
#include "ef-start-page.h"
#include "ef-tour.h"
#include "ef-verdict-filler.h"
#include "ef-withdrawn-window.h"
#include "../lesson/ef-lesson-store.h"

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
  GtkWidget *store_choices, *store_again, *store_anyway, *store_backups, *store_work;
  GtkProgressBar *store_progress;

  GtkWidget *notice;
  GtkImage *notice_icon;
  GtkLabel *notice_label;
  GtkWidget *notice_backups;
  GtkWidget *notice_again;

  GtkRevealer *work_revealer;
  GtkLabel *work_label;
  GtkSpinner *work_spinner;
  GtkButton *work_cancel;
  EfTour *tour;
  gboolean tour_waits; /* for the demo to be opened */
  GCancellable *work_cancellable;
};

static guint roles_changed_signal;

G_DEFINE_FINAL_TYPE (EfWindow, ef_window, ADW_TYPE_APPLICATION_WINDOW)

static void
set_job_actions_enabled (EfWindow *self,
                         gboolean job_open)
{
  static const char *const names[] = { "back", "page", "print", "bench-view", "export-report", "export-exchange", "export-pictures", "claim-pack" };
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
  if (self->tour != NULL)
    ef_tour_stop (self->tour);
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
  ef_start_page_refresh_verdicts (self->start);
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
  self->session = ef_session_new (document, store, job, ef_store_read_only (store));
  g_signal_connect_swapped (self->session, "message", G_CALLBACK (message_cb), self);
  g_signal_connect_swapped (self->session, "changed", G_CALLBACK (session_changed_cb), self);
  g_signal_connect_swapped (self->session, "notify::busy", G_CALLBACK (update_hold), self);
  self->job_page = GTK_WIDGET (ef_job_page_new (self->session));
  gtk_stack_add_named (self->stack, self->job_page, "job");
  gtk_stack_set_visible_child (self->stack, self->job_page);
  set_job_actions_enabled (self, TRUE);
  session_changed_cb (self);
  update_hold (self);
  if (self->tour_waits)
    ef_tour_start (self->tour);
  self->tour_waits = FALSE;
}

static void
show_result (EfWindow *self,
             gint64 job)
{
  EfStore *store = ef_window_store (self);

  close_job (self);
  self->job_page = GTK_WIDGET (ef_result_page_new (store, job));
  gtk_stack_add_named (self->stack, self->job_page, "job");
  gtk_stack_set_visible_child (self->stack, self->job_page);
  g_simple_action_set_enabled (G_SIMPLE_ACTION (g_action_map_lookup_action (G_ACTION_MAP (self), "back")), TRUE);
}

/* Not within the page's own signal, which it wouldn't outlive. */
static gboolean
show_result_later (gpointer data)
{
  EfWindow *self = data;
  gint64 job = self->session != NULL ? ef_session_job (self->session) : 0;

  if (job != 0)
    show_result (self, job);

  return G_SOURCE_REMOVE;
}

static void
handed_in_cb (EfWindow *self)
{
  g_idle_add_full (G_PRIORITY_DEFAULT, show_result_later, g_object_ref (self), g_object_unref);
}

static void
show_attempt (EfWindow *self,
              EfDocument *document,
              gint64 job,
              EfLessonSheet *sheet)
{
  close_job (self);
  self->session = ef_session_new (document, ef_window_store (self), job, FALSE);
  ef_session_stop (self->session); /* what would be worked out is what the apprentice is to find */
  g_signal_connect_swapped (self->session, "message", G_CALLBACK (message_cb), self);
  g_signal_connect_swapped (self->session, "changed", G_CALLBACK (session_changed_cb), self);
  self->job_page = GTK_WIDGET (ef_attempt_page_new (self->session, sheet));
  g_signal_connect_object (self->job_page, "handed-in", G_CALLBACK (handed_in_cb), self, G_CONNECT_SWAPPED);
  gtk_stack_add_named (self->stack, self->job_page, "job");
  gtk_stack_set_visible_child (self->stack, self->job_page);
  g_simple_action_set_enabled (G_SIMPLE_ACTION (g_action_map_lookup_action (G_ACTION_MAP (self), "back")), TRUE);
  g_simple_action_set_enabled (G_SIMPLE_ACTION (g_action_map_lookup_action (G_ACTION_MAP (self), "page")), TRUE);
  session_changed_cb (self);
}

void
ef_window_open_attempt (EfWindow *self,
                        gint64 job)
{
  EfStore *store = ef_window_store (self);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfAttemptRow) attempt = store != NULL ? ef_store_attempt (store, job, &error) : NULL;
  g_autoptr (EfLessonSheet) sheet = NULL;
  g_autoptr (EfDocument) document = NULL;

  if (store == NULL)
    return;
  if (attempt != NULL && attempt->handed_in[0] != '\0')
    {
      show_result (self, job);
      return;
    }
  sheet = attempt != NULL ? ef_lesson_store_sheet_by_digest (store, attempt->lesson, &error) : NULL;
  document = sheet != NULL ? ef_store_open_document (store, job, &error) : NULL;
  if (document == NULL)
    {
      ef_window_toast (self, error->message);
      return;
    }
  show_attempt (self, document, job, g_steal_pointer (&sheet));
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
  if (EF_IS_JOB_PAGE (self->job_page))
    ef_job_page_show (EF_JOB_PAGE (self->job_page), page);
}

void
ef_window_show_reading (EfWindow *self,
                        const EfReading *reading)
{
  if (EF_IS_JOB_PAGE (self->job_page))
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

gboolean
ef_window_working (EfWindow *self)
{
  return self->work_cancellable != NULL;
}

static void
work_cancel_cb (EfWindow *self)
{
  if (self->work_cancellable != NULL)
    g_cancellable_cancel (self->work_cancellable);
}

#define MISSING_MOST 6 /* jobs told of by name */

/* A job a paragraph. */
static GtkWidget *
missing_list (const GPtrArray *missing)
{
  g_autoptr (GString) text = g_string_new (NULL);

  for (guint i = 0; i < missing->len && i < MISSING_MOST; i++)
    g_string_append_printf (text, "%s%s", i > 0 ? "\n\n" : "", (const char *) missing->pdata[i]);
  if (missing->len > MISSING_MOST)
    g_string_append_printf (text, g_dngettext (GETTEXT_PACKAGE, "\n\nAnd of %u more job.", "\n\nAnd of %u more jobs.", missing->len - MISSING_MOST), missing->len - MISSING_MOST);

  return g_object_new (GTK_TYPE_LABEL, "label", text->str, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, "selectable", TRUE, "can-focus", FALSE, NULL);
}

/* Once, when it can still be asked for where the file came from. */
static void
tell_missing (EfWindow *self,
              const GPtrArray *missing)
{
  GtkWidget *dialog;

  if (missing->len == 0)
    return;
  dialog = adw_message_dialog_new (GTK_WINDOW (self), _ ("Photos or Certificates Are Missing"),
                                   _ ("An exchange file only names them. Ask for the files, and attach them here: photos on the Record page, certificates to their gauge."));
  adw_message_dialog_set_extra_child (ADW_MESSAGE_DIALOG (dialog), missing_list (missing));
  adw_message_dialog_add_response (ADW_MESSAGE_DIALOG (dialog), "close", _ ("_Close"));
  gtk_window_present (GTK_WINDOW (dialog));
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
  tell_missing (self, imported->missing);
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
import_chosen_cb (GtkWidget *owner,
                  GListModel *files,
                  gpointer data)
{
  g_autoptr (GPtrArray) array = g_ptr_array_new_with_free_func (g_object_unref);

  for (guint i = 0; i < g_list_model_get_n_items (files); i++)
    g_ptr_array_add (array, g_list_model_get_item (files, i));
  ef_window_import (EF_WINDOW (owner), (GFile **) array->pdata, array->len);
}

static void
import_action (GSimpleAction *action,
               GVariant *parameter,
               gpointer user_data)
{
  static const char *const endings[] = { "json", NULL };
  const EfAskPath ask = { .title = _ ("Import exchange files"), .accept = _ ("_Import"), .kind = _ ("Exchange files"), .endings = endings };

  ef_ask_files (GTK_WIDGET (user_data), &ask, import_chosen_cb, NULL, NULL);
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

  if (EF_IS_ATTEMPT_PAGE (((EfWindow *) user_data)->job_page))
    ef_attempt_page_show_number (EF_ATTEMPT_PAGE (((EfWindow *) user_data)->job_page), number);
  else if (number >= 1 && number <= (int) G_N_ELEMENTS (pages))
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

  if (EF_IS_JOB_PAGE (self->job_page))
    ef_job_page_do (EF_JOB_PAGE (self->job_page), g_action_get_name (G_ACTION (action)));
}

static void
other_store_chosen_cb (GtkWidget *owner,
                       const char *path,
                       gpointer data)
{
  ef_application_use_store (EF_APPLICATION (gtk_window_get_application (GTK_WINDOW (owner))), path);
}

static void
other_store_action (GSimpleAction *action,
                    GVariant *parameter,
                    gpointer user_data)
{
  const EfAskPath ask = { .title = _ ("Open another store"), .accept = _ ("_Open") };

  ef_ask_path (GTK_WIDGET (user_data), &ask, other_store_chosen_cb, NULL, NULL);
}

static void
shop_gauges_action (GSimpleAction *action,
                    GVariant *parameter,
                    gpointer user_data)
{
  EfWindow *self = user_data;
  EfStore *store = ef_window_store (self);

  if (store != NULL)
    ef_shop_gauges_show (GTK_WIDGET (self), store);
}

/* The history notes who is at work, where the shop has that role. */
static void
use_role (EfWindow *self)
{
  EfStore *store = ef_window_store (self);
  g_autofree char *at_work = ef_settings_role ();
  g_autoptr (EfRole) role = store != NULL ? ef_store_role (store, at_work, NULL) : NULL;

  if (store != NULL)
    ef_store_use_role (store, role != NULL ? role->name : NULL);
}

static void
roles_changed_cb (EfWindow *self)
{
  use_role (self);
  g_signal_emit (self, roles_changed_signal, 0);
}

static void
roles_action (GSimpleAction *action,
              GVariant *parameter,
              gpointer user_data)
{
  EfWindow *self = user_data;
  EfStore *store = ef_window_store (self);

  if (store != NULL)
    g_signal_connect_object (ef_roles_window_show (GTK_WIDGET (self), store), "changed", G_CALLBACK (roles_changed_cb), self, G_CONNECT_SWAPPED);
}

static void
seal_key_action (GSimpleAction *action,
                 GVariant *parameter,
                 gpointer user_data)
{
  EfWindow *self = user_data;
  EfStore *store = ef_window_store (self);

  if (store != NULL)
    ef_key_window_show (GTK_WIDGET (self), store);
}

static void
reinstated_cb (EfWindow *self)
{
  ef_start_page_refresh (self->start);
  if (self->session != NULL)
    ef_session_refresh_standing (self->session);
}

static void
withdrawn_action (GSimpleAction *action,
                  GVariant *parameter,
                  gpointer user_data)
{
  EfWindow *self = user_data;
  EfStore *store = ef_window_store (self);

  if (store != NULL)
    g_signal_connect_object (ef_withdrawn_window_show (GTK_WIDGET (self), store), "reinstated", G_CALLBACK (reinstated_cb), self, G_CONNECT_SWAPPED);
}

/* On the open job; without one on the demo, as soon as it's there. */
static void
tour_action (GSimpleAction *action,
             GVariant *parameter,
             gpointer user_data)
{
  EfWindow *self = user_data;

  g_settings_set_boolean (ef_settings_get (), "tour-offered", TRUE);
  if (self->session != NULL)
    {
      ef_tour_start (self->tour);
      return;
    }
  self->tour_waits = TRUE;
  ef_window_open_demo (self);
}

/* After the folder was made writable, room was made, … */
static void
open_again_action (GSimpleAction *action,
                   GVariant *parameter,
                   gpointer user_data)
{
  EfApplication *application = EF_APPLICATION (gtk_window_get_application (GTK_WINDOW (user_data)));

  ef_application_use_store (application, ef_application_store_path (application));
}

static void
stop_upgrade_action (GSimpleAction *action,
                     GVariant *parameter,
                     gpointer user_data)
{
  ef_application_stop_upgrade (EF_APPLICATION (gtk_window_get_application (GTK_WINDOW (user_data))));
}

static void
upgrade_anyway_action (GSimpleAction *action,
                       GVariant *parameter,
                       gpointer user_data)
{
  ef_application_upgrade_anyway (EF_APPLICATION (gtk_window_get_application (GTK_WINDOW (user_data))));
}

static void
backups_action (GSimpleAction *action,
                GVariant *parameter,
                gpointer user_data)
{
  ef_backups_window_show (user_data);
}

static void
bench_view_action (GSimpleAction *action,
                   GVariant *parameter,
                   gpointer user_data)
{
  EfWindow *self = user_data;

  if (self->session != NULL)
    ef_bench_view_show (GTK_WIDGET (self), self->session);
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
  { "bench-view", bench_view_action },
  { "tour", tour_action },
  { "export-report", job_action },
  { "export-exchange", job_action },
  { "export-pictures", job_action },
  { "claim-pack", job_action },
  { "other-store", other_store_action },
  { "shop-gauges", shop_gauges_action },
  { "roles", roles_action },
  { "seal-key", seal_key_action },
  { "withdrawn", withdrawn_action },
  { "backups", backups_action },
  { "stop-upgrade", stop_upgrade_action },
  { "upgrade-anyway", upgrade_anyway_action },
  { "open-again", open_again_action },
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
  g_clear_object (&self->tour);
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

  roles_changed_signal = g_signal_new ("roles-changed", EF_TYPE_WINDOW, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  G_OBJECT_CLASS (klass)->constructed = ef_window_constructed;
  G_OBJECT_CLASS (klass)->dispose = ef_window_dispose;
  GTK_WINDOW_CLASS (klass)->close_request = ef_window_close_request;
  g_type_ensure (EF_TYPE_START_PAGE);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/window.ui");
  gtk_widget_class_bind_template_child (widget_class, EfWindow, toasts);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, stack);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, start);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, store_status);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, store_choices);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, store_again);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, store_anyway);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, store_backups);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, store_work);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, store_progress);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, notice);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, notice_icon);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, notice_label);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, notice_backups);
  gtk_widget_class_bind_template_child (widget_class, EfWindow, notice_again);
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
  self->tour = ef_tour_new (self, GTK_WIDGET (self->toasts));
  gtk_box_append (GTK_BOX (gtk_widget_get_parent (GTK_WIDGET (self->toasts))), ef_tour_offer_new (GTK_WIDGET (self->start)));
  self->filler = ef_verdict_filler_new ();
  g_signal_connect_swapped (self->filler, "filled", G_CALLBACK (filled_cb), self);
  gtk_window_set_default_size (GTK_WINDOW (self), g_settings_get_int (settings, "window-width"),
                               g_settings_get_int (settings, "window-height"));
  set_job_actions_enabled (self, FALSE);
  update_undo (self);
}

/* The file holds names of customers. */
static void
warn_of_access (EfWindow *self,
                EfStore *store)
{
  g_autofree char *warning = ef_store_access_warning (ef_store_path (store));

  if (warning != NULL)
    ef_window_toast (self, warning);
}

/* Windows over this one show what belongs to the store. */
static void
close_others (EfWindow *self)
{
  GListModel *toplevels = gtk_window_get_toplevels ();
  g_autoptr (GPtrArray) others = g_ptr_array_new_with_free_func (g_object_unref);
  guint i;

  for (i = 0; i < g_list_model_get_n_items (toplevels); i++)
    {
      g_autoptr (GtkWindow) window = g_list_model_get_item (toplevels, i);
      GtkWindow *over = gtk_window_get_transient_for (window);

      if (over == GTK_WINDOW (self) && !EF_IS_BACKUPS_WINDOW (window))
        g_ptr_array_add (others, g_object_ref (window));
    }
  for (i = 0; i < others->len; i++)
    gtk_window_destroy (others->pdata[i]);
}

void
ef_window_release_store (EfWindow *self)
{
  close_others (self);
  gtk_stack_set_visible_child_name (self->stack, "no-store");
  close_job (self);
  ef_start_page_set_store (self->start, NULL);
  ef_verdict_filler_set_store (self->filler, NULL);
}

void
ef_window_refresh_notice (EfWindow *self)
{
  EfApplication *application = EF_APPLICATION (gtk_window_get_application (GTK_WINDOW (self)));
  const char *damage = ef_application_store_damage (application);
  EfStore *store = ef_application_store (application, NULL);
  g_autofree char *text = NULL;

  if (store != NULL && damage != NULL)
    text = g_strdup_printf (_ ("The store of the jobs is damaged. What can be read still opens; a backup puts it right. %s"), damage);
  else if (store != NULL && ef_store_read_only (store))
    text = g_strdup_printf (_ ("The jobs can be looked at and exported, not changed: %s or its folder can't be written."), ef_store_path (store));
  gtk_label_set_label (self->notice_label, text != NULL ? text : "");
  gtk_image_set_from_icon_name (self->notice_icon, damage != NULL ? "dialog-warning-symbolic" : "changes-prevent-symbolic");
  gtk_widget_set_visible (self->notice_backups, damage != NULL);
  gtk_widget_set_visible (self->notice_again, damage == NULL);
  gtk_widget_set_visible (self->notice, text != NULL);
  g_simple_action_set_enabled (G_SIMPLE_ACTION (g_action_map_lookup_action (G_ACTION_MAP (self), "new-job")), store == NULL || !ef_store_read_only (store));
  g_simple_action_set_enabled (G_SIMPLE_ACTION (g_action_map_lookup_action (G_ACTION_MAP (self), "import")), store == NULL || !ef_store_read_only (store));
}

void
ef_window_show_upgrade (EfWindow *self)
{
  EfApplication *application = EF_APPLICATION (gtk_window_get_application (GTK_WINDOW (self)));
  double share;
  gboolean upgrading = ef_application_upgrading (application, &share);

  gtk_widget_set_visible (self->store_work, upgrading);
  gtk_widget_set_visible (self->store_choices, !upgrading);
  gtk_widget_set_visible (self->store_anyway, ef_application_lacks_backup (application));
  gtk_progress_bar_set_fraction (self->store_progress, share);
  if (!upgrading)
    return;
  adw_status_page_set_title (self->store_status, _ ("Bringing the jobs up to date"));
  adw_status_page_set_icon_name (self->store_status, "document-save-symbolic");
  adw_status_page_set_description (self->store_status,
                                   _ ("An earlier version of the program made this store. A checked backup comes first; nothing is lost when this is stopped."));
}

static void
prefer (GtkWidget *button,
        gboolean preferred)
{
  if (preferred)
    gtk_widget_add_css_class (button, "suggested-action");
  else
    gtk_widget_remove_css_class (button, "suggested-action");
}

void
ef_window_refresh_store (EfWindow *self)
{
  EfApplication *application = EF_APPLICATION (gtk_window_get_application (GTK_WINDOW (self)));
  const gboolean stopped = ef_application_upgrade_stopped (application);
  const char *title = _ ("The jobs can't be opened");
  const char *reason = NULL;
  EfStore *store = ef_application_store (application, &reason);
  g_autofree char *escaped = reason != NULL ? g_markup_escape_text (reason, -1) : NULL;

  if (stopped)
    title = _ ("The jobs aren't up to date yet");
  else if (ef_application_lacks_backup (application))
    title = _ ("No backup can be made before the jobs are brought up to date");
  adw_status_page_set_title (self->store_status, title);
  adw_status_page_set_icon_name (self->store_status, stopped ? "document-save-symbolic" : "dialog-error-symbolic");
  prefer (self->store_again, stopped);
  prefer (self->store_backups, !stopped);
  adw_status_page_set_description (self->store_status, escaped);
  ef_window_show_upgrade (self);
  ef_start_page_set_store (self->start, store);
  ef_verdict_filler_set_store (self->filler, store);
  ef_verdict_filler_start (self->filler);
  gtk_stack_set_visible_child_name (self->stack, store != NULL ? "start" : "no-store");
  roles_changed_cb (self);
  if (store != NULL)
    warn_of_access (self, store);
  ef_window_refresh_notice (self);
}

EfWindow *
ef_window_new (EfApplication *application)
{
  EfWindow *self = g_object_new (EF_TYPE_WINDOW, "application", application, NULL);

  ef_window_refresh_store (self);
  g_signal_connect_object (ef_settings_get (), "changed::role", G_CALLBACK (use_role), self, G_CONNECT_SWAPPED);
  return self;
}
