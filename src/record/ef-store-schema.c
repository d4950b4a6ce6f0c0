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
  "UPDATE item SET tag = " EF_SQL_ITEM_TAG ("kind", "body") ", words = " EF_SQL_ITEM_WORDS_3 ("body") ";"
  "CREATE INDEX item_tag ON item (job, tag) WHERE tag IS NOT NULL;"
  "CREATE INDEX item_words ON item (job) WHERE words IS NOT NULL;"
  "ALTER TABLE job ADD COLUMN findings TEXT NOT NULL DEFAULT '';"
  "UPDATE job SET findings = " EF_SQL_JOB_FINDINGS ";"
  "CREATE INDEX job_model_day ON job (model, day DESC, id DESC);"
  "CREATE VIRTUAL TABLE job_text USING fts5 (body, tokenize = 'trigram');"
  "INSERT INTO job_text (rowid, body) SELECT id, " EF_SQL_JOB_TEXT_3 " FROM job;",

  /* 4: the shop's gauges, apart from the jobs' copies, and all that was ever changed of them. */
  "CREATE TABLE gauge ("
  "  id TEXT PRIMARY KEY,"
  "  seq INTEGER NOT NULL,"
  "  version INTEGER NOT NULL,"
  "  body TEXT NOT NULL,"
  "  retired TEXT);"                       /* why it isn't used any more */
  "CREATE TABLE gauge_change ("
  "  gauge TEXT NOT NULL REFERENCES gauge (id),"
  "  seq INTEGER NOT NULL,"
  "  time TEXT NOT NULL,"
  "  role TEXT NOT NULL,"
  "  bench TEXT NOT NULL,"
  "  program TEXT NOT NULL,"
  "  label TEXT NOT NULL,"
  "  body TEXT NOT NULL,"
  "  retired TEXT,"
  "  PRIMARY KEY (gauge, seq));"
  "CREATE TRIGGER gauge_change_no_update BEFORE UPDATE ON gauge_change"
  "  BEGIN SELECT raise (ABORT, 'history is only added to'); END;"
  "CREATE TRIGGER gauge_change_no_delete BEFORE DELETE ON gauge_change"
  "  BEGIN SELECT raise (ABORT, 'history is only added to'); END;"
  "CREATE TRIGGER gauge_no_delete BEFORE DELETE ON gauge"
  "  BEGIN SELECT raise (ABORT, 'gauges are retired, not deleted'); END;",

  /* 5: the record that stands in a dispute: what each row of history is, under which rules, and whether the clock had been set back; jobs that are
   * withdrawn or sealed; the chain of seals, its keys, and the seals that came with jobs from elsewhere. */
  "ALTER TABLE change ADD COLUMN rules TEXT NOT NULL DEFAULT '';"
  "ALTER TABLE change ADD COLUMN action TEXT NOT NULL DEFAULT 'edit';"
  "ALTER TABLE change ADD COLUMN reason TEXT NOT NULL DEFAULT '';"
  "ALTER TABLE change ADD COLUMN clock_back INTEGER NOT NULL DEFAULT 0;"
  "ALTER TABLE job ADD COLUMN withdrawn INTEGER NOT NULL DEFAULT 0;"
  "ALTER TABLE job ADD COLUMN sealed INTEGER NOT NULL DEFAULT 0;"   /* number of the seal it stands under; 0 open; -1 sealed elsewhere */
  "ALTER TABLE job ADD COLUMN revision INTEGER NOT NULL DEFAULT 1;"
  "CREATE INDEX job_kept_day ON job (withdrawn, day DESC, id DESC);"
  "CREATE INDEX job_kept_verdict_day ON job (withdrawn, verdict, day DESC, id DESC);"
  "CREATE INDEX job_kept_model_day ON job (withdrawn, model, day DESC, id DESC);"
  "DROP INDEX job_verdict_day;"
  "DROP INDEX job_model_day;"
  "CREATE INDEX change_standing ON change (job, seq) WHERE action <> 'edit';"
  "CREATE TRIGGER job_no_delete BEFORE DELETE ON job"
  "  BEGIN SELECT raise (ABORT, 'jobs are withdrawn, not deleted'); END;"
  "CREATE TABLE seal ("
  "  number INTEGER PRIMARY KEY,"          /* 1, 2, 3 … without a gap */
  "  job INTEGER REFERENCES job (id),"     /* NULL: an entry about a key */
  "  statement TEXT NOT NULL,"             /* canonical JSON: what is signed; its SHA-256 stands in the next one */
  "  signature TEXT NOT NULL,"
  "  endorsement TEXT,"                    /* of a new key, by the old one */
  "  form BLOB,"                           /* the job as sealed, canonical JSON, packed */
  "  locator TEXT);"                       /* where in the form something was changed */
  "CREATE INDEX seal_job ON seal (job);"
  "CREATE TRIGGER seal_no_update BEFORE UPDATE ON seal"
  "  BEGIN SELECT raise (ABORT, 'seals are only added'); END;"
  "CREATE TRIGGER seal_no_delete BEFORE DELETE ON seal"
  "  BEGIN SELECT raise (ABORT, 'seals are only added'); END;"
  "CREATE TABLE seal_key ("
  "  public TEXT PRIMARY KEY,"
  "  salt TEXT NOT NULL,"
  "  nonce TEXT NOT NULL,"
  "  box TEXT NOT NULL,"                   /* the secret key under the passphrase */
  "  operations INTEGER NOT NULL,"
  "  memory INTEGER NOT NULL,"
  "  made TEXT NOT NULL);"
  "CREATE TABLE seal_import ("
  "  id INTEGER PRIMARY KEY,"
  "  job INTEGER NOT NULL REFERENCES job (id),"
  "  time TEXT NOT NULL,"
  "  block TEXT NOT NULL);"
  "CREATE INDEX seal_import_job ON seal_import (job);"
  "CREATE TRIGGER seal_import_no_update BEFORE UPDATE ON seal_import"
  "  BEGIN SELECT raise (ABORT, 'seals are only added'); END;"
  "CREATE TRIGGER seal_import_no_delete BEFORE DELETE ON seal_import"
  "  BEGIN SELECT raise (ABORT, 'seals are only added'); END;",

  /* 6: the shelf, and all that ever happened to what lies on it. */
  "CREATE TABLE shelf ("
  "  id INTEGER PRIMARY KEY,"
  "  code TEXT NOT NULL UNIQUE,"
  "  pair TEXT NOT NULL,"                  /* mates have the same; '' none */
  "  sheet TEXT NOT NULL,"
  "  model TEXT NOT NULL,"
  "  part TEXT NOT NULL,"
  "  kind TEXT NOT NULL,"
  "  material TEXT NOT NULL,"
  "  from_job TEXT NOT NULL,"
  "  state TEXT NOT NULL,"
  "  holder TEXT NOT NULL,"                /* number of the job it's reserved for or used in; '' */
  "  reason TEXT NOT NULL,"
  "  search TEXT NOT NULL,"
  "  body TEXT NOT NULL,"
  "  changed TEXT NOT NULL);"
  "CREATE UNIQUE INDEX shelf_once ON shelf (from_job, part) WHERE from_job <> '';"
  "CREATE INDEX shelf_pair ON shelf (pair) WHERE pair <> '';"
  "CREATE INDEX shelf_sheet ON shelf (sheet, state);"
  "CREATE TABLE shelf_change ("
  "  code TEXT NOT NULL REFERENCES shelf (code),"
  "  seq INTEGER NOT NULL,"
  "  time TEXT NOT NULL,"
  "  role TEXT NOT NULL,"
  "  program TEXT NOT NULL,"
  "  label TEXT NOT NULL,"
  "  state TEXT NOT NULL,"
  "  holder TEXT NOT NULL,"
  "  reason TEXT NOT NULL,"
  "  PRIMARY KEY (code, seq));"
  "CREATE TRIGGER shelf_no_delete BEFORE DELETE ON shelf"
  "  BEGIN SELECT raise (ABORT, 'parts are withdrawn, not deleted'); END;"
  "CREATE TRIGGER shelf_change_no_update BEFORE UPDATE ON shelf_change"
  "  BEGIN SELECT raise (ABORT, 'history is only added to'); END;"
  "CREATE TRIGGER shelf_change_no_delete BEFORE DELETE ON shelf_change"
  "  BEGIN SELECT raise (ABORT, 'history is only added to'); END;",

  /* 7: files by their content, in pieces. */
  "CREATE TABLE file ("
  "  id INTEGER PRIMARY KEY,"
  "  digest TEXT NOT NULL UNIQUE,"         /* SHA-256 of all pieces together */
  "  name TEXT NOT NULL,"                  /* as it was first called */
  "  type TEXT NOT NULL,"                  /* media type by its first bytes */
  "  size INTEGER NOT NULL,"
  "  time TEXT NOT NULL);"
  "CREATE TABLE file_piece ("
  "  file INTEGER NOT NULL REFERENCES file (id),"
  "  part INTEGER NOT NULL,"               /* 0, 1, 2 … */
  "  body BLOB NOT NULL,"
  "  PRIMARY KEY (file, part));"
  "CREATE TRIGGER file_no_update BEFORE UPDATE ON file"
  "  BEGIN SELECT raise (ABORT, 'files are only added'); END;"
  "CREATE TRIGGER file_no_delete BEFORE DELETE ON file"
  "  BEGIN SELECT raise (ABORT, 'files are only added'); END;"
  "CREATE TRIGGER file_piece_no_update BEFORE UPDATE ON file_piece"
  "  BEGIN SELECT raise (ABORT, 'files are only added'); END;"
  "CREATE TRIGGER file_piece_no_delete BEFORE DELETE ON file_piece"
  "  BEGIN SELECT raise (ABORT, 'files are only added'); END;",

  /* 8: who may do what: roles with their PINs, and all that was ever changed of them. */
  "CREATE TABLE role ("
  "  name TEXT PRIMARY KEY,"
  "  kind TEXT NOT NULL,"
  "  pin TEXT,"                            /* Argon2id with its salt, as the library writes it; NULL none */
  "  removed TEXT,"                        /* why it isn't used any more; NULL in use */
  "  wrong INTEGER NOT NULL DEFAULT 0,"    /* PINs tried since the last right one */
  "  tried TEXT NOT NULL DEFAULT '');"     /* when the last was */
  "CREATE TABLE role_change ("
  "  seq INTEGER PRIMARY KEY,"
  "  role TEXT NOT NULL REFERENCES role (name),"
  "  time TEXT NOT NULL,"
  "  by TEXT NOT NULL,"
  "  program TEXT NOT NULL,"
  "  label TEXT NOT NULL);"
  "CREATE TRIGGER role_no_delete BEFORE DELETE ON role"
  "  BEGIN SELECT raise (ABORT, 'roles are removed with a reason, not deleted'); END;"
  "CREATE TRIGGER role_change_no_update BEFORE UPDATE ON role_change"
  "  BEGIN SELECT raise (ABORT, 'history is only added to'); END;"
  "CREATE TRIGGER role_change_no_delete BEFORE DELETE ON role_change"
  "  BEGIN SELECT raise (ABORT, 'history is only added to'); END;",

  /* 9: every version of each lesson, and the attempts at them: jobs of their own kind, which are never listed or counted among the others. */
  "CREATE TABLE lesson ("
  "  seq INTEGER PRIMARY KEY,"
  "  name TEXT NOT NULL,"                  /* the same over all versions */
  "  digest TEXT NOT NULL,"                /* of the trainer's lesson */
  "  title TEXT NOT NULL,"
  "  pump TEXT NOT NULL,"
  "  whole INTEGER NOT NULL,"              /* 1: with the reference; 0: the apprentice's sheet */
  "  away INTEGER NOT NULL,"               /* put away: not listed */
  "  body TEXT NOT NULL,"
  "  time TEXT NOT NULL,"
  "  role TEXT NOT NULL,"
  "  program TEXT NOT NULL,"
  "  label TEXT NOT NULL);"
  "CREATE INDEX lesson_name ON lesson (name, seq);"
  "CREATE INDEX lesson_digest ON lesson (digest);"
  "CREATE TRIGGER lesson_no_update BEFORE UPDATE ON lesson"
  "  BEGIN SELECT raise (ABORT, 'versions of lessons are only added'); END;"
  "CREATE TRIGGER lesson_no_delete BEFORE DELETE ON lesson"
  "  BEGIN SELECT raise (ABORT, 'versions of lessons are only added'); END;"
  "ALTER TABLE job ADD COLUMN lesson TEXT NOT NULL DEFAULT '';"  /* digest of the lesson that it's an attempt at; '' a job */
  "CREATE TABLE attempt ("
  "  job INTEGER PRIMARY KEY REFERENCES job (id),"
  "  title TEXT NOT NULL,"
  "  apprentice TEXT NOT NULL,"
  "  started TEXT NOT NULL,"
  "  handed_in TEXT NOT NULL DEFAULT '',"
  "  score REAL,"
  "  result TEXT NOT NULL DEFAULT '');"    /* JSON */
  "CREATE TRIGGER attempt_no_delete BEFORE DELETE ON attempt"
  "  BEGIN SELECT raise (ABORT, 'attempts are kept'); END;",

  /* 10: what each job came to when it was last assessed, for statistics and for finding by it; text that is searched without accents; an index that the
   * filters of the list are answered from. An outcome is made again at any time, it isn't history. */
  "CREATE TABLE outcome ("
  "  job INTEGER PRIMARY KEY REFERENCES job (id),"
  "  form INTEGER NOT NULL,"               /* how it was made: those made otherwise are made again */
  "  seq INTEGER NOT NULL,"                /* the last row of history that it knows of */
  "  rules TEXT NOT NULL,"
  "  hours REAL,"
  "  reworked TEXT NOT NULL);"             /* day on which rework was last recorded; '' none was */
  "CREATE TABLE outcome_finding ("
  "  job INTEGER NOT NULL REFERENCES job (id),"
  "  subject TEXT NOT NULL,"               /* as in verdicts: "part:separator" */
  "  source TEXT NOT NULL,"                /* mark or rule */
  "  finding TEXT NOT NULL,"               /* kind of mark, or the rule's id */
  "  title TEXT NOT NULL,"                 /* of the subject */
  "  word TEXT NOT NULL,"                  /* worst verdict it led to */
  "  n INTEGER NOT NULL,"
  "  PRIMARY KEY (job, subject, source, finding)) WITHOUT ROWID;"
  "CREATE INDEX outcome_finding_kind ON outcome_finding (finding, job);"
  "CREATE TABLE outcome_clearance ("
  "  job INTEGER NOT NULL REFERENCES job (id),"
  "  section TEXT NOT NULL,"
  "  gear TEXT NOT NULL,"
  "  title TEXT NOT NULL,"
  "  as_new REAL,"                         /* m, as the ones below */
  "  found REAL NOT NULL,"
  "  PRIMARY KEY (job, section, gear)) WITHOUT ROWID;"
  "UPDATE item SET words = " EF_SQL_ITEM_WORDS ("body") " WHERE kind IN ('header', 'replacement');"
  "UPDATE job SET search = " EF_SQL_JOB_SEARCH ";"
  "DELETE FROM job_text;"
  "INSERT INTO job_text (rowid, body) SELECT id, " EF_SQL_JOB_TEXT " FROM job;"
  "CREATE INDEX job_list ON job (withdrawn, lesson, day DESC, id DESC, verdict, model, sealed, findings);"
  "DROP INDEX job_kept_day;",

  /* 11: gauges may have certificates as files, of which earlier versions of the program know nothing: they are to refuse the store, not its gauges. An index
   * of jobs' gauges, so that verifying finds those certificates without reading every item. */
  "CREATE INDEX item_gauge ON item (job, seq) WHERE kind = 'gauge';",
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

