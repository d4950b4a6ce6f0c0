/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-report-pictures.h"
#include "../draw/ef-report-photos.h"

typedef struct
{
  EfAssessment *assessment;
  char *store;
} Wanted;

static void
wanted_free (gpointer data)
{
  Wanted *wanted = data;

  ef_assessment_unref (wanted->assessment);
  g_free (wanted->store);
  g_free (wanted);
}

static void
take_thread (GTask *task,
             gpointer source,
             gpointer task_data,
             GCancellable *cancellable)
{
  const Wanted *wanted = task_data;
  g_autoptr (EfStore) store = ef_store_open_read_only (wanted->store, NULL);
  guint before = ef_report_photos_missing (wanted->assessment->inspection);

  if (store != NULL)
    ef_report_take_photos (store, wanted->assessment->inspection, cancellable, NULL);
  g_task_return_boolean (task, ef_report_photos_missing (wanted->assessment->inspection) < before);
}

void
ef_report_pictures_take (EfSession *session,
                         EfAssessment *assessment,
                         GCancellable *cancellable,
                         GAsyncReadyCallback done,
                         gpointer user_data)
{
  g_autoptr (GTask) task = g_task_new (session, cancellable, done, user_data);
  EfStore *store = ef_session_store (session);
  Wanted *wanted;

  g_task_set_source_tag (task, ef_report_pictures_take);
  if (store == NULL || ef_report_photos_missing (assessment->inspection) == 0)
    {
      g_task_return_boolean (task, FALSE);
      return;
    }
  wanted = g_new0 (Wanted, 1);
  wanted->assessment = ef_assessment_ref (assessment);
  wanted->store = g_strdup (ef_store_path (store));
  g_task_set_task_data (task, wanted, wanted_free);
  g_task_run_in_thread (task, take_thread);
}

gboolean
ef_report_pictures_finish (GAsyncResult *result)
{
  return g_task_propagate_boolean (G_TASK (result), NULL);
}

static void
waited_cb (GObject *source,
           GAsyncResult *result,
           gpointer user_data)
{
  *(gboolean *) user_data = TRUE;
}

void
ef_report_pictures_wait (EfSession *session,
                         EfAssessment *assessment)
{
  gboolean done = FALSE;

  ef_report_pictures_take (session, assessment, NULL, waited_cb, &done);
  while (!done)
    g_main_context_iteration (NULL, TRUE);
}
