/* The store: what was confirmed is there again, found quickly, and nothing half-done is left by a failure.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../inspection/random-inspection.h"

#include "record/ef-store-private.h"
#include "record/ef-store-schema.h"

#include <glib/gstdio.h>
#include <math.h>
#include <string.h>
#include <sys/stat.h>
#include "../isolate.h"
#include "open-store.h"

typedef struct
{
  GRand *rand;
  char *folder;
  char *path;
  EfStore *store;
} Fixture;

static void
set_up (Fixture *self,
        gconstpointer unused)
{
  self->rand = g_rand_new_with_seed (31);
  self->folder = g_dir_make_tmp ("store-XXXXXX", NULL);
  self->path = g_build_filename (self->folder, "shop", "jobs.sqlite", NULL);
  self->store = open_store (self->path);
}

static void
tear_down (Fixture *self,
           gconstpointer unused)
{
  g_clear_pointer (&self->store, ef_store_close);
  isolated_remove (self->folder);
  g_free (self->folder);
  g_free (self->path);
  g_rand_free (self->rand);
}

static void
reopen (Fixture *self)
{
  ef_store_close (self->store);
  self->store = open_store (self->path);
}

static gint64
number_of (Fixture *self,
           const char *query)
{
  g_autoptr (GError) error = NULL;
  gint64 value;

  g_assert_true (ef_sql_integer (&self->store->sql, -1, &value, &error, query, ""));

  return value;
}

static gint64
add (Fixture *self,
     const EfInspection *inspection)
{
  g_autoptr (GError) error = NULL;
  gint64 job = ef_store_add (self->store, inspection, &error);

  g_assert_no_error (error);
  g_assert_cmpint (job, >, 0);

  return job;
}

static void
assert_kept (Fixture *self,
             gint64 job,
             const EfInspection *inspection)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) back = ef_store_load (self->store, job, &error);

  g_assert_no_error (error);
  assert_same_inspection (inspection, back);
}

static void
test_settings (Fixture *self,
               gconstpointer unused)
{
  g_autoptr (sqlite3_stmt) journal = ef_sql_query (&self->store->sql, NULL, "PRAGMA journal_mode", "");
  g_autofree char *parent = g_path_get_dirname (self->path);
  struct stat info;

  g_assert_cmpint (sqlite3_step (journal), ==, SQLITE_ROW);
  g_assert_cmpstr ((const char *) sqlite3_column_text (journal, 0), ==, "wal");
  g_assert_cmpint (number_of (self, "PRAGMA synchronous"), ==, 2); /* FULL */
  g_assert_cmpint (number_of (self, "PRAGMA foreign_keys"), ==, 1);
  g_assert_cmpint (number_of (self, "PRAGMA user_version"), ==, ef_store_schema_version ());
  g_assert_cmpint (number_of (self, "PRAGMA busy_timeout"), >, 0);
  g_assert_cmpint (stat (self->path, &info), ==, 0);
  g_assert_cmpint (info.st_mode & 0777, ==, 0600);
  g_assert_cmpint (stat (parent, &info), ==, 0);
  g_assert_cmpint (info.st_mode & 0777, ==, 0700);
}

static void
test_wal_mode_bits (Fixture *self,
                    gconstpointer unused)
{
  g_autoptr (EfInspection) inspection = random_inspection (self->rand, 3);
  g_autofree char *wal = g_strconcat (self->path, "-wal", NULL);
  struct stat info;

  add (self, inspection);
  g_assert_cmpint (stat (wal, &info), ==, 0);
  g_assert_cmpint (info.st_mode & 0777, ==, 0600);
}

static void
test_add_and_load (Fixture *self,
                   gconstpointer unused)
{
  guint i;

  for (i = 0; i < 60; i++)
    {
      g_autoptr (EfInspection) inspection = random_inspection (self->rand, 40);
      gint64 job = add (self, inspection);

      if (i % 10 == 0)
        reopen (self);
      assert_kept (self, job, inspection);
    }
  g_assert_cmpint (ef_store_count (self->store, NULL, NULL), ==, 60);
  g_assert_cmpint (number_of (self, "SELECT count (*) FROM sheet"), ==, 4);
}

