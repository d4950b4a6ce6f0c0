/* A whole store: the chain of its seals, and each sealed job beside its own.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-verify-private.h"
#include "ef-store-schema.h"
#include "../base/ef-json-canonical.h"

#include <math.h>
#include <string.h>

/* Of the database's machine: some tenths of a millisecond. */
#define STEPS_BETWEEN_LOOKS 10000
/* Stores of an earlier version have no seals. */
#define FIRST_VERSION 5
/* Nor files. */
#define FIRST_VERSION_WITH_FILES 7
#define FIRST_VERSION_WITH_ATTEMPTS 9

typedef struct
{
  EfStore *store;
  const EfSql *sql;
  EfVerification *out;
  const EfVerifyOptions *options;
  EfVerifyKeys keys;
  GHashTable *files;   /* digest -> state of those looked at */
  gboolean has_files;  /* the store is of a version that keeps files */
  gboolean has_attempts; /* the store is of a version that tells attempts at lessons from jobs */
  GCancellable *cancellable;
  gint64 version;      /* of the store */
  gint64 expected;     /* number of the next entry */
  char *previous;      /* digest of the last one; NULL where it was missing */
  gint64 last_unsure;  /* an entry whose signature doesn't hold, not yet told whether statement or signature was changed; 0 */
  char *unsure_digest, *unsure_job;
} Walk;

/* An entry of the chain as it's read. */
typedef struct
{
  EfVerifyAt at;
  gint64 number, job;
  const char *text, *signature, *endorsement, *locator;
  char *digest;
  JsonNode *node;
  JsonObject *statement;
  char *form_text;
  JsonNode *form;
} Entry;

static void
entry_clear (Entry *entry)
{
  g_free (entry->digest);
  g_clear_pointer (&entry->node, json_node_unref);
  g_free (entry->form_text);
  g_clear_pointer (&entry->form, json_node_unref);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Entry, entry_clear)

/* The digest that the next entry keeps of it tells which of the two was changed. */
static void
settle_unsure (Walk *walk,
               const char *kept)
{
  EfVerifyAt at = { walk->out, walk->last_unsure, walk->unsure_job };
  gboolean statement_stands = kept != NULL && g_strcmp0 (kept, walk->unsure_digest) == 0;

  if (walk->last_unsure == 0)
    return;
  ef_verify_tell (&at, EF_VERIFY_BROKEN, kept == NULL ? "seal: statement or signature" : statement_stands ? "seal: signature" : "seal: statement",
                  "the signature isn't that of this statement by its key");
  walk->last_unsure = 0;
  g_clear_pointer (&walk->unsure_digest, g_free);
  g_clear_pointer (&walk->unsure_job, g_free);
}

/* TRUE: the statement can be looked into. */
static gboolean
parse_statement (Entry *entry)
{
  g_autofree char *canonical = NULL;

  entry->node = entry->text != NULL ? json_from_string (entry->text, NULL) : NULL;
  if (entry->node != NULL && JSON_NODE_HOLDS_OBJECT (entry->node))
    canonical = ef_json_canonical (entry->node, NULL);
  if (canonical == NULL || g_strcmp0 (canonical, entry->text) != 0)
    {
      ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "seal: statement", "it can't be read as a statement any more");
      return FALSE;
    }
  entry->statement = json_node_get_object (entry->node);
  entry->at.job = *ef_verify_string (entry->statement, "job") != '\0' ? ef_verify_string (entry->statement, "job") : NULL;

  return ef_verify_members (&entry->at, entry->statement, "seal");
}

static void
check_link (Walk *walk,
            Entry *entry)
{
  const char *previous = entry->statement != NULL ? ef_verify_string (entry->statement, "previous") : NULL;

  if (entry->number > walk->expected)
    {
      EfVerifyAt at = { walk->out, walk->expected, NULL };

      ef_verify_tell (&at, EF_VERIFY_BROKEN, "chain", "entries %" G_GINT64_FORMAT " to %" G_GINT64_FORMAT " were removed", walk->expected, entry->number - 1);
      g_clear_pointer (&walk->previous, g_free);
    }
  settle_unsure (walk, entry->number == walk->expected ? previous : NULL);
  if (previous == NULL)
    return;
  if (ef_verify_integer (entry->statement, "number") != entry->number)
    ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "seal: number", "it says that it is number %" G_GINT64_FORMAT ": put elsewhere in the chain, or changed",
                    ef_verify_integer (entry->statement, "number"));
  if (walk->previous != NULL && !g_str_equal (walk->previous, previous))
    ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "seal: previous", "the entry before it isn't the one that this was sealed after: changed, removed or put elsewhere");
}

