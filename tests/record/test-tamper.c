/* Single changes behind the program's back, in sealed stores by SQL and in sealed files byte by byte: all are found, and their place is named.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A few hundred as a rule; with -m slow the 1,000 of each sort.
 */
#include "sealed-store.h"
#include "../inspection/random-inspection.h"

#include "base/ef-json-canonical.h"
#include "record/ef-compare.h"

#include <glib/gstdio.h>
#include <string.h>
#include "../isolate.h"

#define ROUNDS(few) (g_test_slow () ? 1000u : (few))

/* Columns that a seal covers, and words one of which the finding's place must have. Left out on purpose: sheet.edited (which sheets are listed), item.seq
 * (order is tested apart), the box of the key, and what belongs to jobs that were never sealed. */
static const struct
{
  const char *table, *column, *where;
  const char *place[4];
} columns[] = {
#define OWN "job IN (1, 2, 3)"
#define COVERED "(" OWN " OR job = 5)"
  { "item", "body", COVERED, { NULL } },
  { "item", "kind", COVERED, { NULL } },
  { "item", "id", COVERED, { NULL } },
  { "item", "tag", OWN, { "tag or words", "findings" } },
  { "item", "words", OWN, { "tag or words", "search index" } },
  { "change", "seq", OWN, { "history" } },
  { "change", "time", OWN, { "history", "job row" } },
  { "change", "role", OWN, { "history" } },
  { "change", "bench", OWN, { "history" } },
  { "change", "program", OWN, { "history" } },
  { "change", "rules", OWN, { "history" } },
  { "change", "label", OWN, { "history" } },
  { "change", "action", OWN, { "history" } },
  { "change", "reason", OWN, { "history" } },
  { "change", "clock_back", OWN, { "history" } },
  { "change", "edits", OWN, { "history" } },
  { "job", "number", "id IN (1, 2, 3)", { "job row: number" } },
  { "job", "pump", "id IN (1, 2, 3)", { "job row: pump" } },
  { "job", "model", "id IN (1, 2, 3)", { "job row: model" } },
  { "job", "serial", "id IN (1, 2, 3)", { "job row: serial" } },
  { "job", "received", "id IN (1, 2, 3)", { "job row: received" } },
  { "job", "customer", "id IN (1, 2, 3)", { "job row: customer" } },
  { "job", "verdict", "id IN (1, 2, 3)", { "job row: verdict" } },
  { "job", "found_pressure", "id IN (1, 2, 3)", { "job row: oil pressure found" } },
  { "job", "expected_pressure", "id IN (1, 2, 3)", { "job row: oil pressure expected" } },
  { "job", "changed", "id IN (1, 2, 3)", { "job row: changed" } },
  { "job", "n_marks", "id IN (1, 2, 3)", { "job row: marks" } },
  { "job", "day", "id IN (1, 2, 3)", { "job row: day" } },
  { "job", "search", "id IN (1, 2, 3)", { "job row: search" } },
  { "job", "findings", "id IN (1, 2, 3)", { "job row: findings" } },
  { "job", "sealed", "id IN (1, 2, 3, 4, 5)", { "job row", "history row" } },
  { "job", "revision", "id IN (1, 2, 3)", { "job row: revision" } },
  { "job", "withdrawn", "id IN (1, 2, 3)", { "job row: withdrawn" } },
  { "sheet", "body", "id IN (SELECT sheet FROM job WHERE id IN (1, 2, 3))", { "pump sheet" } },
  { "sheet", "digest", "id IN (SELECT sheet FROM job WHERE id IN (1, 2, 3))", { "pump sheet row: digest" } },
  { "sheet", "name", "id IN (SELECT sheet FROM job WHERE id IN (1, 2, 3))", { "pump sheet row: name" } },
  { "sheet", "model", "id IN (SELECT sheet FROM job WHERE id IN (1, 2, 3))", { "pump sheet row: model" } },
  { "seal", "number", "1", { "chain", "seal" } },
  { "seal", "job", "1", { "seal" } },
  { "seal", "statement", "1", { "seal", "key entry" } },
  { "seal", "signature", "1", { "seal: signature", "key entry: signature", "statement or signature" } },
  { "seal", "endorsement", "endorsement IS NOT NULL", { "key entry: endorsement" } },
  { "seal", "form", "form IS NOT NULL", { "sealed form", "seal: form" } },
  { "seal", "locator", "locator IS NOT NULL", { "seal: locator" } },
  { "seal_import", "block", "1", { "seal", "sealed form", "key entry" } },
};