char *
ef_store_plain (const char *text)
{
  g_autofree char *valid = g_utf8_make_valid (text, -1);
  g_autofree char *apart = g_utf8_normalize (valid, -1, G_NORMALIZE_ALL);
  g_autofree char *folded = g_utf8_casefold (apart, -1);
  g_autofree char *again = g_utf8_normalize (folded, -1, G_NORMALIZE_ALL); /* folding may put accents in anew */
  g_autoptr (GString) plain = g_string_new (NULL);

  for (const char *c = again; *c != '\0'; c = g_utf8_next_char (c))
    if (g_unichar_type (g_utf8_get_char (c)) != G_UNICODE_NON_SPACING_MARK)
      g_string_append_unichar (plain, g_utf8_get_char (c));

  return g_utf8_normalize (plain->str, -1, G_NORMALIZE_ALL_COMPOSE);
}

typedef char *(*TextFunction) (const char *text);

static void
text_function (sqlite3_context *context,
               int n_values,
               sqlite3_value **values)
{
  TextFunction function = (TextFunction) sqlite3_user_data (context);
  const char *text = (const char *) sqlite3_value_text (values[0]);

  if (text == NULL)
    sqlite3_result_null (context);
  else
    sqlite3_result_text (context, function (text), -1, g_free);
}

