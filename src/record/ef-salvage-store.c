/* A new store of what can be read of a damaged one: first its rows, then each job looked at, then all of it verified.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-backup-private.h"
#include "ef-exchange.h"
#include "ef-salvage-private.h"
#include "ef-store-files.h"
#include "ef-store-private.h"
#include "ef-store-schema.h"
#include "ef-store-upgrade-private.h"

#include <errno.h>
#include <glib/gstdio.h>
#include <string.h>

#define ROWS_SHARE 0.6 /* of the progress */
#define JOBS_SHARE 0.9

typedef struct
{
  EfStore *from, *to;
  EfSalvage *salvage;
  EfSalvageProgress progress;
  gpointer user_data;
  GCancellable *cancellable;
} Work;

static void
tell_progress (Work *work,
               double share)
{
  if (work->progress != NULL)
    work->progress (share, work->user_data);
}

G_GNUC_PRINTF (2, 3) static void
tell_loss (Work *work,
           const char *format,
           ...)
{
  va_list arguments;

  va_start (arguments, format);
  g_ptr_array_add (work->salvage->losses, g_strdup_vprintf (format, arguments));
  va_end (arguments);
}

static void
rows_progress (double share,
               gpointer user_data)
{
  tell_progress (user_data, ROWS_SHARE * share);
}

/* The tables of the version that the damaged store has, without what refuses to delete: that comes back at the end. */
static gboolean
copy_rows (Work *work,
           const char *path,
           GHashTable *orphans,
           GError **error)
{
  g_autofree char *name = g_filename_display_name (path);
  EfSql sql = { NULL, name };
  EfSalvageRows rows = { &work->from->sql, &sql, work->salvage->losses, orphans, rows_progress, work, work->cancellable };
  gint64 version = 0;
  gboolean copied;

  copied = ef_sql_integer (&work->from->sql, 0, &version, error, "PRAGMA user_version", "")
           && ef_file_make_empty (path, error)
           && ef_sql_open_plain (&sql, path, SQLITE_OPEN_READWRITE, error)
           && ef_store_schema_add_functions (&sql, error)
           && ef_store_schema_migrate (&sql, version, error)
           && ef_sql_exec (&sql, "PRAGMA foreign_keys = ON", error)
           && ef_salvage_rows (&rows, error);
  sqlite3_close_v2 (sql.db);

  return copied;
}

/* Their texts, to be made again. */
static GPtrArray *
take_triggers_off (EfStore *store,
                   GError **error)
{
  g_autoptr (GPtrArray) texts = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GPtrArray) names = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (sqlite3_stmt) triggers = ef_sql_query (&store->sql, error, "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND sql IS NOT NULL", "");
  gboolean row = TRUE;

  while (row)
    {
      if (triggers == NULL || !ef_sql_step (&store->sql, triggers, &row, error))
        return NULL;
      if (row)
        {
          g_ptr_array_add (names, ef_sql_column_text (triggers, 0));
          g_ptr_array_add (texts, ef_sql_column_text (triggers, 1));
        }
    }
  for (guint i = 0; i < names->len; i++)
    {
      g_autofree char *drop = g_strdup_printf ("DROP TRIGGER \"%s\"", (const char *) names->pdata[i]);

      if (!ef_sql_exec (&store->sql, drop, error))
        return NULL;
    }

  return g_steal_pointer (&texts);
}

static gboolean
put_triggers_back (EfStore *store,
                   GPtrArray *texts,
                   GError **error)
{
  for (guint i = 0; i < texts->len; i++)
    if (!ef_sql_exec (&store->sql, texts->pdata[i], error))
      return FALSE;

  return TRUE;
}

static char *
number_of (EfStore *store,
           gint64 job)
{
  g_autoptr (sqlite3_stmt) row = ef_sql_query (&store->sql, NULL, "SELECT coalesce ((SELECT number FROM job WHERE id = ?1),"
                                               " (SELECT json_extract (body, '$.number') FROM item WHERE job = ?1 AND kind = 'header' AND json_valid (body)))",
                                               "i", job);
  gboolean there = FALSE;
  char *number = row != NULL && ef_sql_step (&store->sql, row, &there, NULL) && there ? ef_sql_column_text (row, 0) : NULL;

  return number != NULL ? number : g_strdup ("?");
}

