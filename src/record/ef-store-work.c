/* All jobs' work as observations of lapping rates.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-private.h"
#include "ef-store-work.h"

#include <math.h>

void
ef_work_row_free (EfWorkRow *row)
{
  if (row == NULL)
    return;

  g_free (row->number);
  g_free (row->material);
  g_clear_pointer ((EfItem **) &row->work, ef_item_unref);
  g_free (row);
}

/* NULL without an error where there's nothing to learn from the record. */
static gboolean
read_row (EfStore *store,
          const EfLapTable *table,
          const char *material,
          sqlite3_stmt *statement,
          EfWorkRow **row_out,
          GError **error)
{
  gint64 job = sqlite3_column_int64 (statement, 0);
  g_autofree char *id = ef_sql_column_text (statement, 2);
  g_autofree char *body = ef_sql_column_text (statement, 3);
  g_autofree char *gauge_body = ef_sql_column_text (statement, 4);
  g_autoptr (EfItem) work = ef_store_item_parse (store, job, EF_ITEM_WORK, id, body, error);
  g_autoptr (EfItem) gauge = NULL;
  g_autoptr (EfPumpSheet) sheet = NULL;
  EfLapObservation observation;
  const char *of = NULL;

  *row_out = NULL;
  if (work == NULL)
    return FALSE;
  if (gauge_body == NULL)
    return TRUE;
  gauge = ef_store_item_parse (store, job, EF_ITEM_GAUGE, ((EfWork *) work)->gauge_id, gauge_body, error);
  sheet = gauge != NULL ? ef_store_job_sheet (store, job, error) : NULL;
  if (sheet == NULL)
    return FALSE;
  if (!ef_after_observation (table, sheet, (EfWork *) work, (EfGauge *) gauge, &observation, &of)
      || (material != NULL && g_strcmp0 (material, of) != 0))
    return TRUE;

  *row_out = g_new0 (EfWorkRow, 1);
  (*row_out)->job = job;
  (*row_out)->number = ef_sql_column_text (statement, 1);
  (*row_out)->material = g_strdup (of);
  (*row_out)->work = (EfWork *) g_steal_pointer (&work);
  (*row_out)->observation = observation;

  return TRUE;
}

GPtrArray *
ef_store_work (EfStore *store,
               const EfLapTable *table,
               const char *material,
               GError **error)
{
  g_autoptr (GPtrArray) rows = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_work_row_free);
  g_autoptr (sqlite3_stmt) statement
    = ef_sql_query (&store->sql, error,
                    "SELECT work.job, job.number, work.id, work.body, gauge.body FROM item AS work JOIN job ON job.id = work.job"
                    " LEFT JOIN item AS gauge ON gauge.job = work.job AND gauge.kind = 'gauge' AND gauge.id = json_extract (work.body, '$.gauge')"
                    " WHERE work.kind = 'work' AND job.lesson = '' ORDER BY json_extract (work.body, '$.time'), work.job, work.seq",
                    "");
  gboolean more;

  if (statement == NULL)
    return NULL;
  while (ef_sql_step (&store->sql, statement, &more, error))
    {
      EfWorkRow *row;

      if (!more)
        return g_steal_pointer (&rows);
      if (!read_row (store, table, material, statement, &row, error))
        return NULL;
      if (row != NULL)
        g_ptr_array_add (rows, row);
    }

  return NULL;
}

gboolean
ef_store_lap_rates (const EfLapTable *table,
                    const char *material,
                    GPtrArray *rows,
                    EfLapLearned *out,
                    GError **error)
{
  g_autofree EfLapObservation *observations = g_new0 (EfLapObservation, MAX (rows->len, 1));

  for (guint i = 0; i < rows->len; i++)
    observations[i] = ((const EfWorkRow *) rows->pdata[i])->observation;

  return ef_lap_learn (table, material, observations, rows->len, 1.0, out, error);
}

/* Those of one material, by other jobs. */
static GPtrArray *
rows_of (GPtrArray *all,
         const char *material,
         gint64 except)
{
  GPtrArray *rows = g_ptr_array_new ();

  for (guint i = 0; i < all->len; i++)
    {
      EfWorkRow *row = all->pdata[i];

      if (row->job != except && g_str_equal (row->material, material))
        g_ptr_array_add (rows, row);
    }

  return rows;
}

EfLapTable *
ef_store_lap_table (EfStore *store,
                    gint64 except,
                    GError **error)
{
  g_autoptr (EfLapTable) table = ef_lap_table_default (error);
  g_autoptr (GPtrArray) all = table != NULL ? ef_store_work (store, table, NULL, error) : NULL;
  g_autofree EfLapLearned *learned = NULL;
  g_autofree const char **materials = NULL;
  EfLapTable *taught = NULL;
  guint done = 0;

  if (all == NULL)
    return NULL;
  learned = g_new0 (EfLapLearned, table->n_materials);
  materials = g_new0 (const char *, table->n_materials);
  for (; done < table->n_materials; done++)
    {
      g_autoptr (GPtrArray) rows = rows_of (all, table->material[done].name, except);

      materials[done] = table->material[done].name;
      if (!ef_store_lap_rates (table, materials[done], rows, &learned[done], error))
        break;
    }
  if (done == table->n_materials)
    taught = ef_lap_table_taught (table, done, materials, learned);
  for (guint m = 0; m < done; m++)
    ef_lap_learned_clear (&learned[m]);

  return taught;
}
