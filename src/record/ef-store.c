/* The store: opening, making and closing the file, and its pump sheets.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-private.h"
#include "ef-store-schema.h"

#include <errno.h>
#include <fcntl.h>
#include <glib/gstdio.h>
#include <unistd.h>

#define BUSY_TIMEOUT_MS 2000

char *
ef_store_now (void)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();

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
ef_store_open (const char *path,
               GError **error)
{
  g_autoptr (EfStore) store = NULL;

  g_return_val_if_fail (path != NULL, NULL);
  store = g_new0 (EfStore, 1);
  store->path = g_strdup (path);
  store->sql.name = g_filename_display_name (path);
  store->sheets = g_hash_table_new_full (g_int64_hash, g_int64_equal, g_free, (GDestroyNotify) ef_pump_sheet_unref);

  if (!make_file (path, store->sql.name, error)
      || !open_database (store, error)
      || !ef_store_schema_check (&store->sql, error)
      || !set_journal (store, error)
      || !ef_sql_exec (&store->sql, "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON", error)
      || !ef_store_schema_migrate (&store->sql, 0, error))
    return NULL;

  return g_steal_pointer (&store);
}

void
ef_store_close (EfStore *store)
{
  if (store == NULL)
    return;

  sqlite3_close_v2 (store->sql.db);
  g_hash_table_unref (store->sheets);
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
                                                     "SELECT sheet.id, sheet.body FROM job JOIN sheet ON sheet.id = job.sheet WHERE job.id = ?",
                                                     "i", job);
  EfPumpSheet *sheet;
  gboolean row;
  gint64 id;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  if (!row)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected job %" G_GINT64_FORMAT ", found none", store->sql.name, job);
      return NULL;
    }

  id = sqlite3_column_int64 (statement, 0);
  sheet = g_hash_table_lookup (store->sheets, &id);
  if (sheet != NULL)
    return ef_pump_sheet_ref (sheet);

  sheet = parse_sheet (store, (const char *) sqlite3_column_text (statement, 1), error);
  if (sheet != NULL)
    g_hash_table_insert (store->sheets, g_memdup2 (&id, sizeof id), ef_pump_sheet_ref (sheet));

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
  if (!ef_transaction_begin (&transaction, &store->sql, error))
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
