/* Bringing a store up to date.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-upgrade-private.h"
#include "ef-store-schema.h"

#define WAIT_MS 100      /* between looks at a folder that another window holds */
#define BACKUP_SHARE 0.5 /* of the progress */

static gboolean
read_version (const EfSql *sql,
              gint64 *version_out,
              GError **error)
{
  return ef_sql_integer (sql, 0, version_out, error, "PRAGMA user_version", "");
}

gboolean
ef_store_upgrade_needed (const char *path,
                         gint64 *from,
                         gint64 *to)
{
  g_autoptr (EfStore) store = NULL;
  gint64 version = 0;

  g_return_val_if_fail (path != NULL, FALSE);
  if (to != NULL)
    *to = ef_store_schema_version ();
  if (!g_file_test (path, G_FILE_TEST_EXISTS))
    return FALSE;
  store = ef_store_open_to_read (path, NULL);
  if (store == NULL || !read_version (&store->sql, &version, NULL))
    return FALSE;
  if (from != NULL)
    *from = version;

  return version > 0 && version < ef_store_schema_version ();
}

static void
backup_progress (double share,
                 gpointer user_data)
{
  const EfUpgrade *how = user_data;

  how->progress (BACKUP_SHARE * share, how->user_data);
}

static void
steps_progress (double share,
                gpointer user_data)
{
  const EfUpgrade *how = user_data;

  if (how->progress != NULL)
    how->progress (how->without_backup ? share : BACKUP_SHARE + (1 - BACKUP_SHARE) * share, how->user_data);
}

/* NULL and no error: another window has brought it up to date meanwhile. */
static char *
make_backup (EfStore *store,
             const EfUpgrade *how,
             GError **error)
{
  g_autofree char *folder = how->folder != NULL ? g_strdup (how->folder) : ef_backup_default_folder (store->path);

  for (;;)
    {
      g_autoptr (GError) local = NULL;
      char *path = ef_backup_make (store, folder, how->policy, how->progress != NULL ? backup_progress : NULL, (gpointer) how, how->cancellable, &local);
      gint64 version;

      if (path != NULL)
        return path;
      if (g_error_matches (local, EF_ERROR, EF_ERROR_BUSY) && g_cancellable_is_cancelled (how->cancellable))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, "%s: stopped while another window was making a backup", store->sql.name);
          return NULL;
        }
      if (!g_error_matches (local, EF_ERROR, EF_ERROR_BUSY))
        {
          g_propagate_error (error, g_steal_pointer (&local));
          return NULL;
        }
      g_usleep (WAIT_MS * 1000);
      if (!read_version (&store->sql, &version, error) || version == ef_store_schema_version ())
        return NULL;
    }
}

static void
set_no_backup (EfStore *store,
               gint64 version,
               const GError *reason,
               GError **error)
{
  g_set_error (error, EF_ERROR, reason->code,
               "%s: it is of version %" G_GINT64_FORMAT " and has to be brought up to %" G_GINT64_FORMAT "; expected a backup of it before that, found that none can be made (%s). "
               "Nothing was changed. Put that right and try again; or do without a backup: “endfloat upgrade --without-backup”",
               store->sql.name, version, ef_store_schema_version (), reason->message);
}

EfUpgradeOutcome
ef_store_upgrade_opened (EfStore *store,
                         const EfUpgrade *how,
                         char **backup_out,
                         GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autofree char *backup = NULL;
  const EfSchemaWatch watch = { steps_progress, (gpointer) how, how->cancellable };
  gint64 version;

  if (!read_version (&store->sql, &version, error))
    return EF_UPGRADE_FAILED;
  /* A new one has nothing to lose. */
  if (version > 0 && version < ef_store_schema_version () && !how->without_backup)
    {
      backup = make_backup (store, how, &local);
      if (g_error_matches (local, EF_ERROR, EF_ERROR_CANCELLED))
        {
          g_propagate_error (error, g_steal_pointer (&local));
          return EF_UPGRADE_FAILED;
        }
      if (local != NULL)
        {
          set_no_backup (store, version, local, error);
          return EF_UPGRADE_NO_BACKUP;
        }
    }
  if (!ef_store_schema_migrate_watched (&store->sql, 0, &watch, error))
    return EF_UPGRADE_FAILED;
  if (backup != NULL)
    {
      g_autofree char *what = g_strdup_printf ("brought up from version %" G_GINT64_FORMAT " to %" G_GINT64_FORMAT " after a backup, %s", version, ef_store_schema_version (), backup);

      ef_backup_log (store->path, what);
    }
  if (backup_out != NULL)
    *backup_out = g_steal_pointer (&backup);

  return EF_UPGRADED;
}

EfUpgradeOutcome
ef_store_upgrade (const char *path,
                  const EfUpgrade *how,
                  char **backup_out,
                  GError **error)
{
  EfUpgradeOutcome outcome = EF_UPGRADE_FAILED;
  EfStore *store;

  g_return_val_if_fail (path != NULL && how != NULL, EF_UPGRADE_FAILED);
  if (backup_out != NULL)
    *backup_out = NULL;
  store = ef_store_open_as (path, how, backup_out, &outcome, error);
  ef_store_close (store);

  return outcome;
}

/* What the worker needs and brings back. */
typedef struct
{
  char *path, *folder;
  EfBackupPolicy policy;
  EfUpgrade how; /* pointing to the above */
  EfUpgradeOutcome outcome;
} Order;

static void
order_free (gpointer data)
{
  Order *order = data;

  g_free (order->path);
  g_free (order->folder);
  g_free (order);
}

static void
upgrade_thread (GTask *task,
                gpointer source,
                gpointer task_data,
                GCancellable *cancellable)
{
  Order *order = task_data;
  GError *error = NULL;

  order->how.cancellable = cancellable;
  order->outcome = ef_store_upgrade (order->path, &order->how, NULL, &error);
  if (order->outcome == EF_UPGRADED)
    g_task_return_boolean (task, TRUE);
  else
    g_task_return_error (task, error);
}

void
ef_store_upgrade_async (const char *path,
                        const EfUpgrade *how,
                        GAsyncReadyCallback callback,
                        gpointer user_data)
{
  g_autoptr (GTask) task = g_task_new (NULL, how->cancellable, callback, user_data);
  Order *order = g_new0 (Order, 1);

  order->path = g_strdup (path);
  order->folder = g_strdup (how->folder);
  order->policy = how->policy != NULL ? *how->policy : ef_backup_policy_default;
  order->how = *how;
  order->how.folder = order->folder;
  order->how.policy = &order->policy;
  g_task_set_source_tag (task, ef_store_upgrade_async);
  g_task_set_task_data (task, order, order_free);
  /* Our own error says that it was stopped. */
  g_task_set_check_cancellable (task, FALSE);
  g_task_run_in_thread (task, upgrade_thread);
}

EfUpgradeOutcome
ef_store_upgrade_finish (GAsyncResult *result,
                         GError **error)
{
  const Order *order;

  g_return_val_if_fail (g_task_is_valid (result, NULL), EF_UPGRADE_FAILED);
  order = g_task_get_task_data (G_TASK (result));

  return g_task_propagate_boolean (G_TASK (result), error) ? EF_UPGRADED : order->outcome;
}
