/* Making backups of a store in use, checking them, and putting one back.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-backup-private.h"
#include "ef-store-private.h"
#include "ef-store-schema.h"

#include <errno.h>
#include <glib/gstdio.h>

#define PAGES_A_STEP 256
#define PROGRESS_OPERATIONS 10000

/* Checking */

gboolean
ef_sql_check_pages (const EfSql *sql,
                    GError **error)
{
  g_autoptr (sqlite3_stmt) pages = ef_sql_query (sql, error, "PRAGMA integrity_check (1)", "");
  g_autoptr (sqlite3_stmt) references = NULL;
  gboolean row;
  const char *found;

  if (pages == NULL || !ef_sql_step (sql, pages, &row, error))
    return FALSE;
  found = row ? (const char *) sqlite3_column_text (pages, 0) : "nothing";
  if (g_strcmp0 (found, "ok") != 0)
    {
      g_autofree char *valid = g_utf8_make_valid (found != NULL ? found : "", -1);

      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: expected a sound store, found: %s", sql->name, valid);
      return FALSE;
    }

  references = ef_sql_query (sql, error, "PRAGMA foreign_key_check", "");
  if (references == NULL || !ef_sql_step (sql, references, &row, error))
    return FALSE;
  if (row)
    {
      g_autofree char *table = ef_sql_column_text (references, 0);

      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: expected every row to have its job and sheet, found one of table %s without",
                   sql->name, table);
      return FALSE;
    }

  return TRUE;
}

gboolean
ef_store_check (EfStore *store,
                GError **error)
{
  g_return_val_if_fail (store != NULL, FALSE);

  /* The search index is asked by a write that changes nothing. */
  return ef_sql_check_pages (&store->sql, error)
         && ef_sql_exec (&store->sql, "INSERT INTO job_text (job_text, rank) VALUES ('integrity-check', 1)", error);
}

static gboolean
open_plain (EfSql *sql,
            const char *path,
            int flags,
            GError **error)
{
  int code = sqlite3_open_v2 (path, &sql->db, flags, NULL);

  if (code == SQLITE_OK)
    {
      sqlite3_extended_result_codes (sql->db, 1);
      return TRUE;
    }
  ef_sql_set_error (sql, code, "open", error);

  return FALSE;
}

static gboolean
check_opened (const EfSql *sql,
              gint64 *n_jobs_out,
              GError **error)
{
  gint64 version, n_jobs;

  if (!ef_store_schema_check (sql, error)
      || !ef_sql_integer (sql, 0, &version, error, "PRAGMA user_version", ""))
    return FALSE;
  if (version == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: expected a store, found an empty file", sql->name);
      return FALSE;
    }
  if (!ef_sql_check_pages (sql, error)
      || !ef_sql_integer (sql, 0, &n_jobs, error, "SELECT count (*) FROM job", ""))
    return FALSE;
  if (n_jobs_out != NULL)
    *n_jobs_out = n_jobs;

  return TRUE;
}

gboolean
ef_backup_check (const char *path,
                 gint64 *n_jobs_out,
                 GError **error)
{
  g_autofree char *name = g_filename_display_name (path);
  EfSql sql = { NULL, name };
  gboolean sound;

  if (!g_file_test (path, G_FILE_TEST_IS_REGULAR))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected a backup, found no such file", name);
      return FALSE;
    }

  sound = open_plain (&sql, path, SQLITE_OPEN_READONLY, error) && check_opened (&sql, n_jobs_out, error);
  sqlite3_close_v2 (sql.db);

  return sound;
}

/* Making */

typedef struct
{
  EfBackupProgress progress;
  gpointer user_data;
  GCancellable *cancellable;
} Watch;

static void
report (const Watch *watch,
        double share)
{
  if (watch->progress != NULL)
    watch->progress (share, watch->user_data);
}

static int
stop_when_cancelled (gpointer cancellable)
{
  return g_cancellable_is_cancelled (cancellable);
}

/* SQLITE_DONE, SQLITE_INTERRUPT when cancelled, or what failed. */
static int
copy_steps (sqlite3_backup *backup,
            const Watch *watch)
{
  int code;

  do
    {
      int total;

      if (g_cancellable_is_cancelled (watch->cancellable))
        return SQLITE_INTERRUPT;
      code = sqlite3_backup_step (backup, PAGES_A_STEP);
      total = MAX (sqlite3_backup_pagecount (backup), 1);
      report (watch, 0.7 * (total - sqlite3_backup_remaining (backup)) / total);
    }
  while (code == SQLITE_OK);

  return code;
}

static gboolean
run_backup (EfStore *store,
            const EfSql *copy,
            const Watch *watch,
            GError **error)
{
  sqlite3_backup *backup = sqlite3_backup_init (copy->db, "main", store->sql.db, "main");
  int code = sqlite3_errcode (copy->db);

  if (backup != NULL)
    {
      code = copy_steps (backup, watch);
      sqlite3_backup_finish (backup); /* says the same again */
    }
  if (code == SQLITE_DONE)
    return TRUE;
  ef_sql_set_error (copy, code, "backup", error);

  return FALSE;
}

/* The source is held at one moment by an open read transaction; writers go on beside it in the log. */
static gboolean
copy_pages (EfStore *store,
            const EfSql *copy,
            const Watch *watch,
            GError **error)
{
  gboolean copied;
  gint64 unused;

  if (!ef_sql_exec (&store->sql, "BEGIN", error))
    return FALSE;
  copied = ef_sql_integer (&store->sql, 0, &unused, error, "SELECT count (*) FROM sqlite_master", "")
           && run_backup (store, copy, watch, error);
  sqlite3_exec (store->sql.db, "ROLLBACK", NULL, NULL, NULL); /* only read */

  return copied;
}

