/* A new store of what can be read of a damaged one: of a sound one all of it, of one damaged in any place what can be read, with the rest named.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each page of a store with sealed jobs, files, gauges, roles and shelf is damaged by itself; -m slow takes every page, otherwise one of each table and some between. Damage is constructed.
 */
#include "sealed-store.h"
#include "../inspection/random-inspection.h"

#include "base/ef-json-canonical.h"
#include "record/ef-backup.h"
#include "record/ef-exchange.h"
#include "record/ef-salvage.h"
#include "record/ef-store-files.h"
#include "record/ef-store-gauges.h"
#include "record/ef-store-lessons.h"
#include "record/ef-store-private.h"
#include "record/ef-store-standing.h"

#include <glib/gstdio.h>
#include <string.h>
#include "../isolate.h"
#include "samples.h"
#include "store-digest.h"

#define PAGE 4096
#define N_MORE 12 /* jobs besides those of make_sealed_store() */

static char *path, *bytes; /* the sound store, closed */
static gsize length;
static gint64 n_jobs;

static void
make_store (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (11);
  g_autoptr (GBytes) large = g_bytes_new_take (g_malloc0 (700000), 700000);
  g_autoptr (GInputStream) stream = g_memory_input_stream_new_from_bytes (large);
  g_autofree char *digest = NULL;
  g_autoptr (GError) error = NULL;
  EfStore *store;

  path = g_build_filename (g_get_user_data_dir (), "sound.endfloat", NULL);
  make_sealed_store (path, rand);
  store = ef_store_open (path, &error);
  g_assert_no_error (error);
  g_assert_true (ef_store_seed_gauges (store, &error));
  digest = ef_store_add_file (store, stream, "IMG 7.jpg", NULL, &error);
  g_assert_no_error (error);
  for (guint i = 0; i < N_MORE; i++)
    add_random_job (store, rand, 6);
  n_jobs = ef_store_count (store, NULL, NULL);
  ef_store_close (store);
  g_assert_true (g_file_get_contents (path, &bytes, &length, NULL));
}

static char *
new_path (void)
{
  static guint n;

  return g_strdup_printf ("%s/new-%u.endfloat", g_get_user_data_dir (), n++);
}

static void
remove_new (const char *made)
{
  g_autofree char *report = g_strconcat (made, ".report.txt", NULL);

  remove_store (made);
  g_remove (report);
}

static void
test_sound (void)
{
  g_autofree char *made = new_path ();
  g_autofree char *report_path = g_strconcat (made, ".report.txt", NULL);
  g_autofree char *report = NULL;
  g_autoptr (GError) error = NULL;
  g_autoptr (EfSalvage) salvage = ef_salvage_store (path, made, NULL, NULL, NULL, &error);
  g_autoptr (EfVerification) before = verify_store (path);
  EfStore *old, *new;

  g_assert_no_error (error);
  for (guint i = 0; i < salvage->losses->len; i++)
    g_test_message ("%s", (const char *) salvage->losses->pdata[i]);
  g_assert_cmpuint (salvage->losses->len, ==, 0);
  g_assert_cmpint (salvage->n_jobs, ==, n_jobs);
  g_assert_cmpint (salvage->n_written, ==, n_jobs);
  g_assert_cmpint (salvage->n_replayed, ==, 0);
  assert_holds (salvage->verification);
  g_assert_cmpint (salvage->verification->n_seals, ==, before->n_seals);
  g_assert_true (ef_backup_check (made, NULL, &error)); /* triggers and all */
  g_assert_no_error (error);
  old = ef_store_open (path, &error);
  new = ef_store_open (made, &error);
  g_assert_no_error (error);
  for (guint i = 0; i < G_N_ELEMENTS (store_tables); i++)
    {
      g_autofree char *was = store_table_digest (old, store_tables[i]);
      g_autofree char *is = store_table_digest (new, store_tables[i]);

      if (!g_str_equal (was, is))
        g_error ("table %s isn't as it was", store_tables[i]);
    }
  /* The search is there, and history can't be deleted. */
  {
    g_autoptr (GPtrArray) rows = ef_store_jobs (new, &(EfJobQuery) { 0 }, &error);
    g_autoptr (GPtrArray) found = ef_store_jobs (new, &(EfJobQuery) { .text = ((EfJobRow *) rows->pdata[0])->number }, &error);

    g_assert_cmpuint (found->len, >=, 1);
    g_assert_false (ef_sql_exec (&new->sql, "DELETE FROM change", &error));
  }
  ef_store_close (old);
  ef_store_close (new);
  g_assert_true (g_file_get_contents (report_path, &report, NULL, NULL));
  g_assert_nonnull (strstr (report, "All of it could be read."));
  g_assert_nonnull (strstr (report, "HOLDS"));
  remove_new (made);
}