static EfSql
open_raw (const char *path)
{
  EfSql sql = { NULL, (char *) path };

  g_assert_cmpint (sqlite3_open (path, &sql.db), ==, SQLITE_OK);

  return sql;
}

static void
run (const EfSql *sql,
     const char *text)
{
  g_autoptr (GError) error = NULL;

  ef_sql_exec (sql, text, &error);
  g_assert_no_error (error);
}

static void
drop_triggers (const EfSql *sql)
{
  g_autoptr (GPtrArray) names = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (sql, NULL, "SELECT name FROM sqlite_master WHERE type = 'trigger'", "");

  while (sqlite3_step (statement) == SQLITE_ROW)
    g_ptr_array_add (names, ef_sql_column_text (statement, 0));
  g_clear_pointer (&statement, sqlite3_finalize);
  for (guint i = 0; i < names->len; i++)
    {
      g_autofree char *text = g_strdup_printf ("DROP TRIGGER %s", (const char *) names->pdata[i]);

      run (sql, text);
    }
  run (sql, "PRAGMA foreign_keys = OFF; PRAGMA synchronous = OFF; PRAGMA journal_mode = MEMORY");
}

static char *
canonical_of (const char *text)
{
  g_autoptr (EfJsonContext) context = ef_json_parse (text, -1, "text", NULL);
  g_auto (EfJson) root = { 0 };

  if (context == NULL)
    return NULL;
  root = ef_json_root (context);

  return ef_json_canonical (root.node, NULL);
}

static char *
changed_text (GRand *rand,
              const char *text)
{
  gsize length = strlen (text);
  g_autoptr (GString) out = g_string_new (text);
  gsize at = length > 0 ? (gsize) g_rand_int_range (rand, 0, (gint32) length) : 0;
  static const char letters[] = "abcdefghijklmnopqrstuvwxyz0123456789 ,.-\"{}[]:";

  if (length == 0 || g_rand_int_range (rand, 0, 8) == 0)
    g_string_append_c (out, letters[g_rand_int_range (rand, 0, 36)]);
  else
    out->str[at] = letters[g_rand_int_range (rand, 0, (gint32) sizeof letters - 1)];

  return g_string_free (g_steal_pointer (&out), FALSE);
}

/* Another value of the same sort; in items and blocks one that says something else, since their layout isn't sealed. */
static gboolean
change_value (const EfSql *sql,
              GRand *rand,
              guint column,
              gint64 row)
{
  g_autofree char *read = g_strdup_printf ("SELECT %s FROM %s WHERE rowid = ?", columns[column].column, columns[column].table);
  g_autofree char *write = g_strdup_printf ("UPDATE OR IGNORE %s SET %s = ?1 WHERE rowid = ?2 AND %s IS NOT ?1", columns[column].table,
                                            columns[column].column, columns[column].column);
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (sql, NULL, read, "i", row);
  int type, changed = 0;
  gboolean meaning = g_str_equal (columns[column].column, "block") || (g_str_equal (columns[column].table, "item") && g_str_equal (columns[column].column, "body"));

  g_assert_cmpint (sqlite3_step (statement), ==, SQLITE_ROW);
  type = sqlite3_column_type (statement, 0);
  if (type == SQLITE_INTEGER)
    {
      gint64 value = sqlite3_column_int64 (statement, 0);

      g_clear_pointer (&statement, sqlite3_finalize);
      g_assert_true (ef_sql_run (sql, &changed, NULL, write, "ii", value + (g_rand_boolean (rand) ? 1 : -1) * g_rand_int_range (rand, 1, 4), row));
    }
  else if (type == SQLITE_FLOAT)
    {
      double value = sqlite3_column_double (statement, 0);

      g_clear_pointer (&statement, sqlite3_finalize);
      g_assert_true (ef_sql_run (sql, &changed, NULL, write, "di", value * 1.0000001 + 1e-9, row));
    }
  else if (type == SQLITE_BLOB)
    {
      gsize length = (gsize) sqlite3_column_bytes (statement, 0);
      guint8 *bytes = g_memdup2 (sqlite3_column_blob (statement, 0), length);
      g_autoptr (GBytes) whole = NULL;

      bytes[g_rand_int_range (rand, 0, (gint32) length)] ^= (guint8) (1 << g_rand_int_range (rand, 0, 8));
      whole = g_bytes_new_take (bytes, length);
      g_clear_pointer (&statement, sqlite3_finalize);
      g_assert_true (ef_sql_run (sql, &changed, NULL, write, "bi", whole, row));
    }
  else if (type == SQLITE_NULL)
    {
      g_clear_pointer (&statement, sqlite3_finalize);
      if (g_str_has_suffix (columns[column].column, "pressure"))
        g_assert_true (ef_sql_run (sql, &changed, NULL, write, "di", 1.5, row));
      else
        g_assert_true (ef_sql_run (sql, &changed, NULL, write, "si", "7", row));
    }
  else
    {
      g_autofree char *before = ef_sql_column_text (statement, 0);
      g_autofree char *canonical = meaning ? canonical_of (before) : NULL;
      g_autofree char *after = NULL;
      g_autofree char *canonical_after = NULL;

      g_clear_pointer (&statement, sqlite3_finalize);
      do
        {
          g_free (after);
          g_free (canonical_after);
          after = changed_text (rand, before);
          canonical_after = meaning ? canonical_of (after) : NULL;
        }
      while (g_str_equal (after, before) || (meaning && g_strcmp0 (canonical, canonical_after) == 0));
      g_assert_true (ef_sql_run (sql, &changed, NULL, write, "si", after, row));
    }

  return changed == 1;
}

