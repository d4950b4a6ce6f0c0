/* Putting a backup in the place of the store, so that a stop at any moment leaves the one or the other.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-backup-private.h"
#include "ef-role-private.h"
#include "ef-store-private.h"

#include <string.h>

#define RESTORING ".restoring"

static const char *const companions[] = { "", "-wal", "-shm", "-journal" };

/* Moves the store and what belongs to it. */
static gboolean
move_store (const char *from,
            const char *to,
            GError **error)
{
  guint i;

  for (i = 0; i < G_N_ELEMENTS (companions); i++)
    {
      g_autofree char *source = g_strconcat (from, companions[i], NULL);
      g_autofree char *dest = g_strconcat (to, companions[i], NULL);

      if (g_file_test (source, G_FILE_TEST_EXISTS) && !ef_file_rename (source, dest, error))
        return FALSE;
    }

  return TRUE;
}

/* Takes the store for itself: leaving the log takes every other program to have closed it. A damaged store can't be asked, and
 * is moved as it is, with its log. Leaves @held open with a lock on the file in the first case. */
static gboolean
hold_store (EfSql *held,
            const char *path,
            GError **error)
{
  g_autoptr (GError) local = NULL;

  if (!g_file_test (path, G_FILE_TEST_EXISTS))
    return TRUE;
  if (ef_sql_open_plain (held, path, SQLITE_OPEN_READWRITE, &local)
      && ef_sql_exec (held, "PRAGMA journal_mode = DELETE", &local)
      && ef_sql_exec (held, "BEGIN EXCLUSIVE", &local))
    return TRUE;

  sqlite3_close_v2 (held->db);
  held->db = NULL;
  if (g_error_matches (local, EF_ERROR, EF_ERROR_CORRUPT))
    return TRUE;
  g_propagate_error (error, g_steal_pointer (&local));

  return FALSE;
}

/* The store goes before what belongs to it, so that it's never read without its log; a cut here is mended by ef_backup_finish_restore(). */
static gboolean
exchange_files (const char *copy,
                const char *store_path,
                const char *kept,
                GError **error)
{
  if (!move_store (store_path, kept, error) || !ef_file_rename (copy, store_path, error))
    {
      if (!g_file_test (store_path, G_FILE_TEST_EXISTS))
        move_store (kept, store_path, NULL);
      return FALSE;
    }

  return TRUE;
}

static char *
kept_path (const char *store_path)
{
  g_autofree char *stamp = ef_backup_stamp ();
  guint i;

  for (i = 1;; i++)
    {
      g_autofree char *path = i == 1 ? g_strdup_printf ("%s.before-%s", store_path, stamp)
                                     : g_strdup_printf ("%s.before-%s-%u", store_path, stamp, i);
      g_autofree char *log = g_strconcat (path, "-wal", NULL);

      if (!g_file_test (path, G_FILE_TEST_EXISTS) && !g_file_test (log, G_FILE_TEST_EXISTS))
        return g_steal_pointer (&path);
    }
}

/* Copies the backup beside the store, by itself, checked. */
static gboolean
fetch_backup (const char *backup_path,
              const char *copy,
              const EfBackupWatch *watch,
              GError **error)
{
  g_autoptr (EfStore) backup = ef_store_open_to_read (backup_path, error);

  return backup != NULL && ef_backup_write_copy (backup, copy, watch, error);
}

gboolean
ef_backup_restore (const char *backup_path,
                   const char *store_path,
                   const EfPermit *permit,
                   char **kept_out,
                   EfBackupProgress progress,
                   gpointer user_data,
                   GCancellable *cancellable,
                   GError **error)
{
  EfBackupWatch watch = { progress, user_data, cancellable };
  g_autofree char *copy = g_strconcat (store_path, RESTORING, NULL);
  g_autofree char *kept = kept_path (store_path);
  g_autofree char *name = g_filename_display_name (store_path);
  gboolean was_there = g_file_test (store_path, G_FILE_TEST_EXISTS);
  EfSql held = { NULL, name };
  gboolean done;

  if (kept_out != NULL)
    *kept_out = NULL;
  ef_backup_remove_partial (copy); /* of an attempt that was cut off */
  done = fetch_backup (backup_path, copy, &watch, error)
         && hold_store (&held, store_path, error)
         && ef_role_need_restore (&held, permit, error)
         && exchange_files (copy, store_path, kept, error);
  sqlite3_close_v2 (held.db);
  if (!done)
    ef_backup_remove_partial (copy);
  else if (was_there && kept_out != NULL)
    *kept_out = g_steal_pointer (&kept);

  return done;
}