static void
check_signature (Walk *walk,
                 Entry *entry)
{
  const char *current = ef_verify_keys_current (&walk->keys);
  const char *key = ef_verify_string (entry->statement, "key");

  if (g_strcmp0 (key, current) != 0)
    ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "seal: key", "it isn't the key in use at that time");
  else
    ef_verify_keys_sealed (&walk->keys, entry->number);
  if (!ef_seal_signature_holds (key, entry->text, entry->signature))
    {
      walk->last_unsure = entry->number;
      walk->unsure_digest = g_strdup (entry->digest);
      walk->unsure_job = g_strdup (entry->at.job);
    }
}

/* What the seal says again of the row of history that it made. */
static gboolean
check_seal_row (Walk *walk,
                Entry *entry,
                GError **error)
{
  g_autoptr (sqlite3_stmt) row = ef_sql_query (walk->sql, error, "SELECT time, role, reason, program, action FROM change WHERE job = ? AND seq = ?",
                                               "ii", entry->job, ef_verify_integer (entry->statement, "history"));
  static const char *const members[] = { "time", "role", "note", "program" };
  gboolean there;
  gint64 revision;

  if (row == NULL || !ef_sql_step (walk->sql, row, &there, error))
    return FALSE;
  if (!there)
    {
      ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "history", "its row %" G_GINT64_FORMAT ", which this seal wrote, is missing",
                      ef_verify_integer (entry->statement, "history"));
      return TRUE;
    }
  for (guint i = 0; i < G_N_ELEMENTS (members); i++)
    {
      g_autofree char *found = ef_sql_column_text (row, (int) i);
      g_autofree char *place = g_strdup_printf ("seal or history row %" G_GINT64_FORMAT ": %s", ef_verify_integer (entry->statement, "history"), members[i]);

      ef_verify_same (&entry->at, place, ef_verify_string (entry->statement, members[i]), found);
    }
  if (!ef_sql_integer (walk->sql, 0, &revision, error, "SELECT 1 + count (*) FROM change WHERE job = ? AND seq < ? AND action = 'revise' AND action <> 'edit'",
                       "ii", entry->job, ef_verify_integer (entry->statement, "history")))
    return FALSE;
  if (revision != ef_verify_integer (entry->statement, "revision"))
    ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "seal: revision", "sealed %" G_GINT64_FORMAT ", by the history it was %" G_GINT64_FORMAT,
                    ef_verify_integer (entry->statement, "revision"), revision);

  return TRUE;
}

static void
check_form (Entry *entry,
            sqlite3_stmt *statement,
            int column)
{
  g_autoptr (GError) local = NULL;
  JsonObject *parts;

  entry->form_text = ef_seal_unpack (sqlite3_column_blob (statement, column), (gsize) sqlite3_column_bytes (statement, column), &local);
  if (entry->form_text == NULL)
    {
      ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "sealed form", "%s", local->message);
      return;
    }
  if (entry->locator == NULL)
    entry->locator = "";
  parts = json_object_has_member (entry->statement, "parts") ? json_object_get_object_member (entry->statement, "parts") : NULL;
  if (parts != NULL)
    {
      g_autofree char *digest = ef_sha256 (entry->form_text, -1);
      g_autofree char *locator_digest = ef_sha256 (entry->locator, -1);

      /* All is well as a rule, and the form needn't be taken apart. */
      if (g_str_equal (digest, ef_verify_string (entry->statement, "form")) && g_str_equal (locator_digest, ef_verify_string (entry->statement, "locator"))
          && json_object_get_size (parts) == 5)
        return;
    }
  entry->form = json_from_string (entry->form_text, NULL);
  if (entry->form == NULL)
    entry->form = json_node_init_null (json_node_alloc ());
  ef_verify_form (&entry->at, entry->statement, entry->form_text, entry->form, entry->locator);
}

/* Taken apart only where something differs. */
static JsonNode *
form_part (Entry *entry,
           const char *part)
{
  if (entry->form == NULL && entry->form_text != NULL)
    entry->form = json_from_string (entry->form_text, NULL);

  return entry->form != NULL && JSON_NODE_HOLDS_OBJECT (entry->form) ? json_object_get_member (json_node_get_object (entry->form), part) : NULL;
}

static const char *
part_digest (Entry *entry,
             const char *part)
{
  JsonNode *parts = json_object_get_member (entry->statement, "parts");

  return parts != NULL && JSON_NODE_HOLDS_OBJECT (parts) ? ef_verify_string (json_node_get_object (parts), part) : "";
}