static gint64
pick_row (const EfSql *sql,
          GRand *rand,
          guint column)
{
  g_autofree char *text = g_strdup_printf ("SELECT rowid FROM %s WHERE %s ORDER BY rowid", columns[column].table, columns[column].where);
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (sql, NULL, text, "");
  g_autoptr (GArray) rows = g_array_new (FALSE, FALSE, sizeof (gint64));

  while (sqlite3_step (statement) == SQLITE_ROW)
    {
      gint64 row = sqlite3_column_int64 (statement, 0);

      g_array_append_val (rows, row);
    }
  g_assert_cmpuint (rows->len, >, 0);

  return g_array_index (rows, gint64, g_rand_int_range (rand, 0, (gint32) rows->len));
}

static gboolean
is_named (const EfVerification *verification,
          guint column)
{
  for (guint i = 0; i < verification->findings->len; i++)
    {
      const EfVerifyFinding *finding = verification->findings->pdata[i];

      if (finding->level != EF_VERIFY_BROKEN)
        break;
      if (columns[column].place[0] == NULL && *finding->place != '\0')
        return TRUE;
      for (guint k = 0; k < G_N_ELEMENTS (columns[column].place) && columns[column].place[k] != NULL; k++)
        if (strstr (finding->place, columns[column].place[k]) != NULL)
          return TRUE;
    }

  return FALSE;
}

static void
write_bytes (const char *path,
             const char *bytes,
             gsize length)
{
  FILE *file = g_fopen (path, "wb");

  g_assert_cmpuint (fwrite (bytes, 1, length, file), ==, length);
  fclose (file);
}

static void
test_store (void)
{
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), "sealed.sqlite", NULL);
  g_autofree char *copy = g_build_filename (g_get_user_data_dir (), "tampered.sqlite", NULL);
  g_autofree char *bytes = NULL;
  g_autoptr (GRand) rand = g_rand_new_with_seed (71);
  guint done = 0, column = 0;
  gsize length;
  EfSql sql;

  make_sealed_store (path, rand);
  sql = open_raw (path);
  drop_triggers (&sql);
  sqlite3_close (sql.db);
  {
    g_autoptr (EfVerification) verification = verify_store (path);

    assert_holds (verification);
  }
  g_assert_true (g_file_get_contents (path, &bytes, &length, NULL));

  while (done < ROUNDS (100))
    {
      g_autoptr (EfVerification) verification = NULL;
      g_autoptr (GError) error = NULL;
      gint64 row;
      gboolean changed;

      column = (column + 1) % G_N_ELEMENTS (columns);
      write_bytes (copy, bytes, length);
      sql = open_raw (copy);
      run (&sql, "PRAGMA foreign_keys = OFF; PRAGMA synchronous = OFF; PRAGMA journal_mode = OFF");
      row = pick_row (&sql, rand, column);
      changed = change_value (&sql, rand, column, row);
      sqlite3_close (sql.db);
      if (!changed)
        continue;
      done++;
      verification = ef_verify_store (copy, NULL, NULL, NULL, NULL, &error);
      g_assert_no_error (error);
      if (verification->holds)
        g_error ("%s.%s of row %d was changed, and nothing found", columns[column].table, columns[column].column, (int) row);
      if (!is_named (verification, column))
        {
          g_autofree char *text = ef_verification_to_text (verification);

          g_error ("%s.%s of row %d isn't named: %.900s", columns[column].table, columns[column].column, (int) row, text);
        }
      remove_store (copy);
    }
  g_test_message ("%u changes by SQL, all found and named", done);
}

