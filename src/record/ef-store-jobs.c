/* The list of jobs: its rows, and finding among them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-private.h"
#include "ef-store-schema.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TEXT_LONGEST 4096 /* bytes of a search that are looked at */
#define WORD_LONGEST 100  /* characters */

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

/* The index is of runs of three characters: longer words are looked up in it, shorter ones in the list's own fields only. A word longer than any
 * that is written is cut. */
static void
add_words (GArray *filters,
           const char *text)
{
  g_autofree char *start = g_utf8_make_valid (text, (gssize) strnlen (text, TEXT_LONGEST));
  g_autofree char *folded = ef_store_plain (start);
  g_auto (GStrv) words = g_strsplit_set (folded, " \t\r\n", -1);
  g_autoptr (GString) match = g_string_new (NULL);
  guint used = 0;

  for (guint i = 0; words[i] != NULL && used < EF_JOB_QUERY_WORDS; i++)
    {
      if (*words[i] == '\0')
        continue;
      used++;
      if (g_utf8_strlen (words[i], -1) > WORD_LONGEST)
        *g_utf8_offset_to_pointer (words[i], WORD_LONGEST) = '\0';
      if (g_utf8_strlen (words[i], -1) >= 3)
        {
          g_auto (GStrv) quotes = g_strsplit (words[i], "\"", -1);
          g_autofree char *word = g_strjoinv ("\"\"", quotes);

          g_string_append_printf (match, "%s\"%s\"", match->len > 0 ? " " : "", word);
        }
      else
        add_filter (filters, "instr (search, ?) > 0", g_strdup (words[i]));
    }
  if (match->len > 0)
    add_filter (filters, "+id IN (SELECT rowid FROM job_text WHERE job_text MATCH ?)", g_strdup (match->str));
}

static GArray *
make_filters (const EfJobQuery *query)
{
  GArray *filters = g_array_new (FALSE, FALSE, sizeof (Filter));

  g_array_set_clear_func (filters, filter_clear);
  add_filter (filters, "lesson = ?", g_strdup ("")); /* attempts at lessons are no jobs */
  if (query == NULL)
    return filters;
  add_filter (filters, "withdrawn = CAST (? AS INTEGER)", g_strdup (query->withdrawn ? "1" : "0"));
  if (query->verdict != NULL)
    add_filter (filters, "verdict = ?", g_strdup (query->verdict));
  if (query->model != NULL)
    add_filter (filters, "model = ?", g_strdup (query->model));
  if (query->finding != NULL)
    add_filter (filters, "(instr (findings, ',' || ? || ',') > 0 OR +id IN (SELECT job FROM outcome_finding WHERE finding = ? AND source = 'rule'))",
                g_strdup (query->finding));
  if (query->from != NULL)
    add_filter (filters, "day >= ?", g_strdup (query->from));
  if (query->to != NULL)
    add_filter (filters, "day <= ?", g_strdup (query->to));
  if (query->standing != EF_JOBS_ANY)
    add_filter (filters, "(sealed <> 0) = CAST (? AS INTEGER)", g_strdup (query->standing == EF_JOBS_SEALED ? "1" : "0"));
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
      g_autofree char *number = g_strdup_printf ("?%u", i + 1);
      g_auto (GStrv) pieces = g_strsplit (g_array_index (filters, Filter, i).condition, "?", -1);
      g_autofree char *condition = g_strjoinv (number, pieces);

      g_string_append_printf (text, "%s%s", i == 0 ? " WHERE " : " AND ", condition);
    }
  g_string_append (text, tail);

  statement = ef_sql_query (&store->sql, error, text->str, "");
  for (i = 0; statement != NULL && i < filters->len; i++)
    {
      int code = sqlite3_bind_text (statement, (int) i + 1, g_array_index (filters, Filter, i).value, -1, SQLITE_TRANSIENT);

      if (code != SQLITE_OK)
        {
          ef_sql_set_error (&store->sql, code, "search", error);
          return NULL;
        }
    }

  return g_steal_pointer (&statement);
}

#define ROW_COLUMNS \
  "SELECT job.id, number, pump, model, serial, received, customer, changed, verdict," \
  " found_pressure, expected_pressure, n_marks, withdrawn, sealed, revision"

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
  row->withdrawn = sqlite3_column_int (statement, 12) != 0;
  row->sealed = sqlite3_column_int64 (statement, 13);
  row->revision = (guint) sqlite3_column_int64 (statement, 14);

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
                              ROW_COLUMNS " FROM job", tail, error);
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