static void
test_number_taken (Fixture *self,
                   gconstpointer unused)
{
  g_autoptr (EfPumpSheet) sheet = random_sheet (self->rand);
  g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, "J-1");
  g_autoptr (EfInspection) second = ef_inspection_new (sheet, "J-2");
  g_autoptr (EfInspection) nameless = ef_inspection_new (sheet, NULL);
  EfDocument *document;
  g_autoptr (EfItem) header = NULL;
  g_autoptr (GError) error = NULL;
  gint64 job;

  add (self, inspection);
  g_assert_cmpint (ef_store_add (self->store, inspection, &error), ==, 0);
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "\"J-1\" taken"));
  g_clear_error (&error);
  g_assert_cmpint (ef_store_add (self->store, nameless, &error), ==, 0);
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_cmpint (number_of (self, "SELECT count (*) FROM item"), ==, 1);

  /* Renaming a job to a number that is taken is refused too, and the document stays as it was. */
  job = add (self, second);
  document = ef_store_open_document (self->store, job, &error);
  header = ef_item_copy (ef_inspection_header (ef_document_inspection (document)));
  g_free (((EfJobHeader *) header)->number);
  ((EfJobHeader *) header)->number = g_strdup ("J-1");
  g_assert_false (ef_document_replace (document, "Rename", (gpointer) ef_inspection_header (ef_document_inspection (document)), header, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_cmpstr (ef_inspection_header (ef_document_inspection (document))->number, ==, "J-2");
  g_assert_finalize_object (document);
  assert_kept (self, job, second);
}

/* Random changes, undos and redos: after each the store has what the document has; at the end its history has every state. */
static void
test_document (Fixture *self,
               gconstpointer unused)
{
  guint round, i;

  for (round = 0; round < 6; round++)
    {
      g_autoptr (EfInspection) inspection = random_inspection (self->rand, 12);
      g_autoptr (GPtrArray) states = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_inspection_free);
      gint64 job = add (self, inspection);
      g_autoptr (GError) error = NULL;
      EfDocument *document = ef_store_open_document (self->store, job, &error);
      g_autoptr (GPtrArray) history = NULL;

      g_ptr_array_add (states, ef_document_snapshot (document));
      for (i = 0; i < 60; i++)
        {
          int what = g_rand_int_range (self->rand, 0, 4);
          gboolean did;

          if (what == 1)
            did = ef_document_undo (document, NULL);
          else if (what == 2)
            did = ef_document_redo (document, NULL);
          else
            did = ef_document_apply (document, random_change (self->rand, document), &error);
          g_assert_no_error (error);
          if (!did)
            continue;
          g_ptr_array_add (states, ef_document_snapshot (document));
          assert_kept (self, job, ef_document_inspection (document));
        }
      g_assert_finalize_object (document);
      reopen (self);
      assert_kept (self, job, states->pdata[states->len - 1]);

      history = ef_store_history (self->store, job, &error);
      g_assert_no_error (error);
      g_assert_cmpuint (history->len, ==, states->len);
      for (i = 0; i < states->len; i++)
        {
          g_autoptr (EfInspection) then = ef_store_load_at (self->store, job, i + 1, &error);

          g_assert_no_error (error);
          assert_same_inspection (states->pdata[i], then);
        }
      g_assert_null (ef_store_load_at (self->store, job, states->len + 1, &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
    }
}

static void
test_history (Fixture *self,
              gconstpointer unused)
{
  g_autoptr (EfPumpSheet) sheet = random_sheet (self->rand);
  g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, "J-7");
  g_autoptr (EfItem) header = NULL;
  EfDocument *document;
  g_autoptr (GPtrArray) history = NULL;
  const EfHistoryRow *row;
  g_autoptr (GError) error = NULL;
  gint64 job = add (self, inspection);

  document = ef_store_open_document (self->store, job, &error);
  header = ef_item_copy (ef_inspection_header (ef_document_inspection (document)));
  ((EfJobHeader *) header)->role = g_strdup ("rebuilder");
  ((EfJobHeader *) header)->bench = g_strdup ("bench 2");
  g_assert_true (ef_document_replace (document, "Say who", (gpointer) ef_inspection_header (ef_document_inspection (document)), header, &error));
  g_assert_true (ef_document_undo (document, &error));
  g_assert_finalize_object (document);

  history = ef_store_history (self->store, job, &error);
  g_assert_cmpuint (history->len, ==, 3);
  row = history->pdata[0];
  g_assert_cmpstr (row->label, ==, "Job entered");
  g_assert_cmpint (row->seq, ==, 1);
  row = history->pdata[1];
  g_assert_cmpstr (row->label, ==, "Say who");
  g_assert_cmpstr (row->role, ==, "rebuilder");
  g_assert_cmpstr (row->bench, ==, "bench 2");
  g_assert_true (g_str_has_prefix (row->program, "endfloat "));
  g_assert_true (g_str_has_suffix (row->time, "Z"));
  row = history->pdata[2];
  g_assert_cmpstr (row->label, ==, "Undo: Say who");

  /* History can't be changed or deleted, not even by SQL on this file. */
  g_assert_false (ef_sql_exec (&self->store->sql, "UPDATE change SET label = 'x'", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_false (ef_sql_exec (&self->store->sql, "DELETE FROM change", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
}

/* Two windows on one job: the second's edit of an item the first has changed is refused, edits of others go through. */
static void
test_two_windows (Fixture *self,
                  gconstpointer unused)
{
  g_autoptr (EfInspection) inspection = random_inspection (self->rand, 5);
  g_autoptr (EfItem) tick = random_item (self->rand, inspection, EF_ITEM_TICK);
  g_autoptr (EfItem) variant = NULL;
  g_autoptr (EfItem) other = random_item (self->rand, inspection, EF_ITEM_TICK);
  g_autoptr (GError) error = NULL;
  EfStore *second_store;
  EfDocument *first, *second;
  gint64 job;

  g_assert_true (ef_inspection_swap (inspection, NULL, tick, &error));
  variant = random_variant (self->rand, inspection, tick);
  job = add (self, inspection);
  second_store = open_store (self->path);
  first = ef_store_open_document (self->store, job, &error);
  second = ef_store_open_document (second_store, job, &error);

  g_assert_true (ef_document_replace (first, "First", tick, variant, &error));
  g_assert_false (ef_document_remove (second, "Second", tick, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_BUSY);
  g_assert_nonnull (strstr (error->message, "another window"));
  g_clear_error (&error);
  g_assert_true (ef_document_add (second, "Third", other, &error));
  g_assert_no_error (error);
  g_assert_finalize_object (first);
  g_assert_finalize_object (second);
  ef_store_close (second_store);
}

static void
test_busy (Fixture *self,
           gconstpointer unused)
{
  g_autoptr (EfInspection) inspection = random_inspection (self->rand, 5);
  EfStore *other = open_store (self->path);
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_sql_exec (&other->sql, "BEGIN IMMEDIATE", &error));
  g_assert_cmpint (ef_store_add (self->store, inspection, &error), ==, 0);
  g_assert_error (error, EF_ERROR, EF_ERROR_BUSY);
  g_assert_nonnull (strstr (error->message, self->path));
  g_assert_true (ef_sql_exec (&other->sql, "ROLLBACK", NULL));
  ef_store_close (other);
  add (self, inspection);
}

/* A full disk, played by a limit on pages, met at every possible point: an error of its own kind, and all or nothing. */
static void
test_full (Fixture *self,
           gconstpointer unused)
{
  g_autoptr (EfInspection) inspection = random_inspection (self->rand, 5);
  gint64 job = add (self, inspection);
  g_autoptr (GError) error = NULL;
  EfDocument *document = ef_store_open_document (self->store, job, &error);
  g_autofree char *limit = g_strdup_printf ("PRAGMA max_page_count = %" G_GINT64_FORMAT, number_of (self, "PRAGMA page_count") + 3);
  guint done = 0;

  g_assert_true (ef_sql_exec (&self->store->sql, limit, &error));
  while (error == NULL)
    {
      ef_document_apply (document, random_change (self->rand, document), &error);
      done++;
      g_assert_cmpuint (done, <, 2000);
    }
  g_assert_error (error, EF_ERROR, EF_ERROR_FULL);
  g_clear_error (&error);
  assert_kept (self, job, ef_document_inspection (document));

  g_assert_true (ef_sql_exec (&self->store->sql, "PRAGMA max_page_count = 1000000", &error));
  g_assert_true (ef_document_apply (document, random_change (self->rand, document), &error));
  assert_kept (self, job, ef_document_inspection (document));
  g_assert_finalize_object (document);
}

/* Fails the n-th write inside the transaction by a trigger, for each table: nothing of the change is left. */
static void
test_failure_rolls_back (Fixture *self,
                         gconstpointer unused)
{
  static const char *const tables[] = { "item", "change", "job" };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (tables); i++)
    {
      g_autoptr (EfInspection) inspection = random_inspection (self->rand, 8);
      g_autoptr (EfInspection) next = random_inspection (self->rand, 8);
      g_autoptr (EfItem) tick = random_item (self->rand, inspection, EF_ITEM_TICK);
      g_autofree char *block = g_strdup_printf ("CREATE TRIGGER block BEFORE %s ON %s BEGIN SELECT raise (ABORT, 'blocked'); END",
                                                i == 2 ? "UPDATE" : "INSERT", tables[i]);
      gint64 job = add (self, inspection);
      gint64 jobs = number_of (self, "SELECT count (*) FROM job");
      g_autoptr (GError) error = NULL;
      EfDocument *document = ef_store_open_document (self->store, job, &error);

      g_assert_true (ef_sql_exec (&self->store->sql, block, &error));
      g_assert_false (ef_document_add (document, "Add", tick, &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
      g_clear_error (&error);
      g_assert_cmpint (ef_store_add (self->store, next, &error), ==, 0);
      g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
      g_clear_error (&error);
      g_assert_true (ef_sql_exec (&self->store->sql, "DROP TRIGGER block", &error));
      g_assert_true (ef_inspection_equal (inspection, ef_document_inspection (document)));
      assert_kept (self, job, inspection);
      g_assert_cmpint (number_of (self, "SELECT count (*) FROM job"), ==, jobs);
      g_assert_cmpint (sqlite3_get_autocommit (self->store->sql.db), ==, 1);
      g_assert_finalize_object (document);
    }
}

/* A sheet that was rolled back isn't taken for the next one, which may stand in the same row. */
static void
test_rolled_back_sheet (Fixture *self,
                        gconstpointer unused)
{
  guint round;

  for (round = 0; round < 40; round++)
    {
      g_autofree char *name = g_strdup_printf ("R-%u", round);
      g_autoptr (EfInspection) lost = random_inspection (self->rand, 6);
      g_autoptr (EfInspection) kept = random_inspection (self->rand, 6);
      g_autoptr (EfStore) fresh = NULL;
      g_autofree char *path = g_build_filename (self->folder, name, NULL);
      g_autoptr (EfInspection) back = NULL;
      g_autoptr (GError) error = NULL;
      gint64 job;

      fresh = open_store (path);
      g_assert_true (ef_sql_exec (&fresh->sql, "CREATE TRIGGER block BEFORE INSERT ON change BEGIN SELECT raise (ABORT, 'blocked'); END", &error));
      g_assert_cmpint (ef_store_add (fresh, lost, &error), ==, 0);
      g_clear_error (&error);
      g_assert_true (ef_sql_exec (&fresh->sql, "DROP TRIGGER block", &error));
      job = ef_store_add (fresh, kept, &error);
      g_assert_no_error (error);
      back = ef_store_load (fresh, job, &error);
      g_assert_no_error (error);
      g_assert_cmpstr (back->sheet->id, ==, kept->sheet->id);
    }
}

static gint64
add_job (Fixture *self,
         const char *number,
         const char *serial,
         const char *customer,
         const char *received)
{
  g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "pump-sheets", "hl-24.json", NULL);
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, NULL);
  g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, number);
  g_autoptr (EfItem) header = ef_item_copy (ef_inspection_header (inspection));
  EfJobHeader *fields = (EfJobHeader *) header;

  fields->serial = g_strdup (serial);
  fields->customer = g_strdup (customer);
  fields->received = g_strdup (received);
  fields->found_pressure = 80000;
  fields->expected_pressure = 150000;
  g_assert_true (ef_inspection_swap (inspection, inspection->items[EF_ITEM_HEADER]->pdata[0], header, NULL));

  return add (self, inspection);
}

/* The numbers found, in order, with commas between. */
static char *
find (Fixture *self,
      const EfJobQuery *query)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) rows = ef_store_jobs (self->store, query, &error);
  GString *found = g_string_new (NULL);
  EfJobQuery all = *query;
  guint i;

  g_assert_no_error (error);
  for (i = 0; i < rows->len; i++)
    g_string_append_printf (found, "%s%s", i > 0 ? "," : "", ((EfJobRow *) rows->pdata[i])->number);
  all.limit = all.offset = 0;
  if (query->limit == 0)
    g_assert_cmpint (ef_store_count (self->store, &all, &error), ==, rows->len);

  return g_string_free (found, FALSE);
}

static void
assert_finds (Fixture *self,
              EfJobQuery query,
              const char *expected)
{
  g_autofree char *found = find (self, &query);

  g_assert_cmpstr (found, ==, expected);
}

static void
test_search (Fixture *self,
             gconstpointer unused)
{
  gint64 second;

  add_job (self, "J-1", "A100%", "Tug, port engine", "2026-01-10");
  second = add_job (self, "J-2", "B_200", "Öltanker ÄNNE", "2026-03-01");
  add_job (self, "J-3", "it's", "railcar 7", "2026-02-01");
  add_job (self, "J-33", NULL, NULL, "2026-02-01");

  assert_finds (self, (EfJobQuery) { 0 }, "J-2,J-33,J-3,J-1");
  assert_finds (self, (EfJobQuery) { .text = "" }, "J-2,J-33,J-3,J-1");
  assert_finds (self, (EfJobQuery) { .text = "j-3" }, "J-33,J-3");
  assert_finds (self, (EfJobQuery) { .text = "%" }, "J-1");
  assert_finds (self, (EfJobQuery) { .text = "_" }, "J-2");
  assert_finds (self, (EfJobQuery) { .text = "'" }, "J-3");
  assert_finds (self, (EfJobQuery) { .text = "öltanker änne" }, "J-2");
  assert_finds (self, (EfJobQuery) { .text = "O\xcc\x88LTANKER" }, "J-2");
  assert_finds (self, (EfJobQuery) { .text = "engine  tug" }, "J-1");
  assert_finds (self, (EfJobQuery) { .text = "hl-24 railcar" }, "J-3");
  assert_finds (self, (EfJobQuery) { .text = "hl-27" }, "");
  assert_finds (self, (EfJobQuery) { .text = "'; DROP TABLE job; --" }, "");
  assert_finds (self, (EfJobQuery) { .from = "2026-02-01" }, "J-2,J-33,J-3");
  assert_finds (self, (EfJobQuery) { .from = "2026-02-01", .to = "2026-02-01" }, "J-33,J-3");
  assert_finds (self, (EfJobQuery) { .to = "2026-01-31" }, "J-1");
  assert_finds (self, (EfJobQuery) { .limit = 2 }, "J-2,J-33");
  assert_finds (self, (EfJobQuery) { .limit = 2, .offset = 2 }, "J-3,J-1");
  assert_finds (self, (EfJobQuery) { .limit = 2, .offset = 4 }, "");

  g_assert_true (ef_store_set_verdict (self->store, second, "rework", NULL));
  assert_finds (self, (EfJobQuery) { .verdict = "rework" }, "J-2");
  assert_finds (self, (EfJobQuery) { .verdict = "" }, "J-33,J-3,J-1");
  assert_finds (self, (EfJobQuery) { .verdict = "rework", .text = "j-1" }, "");
}

static void
edit_note (EfDocument *document,
           EfItem *item,
           const char *note)
{
  g_autoptr (EfItem) changed = ef_item_copy (item);
  EfMark *mark = (EfMark *) changed;

  g_free (mark->note);
  mark->note = g_strdup (note);
  g_assert_true (ef_document_replace (document, "Note", item, changed, NULL));
}

/* Notes are found by any part of a word, follow each edit and undo, and quotes or operators in a search are plain text. */
static void
test_full_text (Fixture *self,
                gconstpointer unused)
{
  gint64 job = add_job (self, "J-1", "A1", "Launch 3", "2026-01-10");
  g_autoptr (GError) error = NULL;
  EfDocument *document = ef_store_open_document (self->store, job, &error);
  g_autoptr (EfItem) mark = random_item (self->rand, ef_document_inspection (document), EF_ITEM_MARK);
  static const char *const never[] = { "\"", "\"\"\"", "not found", "NOT a*", "grooves OR tug", "body:suction", "(suction", "-suction", "NEAR(a b)" };
  guint i;

  add_job (self, "J-2", "A2", "Tug", "2026-01-09");
  ((EfMark *) mark)->kind = EF_MARK_GROOVE;
  g_assert_true (ef_document_add (document, "Add", mark, &error));
  edit_note (document, mark, "Tiefe Saugseitenriefe, \"torn\" filter");
  assert_finds (self, (EfJobQuery) { .text = "saugseite" }, "J-1");
  assert_finds (self, (EfJobQuery) { .text = "SEITENRIEFE launch" }, "J-1");
  assert_finds (self, (EfJobQuery) { .text = "seitenriefe tug" }, "");
  assert_finds (self, (EfJobQuery) { .text = "\"torn\"" }, "J-1");
  assert_finds (self, (EfJobQuery) { .finding = "groove" }, "J-1");
  assert_finds (self, (EfJobQuery) { .finding = "groove", .model = "HL-24" }, "J-1");
  assert_finds (self, (EfJobQuery) { .finding = "groove", .model = "RC-4" }, "");
  assert_finds (self, (EfJobQuery) { .model = "HL-24" }, "J-1,J-2");
  for (i = 0; i < G_N_ELEMENTS (never); i++)
    assert_finds (self, (EfJobQuery) { .text = never[i] }, "");

  g_assert_true (ef_document_undo (document, &error));
  assert_finds (self, (EfJobQuery) { .text = "saugseite" }, "");
  g_assert_true (ef_document_redo (document, &error));
  assert_finds (self, (EfJobQuery) { .text = "saugseite" }, "J-1");
  g_assert_true (ef_document_undo (document, &error));
  g_assert_true (ef_document_undo (document, &error));
  assert_finds (self, (EfJobQuery) { .text = "saugseite" }, "");
  assert_finds (self, (EfJobQuery) { .finding = "groove" }, "");
  g_assert_finalize_object (document);
}

/* Small or capital, with or without accents; beginnings and pieces of words; findings by name, and what came from the shelf. */
static void
test_plain_search (Fixture *self,
                   gconstpointer unused)
{
  gint64 job = add_job (self, "J-1", "Ä1", "Fähre Ångström, Motor übrig", "2026-01-10");
  g_autoptr (GError) error = NULL;
  EfDocument *document = ef_store_open_document (self->store, job, &error);
  g_autoptr (EfItem) mark = random_item (self->rand, ef_document_inspection (document), EF_ITEM_MARK);
  static const char *const found[] = { "fahre", "FÄHRE", "angst", "Ang", "UBRIG fähre", "a1", "flat spot", "Flat", "spot", "noté", "note", "u\314\210brig" };

  add_job (self, "J-2", "B2", "Tug", "2026-01-09");
  ((EfMark *) mark)->kind = EF_MARK_FLAT_SPOT;
  g_free (((EfMark *) mark)->note);
  ((EfMark *) mark)->note = g_strdup ("Nóté at the tooth");
  g_assert_true (ef_document_add (document, "Add", mark, &error));
  for (guint i = 0; i < G_N_ELEMENTS (found); i++)
    assert_finds (self, (EfJobQuery) { .text = found[i] }, "J-1");
  assert_finds (self, (EfJobQuery) { .text = "ferry" }, "");
  g_assert_true (ef_document_undo (document, &error));
  assert_finds (self, (EfJobQuery) { .text = "flat spot" }, "");
  g_assert_finalize_object (document);
}

/* No text whatever is an error, and no operator of the index or of SQL does anything. */
static void
test_hostile_search (Fixture *self,
                     gconstpointer unused)
{
  static const char *const hostile[] = {
    "'", "''", "\"", "\" OR \"", "' OR 1=1 --", "*", "a* OR b*", "NEAR(", ")", "{a b}: c", "^abc", "abc^", "\\", "%", "_", "?", "?1", ":a", "@a", "$a",
    "\001\002\003\004", "\377\376\375\374", "abc\377def", "\303", "AND AND AND", "NOT", "OR", "\342\200\256abc", "\360\237\224\247\360\237\224\247\360\237\224\247",
    "  \t \n ", "-", "--", "/*", ";;;", "; DROP TABLE job;", "job_text", "rowid:1", "a\"b", "\"\"\"\"\"",
  };
  g_autoptr (GString) many = g_string_new (NULL);
  g_autofree char *one = g_strnfill (1000000, 'x');

  add_job (self, "J-1", "A1", "Launch 3", "2026-01-10");
  for (guint i = 0; i < G_N_ELEMENTS (hostile); i++)
    {
      g_autoptr (GError) error = NULL;
      g_autofree char *bare = g_strstrip (g_strdup (hostile[i]));
      gint64 n = ef_store_count (self->store, &(EfJobQuery) { .text = hostile[i] }, &error);

      g_assert_no_error (error);
      g_assert_cmpint (n, ==, *bare == '\0' || g_str_equal (hostile[i], "-") ? 1 : 0);
    }
  for (guint i = 0; i < 200000; i++)
    g_string_append (many, i % 2 ? "launch " : "3 ");
  assert_finds (self, (EfJobQuery) { .text = many->str }, "J-1");
  assert_finds (self, (EfJobQuery) { .text = one }, "");
  for (guint i = 0; i < 300; i++)
    {
      char bytes[24];

      for (guint k = 0; k + 1 < sizeof bytes; k++)
        bytes[k] = (char) g_rand_int_range (self->rand, 1, 256);
      bytes[sizeof bytes - 1] = '\0';
      g_assert_cmpint (ef_store_count (self->store, &(EfJobQuery) { .text = bytes, .verdict = bytes, .model = bytes, .finding = bytes, .from = bytes }, NULL), >=, 0);
    }
  assert_finds (self, (EfJobQuery) { 0 }, "J-1");
}

static char *
numbers_in_order (Fixture *self,
                  const EfJobQuery *query)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GArray) ids = ef_store_job_ids (self->store, query, &error);
  g_autoptr (GPtrArray) rows = ef_store_job_rows (self->store, (gint64 *) ids->data, ids->len, &error);
  GString *text = g_string_new (NULL);

  g_assert_no_error (error);
  g_assert_cmpuint (rows->len, ==, ids->len);
  for (guint i = 0; i < rows->len; i++)
    {
      const EfJobRow *row = rows->pdata[i];

      g_assert_cmpint (row->id, ==, g_array_index (ids, gint64, i));
      g_string_append_printf (text, "%s%s", i > 0 ? "," : "", row->number);
    }

  return g_string_free (text, FALSE);
}

