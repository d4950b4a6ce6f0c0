/* The store: opening, making and closing the file, and its pump sheets.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-backup-private.h"
#include "ef-role-private.h"
#include "ef-store-private.h"
#include "ef-store-upgrade-private.h"
#include "ef-store-schema.h"

#include <errno.h>
#include <fcntl.h>
#include <glib/gstdio.h>
#include <unistd.h>

#define BUSY_TIMEOUT_MS 2000

const char *ef_store_fixed_time = NULL;

char *
ef_store_now (void)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();

  if (ef_store_fixed_time != NULL)
    return g_strdup (ef_store_fixed_time);

  return g_date_time_format_iso8601 (now);
}

char *
ef_store_default_path (void)
{
  return g_build_filename (g_get_user_data_dir (), "endfloat", "endfloat.sqlite", NULL);
}

const char *
ef_store_path (EfStore *store)
{
  return store->path;
}

/* SQLite would make the file readable for all; its -wal and -shm companions take over the mode of the file. */
static gboolean
make_file (const char *path,
           const char *name,
           GError **error)
{
  g_autofree char *folder = g_path_get_dirname (path);
  int file;

  if (!ef_backup_finish_restore (path, error))
    return FALSE;
  if (g_file_test (path, G_FILE_TEST_EXISTS))
    return TRUE;
  if (g_mkdir_with_parents (folder, 0700) != 0)
    {
      int code = errno;

      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: its folder can't be made: %s", name, g_strerror (code));
      return FALSE;
    }

  file = g_open (path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (file < 0 && errno != EEXIST)
    {
      int code = errno;

      g_set_error (error, EF_ERROR, code == ENOSPC ? EF_ERROR_FULL : EF_ERROR_IO,
                   "%s: can't be made: %s", name, g_strerror (code));
      return FALSE;
    }
  if (file >= 0)
    close (file);

  return TRUE;
}

static gboolean
open_database (EfStore *store,
               GError **error)
{
  int code = sqlite3_open_v2 (store->path, &store->sql.db, SQLITE_OPEN_READWRITE, NULL);

  if (code != SQLITE_OK)
    {
      ef_sql_set_error (&store->sql, code, "open", error);
      return FALSE;
    }
  if (sqlite3_db_readonly (store->sql.db, "main") == 1)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: expected a file that can be written, found it read-only", store->sql.name);
      return FALSE;
    }

  sqlite3_extended_result_codes (store->sql.db, 1);
  sqlite3_busy_timeout (store->sql.db, BUSY_TIMEOUT_MS);
  sqlite3_db_config (store->sql.db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
  sqlite3_db_config (store->sql.db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);

  return ef_store_schema_add_functions (&store->sql, error);
}

static gboolean
set_journal (EfStore *store,
             GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, "PRAGMA journal_mode = WAL", "");
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return FALSE;
  if (!row || g_strcmp0 ((const char *) sqlite3_column_text (statement, 0), "wal") != 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: expected write-ahead logging to be possible in its folder", store->sql.name);
      return FALSE;
    }

  return TRUE;
}

EfStore *
ef_store_open_as (const char *path,
                  const EfUpgrade *how,
                  char **backup_out,
                  EfUpgradeOutcome *outcome_out,
                  GError **error)
{
  g_autoptr (EfStore) store = g_new0 (EfStore, 1);

  *outcome_out = EF_UPGRADE_FAILED;
  store->path = g_strdup (path);
  store->sql.name = g_filename_display_name (path);
  store->sheets = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) ef_pump_sheet_unref);

  if (!make_file (path, store->sql.name, error)
      || !open_database (store, error)
      || !ef_store_schema_check (&store->sql, error)
      || !set_journal (store, error)
      || !ef_sql_exec (&store->sql, "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON", error))
    return NULL;
  *outcome_out = ef_store_upgrade_opened (store, how, backup_out, error);

  return *outcome_out == EF_UPGRADED ? g_steal_pointer (&store) : NULL;
}

EfStore *
ef_store_open (const char *path,
               GError **error)
{
  EfUpgradeOutcome outcome;

  g_return_val_if_fail (path != NULL, NULL);

  return ef_store_open_as (path, &(EfUpgrade) { 0 }, NULL, &outcome, error);
}

static int
open_read_only (const char *path,
                gboolean immutable,
                sqlite3 **db)
{
  g_autofree char *uri = g_filename_to_uri (path, NULL, NULL);
  g_autofree char *full = g_strconcat (uri, immutable ? "?immutable=1" : "", NULL);
  int code = sqlite3_open_v2 (full, db, SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, NULL);

  if (code == SQLITE_OK)
    code = sqlite3_exec (*db, "SELECT count (*) FROM sqlite_master", NULL, NULL, NULL);

  return code;
}