/* An id with what it's ordered by. */
typedef struct
{
  gint64 id;
  guint place; /* by day: what is equal stays so */
  char *text;
  double number;
} Keyed;

static void
keyed_clear (gpointer data)
{
  g_free (((Keyed *) data)->text);
}

static int
compare_keyed (gconstpointer a,
               gconstpointer b,
               gpointer user_data)
{
  const Keyed *one = a;
  const Keyed *two = b;
  gboolean ascending = GPOINTER_TO_INT (user_data);
  int order = 0;

  if (one->text != NULL)
    order = strcmp (one->text, two->text);
  else if (isnan (one->number) || isnan (two->number))
    order = (isnan (one->number) - isnan (two->number)) * (ascending ? 1 : -1); /* last both ways */
  else
    order = (one->number > two->number) - (one->number < two->number);
  if (order == 0)
    return (one->place > two->place) - (one->place < two->place);

  return ascending ? order : -order;
}

static double
verdict_rank (const char *verdict)
{
  for (guint i = 0; verdict != NULL && ef_override_verdicts[i] != NULL; i++)
    if (g_str_equal (verdict, ef_override_verdicts[i]))
      return i;

  return NAN;
}

/* "J-0099" before "J-0100" and "J-99" before "J-100". */
static void
read_key (Keyed *key,
          sqlite3_stmt *statement,
          EfJobsOrder order)
{
  const char *text = (const char *) sqlite3_column_text (statement, 1);

  if (order == EF_JOBS_BY_PRESSURE)
    key->number = ef_sql_column_double (statement, 1);
  else if (order == EF_JOBS_BY_VERDICT)
    key->number = verdict_rank (text);
  else
    {
      g_autofree char *plain = ef_store_plain (text != NULL ? text : "");

      key->text = g_utf8_collate_key_for_filename (plain, -1);
    }
}

static GArray *
sort_ids (EfStore *store,
          sqlite3_stmt *statement,
          const EfJobQuery *query,
          GError **error)
{
  g_autoptr (GArray) keys = g_array_new (FALSE, TRUE, sizeof (Keyed));
  g_autoptr (GArray) ids = g_array_new (FALSE, FALSE, sizeof (gint64));
  EfJobsOrder order = query != NULL ? query->order : EF_JOBS_BY_DAY;
  gboolean row;

  g_array_set_clear_func (keys, keyed_clear);
  if (!ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  while (row)
    {
      Keyed key = { .id = sqlite3_column_int64 (statement, 0), .place = keys->len };

      if (order == EF_JOBS_BY_DAY)
        g_array_append_val (ids, key.id);
      else
        {
          read_key (&key, statement, order);
          g_array_append_val (keys, key);
        }
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }
  g_array_sort_with_data (keys, compare_keyed, GINT_TO_POINTER (query != NULL && query->ascending));
  for (guint i = 0; i < keys->len; i++)
    g_array_append_val (ids, g_array_index (keys, Keyed, i).id);

  return g_steal_pointer (&ids);
}

GArray *
ef_store_job_ids (EfStore *store,
                  const EfJobQuery *query,
                  GError **error)
{
  static const char *const columns[] = { "NULL", "number", "model", "customer", "verdict", "found_pressure" };
  g_autoptr (GArray) filters = NULL;
  g_autoptr (sqlite3_stmt) statement = NULL;
  g_autofree char *head = NULL;
  gboolean oldest_first;

  g_return_val_if_fail (store != NULL && (query == NULL || query->order < G_N_ELEMENTS (columns)), NULL);
  filters = make_filters (query);
  head = g_strdup_printf ("SELECT id, %s FROM job", columns[query != NULL ? query->order : EF_JOBS_BY_DAY]);
  oldest_first = query != NULL && query->order == EF_JOBS_BY_DAY && query->ascending;
  statement = query_filtered (store, filters, head, oldest_first ? " ORDER BY day, id" : " ORDER BY day DESC, id DESC", error);

  return statement != NULL ? sort_ids (store, statement, query, error) : NULL;
}

static char *
ids_text (const gint64 *ids,
          guint n)
{
  GString *text = g_string_new ("[");

  for (guint i = 0; i < n; i++)
    g_string_append_printf (text, "%s%" G_GINT64_FORMAT, i > 0 ? "," : "", ids[i]);
  g_string_append_c (text, ']');

  return g_string_free (text, FALSE);
}

GPtrArray *
ef_store_job_rows (EfStore *store,
                   const gint64 *ids,
                   guint n,
                   GError **error)
{
  g_autoptr (GPtrArray) rows = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_job_row_free);
  g_autofree char *list = NULL;
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL && (ids != NULL || n == 0), NULL);
  list = ids_text (ids, n);
  statement = ef_sql_query (&store->sql, error, ROW_COLUMNS " FROM json_each (?) AS wanted JOIN job ON job.id = wanted.value ORDER BY wanted.key", "s", list);
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