static gboolean
is_told (const EfSalvage *salvage,
         const char *number)
{
  g_autofree char *words = g_strdup_printf ("job %s", number);

  for (guint i = 0; i < salvage->losses->len; i++)
    if (strstr (salvage->losses->pdata[i], words) != NULL)
      return TRUE;

  return FALSE;
}

/* Each job is as it was, or is named, or its absence follows from a table that is named. */
static void
compare_jobs (const EfSalvage *salvage,
              const char *made,
              guint *n_same)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) old = ef_store_open (path, &error);
  g_autoptr (EfStore) new = ef_store_open (made, &error);
  g_autoptr (GPtrArray) rows = NULL;

  g_assert_no_error (error);
  rows = ef_store_jobs (old, &(EfJobQuery) { 0 }, &error);
  for (guint i = 0; i < rows->len; i++)
    {
      const EfJobRow *row = rows->pdata[i];
      g_autoptr (EfInspection) was = ef_store_load (old, row->id, &error);
      g_autoptr (EfInspection) is = NULL;
      g_autoptr (GError) local = NULL;
      gint64 job = 0;

      g_assert_no_error (error);
      g_assert_true (ef_store_exists (new, row->number, &job, &error));
      is = job > 0 ? ef_store_load (new, job, &local) : NULL;
      g_assert_no_error (local); /* what is taken over opens */
      if (is != NULL && ef_inspection_equal (was, is))
        (*n_same)++;
      else if (salvage->losses->len == 0)
        g_error ("job %s isn't as it was, and nothing is said", row->number);
      else if (is != NULL && !is_told (salvage, row->number))
        g_error ("job %s isn't as it was, and isn't named", row->number);
    }
}

/* Pages by what they hold, one of each and every @stride'th besides. */
static GArray *
pages (guint stride)
{
  GArray *list = g_array_new (FALSE, FALSE, sizeof (gsize));

  for (gsize page = 1; page < length / PAGE; page += stride)
    g_array_append_val (list, page);

  return list;
}

/* The pages of a table or index, as the database counts them (from 1), in order. */
static GArray *
pages_of (const char *name)
{
  GArray *list = g_array_new (FALSE, FALSE, sizeof (gsize));
  sqlite3_stmt *rows = NULL;
  sqlite3 *db;

  g_assert_cmpint (sqlite3_open_v2 (path, &db, SQLITE_OPEN_READONLY, NULL), ==, SQLITE_OK);
  g_assert_cmpint (sqlite3_prepare_v2 (db, "SELECT pageno - 1 FROM dbstat WHERE name = ? ORDER BY path", -1, &rows, NULL), ==, SQLITE_OK);
  sqlite3_bind_text (rows, 1, name, -1, SQLITE_TRANSIENT);
  while (sqlite3_step (rows) == SQLITE_ROW)
    {
      gsize page = (gsize) sqlite3_column_int64 (rows, 0);

      g_array_append_val (list, page);
    }
  sqlite3_finalize (rows);
  sqlite3_close (db);
  g_assert_cmpuint (list->len, >, 0);

  return list;
}