static void
assert_order (Fixture *self,
              EfJobQuery query,
              const char *expected)
{
  g_autofree char *found = numbers_in_order (self, &query);

  g_assert_cmpstr (found, ==, expected);
}

/* The list in every order, small lists and parts of it; what is sealed is told apart. */
static void
test_orders (Fixture *self,
             gconstpointer unused)
{
  gint64 ids[4] = { add_job (self, "J-9", "A1", "Tug", "2026-01-10"), add_job (self, "J-100", "A2", "änne", "2026-01-12"),
                    add_job (self, "J-20", "A3", "Berta", "2026-01-11"), add_job (self, "J-3", "A4", "", "2026-01-12") };
  const gint64 wanted[3] = { ids[2], 9999, ids[0] };
  g_autoptr (GPtrArray) rows = NULL;
  g_autoptr (GError) error = NULL;
  g_auto (GStrv) models = NULL;

  g_assert_true (ef_store_set_verdict (self->store, ids[0], "scrap", NULL));
  g_assert_true (ef_store_set_verdict (self->store, ids[2], "use-again", NULL));
  g_assert_true (ef_sql_exec (&self->store->sql, "UPDATE job SET found_pressure = 50000 WHERE number = 'J-20'; UPDATE job SET found_pressure = NULL WHERE number = 'J-9';"
                                                 "UPDATE job SET sealed = 3 WHERE number = 'J-3'; UPDATE job SET sealed = -1 WHERE number = 'J-20'", &error));
  assert_order (self, (EfJobQuery) { 0 }, "J-3,J-100,J-20,J-9");
  assert_order (self, (EfJobQuery) { .ascending = TRUE }, "J-9,J-20,J-100,J-3");
  assert_order (self, (EfJobQuery) { .order = EF_JOBS_BY_NUMBER, .ascending = TRUE }, "J-3,J-9,J-20,J-100");
  assert_order (self, (EfJobQuery) { .order = EF_JOBS_BY_NUMBER }, "J-100,J-20,J-9,J-3");
  assert_order (self, (EfJobQuery) { .order = EF_JOBS_BY_CUSTOMER, .ascending = TRUE }, "J-3,J-100,J-20,J-9");
  assert_order (self, (EfJobQuery) { .order = EF_JOBS_BY_VERDICT, .ascending = TRUE }, "J-20,J-9,J-3,J-100");
  assert_order (self, (EfJobQuery) { .order = EF_JOBS_BY_VERDICT }, "J-9,J-20,J-3,J-100");
  assert_order (self, (EfJobQuery) { .order = EF_JOBS_BY_PRESSURE, .ascending = TRUE }, "J-20,J-3,J-100,J-9");
  assert_order (self, (EfJobQuery) { .order = EF_JOBS_BY_PRESSURE }, "J-3,J-100,J-20,J-9");
  assert_order (self, (EfJobQuery) { .order = EF_JOBS_BY_MODEL }, "J-3,J-100,J-20,J-9");
  assert_order (self, (EfJobQuery) { .standing = EF_JOBS_SEALED }, "J-3,J-20");
  assert_order (self, (EfJobQuery) { .standing = EF_JOBS_OPEN }, "J-100,J-9");
  assert_order (self, (EfJobQuery) { .standing = EF_JOBS_OPEN, .verdict = "scrap", .text = "tug", .from = "2026-01-10", .to = "2026-01-10", .model = "HL-24" }, "J-9");
  rows = ef_store_job_rows (self->store, wanted, 3, &error);
  g_assert_cmpuint (rows->len, ==, 2);
  g_assert_cmpint (((EfJobRow *) rows->pdata[1])->id, ==, ids[0]);
  models = ef_store_job_models (self->store, &error);
  g_assert_cmpuint (g_strv_length (models), ==, 1);
  g_assert_cmpstr (models[0], ==, "HL-24");
  /* What a sealed job came to stands, whatever is worked out later. */
  g_assert_true (ef_store_set_verdict (self->store, ids[2], "scrap", &error));
  assert_order (self, (EfJobQuery) { .verdict = "use-again" }, "J-20");
}

