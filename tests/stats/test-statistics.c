/* Statistics of stores whose jobs are known: counts, lines, returns; outcomes of assessed jobs, kept and made again.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "record/ef-exchange.h"
#include "record/ef-store-private.h"
#include "record/ef-store-standing.h"
#include "stats/ef-outcome.h"
#include "stats/ef-statistics.h"

#include "../isolate.h"

#include <math.h>

typedef struct
{
  char *folder, *path;
  EfStore *store;
} Fixture;

static void
set_up (Fixture *self,
        gconstpointer unused)
{
  g_autoptr (GError) error = NULL;

  self->folder = g_dir_make_tmp ("statistics-XXXXXX", NULL);
  self->path = g_build_filename (self->folder, "jobs.sqlite", NULL);
  self->store = ef_store_open (self->path, &error);
  g_assert_no_error (error);
}

static void
tear_down (Fixture *self,
           gconstpointer unused)
{
  g_clear_pointer (&self->store, ef_store_close);
  isolated_remove (self->folder);
  g_free (self->path);
  g_free (self->folder);
}

typedef struct
{
  const char *number, *model, *serial, *day, *verdict, *reworked;
  double hours, clearance; /* m; 0 none */
  const char *finding;     /* a mark on the separator that meant rework; NULL none */
  const char *rules;       /* NULL: "rules 1" */
} Known;

static gint64
add_known (Fixture *self,
           const Known *known)
{
  g_autofree char *lower = g_ascii_strdown (known->model, -1);
  g_autofree char *name = g_strconcat (lower, ".json", NULL);
  g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "pump-sheets", name, NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, &error);
  g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, known->number);
  g_autoptr (EfItem) header = ef_item_copy (ef_inspection_header (inspection));
  g_autoptr (EfOutcome) outcome = ef_outcome_new (known->rules != NULL ? known->rules : "rules 1");
  gint64 job;

  ((EfJobHeader *) header)->serial = g_strdup (known->serial);
  ((EfJobHeader *) header)->received = g_strdup (known->day);
  g_assert_true (ef_inspection_swap (inspection, inspection->items[EF_ITEM_HEADER]->pdata[0], header, NULL));
  job = ef_store_add (self->store, inspection, &error);
  g_assert_no_error (error);
  outcome->hours = known->hours > 0 ? known->hours : NAN;
  outcome->reworked = known->reworked != NULL;
  outcome->reworked_day = g_strdup (known->reworked);
  if (known->finding != NULL)
    {
      EfOutcomeFinding *finding = ef_outcome_finding (outcome, "part:separator", "Separator plate", TRUE, known->finding);

      finding->n = 2;
      finding->word = g_strdup (g_str_equal (known->finding, "crack") ? "scrap" : "rework");
    }
  if (known->clearance > 0)
    {
      ef_outcome_clearance (outcome, "pressure", "drive", "Pressure section", 60e-6, known->clearance);
      ef_outcome_clearance (outcome, "pressure", "driven", "Pressure section", 60e-6, known->clearance - 10e-6);
    }
  g_assert_true (ef_store_set_outcome (self->store, job, 1, outcome, &error));
  g_assert_true (ef_store_set_verdict (self->store, job, known->verdict, &error));

  return job;
}

static const Known shop[] = {
  { "J-1", "HL-24", "A1", "2024-01-10", "rework", "2024-01-15", 1000, 80e-6, "groove", NULL },
  { "J-2", "HL-24", "A2", "2024-02-10", "rework", "2024-02-10", 2000, 90e-6, "groove", NULL },
  { "J-3", "HL-24", "a1 ", "2024-07-15", "use-again", NULL, 1500, 75e-6, NULL, NULL },        /* A1 again, found good: still holds */
  { "J-4", "HL-24", "A1", "2025-01-15", "rework", "2025-01-20", 3000, 100e-6, "lip", NULL },  /* back after 366 days */
  { "J-5", "HL-24", "A3", "2024-03-01", "scrap", "2024-03-02", 4000, 110e-6, "crack", NULL }, /* scrap: it didn't go back */
  { "J-6", "RC-4", "A2", "2024-06-01", "rework", NULL, 0, 0, "groove", NULL },                /* another model's A2 */
  { "J-7", "HL-24", "", "2024-04-01", "rework", "2024-04-02", 0, 0, NULL, NULL },             /* nobody knows it again */
  { "J-8", "HL-24", "A2", "2025-02-10", "measure-again", NULL, 0, 0, NULL, NULL },            /* A2 seen after 366 days, undecided */
};