static void
assert_broken (const char *path,
               const char *change,
               const char *place,
               const char *job)
{
  g_autofree char *copy = g_strconcat (path, ".copy", NULL);
  g_autofree char *bytes = NULL;
  g_autoptr (EfVerification) verification = NULL;
  gboolean named = FALSE;
  gsize length;
  EfSql sql;

  g_assert_true (g_file_get_contents (path, &bytes, &length, NULL));
  write_bytes (copy, bytes, length);
  sql = open_raw (copy);
  drop_triggers (&sql);
  run (&sql, change);
  sqlite3_close (sql.db);
  verification = verify_store (copy);
  g_assert_false (verification->holds);
  for (guint i = 0; i < verification->findings->len; i++)
    {
      const EfVerifyFinding *finding = verification->findings->pdata[i];

      named = named || (finding->level == EF_VERIFY_BROKEN && strstr (finding->place, place) != NULL && (job == NULL || g_strcmp0 (finding->job, job) == 0));
    }
  if (!named)
    {
      g_autofree char *text = ef_verification_to_text (verification);

      g_error ("\"%s\" of job %s isn't named after %s: %.900s", place, job, change, text);
    }
  remove_store (copy);
}

/* Whole entries taken away, put elsewhere, or added. Entries: 1 key, 2 job 1, 3 job 2, 4 key, 5 job 3, 6 job 3 again, 7 job 4. */
static void
test_removed_and_reordered (void)
{
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), "whole.sqlite", NULL);
  g_autoptr (GRand) rand = g_rand_new_with_seed (72);
  g_autofree char *first = NULL;
  EfSql sql;
  g_autoptr (sqlite3_stmt) statement = NULL;

  make_sealed_store (path, rand);
  sql = open_raw (path);
  statement = ef_sql_query (&sql, NULL, "SELECT number FROM job WHERE id = 1", "");
  g_assert_cmpint (sqlite3_step (statement), ==, SQLITE_ROW);
  first = ef_sql_column_text (statement, 0);
  g_clear_pointer (&statement, sqlite3_finalize);
  sqlite3_close (sql.db);

  assert_broken (path, "DELETE FROM seal WHERE number = 2", "history row", first);
  assert_broken (path, "DELETE FROM seal WHERE number = 2", "chain", NULL);
  assert_broken (path, "DELETE FROM seal WHERE number = 7", "history row", NULL); /* the last one leaves no gap */
  assert_broken (path, "DELETE FROM seal WHERE number >= 5", "job row: seal", NULL);
  assert_broken (path, "UPDATE seal SET number = 99 WHERE number = 2; UPDATE seal SET number = 2 WHERE number = 3; UPDATE seal SET number = 3 WHERE number = 99",
                 "seal: number", first);
  assert_broken (path, "DELETE FROM job WHERE id = 1", "job", first);
  assert_broken (path, "DELETE FROM job WHERE id = 1; DELETE FROM item WHERE job = 1; DELETE FROM change WHERE job = 1; DELETE FROM seal WHERE job = 1", "chain", NULL);
  assert_broken (path, "DELETE FROM change WHERE job = 1 AND seq = 2", "history", first);
  assert_broken (path, "INSERT INTO change SELECT job, seq + 1, time, role, bench, program, label, '[]', rules, 'edit', '', 0 FROM change"
                       " WHERE job = 1 ORDER BY seq DESC LIMIT 1", "history row", first);
  assert_broken (path, "UPDATE item SET seq = 1000 - seq WHERE job IN (1, 2, 3)", "s", NULL);
  assert_broken (path, "INSERT INTO item (job, kind, id, seq, body) VALUES (1, 'tick', 'zz', 99, '{\"id\": \"zz\", \"role\": \"bench\"}')", "tick zz", first);
  assert_broken (path, "UPDATE job SET sheet = (SELECT id FROM sheet WHERE name <> (SELECT name FROM sheet WHERE id = job.sheet) LIMIT 1) WHERE id = 1", "pump sheet", first);
  /* A revision that nobody opened, and an open one whose items don't follow from its history. */
  assert_broken (path, "UPDATE job SET sealed = 0 WHERE id = 1", "job row: sealed", first);
  assert_broken (path, "UPDATE item SET body = json_set (body, '$.note', 'smuggled') WHERE job = 4 AND kind = 'header'", "job", NULL);
  /* No text at all any more, nothing, and bytes that are none: whose entry it was is told by nobody then. */
  assert_broken (path, "PRAGMA writable_schema = 1; UPDATE sqlite_master SET sql = replace (sql, 'statement TEXT NOT NULL', 'statement TEXT') WHERE name = 'seal';"
                       " PRAGMA writable_schema = RESET; UPDATE seal SET statement = NULL WHERE number = 2", "seal: statement", NULL);
  assert_broken (path, "UPDATE seal SET statement = CAST (X'ff' AS TEXT) WHERE number = 2", "seal: statement", NULL);
  assert_broken (path, "UPDATE seal SET statement = '' WHERE number = 2", "seal: statement", NULL);
  /* All of a job's seal made anew by another key of the same chain's end. */
  assert_broken (path, "UPDATE seal SET statement = replace (statement, '\"revision\":1', '\"revision\":7') WHERE number = 2", "seal", first);
}

