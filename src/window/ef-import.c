/* Reading exchange files in a worker and adding them as jobs.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-import.h"
#include "../record/ef-exchange.h"

#include <glib/gi18n.h>

typedef struct
{
  GPtrArray *paths;     /* char * */
  GPtrArray *loaded;    /* EfInspection * */
  GPtrArray *failures;  /* char * */
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
  g_ptr_array_unref (reading->failures);
  g_free (reading);
}

void
ef_import_result_free (EfImportResult *result)
{
  g_ptr_array_unref (result->failures);
  g_free (result);
}

static void
import_free (gpointer data)
{
  Import *import = data;

  g_clear_pointer (&import->result, ef_import_result_free);
  g_free (import);
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
        g_ptr_array_add (reading->loaded, inspection);
    }
  g_task_return_boolean (task, TRUE);
}

static void
add_job (Import *import,
         const EfInspection *inspection)
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
      job = ef_store_add (import->store, inspection, &error);
      if (job <= 0)
        {
          g_ptr_array_add (import->result->failures, g_strdup (error->message));
          return;
        }
      import->result->n_added++;
    }
  if (import->result->open == 0 || !(import->flags & EF_IMPORT_DEMO))
    import->result->open = job;
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
      for (i = 0; i < reading->loaded->len; i++)
        add_job (import, g_ptr_array_index (reading->loaded, i));
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
  g_task_set_source_tag (task, ef_import_async);
  g_task_set_task_data (task, import, import_free);

  reading->paths = g_ptr_array_new_with_free_func (g_free);
  reading->loaded = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_inspection_free);
  reading->failures = g_ptr_array_new_with_free_func (g_free);
  for (i = 0; i < n_files; i++)
    {
      g_autofree char *path = g_file_get_path (files[i]);

      if (path != NULL)
        g_ptr_array_add (reading->paths, g_steal_pointer (&path));
      else
        g_ptr_array_add (reading->failures, g_strdup (_ ("Only files on this computer can be imported.")));
    }
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
