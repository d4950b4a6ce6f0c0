/* How fast a store of many jobs opens, lists, pages and searches, against reading its file in the same run.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sizes: 2,000 and 20,000 jobs of 5 marks, or as given on the command line: JOBS or JOBSxMARKS. Each time is the median of 9. The reference is reading all bytes of the file
 * once (from the page cache): a list that had to look at every job would cost more than that.
 */
#include "record/ef-store-private.h"

#include <glib/gstdio.h>
#include <stdlib.h>
#include <string.h>

#define REPEATS 9

static EfPumpSheet *
load_sheet (const char *model)
{
  g_autofree char *name = g_strdup_printf ("%s.json", model);
  g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "pump-sheets", name, NULL);
  g_autoptr (GError) error = NULL;
  EfPumpSheet *sheet = ef_pump_sheet_load (path, &error);

  if (sheet == NULL)
    g_error ("%s", error->message);

  return sheet;
}

static EfInspection *
make_job (EfPumpSheet *sheet,
          GRand *rand,
          guint i,
          guint n_marks)
{
  static const char *const vessels[] = { "tug, port engine", "pilot launch", "railcar 7", "ferry, bow engine", "harbour launch 3" };
  g_autofree char *number = g_strdup_printf ("J-%05u", i);
  EfInspection *inspection = ef_inspection_new (sheet, number);
  g_autoptr (EfItem) item = ef_item_copy (ef_inspection_header (inspection));
  EfJobHeader *header = (EfJobHeader *) item;
  const EfPart *gear = ef_pump_sheet_part (sheet, ((EfSection *) sheet->sections->pdata[0])->gear_part[0]);
  g_autofree char *face = g_strdup_printf ("%s/end-a", gear->id);
  guint k;

  header->serial = g_strdup_printf ("%08x", g_rand_int (rand));
  header->customer = g_strdup (vessels[g_rand_int_range (rand, 0, G_N_ELEMENTS (vessels))]);
  header->received = g_strdup_printf ("%04d-%02d-%02d", 2000 + i * 25 / 20000, g_rand_int_range (rand, 1, 13), g_rand_int_range (rand, 1, 29));
  header->found_pressure = 80000;
  ef_inspection_swap (inspection, inspection->items[EF_ITEM_HEADER]->pdata[0], item, NULL);
  for (k = 0; k < n_marks; k++)
    {
      g_autoptr (EfItem) mark = (EfItem *) ef_mark_new (face, EF_MARK_SCORING, EF_SHAPE_POINT, 1e-3);

      ef_mark_add_node ((EfMark *) mark, 1e-3 * (k % 10), 2e-3);
      if (k == 0)
        ((EfMark *) mark)->note = g_strdup_printf ("from delivery to suction, seen at %u", i);
      ef_mark_set_depth ((EfMark *) mark, 2e-5, EF_UNIT_UM, NULL);
      ef_inspection_swap (inspection, NULL, mark, NULL);
    }

  return inspection;
}

static void
fill (const char *path,
      guint n,
      guint n_marks)
{
  static const char *const models[] = { "hl-24", "hl-27", "rc-4", "tg-3" };
  static const char *const verdicts[] = { "use-again", "measure-again", "rework", "scrap", "" };
  g_autoptr (GRand) rand = g_rand_new_with_seed (71);
  g_autoptr (EfStore) store = ef_store_open (path, NULL);
  EfPumpSheet *sheets[G_N_ELEMENTS (models)];
  guint i;

  for (i = 0; i < G_N_ELEMENTS (models); i++)
    sheets[i] = load_sheet (models[i]);
  /* Only here: filling isn't what is measured. */
  ef_sql_exec (&store->sql, "PRAGMA synchronous = OFF", NULL);
  for (i = 0; i < n; i++)
    {
      g_autoptr (EfInspection) inspection = make_job (sheets[i % G_N_ELEMENTS (models)], rand, i, n_marks);
      g_autoptr (GError) error = NULL;
      gint64 job = ef_store_add (store, inspection, &error);

      if (job == 0 || !ef_store_set_verdict (store, job, verdicts[i % G_N_ELEMENTS (verdicts)], &error))
        g_error ("%s", error->message);
    }
  for (i = 0; i < G_N_ELEMENTS (models); i++)
    ef_pump_sheet_unref (sheets[i]);
}

static int
compare_doubles (gconstpointer a,
                 gconstpointer b)
{
  double x = *(const double *) a;
  double y = *(const double *) b;

  return (x > y) - (x < y);
}

typedef void (*Task) (EfStore *store, const char *path);

