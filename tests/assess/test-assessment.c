/* The whole computation: figures, cache, cancelling, the results file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <string.h>

#include "assess/ef-assess-cache.h"
#include "record/ef-exchange.h"

#define MM 1e-3

typedef struct
{
  EfRuleSet *rules;
  EfInspection *inspection;
} Fixture;

static void
set_up (Fixture *f,
        gconstpointer data)
{
  g_autofree char *path = ef_data_path ("demo", "job-1-hl-24.json", NULL);
  g_autoptr (GError) error = NULL;

  f->rules = ef_rule_set_default (&error);
  g_assert_no_error (error);
  f->inspection = ef_exchange_load (path, &error);
  g_assert_no_error (error);
}

static void
tear_down (Fixture *f,
           gconstpointer data)
{
  ef_rule_set_free (f->rules);
  ef_inspection_free (f->inspection);
}

static EfAssessment *
assess (Fixture *f,
        EfAssessCache *cache)
{
  g_autoptr (GError) error = NULL;
  EfAssessment *assessment = ef_assess_in_detail (f->inspection, f->rules, cache, EF_DETAIL_COARSE, NULL, &error);

  g_assert_no_error (error);

  return assessment;
}

static char *
results (const EfAssessment *assessment)
{
  g_autoptr (JsonNode) node = ef_assessment_to_json (assessment);

  return ef_json_to_text (node);
}

/* Adds a groove 0.2 mm deep to a face that has marks already. */
static void
add_groove (Fixture *f)
{
  EfMark *mark = ef_mark_new ("separator/side-b", EF_MARK_GROOVE, EF_SHAPE_LINE, 0.5 * MM);
  g_autoptr (GError) error = NULL;

  ef_mark_add_node (mark, 30 * MM, 4 * MM);
  ef_mark_add_node (mark, 34 * MM, 9 * MM);
  ef_mark_set_depth (mark, 0.18 * MM, EF_UNIT_MM, NULL);
  mark->number = ef_inspection_next_number (f->inspection);
  ef_inspection_swap (f->inspection, NULL, (EfItem *) mark, &error);
  g_assert_no_error (error);
  ef_item_unref (mark);
}

static void
test_cache (Fixture *f,
            gconstpointer data)
{
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  g_autoptr (EfAssessment) first = assess (f, cache);
  g_autoptr (EfAssessment) again = NULL;
  g_autoptr (EfAssessment) changed = NULL;
  g_autoptr (EfAssessment) fresh = NULL;
  g_autofree char *with = NULL;
  g_autofree char *without = NULL;
  guint faces = g_hash_table_size (first->findings.maps);

  g_assert_cmpuint (faces, >, 10);
  g_assert_cmpuint (ef_assess_cache_misses (cache), ==, faces);
  again = assess (f, cache);
  g_assert_cmpuint (ef_assess_cache_misses (cache), ==, faces);
  g_assert_true (g_hash_table_lookup (again->findings.maps, "separator/side-b") == g_hash_table_lookup (first->findings.maps, "separator/side-b"));

  /* One face changed: one map is made, and the result is that without a cache. */
  add_groove (f);
  changed = assess (f, cache);
  g_assert_cmpuint (ef_assess_cache_misses (cache), ==, faces + 1);
  g_assert_true (g_hash_table_lookup (changed->findings.maps, "separator/side-b") != g_hash_table_lookup (first->findings.maps, "separator/side-b"));
  fresh = assess (f, NULL);
  with = results (changed);
  without = results (fresh);
  g_assert_cmpstr (with, ==, without);
}

/* The cache serves another pump sheet without mixing them up. */
static void
test_cache_other_sheet (Fixture *f,
                        gconstpointer data)
{
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  g_autoptr (EfAssessment) first = assess (f, cache);
  g_autoptr (EfInspection) other = NULL;
  g_autoptr (EfAssessment) second = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *path = ef_data_path ("demo", "job-4-hl-27.json", NULL);
  const EfFaceChart *chart;

  other = ef_exchange_load (path, &error);
  g_assert_no_error (error);
  second = ef_assess_in_detail (other, f->rules, cache, EF_DETAIL_COARSE, NULL, &error);
  g_assert_no_error (error);
  chart = g_hash_table_lookup (second->findings.charts, "pressure-housing/wall-drive");
  /* HL-27's pockets are deeper. */
  g_assert_cmpfloat_with_epsilon (chart->v1 - chart->v0, 32.07 * MM, 1e-9);
}

static gpointer
assess_thread (gpointer data)
{
  gpointer *work = data;
  Fixture *f = work[0];
  g_autoptr (EfAssessment) assessment = NULL;

  for (guint i = 0; i < 3; i++)
    {
      g_clear_pointer (&assessment, ef_assessment_unref);
      assessment = ef_assess_in_detail (f->inspection, f->rules, work[1], EF_DETAIL_COARSE, NULL, NULL);
    }

  return assessment != NULL ? results (assessment) : NULL;
}

