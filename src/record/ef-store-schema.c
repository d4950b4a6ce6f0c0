/* The store's tables and how older ones become the present ones.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A step once released is never edited; a change of the tables is a new step at the end.
 */
#include "ef-store-schema.h"

static const char *const steps[] = {
  /* 1: jobs, their items as they are now, all that ever happened to them, and the pump sheets they were made with. */
  "CREATE TABLE sheet ("
  "  id INTEGER PRIMARY KEY,"
  "  digest TEXT NOT NULL UNIQUE,"         /* SHA-256 of the body */
  "  name TEXT NOT NULL,"                  /* the sheet's own id */
  "  model TEXT NOT NULL,"
  "  body TEXT NOT NULL,"
  "  edited INTEGER NOT NULL DEFAULT 0);"  /* counts up with each sheet kept for itself; 0: only held by jobs */
  "CREATE TABLE job ("
  "  id INTEGER PRIMARY KEY AUTOINCREMENT,"
  "  number TEXT NOT NULL UNIQUE,"
  "  sheet INTEGER NOT NULL REFERENCES sheet (id),"
  "  pump TEXT NOT NULL,"
  "  model TEXT NOT NULL,"
  "  serial TEXT NOT NULL DEFAULT '',"
  "  received TEXT NOT NULL DEFAULT '',"
  "  customer TEXT NOT NULL DEFAULT '',"
  "  verdict TEXT NOT NULL DEFAULT '',"
  "  found_pressure REAL,"
  "  expected_pressure REAL,"
  "  changed TEXT NOT NULL);"
  "CREATE TABLE item ("
  "  job INTEGER NOT NULL REFERENCES job (id),"
  "  kind TEXT NOT NULL,"
  "  id TEXT NOT NULL,"
  "  seq INTEGER NOT NULL,"                /* order of making within the kind */
  "  body TEXT NOT NULL,"
  "  PRIMARY KEY (job, kind, id));"
  "CREATE INDEX item_seq ON item (job, kind, seq);"
  "CREATE TABLE change ("
  "  job INTEGER NOT NULL REFERENCES job (id),"
  "  seq INTEGER NOT NULL,"
  "  time TEXT NOT NULL,"
  "  role TEXT NOT NULL,"
  "  bench TEXT NOT NULL,"
  "  program TEXT NOT NULL,"
  "  label TEXT NOT NULL,"
  "  edits TEXT NOT NULL,"
  "  PRIMARY KEY (job, seq));"
  "CREATE TRIGGER change_no_update BEFORE UPDATE ON change"
  "  BEGIN SELECT raise (ABORT, 'history is only added to'); END;"
  "CREATE TRIGGER change_no_delete BEFORE DELETE ON change"
  "  BEGIN SELECT raise (ABORT, 'history is only added to'); END;",

  /* 2: a list of many thousand jobs that opens at once: counted marks, the day it stands under, folded text, indices. */
  "ALTER TABLE job ADD COLUMN n_marks INTEGER NOT NULL DEFAULT 0;"
  "ALTER TABLE job ADD COLUMN day TEXT NOT NULL DEFAULT '';"
  "ALTER TABLE job ADD COLUMN search TEXT NOT NULL DEFAULT '';"
  "UPDATE job SET"
  "  n_marks = (SELECT count (*) FROM item WHERE item.job = job.id AND item.kind = 'mark'),"
  "  day = CASE WHEN received <> '' THEN received ELSE substr ("
  "    coalesce ((SELECT min (time) FROM change WHERE change.job = job.id), changed), 1, 10) END,"
  "  search = ef_fold (number || char (10) || pump || char (10) || model || char (10) || serial || char (10) || customer);"
  "CREATE INDEX job_day ON job (day DESC, id DESC);"
  "CREATE INDEX job_verdict_day ON job (verdict, day DESC, id DESC);",

  /* 3: full-text search over what was written, and the kinds of wear found in each job. */
  "ALTER TABLE item ADD COLUMN tag TEXT;"
  "ALTER TABLE item ADD COLUMN words TEXT;"
  "UPDATE item SET tag = " EF_SQL_ITEM_TAG ("kind", "body") ", words = " EF_SQL_ITEM_WORDS ("body") ";"
  "CREATE INDEX item_tag ON item (job, tag) WHERE tag IS NOT NULL;"
  "CREATE INDEX item_words ON item (job) WHERE words IS NOT NULL;"
  "ALTER TABLE job ADD COLUMN findings TEXT NOT NULL DEFAULT '';"
  "UPDATE job SET findings = " EF_SQL_JOB_FINDINGS ";"
  "CREATE INDEX job_model_day ON job (model, day DESC, id DESC);"
  "CREATE VIRTUAL TABLE job_text USING fts5 (body, tokenize = 'trigram');"
  "INSERT INTO job_text (rowid, body) SELECT id, " EF_SQL_JOB_TEXT " FROM job;",
};