gboolean
ef_store_schema_add_functions (const EfSql *sql,
                               GError **error)
{
  static const struct
  {
    const char *name;
    TextFunction function;
  } functions[] = { { "ef_fold", ef_store_fold }, { "ef_plain", ef_store_plain } };

  for (guint i = 0; i < G_N_ELEMENTS (functions); i++)
    {
      int code = sqlite3_create_function (sql->db, functions[i].name, 1, SQLITE_UTF8 | SQLITE_DETERMINISTIC | SQLITE_DIRECTONLY,
                                          (gpointer) functions[i].function, text_function, NULL, NULL);

      if (code != SQLITE_OK)
        {
          ef_sql_set_error (sql, code, "open", error);
          return FALSE;
        }
    }

  return TRUE;
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

#define LOOK_OPERATIONS 10000 /* of the database, between looks at the cancellable */

static int
stop_when_cancelled (gpointer cancellable)
{
  return g_cancellable_is_cancelled (cancellable);
}

/* Within the transaction. */
static gboolean
run_steps (const EfSql *sql,
           gint64 from,
           gint64 target,
           const EfSchemaWatch *watch,
           GError **error)
{
  g_autofree char *stamp = g_strdup_printf ("PRAGMA application_id = %d; PRAGMA user_version = %" G_GINT64_FORMAT, EF_STORE_APPLICATION_ID, target);

  for (gint64 step = from; step < target; step++)
    {
      if (!ef_sql_exec (sql, steps[step], error))
        return FALSE;
      if (watch->progress != NULL)
        watch->progress ((double) (step + 1 - from) / (double) (target - from), watch->user_data);
    }

  return ef_sql_exec (sql, stamp, error);
}

gboolean
ef_store_schema_migrate_watched (const EfSql *sql,
                                 gint64 target,
                                 const EfSchemaWatch *watch,
                                 GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  gint64 version;
  gboolean done;

  if (target == 0)
    target = ef_store_schema_version ();
  if (!ef_sql_integer (sql, 0, &version, error, "PRAGMA user_version", ""))
    return FALSE;
  if (version >= target)
    return TRUE;
  /* Another window may do it while we wait for the lock. */
  if (!ef_transaction_begin (&transaction, sql, error)
      || !ef_sql_integer (sql, 0, &version, error, "PRAGMA user_version", ""))
    return FALSE;
  if (version >= target)
    return TRUE;
  if (watch->cancellable != NULL)
    sqlite3_progress_handler (sql->db, LOOK_OPERATIONS, stop_when_cancelled, watch->cancellable);
  done = run_steps (sql, version, target, watch, error);
  sqlite3_progress_handler (sql->db, 0, NULL, NULL);
  if (done && g_cancellable_is_cancelled (watch->cancellable))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, "%s: stopped; nothing was changed", sql->name);
      return FALSE;
    }

  return done && ef_transaction_commit (&transaction, error);
}

