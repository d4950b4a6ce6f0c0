/* The demo jobs end as they should, and say so.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <string.h>

#include "assess/ef-assessment.h"
#include "record/ef-exchange.h"

#define MM 1e-3

static EfInspection *
load (const char *name)
{
  g_autofree char *path = ef_data_path ("demo", name, NULL);
  g_autoptr (GError) error = NULL;
  EfInspection *inspection = ef_exchange_load (path, &error);

  g_assert_no_error (error);

  return inspection;
}

static EfAssessment *
assess (const EfInspection *inspection)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);
  EfAssessment *assessment;

  g_assert_no_error (error);
  assessment = ef_assess (inspection, rules, NULL, NULL, &error);
  g_assert_no_error (error);

  return assessment;
}

typedef struct
{
  const char *id, *verdict;
  const char *sentence; /* part of one of its reasons; NULL */
} Expected;

static gboolean
says (const EfVerdict *node,
      const char *text)
{
  for (guint i = 0; i < node->reasons->len; i++)
    if (strstr (((EfReason *) node->reasons->pdata[i])->sentence, text) != NULL)
      return TRUE;

  return FALSE;
}

static void
assert_expected (const EfAssessment *assessment,
                 const Expected *rows)
{
  for (; rows->id != NULL; rows++)
    {
      const EfVerdict *node = ef_verdict_find (assessment->verdict, rows->id);

      g_assert_nonnull (node);
      if (!g_str_equal (ef_verdict_name (node->word), rows->verdict))
        g_error ("%s: expected %s, found %s", rows->id, rows->verdict, ef_verdict_name (node->word));
      if (rows->sentence != NULL && !says (node, rows->sentence))
        g_error ("%s: nothing says \"%s\"", rows->id, rows->sentence);
    }
}

static gboolean
has_step (const EfAssessment *assessment,
          const char *id)
{
  for (guint i = 0; i < assessment->steps->len; i++)
    if (g_str_equal (((EfStep *) assessment->steps->pdata[i])->id, id))
      return TRUE;

  return FALSE;
}

static void
test_job_1 (void)
{
  static const Expected rows[] = {
    { "pump", "rework", "groove on the separator plate, side A (front): 0.16 mm ± 0.004 mm deep, over the limit of 0.03 mm. P(within limit) below 0.1 %. And 15 more like it." },
    { "pump", "rework", "End clearance, pressure section at the drive gear: 0.171 mm ± 0.011 mm, over the limit of 0.13 mm." },
    { "section:pressure", "rework", "on the pressure housing, pocket floor: 0.098 mm" },
    { "section:scavenge", "use-again", "The scavenge section is within its limits." },
    { "pair:pressure", "use-again", "Both gears are within their limits" },
    { "part:pressure-drive-gear", "use-again", "a dent from debris in a gear is harmless" },
    { "part:separator", "rework", NULL },
    { "part:pressure-housing", "rework", NULL },
    { "part:scavenge-housing", "use-again", "light scoring" },
    { "part:split-pin", "rework", "damaged" },
    { "part:pickup", "use-again", "it is left in" },
    { NULL }
  };
  g_autoptr (EfInspection) inspection = load ("job-1-hl-24.json");
  g_autoptr (EfAssessment) assessment = assess (inspection);

  g_assert_cmpuint (inspection->items[EF_ITEM_MARK]->len, >=, 40);
  assert_expected (assessment, rows);
  g_assert_true (has_step (assessment, "lap-separator-side-a"));
  g_assert_true (has_step (assessment, "lap-pressure-housing-mating"));
  g_assert_true (has_step (assessment, "dress-pressure-housing-floor"));
  g_assert_true (has_step (assessment, "studs-out"));
  g_assert_true (has_step (assessment, "replace-split-pin"));
  g_assert_true (has_step (assessment, "test"));
}