static void
compare_rows (Entry *entry,
              JsonNode *sealed,
              JsonNode *present)
{
  JsonArray *a = json_node_get_array (sealed);
  JsonArray *b = json_node_get_array (present);
  guint before = entry->at.out->findings->len;

  for (guint i = 0; i < json_array_get_length (a); i++)
    {
      JsonNode *row = json_array_get_element (a, i);
      JsonObject *one = JSON_NODE_HOLDS_OBJECT (row) ? json_node_get_object (row) : NULL;
      JsonObject *two = NULL;
      g_autoptr (GList) members = one != NULL ? json_object_get_members (one) : NULL;

      for (guint k = 0; one != NULL && k < json_array_get_length (b) && two == NULL; k++)
        {
          JsonObject *candidate = json_array_get_object_element (b, k);

          if (ef_verify_integer (candidate, "row") == ef_verify_integer (one, "row"))
            two = candidate;
        }
      if (one == NULL)
        continue;
      if (two == NULL)
        {
          g_autofree char *place = g_strdup_printf ("history row %" G_GINT64_FORMAT, ef_verify_integer (one, "row"));

          ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, place, "it was removed");
          continue;
        }
      for (GList *member = members; member != NULL; member = member->next)
        {
          g_autofree char *place = g_strdup_printf ("history row %" G_GINT64_FORMAT ": %s", ef_verify_integer (one, "row"), (const char *) member->data);

          if (json_node_equal (json_object_get_member (one, member->data), json_object_get_member (two, member->data)))
            continue;
          if (g_str_equal (member->data, "edits"))
            ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, place, "what was changed then isn't what was sealed");
          else
            ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, place, "sealed \"%.200s\", found \"%.200s\"", ef_verify_string (one, member->data),
                            ef_verify_string (two, member->data));
        }
    }
  if (entry->at.out->findings->len == before)
    ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "history", "rows were added among those that are sealed");
}

static gboolean
check_history (Walk *walk,
               Entry *entry,
               GError **error)
{
  gint64 last = ef_verify_integer (entry->statement, "history");
  g_autoptr (JsonNode) present = ef_seal_history_node (walk->sql, entry->job, last, error);
  g_autofree char *text = present != NULL ? ef_json_canonical (present, error) : NULL;
  g_autofree char *digest = text != NULL ? ef_sha256 (text, -1) : NULL;
  JsonNode *sealed;
  gint64 rows, top;

  if (text == NULL)
    return FALSE;
  if (!g_str_equal (digest, part_digest (entry, "history")))
    {
      sealed = form_part (entry, "history");
      if (sealed != NULL && JSON_NODE_HOLDS_ARRAY (sealed))
        compare_rows (entry, sealed, present);
      else
        ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "history", "it isn't what was sealed");
    }
  if (!ef_sql_integer (walk->sql, 0, &rows, error, "SELECT count (*) FROM change WHERE job = ?", "i", entry->job)
      || !ef_sql_integer (walk->sql, 0, &top, error, "SELECT coalesce (max (seq), 0) FROM change WHERE job = ?", "i", entry->job))
    return FALSE;
  if (rows != top)
    ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "history", "expected rows 1 to %" G_GINT64_FORMAT ", found %" G_GINT64_FORMAT " rows", top, rows);

  return TRUE;
}

static void
tell_problems (Entry *entry,
               GPtrArray *problems)
{
  for (guint i = 0; i < problems->len; i++)
    {
      g_auto (GStrv) halves = g_strsplit (problems->pdata[i], "\t", 2);

      ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, halves[0], "%s", halves[1]);
    }
}

/* The job's row, which is made from its items and history: one column after the other. @statement gives the place in words, what it should be,
 * what it is. */
static gboolean
check_columns (Walk *walk,
               Entry *entry,
               const char *text,
               GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (walk->sql, error, text, "i", entry->job);
  gboolean row;

  if (statement == NULL || !ef_sql_step (walk->sql, statement, &row, error))
    return FALSE;
  for (int i = 0; row && i + 2 < sqlite3_column_count (statement); i += 3)
    {
      const char *should = (const char *) sqlite3_column_text (statement, i + 1);
      g_autofree char *first = g_strdup (should != NULL ? should : "");
      const char *is = (const char *) sqlite3_column_text (statement, i + 2);

      if (g_strcmp0 (first, is != NULL ? is : "") != 0)
        ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, (const char *) sqlite3_column_text (statement, i), "expected \"%.200s\", found \"%.200s\"", first,
                        is != NULL ? is : "");
    }

  return TRUE;
}