/* Each once and in order; a model of which all jobs were withdrawn can't be chosen any more. */
static void
test_models (Fixture *self,
             gconstpointer unused)
{
  static const char *const names[] = { "C-3", "A-1", "B-2", "A-1", "C-3" };
  g_autoptr (GError) error = NULL;
  g_auto (GStrv) models = NULL;
  g_autofree char *all = NULL;

  for (guint i = 0; i < G_N_ELEMENTS (names); i++)
    {
      g_autofree char *number = g_strdup_printf ("J-%u", i);
      gint64 job = add_job (self, number, NULL, NULL, NULL);

      g_assert_true (ef_sql_run (&self->store->sql, NULL, &error, "UPDATE job SET model = ?, withdrawn = ? WHERE id = ?", "sii", names[i],
                                 (gint64) (g_str_equal (names[i], "B-2") || i == 4), job));
    }
  models = ef_store_job_models (self->store, &error);
  g_assert_no_error (error);
  all = g_strjoinv (",", models);
  g_assert_cmpstr (all, ==, "A-1,C-3");
}

/* The index against a plain look at every job, on random jobs and random pieces of their text. */
static void
test_full_text_random (Fixture *self,
                       gconstpointer unused)
{
  g_autoptr (GPtrArray) texts = g_ptr_array_new_with_free_func (g_free);
  guint i, k, found = 0;

  for (i = 0; i < 40; i++)
    {
      g_autoptr (EfInspection) inspection = random_inspection (self->rand, 10);
      gint64 job = add (self, inspection);
      g_autoptr (sqlite3_stmt) text = ef_sql_query (&self->store->sql, NULL, "SELECT body FROM job_text WHERE rowid = ?", "i", job);

      g_assert_cmpint (sqlite3_step (text), ==, SQLITE_ROW);
      g_ptr_array_add (texts, ef_sql_column_text (text, 0));
    }
  for (i = 0; i < 300; i++)
    {
      const char *text = texts->pdata[g_rand_int_range (self->rand, 0, 40)];
      glong length = g_utf8_strlen (text, -1);
      glong start = g_rand_int_range (self->rand, 0, (int) MAX (length - 8, 1));
      g_autofree char *piece = g_utf8_substring (text, start, MIN (start + g_rand_int_range (self->rand, 3, 9), length));
      gint64 expected = 0;

      if (strpbrk (piece, " \t\r\n") != NULL || g_utf8_strlen (piece, -1) < 3)
        continue;
      for (k = 0; k < texts->len; k++)
        expected += strstr (texts->pdata[k], piece) != NULL;
      if (ef_store_count (self->store, &(EfJobQuery) { .text = piece }, NULL) != expected)
        g_error ("\"%s\": expected %d", piece, (int) expected);
      found++;
    }
  g_assert_cmpuint (found, >, 50);
}

