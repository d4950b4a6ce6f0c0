/* The backup that makes itself, in a worker.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-backup.h"
#include "ef-store-private.h"

typedef struct
{
  char *store_path;
  char *folder;
  EfBackupPolicy policy;
  gint64 seconds, changes;
} Order;

static void
order_free (gpointer data)
{
  Order *order = data;

  g_free (order->store_path);
  g_free (order->folder);
  g_free (order);
}

static gboolean
make_if_due (const Order *order,
             GCancellable *cancellable,
             char **path_out,
             GError **error)
{
  g_autoptr (EfStore) store = ef_store_open_to_read (order->store_path, error);
  gboolean due;

  if (store == NULL || !ef_backup_due (store, order->folder, order->seconds, order->changes, &due, error))
    return FALSE;
  if (!due)
    return TRUE;
  *path_out = ef_backup_make (store, order->folder, &order->policy, NULL, NULL, cancellable, error);

  return *path_out != NULL;
}

static void
auto_thread (GTask *task,
             gpointer source,
             gpointer task_data,
             GCancellable *cancellable)
{
  const Order *order = task_data;
  g_autoptr (GError) error = NULL;
  char *path = NULL;

  if (!make_if_due (order, cancellable, &path, &error) && !g_error_matches (error, EF_ERROR, EF_ERROR_BUSY))
    {
      g_autofree char *what = g_strdup_printf ("no backup: %s", error->message);

      if (!g_error_matches (error, EF_ERROR, EF_ERROR_CANCELLED))
        ef_backup_log (order->store_path, what);
      g_task_return_error (task, g_steal_pointer (&error));
      return;
    }
  if (path != NULL)
    {
      g_autofree char *what = g_strdup_printf ("made and checked %s", path);

      ef_backup_log (order->store_path, what);
    }
  g_task_return_pointer (task, path, g_free);
}

void
ef_backup_auto_async (const char *store_path,
                      const char *folder,
                      const EfBackupPolicy *policy,
                      gint64 seconds,
                      gint64 changes,
                      GCancellable *cancellable,
                      GAsyncReadyCallback callback,
                      gpointer user_data)
{
  g_autoptr (GTask) task = g_task_new (NULL, cancellable, callback, user_data);
  Order *order = g_new0 (Order, 1);

  order->store_path = g_strdup (store_path);
  order->folder = g_strdup (folder);
  order->policy = policy != NULL ? *policy : ef_backup_policy_default;
  order->seconds = seconds;
  order->changes = changes;
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

static void
check_thread (GTask *task,
              gpointer source,
              gpointer task_data,
              GCancellable *cancellable)
{
  GError *error = NULL;

  if (ef_store_look_through (task_data, cancellable, &error))
    g_task_return_boolean (task, TRUE);
  else
    g_task_return_error (task, error);
}

void
ef_store_look_through_async (const char *path,
                           GCancellable *cancellable,
                           GAsyncReadyCallback callback,
                           gpointer user_data)
{
  g_autoptr (GTask) task = g_task_new (NULL, cancellable, callback, user_data);

  g_task_set_source_tag (task, ef_store_look_through_async);
  g_task_set_task_data (task, g_strdup (path), g_free);
  g_task_set_check_cancellable (task, FALSE);
  g_task_run_in_thread (task, check_thread);
}

gboolean
ef_store_look_through_finish (GAsyncResult *result,
                            GError **error)
{
  return g_task_propagate_boolean (G_TASK (result), error);
}