#define HEADER(member) "coalesce (json_extract (header.body, '$." member "'), '')"

#define ROW_TEXT(search_text, job_text)                                                                                                                      \
  "SELECT 'job row: number', " HEADER ("number") ", number, 'job row: serial', " HEADER ("serial") ", serial,"                                               \
  " 'job row: received', " HEADER ("received") ", received, 'job row: customer', " HEADER ("customer") ", customer,"                                         \
  " 'job row: pump', (SELECT coalesce (json_extract (sheet.body, '$.name'), '') FROM sheet WHERE sheet.id = job.sheet), pump,"                               \
  " 'job row: model', (SELECT coalesce (json_extract (sheet.body, '$.model'), '') FROM sheet WHERE sheet.id = job.sheet), model,"                            \
  " 'pump sheet row: model', (SELECT coalesce (json_extract (sheet.body, '$.model'), '') FROM sheet WHERE sheet.id = job.sheet),"                            \
  "   (SELECT sheet.model FROM sheet WHERE sheet.id = job.sheet),"                                                                                           \
  " 'pump sheet row: name', (SELECT coalesce (json_extract (sheet.body, '$.id'), '') FROM sheet WHERE sheet.id = job.sheet),"                                \
  "   (SELECT sheet.name FROM sheet WHERE sheet.id = job.sheet),"                                                                                            \
  " 'job row: marks', (SELECT count (*) FROM item WHERE item.job = job.id AND kind = 'mark'), n_marks,"                                                      \
  " 'job row: changed', (SELECT time FROM change WHERE change.job = job.id ORDER BY seq DESC LIMIT 1), changed,"                                             \
  " 'job row: day', CASE WHEN received <> '' THEN received ELSE substr ((SELECT time FROM change WHERE change.job = job.id AND seq = 1), 1, 10) END, day,"   \
  " 'job row: revision', 1 + (SELECT count (*) FROM change WHERE change.job = job.id AND action = 'revise'), revision,"                                      \
  " 'job row: withdrawn', coalesce ((SELECT action = 'withdraw' FROM change WHERE change.job = job.id AND action IN ('withdraw', 'reinstate')"               \
  "   ORDER BY seq DESC LIMIT 1), 0), withdrawn,"                                                                                                            \
  " 'job row: search', " search_text ", search,"                                                                                                             \
  " 'job row: findings', " EF_SQL_JOB_FINDINGS ", findings,"                                                                                                 \
  " 'search index', " job_text ", (SELECT body FROM job_text WHERE job_text.rowid = job.id)"                                                                 \
  " FROM job JOIN item AS header ON header.job = job.id AND header.kind = 'header' WHERE job.id = ? AND json_valid (header.body)"                            \
  " AND json_valid ((SELECT body FROM sheet WHERE sheet.id = job.sheet))"

#define ITEM_TEXT(words_text)                                                                                                                              \
  "SELECT kind || ' ' || id || ': tag or words', coalesce (" EF_SQL_ITEM_TAG ("kind", "body") ", '') || '|' || coalesce (" words_text ", ''),"             \
  " coalesce (tag, '') || '|' || coalesce (words, '') FROM item WHERE job = ? AND json_valid (body)"                                                       \
  " AND (tag IS NOT " EF_SQL_ITEM_TAG ("kind", "body") " OR words IS NOT " words_text ") LIMIT 1"

/* Not looked at: a header that can't be read, which was told before. */
static gboolean
check_row (Walk *walk,
           Entry *entry,
           GError **error)
{
  if (walk->version < EF_STORE_PLAIN_VERSION)
    return check_columns (walk, entry, ROW_TEXT (EF_SQL_JOB_SEARCH_3, EF_SQL_JOB_TEXT_3), error)
           && check_columns (walk, entry, ITEM_TEXT (EF_SQL_ITEM_WORDS_3 ("body")), error);

  return check_columns (walk, entry, ROW_TEXT (EF_SQL_JOB_SEARCH, EF_SQL_JOB_TEXT), error)
         && check_columns (walk, entry, ITEM_TEXT (EF_SQL_ITEM_WORDS ("body")), error);
}

static void
check_number (Entry *entry,
              const char *place,
              double should,
              double is)
{
  if (isnan (should) ? !isnan (is) : should != is)
    ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, place, "expected %.17g, found %.17g", should, is);
}

