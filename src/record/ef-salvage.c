/* Every way to the jobs is tried, from both ends, since a damaged page ends a walk where it's met.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-salvage.h"
#include "ef-exchange.h"
#include "ef-seal.h"
#include "ef-store-private.h"

#include <errno.h>
#include <glib/gstdio.h>

static const char *const walks[] = {
  "SELECT id FROM job ORDER BY id",
  "SELECT id FROM job ORDER BY id DESC",
  "SELECT id FROM job ORDER BY number",
  "SELECT id FROM job ORDER BY number DESC",
  "SELECT DISTINCT job FROM item ORDER BY job",
  "SELECT DISTINCT job FROM item ORDER BY job DESC",
  "SELECT DISTINCT job FROM change ORDER BY job",
  "SELECT DISTINCT job FROM change ORDER BY job DESC",
};

void
ef_salvage_free (EfSalvage *salvage)
{
  if (salvage == NULL)
    return;

  g_ptr_array_unref (salvage->losses);
  ef_verification_free (salvage->verification);
  g_free (salvage);
}

/* As far as it goes; FALSE where it ended before its end. */
static gboolean
walk (EfStore *store,
      const char *text,
      GHashTable *ids,
      GError **error)
{
  g_autoptr (sqlite3_stmt) rows = ef_sql_query (&store->sql, error, text, "");
  gboolean row;

  if (rows == NULL)
    return FALSE;
  while (ef_sql_step (&store->sql, rows, &row, error))
    {
      gint64 id = row ? sqlite3_column_int64 (rows, 0) : 0;

      if (!row)
        return TRUE;
      if (id > 0)
        g_hash_table_add (ids, g_memdup2 (&id, sizeof id));
    }

  return FALSE;
}

static int
compare_ids (gconstpointer a,
             gconstpointer b)
{
  const gint64 *left = *(const gint64 *const *) a;
  const gint64 *right = *(const gint64 *const *) b;

  return *left < *right ? -1 : *left > *right;
}

/* gint64 *, borrowed from @ids. */
static GPtrArray *
find_jobs (EfStore *store,
           GHashTable *ids,
           EfSalvage *salvage,
           GError **error)
{
  g_autoptr (GError) first = NULL;
  g_autoptr (GPtrArray) sorted = NULL;
  GHashTableIter iter;
  gpointer id;
  guint n_whole = 0;
  guint i;

  for (i = 0; i < G_N_ELEMENTS (walks); i++)
    n_whole += walk (store, walks[i], ids, first == NULL ? &first : NULL);
  if (g_hash_table_size (ids) == 0 && first != NULL)
    {
      g_propagate_error (error, g_steal_pointer (&first));
      return NULL;
    }
  if (n_whole < G_N_ELEMENTS (walks))
    g_ptr_array_add (salvage->losses, g_strdup_printf ("%u of %u walks through the store met a damaged place: jobs may be missing (%s)",
                                                       (guint) G_N_ELEMENTS (walks) - n_whole, (guint) G_N_ELEMENTS (walks), first->message));
  sorted = g_ptr_array_new ();
  g_hash_table_iter_init (&iter, ids);
  while (g_hash_table_iter_next (&iter, &id, NULL))
    g_ptr_array_add (sorted, id);
  g_ptr_array_sort (sorted, compare_ids);

  return g_steal_pointer (&sorted);
}

/* From its present items, else as its history tells it. */
static EfInspection *
read_job (EfStore *store,
          gint64 job,
          gboolean *replayed_out,
          GError **error)
{
  EfInspection *inspection = ef_store_load (store, job, error);
  gint64 last;

  *replayed_out = FALSE;
  if (inspection != NULL)
    return inspection;
  if (!ef_sql_integer (&store->sql, 0, &last, NULL, "SELECT max (seq) FROM change WHERE job = ?", "i", job) || last == 0)
    return NULL;
  inspection = ef_store_load_at (store, job, last, NULL);
  if (inspection == NULL)
    return NULL;
  g_clear_error (error);
  *replayed_out = TRUE;

  return inspection;
}

static char *
free_path (const char *folder,
           const char *number)
{
  g_autofree char *base = g_strdelimit (g_strdup (number), "/\\:", '-');
  guint i;

  for (i = 1;; i++)
    {
      g_autofree char *name = i == 1 ? g_strdup_printf ("%s.json", base) : g_strdup_printf ("%s-%u.json", base, i);
      g_autofree char *path = g_build_filename (folder, name, NULL);

      if (!g_file_test (path, G_FILE_TEST_EXISTS))
        return g_steal_pointer (&path);
    }
}

/* FALSE only where no file can be written: then the others can't either. */
static gboolean
take_out (EfStore *store,
          gint64 job,
          const char *folder,
          EfSalvage *salvage,
          GError **error)
{
  g_autoptr (GError) unread = NULL;
  gboolean replayed;
  g_autoptr (EfInspection) inspection = read_job (store, job, &replayed, &unread);
  g_autofree char *text = NULL;
  g_autofree char *path = NULL;
  const char *number;

  if (inspection == NULL)
    {
      g_ptr_array_add (salvage->losses, g_strdup_printf ("job no. %" G_GINT64_FORMAT " in the store: %s", job, unread->message));
      return TRUE;
    }
  number = ef_inspection_header (inspection)->number;
  if (!replayed)
    text = ef_seal_export (store, job, &unread);
  if (text == NULL)
    {
      if (unread != NULL)
        g_ptr_array_add (salvage->losses, g_strdup_printf ("job %s: written without a seal: %s", number, unread->message));
      text = ef_exchange_write (inspection);
    }
  path = free_path (folder, number);
  if (!ef_exchange_save_text (text, path, error))
    return FALSE;
  salvage->n_written++;
  salvage->n_replayed += replayed;

  return TRUE;
}

EfSalvage *
ef_salvage (const char *store_path,
            const char *folder,
            EfSalvageProgress progress,
            gpointer user_data,
            GCancellable *cancellable,
            GError **error)
{
  g_autoptr (EfStore) store = ef_store_open_to_read (store_path, error);
  g_autoptr (EfSalvage) salvage = g_new0 (EfSalvage, 1);
  g_autoptr (GHashTable) ids = g_hash_table_new_full (g_int64_hash, g_int64_equal, g_free, NULL);
  g_autoptr (GPtrArray) jobs = NULL;
  guint i;

  salvage->losses = g_ptr_array_new_with_free_func (g_free);
  jobs = store != NULL ? find_jobs (store, ids, salvage, error) : NULL;
  if (jobs == NULL)
    return NULL;
  if (g_mkdir_with_parents (folder, 0700) != 0)
    {
      int code = errno;

      g_set_error (error, EF_ERROR, code == ENOSPC || code == EDQUOT ? EF_ERROR_FULL : EF_ERROR_IO,
                   "%s: can't be made: %s", folder, g_strerror (code));
      return NULL;
    }

  salvage->n_jobs = jobs->len;
  for (i = 0; i < jobs->len; i++)
    {
      if (g_cancellable_is_cancelled (cancellable))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, "%s: stopped after %u of %u jobs", store_path, i, jobs->len);
          return NULL;
        }
      if (!take_out (store, *(const gint64 *) jobs->pdata[i], folder, salvage, error))
        return NULL;
      if (progress != NULL)
        progress ((i + 1.0) / jobs->len, user_data);
    }

  return g_steal_pointer (&salvage);
}