static gboolean
write_items (EfStore *store,
             gint64 job,
             const EfInspection *inspection,
             GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };

  if (!ef_transaction_begin (&transaction, &store->sql, error) || !ef_sql_run (&store->sql, NULL, error, "DELETE FROM item WHERE job = ?", "i", job))
    return FALSE;
  for (guint kind = 0; kind < EF_N_ITEM_KINDS; kind++)
    for (guint i = 0; i < inspection->items[kind]->len; i++)
      {
        const EfItem *item = inspection->items[kind]->pdata[i];
        g_autofree char *body = ef_store_item_text (item);

        if (!ef_sql_run (&store->sql, NULL, error,
                         "INSERT INTO item (job, kind, id, seq, body, tag, words) VALUES (?1, ?2, ?3, ?4, ?5, " EF_SQL_ITEM_TAG ("?2", "?5") ", " EF_SQL_ITEM_WORDS ("?5") ")",
                         "issis", job, item->klass->name, item->id, (gint64) i + 1, body))
          return FALSE;
      }

  return ef_transaction_commit (&transaction, error);
}

/* A job that can't be opened would be in the way of the others. */
static gboolean
take_job_out (EfStore *store,
              gint64 job,
              GError **error)
{
  static const char *const tables[] = { "item", "change", "seal", "seal_import", "attempt", "job" };
  g_auto (EfTransaction) transaction = { 0 };

  if (!ef_transaction_begin (&transaction, &store->sql, error))
    return FALSE;
  for (guint i = 0; i < G_N_ELEMENTS (tables); i++)
    {
      g_autofree char *text = g_strdup_printf ("DELETE FROM %s WHERE %s = ?", tables[i], g_str_equal (tables[i], "job") ? "id" : "job");

      if (!ef_sql_run (&store->sql, NULL, error, text, "i", job))
        return FALSE;
    }

  return ef_transaction_commit (&transaction, error);
}

/* Its items as they are against what its history comes to: the better of the two; failing both, what was sealed last. */
static gboolean
settle_job (Work *work,
            gint64 job,
            GError **error)
{
  EfStore *store = work->to;
  g_autofree char *number = number_of (store, job);
  g_autoptr (GError) unread = NULL;
  g_autoptr (EfInspection) now = ef_store_load (store, job, &unread);
  g_autoptr (EfInspection) replayed = NULL;
  g_autoptr (EfInspection) sealed = NULL;
  gint64 rows = 0, last = 0, seal = 0;

  if (!ef_sql_integer (&store->sql, 0, &rows, error, "SELECT count (*) FROM change WHERE job = ?", "i", job)
      || !ef_sql_integer (&store->sql, 0, &last, error, "SELECT max (seq) FROM change WHERE job = ?", "i", job))
    return FALSE;
  if (rows > 0 && rows == last)
    replayed = ef_store_load_at (store, job, last, NULL);
  if (replayed == NULL && now == NULL)
    sealed = ef_salvage_sealed (store, job, &seal, NULL);
  if (replayed == NULL && now == NULL && sealed == NULL)
    {
      tell_loss (work, "job %s: %s", number, unread->message);
      return take_job_out (store, job, error);
    }
  work->salvage->n_written++;
  if (rows != last || rows == 0)
    tell_loss (work, "job %s: %" G_GINT64_FORMAT " of %" G_GINT64_FORMAT " rows of its history can be read", number, rows, last);
  if (sealed != NULL)
    {
      tell_loss (work, "job %s: neither its items nor its history can be read whole; it is as it was sealed (seal no. %" G_GINT64_FORMAT "), without what was changed since", number, seal);
      return write_items (store, job, sealed, error);
    }
  if (replayed == NULL || (now != NULL && ef_inspection_equal (now, replayed)))
    return TRUE;
  work->salvage->n_replayed++;
  tell_loss (work, "job %s: not all of its items can be read; they were made again from its history", number);

  return write_items (store, job, replayed, error);
}