/* Pressures of the list are made from the header's; the sheet's digest from its body. */
static gboolean
check_numbers (Walk *walk,
               Entry *entry,
               GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (walk->sql, error,
                                                     "SELECT item.body, found_pressure, expected_pressure, verdict, sheet.body, sheet.digest FROM job"
                                                     " JOIN item ON item.job = job.id AND item.kind = 'header' JOIN sheet ON sheet.id = job.sheet"
                                                     " WHERE job.id = ?", "i", entry->job);
  g_autoptr (EfItem) item = NULL;
  g_autofree char *digest = NULL;
  const char *body;
  gboolean row;

  if (statement == NULL || !ef_sql_step (walk->sql, statement, &row, error))
    return FALSE;
  if (!row)
    return TRUE;
  item = ef_store_item_parse (walk->store, entry->job, EF_ITEM_HEADER, "job", (const char *) sqlite3_column_text (statement, 0), NULL);
  if (item != NULL)
    {
      check_number (entry, "job row: oil pressure found", ((EfJobHeader *) item)->found_pressure, ef_sql_column_double (statement, 1));
      check_number (entry, "job row: oil pressure expected", ((EfJobHeader *) item)->expected_pressure, ef_sql_column_double (statement, 2));
    }
  body = (const char *) sqlite3_column_text (statement, 4);
  digest = ef_sha256 (body != NULL ? body : "", -1);
  ef_verify_same (&entry->at, "pump sheet row: digest", digest, (const char *) sqlite3_column_text (statement, 5));

  return TRUE;
}

static void
check_verdict (Entry *entry,
               const char *verdict)
{
  JsonNode *results = form_part (entry, "results");
  JsonNode *node = results != NULL && JSON_NODE_HOLDS_OBJECT (results) ? json_object_get_member (json_node_get_object (results), "verdict") : NULL;
  const char *sealed = node != NULL && JSON_NODE_HOLDS_OBJECT (node) ? ef_verify_string (json_node_get_object (node), "verdict") : "";

  if (*sealed != '\0' && g_strv_contains (ef_override_verdicts, sealed))
    ef_verify_same (&entry->at, "job row: verdict", sealed, verdict);
}

/* The revision that is open now follows from the sealed state by the history. */
static gboolean
check_open (Walk *walk,
            Entry *entry,
            GError **error)
{
  gint64 last = ef_verify_integer (entry->statement, "history");
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (walk->sql, error,
                                                     "SELECT role, time, reason FROM change WHERE job = ? AND seq > ? AND action = 'revise' ORDER BY seq LIMIT 1",
                                                     "ii", entry->job, last);
  g_autoptr (EfInspection) replayed = NULL;
  g_autoptr (EfInspection) kept = NULL;
  g_autoptr (GError) local = NULL;
  gboolean row;
  gint64 top;

  if (statement == NULL || !ef_sql_step (walk->sql, statement, &row, error)
      || !ef_sql_integer (walk->sql, 0, &top, error, "SELECT coalesce (max (seq), 0) FROM change WHERE job = ?", "i", entry->job))
    return FALSE;
  if (!row)
    {
      ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "job row: sealed", "it isn't marked as sealed, and no revision was opened");
      return TRUE;
    }
  ef_verify_tell (&entry->at, EF_VERIFY_NOTE, "revision", "open since %s (%s: %s); as sealed before it is kept and holds, what it is now isn't sealed",
                  (const char *) sqlite3_column_text (statement, 1), (const char *) sqlite3_column_text (statement, 0),
                  (const char *) sqlite3_column_text (statement, 2));
  walk->out->n_open++;
  kept = ef_store_load_inside (walk->store, entry->job, &local);
  replayed = kept != NULL ? ef_store_load_at (walk->store, entry->job, top, &local) : NULL;
  if (replayed == NULL)
    ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "job", "%s", local->message);
  else if (!ef_inspection_equal (kept, replayed))
    ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "job", "it isn't what its history makes of the sealed state");

  return TRUE;
}

static gboolean
check_sealed (Walk *walk,
              Entry *entry,
              GError **error)
{
  g_autoptr (GPtrArray) problems = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (JsonNode) present = ef_seal_inspection_node (walk->sql, entry->job, problems, error);
  gint64 last = ef_verify_integer (entry->statement, "history");
  g_autofree char *text = NULL;
  g_autofree char *digest = NULL;
  gint64 edits;

  if (present == NULL)
    return FALSE;
  walk->out->n_jobs++;
  tell_problems (entry, problems);
  text = ef_json_canonical (present, NULL);
  digest = text != NULL ? ef_sha256 (text, -1) : NULL;
  if (g_strcmp0 (digest, part_digest (entry, "inspection")) != 0)
    ef_verify_inspection (&entry->at, part_digest (entry, "inspection"), form_part (entry, "inspection"), present);
  if (!ef_sql_integer (walk->sql, 0, &edits, error,
                       "SELECT coalesce (min (seq), 0) FROM change WHERE job = ? AND seq > ? AND action NOT IN ('withdraw', 'reinstate')", "ii", entry->job, last))
    return FALSE;
  if (edits > 0)
    {
      g_autofree char *place = g_strdup_printf ("history row %" G_GINT64_FORMAT, edits);

      ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, place, "a change after sealing, without a new revision");
    }

  return TRUE;
}

