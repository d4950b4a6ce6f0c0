/* A thin hand on SQLite.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-sql.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>

static const struct
{
  int code; /* primary */
  EfError error;
  const char *sentence;
} codes[] = {
  { SQLITE_BUSY, EF_ERROR_BUSY, "another window or program is writing to the store; try again in a moment" },
  { SQLITE_LOCKED, EF_ERROR_BUSY, "the store is locked by this program; try again in a moment" },
  { SQLITE_FULL, EF_ERROR_FULL, "no room left on the disk; nothing was changed" },
  { SQLITE_CORRUPT, EF_ERROR_CORRUPT, "the store is damaged; keep the file and restore a backup" },
  { SQLITE_NOTADB, EF_ERROR_CORRUPT, "expected a store, found a file that is none or is damaged" },
  { SQLITE_CONSTRAINT, EF_ERROR_INVALID, "refused, since it would break a rule of the store" },
  { SQLITE_TOOBIG, EF_ERROR_RANGE, "a text is too long" },
  { SQLITE_READONLY, EF_ERROR_IO, "the store or its folder can't be written" },
  { SQLITE_CANTOPEN, EF_ERROR_IO, "the store can't be opened" },
  { SQLITE_PERM, EF_ERROR_IO, "the store may not be opened" },
  { SQLITE_NOMEM, EF_ERROR_IO, "out of memory" },
  { SQLITE_INTERRUPT, EF_ERROR_CANCELLED, "stopped" },
};

/* SQLite says "disk I/O error" where a quota or a limit on the size of files is reached. */
static int
full_or (const EfSql *self,
         int code)
{
  int reason = self->db != NULL ? sqlite3_system_errno (self->db) : 0;

  if ((code & 0xff) == SQLITE_IOERR && (reason == ENOSPC || reason == EDQUOT || reason == EFBIG))
    return SQLITE_FULL;

  return code;
}

void
ef_sql_set_error (const EfSql *self,
                  int code,
                  const char *what,
                  GError **error)
{
  gboolean told = self->db != NULL && sqlite3_errcode (self->db) != SQLITE_OK;
  /* It may quote what it found in a damaged file. */
  g_autofree char *detail = g_utf8_make_valid (told ? sqlite3_errmsg (self->db) : sqlite3_errstr (code), -1);
  guint i;

  code = full_or (self, code);
  for (i = 0; i < G_N_ELEMENTS (codes); i++)
    if (codes[i].code == (code & 0xff))
      {
        g_set_error (error, EF_ERROR, codes[i].error, "%s: %s: %s (%s)", self->name, what, codes[i].sentence, detail);
        return;
      }

  g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: %s: %s", self->name, what, detail);
}

gboolean
ef_sql_exec (const EfSql *self,
             const char *text,
             GError **error)
{
  int code = sqlite3_exec (self->db, text, NULL, NULL, NULL);

  if (code == SQLITE_OK)
    return TRUE;
  ef_sql_set_error (self, code, "write", error);

  return FALSE;
}

static int
bind_values (sqlite3_stmt *statement,
             const char *types,
             va_list values)
{
  int code = SQLITE_OK;
  int i;

  for (i = 0; code == SQLITE_OK && types[i] != '\0'; i++)
    switch (types[i])
      {
      case 'i':
        code = sqlite3_bind_int64 (statement, i + 1, va_arg (values, gint64));
        break;
      case 'd':
        code = sqlite3_bind_double (statement, i + 1, va_arg (values, double));
        break;
      case 's':
        code = sqlite3_bind_text (statement, i + 1, va_arg (values, const char *), -1, SQLITE_TRANSIENT);
        break;
      case 'b':
        {
          GBytes *bytes = va_arg (values, GBytes *);
          gsize length = 0;
          gconstpointer data = bytes != NULL ? g_bytes_get_data (bytes, &length) : NULL;

          code = data != NULL ? sqlite3_bind_blob64 (statement, i + 1, data, length, SQLITE_TRANSIENT) : sqlite3_bind_null (statement, i + 1);
        }
        break;
      default:
        g_assert_not_reached ();
      }

  return code;
}