static GArray *
list_jobs (EfStore *store,
           GError **error)
{
  g_autoptr (GArray) jobs = g_array_new (FALSE, FALSE, sizeof (gint64));
  g_autoptr (sqlite3_stmt) ids = ef_sql_query (&store->sql, error, "SELECT id FROM job ORDER BY id", "");
  gboolean row = TRUE;

  while (ids != NULL && ef_sql_step (&store->sql, ids, &row, error))
    {
      gint64 id = row ? sqlite3_column_int64 (ids, 0) : 0;

      if (!row)
        return g_steal_pointer (&jobs);
      g_array_append_val (jobs, id);
    }

  return NULL;
}

static gboolean
settle_jobs (Work *work,
             GError **error)
{
  g_autoptr (GArray) jobs = list_jobs (work->to, error);

  if (jobs == NULL)
    return FALSE;
  work->salvage->n_jobs += jobs->len;
  for (guint i = 0; i < jobs->len; i++)
    {
      if (g_cancellable_is_cancelled (work->cancellable))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, "%s: stopped", work->from->sql.name);
          return FALSE;
        }
      if (!settle_job (work, g_array_index (jobs, gint64, i), error))
        return FALSE;
      tell_progress (work, ROWS_SHARE + (JOBS_SHARE - ROWS_SHARE) * (i + 1) / jobs->len);
    }

  return TRUE;
}

/* Those of which only the own row, or the pump sheet with it, is lost; the others' stand-ins go, with what they held. */
static gboolean
settle_orphans (Work *work,
                GHashTable *orphans,
                GError **error)
{
  GHashTableIter iter;
  gpointer key;

  g_hash_table_iter_init (&iter, orphans);
  while (g_hash_table_iter_next (&iter, &key, NULL))
    {
      gint64 job = *(const gint64 *) key;
      g_autofree char *told = NULL;
      gboolean made = ef_salvage_job_row (&work->from->sql, work->to, job, &told);

      tell_loss (work, "%s", told);
      if (made)
        continue;
      work->salvage->n_jobs++;
      if (!take_job_out (work->to, job, error))
        return FALSE;
    }

  return TRUE;
}

/* What else the rows that were made again say of their jobs, now that these are settled. */
static gboolean
fill_orphans (Work *work,
              GHashTable *orphans,
              GError **error)
{
  GHashTableIter iter;
  gpointer key;

  g_hash_table_iter_init (&iter, orphans);
  while (g_hash_table_iter_next (&iter, &key, NULL))
    {
      gint64 job = *(const gint64 *) key;
      g_autoptr (EfInspection) inspection = ef_store_load (work->to, job, NULL);
      g_autofree char *now = ef_store_now ();
      gint64 holder = 0;

      if (inspection != NULL && !ef_store_exists (work->to, ef_inspection_header (inspection)->number, &holder, error))
        return FALSE;
      if (inspection != NULL && holder == job
          && (!ef_store_update_row (work->to, job, ef_inspection_header (inspection), now, error)
              || !ef_sql_run (&work->to->sql, NULL, error, "UPDATE job SET n_marks = (SELECT count (*) FROM item WHERE job = ?1 AND kind = 'mark') WHERE id = ?1", "i", job)))
        return FALSE;
    }

  return TRUE;
}

static gboolean
settle_files (Work *work,
              GError **error)
{
  g_autoptr (sqlite3_stmt) files = ef_sql_query (&work->to->sql, error, "SELECT digest, name FROM file ORDER BY id", "");
  gboolean row = TRUE;

  while (files != NULL && ef_sql_step (&work->to->sql, files, &row, error))
    {
      g_autofree char *digest = row ? ef_sql_column_text (files, 0) : NULL;
      g_autofree char *name = row ? ef_sql_column_text (files, 1) : NULL;
      g_autoptr (GError) damage = NULL;

      if (!row)
        return TRUE;
      if (!ef_store_check_file (work->to, digest, work->cancellable, &damage))
        {
          if (g_error_matches (damage, EF_ERROR, EF_ERROR_CANCELLED))
            {
              g_propagate_error (error, g_steal_pointer (&damage));
              return FALSE;
            }
          tell_loss (work, "file %s: not all of its bytes can be read", name);
        }
    }

  return FALSE;
}

