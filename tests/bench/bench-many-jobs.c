/* A store of very many jobs: opening the list, searching, filtering, statistics; and verifying the chain of seals as it grows.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sizes: 1,000 and 10,000 jobs of 20 marks, or as given on the command line: JOBSxMARKS (100000x20 is two million marks). The first 200 jobs are entered by the
 * program; the others are copies of them by SQL with numbers, serials, days and outcomes of their own, consistent in all that the list, the search and the
 * statistics read. Each time is the median of 5. The reference is a plain count over the jobs' rows in the same run. Sealed stores are made by the program
 * throughout; --seals N[,N…] gives their sizes (default 100,400).
 */
#include "record/ef-seal-key.h"
#include "record/ef-store-private.h"
#include "record/ef-store-schema.h"
#include "record/ef-verify.h"
#include "stats/ef-statistics.h"

#include "../record/sealed-store.h"

#include <glib/gstdio.h>
#include <stdlib.h>
#include <string.h>

#define REPEATS 5
#define TEMPLATES 200

static const char *const models[] = { "hl-24", "hl-27", "rc-4", "tg-3" };
static const char *const vessels[] = { "tug, port engine", "pilot launch", "railcar 7", "ferry, bow engine", "harbour launch 3" };
static const char *const verdicts[] = { "use-again", "measure-again", "rework", "scrap", "rework" };

static void
run (EfStore *store,
     const char *text)
{
  g_autoptr (GError) error = NULL;

  if (!ef_sql_exec (&store->sql, text, &error))
    g_error ("%s", error->message);
}

static void
add_template (EfStore *store,
              EfPumpSheet *sheet,
              GRand *rand,
              guint i,
              guint n_marks)
{
  g_autofree char *number = g_strdup_printf ("T-%06u", i);
  g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, number);
  g_autoptr (EfItem) item = ef_item_copy (ef_inspection_header (inspection));
  EfJobHeader *header = (EfJobHeader *) item;
  const EfPart *gear = ef_pump_sheet_part (sheet, ((EfSection *) sheet->sections->pdata[0])->gear_part[0]);
  g_autofree char *face = g_strdup_printf ("%s/end-a", gear->id);
  g_autoptr (GError) error = NULL;
  gint64 job;

  header->serial = g_strdup_printf ("S%u", i);
  header->customer = g_strdup (vessels[i % G_N_ELEMENTS (vessels)]);
  header->received = g_strdup ("2000-01-01");
  header->complaint = g_strdup_printf ("lamp lit at idle, seen at %u h", g_rand_int_range (rand, 100, 20000));
  header->found_pressure = 80000;
  ef_inspection_swap (inspection, inspection->items[EF_ITEM_HEADER]->pdata[0], item, NULL);
  for (guint k = 0; k < n_marks; k++)
    {
      g_autoptr (EfItem) mark = (EfItem *) ef_mark_new (face, (EfMarkKind) g_rand_int_range (rand, 0, 3), EF_SHAPE_POINT, 1e-3);

      ef_mark_add_node ((EfMark *) mark, 1e-3 * (k % 10), 2e-3);
      if (k == 0)
        ((EfMark *) mark)->note = g_strdup_printf ("from delivery to suction, seen at %u", i);
      ef_mark_set_depth ((EfMark *) mark, 2e-5, EF_UNIT_UM, NULL);
      ef_inspection_swap (inspection, NULL, mark, NULL);
    }
  job = ef_store_add (store, inspection, &error);
  if (job == 0 || !ef_store_set_verdict (store, job, verdicts[i % G_N_ELEMENTS (verdicts)], &error))
    g_error ("%s", error->message);
}