gboolean
ef_store_schema_migrate (const EfSql *sql,
                         gint64 target,
                         GError **error)
{
  return ef_store_schema_migrate_watched (sql, target, &(EfSchemaWatch) { 0 }, error);
}

#define PARTS                                                                        \
  "SELECT type || ' ' || name FROM sqlite_master WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'" \
  " UNION ALL SELECT 'column ' || m.name || '.' || c.name FROM sqlite_master AS m, pragma_table_info (m.name) AS c WHERE m.type = 'table'"

static GHashTable *
list_parts (const EfSql *sql,
            GError **error)
{
  g_autoptr (GHashTable) parts = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (sql, error, PARTS, "");
  gboolean row = TRUE;

  if (statement == NULL)
    return NULL;
  while (ef_sql_step (sql, statement, &row, error))
    {
      if (!row)
        return g_steal_pointer (&parts);
      g_hash_table_add (parts, ef_sql_column_text (statement, 0));
    }

  return NULL;
}

/* Those of a new store of that version, made in memory. */
static GHashTable *
list_expected (gint64 version,
               GError **error)
{
  char name[] = "memory";
  EfSql sql = { NULL, name };
  GHashTable *parts = NULL;
  int code = sqlite3_open_v2 (":memory:", &sql.db, SQLITE_OPEN_READWRITE, NULL);

  if (code != SQLITE_OK)
    ef_sql_set_error (&sql, code, "open", error);
  else if (ef_store_schema_add_functions (&sql, error) && ef_store_schema_migrate (&sql, version, error))
    parts = list_parts (&sql, error);
  sqlite3_close_v2 (sql.db);

  return parts;
}

gboolean
ef_store_schema_compare (const EfSql *sql,
                         gint64 version,
                         GError **error)
{
  g_autoptr (GHashTable) expected = list_expected (version, error);
  g_autoptr (GHashTable) found = expected != NULL ? list_parts (sql, error) : NULL;
  GHashTableIter iter;
  gpointer part;

  if (found == NULL)
    return FALSE;
  g_hash_table_iter_init (&iter, expected);
  while (g_hash_table_iter_next (&iter, &part, NULL))
    if (!g_hash_table_contains (found, part))
      {
        g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: expected the %s of a store of version %" G_GINT64_FORMAT ", found none",
                     sql->name, (const char *) part, version);
        return FALSE;
      }

  return TRUE;
}