static gboolean
is_filled (const char *path)
{
  GStatBuf info;

  return g_stat (path, &info) == 0 && info.st_size > 0;
}

/* A store with a write-ahead log can't be read in a folder that can't be written, unless nobody writes: then its file alone is all there is. */
EfStore *
ef_store_open_to_read (const char *path,
                       GError **error)
{
  g_autoptr (EfStore) store = g_new0 (EfStore, 1);
  g_autofree char *full = g_canonicalize_filename (path, NULL);
  g_autofree char *wal = g_strconcat (full, "-wal", NULL);
  int code;

  store->read_only = TRUE;
  store->path = g_strdup (path);
  store->sql.name = g_filename_display_name (path);
  store->sheets = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) ef_pump_sheet_unref);
  code = open_read_only (full, FALSE, &store->sql.db);
  /* Which of the two depends on why it can't be written. */
  if (((code & 0xff) == SQLITE_CANTOPEN || (code & 0xff) == SQLITE_READONLY) && !is_filled (wal) && g_file_test (full, G_FILE_TEST_EXISTS))
    {
      sqlite3_close_v2 (store->sql.db);
      code = open_read_only (full, TRUE, &store->sql.db);
    }
  if (code != SQLITE_OK)
    {
      ef_sql_set_error (&store->sql, code, "open", error);
      return NULL;
    }
  sqlite3_extended_result_codes (store->sql.db, 1);
  sqlite3_busy_timeout (store->sql.db, BUSY_TIMEOUT_MS);
  sqlite3_db_config (store->sql.db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
  if (!ef_store_schema_add_functions (&store->sql, error) || !ef_store_schema_check (&store->sql, error))
    return NULL;

  return g_steal_pointer (&store);
}

/* The store and its log in a folder of one's own, where the log can be read. */
static EfStore *
open_elsewhere (const char *path,
                GError **error)
{
  g_autofree char *folder = g_dir_make_tmp ("endfloat-XXXXXX", error);
  g_autofree char *copy = folder != NULL ? g_build_filename (folder, "store", NULL) : NULL;
  g_autofree char *log = g_strconcat (path, "-wal", NULL);
  g_autofree char *copy_log = g_strconcat (copy != NULL ? copy : "", "-wal", NULL);
  g_autofree char *copy_index = g_strconcat (copy != NULL ? copy : "", "-shm", NULL);
  EfStore *store = NULL;

  if (folder == NULL)
    return NULL;
  if (ef_file_copy (path, copy, error)
      && (!g_file_test (log, G_FILE_TEST_EXISTS) || ef_file_copy (log, copy_log, error)))
    store = ef_store_open_to_read (copy, error);
  /* It stays open without its names. */
  g_unlink (copy);
  g_unlink (copy_log);
  g_unlink (copy_index);
  g_rmdir (folder);

  return store;
}

/* Puts a copy in memory in the place of what @store has open. */
static gboolean
take_into_memory (EfStore *store,
                  GError **error)
{
  sqlite3 *memory = NULL;
  sqlite3_backup *backup = NULL;
  int code = sqlite3_open_v2 (":memory:", &memory, SQLITE_OPEN_READWRITE, NULL);

  if (code == SQLITE_OK)
    backup = sqlite3_backup_init (memory, "main", store->sql.db, "main");
  if (backup != NULL)
    {
      code = sqlite3_backup_step (backup, -1);
      sqlite3_backup_finish (backup);
    }
  if (code != SQLITE_DONE)
    {
      ef_sql_set_error (&store->sql, code != SQLITE_OK ? code : SQLITE_ERROR, "read", error);
      sqlite3_close_v2 (memory);
      return FALSE;
    }
  sqlite3_close_v2 (store->sql.db);
  store->sql.db = memory;
  sqlite3_extended_result_codes (memory, 1);
  sqlite3_db_config (memory, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);

  return ef_store_schema_add_functions (&store->sql, error)
         && ef_store_schema_migrate (&store->sql, 0, error)
         && ef_sql_exec (&store->sql, "PRAGMA query_only = ON", error);
}

