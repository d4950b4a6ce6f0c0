/* Lapping rates learned from all jobs of the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../assess/after-work.h"

#include <glib/gstdio.h>

#include "record/ef-store-work.h"
#include "../isolate.h"

static gint64
add_job (EfStore *store,
         const char *number,
         const char *time,
         double rate)
{
  g_autoptr (EfInspection) inspection = after_load ("job-1-hl-24.json");
  g_autoptr (EfItem) header = ef_item_copy (inspection->items[EF_ITEM_HEADER]->pdata[0]);
  g_autoptr (GError) error = NULL;
  EfWork *work = ef_work_new ("pressure-housing/mating", 10 * rate + 4e-6, "depth");
  gint64 job;

  g_free (((EfJobHeader *) header)->number);
  ((EfJobHeader *) header)->number = g_strdup (number);
  g_assert_true (ef_inspection_swap (inspection, inspection->items[EF_ITEM_HEADER]->pdata[0], header, &error));
  ef_work_set_passes (work, "coarse", 10);
  ef_work_set_passes (work, "fine", 4);
  work->time = g_strdup (time);
  after_put (inspection, work);
  /* Nothing to learn from these: no gauge, not measured, an unknown grit, a part of another material. */
  work = ef_work_new ("pressure-housing/mating", 5e-5, NULL);
  ef_work_set_passes (work, "coarse", 10);
  after_put (inspection, work);
  work = ef_work_new ("pressure-housing/mating", NAN, "depth");
  ef_work_set_passes (work, "coarse", 10);
  after_put (inspection, work);
  work = ef_work_new ("pressure-housing/mating", 5e-5, "depth");
  ef_work_set_passes (work, "sandstone", 10);
  after_put (inspection, work);
  work = ef_work_new ("separator/side-a", 3e-5, "dial");
  ef_work_set_passes (work, "coarse", 10);
  after_put (inspection, work);
  job = ef_store_add (store, inspection, &error);
  g_assert_no_error (error);

  return job;
}

static void
test_learned (void)
{
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), "work.db", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfLapTable) table = ef_lap_table_default (&error);
  g_autoptr (GPtrArray) none = NULL;
  g_autoptr (GPtrArray) rows = NULL;
  g_autoptr (GPtrArray) all = NULL;
  g_auto (EfLapLearned) learned = { 0 };

  g_assert_no_error (error);
  none = ef_store_work (store, table, NULL, &error);
  g_assert_cmpuint (none->len, ==, 0);
  add_job (store, "J-2", "2026-03-12T10:00:00Z", 7.2e-6);
  add_job (store, "J-1", "2026-03-10T10:00:00Z", 6.9e-6);
  add_job (store, "J-3", "2026-03-14T10:00:00Z", 7.1e-6);
  add_job (store, "J-4", "2026-03-15T10:00:00Z", 31e-6); /* a wrong reading */
  rows = ef_store_work (store, table, "aluminium-alloy", &error);
  g_assert_no_error (error);
  g_assert_cmpuint (rows->len, ==, 4);
  g_assert_cmpstr (((EfWorkRow *) rows->pdata[0])->number, ==, "J-1");
  g_assert_cmpstr (((EfWorkRow *) rows->pdata[3])->number, ==, "J-4");
  all = ef_store_work (store, table, NULL, &error);
  g_assert_cmpuint (all->len, ==, 8);
  g_assert_true (ef_store_lap_rates (table, "aluminium-alloy", rows, &learned, &error));
  g_assert_true (learned.doubtful[3]);
  g_assert_false (learned.doubtful[0] || learned.doubtful[1] || learned.doubtful[2]);
  g_assert_cmpuint (learned.rates.observations[0], ==, 3);
  g_assert_cmpfloat (fabs (learned.rates.removal[0] - 7.05e-6), <, 2 * ef_lap_rates_u (&learned.rates, 0));
  g_assert_cmpfloat (ef_lap_rates_u (&learned.rates, 0), <, 0.6e-6);
}

/* The plan's rates: what other jobs teach, not the job's own work; a wrong reading isn't counted. */
static void
test_table (void)
{
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), "table.db", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfLapTable) shipped = ef_lap_table_default (&error);
  g_autoptr (EfLapTable) untaught = ef_store_lap_table (store, 0, &error);
  g_autoptr (EfLapTable) taught = NULL;
  g_autoptr (EfLapTable) own_left_out = NULL;
  gint64 first;

  g_assert_no_error (error);
  g_assert_cmpuint (untaught->learned, ==, 0);
  g_assert_cmpfloat (untaught->material[0].removal[0], ==, shipped->material[0].removal[0]);
  first = add_job (store, "J-1", "2026-03-10T10:00:00Z", 9.0e-6);
  own_left_out = ef_store_lap_table (store, first, &error);
  g_assert_no_error (error);
  g_assert_cmpuint (own_left_out->learned, ==, 0);
  add_job (store, "J-2", "2026-03-12T10:00:00Z", 9.1e-6);
  add_job (store, "J-3", "2026-03-13T10:00:00Z", 8.9e-6);
  add_job (store, "J-4", "2026-03-15T10:00:00Z", 31e-6);
  taught = ef_store_lap_table (store, 0, &error);
  g_assert_no_error (error);
  /* Three on the housing and, of the plates' material, all four. */
  g_assert_cmpuint (taught->learned, ==, 7);
  g_assert_cmpfloat (fabs (ef_lap_table_material (taught, "aluminium-alloy")->removal[0] - 9e-6), <, 0.8e-6);
  g_assert_cmpfloat (ef_lap_table_material (shipped, "aluminium-alloy")->removal[0], <, 7e-6);
  g_assert_cmpfloat (ef_lap_table_material (taught, "steel")->removal[0], ==, ef_lap_table_material (shipped, "steel")->removal[0]);
}

/* What is undone in the job isn't learned from any more. */
static void
test_undone (void)
{
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), "undone.db", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfLapTable) table = ef_lap_table_default (&error);
  gint64 job = add_job (store, "J-1", NULL, 7e-6);
  g_autoptr (EfDocument) document = ef_store_open_document (store, job, &error);
  EfWork *work = ef_work_new ("pressure-housing/mating", 5e-5, "depth");
  g_autoptr (GPtrArray) with = NULL;
  g_autoptr (GPtrArray) without = NULL;

  g_assert_no_error (error);
  ef_work_set_passes (work, "coarse", 8);
  g_assert_true (ef_document_add (document, "Record work", work, &error));
  with = ef_store_work (store, table, "aluminium-alloy", &error);
  g_assert_true (ef_document_undo (document, &error));
  without = ef_store_work (store, table, "aluminium-alloy", &error);
  g_assert_cmpuint (with->len, ==, without->len + 1);
  ef_item_unref (work);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/store/work/learned", test_learned);
  g_test_add_func ("/store/work/table", test_table);
  g_test_add_func ("/store/work/undone", test_undone);

  return g_test_run ();
}