static EfStatistics *
statistics_of (Fixture *self,
               EfStatisticsQuery query)
{
  g_autoptr (GError) error = NULL;
  EfStatistics *statistics;

  query.today = "2025-06-30";
  statistics = ef_statistics_new (self->store, &query, NULL, &error);
  g_assert_no_error (error);

  return statistics;
}

static const EfWearCount *
count_of (const EfStatistics *statistics,
          const char *model,
          const char *finding)
{
  for (guint i = 0; i < statistics->wear->len; i++)
    {
      const EfWearCount *count = statistics->wear->pdata[i];

      if (g_str_equal (count->model, model) && g_str_equal (count->finding, finding))
        return count;
    }

  return NULL;
}

static void
test_known_shop (Fixture *self,
                 gconstpointer unused)
{
  g_autoptr (EfStatistics) all = NULL;
  const EfClearanceSeries *series;
  const EfReworkSpell *spell;

  for (guint i = 0; i < G_N_ELEMENTS (shop); i++)
    add_known (self, &shop[i]);
  all = statistics_of (self, (EfStatisticsQuery) { 0 });
  g_assert_cmpuint (all->n_jobs, ==, 8);
  g_assert_cmpuint (all->n_known, ==, 8);
  g_assert_cmpuint (all->n_stale, ==, 0);
  g_assert_cmpuint (all->n_rule_sets, ==, 1);
  g_assert_cmpuint (all->models->len, ==, 2);

  g_assert_cmpuint (all->wear->len, ==, 4);
  g_assert_cmpuint (count_of (all, "HL-24", "groove")->jobs.n, ==, 2);
  g_assert_cmpuint (count_of (all, "HL-24", "groove")->jobs.of, ==, 7);
  g_assert_cmpuint (count_of (all, "HL-24", "groove")->scrap, ==, 0);
  g_assert_cmpuint (count_of (all, "HL-24", "crack")->scrap, ==, 1);
  g_assert_cmpuint (count_of (all, "RC-4", "groove")->jobs.of, ==, 1);

  /* The greater of the two gears; by least squares through (1000, 80), (2000, 90), (1500, 75), (3000, 100), (4000, 110) µm, worked by hand:
   * means 2300 h and 91 µm, Sxy = 66000, Sxx = 5800000. */
  g_assert_cmpuint (all->clearance->len, ==, 1);
  series = all->clearance->pdata[0];
  g_assert_cmpuint (series->hours->len, ==, 5);
  g_assert_cmpfloat_with_epsilon (series->trend.slope * 1e9, 1e3 * 66000 / 5800000, 1e-9);
  g_assert_cmpfloat_with_epsilon (series->as_new, 60e-6, 1e-15);

  /* J-1 came back as J-4 for rework, J-4 is still out; J-2 was last seen as J-8. */
  g_assert_cmpuint (all->spells->len, ==, 3);
  g_assert_cmpuint (all->n_unserialled, ==, 1);
  g_assert_cmpuint (all->holds->events, ==, 1);
  spell = all->spells->pdata[0];
  g_assert_cmpstr (spell->number, ==, "J-1");
  g_assert_cmpstr (spell->next, ==, "J-4");
  g_assert_true (spell->came_back);
  g_assert_cmpfloat_with_epsilon (spell->months, 366 / EF_DAYS_OF_MONTH, 1e-12);
  g_assert_cmpfloat (spell->hours, ==, 2000);
  spell = all->spells->pdata[1];
  g_assert_cmpstr (spell->number, ==, "J-4");
  g_assert_null (spell->next);
  g_assert_cmpfloat_with_epsilon (spell->months, 161 / EF_DAYS_OF_MONTH, 1e-12);
  spell = all->spells->pdata[2];
  g_assert_cmpstr (spell->number, ==, "J-2");
  g_assert_cmpstr (spell->next, ==, "J-8");
  g_assert_false (spell->came_back);
  /* Two were still watched at 366 days, one of them came back then. */
  g_assert_cmpfloat_with_epsilon (g_array_index (all->holds->steps, EfSurvivalStep, 0).holds, 0.5, 1e-12);
  g_assert_cmpfloat (all->return_hours, ==, 2000);
}

