/* Making backups of a store in use, and checking them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-backup-private.h"
#include "ef-store-private.h"
#include "ef-store-schema.h"

#include <errno.h>
#include <glib/gstdio.h>
#include <string.h>
#include <unistd.h>

#define PAGES_A_STEP 256
#define PROGRESS_OPERATIONS 10000

/* Checking */

/* SQLite's finding in one line, without its heading. */
static char *
finding (const char *found)
{
  static const char heading[] = "*** in database main ***";
  g_autofree char *valid = g_utf8_make_valid (found != NULL ? found : "nothing", -1);

  if (g_str_has_prefix (valid, heading))
    memset (valid, ' ', strlen (heading));
  g_strdelimit (valid, "\r\n", ' ');

  return g_strdup (g_strstrip (valid));
}

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
      g_autofree char *valid = finding (found);

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

static int
stop_when_cancelled (gpointer cancellable)
{
  return g_cancellable_is_cancelled (cancellable);
}

gboolean
ef_store_look_through (const char *path,
                     GCancellable *cancellable,
                     GError **error)
{
  g_autoptr (EfStore) store = ef_store_open_to_read (path, error);
  g_autoptr (sqlite3_stmt) pages = NULL;
  g_autofree char *valid = NULL;
  const char *found;
  gboolean row;

  if (store == NULL)
    return FALSE;
  sqlite3_progress_handler (store->sql.db, PROGRESS_OPERATIONS, stop_when_cancelled, cancellable);
  pages = ef_sql_query (&store->sql, error, "PRAGMA quick_check (1)", "");
  if (pages == NULL || !ef_sql_step (&store->sql, pages, &row, error))
    return FALSE;
  found = row ? (const char *) sqlite3_column_text (pages, 0) : NULL;
  if (g_strcmp0 (found, "ok") == 0)
    return TRUE;
  valid = finding (found);
  g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: expected a sound store, found: %s", store->sql.name, valid);

  return FALSE;
}

gboolean
ef_sql_open_plain (EfSql *sql,
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
      || !ef_store_schema_compare (sql, version, error)
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

  sound = ef_sql_open_plain (&sql, path, SQLITE_OPEN_READONLY, error) && check_opened (&sql, n_jobs_out, error);
  sqlite3_close_v2 (sql.db);

  return sound;
}

/* Making */

static void
report (const EfBackupWatch *watch,
        double share)
{
  if (watch->progress != NULL)
    watch->progress (share, watch->user_data);
}

/* SQLITE_DONE, SQLITE_INTERRUPT when cancelled, or what failed. */
static int
copy_steps (sqlite3_backup *backup,
            const EfBackupWatch *watch)
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
            const EfBackupWatch *watch,
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
            const EfBackupWatch *watch,
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
             const EfBackupWatch *watch,
             GError **error)
{
  gboolean sound;

  sqlite3_progress_handler (copy->db, PROGRESS_OPERATIONS, stop_when_cancelled, watch->cancellable);
  sound = ef_sql_exec (copy, "PRAGMA journal_mode = DELETE", error) && check_opened (copy, NULL, error);
  sqlite3_progress_handler (copy->db, 0, NULL, NULL);
  report (watch, sound ? 1.0 : 0.7);

  return sound;
}

gboolean
ef_backup_write_copy (EfStore *store,
                      const char *partial,
                      const EfBackupWatch *watch,
                      GError **error)
{
  g_autofree char *name = g_filename_display_name (partial);
  EfSql copy = { NULL, name };
  gboolean written;

  if (!ef_file_make_empty (partial, error))
    return FALSE;
  written = ef_sql_open_plain (&copy, partial, SQLITE_OPEN_READWRITE, error)
            && copy_pages (store, &copy, watch, error)
            && finish_copy (&copy, watch, error);
  sqlite3_close_v2 (copy.db);

  return written && ef_file_sync (partial, error);
}

/* How far the backups of this second are counted, partial ones too: 0 for none. A number that fell free again isn't taken, or the newest
 * would pass for the oldest of its second. */
static guint
last_of_second (const char *folder,
                const char *stamp)
{
  g_autofree char *first = g_strconcat ("jobs-", stamp, ".", NULL);
  g_autofree char *further = g_strconcat ("jobs-", stamp, "-", NULL);
  g_autoptr (GDir) dir = g_dir_open (folder, 0, NULL);
  const char *name;
  guint last = 0;

  while (dir != NULL && (name = g_dir_read_name (dir)) != NULL)
    if (g_str_has_prefix (name, first))
      last = MAX (last, 1);
    else if (g_str_has_prefix (name, further))
      last = MAX (last, (guint) MIN (g_ascii_strtoull (name + strlen (further), NULL, 10), G_MAXINT32));

  return last;
}