/* The job of its last seal. */
static gboolean
check_job (Walk *walk,
           Entry *entry,
           GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (walk->sql, error, "SELECT sealed, verdict FROM job WHERE id = ?", "i", entry->job);
  gboolean row, done;
  gint64 sealed;

  if (statement == NULL || !ef_sql_step (walk->sql, statement, &row, error))
    return FALSE;
  if (!row)
    {
      ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "job", "it was removed from the store");
      return TRUE;
    }
  sealed = sqlite3_column_int64 (statement, 0);
  done = check_history (walk, entry, error);
  if (done && sealed == entry->number)
    {
      done = check_sealed (walk, entry, error);
      check_verdict (entry, (const char *) sqlite3_column_text (statement, 1));
    }
  else if (done && sealed == 0)
    done = check_open (walk, entry, error);
  else if (done)
    ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "job row: sealed", "expected seal %" G_GINT64_FORMAT ", found %" G_GINT64_FORMAT, entry->number, sealed);

  return done && check_row (walk, entry, error) && check_numbers (walk, entry, error);
}

static gboolean
check_job_entry (Walk *walk,
                 Entry *entry,
                 sqlite3_stmt *statement,
                 GError **error)
{
  gint64 latest;

  walk->out->n_seals++;
  if (ef_verify_integer (entry->statement, "job_id") != entry->job)
    ef_verify_tell (&entry->at, EF_VERIFY_BROKEN, "seal: job", "expected that of row %" G_GINT64_FORMAT ", found row %" G_GINT64_FORMAT,
                    ef_verify_integer (entry->statement, "job_id"), entry->job);
  check_signature (walk, entry);
  check_form (entry, statement, 4);
  if (walk->has_files && !ef_verify_kept (&entry->at, walk->store, entry->form_text, walk->files, walk->cancellable, error))
    return FALSE;

  return check_seal_row (walk, entry, error)
         && ef_sql_integer (walk->sql, 0, &latest, error, "SELECT max (number) FROM seal WHERE job = ?", "i", entry->job)
         && (latest != entry->number || check_job (walk, entry, error));
}

static gboolean
check_entry (Walk *walk,
             sqlite3_stmt *statement,
             GError **error)
{
  g_auto (Entry) entry = { 0 };
  gboolean readable, done = TRUE;

  entry.number = sqlite3_column_int64 (statement, 0);
  entry.job = sqlite3_column_int64 (statement, 1);
  entry.text = (const char *) sqlite3_column_text (statement, 2);
  entry.signature = (const char *) sqlite3_column_text (statement, 3);
  entry.locator = (const char *) sqlite3_column_text (statement, 5);
  entry.endorsement = (const char *) sqlite3_column_text (statement, 6);
  entry.digest = ef_sha256 (entry.text != NULL ? entry.text : "", -1);
  entry.at.out = walk->out;
  entry.at.seal = entry.number;

  walk->out->n_entries++;
  readable = parse_statement (&entry);
  check_link (walk, &entry);
  if (readable && (entry.job == 0) != g_str_equal (ef_verify_string (entry.statement, "kind"), "key"))
    ef_verify_tell (&entry.at, EF_VERIFY_BROKEN, "seal: job", "an entry about a key beside a job, or one about a job without it");
  else if (readable && entry.job == 0)
    ef_verify_key_entry (&entry.at, &walk->keys, entry.statement, entry.text, entry.signature, entry.endorsement);
  else if (readable)
    done = check_job_entry (walk, &entry, statement, error);

  walk->expected = entry.number + 1;
  g_free (walk->previous);
  walk->previous = g_strdup (entry.digest);
  walk->out->last = entry.number;
  g_free (walk->out->digest);
  walk->out->digest = g_strdup (entry.digest);
  if (walk->options != NULL && walk->options->digest != NULL && walk->options->number == entry.number
      && g_ascii_strcasecmp (walk->options->digest, entry.digest) != 0)
    ef_verify_tell (&entry.at, EF_VERIFY_BROKEN, "seal: digest", "expected %s, found %s", walk->options->digest, entry.digest);

  return done;
}