/* @n jobs by SQL from the templates 1 … TEMPLATES. */
static void
copy_templates (EfStore *store,
                guint n)
{
  g_autofree char *numbers = g_strdup_printf ("CREATE TEMP TABLE wanted AS WITH RECURSIVE k (i) AS (SELECT %u UNION ALL SELECT i + 1 FROM k WHERE i < %u)"
                                              " SELECT i, 1 + i %% %u AS t, printf ('J-%%06d', i) AS number, printf ('S%%d', i %% %u) AS serial,"
                                              " date ('2000-01-01', '+' || (i * 9131 / %u) || ' days') AS received FROM k",
                                              TEMPLATES + 1, n, TEMPLATES, n * 2 / 3 + 1, n);

  run (store, numbers);
  run (store, "INSERT INTO job (id, number, sheet, pump, model, serial, received, customer, verdict, found_pressure, changed, n_marks, day, findings)"
              " SELECT i, wanted.number, sheet, pump, model, wanted.serial, wanted.received, customer, verdict, found_pressure, changed, n_marks, wanted.received, findings"
              " FROM wanted JOIN job ON job.id = t");
  run (store, "INSERT INTO item (job, kind, id, seq, body, tag, words) SELECT i, kind, id, seq,"
              " CASE kind WHEN 'header' THEN json_set (body, '$.number', wanted.number, '$.serial', wanted.serial, '$.received', wanted.received) ELSE body END, tag, words"
              " FROM wanted JOIN item ON item.job = t");
  run (store, "INSERT INTO change (job, seq, time, role, bench, program, label, edits) SELECT i, seq, time, role, bench, program, label,"
              " json_set (edits, '$[0].after.number', wanted.number, '$[0].after.serial', wanted.serial, '$[0].after.received', wanted.received)"
              " FROM wanted JOIN change ON change.job = t");
  run (store, "UPDATE job SET search = " EF_SQL_JOB_SEARCH);
  run (store, "INSERT INTO outcome (job, form, seq, rules, hours, reworked) SELECT id, 1, 1, 'common-practice 2', 500 + id * 7919 % 12000,"
              " CASE WHEN id % 3 = 0 THEN day ELSE '' END FROM job");
  run (store, "INSERT INTO outcome_finding SELECT id, 'part:separator', 'mark', 'groove', 'Separator plate', CASE WHEN id % 5 < 3 THEN 'rework' ELSE 'use-again' END, 2 FROM job;"
              "INSERT INTO outcome_finding SELECT id, 'section:pressure', 'rule', 'end-clearance', 'Pressure section', 'rework', 1 FROM job WHERE id % 2 = 0;"
              "INSERT INTO outcome_finding SELECT id, 'part:cover', 'rule', 'flatness', 'Cover', 'scrap', 1 FROM job WHERE id % 7 = 0;"
              "INSERT INTO outcome_clearance SELECT id, 'pressure', 'drive', 'Pressure section', 6e-5, 6e-5 + 5e-9 * (500 + id * 7919 % 12000) + 1e-6 * (id % 17) FROM job");
  run (store, "DELETE FROM job_text; INSERT INTO job_text (rowid, body) SELECT id, " EF_SQL_JOB_TEXT " FROM job; DROP TABLE wanted");
}

static void
fill (const char *path,
      guint n,
      guint n_marks)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (71);
  g_autoptr (EfStore) store = ef_store_open (path, NULL);

  /* Only here: filling isn't what is measured. */
  run (store, "PRAGMA synchronous = OFF; PRAGMA cache_size = -200000");
  for (guint i = 0; i < TEMPLATES; i++)
    {
      g_autofree char *name = g_strdup_printf ("%s.json", models[i % G_N_ELEMENTS (models)]);
      g_autofree char *sheet_path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "pump-sheets", name, NULL);
      g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (sheet_path, NULL);

      add_template (store, sheet, rand, i, n_marks);
    }
  copy_templates (store, n);
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

static double
time_task (EfStore *store,
           const char *path,
           Task task)
{
  double times[REPEATS];

  for (guint i = 0; i < REPEATS; i++)
    {
      gint64 start = g_get_monotonic_time ();

      task (store, path);
      times[i] = (g_get_monotonic_time () - start) / 1e6;
    }
  qsort (times, REPEATS, sizeof (double), compare_doubles);

  return times[REPEATS / 2];
}

static void
count_rows (EfStore *store,
            const char *path)
{
  gint64 n;

  if (!ef_sql_integer (&store->sql, 0, &n, NULL, "SELECT count (changed) FROM job", ""))
    g_error ("can't count");
}

/* What the window does: all ids, then the page of rows that is in sight. */
static void
show (EfStore *store,
      EfJobQuery query)
{
  g_autoptr (GArray) ids = ef_store_job_ids (store, &query, NULL);
  g_autoptr (GPtrArray) rows = ids != NULL ? ef_store_job_rows (store, (gint64 *) (gpointer) ids->data, MIN (ids->len, 64), NULL) : NULL;

  if (rows == NULL)
    g_error ("expected a list");
}

static void
open_and_show (EfStore *store,
               const char *path)
{
  g_autoptr (EfStore) opened = ef_store_open (path, NULL);
  g_auto (GStrv) names = ef_store_job_models (opened, NULL);
  g_auto (GStrv) findings = ef_store_job_findings (opened, NULL);

  show (opened, (EfJobQuery) { 0 });
  if (ef_store_count (opened, NULL, NULL) <= 0)
    g_error ("expected jobs");
}

#define SHOW(name, ...)            \
  static void                      \
  name (EfStore *store,            \
        const char *path)          \
  {                                \
    show (store, (EfJobQuery) { __VA_ARGS__ }); \
  }