static void
test_verdict_refused (Fixture *self,
                      gconstpointer unused)
{
  gint64 job = add_job (self, "J-1", NULL, NULL, NULL);
  g_autoptr (GError) error = NULL;

  g_assert_false (ef_store_set_verdict (self->store, job, "perhaps", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_false (ef_store_set_verdict (self->store, job + 1, "scrap", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  g_assert_null (ef_store_load (self->store, job + 1, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  g_assert_null (ef_store_load_at (self->store, job, 0, &error));
}

/* The list follows the document: marks counted, header's fields shown, search text renewed. */
static void
test_row_follows (Fixture *self,
                  gconstpointer unused)
{
  gint64 job = add_job (self, "J-1", "A100", NULL, NULL);
  g_autoptr (GError) error = NULL;
  EfDocument *document = ef_store_open_document (self->store, job, &error);
  g_autoptr (EfItem) mark = random_item (self->rand, ef_document_inspection (document), EF_ITEM_MARK);
  g_autoptr (EfItem) header = ef_item_copy (ef_inspection_header (ef_document_inspection (document)));
  g_autoptr (GPtrArray) rows = NULL;
  const EfJobRow *row;
  g_autofree char *today = ef_store_now ();

  today[10] = '\0';
  g_assert_true (ef_document_add (document, "Add", mark, &error));
  ((EfJobHeader *) header)->customer = g_strdup ("Launch 3");
  ((EfJobHeader *) header)->found_pressure = NAN;
  g_assert_true (ef_document_replace (document, "Fill in", (gpointer) ef_inspection_header (ef_document_inspection (document)), header, &error));
  rows = ef_store_jobs (self->store, NULL, &error);
  row = rows->pdata[0];
  g_assert_cmpuint (row->n_marks, ==, 1);
  g_assert_cmpstr (row->customer, ==, "Launch 3");
  g_assert_cmpstr (row->serial, ==, "A100");
  g_assert_cmpstr (row->model, ==, "HL-24");
  g_assert_cmpstr (row->verdict, ==, "");
  g_assert_cmpstr (row->received, ==, "");
  g_assert_true (isnan (row->found_pressure));
  g_assert_cmpfloat (row->expected_pressure, ==, 150000);
  g_assert_true (g_str_has_prefix (row->changed, today));
  assert_finds (self, (EfJobQuery) { .text = "launch 3" }, "J-1");
  assert_finds (self, (EfJobQuery) { .from = today, .to = today }, "J-1"); /* no date of receipt: the day it was made */

  g_assert_true (ef_document_undo (document, &error));
  g_assert_true (ef_document_undo (document, &error));
  g_ptr_array_unref (rows);
  rows = ef_store_jobs (self->store, NULL, &error);
  row = rows->pdata[0];
  g_assert_cmpuint (row->n_marks, ==, 0);
  g_assert_cmpfloat (row->found_pressure, ==, 80000);
  assert_finds (self, (EfJobQuery) { .text = "launch 3" }, "");
  g_assert_finalize_object (document);
}

static void
test_sheets (Fixture *self,
             gconstpointer unused)
{
  g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "pump-sheets", "hl-24.json", NULL);
  g_autofree char *other_path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "pump-sheets", "rc-4.json", NULL);
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, NULL);
  g_autoptr (EfPumpSheet) other = ef_pump_sheet_load (other_path, NULL);
  g_auto (GStrv) halves = g_strsplit (sheet->json, sheet->name, 2);
  g_autofree char *edited_json = g_strjoinv ("Edited in the shop", halves);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfPumpSheet) edited = ef_pump_sheet_parse (edited_json, "edited", &error);
  g_autoptr (EfInspection) inspection = ef_inspection_new (other, "J-1");
  g_autoptr (GPtrArray) sheets = NULL;

  g_assert_no_error (error);
  add (self, inspection);
  sheets = ef_store_sheets (self->store, &error);
  g_assert_cmpuint (sheets->len, ==, 0); /* the job's sheet wasn't kept for itself */
  g_ptr_array_unref (sheets);

  g_assert_true (ef_store_put_sheet (self->store, sheet, &error));
  g_assert_true (ef_store_put_sheet (self->store, edited, &error));
  g_assert_true (ef_store_put_sheet (self->store, other, &error));
  reopen (self);
  sheets = ef_store_sheets (self->store, &error);
  g_assert_cmpuint (sheets->len, ==, 2);
  g_assert_cmpstr (((EfPumpSheet *) sheets->pdata[0])->name, ==, "Edited in the shop");
  g_assert_cmpstr (((EfPumpSheet *) sheets->pdata[1])->id, ==, "rc-4");
  g_ptr_array_unref (sheets);

  /* Back to the earlier text: that one counts again. */
  g_assert_true (ef_store_put_sheet (self->store, sheet, &error));
  sheets = ef_store_sheets (self->store, &error);
  g_assert_cmpuint (sheets->len, ==, 2);
  g_assert_cmpstr (((EfPumpSheet *) sheets->pdata[0])->name, ==, sheet->name);
}

/* A store as the first version left it, made by that version's tables. */
static const char version_1[] =
  "CREATE TABLE sheet (id INTEGER PRIMARY KEY, digest TEXT NOT NULL UNIQUE, name TEXT NOT NULL, model TEXT NOT NULL,"
  " body TEXT NOT NULL, edited INTEGER NOT NULL DEFAULT 0);"
  "CREATE TABLE job (id INTEGER PRIMARY KEY AUTOINCREMENT, number TEXT NOT NULL UNIQUE,"
  " sheet INTEGER NOT NULL REFERENCES sheet (id), pump TEXT NOT NULL, model TEXT NOT NULL, serial TEXT NOT NULL DEFAULT '',"
  " received TEXT NOT NULL DEFAULT '', customer TEXT NOT NULL DEFAULT '', verdict TEXT NOT NULL DEFAULT '',"
  " found_pressure REAL, expected_pressure REAL, changed TEXT NOT NULL);"
  "CREATE TABLE item (job INTEGER NOT NULL REFERENCES job (id), kind TEXT NOT NULL, id TEXT NOT NULL, seq INTEGER NOT NULL,"
  " body TEXT NOT NULL, PRIMARY KEY (job, kind, id));"
  "CREATE INDEX item_seq ON item (job, kind, seq);"
  "CREATE TABLE change (job INTEGER NOT NULL REFERENCES job (id), seq INTEGER NOT NULL, time TEXT NOT NULL, role TEXT NOT NULL,"
  " bench TEXT NOT NULL, program TEXT NOT NULL, label TEXT NOT NULL, edits TEXT NOT NULL, PRIMARY KEY (job, seq));"
  "CREATE TRIGGER change_no_update BEFORE UPDATE ON change BEGIN SELECT raise (ABORT, 'history is only added to'); END;"
  "CREATE TRIGGER change_no_delete BEFORE DELETE ON change BEGIN SELECT raise (ABORT, 'history is only added to'); END;"
  "INSERT INTO job (number, sheet, pump, model, serial, received, customer, found_pressure, changed) VALUES"
  " ('J-1', 1, 'HL-24 pump', 'HL-24', 'S1', '2025-05-05', 'ÄNNE', 80000, '2025-06-01T10:00:00Z'),"
  " ('J-2', 1, 'HL-24 pump', 'HL-24', 'S2', '', '', NULL, '2025-07-01T10:00:00Z');"
  "INSERT INTO item (job, kind, id, seq, body) VALUES"
  " (1, 'header', 'job', 1, '{\"number\": \"J-1\", \"received\": \"2025-05-05\", \"complaint\": \"Lamp lit at idle\"}'),"
  " (2, 'header', 'job', 1, '{\"number\": \"J-2\"}'), (1, 'tick', 'a', 1, '{\"id\": \"a\", \"note\": \"pins FIRST\"}');"
  "INSERT INTO change VALUES (2, 1, '2025-06-15T08:00:00Z', '', '', 'endfloat', 'Job entered',"
  " '[{\"kind\": \"header\", \"position\": 0, \"before\": null, \"after\": {\"number\": \"J-2\"}}]');"
  "PRAGMA application_id = 1164329844; PRAGMA user_version = 1;";

static void
make_version_1 (const char *path)
{
  g_autofree char *sheet_path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "pump-sheets", "hl-24.json", NULL);
  g_autofree char *body = NULL;
  g_autoptr (GError) error = NULL;
  EfSql sql = { NULL, (char *) "old" };

  g_assert_true (g_file_get_contents (sheet_path, &body, NULL, NULL));
  g_assert_cmpint (sqlite3_open (path, &sql.db), ==, SQLITE_OK);
  g_assert_true (ef_sql_exec (&sql, version_1, &error));
  g_assert_true (ef_sql_run (&sql, NULL, &error, "INSERT INTO sheet (digest, name, model, body) VALUES ('d', 'hl-24', 'HL-24', ?)", "s", body));
  g_assert_true (ef_sql_exec (&sql, "INSERT INTO item SELECT 1, 'mark', 'm' || value, value, '{\"id\": \"m' || value ||"
                                    "'\", \"face\": \"' || (SELECT json_extract (body, '$.sections[0].floor_face') FROM sheet) ||"
                                    "'\", \"kind\": \"lip\", \"shape\": \"point\", \"size_mm\": 1, \"nodes_mm\": [[0, 0]]}'"
                                    " FROM json_each ('[1,2,3]')",
                              &error));
  g_assert_no_error (error);
  sqlite3_close (sql.db);
}

/* From each earlier version: comes up to date with everything in it, and with the tables of a store made new. */
static void
test_migration (Fixture *self,
                gconstpointer unused)
{
  gint64 version;

  for (version = 1; version < ef_store_schema_version (); version++)
    {
      g_autofree char *name = g_strdup_printf ("old-%d.sqlite", (int) version);
      g_autofree char *old = g_build_filename (self->folder, name, NULL);
      g_autoptr (EfInspection) first = NULL;
      g_autoptr (EfInspection) second = NULL;
      g_autoptr (EfInspection) replayed = NULL;
      g_autoptr (GPtrArray) rows = NULL;
      g_autoptr (GError) error = NULL;
      EfSql sql = { NULL, name };

      make_version_1 (old);
      g_assert_cmpint (sqlite3_open (old, &sql.db), ==, SQLITE_OK);
      g_assert_true (ef_store_schema_add_functions (&sql, &error));
      g_assert_true (ef_store_schema_migrate (&sql, version, &error));
      sqlite3_close (sql.db);

      ef_store_close (self->store);
      self->store = open_store (old);
      g_assert_cmpint (number_of (self, "PRAGMA user_version"), ==, ef_store_schema_version ());
      rows = ef_store_jobs (self->store, &(EfJobQuery) { .finding = "lip" }, &error);
      g_assert_cmpuint (rows->len, ==, 1);
      g_assert_cmpuint (((EfJobRow *) rows->pdata[0])->n_marks, ==, 3);
      assert_finds (self, (EfJobQuery) { .text = "änne" }, "J-1");
      assert_finds (self, (EfJobQuery) { .text = "anne lip" }, "J-1");
      assert_finds (self, (EfJobQuery) { .text = "lit lamp" }, "J-1");
      assert_finds (self, (EfJobQuery) { .text = "pins first" }, "J-1");
      assert_finds (self, (EfJobQuery) { .finding = "groove" }, "");
      assert_finds (self, (EfJobQuery) { .from = "2025-06-15", .to = "2025-06-15" }, "J-2");
      assert_finds (self, (EfJobQuery) { 0 }, "J-2,J-1");
      first = ef_store_load (self->store, 1, &error);
      g_assert_no_error (error);
      g_assert_cmpuint (first->items[EF_ITEM_MARK]->len, ==, 3);
      g_assert_cmpstr (ef_inspection_header (first)->complaint, ==, "Lamp lit at idle");
      second = ef_store_load (self->store, 2, &error);
      replayed = ef_store_load_at (self->store, 2, 1, &error);
      g_assert_no_error (error);
      assert_same_inspection (second, replayed);

      rows = (g_ptr_array_unref (rows), ef_store_history (self->store, 2, &error));
      g_assert_cmpuint (rows->len, ==, 1);
      g_assert_cmpstr (((EfHistoryRow *) rows->pdata[0])->action, ==, "edit");
      g_assert_cmpstr (((EfHistoryRow *) rows->pdata[0])->rules, ==, ""); /* nobody noted it then */
      g_assert_cmpint (number_of (self, "SELECT sum (withdrawn + abs (sealed)) FROM job"), ==, 0);

      g_assert_true (ef_sql_run (&self->store->sql, NULL, &error, "ATTACH ? AS fresh", "s", self->path));
      g_assert_cmpint (number_of (self, "SELECT count (*) FROM fresh.sqlite_master WHERE name NOT LIKE 'sqlite_%'"), >=, 10);
      g_assert_cmpint (number_of (self, "SELECT count (*) FROM fresh.sqlite_master AS f LEFT JOIN main.sqlite_master AS m"
                                        " ON m.name = f.name AND m.type = f.type WHERE m.name IS NULL"),
                       ==, 0);
      g_assert_cmpint (number_of (self, "SELECT count (*) FROM (SELECT 'job' AS t UNION SELECT 'item' UNION SELECT 'change' UNION SELECT 'sheet'"
                                        " UNION SELECT 'gauge' UNION SELECT 'gauge_change') AS tables,"
                                        " pragma_table_info (t, 'fresh') AS f LEFT JOIN pragma_table_info (t, 'main') AS m"
                                        " ON m.cid = f.cid AND m.name = f.name AND m.type = f.type WHERE m.name IS NULL"),
                       ==, 0);
    }
}

/* A step that fails leaves the store at the version before, and opening it again goes on from there. */
static void
test_failed_migration (Fixture *self,
                       gconstpointer unused)
{
  g_autofree char *old = g_build_filename (self->folder, "half.sqlite", NULL);
  g_autoptr (GError) error = NULL;
  EfSql sql = { NULL, (char *) "half" };
  gint64 version, columns;

  g_assert_cmpint (sqlite3_open (old, &sql.db), ==, SQLITE_OK);
  g_assert_true (ef_store_schema_migrate (&sql, 1, &error));
  g_assert_true (ef_sql_exec (&sql, "CREATE TABLE job_day (x)", &error)); /* in the way of an index made last */
  g_assert_true (ef_store_schema_add_functions (&sql, &error));
  g_assert_false (ef_store_schema_migrate (&sql, 2, &error));
  g_assert_nonnull (error);
  g_clear_error (&error);
  g_assert_true (ef_sql_integer (&sql, 0, &version, &error, "PRAGMA user_version", ""));
  g_assert_cmpint (version, ==, 1);
  g_assert_true (ef_sql_integer (&sql, 0, &columns, &error, "SELECT count (*) FROM pragma_table_info ('job') WHERE name = 'n_marks'", ""));
  g_assert_cmpint (columns, ==, 0);
  g_assert_true (ef_sql_exec (&sql, "DROP TABLE job_day", &error));
  sqlite3_close (sql.db);

  ef_store_close (self->store);
  self->store = open_store (old);
  g_assert_cmpint (number_of (self, "PRAGMA user_version"), ==, ef_store_schema_version ());
}

static char *
file_digest (const char *path)
{
  g_autofree char *bytes = NULL;
  gsize length;

  g_assert_true (g_file_get_contents (path, &bytes, &length, NULL));

  return g_compute_checksum_for_data (G_CHECKSUM_SHA256, (const guchar *) bytes, length);
}

static void
assert_open_refused (const char *path,
                     EfError code,
                     const char *words)
{
  g_autofree char *before = file_digest (path);
  g_autofree char *after = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_null (ef_store_open (path, &error));
  if (error->code != (int) code || strstr (error->message, words) == NULL || strstr (error->message, path) == NULL)
    g_error ("expected %d \"%s\" in %d \"%s\"", code, words, error->code, error->message);
  after = file_digest (path);
  g_assert_cmpstr (before, ==, after);
}

static void
test_open_refused (Fixture *self,
                   gconstpointer unused)
{
  g_autoptr (EfInspection) inspection = random_inspection (self->rand, 5);
  g_autofree char *path = g_build_filename (self->folder, "bad.sqlite", NULL);
  g_autofree char *bytes = NULL;
  gsize length;
  EfSql sql = { NULL, (char *) "bad" };
  g_autoptr (GError) error = NULL;

  g_assert_true (g_file_set_contents (path, "these are not the jobs of a shop, but a letter that is long enough to be looked at", -1, NULL));
  assert_open_refused (path, EF_ERROR_CORRUPT, "expected a store");

  /* Another program's database. */
  g_remove (path);
  g_assert_cmpint (sqlite3_open (path, &sql.db), ==, SQLITE_OK);
  g_assert_true (ef_sql_exec (&sql, "CREATE TABLE recipe (x)", NULL));
  sqlite3_close (sql.db);
  assert_open_refused (path, EF_ERROR_CORRUPT, "another database");

  /* Made by a newer version. */
  add (self, inspection);
  g_clear_pointer (&self->store, ef_store_close);
  g_assert_cmpint (sqlite3_open (self->path, &sql.db), ==, SQLITE_OK);
  g_assert_true (ef_sql_exec (&sql, "PRAGMA user_version = 99; PRAGMA wal_checkpoint (TRUNCATE)", NULL));
  sqlite3_close (sql.db);
  assert_open_refused (self->path, EF_ERROR_NEWER_FORMAT, "newer version of this program");

  /* The header destroyed. */
  g_assert_true (g_file_get_contents (self->path, &bytes, &length, NULL));
  memset (bytes, 0x5a, 100);
  g_assert_true (g_file_set_contents (self->path, bytes, length, NULL));
  assert_open_refused (self->path, EF_ERROR_CORRUPT, "expected a store");

  g_assert_null (ef_store_open ("/proc/none/jobs.sqlite", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_IO);
}

/* What the database quotes of a damaged file needn't be UTF-8; what is said to people must. */
static void
test_damaged_schema (Fixture *self,
                     gconstpointer data)
{
  g_autofree char *copy = g_build_filename (self->folder, "schema.sqlite", NULL);
  g_autofree char *bytes = NULL;
  guint refused = 0;
  gsize length;

  g_clear_pointer (&self->store, ef_store_close);
  g_assert_true (g_file_get_contents (self->path, &bytes, &length, NULL));
  /* Each of the schema's triggers in turn gets letters that are none. */
  for (gsize at = 0; at + 40 < length; at++)
    if (memcmp (bytes + at, "CREATE TRIGGER", 14) == 0)
      {
        g_autofree char *damaged = g_memdup2 (bytes, length);
        g_autoptr (GError) error = NULL;
        EfStore *store;

        memset (damaged + at + 7, 0xff, 12);
        g_assert_true (g_file_set_contents (copy, damaged, (gssize) length, NULL));
        store = ef_store_open (copy, &error);
        g_assert_true ((store == NULL) == (error != NULL));
        g_assert_true (error == NULL || g_utf8_validate (error->message, -1, NULL));
        refused += error != NULL;
        ef_store_close (store);
      }
  g_assert_cmpuint (refused, >, 3);
}

/* Pages overwritten at random: opening, listing and loading give an error of ours or data that fit, and never crash.
 * (What was changed within a text and still reads well is for seals to find.) */
static void
test_damaged_pages (Fixture *self,
                    gconstpointer unused)
{
  g_autofree char *copy = g_build_filename (self->folder, "damaged.sqlite", NULL);
  g_autofree char *bytes = NULL;
  gsize length;
  guint i, k, round, refused = 0;

  for (i = 0; i < 20; i++)
    {
      g_autoptr (EfInspection) inspection = random_inspection (self->rand, 20);

      add (self, inspection);
    }
  g_clear_pointer (&self->store, ef_store_close);
  g_assert_true (g_file_get_contents (self->path, &bytes, &length, NULL));

  for (round = 0; round < 60; round++)
    {
      g_autofree char *damaged = g_memdup2 (bytes, length);
      g_autoptr (EfStore) store = NULL;
      g_autoptr (GPtrArray) rows = NULL;
      g_autoptr (GError) error = NULL;
      gsize at = 100 + (gsize) g_rand_int_range (self->rand, 0, (int) (length - 700));

      for (k = 0; k < 600; k++)
        damaged[at + k] = (char) g_rand_int_range (self->rand, 0, 256);
      g_assert_true (g_file_set_contents (copy, damaged, length, NULL));
      store = ef_store_open (copy, &error);
      if (store != NULL)
        rows = ef_store_jobs (store, NULL, &error);
      for (k = 0; rows != NULL && error == NULL && k < rows->len; k++)
        ef_inspection_free (ef_store_load (store, ((EfJobRow *) rows->pdata[k])->id, &error));
      if (error == NULL)
        continue;
      refused++;
      g_assert_true (error->domain == EF_ERROR);
      g_assert_nonnull (strstr (error->message, copy));
    }
  g_test_message ("%u of 60 met the damage", refused);
  /* Not more of them: what lies between the rows, and pages of tables without any, aren't looked at. */
  g_assert_cmpuint (refused, >, 5);
}

#define ADD(path, function) g_test_add (path, Fixture, NULL, set_up, function, tear_down)

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  ADD ("/store/settings-and-modes", test_settings);
  ADD ("/store/log-is-private-too", test_wal_mode_bits);
  ADD ("/store/add-and-load", test_add_and_load);
  ADD ("/store/number-taken", test_number_taken);
  ADD ("/store/document-and-every-earlier-state", test_document);
  ADD ("/store/history", test_history);
  ADD ("/store/two-windows", test_two_windows);
  ADD ("/store/busy", test_busy);
  ADD ("/store/full-disk", test_full);
  ADD ("/store/failure-rolls-back", test_failure_rolls_back);
  ADD ("/store/rolled-back-sheet", test_rolled_back_sheet);
  ADD ("/store/search", test_search);
  ADD ("/store/full-text", test_full_text);
  ADD ("/store/full-text-against-plain-search", test_full_text_random);
  ADD ("/store/verdict-refused", test_verdict_refused);
  ADD ("/store/list-follows-document", test_row_follows);
  ADD ("/store/sheets", test_sheets);
  ADD ("/store/plain-search", test_plain_search);
  ADD ("/store/hostile-search", test_hostile_search);
  ADD ("/store/orders", test_orders);
  ADD ("/store/models", test_models);
  ADD ("/store/migration-from-each-version", test_migration);
  ADD ("/store/failed-migration", test_failed_migration);
  ADD ("/store/open-refused-and-untouched", test_open_refused);
  ADD ("/store/damaged-pages", test_damaged_pages);
  ADD ("/store/damaged-schema", test_damaged_schema);

  return g_test_run ();
}