/* What belongs to a store that was moved away follows it: to the newest one put aside that has no log yet, or under a name of its own. */
static gboolean
move_companions (const char *store_path,
                 GError **error)
{
  g_autofree char *folder = g_path_get_dirname (store_path);
  g_autofree char *base = g_path_get_basename (store_path);
  g_autofree char *prefix = g_strconcat (base, ".before-", NULL);
  g_autoptr (GDir) dir = g_dir_open (folder, 0, NULL);
  g_autofree char *newest = NULL;
  g_autofree char *kept = NULL;
  const char *name;

  while (dir != NULL && (name = g_dir_read_name (dir)) != NULL)
    if (g_str_has_prefix (name, prefix) && g_ascii_isalnum (name[strlen (name) - 1]) && g_strrstr (name, "-wal") == NULL
        && g_strrstr (name, "-shm") == NULL && g_strrstr (name, "-journal") == NULL && g_strcmp0 (name, newest) > 0)
      {
        g_free (newest);
        newest = g_strdup (name);
      }
  if (newest != NULL)
    {
      g_autofree char *path = g_build_filename (folder, newest, NULL);
      g_autofree char *log = g_strconcat (path, "-wal", NULL);

      if (!g_file_test (log, G_FILE_TEST_EXISTS))
        kept = g_steal_pointer (&path);
    }
  if (kept == NULL)
    kept = kept_path (store_path);

  return move_store (store_path, kept, error);
}

gboolean
ef_backup_finish_restore (const char *store_path,
                          GError **error)
{
  g_autofree char *copy = g_strconcat (store_path, RESTORING, NULL);
  g_autofree char *log = g_strconcat (store_path, "-wal", NULL);

  if (g_file_test (store_path, G_FILE_TEST_EXISTS))
    return TRUE;
  if (g_file_test (log, G_FILE_TEST_EXISTS) && !move_companions (store_path, error))
    return FALSE;
  if (!g_file_test (copy, G_FILE_TEST_EXISTS))
    return TRUE;
  /* The store is moved away only after the copy was found sound; one that isn't was left by something else. */
  if (!ef_backup_check (copy, NULL, NULL))
    return TRUE;

  return ef_file_rename (copy, store_path, error);
}

/* What differs */

/* Rows of history by job number. */
static GHashTable *
count_edits (EfStore *store,
             GError **error)
{
  g_autoptr (GHashTable) edits = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  g_autoptr (sqlite3_stmt) rows = ef_sql_query (&store->sql, error,
                                                "SELECT number, coalesce ((SELECT max (seq) FROM change WHERE change.job = job.id), 0) FROM job", "");
  gboolean row;

  if (rows == NULL)
    return NULL;
  while (ef_sql_step (&store->sql, rows, &row, error))
    {
      gint64 seq;

      if (!row)
        return g_steal_pointer (&edits);
      seq = sqlite3_column_int64 (rows, 1);
      g_hash_table_insert (edits, ef_sql_column_text (rows, 0), g_memdup2 (&seq, sizeof seq));
    }

  return NULL;
}

gboolean
ef_backup_compare (const char *backup_path,
                   const char *store_path,
                   EfBackupDifference *difference,
                   GError **error)
{
  g_autoptr (EfStore) backup = ef_store_open_to_read (backup_path, error);
  g_autoptr (EfStore) store = backup != NULL ? ef_store_open_to_read (store_path, error) : NULL;
  g_autoptr (GHashTable) then = store != NULL ? count_edits (backup, error) : NULL;
  g_autoptr (GHashTable) now = then != NULL ? count_edits (store, error) : NULL;
  GHashTableIter iter;
  gpointer number, seq;

  *difference = (EfBackupDifference) { 0 };
  if (now == NULL)
    return FALSE;
  g_hash_table_iter_init (&iter, now);
  while (g_hash_table_iter_next (&iter, &number, &seq))
    {
      const gint64 *before = g_hash_table_lookup (then, number);

      if (before == NULL)
        difference->jobs++;
      else
        difference->edits += MAX (*(gint64 *) seq - *before, 0);
    }

  return TRUE;
}