static void
test_job_2 (void)
{
  static const Expected rows[] = {
    { "pump", "scrap", "on the driven gear, flanks, coast side: the flank is worn to a flat" },
    { "pump", "scrap", "The driven gear is condemned, and the drive gear with it" },
    { "pump", "scrap", "Worth keeping: body, cover plate, drive shaft, driven shaft" },
    { "pair:pressure", "scrap", NULL },
    { "part:driven-gear", "scrap", "And 5 more like it." },
    { "part:drive-gear", "scrap", NULL },
    { "part:body", "use-again", NULL },
    { "part:cover", "use-again", NULL },
    { NULL }
  };
  g_autoptr (EfInspection) inspection = load ("job-2-rc-4.json");
  g_autoptr (EfAssessment) assessment = assess (inspection);

  assert_expected (assessment, rows);
  /* The cause stands before what follows from it. */
  g_assert_cmpstr (((EfReason *) assessment->verdict->reasons->pdata[0])->rule, ==, "flank-flat");
  g_assert_true (has_step (assessment, "set-aside"));
  g_assert_true (has_step (assessment, "replace-drive-gear"));
  g_assert_true (has_step (assessment, "replace-driven-gear"));
}

static void
test_job_3 (void)
{
  static const Expected rows[] = {
    { "pump", "use-again", "All that was marked, measured and looked at is within its limits." },
    { "section:pressure", "use-again", NULL },
    { "pair:pressure", "use-again", "use the pair again" },
    { "part:body", "use-again", "light scoring" },
    { "part:drive-gear", "use-again", "light scoring on a flank is harmless" },
    { NULL }
  };
  g_autoptr (EfInspection) inspection = load ("job-3-tg-3.json");
  g_autoptr (EfAssessment) assessment = assess (inspection);

  assert_expected (assessment, rows);
  for (guint i = 0; i < assessment->steps->len; i++)
    g_assert_cmpstr (((EfStep *) assessment->steps->pdata[i])->phase, !=, "rework");
}

/* Reads the lip and the bores again with gauges that are good enough. */
static void
measure_finely (EfInspection *inspection)
{
  GPtrArray *readings = inspection->items[EF_ITEM_READING];
  EfMark *before = ef_inspection_find (inspection, EF_ITEM_MARK, "m001");
  EfMark *after;
  EfGauge *gauge = ef_item_new (&ef_gauge_class, "bore");
  g_autoptr (GError) error = NULL;

  g_assert_nonnull (before);
  after = ef_item_copy (before);
  ef_mark_set_depth (after, 0.14 * MM, EF_UNIT_MM, "dial");
  ef_inspection_swap (inspection, (EfItem *) before, (EfItem *) after, &error);
  g_assert_no_error (error);
  ef_item_unref (after);

  gauge->kind = EF_GAUGE_BORE;
  gauge->name = g_strdup ("Bore gauge 15–35 mm");
  gauge->resolution = 0.001 * MM;
  gauge->uncertainty = 0.005 * MM;
  gauge->range_min = 15 * MM;
  gauge->range_max = 35 * MM;
  ef_inspection_swap (inspection, NULL, (EfItem *) gauge, &error);
  g_assert_no_error (error);
  ef_item_unref (gauge);
  for (guint i = 0; i < readings->len; i++)
    {
      EfReading *old = readings->pdata[i];
      EfReading *new;

      if (g_strcmp0 (old->gauge_id, "worn-bore") != 0)
        continue;
      new = ef_item_copy (old);
      g_free (new->gauge_id);
      new->gauge_id = g_strdup ("bore");
      ef_inspection_swap (inspection, (EfItem *) old, (EfItem *) new, &error);
      g_assert_no_error (error);
      ef_item_unref (new);
    }
}

