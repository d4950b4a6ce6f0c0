/* Export dialogs and the worker behind them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-export.h"
#include "ef-ask-path.h"
#include "ef-settings.h"
#include "ef-window.h"
#include "../draw/ef-report-photos.h"
#include "../draw/ef-report-seal.h"
#include "../record/ef-exchange.h"
#include "../record/ef-seal.h"
#include "../record/ef-store-standing.h"

#include <glib/gi18n.h>

#define PICTURE_WIDTH 1600
#define PICTURE_HEIGHT 1200

typedef struct
{
  EfExportKind kind;
  EfPaper paper;
  char *path;
  char *created;
  char *store_path; /* NULL: in no store */
  gint64 job;
  gboolean sealed; /* its exchange file takes the seal with it */
  EfAssessment *assessment;
  EfSession *session; /* released in the main thread by the callback */
  gulong busy_handler;
  gulong cancelled_handler;
  GAsyncReadyCallback callback;
  gpointer user_data;
} Export;

static void
export_free (gpointer data)
{
  Export *export = data;

  g_free (export->path);
  g_free (export->created);
  g_free (export->store_path);
  g_clear_pointer (&export->assessment, ef_assessment_unref);
  g_free (export);
}

static gboolean
write_face (const Export *export,
            const char *face,
            GError **error)
{
  g_autofree char *name = g_strdelimit (g_strconcat (face, ".png", NULL), "/", '-');
  g_autofree char *path = g_build_filename (export->path, name, NULL);

  return ef_picture_write_face (export->assessment, face, path, PICTURE_WIDTH, PICTURE_HEIGHT, error);
}

static gboolean
write_pictures (const Export *export,
                GCancellable *cancellable,
                GError **error)
{
  const EfInspection *inspection = export->assessment->inspection;
  g_autofree char *pump = g_build_filename (export->path, "pump.png", NULL);
  g_auto (GStrv) faces = ef_face_ids (inspection->sheet);
  guint i;

  if (!ef_picture_write_exploded (export->assessment, pump, PICTURE_WIDTH, PICTURE_HEIGHT / 2, error))
    return FALSE;
  for (i = 0; faces[i] != NULL; i++)
    {
      g_autoptr (GPtrArray) marks = ef_inspection_face_marks (inspection, faces[i]);

      if (g_cancellable_set_error_if_cancelled (cancellable, error))
        return FALSE;
      if (marks->len > 0 && !write_face (export, faces[i], error))
        return FALSE;
    }
  return TRUE;
}

static gboolean
write_report (const Export *export,
              GCancellable *cancellable,
              GError **error)
{
  g_autoptr (EfStore) store = NULL;
  g_autoptr (EfReportSeal) seal = NULL;

  if (export->store_path != NULL)
    {
      store = ef_store_open (export->store_path, error);
      seal = store != NULL ? ef_report_seal_of_job (store, export->job, TRUE, error) : NULL;
      if (seal == NULL)
        return FALSE;
      ef_report_take_photos (store, export->assessment->inspection, cancellable, NULL);
    }

  return ef_report_write_pdf (export->assessment, seal, export->path, export->paper, export->created, error);
}

/* A sealed job goes out with its seal. */
static gboolean
write_exchange (const Export *export,
                GError **error)
{
  g_autoptr (EfStore) store = NULL;

  if (!export->sealed)
    return ef_exchange_save (export->assessment->inspection, export->path, error);
  store = ef_store_open (export->store_path, error);

  return store != NULL && ef_seal_export_file (store, export->job, export->path, error);
}

static void
export_thread (GTask *task,
               gpointer source,
               gpointer task_data,
               GCancellable *cancellable)
{
  const Export *export = task_data;
  GError *error = NULL;
  gboolean ok = FALSE;

  switch (export->kind)
    {
    case EF_EXPORT_REPORT:
      ok = write_report (export, cancellable, &error);
      break;
    case EF_EXPORT_EXCHANGE:
      ok = write_exchange (export, &error);
      break;
    case EF_EXPORT_PICTURES:
      ok = write_pictures (export, cancellable, &error);
      break;
    }
  if (ok)
    g_task_return_boolean (task, TRUE);
  else
    g_task_return_error (task, error);
}

static void
written_cb (GObject *source,
            GAsyncResult *result,
            gpointer user_data)
{
  Export *export = g_task_get_task_data (G_TASK (result));
  g_autoptr (EfSession) session = g_steal_pointer (&export->session);

  export->callback (G_OBJECT (session), result, export->user_data);
}

static void
stop_waiting (GTask *task)
{
  Export *export = g_task_get_task_data (task);

  g_clear_signal_handler (&export->busy_handler, export->session);
  if (export->cancelled_handler != 0)
    g_clear_signal_handler (&export->cancelled_handler, g_task_get_cancellable (task));
}

/* Begins once the verdict is that of the newest state, and as fine as it gets. */
static void
begin_when_ready (GTask *task)
{
  g_autoptr (GTask) held = NULL;
  Export *export = g_task_get_task_data (task);
  gboolean cancelled = g_cancellable_is_cancelled (g_task_get_cancellable (task));

  if (!cancelled && ef_session_refining (export->session))
    return;
  held = g_object_ref (task);
  stop_waiting (task);
  if (cancelled)
    g_task_return_error_if_cancelled (task);
  else if (ef_session_assessment (export->session) == NULL)
    g_task_return_new_error (task, EF_ERROR, EF_ERROR_NOT_FOUND, "%s", _ ("There is no verdict yet, so there is nothing to write."));
  else
    {
      export->assessment = ef_assessment_ref (ef_session_assessment (export->session));
      g_task_run_in_thread (task, export_thread);
    }
}