static GStrv
read_names (EfStore *store,
            const char *text,
            GError **error)
{
  g_autoptr (GStrvBuilder) names = g_strv_builder_new ();
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, text, "");
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  while (row)
    {
      g_autofree char *name = ef_sql_column_text (statement, 0);

      g_strv_builder_add (names, name);
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_strv_builder_end (names);
}

/* From one name to the next by the index: few names, many jobs. */
GStrv
ef_store_job_models (EfStore *store,
                     GError **error)
{
  g_return_val_if_fail (store != NULL, NULL);

  return read_names (store,
                     "WITH RECURSIVE name (next) AS (SELECT min (model) FROM job WHERE withdrawn = 0"
                     " UNION ALL SELECT (SELECT min (model) FROM job WHERE withdrawn = 0 AND model > name.next) FROM name WHERE name.next IS NOT NULL)"
                     " SELECT next FROM name WHERE next IS NOT NULL",
                     error);
}

GStrv
ef_store_job_findings (EfStore *store,
                       GError **error)
{
  g_autoptr (GStrvBuilder) names = g_strv_builder_new ();
  g_auto (GStrv) rules = NULL;

  g_return_val_if_fail (store != NULL, NULL);
  rules = read_names (store,
                      "WITH RECURSIVE name (next) AS (SELECT min (finding) FROM outcome_finding"
                      " UNION ALL SELECT (SELECT min (finding) FROM outcome_finding WHERE finding > name.next) FROM name WHERE name.next IS NOT NULL)"
                      " SELECT next FROM name WHERE next IS NOT NULL",
                      error);
  if (rules == NULL)
    return NULL;
  for (EfMarkKind kind = 0; kind < EF_N_MARK_KINDS; kind++)
    g_strv_builder_add (names, ef_mark_kind_name (kind));
  for (guint i = 0; rules[i] != NULL; i++)
    if (!ef_mark_kind_from_name (rules[i], &(EfMarkKind) { 0 }))
      g_strv_builder_add (names, rules[i]);

  return g_strv_builder_end (names);
}

char *
ef_finding_label (const char *finding)
{
  EfMarkKind kind;
  char *label;

  g_return_val_if_fail (finding != NULL, NULL);
  if (ef_mark_kind_from_name (finding, &kind))
    return g_strdup (ef_mark_kind_label (kind));
  label = g_strdelimit (g_strdup (finding), "-_", ' ');
  *label = g_ascii_toupper (*label);

  return label;
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
  if (!ef_sql_run (&store->sql, &changed, error, "UPDATE job SET verdict = CASE WHEN sealed = 0 THEN ? ELSE verdict END WHERE id = ?", "si",
                   verdict_name, job))
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

  return ef_store_plain (text);
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

  return ef_store_update_text (store, job, error);
}

/* The text is written anew only where it differs: most edits don't touch it. */
gboolean
ef_store_update_text (EfStore *store,
                      gint64 job,
                      GError **error)
{
  if (!ef_sql_run (&store->sql, NULL, error,
                   "DELETE FROM job_text WHERE rowid = ?1 AND body IS NOT (SELECT " EF_SQL_JOB_TEXT " FROM job WHERE id = ?1)",
                   "i", job))
    return FALSE;

  return ef_sql_run (&store->sql, NULL, error,
                     "INSERT INTO job_text (rowid, body) SELECT id, " EF_SQL_JOB_TEXT " FROM job"
                     " WHERE id = ?1 AND NOT EXISTS (SELECT 1 FROM job_text WHERE rowid = ?1)",
                     "i", job);
}
