/* The backup that makes itself, in a worker.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-backup.h"

typedef struct
{
  char *store_path;
  gint64 seconds;
} Order;

static void
order_free (gpointer data)
{
  Order *order = data;

  g_free (order->store_path);
  g_free (order);
}

static gboolean
make_if_due (const Order *order,
             GCancellable *cancellable,
             char **path_out,
             GError **error)
{
  g_autofree char *folder = ef_backup_default_folder (order->store_path);
  g_autoptr (EfStore) store = ef_store_open (order->store_path, error);
  gboolean due;

  if (store == NULL || !ef_backup_due (store, folder, order->seconds, &due, error))
    return FALSE;
  if (!due)
    return TRUE;
  *path_out = ef_backup_make (store, folder, NULL, NULL, NULL, cancellable, error);

  return *path_out != NULL;
}

static void
auto_thread (GTask *task,
             gpointer source,
             gpointer task_data,
             GCancellable *cancellable)
{
  g_autoptr (GError) error = NULL;
  char *path = NULL;

  if (make_if_due (task_data, cancellable, &path, &error))
    g_task_return_pointer (task, path, g_free);
  else
    g_task_return_error (task, g_steal_pointer (&error));
}

void
ef_backup_auto_async (const char *store_path,
                      gint64 seconds,
                      GCancellable *cancellable,
                      GAsyncReadyCallback callback,
                      gpointer user_data)
{
  g_autoptr (GTask) task = g_task_new (NULL, cancellable, callback, user_data);
  Order *order = g_new0 (Order, 1);

  order->store_path = g_strdup (store_path);
  order->seconds = seconds;
  g_task_set_source_tag (task, ef_backup_auto_async);
  g_task_set_task_data (task, order, order_free);
  /* Our own error says that it was stopped. */
  g_task_set_check_cancellable (task, FALSE);
  g_task_run_in_thread (task, auto_thread);
}

gboolean
ef_backup_auto_finish (GAsyncResult *result,
                       char **path_out,
                       GError **error)
{
  g_autoptr (GError) local = NULL;
  char *path;

  g_return_val_if_fail (g_task_is_valid (result, NULL), FALSE);
  path = g_task_propagate_pointer (G_TASK (result), &local);
  if (local != NULL)
    {
      g_propagate_error (error, g_steal_pointer (&local));
      return FALSE;
    }
  if (path_out != NULL)
    *path_out = path;
  else
    g_free (path);

  return TRUE;
}