/* Returns: known by its serial number however that is written; hours between, but not where the counter was changed; the median of an even number lies between. */
static void
test_returns (Fixture *self,
              gconstpointer unused)
{
  static const Known returns[] = {
    { "J-1", "HL-24", "Ä 7", "2024-01-10", "rework", "2024-01-15", 1000, 0, NULL, NULL },
    { "J-2", "HL-24", " ä 7", "2024-06-10", "rework", NULL, 1500, 0, NULL, NULL },
    { "J-3", "HL-24", "B8", "2024-01-10", "rework", "2024-01-15", 2000, 0, NULL, NULL },
    { "J-4", "HL-24", "B8", "2024-09-10", "scrap", NULL, 5000, 0, NULL, NULL },
    { "J-5", "HL-24", "C9", "2024-01-10", "rework", "2024-01-15", 800, 0, NULL, NULL },
    { "J-6", "HL-24", "C9", "2024-09-10", "scrap", NULL, 300, 0, NULL, NULL },
  };
  g_autoptr (EfStatistics) all = NULL;

  for (guint i = 0; i < G_N_ELEMENTS (returns); i++)
    add_known (self, &returns[i]);
  all = statistics_of (self, (EfStatisticsQuery) { 0 });
  g_assert_cmpuint (all->holds->n, ==, 3);
  g_assert_cmpuint (all->holds->events, ==, 3);
  g_assert_cmpuint (all->n_return_hours, ==, 2);
  g_assert_cmpfloat (all->return_hours, ==, 0.5 * (500 + 3000));
}

/* The rules that a sheet brings don't make a job another one to compare; another shared set does. */
static void
test_rule_sets (Fixture *self,
                gconstpointer unused)
{
  static const Known jobs[] = {
    { "J-1", "HL-24", "A1", "2024-01-10", "rework", NULL, 0, 0, NULL, "common-practice 2" },
    { "J-2", "HL-24", "A2", "2024-01-10", "rework", NULL, 0, 0, NULL, "common-practice 2 + hl-24 rules 1a2b3c4d" },
    { "J-3", "RC-4", "A3", "2024-01-10", "rework", NULL, 0, 0, NULL, "common-practice 2 + rc-4 rules 5e6f7a8b" },
    { "J-4", "RC-4", "A4", "2024-01-10", "rework", NULL, 0, 0, NULL, "common-practice 1 + rc-4 rules 5e6f7a8b" },
  };
  g_autoptr (EfStatistics) one = NULL;
  g_autoptr (EfStatistics) all = NULL;

  for (guint i = 0; i < G_N_ELEMENTS (jobs); i++)
    add_known (self, &jobs[i]);
  one = statistics_of (self, (EfStatisticsQuery) { .model = "HL-24" });
  g_assert_cmpuint (one->n_rule_sets, ==, 1);
  all = statistics_of (self, (EfStatisticsQuery) { 0 });
  g_assert_cmpuint (all->n_rule_sets, ==, 2);
}

static void
test_filters (Fixture *self,
              gconstpointer unused)
{
  g_autoptr (EfStatistics) one = NULL;
  g_autoptr (EfStatistics) days = NULL;
  g_autoptr (GError) error = NULL;
  gint64 last = 0;

  for (guint i = 0; i < G_N_ELEMENTS (shop); i++)
    last = add_known (self, &shop[i]);
  one = statistics_of (self, (EfStatisticsQuery) { .model = "RC-4" });
  g_assert_cmpuint (one->n_jobs, ==, 1);
  g_assert_cmpuint (one->wear->len, ==, 1);
  g_assert_cmpuint (one->clearance->len, ==, 0);
  g_assert_cmpuint (one->spells->len, ==, 0);
  g_assert_cmpuint (one->models->len, ==, 2);
  /* Days narrow the reworks, not what became of them. */
  days = statistics_of (self, (EfStatisticsQuery) { .from = "2024-01-01", .to = "2024-01-31" });
  g_assert_cmpuint (days->n_jobs, ==, 1);
  g_assert_cmpuint (days->spells->len, ==, 1);
  g_assert_true (((EfReworkSpell *) days->spells->pdata[0])->came_back);
  g_assert_true (ef_store_withdraw (self->store, last, "clerk", "entered twice", &error));
  g_assert_no_error (error);
  ef_statistics_free (g_steal_pointer (&days));
  days = statistics_of (self, (EfStatisticsQuery) { 0 });
  g_assert_cmpuint (days->n_jobs, ==, 7);
  g_assert_null (((EfReworkSpell *) days->spells->pdata[2])->next);
}

/* A store with nothing in it has statistics too. */
static void
test_empty (Fixture *self,
            gconstpointer unused)
{
  g_autoptr (EfStatistics) none = statistics_of (self, (EfStatisticsQuery) { 0 });
  g_autofree char *wear = ef_statistics_wear_csv (none);
  g_autofree char *rework = ef_statistics_rework_csv (none);
  g_autoptr (JsonNode) node = ef_statistics_to_json (none);

  g_assert_cmpuint (none->n_jobs, ==, 0);
  g_assert_cmpuint (none->holds->n, ==, 0);
  g_assert_true (g_str_has_prefix (wear, "model,subject,"));
  g_assert_true (g_str_has_suffix (wear, "scrap\r\n"));
  g_assert_true (g_str_has_suffix (rework, "high_95\r\n"));
  g_assert_true (JSON_NODE_HOLDS_OBJECT (node));
}