/* One file by itself, without a log beside it; then every page is looked at. */
static gboolean
finish_copy (const EfSql *copy,
             const Watch *watch,
             GError **error)
{
  gboolean sound;

  sqlite3_progress_handler (copy->db, PROGRESS_OPERATIONS, stop_when_cancelled, watch->cancellable);
  sound = ef_sql_exec (copy, "PRAGMA journal_mode = DELETE", error) && check_opened (copy, NULL, error);
  sqlite3_progress_handler (copy->db, 0, NULL, NULL);
  report (watch, sound ? 1.0 : 0.7);

  return sound;
}

static gboolean
write_copy (EfStore *store,
            const char *partial,
            const Watch *watch,
            GError **error)
{
  g_autofree char *name = g_filename_display_name (partial);
  EfSql copy = { NULL, name };
  gboolean written;

  if (!ef_file_make_empty (partial, error))
    return FALSE;
  written = open_plain (&copy, partial, SQLITE_OPEN_READWRITE, error)
            && copy_pages (store, &copy, watch, error)
            && finish_copy (&copy, watch, error);
  sqlite3_close_v2 (copy.db);

  return written && ef_file_sync (partial, error);
}

static char *
free_path (const char *folder)
{
  g_autofree char *stamp = ef_backup_stamp ();
  guint i;

  for (i = 1;; i++)
    {
      g_autofree char *name = i == 1 ? g_strdup_printf ("jobs-%s.sqlite", stamp) : g_strdup_printf ("jobs-%s-%u.sqlite", stamp, i);
      g_autofree char *path = g_build_filename (folder, name, NULL);
      g_autofree char *partial = g_strconcat (path, EF_BACKUP_PARTIAL, NULL);

      if (!g_file_test (path, G_FILE_TEST_EXISTS) && !g_file_test (partial, G_FILE_TEST_EXISTS))
        return g_steal_pointer (&path);
    }
}

static void
remove_partial (const char *partial)
{
  g_autofree char *journal = g_strconcat (partial, "-journal", NULL);

  g_unlink (journal);
  g_unlink (partial);
}

char *
ef_backup_make (EfStore *store,
                const char *folder,
                const EfBackupPolicy *policy,
                EfBackupProgress progress,
                gpointer user_data,
                GCancellable *cancellable,
                GError **error)
{
  Watch watch = { progress, user_data, cancellable };
  g_autofree char *path = NULL;
  g_autofree char *partial = NULL;

  g_return_val_if_fail (store != NULL && folder != NULL, NULL);
  if (g_mkdir_with_parents (folder, 0700) != 0)
    {
      int code = errno;

      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: can't be made: %s", folder, g_strerror (code));
      return NULL;
    }

  path = free_path (folder);
  partial = g_strconcat (path, EF_BACKUP_PARTIAL, NULL);
  if (!write_copy (store, partial, &watch, error) || !ef_file_rename (partial, path, error))
    {
      remove_partial (partial);
      return NULL;
    }
  if (!ef_backup_rotate (folder, policy, path, error))
    return NULL;

  return g_steal_pointer (&path);
}

gboolean
ef_backup_due (EfStore *store,
               const char *folder,
               gint64 seconds,
               gboolean *due_out,
               GError **error)
{
  g_autoptr (GPtrArray) backups = NULL;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autoptr (GDateTime) then = NULL;
  const char *newest = "";
  gint64 changed;
  gint64 age = seconds;

  g_return_val_if_fail (store != NULL && folder != NULL && due_out != NULL, FALSE);
  backups = ef_backup_list (folder, error);
  if (backups == NULL)
    return FALSE;
  if (backups->len > 0)
    {
      newest = ((EfBackup *) backups->pdata[0])->time;
      then = g_date_time_new_from_iso8601 (newest, NULL);
      age = then != NULL ? g_date_time_difference (now, then) / G_TIME_SPAN_SECOND : seconds;
    }
  if (age < 0)
    newest = ""; /* says nothing */

  /* Up to the second, since a backup's name says no more. */
  if (!ef_sql_integer (&store->sql, 0, &changed, error,
                       "SELECT EXISTS (SELECT 1 FROM job WHERE substr (changed, 1, 19) >= substr (?, 1, 19))", "s", newest))
    return FALSE;
  *due_out = changed != 0 && (age < 0 || age >= seconds);

  return TRUE;
}

/* Putting back */

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
  if (open_plain (held, path, SQLITE_OPEN_READWRITE, &local)
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

      if (!g_file_test (path, G_FILE_TEST_EXISTS))
        return g_steal_pointer (&path);
    }
}

gboolean
ef_backup_restore (const char *backup_path,
                   const char *store_path,
                   char **kept_out,
                   GError **error)
{
  g_autofree char *copy = g_strconcat (store_path, ".restoring", NULL);
  g_autofree char *kept = kept_path (store_path);
  g_autofree char *name = g_filename_display_name (store_path);
  gboolean was_there = g_file_test (store_path, G_FILE_TEST_EXISTS);
  EfSql held = { NULL, name };
  gboolean done;

  if (kept_out != NULL)
    *kept_out = NULL;
  g_unlink (copy); /* of an attempt that was cut off */
  if (!ef_file_copy (backup_path, copy, error))
    return FALSE;

  done = ef_backup_check (copy, NULL, error)
         && hold_store (&held, store_path, error)
         && exchange_files (copy, store_path, kept, error);
  sqlite3_close_v2 (held.db);
  if (!done)
    g_unlink (copy);
  else if (was_there && kept_out != NULL)
    *kept_out = g_steal_pointer (&kept);

  return done;
}