/* What isn't kept row by row. */
static gboolean
make_search (EfStore *store,
             GError **error)
{
  return ef_sql_exec (&store->sql, "UPDATE job SET findings = " EF_SQL_JOB_FINDINGS ", search = " EF_SQL_JOB_SEARCH ";"
                                   " DELETE FROM job_text; INSERT INTO job_text (rowid, body) SELECT id, " EF_SQL_JOB_TEXT " FROM job", error);
}

/* The new store, which is closed at the end of it. */
static gboolean
settle (Work *work,
        const char *path,
        GHashTable *orphans,
        GError **error)
{
  EfUpgradeOutcome outcome;
  g_autoptr (EfStore) store = ef_store_open_as (path, &(EfUpgrade) { .without_backup = TRUE }, NULL, &outcome, error);
  g_autoptr (GPtrArray) triggers = store != NULL ? take_triggers_off (store, error) : NULL;
  gboolean settled;

  if (triggers == NULL)
    return FALSE;
  work->to = store;
  settled = settle_orphans (work, orphans, error) && settle_jobs (work, error) && fill_orphans (work, orphans, error) && settle_files (work, error) && make_search (store, error) && put_triggers_back (store, triggers, error)
            && ef_store_check (store, error);
  work->to = NULL;

  return settled;
}

static void
remove_all (const char *path)
{
  static const char *const ends[] = { "", "-wal", "-shm", "-journal" };

  for (guint i = 0; i < G_N_ELEMENTS (ends); i++)
    {
      g_autofree char *one = g_strconcat (path, ends[i], NULL);

      g_unlink (one);
    }
}

char *
ef_salvage_report (const EfSalvage *salvage)
{
  GString *text = g_string_new (NULL);

  g_string_append_printf (text, "Jobs in the new store: %" G_GINT64_FORMAT " of %" G_GINT64_FORMAT "; of these from their history alone: %" G_GINT64_FORMAT "\n",
                          salvage->n_written, salvage->n_jobs, salvage->n_replayed);
  if (salvage->losses->len == 0)
    g_string_append (text, "All of it could be read.\n");
  for (guint i = 0; i < salvage->losses->len; i++)
    g_string_append_printf (text, "%s\n", (const char *) salvage->losses->pdata[i]);
  if (salvage->verification != NULL)
    {
      g_autofree char *verified = ef_verification_to_text (salvage->verification);

      g_string_append_printf (text, "\nThe seals, verified in the new store:\n%s", verified);
    }

  return g_string_free (text, FALSE);
}

static gboolean
write_report (const EfSalvage *salvage,
              const char *path,
              GError **error)
{
  g_autofree char *beside = g_strconcat (path, ".report.txt", NULL);
  g_autofree char *text = ef_salvage_report (salvage);
  g_autoptr (GError) local = NULL;

  if (g_file_set_contents_full (beside, text, -1, G_FILE_SET_CONTENTS_CONSISTENT | G_FILE_SET_CONTENTS_DURABLE, 0600, &local))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s", local->message);

  return FALSE;
}

EfSalvage *
ef_salvage_store (const char *store_path,
                  const char *path,
                  EfSalvageProgress progress,
                  gpointer user_data,
                  GCancellable *cancellable,
                  GError **error)
{
  g_autoptr (EfStore) from = NULL;
  g_autoptr (EfSalvage) salvage = g_new0 (EfSalvage, 1);
  g_autoptr (GHashTable) orphans = g_hash_table_new_full (g_int64_hash, g_int64_equal, g_free, NULL);
  Work work = { .salvage = salvage, .progress = progress, .user_data = user_data, .cancellable = cancellable };

  g_return_val_if_fail (store_path != NULL && path != NULL, NULL);
  salvage->losses = g_ptr_array_new_with_free_func (g_free);
  if (g_file_test (path, G_FILE_TEST_EXISTS))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected the name of a file that isn't there yet, found one; nothing is written over", path);
      return NULL;
    }
  from = ef_store_open_to_read (store_path, error);
  if (from == NULL)
    return NULL;
  work.from = from;
  if (copy_rows (&work, path, orphans, error) && settle (&work, path, orphans, error))
    salvage->verification = ef_verify_store (path, NULL, NULL, NULL, cancellable, error);
  if (salvage->verification == NULL || !write_report (salvage, path, error))
    {
      remove_all (path);
      return NULL;
    }
  tell_progress (&work, 1);

  return g_steal_pointer (&salvage);
}