static gboolean
stopped (const Walk *walk,
         GError **error)
{
  if (!g_cancellable_is_cancelled (walk->cancellable))
    return FALSE;
  g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, "%s: verifying was stopped", walk->sql->name);

  return TRUE;
}

static gboolean
walk_chain (Walk *walk,
            gint64 total,
            EfVerifyProgress progress,
            gpointer user_data,
            GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (walk->sql, error,
                                                     "SELECT number, job, statement, signature, form, locator, endorsement FROM seal ORDER BY number", "");
  gboolean row;

  if (statement == NULL || !ef_sql_step (walk->sql, statement, &row, error))
    return FALSE;
  while (row)
    {
      if (stopped (walk, error) || !check_entry (walk, statement, error))
        return FALSE;
      if (progress != NULL && total > 0)
        progress (MIN (1.0, (double) walk->out->n_entries / (double) total), user_data);
      if (!ef_sql_step (walk->sql, statement, &row, error))
        return FALSE;
    }
  settle_unsure (walk, NULL);
  if (walk->options != NULL && walk->options->number >= walk->expected)
    {
      EfVerifyAt at = { walk->out, walk->options->number, NULL };

      ef_verify_tell (&at, EF_VERIFY_BROKEN, "chain", "this entry is known from elsewhere and isn't there: the end of the chain was removed");
    }

  return TRUE;
}

/* Rows that speak of a seal which isn't there. */
static gboolean
find_removed (Walk *walk,
              const char *text,
              const char *place,
              const char *sentence,
              GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (walk->sql, error, text, "");
  gboolean row;

  if (statement == NULL || !ef_sql_step (walk->sql, statement, &row, error))
    return FALSE;
  while (row)
    {
      EfVerifyAt at = { walk->out, 0, (const char *) sqlite3_column_text (statement, 0) };
      g_autofree char *where = g_strdup_printf ("%s %" G_GINT64_FORMAT, place, (gint64) sqlite3_column_int64 (statement, 1));

      ef_verify_tell (&at, EF_VERIFY_BROKEN, where, "%s", sentence);
      if (!ef_sql_step (walk->sql, statement, &row, error))
        return FALSE;
    }

  return TRUE;
}

static gboolean
check_import (Walk *walk,
              gint64 job,
              const char *number,
              const char *text,
              GError **error)
{
  EfVerifyAt at = { walk->out, 0, number };
  g_autoptr (GPtrArray) problems = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (JsonNode) present = ef_seal_inspection_node (walk->sql, job, problems, error);
  g_autoptr (JsonNode) block = text != NULL ? json_from_string (text, NULL) : NULL;
  Entry entry = { .at = at };
  EfVerifyKeys keys;

  if (present == NULL)
    return FALSE;
  tell_problems (&entry, problems);
  if (block == NULL)
    {
      ef_verify_tell (&at, EF_VERIFY_BROKEN, "seal from elsewhere", "it can't be read");
      return TRUE;
    }
  ef_verify_keys_init (&keys);
  ef_verify_block (&at, block, present, &keys);
  ef_verify_keys_clear (&keys);
  walk->out->n_jobs++;
  ef_verify_tell (&at, EF_VERIFY_NOTE, "seal from elsewhere", "the job came with another store's seal; its key isn't one of this store's");

  return TRUE;
}

static gboolean
check_imports (Walk *walk,
               GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (walk->sql, error,
                                                     "SELECT id, number, (SELECT block FROM seal_import WHERE job = job.id ORDER BY seal_import.id DESC LIMIT 1)"
                                                     " FROM job WHERE sealed = -1", "");
  gint64 last = walk->out->last;
  g_autofree char *digest = g_strdup (walk->out->digest);
  g_autoptr (GPtrArray) keys = g_ptr_array_ref (walk->out->keys);
  gboolean row;

  if (statement == NULL || !ef_sql_step (walk->sql, statement, &row, error))
    return FALSE;
  /* The chain's own end and keys are told, not those of other stores. */
  walk->out->keys = g_ptr_array_new_with_free_func (g_free);
  walk->out->last = walk->out->last > 0 ? walk->out->last : -1;
  while (row)
    {
      if (!check_import (walk, sqlite3_column_int64 (statement, 0), (const char *) sqlite3_column_text (statement, 1),
                         (const char *) sqlite3_column_text (statement, 2), error))
        break;
      if (!ef_sql_step (walk->sql, statement, &row, error))
        break;
    }
  g_ptr_array_unref (walk->out->keys);
  walk->out->keys = g_steal_pointer (&keys);
  walk->out->last = last;
  g_free (walk->out->digest);
  walk->out->digest = g_steal_pointer (&digest);

  return !row;
}

