/* Reading exchange files in a worker and adding them as jobs.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-import.h"
#include "../lesson/ef-lesson-store.h"
#include "../draw/ef-demo-photo.h"
#include "../record/ef-exchange.h"
#include "../record/ef-missing-files.h"
#include "../record/ef-seal.h"
#include "../record/ef-store-files.h"
#include "../record/ef-store-shelf.h"

#include <glib/gi18n.h>

#define DEMO_PHOTO_FACE "separator/side-a"
#define DEMO_PHOTO_NAME "Separator side A.jpg"

typedef struct
{
  GPtrArray *paths;     /* char * */
  GPtrArray *loaded;    /* EfInspection * */
  GPtrArray *sources;   /* char *: the path of each */
  GPtrArray *failures;  /* char * */
  gboolean demo;
  GBytes *photo;        /* of the demo's first job; NULL */
} Reading;

typedef struct
{
  EfStore *store;
  EfImportFlags flags;
  EfImportResult *result;
} Import;

static void
reading_free (gpointer data)
{
  Reading *reading = data;

  g_ptr_array_unref (reading->paths);
  g_ptr_array_unref (reading->loaded);
  g_ptr_array_unref (reading->sources);
  g_ptr_array_unref (reading->failures);
  g_clear_pointer (&reading->photo, g_bytes_unref);
  g_free (reading);
}

void
ef_import_result_free (EfImportResult *result)
{
  g_ptr_array_unref (result->failures);
  g_ptr_array_unref (result->missing);
  g_free (result);
}

static void
import_free (gpointer data)
{
  Import *import = data;

  g_clear_pointer (&import->result, ef_import_result_free);
  g_free (import);
}

/* The demo's first job gets a photo of its most marked face, made here: there are no pictures of real pumps to ship. */
static void
make_demo_photo (Reading *reading,
                 EfInspection *inspection,
                 GError **error)
{
  g_autoptr (EfFaceChart) chart = ef_face_chart_new (inspection->sheet, DEMO_PHOTO_FACE, NULL);
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (inspection, DEMO_PHOTO_FACE);
  g_autoptr (EfItem) photo = NULL;
  g_autofree char *digest = NULL;
  double to_photo[9];

  reading->photo = chart != NULL && reading->photo == NULL ? ef_demo_photo_make (chart, marks, to_photo, error) : NULL;
  if (reading->photo == NULL)
    return;
  digest = g_compute_checksum_for_bytes (G_CHECKSUM_SHA256, reading->photo);
  photo = &ef_photo_new (digest, DEMO_PHOTO_NAME, "image/jpeg", EF_DEMO_PHOTO_WIDTH, EF_DEMO_PHOTO_HEIGHT)->item;
  ((EfPhoto *) photo)->taken = g_strdup ("2026-03-09T10:42:00");
  ((EfPhoto *) photo)->shows = g_strdup (DEMO_PHOTO_FACE);
  ((EfPhoto *) photo)->note = g_strdup ("As it came off the housing, wiped dry. Drawn by the program for the demo, not taken by a camera.");
  ef_demo_photo_lay ((EfPhoto *) photo, chart, to_photo, 6);
  ef_inspection_swap (inspection, NULL, photo, error);
}

static void
read_thread (GTask *task,
             gpointer source,
             gpointer task_data,
             GCancellable *cancellable)
{
  Reading *reading = task_data;
  guint i;

  for (i = 0; i < reading->paths->len; i++)
    {
      g_autoptr (GError) error = NULL;
      EfInspection *inspection;

      if (g_task_return_error_if_cancelled (task))
        return;
      inspection = ef_exchange_load (g_ptr_array_index (reading->paths, i), &error);
      if (inspection == NULL)
        g_ptr_array_add (reading->failures, g_strdup (error->message));
      else
        {
          if (reading->demo && i == 0)
            make_demo_photo (reading, inspection, &error);
          if (error != NULL)
            g_ptr_array_add (reading->failures, g_strdup (error->message));
          g_ptr_array_add (reading->loaded, inspection);
          g_ptr_array_add (reading->sources, g_strdup (g_ptr_array_index (reading->paths, i)));
        }
    }
  g_task_return_boolean (task, TRUE);
}

/* What an exchange file names and doesn't bring along. */
static void
note_missing (Import *import,
              gint64 job)
{
  g_autoptr (GError) error = NULL;
  char *text = import->flags & EF_IMPORT_DEMO ? NULL : ef_store_missing_files (import->store, job, &error);

  if (text != NULL)
    g_ptr_array_add (import->result->missing, text);
  if (error != NULL)
    g_ptr_array_add (import->result->failures, g_strdup (error->message));
}

static void
add_job (Import *import,
         const EfInspection *inspection,
         const char *source)
{
  const char *number = ef_inspection_header (inspection)->number;
  g_autoptr (GError) error = NULL;
  gint64 job = 0;

  if (import->flags & EF_IMPORT_DEMO && !ef_store_exists (import->store, number, &job, &error))
    {
      g_ptr_array_add (import->result->failures, g_strdup (error->message));
      return;
    }
  if (job == 0)
    {
      job = import->flags & EF_IMPORT_DEMO ? ef_store_add (import->store, inspection, &error) : ef_seal_import (import->store, source, &error);
      if (job <= 0)
        {
          g_ptr_array_add (import->result->failures, g_strdup (error->message));
          return;
        }
      import->result->n_added++;
      note_missing (import, job);
    }
  if (import->result->open == 0 || !(import->flags & EF_IMPORT_DEMO))
    import->result->open = job;
}