/* NULL where nothing can be read at all. */
static EfSalvage *
salvage_without (const gsize *hurt_pages,
                 guint n,
                 char **made_out)
{
  g_autofree char *hurt = g_memdup2 (bytes, length);
  g_autofree char *hurt_path = g_build_filename (g_get_user_data_dir (), "hurt.endfloat", NULL);
  g_autofree char *after = NULL;
  g_autoptr (GError) error = NULL;
  EfSalvage *salvage;
  gsize length_after;

  for (guint i = 0; i < n; i++)
    memset (hurt + hurt_pages[i] * PAGE, 0xa5, PAGE);
  g_assert_true (g_file_set_contents (hurt_path, hurt, (gssize) length, NULL));
  *made_out = new_path ();
  salvage = ef_salvage_store (hurt_path, *made_out, NULL, NULL, NULL, &error);
  /* The damaged one is as it was. */
  g_assert_true (g_file_get_contents (hurt_path, &after, &length_after, NULL));
  g_assert_cmpmem (after, length_after, hurt, length);
  if (salvage == NULL)
    {
      g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
      g_assert_false (g_file_test (*made_out, G_FILE_TEST_EXISTS));
    }

  return salvage;
}

static void
test_any_page (void)
{
  g_autoptr (GArray) list = pages (g_test_slow () ? 1 : (guint) MAX (1, length / PAGE / 14));
  guint n_same = 0, n_none = 0;

  for (guint i = 0; i < list->len; i++)
    {
      const gsize page = g_array_index (list, gsize, i);
      g_autofree char *made = NULL;
      g_autoptr (EfSalvage) salvage = salvage_without (&page, 1, &made);
      g_autoptr (GError) error = NULL;

      if (salvage == NULL)
        {
          n_none++;
          continue;
        }
      ef_backup_check (made, NULL, &error);
      g_assert_no_error (error);
      compare_jobs (salvage, made, &n_same);
      remove_new (made);
    }
  g_test_message ("%u pages damaged; %u jobs as they were of %u; nothing at all %u times", list->len, n_same, list->len * (guint) n_jobs, n_none);
  g_assert_cmpuint (n_same, >, (list->len - n_none) * (guint) n_jobs * 3 / 4);
  g_assert_cmpuint (n_none, <=, list->len / 10);
}

/* Several places of a table at once: rows before, between and after them are taken over. */
static void
test_between (void)
{
  g_autoptr (GArray) list = pages_of ("change");
  const gsize hurt[] = { g_array_index (list, gsize, list->len / 4), g_array_index (list, gsize, 3 * list->len / 4) };
  g_autofree char *made = NULL;
  g_autoptr (EfSalvage) salvage = salvage_without (hurt, 2, &made);
  g_autoptr (GError) error = NULL;
  guint n_same = 0;

  g_assert_cmpuint (list->len, >, 8);
  g_assert_nonnull (salvage);
  g_assert_cmpuint (salvage->losses->len, >, 0);
  ef_backup_check (made, NULL, &error);
  g_assert_no_error (error);
  compare_jobs (salvage, made, &n_same);
  g_assert_cmpuint (n_same, ==, n_jobs); /* present items are all there */
  remove_new (made);
}

/* Items on a damaged page are made again from the history, to the last one. */
static void
test_items (void)
{
  g_autoptr (GArray) list = pages_of ("item");
  const gsize page = g_array_index (list, gsize, list->len / 2);
  g_autofree char *made = NULL;
  g_autoptr (EfSalvage) salvage = salvage_without (&page, 1, &made);
  guint n_same = 0;

  g_assert_nonnull (salvage);
  g_assert_cmpint (salvage->n_replayed, >, 0);
  compare_jobs (salvage, made, &n_same);
  g_assert_cmpuint (n_same, ==, n_jobs);
  assert_holds (salvage->verification);
  remove_new (made);
}

#define ROW_END "\n--\n"