static void
test_threads (Fixture *f,
              gconstpointer data)
{
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  gpointer work[2] = { f, cache };
  GThread *threads[3];
  g_autofree char *expected = NULL;
  g_autoptr (EfAssessment) single = NULL;

  for (guint i = 0; i < G_N_ELEMENTS (threads); i++)
    threads[i] = g_thread_new ("assess", assess_thread, work);
  single = assess (f, NULL);
  expected = results (single);
  for (guint i = 0; i < G_N_ELEMENTS (threads); i++)
    {
      g_autofree char *got = g_thread_join (threads[i]);

      g_assert_cmpstr (got, ==, expected);
    }
}

static void
test_cancel (Fixture *f,
             gconstpointer data)
{
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  g_autoptr (GError) error = NULL;

  g_cancellable_cancel (cancellable);
  g_assert_null (ef_assess (f->inspection, f->rules, NULL, cancellable, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
}

/* The result is about the snapshot, whatever happens to the inspection afterwards. */
static void
test_snapshot (Fixture *f,
               gconstpointer data)
{
  g_autoptr (EfAssessment) assessment = assess (f, NULL);
  guint marks = f->inspection->items[EF_ITEM_MARK]->len;

  add_groove (f);
  g_assert_cmpuint (assessment->inspection->items[EF_ITEM_MARK]->len, ==, marks);
}

/* 25.161 - 24.990 = 0.171 mm found, 0.085 off the mating face: 0.086 (the mean of two pocket depths; see the demo's readings). */
static void
test_figures (Fixture *f,
              gconstpointer data)
{
  g_autoptr (EfAssessment) assessment = assess (f, NULL);
  const EfFigure *figure = ef_assessment_figure (assessment, "end-clearance", "pressure", NULL);

  g_assert_nonnull (figure);
  g_assert_cmpstr (figure->label, ==, "End clearance, pressure section");
  g_assert_cmpfloat_with_epsilon (figure->as_new, 0.07 * MM, 1e-9);
  g_assert_cmpfloat_with_epsilon (figure->found, 0.171 * MM, 1e-9);
  g_assert_cmpfloat_with_epsilon (figure->reworked, 0.086 * MM, 1e-9);
  g_assert_cmpfloat_with_epsilon (figure->limit_max, 0.13 * MM, 1e-9);
  g_assert_cmpstr (figure->source, ==, "invented workshop sheet");

  figure = ef_assessment_figure (assessment, "deepest-wear", NULL, "separator/side-a");
  g_assert_nonnull (figure);
  /* The deepest reading; a cell holds a mean, so a hair less. */
  g_assert_cmpfloat_with_epsilon (figure->found, 0.16 * MM, 0.002 * MM);
  g_assert_cmpfloat (figure->reworked, ==, 0.0);
  figure = ef_assessment_figure (assessment, "worn-share", NULL, "separator/side-a");
  g_assert_cmpfloat (figure->found, >, 0.01);
  g_assert_cmpfloat (figure->found, <, 0.5);
  g_assert_cmpfloat_with_epsilon (figure->reworked, 0.0, 1e-9);
  /* Marks without a depth say nothing of depth. */
  figure = ef_assessment_figure (assessment, "deepest-wear", NULL, "scavenge-driven-gear/flank-drive");
  g_assert_true (isnan (figure->found));
  g_assert_null (ef_assessment_figure (assessment, "wishes", NULL, NULL));
}

/* An empty inspection is assessed as well: all still to be measured. */
static void
test_empty (Fixture *f,
            gconstpointer data)
{
  g_autoptr (EfInspection) empty = ef_inspection_new (f->inspection->sheet, "J-2");
  g_autoptr (GError) error = NULL;
  g_autoptr (EfAssessment) assessment = ef_assess_in_detail (empty, f->rules, NULL, EF_DETAIL_COARSE, NULL, &error);
  g_autofree char *text = NULL;

  g_assert_no_error (error);
  g_assert_cmpint (assessment->verdict->word, ==, EF_VERDICT_MEASURE);
  g_assert_true (isnan (ef_assessment_figure (assessment, "end-clearance", "pressure", NULL)->found));
  text = results (assessment);
  g_assert_nonnull (strstr (text, "\"found\": null"));
}

int
main (int argc,
      char **argv)
{
  g_test_init (&argc, &argv, G_TEST_OPTION_ISOLATE_DIRS, NULL);
#define ADD(path, func) g_test_add (path, Fixture, NULL, set_up, func, tear_down)
  ADD ("/assess/cache/one-face", test_cache);
  ADD ("/assess/cache/other-sheet", test_cache_other_sheet);
  ADD ("/assess/cache/threads", test_threads);
  ADD ("/assess/cancel", test_cancel);
  ADD ("/assess/snapshot", test_snapshot);
  ADD ("/assess/figures", test_figures);
  ADD ("/assess/empty", test_empty);
#undef ADD

  return g_test_run ();
}
