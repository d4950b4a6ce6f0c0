/* The list of jobs: its rows, and finding among them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-private.h"
#include "ef-store-schema.h"

#include <math.h>

void
ef_job_row_free (EfJobRow *row)
{
  if (row == NULL)
    return;

  g_free (row->number);
  g_free (row->pump);
  g_free (row->model);
  g_free (row->serial);
  g_free (row->received);
  g_free (row->customer);
  g_free (row->changed);
  g_free (row->verdict);
  g_free (row);
}

/* A condition of the list and the value bound for it. */
typedef struct
{
  const char *condition;
  char *value;
} Filter;

static void
filter_clear (gpointer data)
{
  g_free (((Filter *) data)->value);
}

static void
add_filter (GArray *filters,
            const char *condition,
            char *value)
{
  Filter filter = { condition, value };

  g_array_append_val (filters, filter);
}

/* The index is of runs of three characters: longer words are looked up in it, shorter ones in the list's own fields only. */
static void
add_words (GArray *filters,
           const char *text)
{
  g_autofree char *folded = ef_store_fold (text);
  g_auto (GStrv) words = g_strsplit_set (folded, " \t\n", -1);
  g_autoptr (GString) match = g_string_new (NULL);
  guint i;

  for (i = 0; words[i] != NULL; i++)
    if (g_utf8_strlen (words[i], -1) >= 3)
      {
        g_auto (GStrv) quotes = g_strsplit (words[i], "\"", -1);
        g_autofree char *word = g_strjoinv ("\"\"", quotes);

        g_string_append_printf (match, "%s\"%s\"", match->len > 0 ? " " : "", word);
      }
    else if (*words[i] != '\0')
      add_filter (filters, "instr (search, ?) > 0", g_strdup (words[i]));
  if (match->len > 0)
    add_filter (filters, "id IN (SELECT rowid FROM job_text WHERE job_text MATCH ?)", g_strdup (match->str));
}

static GArray *
make_filters (const EfJobQuery *query)
{
  GArray *filters = g_array_new (FALSE, FALSE, sizeof (Filter));

  g_array_set_clear_func (filters, filter_clear);
  if (query == NULL)
    return filters;
  if (query->verdict != NULL)
    add_filter (filters, "verdict = ?", g_strdup (query->verdict));
  if (query->model != NULL)
    add_filter (filters, "model = ?", g_strdup (query->model));
  if (query->finding != NULL)
    add_filter (filters, "instr (findings, ?) > 0", g_strdup_printf (",%s,", query->finding));
  if (query->from != NULL)
    add_filter (filters, "day >= ?", g_strdup (query->from));
  if (query->to != NULL)
    add_filter (filters, "day <= ?", g_strdup (query->to));
  if (query->text != NULL)
    add_words (filters, query->text);

  return filters;
}

/* @head, the filters' conditions, @tail; the values bound. */
static sqlite3_stmt *
query_filtered (EfStore *store,
                GArray *filters,
                const char *head,
                const char *tail,
                GError **error)
{
  g_autoptr (GString) text = g_string_new (head);
  g_autoptr (sqlite3_stmt) statement = NULL;
  guint i;

  for (i = 0; i < filters->len; i++)
    {
      g_string_append (text, i == 0 ? " WHERE " : " AND ");
      g_string_append (text, g_array_index (filters, Filter, i).condition);
    }
  g_string_append (text, tail);

  statement = ef_sql_query (&store->sql, error, text->str, "");
  for (i = 0; statement != NULL && i < filters->len; i++)
    {
      int code = sqlite3_bind_text (statement, i + 1, g_array_index (filters, Filter, i).value, -1, SQLITE_TRANSIENT);

      if (code != SQLITE_OK)
        {
          ef_sql_set_error (&store->sql, code, "search", error);
          return NULL;
        }
    }

  return g_steal_pointer (&statement);
}

static EfJobRow *
read_row (sqlite3_stmt *statement)
{
  EfJobRow *row = g_new0 (EfJobRow, 1);

  row->id = sqlite3_column_int64 (statement, 0);
  row->number = ef_sql_column_text (statement, 1);
  row->pump = ef_sql_column_text (statement, 2);
  row->model = ef_sql_column_text (statement, 3);
  row->serial = ef_sql_column_text (statement, 4);
  row->received = ef_sql_column_text (statement, 5);
  row->customer = ef_sql_column_text (statement, 6);
  row->changed = ef_sql_column_text (statement, 7);
  row->verdict = ef_sql_column_text (statement, 8);
  row->found_pressure = ef_sql_column_double (statement, 9);
  row->expected_pressure = ef_sql_column_double (statement, 10);
  row->n_marks = (guint) sqlite3_column_int64 (statement, 11);

  return row;
}