/* Median, s */
static double
time_task (EfStore *store,
           const char *path,
           Task task)
{
  double times[REPEATS];
  guint i;

  for (i = 0; i < REPEATS; i++)
    {
      gint64 start = g_get_monotonic_time ();

      task (store, path);
      times[i] = (g_get_monotonic_time () - start) / 1e6;
    }
  qsort (times, REPEATS, sizeof (double), compare_doubles);

  return times[REPEATS / 2];
}

static void
read_file (EfStore *store,
           const char *path)
{
  g_autofree char *bytes = NULL;

  if (!g_file_get_contents (path, &bytes, NULL, NULL))
    g_error ("%s: can't be read", path);
}

static void
open_and_list (EfStore *store,
               const char *path)
{
  g_autoptr (EfStore) opened = ef_store_open (path, NULL);
  EfJobQuery query = { .limit = 50 };
  g_autoptr (GPtrArray) rows = ef_store_jobs (opened, &query, NULL);

  if (rows == NULL || rows->len != 50)
    g_error ("expected 50 jobs");
}

static void
list (EfStore *store,
      EfJobQuery query)
{
  g_autoptr (GPtrArray) rows = ef_store_jobs (store, &query, NULL);

  if (rows == NULL)
    g_error ("expected a list");
}

static void
list_first (EfStore *store,
            const char *path)
{
  list (store, (EfJobQuery) { .limit = 50 });
}

static void
list_last (EfStore *store,
           const char *path)
{
  list (store, (EfJobQuery) { .limit = 50, .offset = (guint) ef_store_count (store, NULL, NULL) - 50 });
}

static void
search_common (EfStore *store,
               const char *path)
{
  list (store, (EfJobQuery) { .text = "launch hl-24", .limit = 50 });
}

static void
search_none (EfStore *store,
             const char *path)
{
  list (store, (EfJobQuery) { .text = "nowhere to be found", .limit = 50 });
}

static void
search_notes (EfStore *store,
              const char *path)
{
  list (store, (EfJobQuery) { .text = "seen at 1234", .limit = 50 });
}

static void
search_short (EfStore *store,
              const char *path)
{
  list (store, (EfJobQuery) { .text = "q!", .limit = 50 });
}

static void
no_finding (EfStore *store,
            const char *path)
{
  list (store, (EfJobQuery) { .finding = "crack", .limit = 50 });
}

static void
by_verdict (EfStore *store,
            const char *path)
{
  list (store, (EfJobQuery) { .verdict = "scrap", .limit = 50 });
}

static void
by_date (EfStore *store,
         const char *path)
{
  list (store, (EfJobQuery) { .from = "2000-03-01", .to = "2000-04-30", .limit = 50 });
}

static void
count_all (EfStore *store,
           const char *path)
{
  if (ef_store_count (store, &(EfJobQuery) { .text = "launch" }, NULL) <= 0)
    g_error ("expected jobs");
}

static const struct
{
  const char *name;
  Task task;
} tasks[] = {
  { "open and list first 50", open_and_list },
  { "list first 50", list_first },
  { "list last 50", list_last },
  { "search, common words", search_common },
  { "search, nothing found", search_none },
  { "search in notes", search_notes },
  { "search, two letters", search_short },
  { "kind of wear, none", no_finding },
  { "by verdict", by_verdict },
  { "by date", by_date },
  { "count a search", count_all },
};

static void
measure (guint n,
         guint n_marks)
{
  g_autofree char *folder = g_dir_make_tmp ("bench-store-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "jobs.sqlite", NULL);
  EfStore *store;
  double reference;
  GStatBuf info;
  guint i;

  fill (path, n, n_marks);
  store = ef_store_open (path, NULL);
  reference = time_task (store, path, read_file);
  g_stat (path, &info);
  g_print ("%u jobs of %u marks, file %.1f MB, read once in %.2f ms\n", n, n_marks, info.st_size / 1e6, reference * 1e3);
  for (i = 0; i < G_N_ELEMENTS (tasks); i++)
    {
      double seconds = time_task (store, path, tasks[i].task);

      g_print ("  %-24s %8.3f ms   %7.4f of reading the file\n", tasks[i].name, seconds * 1e3, seconds / reference);
    }
  ef_store_close (store);
  g_remove (path);
  g_rmdir (folder);
}

int
main (int argc,
      char **argv)
{
  int i;

  if (argc < 2)
    {
      measure (2000, 5);
      measure (20000, 5);
    }
  for (i = 1; i < argc; i++)
    {
      const char *marks = strchr (argv[i], 'x');

      measure ((guint) atoi (argv[i]), marks != NULL ? (guint) atoi (marks + 1) : 5);
    }

  return 0;
}