static void
count_cb (guint done,
          guint all,
          gpointer user_data)
{
  guint *calls = user_data;

  (*calls)++;
  g_assert_cmpuint (done, ==, *calls);
  g_assert_cmpuint (done, <=, all);
}

static void
stop_cb (guint done,
         guint all,
         gpointer user_data)
{
  g_cancellable_cancel (user_data);
}

/* The demo jobs, worked out: stopped after one and gone on with; up to date until one is changed; found by what was found in them. */
static void
test_fill (Fixture *self,
           gconstpointer unused)
{
  static const char *const files[] = { "job-1-hl-24.json", "job-2-rc-4.json", "job-5-hl-24.json" };
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  g_autoptr (GArray) stale = NULL;
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStatistics) statistics = NULL;
  EfDocument *document;
  g_autoptr (EfItem) header = NULL;
  g_auto (GStrv) names = NULL;
  guint calls = 0, failed = 9;
  gint64 job = 0;

  for (guint i = 0; i < G_N_ELEMENTS (files); i++)
    {
      g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "demo", files[i], NULL);
      g_autoptr (EfInspection) inspection = ef_exchange_load (path, &error);

      g_assert_no_error (error);
      job = ef_store_add (self->store, inspection, &error);
    }
  g_assert_cmpint (ef_outcomes_fill (self->path, 0, stop_cb, cancellable, NULL, cancellable, &error), ==, -1);
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
  g_clear_error (&error);
  g_assert_cmpint (ef_outcomes_fill (self->path, 0, count_cb, &calls, &failed, NULL, &error), ==, 2);
  g_assert_no_error (error);
  g_assert_cmpuint (calls, ==, 2);
  g_assert_cmpuint (failed, ==, 0);
  g_assert_cmpint (ef_outcomes_fill (self->path, 0, NULL, NULL, NULL, NULL, &error), ==, 0);
  g_assert_cmpint (ef_store_count (self->store, &(EfJobQuery) { .verdict = "" }, NULL), ==, 0);

  /* Each once: the kinds of mark, and the rules that found something. */
  names = ef_store_job_findings (self->store, &error);
  g_assert_cmpuint (g_strv_length (names), >, EF_N_MARK_KINDS);
  for (guint i = 0; names[i] != NULL; i++)
    for (guint k = 0; k < i; k++)
      g_assert_cmpstr (names[i], !=, names[k]);
  statistics = statistics_of (self, (EfStatisticsQuery) { .model = "HL-24" });
  g_assert_cmpuint (statistics->n_known, ==, 2);
  g_assert_cmpuint (statistics->wear->len, >, 0);
  g_assert_cmpuint (statistics->clearance->len, >, 0);
  for (guint i = 0; i < statistics->wear->len; i++)
    {
      const EfWearCount *count = statistics->wear->pdata[i];
      g_autoptr (GArray) ids = ef_store_job_ids (self->store, &(EfJobQuery) { .model = "HL-24", .finding = count->finding }, &error);
      g_autofree char *label = ef_finding_label (count->finding);
      g_autoptr (GArray) by_words = ef_store_job_ids (self->store, &(EfJobQuery) { .text = label }, &error);

      g_assert_cmpuint (ids->len, >=, count->jobs.n);
      g_assert_cmpuint (by_words->len, >=, count->jobs.n);
    }

  document = ef_store_open_document (self->store, job, &error);
  header = ef_item_copy (ef_inspection_header (ef_document_inspection (document)));
  ((EfJobHeader *) header)->hours = 777;
  g_assert_true (ef_document_replace (document, "Hours", (gpointer) ef_inspection_header (ef_document_inspection (document)), header, &error));
  g_object_unref (document);
  stale = ef_store_stale_outcomes (self->store, 0, &error);
  g_assert_cmpuint (stale->len, ==, 1);
  g_assert_cmpint (g_array_index (stale, gint64, 0), ==, job);
  g_assert_cmpint (ef_outcomes_fill (self->path, 0, NULL, NULL, NULL, NULL, &error), ==, 1);
}

#define ADD(path, function) g_test_add (path, Fixture, NULL, set_up, function, tear_down)

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  ADD ("/statistics/known-shop", test_known_shop);
  ADD ("/statistics/returns", test_returns);
  ADD ("/statistics/rule-sets", test_rule_sets);
  ADD ("/statistics/filters", test_filters);
  ADD ("/statistics/empty", test_empty);
  ADD ("/statistics/fill", test_fill);

  return g_test_run ();
}