static sqlite3_stmt *
query_va (const EfSql *self,
          GError **error,
          const char *text,
          const char *types,
          va_list values)
{
  g_autoptr (sqlite3_stmt) statement = NULL;
  int code = sqlite3_prepare_v2 (self->db, text, -1, &statement, NULL);

  if (code == SQLITE_OK)
    code = bind_values (statement, types, values);
  if (code != SQLITE_OK)
    {
      ef_sql_set_error (self, code, "read", error);
      return NULL;
    }

  return g_steal_pointer (&statement);
}

sqlite3_stmt *
ef_sql_query (const EfSql *self,
              GError **error,
              const char *text,
              const char *types,
              ...)
{
  sqlite3_stmt *statement;
  va_list values;

  va_start (values, types);
  statement = query_va (self, error, text, types, values);
  va_end (values);

  return statement;
}

gboolean
ef_sql_step (const EfSql *self,
             sqlite3_stmt *statement,
             gboolean *row_out,
             GError **error)
{
  int code = sqlite3_step (statement);

  if (row_out != NULL)
    *row_out = code == SQLITE_ROW;
  if (code == SQLITE_ROW || code == SQLITE_DONE)
    return TRUE;
  ef_sql_set_error (self, code, sqlite3_stmt_readonly (statement) ? "read" : "write", error);

  return FALSE;
}

gboolean
ef_sql_again (const EfSql *self,
              sqlite3_stmt *statement,
              GError **error,
              const char *types,
              ...)
{
  va_list values;
  gboolean done;
  int code;

  va_start (values, types);
  code = bind_values (statement, types, values);
  va_end (values);
  if (code != SQLITE_OK)
    {
      ef_sql_set_error (self, code, "write", error);
      return FALSE;
    }

  done = ef_sql_step (self, statement, NULL, error);
  sqlite3_reset (statement);

  return done;
}

gboolean
ef_sql_run (const EfSql *self,
            int *changed_out,
            GError **error,
            const char *text,
            const char *types,
            ...)
{
  g_autoptr (sqlite3_stmt) statement = NULL;
  va_list values;

  va_start (values, types);
  statement = query_va (self, error, text, types, values);
  va_end (values);
  if (statement == NULL || !ef_sql_step (self, statement, NULL, error))
    return FALSE;
  if (changed_out != NULL)
    *changed_out = sqlite3_changes (self->db);

  return TRUE;
}

gboolean
ef_sql_integer (const EfSql *self,
                gint64 fallback,
                gint64 *out,
                GError **error,
                const char *text,
                const char *types,
                ...)
{
  g_autoptr (sqlite3_stmt) statement = NULL;
  va_list values;
  gboolean row;

  va_start (values, types);
  statement = query_va (self, error, text, types, values);
  va_end (values);
  if (statement == NULL || !ef_sql_step (self, statement, &row, error))
    return FALSE;
  *out = row ? sqlite3_column_int64 (statement, 0) : fallback;

  return TRUE;
}

char *
ef_sql_column_text (sqlite3_stmt *statement,
                    int column)
{
  const char *text = (const char *) sqlite3_column_text (statement, column);

  return text != NULL ? g_utf8_make_valid (text, -1) : NULL;
}

double
ef_sql_column_double (sqlite3_stmt *statement,
                      int column)
{
  if (sqlite3_column_type (statement, column) == SQLITE_NULL)
    return NAN;

  return sqlite3_column_double (statement, column);
}

gboolean
ef_transaction_begin (EfTransaction *self,
                      const EfSql *sql,
                      GError **error)
{
  if (!ef_sql_exec (sql, "BEGIN IMMEDIATE", error))
    return FALSE;
  self->sql = sql;

  return TRUE;
}

gboolean
ef_transaction_commit (EfTransaction *self,
                       GError **error)
{
  if (!ef_sql_exec (self->sql, "COMMIT", error))
    return FALSE; /* left open: clearing rolls it back */
  self->sql = NULL;

  return TRUE;
}

void
ef_transaction_clear (EfTransaction *self)
{
  if (self->sql == NULL)
    return;
  /* Some failures have rolled back already. */
  if (!sqlite3_get_autocommit (self->sql->db))
    sqlite3_exec (self->sql->db, "ROLLBACK", NULL, NULL, NULL);
  self->sql = NULL;
}