GPtrArray *
ef_store_jobs (EfStore *store,
               const EfJobQuery *query,
               GError **error)
{
  g_autoptr (GPtrArray) rows = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_job_row_free);
  g_autoptr (GArray) filters = NULL;
  g_autoptr (sqlite3_stmt) statement = NULL;
  g_autofree char *tail = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL, NULL);
  filters = make_filters (query);
  tail = g_strdup_printf (" ORDER BY day DESC, id DESC LIMIT %d OFFSET %u",
                          query != NULL && query->limit > 0 ? (int) MIN (query->limit, (guint) G_MAXINT) : -1,
                          query != NULL ? query->offset : 0);
  statement = query_filtered (store, filters,
                              "SELECT id, number, pump, model, serial, received, customer, changed, verdict,"
                              " found_pressure, expected_pressure, n_marks FROM job",
                              tail, error);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;

  while (row)
    {
      g_ptr_array_add (rows, read_row (statement));
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&rows);
}

gint64
ef_store_count (EfStore *store,
                const EfJobQuery *query,
                GError **error)
{
  g_autoptr (GArray) filters = NULL;
  g_autoptr (sqlite3_stmt) statement = NULL;

  g_return_val_if_fail (store != NULL, -1);
  filters = make_filters (query);
  statement = query_filtered (store, filters, "SELECT count (*) FROM job", "", error);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, NULL, error))
    return -1;

  return sqlite3_column_int64 (statement, 0);
}

gboolean
ef_store_exists (EfStore *store,
                 const char *number,
                 gint64 *job_out,
                 GError **error)
{
  g_return_val_if_fail (store != NULL && number != NULL && job_out != NULL, FALSE);

  return ef_sql_integer (&store->sql, 0, job_out, error, "SELECT id FROM job WHERE number = ?", "s", number);
}

gboolean
ef_store_set_verdict (EfStore *store,
                      gint64 job,
                      const char *verdict_name,
                      GError **error)
{
  int changed;

  g_return_val_if_fail (store != NULL && verdict_name != NULL, FALSE);
  if (*verdict_name != '\0' && !g_strv_contains (ef_override_verdicts, verdict_name))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: verdict: expected a verdict's name or none, found \"%s\"",
                   store->sql.name, verdict_name);
      return FALSE;
    }
  if (!ef_sql_run (&store->sql, &changed, error, "UPDATE job SET verdict = ? WHERE id = ?", "si", verdict_name, job))
    return FALSE;
  if (changed == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected job %" G_GINT64_FORMAT ", found none", store->sql.name, job);
      return FALSE;
    }

  return TRUE;
}

static char *
folded_fields (const EfJobHeader *header,
               const char *pump,
               const char *model)
{
  g_autofree char *text = g_strjoin ("\n", header->number, pump, model,
                                     header->serial != NULL ? header->serial : "",
                                     header->customer != NULL ? header->customer : "", NULL);

  return ef_store_fold (text);
}

gboolean
ef_store_update_row (EfStore *store,
                     gint64 job,
                     const EfJobHeader *header,
                     const char *time,
                     GError **error)
{
  g_autoptr (EfPumpSheet) sheet = ef_store_job_sheet (store, job, error);
  g_autofree char *search = NULL;
  const char *received = header->received != NULL ? header->received : "";

  if (sheet == NULL)
    return FALSE;
  search = folded_fields (header, sheet->name, sheet->model);

  return ef_sql_run (&store->sql, NULL, error,
                     "UPDATE job SET number = ?1, serial = ?2, received = ?3, customer = ?4, found_pressure = ?5,"
                     " expected_pressure = ?6, search = ?7,"
                     " day = CASE WHEN ?3 <> '' THEN ?3 ELSE substr (coalesce ("
                     "   (SELECT time FROM change WHERE change.job = ?8 AND seq = 1), ?9), 1, 10) END"
                     " WHERE id = ?8",
                     "ssssddsis", header->number, header->serial != NULL ? header->serial : "", received,
                     header->customer != NULL ? header->customer : "", header->found_pressure,
                     header->expected_pressure, search, job, time);
}

gboolean
ef_store_update_findings (EfStore *store,
                          gint64 job,
                          const char *time,
                          int *changed_out,
                          GError **error)
{
  if (!ef_sql_run (&store->sql, changed_out, error,
                   "UPDATE job SET changed = ?1, findings = " EF_SQL_JOB_FINDINGS ","
                   " n_marks = (SELECT count (*) FROM item WHERE job = ?2 AND kind = 'mark') WHERE id = ?2",
                   "si", time, job))
    return FALSE;

  /* The text is written anew only where it differs: most edits don't touch it. */
  if (!ef_sql_run (&store->sql, NULL, error,
                   "DELETE FROM job_text WHERE rowid = ?1 AND body IS NOT (SELECT " EF_SQL_JOB_TEXT " FROM job WHERE id = ?1)",
                   "i", job))
    return FALSE;

  return ef_sql_run (&store->sql, NULL, error,
                     "INSERT INTO job_text (rowid, body) SELECT id, " EF_SQL_JOB_TEXT " FROM job"
                     " WHERE id = ?1 AND NOT EXISTS (SELECT 1 FROM job_text WHERE rowid = ?1)",
                     "i", job);
}