SHOW (search_common, .text = "launch groove")
SHOW (search_number, .text = "J-000999")
SHOW (search_rare, .text = "seen at 123")
SHOW (search_none, .text = "nowhere to be found")
SHOW (search_short, .text = "q!")
SHOW (by_verdict, .verdict = "scrap")
SHOW (by_day, .from = "2010-03-01", .to = "2010-04-30")
SHOW (by_mark, .finding = "lip")
SHOW (by_rule, .finding = "flatness")
SHOW (by_all, .text = "launch", .verdict = "rework", .model = "HL-24", .finding = "lip", .standing = EF_JOBS_OPEN, .from = "2005-01-01")
SHOW (by_number, .order = EF_JOBS_BY_NUMBER, .ascending = TRUE)

static void
statistics (EfStore *store,
            const char *path)
{
  g_autoptr (EfStatistics) all = ef_statistics_new (store, NULL, NULL, NULL);

  if (all == NULL || all->wear->len == 0)
    g_error ("expected statistics");
}

static const struct
{
  const char *name;
  Task task;
} tasks[] = {
  { "open, list, first page", open_and_show },
  { "search, common words", search_common },
  { "search, a number", search_number },
  { "search, rare words", search_rare },
  { "search, nothing found", search_none },
  { "search, two letters", search_short },
  { "by verdict", by_verdict },
  { "by day", by_day },
  { "by kind of mark", by_mark },
  { "by a rule's finding", by_rule },
  { "all filters and a word", by_all },
  { "sorted by number", by_number },
  { "statistics", statistics },
};

static void
measure (guint n,
         guint n_marks)
{
  g_autofree char *folder = g_dir_make_tmp ("bench-many-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "jobs.sqlite", NULL);
  gint64 start = g_get_monotonic_time ();
  EfStore *store;
  double reference;
  GStatBuf info;

  fill (path, n, n_marks);
  store = ef_store_open (path, NULL);
  g_stat (path, &info);
  reference = time_task (store, path, count_rows);
  g_print ("%u jobs of %u marks, file %.1f MB, made in %.1f s; counting the rows %.2f ms\n", n, n_marks, info.st_size / 1e6,
           (g_get_monotonic_time () - start) / 1e6, reference * 1e3);
  for (guint i = 0; i < G_N_ELEMENTS (tasks); i++)
    {
      double seconds = time_task (store, path, tasks[i].task);

      g_print ("  %-24s %9.2f ms  %8.2f of counting the rows\n", tasks[i].name, seconds * 1e3, seconds / reference);
    }
  ef_store_close (store);
  remove_store (path);
  g_rmdir (folder);
}

/* n jobs, all sealed; the whole chain verified. */
static void
measure_seals (guint n)
{
  g_autofree char *folder = g_dir_make_tmp ("bench-seals-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "jobs.sqlite", NULL);
  g_autoptr (GRand) rand = g_rand_new_with_seed (71);
  g_autoptr (EfPumpSheet) sheet = NULL;
  g_autofree char *sheet_path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "pump-sheets", "hl-24.json", NULL);
  g_autoptr (EfVerification) verification = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, NULL);
  EfSealKey *key = ef_seal_key_make (store, "a passphrase for measuring", NULL, "owner", NULL);
  gint64 start = g_get_monotonic_time ();
  double sealing;

  sheet = ef_pump_sheet_load (sheet_path, NULL);
  run (store, "PRAGMA synchronous = OFF");
  if (key == NULL)
    g_error ("expected a key");
  for (guint i = 0; i < n; i++)
    {
      add_template (store, sheet, rand, i, 20);
      seal_small (store, i + 1, "clerk", "", key);
    }
  sealing = (g_get_monotonic_time () - start) / 1e6;
  start = g_get_monotonic_time ();
  verification = verify_store (path);
  if (!verification->holds)
    g_error ("expected the chain to hold");
  g_print ("%u sealed jobs of 20 marks: made in %.2f s, whole chain verified in %.2f s, %.2f ms a seal\n", n, sealing, (g_get_monotonic_time () - start) / 1e6,
           (g_get_monotonic_time () - start) / 1e3 / n);
  ef_seal_key_free (key);
  ef_store_close (g_steal_pointer (&store));
  remove_store (path);
  g_rmdir (folder);
}

int
main (int argc,
      char **argv)
{
  const char *seals = "100,400";
  gboolean sized = FALSE;

  for (int i = 1; i < argc; i++)
    {
      const char *marks = strchr (argv[i], 'x');

      if (g_str_equal (argv[i], "--seals") && i + 1 < argc)
        seals = argv[++i];
      else
        {
          measure ((guint) atoi (argv[i]), marks != NULL ? (guint) atoi (marks + 1) : 20);
          sized = TRUE;
        }
    }
  if (!sized)
    {
      measure (1000, 20);
      measure (10000, 20);
    }
  for (const char *size = seals; size != NULL && *size != '\0'; size = strchr (size, ',') != NULL ? strchr (size, ',') + 1 : NULL)
    measure_seals ((guint) atoi (size));

  return 0;
}