/* All that the list of jobs shows and that says how a job stands, and how many pump sheets there are. */
static char *
rows_of (const char *store_path)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (store_path, &error);
  g_autoptr (sqlite3_stmt) rows = NULL;
  GString *text = g_string_new (NULL);
  gboolean row = TRUE;
  gint64 n_sheets = 0;

  g_assert_no_error (error);
  rows = ef_sql_query (&store->sql, &error,
                       "SELECT sheet.body, job.id, number, pump, job.model, serial, received, customer, verdict, found_pressure, expected_pressure, n_marks, day, search, findings,"
                       " withdrawn, sealed, revision, lesson FROM job JOIN sheet ON sheet.id = job.sheet ORDER BY job.id", "");
  g_assert_no_error (error);
  while (ef_sql_step (&store->sql, rows, &row, &error) && row)
    for (int i = 0; i < sqlite3_column_count (rows); i++)
      if (i == 0)
        {
          /* What the sheet says: its text may be in another order. */
          g_autoptr (JsonNode) sheet = json_from_string ((const char *) sqlite3_column_text (rows, 0), NULL);
          g_autofree char *canonical = ef_json_canonical (sheet, NULL);
          g_autofree char *digest = g_compute_checksum_for_string (G_CHECKSUM_SHA256, canonical, -1);

          g_string_append_printf (text, "%s|", digest);
        }
      else
        g_string_append_printf (text, "%s%s", (const char *) sqlite3_column_text (rows, i), i + 1 < sqlite3_column_count (rows) ? "|" : ROW_END);
  g_assert_no_error (error);

  g_assert_true (ef_sql_integer (&store->sql, 0, &n_sheets, &error, "SELECT count (*) FROM sheet", ""));
  g_string_append_printf (text, "%d pump sheets", (int) n_sheets);

  return g_string_free (text, FALSE);
}

/* Told by the first place where they differ: texts of random jobs are long. */
static void
assert_rows (const char *are,
             const char *were)
{
  gsize at = 0;

  while (are[at] != '\0' && are[at] == were[at])
    at++;
  if (are[at] != were[at])
    g_error ("row made again: “%.60s” instead of “%.60s” after “%.80s”", are + at, were + at, are + (at > 80 ? at - 80 : 0));
}

/* The jobs' own rows on a damaged page: made again from what repeats them, to the last word. */
static void
test_job_rows (void)
{
  g_autoptr (GArray) list = pages_of ("job");
  g_autofree char *were = rows_of (path);
  guint n_again = 0;

  for (guint i = 0; i < list->len; i++)
    {
      const gsize page = g_array_index (list, gsize, i);
      g_autofree char *made = NULL;
      g_autoptr (EfSalvage) salvage = salvage_without (&page, 1, &made);
      g_autofree char *are = NULL;
      g_autoptr (GError) error = NULL;
      guint n_same = 0;

      g_assert_nonnull (salvage);
      compare_jobs (salvage, made, &n_same);
      g_assert_cmpuint (n_same, ==, n_jobs);
      g_assert_cmpint (salvage->n_jobs, ==, n_jobs);
      g_assert_cmpint (salvage->n_written, ==, n_jobs);
      assert_holds (salvage->verification);
      are = rows_of (made);
      assert_rows (are, were);
      g_assert_true (ef_backup_check (made, NULL, &error));
      for (guint k = 0; k < salvage->losses->len; k++)
        n_again += strstr (salvage->losses->pdata[k], "its own row can't be read and was made again; its number comes from its items") != NULL;
      remove_new (made);
    }
  g_assert_cmpuint (n_again, >=, n_jobs);
}

static gint64
add_demo (EfStore *store,
          const char *name)
{
  g_autofree char *demo = ef_data_path ("demo", name, NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) inspection = ef_exchange_load (demo, &error);
  gint64 job = ef_store_add (store, inspection, &error);

  g_assert_no_error (error);
  g_assert_cmpint (job, >, 0);

  return job;
}

static gboolean
tells (const EfSalvage *salvage,
       const char *words)
{
  for (guint i = 0; i < salvage->losses->len; i++)
    if (strstr (salvage->losses->pdata[i], words) != NULL)
      return TRUE;

  return FALSE;
}

#define LOST "PRAGMA foreign_keys = OFF; DROP TRIGGER job_no_delete; DROP TRIGGER change_no_delete; "

