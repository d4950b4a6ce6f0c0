/* A damaged page ends a walk where it's met. So each table is walked from both ends, and what lies between is asked for place by place.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-salvage-private.h"

#include <string.h>

#define PLACES_MOST 200000 /* asked for one by one beyond the last row that could be read, where the end isn't known */

typedef struct
{
  const EfSalvageRows *rows;
  char *table, *columns;
  int n_columns;
  int job_column; /* of "job"; -1 none */
  sqlite3_stmt *insert;
  gint64 n_unread, first_unread, last_unread; /* places that can't be read */
  gint64 n_refused;                           /* rows that could be read and don't fit */
  char *reason;                               /* the first */
} Table;

static void
table_clear (Table *table)
{
  g_free (table->table);
  g_free (table->columns);
  g_free (table->reason);
  sqlite3_finalize (table->insert);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Table, table_clear)

static void
set_reason (Table *table,
            const char *reason)
{
  if (table->reason == NULL)
    table->reason = g_strdup (reason);
}

static gboolean
read_columns (Table *table,
              GError **error)
{
  g_autoptr (sqlite3_stmt) names = ef_sql_query (table->rows->to, error, "SELECT name FROM pragma_table_info (?)", "s", table->table);
  g_autoptr (GString) columns = g_string_new ("rowid");
  g_autoptr (GString) marks = g_string_new ("?");
  g_autofree char *insert = NULL;
  gboolean row = TRUE;

  table->job_column = -1;
  table->n_columns = 1;
  if (names == NULL)
    return FALSE;
  while (ef_sql_step (table->rows->to, names, &row, error))
    {
      const char *name = row ? (const char *) sqlite3_column_text (names, 0) : NULL;

      if (!row)
        break;
      if (g_str_equal (name, "job"))
        table->job_column = table->n_columns;
      g_string_append_printf (columns, ", \"%s\"", name);
      g_string_append (marks, ", ?");
      table->n_columns++;
    }
  if (row)
    return FALSE;
  table->columns = g_string_free (g_steal_pointer (&columns), FALSE);
  insert = g_strdup_printf ("INSERT INTO \"%s\" (%s) VALUES (%s)", table->table, table->columns, marks->str);
  table->insert = ef_sql_query (table->rows->to, error, insert, "");

  return table->insert != NULL;
}

/* A text that the store's own questions would stumble over. */
static gboolean
is_broken_json (Table *table,
                sqlite3_stmt *row)
{
  g_autofree char *body = NULL;
  gint64 valid = 1;

  if (!g_str_equal (table->table, "item") && !g_str_equal (table->table, "gauge"))
    return FALSE;
  for (int i = 1; i < table->n_columns && body == NULL; i++)
    if (g_strcmp0 (sqlite3_column_name (row, i), "body") == 0)
      body = ef_sql_column_text (row, i);

  return !ef_sql_integer (table->rows->to, 0, &valid, NULL, "SELECT json_valid (?)", "s", body != NULL ? body : "") || valid == 0;
}

/* What belongs to a job whose own row couldn't be read: with a stand-in for that it's taken over, and the job is looked at when all of it is there. */
static gboolean
stand_in (Table *table,
          sqlite3_stmt *row)
{
  gint64 job = table->job_column >= 0 ? sqlite3_column_int64 (row, table->job_column) : 0;

  if (job <= 0 || !g_hash_table_add (table->rows->orphans, g_memdup2 (&job, sizeof job)))
    return FALSE;

  return ef_sql_run (table->rows->to, NULL, NULL,
                     "INSERT INTO job (id, number, sheet, pump, model, changed) VALUES (?1, char (1) || 'lost ' || ?1, (SELECT min (id) FROM sheet), '', '', '')", "i", job);
}

static int
insert (Table *table,
        sqlite3_stmt *row)
{
  int code;

  for (int i = 0; i < table->n_columns; i++)
    sqlite3_bind_value (table->insert, i + 1, sqlite3_column_value (row, i));
  code = sqlite3_step (table->insert);
  sqlite3_reset (table->insert);

  return code;
}

/* FALSE only where the new store can't be written. */
static gboolean
take_row (Table *table,
          sqlite3_stmt *row,
          GError **error)
{
  int code;

  if (is_broken_json (table, row))
    {
      table->n_refused++;
      set_reason (table, "what is written in it isn't whole");
      return TRUE;
    }
  code = insert (table, row);
  if (code == SQLITE_CONSTRAINT_FOREIGNKEY && stand_in (table, row))
    code = insert (table, row);
  if (code == SQLITE_DONE)
    return TRUE;
  if ((code & 0xff) != SQLITE_CONSTRAINT && (code & 0xff) != SQLITE_MISMATCH)
    {
      ef_sql_set_error (table->rows->to, code, "write", error);
      return FALSE;
    }
  table->n_refused++;
  if (code == SQLITE_CONSTRAINT_FOREIGNKEY)
    set_reason (table, "what it belongs to couldn't be read");
  else
    set_reason (table, sqlite3_errmsg (table->rows->to->db));

  return TRUE;
}