static gboolean
verify_all (Walk *walk,
            EfVerifyProgress progress,
            gpointer user_data,
            GError **error)
{
  gint64 total;

  return ef_sql_integer (walk->sql, 0, &total, error, "SELECT count (*) FROM seal", "")
         && walk_chain (walk, total, progress, user_data, error)
         && find_removed (walk,
                          "SELECT job.number, change.seq FROM change LEFT JOIN job ON job.id = change.job WHERE action = 'seal' AND action <> 'edit' AND NOT EXISTS"
                          " (SELECT 1 FROM seal WHERE seal.job = change.job AND json_valid (statement)"
                          "  AND json_extract (statement, '$.history') = change.seq)",
                          "history row", "the seal that it tells of was removed from the chain", error)
         && find_removed (walk,
                          "SELECT number, sealed FROM job WHERE sealed < -1 OR (sealed = -1 AND NOT EXISTS (SELECT 1 FROM seal_import WHERE job = job.id))"
                          " OR (sealed > 0 AND NOT EXISTS (SELECT 1 FROM seal WHERE seal.number = job.sealed AND seal.job = job.id))",
                          "job row: seal", "it was removed from the chain, or belongs to another job", error)
         && find_removed (walk,
                          "SELECT job.number, change.seq FROM change JOIN job ON job.id = change.job WHERE action = 'import' AND action <> 'edit'"
                          " AND change.reason LIKE 'The seal holds%' AND job.sealed = 0 AND NOT EXISTS"
                          " (SELECT 1 FROM change AS later WHERE later.job = change.job AND later.seq > change.seq AND later.action = 'revise')",
                          "history row", "the job came in sealed, isn't marked so, and no revision was opened", error)
         && check_imports (walk, error)
         && ef_sql_integer (walk->sql, 0, &walk->out->n_never, error,
                            walk->has_attempts
                              ? "SELECT count (*) FROM job WHERE sealed = 0 AND lesson = '' AND id NOT IN (SELECT job FROM seal WHERE job IS NOT NULL)"
                              : "SELECT count (*) FROM job WHERE sealed = 0 AND id NOT IN (SELECT job FROM seal WHERE job IS NOT NULL)",
                            "");
}

/* Also within one long query. */
static int
look_whether_stopped (gpointer cancellable)
{
  return g_cancellable_is_cancelled (cancellable);
}

EfVerification *
ef_verify_store (const char *path,
                 const EfVerifyOptions *options,
                 EfVerifyProgress progress,
                 gpointer user_data,
                 GCancellable *cancellable,
                 GError **error)
{
  g_autoptr (EfStore) store = NULL;
  g_autoptr (EfVerification) out = NULL;
  Walk walk = { .options = options, .expected = 1 };
  gint64 version;
  gboolean done;

  g_return_val_if_fail (path != NULL, NULL);
  store = ef_store_open_to_read (path, error);
  if (store == NULL || !ef_sql_integer (&store->sql, 0, &version, error, "PRAGMA user_version", ""))
    return NULL;
  out = ef_verification_new (store->sql.name, TRUE);
  if (version >= FIRST_VERSION)
    {
      walk.store = store;
      walk.version = version;
      walk.sql = &store->sql;
      walk.out = out;
      walk.has_files = version >= FIRST_VERSION_WITH_FILES;
      walk.has_attempts = version >= FIRST_VERSION_WITH_ATTEMPTS;
      walk.cancellable = cancellable;
      walk.files = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
      walk.previous = g_strdup (EF_SEAL_NOTHING);
      ef_verify_keys_init (&walk.keys);
      sqlite3_progress_handler (store->sql.db, STEPS_BETWEEN_LOOKS, look_whether_stopped, cancellable);
      done = ef_sql_exec (&store->sql, "BEGIN", error) && verify_all (&walk, progress, user_data, error)
             && (!walk.has_files || ef_verify_files (store, out, walk.files, cancellable, error)) && !stopped (&walk, error);
      ef_verify_keys_anchor (out, &walk.keys, options);
      ef_verify_keys_clear (&walk.keys);
      g_hash_table_unref (walk.files);
      g_free (walk.previous);
      g_free (walk.unsure_digest);
      g_free (walk.unsure_job);
      if (!done)
        return NULL;
    }
  ef_verification_finish (out, options);

  return g_steal_pointer (&out);
}