static void
add_demo_photo (Import *import,
                GBytes *bytes)
{
  g_autoptr (GInputStream) stream = g_memory_input_stream_new_from_bytes (bytes);
  g_autoptr (GError) error = NULL;
  g_autofree char *digest = ef_store_add_file (import->store, stream, DEMO_PHOTO_NAME, NULL, &error);

  if (digest == NULL)
    g_ptr_array_add (import->result->failures, g_strdup (error->message));
}

/* The demo's own parts; what lies there already isn't put twice. */
static void
add_demo_shelf (Import *import)
{
  g_autofree char *path = ef_data_path ("shelf", "demo.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) parts = ef_shelf_load (path, &error);

  if (parts == NULL || !ef_store_shelf_put (import->store, parts, NULL, NULL, &error))
    g_ptr_array_add (import->result->failures, g_strdup (error->message));
}

/* The demo's lesson; once it's there it's left as it was made since. */
static void
add_demo_lesson (Import *import)
{
  g_autofree char *path = ef_data_path ("lessons", "torn-filter.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLesson) lesson = ef_lesson_load (path, &error);
  g_autoptr (EfLessonRow) there = lesson != NULL ? ef_store_lesson (import->store, lesson->terms.name, NULL) : NULL;

  if (lesson == NULL || (there == NULL && !ef_lesson_store_put (import->store, lesson, lesson->terms.role, "Demo read in", &error)))
    g_ptr_array_add (import->result->failures, g_strdup (error->message));
}

static void
read_done_cb (GObject *source,
              GAsyncResult *result,
              gpointer user_data)
{
  g_autoptr (GTask) task = user_data;
  Import *import = g_task_get_task_data (task);
  Reading *reading = g_task_get_task_data (G_TASK (result));
  g_autoptr (GError) error = NULL;
  guint i;

  if (g_task_propagate_boolean (G_TASK (result), &error))
    {
      for (i = 0; i < reading->failures->len; i++)
        g_ptr_array_add (import->result->failures, g_strdup (g_ptr_array_index (reading->failures, i)));
      if (reading->photo != NULL)
        add_demo_photo (import, reading->photo);
      for (i = 0; i < reading->loaded->len; i++)
        add_job (import, g_ptr_array_index (reading->loaded, i), g_ptr_array_index (reading->sources, i));
      if (import->flags & EF_IMPORT_DEMO)
        {
          add_demo_shelf (import);
          add_demo_lesson (import);
        }
    }
  g_task_return_pointer (task, g_steal_pointer (&import->result), (GDestroyNotify) ef_import_result_free);
}

void
ef_import_async (GObject *owner,
                 EfStore *store,
                 GFile **files,
                 guint n_files,
                 EfImportFlags flags,
                 GCancellable *cancellable,
                 GAsyncReadyCallback callback,
                 gpointer user_data)
{
  GTask *task = g_task_new (owner, NULL, callback, user_data);
  g_autoptr (GTask) reader = NULL;
  Import *import = g_new0 (Import, 1);
  Reading *reading = g_new0 (Reading, 1);
  guint i;

  import->store = store;
  import->flags = flags;
  import->result = g_new0 (EfImportResult, 1);
  import->result->failures = g_ptr_array_new_with_free_func (g_free);
  import->result->missing = g_ptr_array_new_with_free_func (g_free);
  g_task_set_source_tag (task, ef_import_async);
  g_task_set_task_data (task, import, import_free);

  reading->paths = g_ptr_array_new_with_free_func (g_free);
  reading->loaded = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_inspection_free);
  reading->sources = g_ptr_array_new_with_free_func (g_free);
  reading->failures = g_ptr_array_new_with_free_func (g_free);
  for (i = 0; i < n_files; i++)
    {
      g_autofree char *path = g_file_get_path (files[i]);

      if (path != NULL)
        g_ptr_array_add (reading->paths, g_steal_pointer (&path));
      else
        g_ptr_array_add (reading->failures, g_strdup (_ ("Only files on this computer can be imported.")));
    }
  reading->demo = (flags & EF_IMPORT_DEMO) != 0;
  reader = g_task_new (NULL, cancellable, read_done_cb, task);
  g_task_set_task_data (reader, reading, reading_free);
  g_task_run_in_thread (reader, read_thread);
}

EfImportResult *
ef_import_finish (GAsyncResult *result)
{
  return g_task_propagate_pointer (G_TASK (result), NULL);
}

static int
compare_names (gconstpointer a,
               gconstpointer b)
{
  return g_strcmp0 (*(const char *const *) a, *(const char *const *) b);
}

GPtrArray *
ef_import_demo_files (GError **error)
{
  g_autofree char *folder = ef_data_path ("demo", NULL);
  g_autoptr (GDir) dir = g_dir_open (folder, 0, error);
  g_autoptr (GPtrArray) names = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GPtrArray) files = g_ptr_array_new_with_free_func (g_object_unref);
  const char *name;
  guint i;

  if (dir == NULL)
    return NULL;
  while ((name = g_dir_read_name (dir)) != NULL)
    if (g_str_has_suffix (name, ".json"))
      g_ptr_array_add (names, g_strdup (name));
  if (names->len == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected the demo jobs, found none", folder);
      return NULL;
    }
  g_ptr_array_sort (names, compare_names);
  for (i = 0; i < names->len; i++)
    g_ptr_array_add (files, g_file_new_build_filename (folder, g_ptr_array_index (names, i), NULL));
  return g_steal_pointer (&files);
}