static void
closure_unref (gpointer data,
               GClosure *closure)
{
  g_object_unref (data);
}

void
ef_export_async (EfSession *session,
                 EfExportKind kind,
                 const char *path,
                 GCancellable *cancellable,
                 GAsyncReadyCallback callback,
                 gpointer user_data)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autoptr (GTask) task = NULL;
  Export *export = g_new0 (Export, 1);
  EfStanding standing;

  export->kind = kind;
  export->paper = ef_settings_paper ();
  export->path = g_strdup (path);
  export->created = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  export->session = g_object_ref (session);
  if (ef_session_store (session) != NULL)
    {
      export->store_path = g_strdup (ef_store_path (ef_session_store (session)));
      export->job = ef_session_job (session);
      export->sealed = ef_store_standing (ef_session_store (session), export->job, &standing, NULL) && standing.sealed != 0;
    }
  export->callback = callback;
  export->user_data = user_data;
  /* No source object, so that the worker can't be the last to hold the session. */
  task = g_task_new (NULL, cancellable, written_cb, NULL);
  g_task_set_source_tag (task, ef_export_async);
  g_task_set_task_data (task, export, export_free);
  if (ef_session_refining (session))
    {
      export->busy_handler = g_signal_connect_data (session, "notify::busy", G_CALLBACK (begin_when_ready), g_object_ref (task), closure_unref,
                                                    G_CONNECT_SWAPPED);
      if (cancellable != NULL)
        export->cancelled_handler = g_signal_connect_data (cancellable, "cancelled", G_CALLBACK (begin_when_ready), g_object_ref (task),
                                                           closure_unref, G_CONNECT_SWAPPED);
    }
  begin_when_ready (task);
}

gboolean
ef_export_finish (EfSession *session,
                  GAsyncResult *result,
                  GError **error)
{
  return g_task_propagate_boolean (G_TASK (result), error);
}

typedef struct
{
  EfSession *session;
  EfWindow *window; /* may be NULL */
  EfExportKind kind;
  char *path;
} Ask;

static void
ask_clear (gpointer data)
{
  Ask *ask = data;

  g_object_unref (ask->session);
  g_clear_object (&ask->window);
  g_free (ask->path);
}

static void
ask_release (gpointer ask)
{
  g_rc_box_release_full (ask, ask_clear);
}

static void
export_done_cb (GObject *source,
                GAsyncResult *result,
                gpointer user_data)
{
  Ask *ask = user_data;
  g_autoptr (GError) error = NULL;
  g_autofree char *text = NULL;

  if (ask->window != NULL)
    ef_window_end_work (ask->window);
  if (ef_export_finish (ask->session, result, &error))
    text = g_strdup_printf (_ ("Written: %s"), ask->path);
  else if (g_error_matches (error, G_IO_ERROR, G_IO_ERROR_CANCELLED))
    text = g_strdup (_ ("Stopped. What had been written is still there."));
  else
    text = g_strdup (error->message);
  ef_session_message (ask->session, text);
  ask_release (ask);
}

static void
chosen_cb (GtkWidget *owner,
           const char *path,
           gpointer data)
{
  Ask *ask = data;
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();

  ask->path = g_strdup (path);
  if (ask->window != NULL)
    ef_window_begin_work (ask->window, _ ("Writing, as soon as the verdict is worked out…"), cancellable);
  ef_export_async (ask->session, ask->kind, path, cancellable, export_done_cb, g_rc_box_acquire (ask));
}

/* Without @suffix, for a folder. */
static void
ask_for_place (GtkWidget *widget,
               EfSession *session,
               EfExportKind kind,
               const char *title,
               const char *suffix)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (session));
  EfWindow *window = ef_window_of (widget);
  g_autofree char *name = suffix != NULL ? g_strdelimit (g_strconcat (ef_inspection_header (inspection)->number, suffix, NULL), "/\\:", '-') : NULL;
  const EfAskPath dialog = { .title = title, .accept = _ ("_Export"), .name = name,
                             .action = suffix != NULL ? GTK_FILE_CHOOSER_ACTION_SAVE : GTK_FILE_CHOOSER_ACTION_SELECT_FOLDER };
  Ask *ask = g_rc_box_new0 (Ask);

  ask->session = g_object_ref (session);
  ask->window = window != NULL ? g_object_ref (window) : NULL;
  ask->kind = kind;
  ef_ask_path (GTK_WIDGET (gtk_widget_get_root (widget)), &dialog, chosen_cb, ask, ask_release);
}

void
ef_export_report_dialog (GtkWidget *widget,
                         EfSession *session)
{
  ask_for_place (widget, session, EF_EXPORT_REPORT, _ ("Export the report as PDF"), ".pdf");
}

void
ef_export_exchange_dialog (GtkWidget *widget,
                           EfSession *session)
{
  ask_for_place (widget, session, EF_EXPORT_EXCHANGE, _ ("Export an exchange file"), ".json");
}

void
ef_export_pictures_dialog (GtkWidget *widget,
                           EfSession *session)
{
  ask_for_place (widget, session, EF_EXPORT_PICTURES, _ ("Export pictures into a folder"), NULL);
}
