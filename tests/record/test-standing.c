/* What a row of history says, a clock that is set back, and jobs that are withdrawn, sealed, opened again.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../inspection/random-inspection.h"

#include "judge/ef-judge.h"
#include "record/ef-store-private.h"
#include "record/ef-store-standing.h"

#include <string.h>
#include "../isolate.h"

typedef struct
{
  char *path;
  EfStore *store;
  gint64 job;
  EfDocument *document;
} Fixture;

static void
set_up (Fixture *self,
        gconstpointer unused)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (62);
  g_autoptr (EfPumpSheet) sheet = random_sheet (rand);
  g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, "J-1");
  g_autoptr (GError) error = NULL;

  self->path = g_build_filename (g_get_user_data_dir (), "standing.sqlite", NULL);
  self->store = ef_store_open (self->path, &error);
  g_assert_no_error (error);
  self->job = ef_store_add (self->store, inspection, &error);
  g_assert_no_error (error);
  self->document = ef_store_open_document (self->store, self->job, &error);
  g_assert_no_error (error);
}

static void
tear_down (Fixture *self,
           gconstpointer unused)
{
  static const char *const endings[] = { "", "-wal", "-shm" };

  ef_store_fixed_time = NULL;
  g_object_unref (self->document);
  ef_store_close (self->store);
  for (guint i = 0; i < G_N_ELEMENTS (endings); i++)
    {
      g_autofree char *file = g_strconcat (self->path, endings[i], NULL);

      g_remove (file);
    }
  g_free (self->path);
}

static gboolean
set_note (Fixture *self,
          const char *note,
          GError **error)
{
  const EfJobHeader *before = ef_inspection_header (ef_document_inspection (self->document));
  g_autoptr (EfItem) item = ef_item_copy (before);

  g_free (((EfJobHeader *) item)->note);
  ((EfJobHeader *) item)->note = g_strdup (note);

  return ef_document_replace (self->document, "Note", (gpointer) before, item, error);
}

static GPtrArray *
history (Fixture *self)
{
  g_autoptr (GError) error = NULL;
  GPtrArray *rows = ef_store_history (self->store, self->job, &error);

  g_assert_no_error (error);

  return rows;
}

static const EfHistoryRow *
last_row (GPtrArray *rows)
{
  return rows->pdata[rows->len - 1];
}

static void
test_rules (Fixture *self,
            gconstpointer unused)
{
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (NULL);
  const EfPumpSheet *sheet = ef_document_inspection (self->document)->sheet;
  g_autofree char *shipped = ef_rule_set_version_with (ef_rule_set_version (rules), sheet);
  g_autofree char *shop = ef_rule_set_version_with ("shop rules 7", sheet);
  g_autofree char *before = NULL;
  g_autofree char *time = NULL;
  g_autoptr (GPtrArray) rows = NULL;

  g_assert_true (set_note (self, "a", NULL));
  ef_store_use_rules (self->store, "shop rules 7");
  g_assert_true (set_note (self, "b", NULL));
  rows = history (self);
  g_assert_cmpuint (rows->len, ==, 3);
  g_assert_cmpstr (((EfHistoryRow *) rows->pdata[1])->rules, ==, shipped);
  g_assert_cmpstr (((EfHistoryRow *) rows->pdata[1])->action, ==, "edit");
  g_assert_true (g_str_has_prefix (((EfHistoryRow *) rows->pdata[1])->program, "endfloat "));
  g_assert_cmpstr (last_row (rows)->rules, ==, shop);

  /* What it was judged under last, other than now. */
  g_assert_true (ef_store_rules_before (self->store, self->job, shipped, &before, &time, NULL));
  g_assert_cmpstr (before, ==, shop);
  g_assert_cmpstr (time, ==, last_row (rows)->time);
  g_clear_pointer (&before, g_free);
  g_clear_pointer (&time, g_free);
  g_assert_true (ef_store_rules_before (self->store, self->job, shop, &before, &time, NULL));
  g_assert_cmpstr (before, ==, shipped);
  g_assert_cmpstr (time, ==, ((EfHistoryRow *) rows->pdata[1])->time);
}

/* A job whose pump sheet has rules of its own notes both; one that was never under other rules has none before. */
static void
test_sheet_rules (Fixture *self,
                  gconstpointer unused)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "tg-3.json", NULL);
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, NULL);
  g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, "J-2");
  g_autoptr (EfRuleSet) shared = ef_rule_set_default (NULL);
  g_autoptr (EfRuleSet) both = ef_rule_set_for_sheet (shared, sheet, NULL);
  gint64 job = ef_store_add (self->store, inspection, NULL);
  g_autoptr (GPtrArray) rows = ef_store_history (self->store, job, NULL);
  g_autofree char *before = NULL;
  g_autofree char *time = NULL;

  g_assert_nonnull (strstr (ef_rule_set_version (both), " + tg-3 rules "));
  g_assert_cmpuint (rows->len, ==, 1);
  g_assert_cmpstr (last_row (rows)->rules, ==, ef_rule_set_version (both));
  g_assert_true (ef_store_rules_before (self->store, job, ef_rule_set_version (both), &before, &time, NULL));
  g_assert_null (before);
  g_assert_null (time);
}