gint64
ef_store_schema_version (void)
{
  return G_N_ELEMENTS (steps);
}

char *
ef_store_fold (const char *text)
{
  g_autofree char *valid = g_utf8_make_valid (text, -1);
  g_autofree char *composed = g_utf8_normalize (valid, -1, G_NORMALIZE_ALL_COMPOSE);

  return g_utf8_casefold (composed, -1);
}

static void
fold_function (sqlite3_context *context,
               int n_values,
               sqlite3_value **values)
{
  const char *text = (const char *) sqlite3_value_text (values[0]);

  if (text == NULL)
    sqlite3_result_null (context);
  else
    sqlite3_result_text (context, ef_store_fold (text), -1, g_free);
}

gboolean
ef_store_schema_add_functions (const EfSql *sql,
                               GError **error)
{
  int code = sqlite3_create_function (sql->db, "ef_fold", 1, SQLITE_UTF8 | SQLITE_DETERMINISTIC | SQLITE_DIRECTONLY,
                                      NULL, fold_function, NULL, NULL);

  if (code == SQLITE_OK)
    return TRUE;
  ef_sql_set_error (sql, code, "open", error);

  return FALSE;
}

gboolean
ef_store_schema_check (const EfSql *sql,
                       GError **error)
{
  gint64 version, application, tables;

  if (!ef_sql_integer (sql, 0, &version, error, "PRAGMA user_version", "")
      || !ef_sql_integer (sql, 0, &application, error, "PRAGMA application_id", "")
      || !ef_sql_integer (sql, 0, &tables, error, "SELECT count (*) FROM sqlite_master", ""))
    return FALSE;

  if (application != EF_STORE_APPLICATION_ID && (application != 0 || version != 0 || tables != 0))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT,
                   "%s: expected a store of this program, found another database; nothing was changed in it", sql->name);
      return FALSE;
    }
  if (version < 0 || version > ef_store_schema_version ())
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NEWER_FORMAT,
                   "%s: expected a store of version %" G_GINT64_FORMAT " or older, found version %" G_GINT64_FORMAT
                   ". A newer version of this program made it; open it with that one. Nothing was changed in it",
                   sql->name, ef_store_schema_version (), version);
      return FALSE;
    }

  return TRUE;
}

/* Another window may have done the step while we waited for the lock. */
static gboolean
migrate_step (const EfSql *sql,
              gint64 from,
              GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autofree char *stamp = g_strdup_printf ("PRAGMA application_id = %d; PRAGMA user_version = %" G_GINT64_FORMAT,
                                            EF_STORE_APPLICATION_ID, from + 1);
  gint64 version;

  if (!ef_transaction_begin (&transaction, sql, error)
      || !ef_sql_integer (sql, 0, &version, error, "PRAGMA user_version", ""))
    return FALSE;
  if (version != from)
    return TRUE;

  return ef_sql_exec (sql, steps[from], error)
         && ef_sql_exec (sql, stamp, error)
         && ef_transaction_commit (&transaction, error);
}

gboolean
ef_store_schema_migrate (const EfSql *sql,
                         gint64 target,
                         GError **error)
{
  gint64 version, step;

  if (target == 0)
    target = ef_store_schema_version ();
  if (!ef_sql_integer (sql, 0, &version, error, "PRAGMA user_version", ""))
    return FALSE;
  for (step = version; step < target; step++)
    if (!migrate_step (sql, step, error))
      return FALSE;

  return TRUE;
}
