/* A thin hand on SQLite: bound values, transactions that roll back by themselves, and one place for errors.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * @types tells what follows, one letter a parameter: i gint64, d double (NAN: NULL), s const char * (NULL: NULL),
 * b GBytes * (NULL: NULL).
 */
#pragma once

#include <sqlite3.h>
#include "../base/ef-error.h"

G_BEGIN_DECLS

typedef struct
{
  sqlite3 *db;
  char *name; /* of the file, for messages */
} EfSql;

G_DEFINE_AUTOPTR_CLEANUP_FUNC (sqlite3_stmt, sqlite3_finalize)

/* Turns an SQLite result code into an EfError: busy, full, corrupt (damaged or no database at all), constraint (EF_ERROR_INVALID),
 * anything else EF_ERROR_IO. @what says what was being done. */
void ef_sql_set_error (const EfSql *self, int code, const char *what, GError **error);
gboolean ef_sql_exec (const EfSql *self, const char *text, GError **error);
/* Prepares and binds. NULL on error. */
sqlite3_stmt *ef_sql_query (const EfSql *self, GError **error, const char *text, const char *types, ...);
/* @row_out (or NULL): whether there is a row. FALSE on error. */
gboolean ef_sql_step (const EfSql *self, sqlite3_stmt *statement, gboolean *row_out, GError **error);
/* For a statement run many times: binds anew, runs it to its end, resets it. */
gboolean ef_sql_again (const EfSql *self, sqlite3_stmt *statement, GError **error, const char *types, ...);
/* Prepares, binds and runs to the end; @changed_out (or NULL) receives how many rows it changed. */
gboolean ef_sql_run (const EfSql *self, int *changed_out, GError **error, const char *text, const char *types, ...);
/* The first column of the first row as a number; @fallback where there's no row. */
gboolean ef_sql_integer (const EfSql *self, gint64 fallback, gint64 *out, GError **error, const char *text, const char *types, ...);
char *ef_sql_column_text (sqlite3_stmt *statement, int column); /* a copy, made valid UTF-8; NULL stays NULL */
double ef_sql_column_double (sqlite3_stmt *statement, int column); /* NAN for NULL */

/* Rolled back when it goes out of scope uncommitted:
 *   g_auto (EfTransaction) transaction = { 0 };
 *   if (!ef_transaction_begin (&transaction, sql, error)) … return ef_transaction_commit (&transaction, error); */
typedef struct
{
  const EfSql *sql; /* NULL: none open */
} EfTransaction;

/* For writing, from the start: EF_ERROR_BUSY where another holds the store. */
gboolean ef_transaction_begin (EfTransaction *self, const EfSql *sql, GError **error);
/* Where it fails, clearing rolls back. */
gboolean ef_transaction_commit (EfTransaction *self, GError **error);
void ef_transaction_clear (EfTransaction *self);
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (EfTransaction, ef_transaction_clear)

G_END_DECLS