/* Rows keep the order they were written in; one whose time lies before the last one's is kept and marked. */
static void
test_clock_set_back (Fixture *self,
                     gconstpointer unused)
{
  static const char *const times[] = { "2126-01-01T10:00:00Z", "2126-01-01T10:00:00.500000Z", "2001-05-05T00:00:00Z", "2001-05-05T00:00:01Z" };
  g_autoptr (GPtrArray) rows = NULL;
  g_autoptr (EfInspection) between = NULL;

  for (guint i = 0; i < G_N_ELEMENTS (times); i++)
    {
      ef_store_fixed_time = times[i];
      g_assert_true (set_note (self, times[i], NULL));
    }
  rows = history (self);
  g_assert_cmpuint (rows->len, ==, 5);
  for (guint i = 0; i < rows->len; i++)
    {
      const EfHistoryRow *row = rows->pdata[i];

      g_assert_cmpint (row->seq, ==, i + 1);
      g_assert_cmpint (row->clock_back, ==, i == 3);
      if (i > 0)
        g_assert_cmpstr (row->time, ==, times[i - 1]);
    }
  between = ef_store_load_at (self->store, self->job, 4, NULL);
  g_assert_cmpstr (ef_inspection_header (between)->note, ==, times[2]);
}

static guint
n_listed (Fixture *self,
          gboolean withdrawn)
{
  g_autoptr (GPtrArray) jobs = ef_store_jobs (self->store, &(EfJobQuery) { .withdrawn = withdrawn }, NULL);

  return jobs->len;
}

static void
test_withdraw (Fixture *self,
               gconstpointer unused)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) rows = NULL;
  EfStanding standing;

  g_assert_false (ef_store_withdraw (self->store, self->job, "clerk", "  ", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "reason"));
  g_clear_error (&error);
  g_assert_false (ef_store_withdraw (self->store, 77, "clerk", "none such", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  g_assert_cmpuint (n_listed (self, FALSE), ==, 1);

  g_assert_true (ef_store_withdraw (self->store, self->job, "clerk", "Entered twice", &error));
  g_assert_cmpuint (n_listed (self, FALSE), ==, 0);
  g_assert_cmpuint (n_listed (self, TRUE), ==, 1);
  g_assert_true (ef_store_standing (self->store, self->job, &standing, NULL));
  g_assert_true (standing.withdrawn);
  g_assert_false (set_note (self, "too late", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "withdrawn"));
  g_clear_error (&error);
  g_assert_false (ef_store_withdraw (self->store, self->job, "clerk", "again", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);

  g_assert_true (ef_store_reinstate (self->store, self->job, "clerk", "It was another pump", &error));
  g_assert_cmpuint (n_listed (self, FALSE), ==, 1);
  g_assert_true (set_note (self, "works again", &error));
  g_assert_false (ef_store_reinstate (self->store, self->job, "clerk", "again", &error));
  g_clear_error (&error);

  rows = history (self);
  g_assert_cmpuint (rows->len, ==, 4);
  g_assert_cmpstr (((EfHistoryRow *) rows->pdata[1])->action, ==, "withdraw");
  g_assert_cmpstr (((EfHistoryRow *) rows->pdata[1])->reason, ==, "Entered twice");
  g_assert_cmpstr (((EfHistoryRow *) rows->pdata[1])->role, ==, "clerk");
  g_assert_cmpstr (((EfHistoryRow *) rows->pdata[2])->action, ==, "reinstate");

  /* No job goes away, not even by hand. */
  g_assert_false (ef_sql_run (&self->store->sql, NULL, &error, "DELETE FROM job WHERE id = ?", "i", self->job));
  g_assert_nonnull (strstr (error->message, "withdrawn, not deleted"));
}

static void
test_sealed (Fixture *self,
             gconstpointer unused)
{
  g_autoptr (GError) error = NULL;
  EfStanding standing;

  g_assert_false (ef_store_open_revision (self->store, self->job, "owner", "not sealed", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_true (ef_store_set_verdict (self->store, self->job, "rework", NULL));
  g_assert_true (ef_sql_run (&self->store->sql, NULL, &error, "UPDATE job SET sealed = 5 WHERE id = ?", "i", self->job));
  g_assert_false (set_note (self, "sealed", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "sealed"));
  g_assert_null (ef_inspection_header (ef_document_inspection (self->document))->note);
  g_clear_error (&error);
  g_assert_true (ef_store_set_verdict (self->store, self->job, "scrap", NULL));
  {
    g_autoptr (GPtrArray) jobs = ef_store_jobs (self->store, NULL, NULL);

    g_assert_cmpstr (((EfJobRow *) jobs->pdata[0])->verdict, ==, "rework");
    g_assert_cmpint (((EfJobRow *) jobs->pdata[0])->sealed, ==, 5);
  }

  g_assert_true (ef_store_open_revision (self->store, self->job, "owner", "Bore measured again", &error));
  g_assert_true (ef_store_standing (self->store, self->job, &standing, NULL));
  g_assert_cmpint (standing.sealed, ==, 0);
  g_assert_cmpuint (standing.revision, ==, 2);
  g_assert_true (set_note (self, "open", &error));
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
#define ADD(name, function) g_test_add (name, Fixture, NULL, set_up, function, tear_down)
  ADD ("/standing/rules-and-program", test_rules);
  ADD ("/standing/rules-of-sheet", test_sheet_rules);
  ADD ("/standing/clock-set-back", test_clock_set_back);
  ADD ("/standing/withdraw-and-reinstate", test_withdraw);
  ADD ("/standing/sealed", test_sealed);

  return g_test_run ();
}