/* Rows gone from the indices, too: how the jobs stand comes from history and seals. Job 1 isn't sealed, 2 sealed and withdrawn, 3 sealed with a revision open; each has a pump sheet of its own. */
static char *
make_standing (void)
{
  char *standing = g_build_filename (g_get_user_data_dir (), "standing.endfloat", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (standing, &error);
  g_autoptr (EfSealKey) key = NULL;

  g_assert_no_error (error);
  add_demo (store, "job-1-hl-24.json");
  add_demo (store, "job-2-rc-4.json");
  add_demo (store, "job-3-tg-3.json");
  key = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  g_assert_no_error (error);
  seal_small (store, 2, "bench 2", NULL, key);
  seal_small (store, 3, "bench 2", NULL, key);
  g_assert_true (ef_store_withdraw (store, 2, "desk", "entered twice", &error));
  g_assert_true (ef_store_open_revision (store, 3, "bench 2", "bore measured again", &error));

  return standing;
}

static void
test_job_rows_gone (void)
{
  g_autofree char *standing = make_standing ();
  g_autofree char *made = new_path ();
  g_autofree char *were = rows_of (standing);
  g_autofree char *are = NULL;
  g_autoptr (EfSalvage) salvage = NULL;
  g_autoptr (GError) error = NULL;

  change_by_hand (standing, LOST "DELETE FROM job");
  salvage = ef_salvage_store (standing, made, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpint (salvage->n_jobs, ==, 3);
  g_assert_cmpint (salvage->n_written, ==, 2);
  g_assert_true (tells (salvage, "job J-0412 (no. 1 in the store): its own row can't be read, and which pump sheet it was made with stands nowhere else that can be read; what there is of it isn't taken over"));
  g_assert_true (tells (salvage, "(no. 2 in the store): its own row can't be read and was made again; its number comes from its items, its pump sheet from its seal"));
  are = rows_of (made);
  assert_rows (are, strstr (were, ROW_END) + strlen (ROW_END));
  assert_holds (salvage->verification);
  g_assert_true (ef_backup_check (made, NULL, &error));
  remove_new (made);
  remove_store (standing);
}

/* With row, header and the end of the history gone there's still what was sealed; without a seal there's nothing, which is said. */
static void
test_job_as_sealed (void)
{
  g_autofree char *standing = make_standing ();
  g_autofree char *made = new_path ();
  g_autoptr (EfSalvage) salvage = NULL;
  g_autoptr (EfInspection) was = NULL;
  g_autoptr (EfInspection) is = NULL;
  g_autoptr (GError) error = NULL;
  EfStore *store = ef_store_open (standing, &error);

  was = ef_store_load (store, 2, &error);
  g_assert_no_error (error);
  ef_store_close (store);
  change_by_hand (standing, LOST "DELETE FROM job; DELETE FROM item WHERE kind = 'header'; DELETE FROM change WHERE seq = 1");
  salvage = ef_salvage_store (standing, made, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpint (salvage->n_written, ==, 2);
  g_assert_true (tells (salvage, "job ? (no. 1 in the store): its own row can't be read, and nothing else that can be read has its number"));
  g_assert_true (tells (salvage, "(no. 2 in the store): its own row can't be read and was made again; its number comes from its seal"));
  g_assert_true (tells (salvage, "neither its items nor its history can be read whole; it is as it was sealed (seal no. 2), without what was changed since"));
  store = ef_store_open (made, &error);
  g_assert_no_error (error);
  is = ef_store_load (store, 2, &error);
  g_assert_no_error (error);
  g_assert_true (ef_inspection_equal (was, is));
  ef_store_close (store);
  remove_new (made);
  remove_store (standing);
}

/* One pump sheet in the store, so it's that; an attempt stays one, of the lesson with its title. */
static void
test_attempt_row (void)
{
  g_autofree char *taught = g_build_filename (g_get_user_data_dir (), "taught.endfloat", NULL);
  g_autofree char *made = new_path ();
  g_autofree char *were = NULL;
  g_autofree char *are = NULL;
  g_autoptr (EfSalvage) salvage = NULL;
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (GError) error = NULL;
  const EfLessonRow lesson = { .name = (char *) "l-1", .digest = (char *) "d1", .title = (char *) "Grooves", .pump = (char *) "HL-24", .role = (char *) "trainer", .label = (char *) "Made",
                               .whole = TRUE, .body = (char *) "{}" };
  EfStore *store = ef_store_open (taught, &error);

  add_demo (store, "job-1-hl-24.json");
  inspection = ef_store_load (store, 1, &error);
  g_assert_true (ef_store_put_lesson (store, &lesson, &error));
  g_assert_cmpint (ef_store_add_attempt (store, "d1", "Grooves", "apprentice 1", inspection, NULL, NULL, &error), ==, 2);
  g_assert_no_error (error);
  ef_store_close (store);
  were = rows_of (taught);
  change_by_hand (taught, LOST "DELETE FROM job");
  salvage = ef_salvage_store (taught, made, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpint (salvage->n_written, ==, 2);
  g_assert_true (tells (salvage, "its pump sheet from being the only one in the store"));
  are = rows_of (made);
  assert_rows (are, were);
  remove_new (made);
  /* Two lessons of that title: which one it is at isn't known. */
  change_by_hand (taught, "INSERT INTO lesson (name, digest, title, pump, whole, away, body, time, role, program, label) SELECT 'l-2', 'd2', title, pump, whole, away, body, time, role, program, label FROM lesson");
  g_clear_pointer (&salvage, ef_salvage_free);
  salvage = ef_salvage_store (taught, made, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpint (salvage->n_written, ==, 1);
  g_assert_true (tells (salvage, "which lesson it is an attempt at stands nowhere else that can be read"));
  remove_new (made);
  remove_store (taught);
}

/* Seals on a damaged page: verification says that entries are missing, and the report has it. */
static void
test_seals (void)
{
  g_autoptr (GArray) list = pages_of ("seal");
  guint n_broken = 0;

  for (guint i = 0; i < list->len; i++)
    {
      const gsize page = g_array_index (list, gsize, i);
      g_autofree char *made = NULL;
      g_autoptr (EfSalvage) salvage = salvage_without (&page, 1, &made);
      g_autofree char *report = NULL;
      guint n_same = 0;

      g_assert_nonnull (salvage);
      compare_jobs (salvage, made, &n_same);
      g_assert_cmpuint (n_same, ==, n_jobs);
      report = ef_salvage_report (salvage);
      if (!salvage->verification->holds)
        g_assert_nonnull (strstr (report, "DOES NOT HOLD"));
      n_broken += !salvage->verification->holds;
      remove_new (made);
    }
  g_assert_cmpuint (n_broken, >, 0);
}

/* Of an older version: brought up to date on the way. */
static void
test_older (void)
{
  g_autofree char *old = g_build_filename (g_get_user_data_dir (), "old.endfloat", NULL);
  g_autofree char *made = new_path ();
  g_autoptr (EfSalvage) salvage = NULL;
  g_autoptr (GError) error = NULL;

  unpack_sample (6, old);
  salvage = ef_salvage_store (old, made, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpuint (salvage->losses->len, ==, 0);
  g_assert_cmpint (salvage->n_written, ==, 3);
  assert_holds (salvage->verification);
  g_assert_true (ef_backup_check (made, NULL, &error));
  remove_new (made);
  remove_store (old);
}

static void
stop_cb (double share,
         gpointer cancellable)
{
  g_cancellable_cancel (cancellable);
}

static void
test_refused (void)
{
  g_autofree char *made = new_path ();
  g_autofree char *nowhere = g_build_filename (g_get_user_data_dir (), "no", "folder", "new.endfloat", NULL);
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  g_autoptr (GError) error = NULL;

  g_assert_null (ef_salvage_store (path, path, NULL, NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "nothing is written over"));
  g_clear_error (&error);
  g_assert_null (ef_salvage_store (path, nowhere, NULL, NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_IO);
  g_clear_error (&error);
  g_assert_null (ef_salvage_store (path, made, stop_cb, cancellable, cancellable, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
  g_assert_false (g_file_test (made, G_FILE_TEST_EXISTS));
}

int
main (int argc,
      char **argv)
{
  int code;

  isolated_test_init (&argc, &argv);
  make_store ();
  g_test_add_func ("/salvage/sound", test_sound);
  g_test_add_func ("/salvage/any-page", test_any_page);
  g_test_add_func ("/salvage/between", test_between);
  g_test_add_func ("/salvage/items", test_items);
  g_test_add_func ("/salvage/job-rows", test_job_rows);
  g_test_add_func ("/salvage/job-rows-gone", test_job_rows_gone);
  g_test_add_func ("/salvage/job-as-sealed", test_job_as_sealed);
  g_test_add_func ("/salvage/attempt-row", test_attempt_row);
  g_test_add_func ("/salvage/seals", test_seals);
  g_test_add_func ("/salvage/older", test_older);
  g_test_add_func ("/salvage/refused", test_refused);
  code = g_test_run ();
  g_free (path);
  g_free (bytes);

  return code;
}