static void
test_job_4 (void)
{
  static const Expected coarse[] = {
    { "pump", "measure-again", "lip on the pressure housing, pocket wall, driven side: 0.07 mm ± 0.062 mm, and the limit is 0.03 mm: the gauge is too coarse" },
    { "part:pressure-housing", "measure-again", "Shaft bore of the pressure housing, driven: out of round by" },
    { "part:pressure-housing", "measure-again", "The gauge was overdue for its check: Bore gauge 15–35 mm, worn feet, serial BG-01, due 2025-10-07." },
    { "pair:pressure", "use-again", NULL },
    { "section:scavenge", "use-again", NULL },
    { NULL }
  };
  static const Expected fine[] = {
    { "pump", "scrap", "a lip of 0.14 mm ± 0.004 mm, over the limit of 0.03 mm: the housing is scrap." },
    { "pump", "scrap", "Worth keeping: pressure drive gear, pressure driven gear, scavenge drive gear" },
    { "part:pressure-housing", "scrap", NULL },
    { "part:scavenge-housing", "use-again", NULL },
    { "pair:pressure", "use-again", NULL },
    { NULL }
  };
  g_autoptr (EfInspection) inspection = load ("job-4-hl-27.json");
  g_autoptr (EfAssessment) first = assess (inspection);
  g_autoptr (EfAssessment) second = NULL;
  const EfReason *reason = first->verdict->reasons->pdata[0];

  assert_expected (first, coarse);
  g_assert_nonnull (strstr (reason->advice, "Needs a gauge of ± 0.04 mm or better"));
  g_assert_true (has_step (first, "decide"));
  measure_finely (inspection);
  second = assess (inspection);
  assert_expected (second, fine);
  g_assert_true (has_step (second, "set-aside"));
  g_assert_true (has_step (second, "store"));
  g_assert_false (has_step (second, "close"));
}

/* Every mark of the demos lies on the material of its face: it covers some of it, and no more lies beside it than runs out into a port
 * or over an edge. */
static void
test_marks_on_material (void)
{
  static const char *const jobs[] = { "job-1-hl-24.json", "job-2-rc-4.json", "job-3-tg-3.json", "job-4-hl-27.json" };

  for (guint i = 0; i < G_N_ELEMENTS (jobs); i++)
    {
      g_autoptr (EfInspection) inspection = load (jobs[i]);
      GPtrArray *marks = inspection->items[EF_ITEM_MARK];

      for (guint k = 0; k < marks->len; k++)
        {
          const EfMark *mark = marks->pdata[k];
          g_autoptr (GError) error = NULL;
          g_autoptr (EfFaceChart) chart = ef_face_chart_new (inspection->sheet, mark->face_id, &error);
          guint inside = 0;

          g_assert_no_error (error);
          for (guint n = 0; n < mark->nodes->len; n++)
            {
              const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, n);

              inside += ef_region_contains (chart->solid, node->u, node->v);
            }
          if (inside * 2 < mark->nodes->len || inside == 0)
            g_error ("%s: mark %d on %s: %u of %u places on the material", jobs[i], mark->number, mark->face_id, inside, mark->nodes->len);
        }
    }
}

/* The files are as the program itself writes them, but for layout. */
static void
test_round_trip (void)
{
  static const char *const jobs[] = { "job-1-hl-24.json", "job-2-rc-4.json", "job-3-tg-3.json", "job-4-hl-27.json" };

  for (guint i = 0; i < G_N_ELEMENTS (jobs); i++)
    {
      g_autoptr (EfInspection) inspection = load (jobs[i]);
      g_autofree char *text = ef_exchange_write (inspection);
      g_autoptr (GError) error = NULL;
      g_autoptr (EfInspection) again = ef_exchange_parse (text, -1, "again", &error);

      g_assert_no_error (error);
      g_assert_true (ef_inspection_equal (inspection, again));
    }
}

int
main (int argc,
      char **argv)
{
  g_test_init (&argc, &argv, G_TEST_OPTION_ISOLATE_DIRS, NULL);
  g_test_add_func ("/demo/job-1-rework-saves-the-pump", test_job_1);
  g_test_add_func ("/demo/job-2-pair-scrapped", test_job_2);
  g_test_add_func ("/demo/job-3-used-again", test_job_3);
  g_test_add_func ("/demo/job-4-measure-again", test_job_4);
  g_test_add_func ("/demo/marks-on-material", test_marks_on_material);
  g_test_add_func ("/demo/round-trip", test_round_trip);

  return g_test_run ();
}