/* As far as it goes. @last: the last place that was read. */
static gboolean
walk (Table *table,
      const char *condition,
      gint64 bound,
      gint64 *last,
      gboolean *whole,
      GError **error)
{
  g_autofree char *text = g_strdup_printf ("SELECT %s FROM \"%s\" WHERE %s", table->columns, table->table, condition);
  g_autoptr (GError) local = NULL;
  g_autoptr (sqlite3_stmt) row = ef_sql_query (table->rows->from, &local, text, "i", bound);
  gboolean there = TRUE;

  *whole = FALSE;
  while (row != NULL && ef_sql_step (table->rows->from, row, &there, &local))
    {
      if (!there)
        {
          *whole = TRUE;
          return TRUE;
        }
      *last = sqlite3_column_int64 (row, 0);
      if (!take_row (table, row, error))
        return FALSE;
      if (g_cancellable_is_cancelled (table->rows->cancellable))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, "%s: stopped", table->rows->from->name);
          return FALSE;
        }
    }
  if (local != NULL)
    set_reason (table, local->message);

  return TRUE;
}

/* Between what both walks could read: places that aren't there say so, those on a damaged page can't be read. */
static gboolean
ask_each (Table *table,
          gint64 low,
          gint64 high,
          GError **error)
{
  for (gint64 place = low; place <= high; place++)
    {
      gint64 last = 0;
      gboolean whole;

      if (!walk (table, "rowid = ?", place, &last, &whole, error))
        return FALSE;
      if (whole)
        continue;
      if (table->n_unread++ == 0)
        table->first_unread = place;
      table->last_unread = place;
    }

  return TRUE;
}

static void
tell (Table *table)
{
  if (table->n_unread > 0)
    g_ptr_array_add (table->rows->losses, g_strdup_printf ("table %s: up to %" G_GINT64_FORMAT " rows, from %" G_GINT64_FORMAT " to %" G_GINT64_FORMAT ", can't be read (%s)",
                                                           table->table, table->n_unread, table->first_unread, table->last_unread, table->reason));
  if (table->n_refused > 0)
    g_ptr_array_add (table->rows->losses, g_strdup_printf ("table %s: %" G_GINT64_FORMAT " rows aren't taken over (%s)", table->table, table->n_refused, table->reason));
}

static gboolean
copy_table (const EfSalvageRows *rows,
            const char *name,
            GError **error)
{
  g_auto (Table) table = { .rows = rows, .table = g_strdup (name) };
  gint64 low = 0, high = G_MAXINT64;
  gboolean whole;

  if (!read_columns (&table, error) || !walk (&table, "rowid > ? ORDER BY rowid", G_MININT64, &low, &whole, error))
    return FALSE;
  if (!whole)
    {
      g_autofree char *condition = g_strdup_printf ("rowid > ? AND rowid > %" G_GINT64_FORMAT " ORDER BY rowid DESC", low);

      if (!walk (&table, condition, low, &high, &whole, error))
        return FALSE;
      if (!whole && !ask_each (&table, low + 1, high == G_MAXINT64 ? low + PLACES_MOST : high - 1, error))
        return FALSE;
    }
  tell (&table);

  return TRUE;
}

/* Those that are kept row by row, in the order they were made: what is referred to comes first. What is only worked out (outcomes, the search) is made anew. */
static GPtrArray *
list_tables (const EfSql *sql,
             GError **error)
{
  g_autoptr (GPtrArray) names = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (sqlite3_stmt) tables = ef_sql_query (sql, error,
                                                  "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'"
                                                  " AND name NOT LIKE 'job\\_text%' ESCAPE '\\' AND name NOT LIKE 'outcome%' ORDER BY rowid", "");
  gboolean row = TRUE;

  while (tables != NULL && ef_sql_step (sql, tables, &row, error))
    {
      if (!row)
        return g_steal_pointer (&names);
      g_ptr_array_add (names, ef_sql_column_text (tables, 0));
    }

  return NULL;
}

gboolean
ef_salvage_rows (const EfSalvageRows *rows,
                 GError **error)
{
  g_autoptr (GPtrArray) tables = list_tables (rows->to, error);
  g_auto (EfTransaction) transaction = { 0 };

  if (tables == NULL || !ef_transaction_begin (&transaction, rows->to, error))
    return FALSE;
  for (guint i = 0; i < tables->len; i++)
    {
      if (!copy_table (rows, tables->pdata[i], error))
        return FALSE;
      if (rows->progress != NULL)
        rows->progress ((i + 1.0) / tables->len, rows->user_data);
    }

  return ef_transaction_commit (&transaction, error);
}