static char *
free_path (const char *folder)
{
  g_autofree char *stamp = ef_backup_stamp ();
  guint number = last_of_second (folder, stamp) + 1;
  g_autofree char *name = number == 1 ? g_strdup_printf ("jobs-%s.sqlite", stamp) : g_strdup_printf ("jobs-%s-%u.sqlite", stamp, number);

  return g_build_filename (folder, name, NULL);
}

void
ef_backup_remove_partial (const char *partial)
{
  static const char *const ends[] = { "-journal", "-wal", "-shm", "" };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (ends); i++)
    {
      g_autofree char *path = g_strconcat (partial, ends[i], NULL);

      g_unlink (path);
    }
}

/* In a folder that is held. */
static char *
make_inside (EfStore *store,
             const char *folder,
             const EfBackupPolicy *policy,
             const EfBackupWatch *watch,
             GError **error)
{
  g_autofree char *path = free_path (folder);
  g_autofree char *partial = g_strconcat (path, EF_BACKUP_PARTIAL, NULL);

  if (!ef_backup_write_copy (store, partial, watch, error) || !ef_file_rename (partial, path, error))
    {
      ef_backup_remove_partial (partial);
      return NULL;
    }
  if (!ef_backup_rotate (folder, policy, path, error))
    return NULL;

  return g_steal_pointer (&path);
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
  EfBackupWatch watch = { progress, user_data, cancellable };
  char *path;
  int lock;

  g_return_val_if_fail (store != NULL && folder != NULL, NULL);
  if (g_mkdir_with_parents (folder, 0700) != 0)
    {
      int code = errno;

      g_set_error (error, EF_ERROR, code == ENOSPC || code == EDQUOT ? EF_ERROR_FULL : EF_ERROR_IO,
                   "%s: can't be made: %s", folder, g_strerror (code));
      return NULL;
    }
  lock = ef_backup_hold_folder (folder, error);
  if (lock == -1)
    return NULL;
  if (lock >= 0)
    ef_backup_sweep (folder);

  path = make_inside (store, folder, policy, &watch, error);
  if (lock >= 0)
    close (lock);

  return path;
}

/* Rows of the tables that are only ever added to: those that refuse to delete, and pump sheets. Grows with every change. */
static gboolean
count_added (const EfSql *sql,
             gint64 *rows_out,
             GError **error)
{
  g_autoptr (sqlite3_stmt) tables = ef_sql_query (sql, error,
                                                  "SELECT tbl_name FROM sqlite_master WHERE type = 'trigger' AND name = tbl_name || '_no_delete'"
                                                  " UNION SELECT 'sheet'", "");
  gboolean row;

  *rows_out = 0;
  if (tables == NULL)
    return FALSE;
  while (ef_sql_step (sql, tables, &row, error))
    {
      g_autofree char *table = row ? ef_sql_column_text (tables, 0) : NULL;
      g_autofree char *text = NULL;
      gint64 rows;

      if (!row)
        return TRUE;
      text = g_strdup_printf ("SELECT count (*) FROM \"%s\"", table);
      if (!ef_sql_integer (sql, 0, &rows, error, text, ""))
        return FALSE;
      *rows_out += rows;
    }

  return FALSE;
}

/* 0 where it can't be read: then all of the store is new. */
static gint64
count_added_in_backup (const char *path)
{
  g_autofree char *name = g_filename_display_name (path);
  EfSql sql = { NULL, name };
  gint64 rows = 0;

  if (!ef_sql_open_plain (&sql, path, SQLITE_OPEN_READONLY, NULL) || !count_added (&sql, &rows, NULL))
    rows = 0;
  sqlite3_close_v2 (sql.db);

  return rows;
}

/* The newest that isn't from the future, where a clock was set back; NULL where there's none. */
static const EfBackup *
newest_past (const GPtrArray *backups)
{
  guint i;

  for (i = 0; i < backups->len; i++)
    if (!ef_backup_from_future (backups->pdata[i]))
      return backups->pdata[i];

  return NULL;
}

gboolean
ef_backup_due (EfStore *store,
               const char *folder,
               gint64 seconds,
               gint64 changes,
               gboolean *due_out,
               GError **error)
{
  g_autoptr (GPtrArray) backups = NULL;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autoptr (GDateTime) then = NULL;
  const EfBackup *newest;
  gint64 rows, kept = 0;
  gboolean old;

  g_return_val_if_fail (store != NULL && folder != NULL && due_out != NULL, FALSE);
  backups = ef_backup_list (folder, error);
  if (backups == NULL || !count_added (&store->sql, &rows, error))
    return FALSE;
  newest = newest_past (backups);
  if (newest != NULL)
    {
      kept = count_added_in_backup (newest->path);
      then = g_date_time_new_from_iso8601 (newest->time, NULL);
    }
  old = then == NULL || kept == 0 || g_date_time_difference (now, then) >= seconds * G_TIME_SPAN_SECOND;
  *due_out = rows != kept && (old || ABS (rows - kept) >= changes);

  return TRUE;
}