EfStore *
ef_store_open_read_only (const char *path,
                         GError **error)
{
  g_autoptr (EfStore) store = NULL;
  g_autoptr (GError) local = NULL;
  g_autofree char *log = g_strconcat (path, "-wal", NULL);
  gint64 version;

  store = ef_store_open_to_read (path, &local);
  if (store == NULL && is_filled (log) && g_error_matches (local, EF_ERROR, EF_ERROR_IO))
    {
      store = open_elsewhere (path, error);
      if (store == NULL)
        return NULL;
      g_clear_error (&local);
      g_free (store->path);
      g_free (store->sql.name);
      store->path = g_strdup (path);
      store->sql.name = g_filename_display_name (path);
    }
  if (store == NULL)
    {
      g_propagate_error (error, g_steal_pointer (&local));
      return NULL;
    }
  if (!ef_sql_integer (&store->sql, 0, &version, error, "PRAGMA user_version", "")
      || (version != ef_store_schema_version () && !take_into_memory (store, error)))
    return NULL;

  return g_steal_pointer (&store);
}

gboolean
ef_store_read_only (EfStore *store)
{
  return store->read_only;
}

void
ef_store_close (EfStore *store)
{
  if (store == NULL)
    return;

  sqlite3_close_v2 (store->sql.db);
  g_hash_table_unref (store->sheets);
  g_free (store->rules);
  g_free (store->role);
  ef_permit_free (store->permit);
  g_free (store->sql.name);
  g_free (store->path);
  g_free (store);
}

gint64
ef_store_keep_sheet (EfStore *store,
                     const EfPumpSheet *sheet,
                     GError **error)
{
  g_autofree char *digest = g_compute_checksum_for_string (G_CHECKSUM_SHA256, sheet->json, -1);
  gint64 id;

  if (!ef_sql_run (&store->sql, NULL, error,
                   "INSERT INTO sheet (digest, name, model, body) VALUES (?, ?, ?, ?) ON CONFLICT (digest) DO NOTHING",
                   "ssss", digest, sheet->id, sheet->model, sheet->json)
      || !ef_sql_integer (&store->sql, 0, &id, error, "SELECT id FROM sheet WHERE digest = ?", "s", digest))
    return 0;

  return id;
}

static EfPumpSheet *
parse_sheet (EfStore *store,
             const char *body,
             GError **error)
{
  g_autofree char *where = g_strdup_printf ("%s: pump sheet", store->sql.name);

  return ef_pump_sheet_parse (body, where, error);
}

EfPumpSheet *
ef_store_job_sheet (EfStore *store,
                    gint64 job,
                    GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error,
                                                     "SELECT sheet.digest, sheet.body FROM job JOIN sheet ON sheet.id = job.sheet WHERE job.id = ?",
                                                     "i", job);
  g_autofree char *digest = NULL;
  EfPumpSheet *sheet;
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  if (!row)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected job %" G_GINT64_FORMAT ", found none", store->sql.name, job);
      return NULL;
    }

  digest = ef_sql_column_text (statement, 0);
  sheet = g_hash_table_lookup (store->sheets, digest);
  if (sheet != NULL)
    return ef_pump_sheet_ref (sheet);

  sheet = parse_sheet (store, (const char *) sqlite3_column_text (statement, 1), error);
  if (sheet != NULL)
    g_hash_table_insert (store->sheets, g_steal_pointer (&digest), ef_pump_sheet_ref (sheet));

  return sheet;
}

gboolean
ef_store_put_sheet (EfStore *store,
                    const EfPumpSheet *sheet,
                    GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  gint64 id;

  g_return_val_if_fail (store != NULL && sheet != NULL, FALSE);
  if (!ef_transaction_begin (&transaction, &store->sql, error) || !ef_store_need (store, EF_ACT_SHEETS, NULL, error))
    return FALSE;
  id = ef_store_keep_sheet (store, sheet, error);

  return id != 0
         && ef_sql_run (&store->sql, NULL, error,
                        "UPDATE sheet SET edited = (SELECT max (edited) + 1 FROM sheet) WHERE id = ?", "i", id)
         && ef_transaction_commit (&transaction, error);
}

GPtrArray *
ef_store_sheets (EfStore *store,
                 GError **error)
{
  g_autoptr (GPtrArray) sheets = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_pump_sheet_unref);
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL, NULL);
  statement = ef_sql_query (&store->sql, error,
                            "SELECT body FROM sheet AS s WHERE edited > 0"
                            " AND edited = (SELECT max (edited) FROM sheet WHERE name = s.name) ORDER BY name",
                            "");
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;

  while (row)
    {
      EfPumpSheet *sheet = parse_sheet (store, (const char *) sqlite3_column_text (statement, 0), error);

      if (sheet == NULL)
        return NULL;
      g_ptr_array_add (sheets, sheet);
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&sheets);
}