/* Every leaf of a document: its path. */
static void
collect_leaves (JsonNode *node,
                const char *path,
                GPtrArray *out)
{
  if (JSON_NODE_HOLDS_OBJECT (node))
    {
      JsonObjectIter iter;
      const char *name;
      JsonNode *member;

      json_object_iter_init_ordered (&iter, json_node_get_object (node));
      while (json_object_iter_next_ordered (&iter, &name, &member))
        {
          g_autofree char *inner = g_strdup_printf ("%s%s%s", path, *path != '\0' ? "." : "", name);

          collect_leaves (member, inner, out);
        }
    }
  else if (JSON_NODE_HOLDS_ARRAY (node) && json_array_get_length (json_node_get_array (node)) > 0)
    for (guint i = 0; i < json_array_get_length (json_node_get_array (node)); i++)
      {
        g_autofree char *inner = g_strdup_printf ("%s[%u]", path, i);

        collect_leaves (json_array_get_element (json_node_get_array (node), i), inner, out);
      }
  else
    g_ptr_array_add (out, g_strdup (path));
}

static JsonNode *
leaf_at (JsonNode *root,
         const char *path)
{
  JsonNode *node = root;

  while (*path != '\0')
    {
      if (*path == '.')
        path++;
      else if (*path == '[')
        {
          node = json_array_get_element (json_node_get_array (node), (guint) g_ascii_strtoull (path + 1, NULL, 10));
          path = strchr (path, ']') + 1;
        }
      else
        {
          gsize length = strcspn (path, ".[");
          g_autofree char *name = g_strndup (path, length);

          node = json_object_get_member (json_node_get_object (node), name);
          path += length;
        }
    }

  return node;
}

static gboolean
change_leaf (JsonNode *node)
{
  if (!JSON_NODE_HOLDS_VALUE (node))
    return FALSE;
  if (json_node_get_value_type (node) == G_TYPE_STRING)
    {
      g_autofree char *text = g_strdup_printf ("%sx", json_node_get_string (node));

      json_node_set_string (node, text);
    }
  else if (json_node_get_value_type (node) == G_TYPE_BOOLEAN)
    json_node_set_boolean (node, !json_node_get_boolean (node));
  else if (json_node_get_value_type (node) == G_TYPE_INT64)
    json_node_set_int (node, json_node_get_int (node) + 1);
  else
    json_node_set_double (node, json_node_get_double (node) + 0.001);

  return TRUE;
}

static char *
sealed_text (GRand *rand)
{
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), "file.sqlite", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfSealKey) key = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  gint64 job = add_random_job (store, rand, 6);
  char *text;

  seal_small (store, job, "clerk", "looked through", key);
  text = ef_seal_export (store, job, &error);
  g_assert_no_error (error);
  g_clear_pointer (&store, ef_store_close);
  remove_store (path);

  return text;
}

/* Fields of a sealed file, one a round: the finding names the member that was changed, or the piece of the sealed form. */
static void
test_file_fields (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (73);
  g_autofree char *text = NULL;
  g_autoptr (GPtrArray) leaves = g_ptr_array_new_with_free_func (g_free);
  guint done = 0;

  for (guint round = 0; done < ROUNDS (80); round++)
    {
      g_autoptr (JsonNode) root = NULL;
      g_autofree char *tampered = NULL;
      g_autoptr (EfVerification) verification = NULL;
      g_autoptr (GError) error = NULL;
      const char *path, *last;
      g_autofree char *member = NULL;
      gboolean named = FALSE;

      if (round % 50 == 0)
        {
          g_free (text);
          text = sealed_text (rand);
          root = json_from_string (text, NULL);
          g_ptr_array_set_size (leaves, 0);
          collect_leaves (root, "", leaves);
          g_clear_pointer (&root, json_node_unref);
        }
      root = json_from_string (text, NULL);
      path = leaves->pdata[g_rand_int_range (rand, 0, (gint32) leaves->len)];
      if (!change_leaf (leaf_at (root, path)))
        continue;
      done++;
      tampered = ef_json_to_text (root);
      verification = ef_verify_text (tampered, strlen (tampered), "file", NULL, &error);
      g_assert_no_error (error);
      if (verification->holds)
        g_error ("%s was changed, and nothing found", path);
      last = strrchr (path, '.') != NULL ? strrchr (path, '.') + 1 : path;
      member = ef_compare_field_words (last);
      for (guint i = 0; i < verification->findings->len; i++)
        {
          const EfVerifyFinding *finding = verification->findings->pdata[i];
          gboolean in_form = g_str_has_prefix (path, "seal.form.") && g_str_has_prefix (finding->place, "sealed form: ");
          gboolean in_seal = g_str_has_prefix (path, "seal.") && (strstr (finding->place, "seal") != NULL || g_str_has_prefix (finding->place, "key entry"));

          named = named || in_form || in_seal || strstr (finding->place, member) != NULL || g_str_has_suffix (path, ".id") || g_str_has_suffix (last, "]");
        }
      if (!named)
        g_error ("%s isn't named (%s): %s", path, member, ((EfVerifyFinding *) verification->findings->pdata[0])->place);
    }
}

/* Any byte, any other byte: either something is broken, or the file says the very same and only its layout is noted. */
static void
test_file_bytes (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (74);
  g_autofree char *text = sealed_text (rand);
  g_autofree char *canonical = canonical_of (text);
  gsize length = strlen (text);
  guint broken = 0, layout = 0;

  for (guint round = 0; round < ROUNDS (100); round++)
    {
      g_autofree char *tampered = g_strdup (text);
      g_autoptr (EfVerification) verification = NULL;
      g_autoptr (GError) error = NULL;
      gsize at = (gsize) g_rand_int_range (rand, 0, (gint32) length);
      g_autofree char *now = NULL;

      do
        tampered[at] = g_rand_boolean (rand) ? (char) (tampered[at] ^ (1 << g_rand_int_range (rand, 0, 7))) : (char) g_rand_int_range (rand, 1, 256);
      while (tampered[at] == text[at] || tampered[at] == '\0');
      verification = ef_verify_text (tampered, length, "file", NULL, &error);
      g_assert_no_error (error);
      now = canonical_of (tampered);
      if (verification->holds)
        {
          gboolean noted = FALSE;

          g_assert_cmpstr (now, ==, canonical);
          for (guint i = 0; i < verification->findings->len; i++)
            noted = noted || g_str_has_prefix (((EfVerifyFinding *) verification->findings->pdata[i])->place, "layout, line ");
          g_assert_true (noted);
          layout++;
        }
      else
        {
          g_assert_true (*((EfVerifyFinding *) verification->findings->pdata[0])->place != '\0');
          broken++;
        }
    }
  g_test_message ("%u broken, %u of layout only", broken, layout);
  g_assert_cmpuint (broken, >, ROUNDS (100) / 2);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/tamper/store-fields", test_store);
  g_test_add_func ("/tamper/removed-and-reordered", test_removed_and_reordered);
  g_test_add_func ("/tamper/file-fields", test_file_fields);
  g_test_add_func ("/tamper/file-bytes", test_file_bytes);

  return g_test_run ();
}
