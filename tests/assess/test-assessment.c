/* The whole computation: figures, cache, cancelling, the results file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <string.h>

#include "assess/ef-assess-cache.h"
#include "record/ef-exchange.h"
#include "../isolate.h"

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

/* What the shop has learned about lapping changes the passes, and hardly what comes off. */
static void
test_learned_rates (Fixture *f,
                    gconstpointer data)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLapTable) table = ef_lap_table_default (&error);
  g_auto (EfLapLearned) learned = { 0 };
  const char *const materials[] = { "aluminium-alloy" };
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  g_autoptr (EfAssessment) before = NULL;
  g_autoptr (EfAssessment) after = NULL;
  const EfLapStock *then, *now;

  g_assert_true (ef_lap_rates_prior (table, materials[0], &learned.rates, &error));
  /* Twice as quick with the coarsest grit, known well. */
  learned.rates.removal[0] *= 2;
  learned.rates.covariance[0] = 1e-14;
  learned.rates.observations[0] = 5;
  learned.n = 5;
  learned.doubtful = g_new0 (gboolean, 5);
  learned.score = g_new0 (double, 5);

  before = assess (f, cache);
  ef_assess_cache_take_lapping (cache, ef_lap_table_taught (table, 1, materials, &learned));
  after = assess (f, cache);
  g_assert_cmpuint (before->plan->table->learned, ==, 0);
  g_assert_cmpuint (after->plan->table->learned, ==, 5);
  then = ef_lap_stock_find (before->plan->stocks, "pressure-housing/mating");
  now = ef_lap_stock_find (after->plan->stocks, "pressure-housing/mating");
  g_assert_cmpfloat (now->per_pass[0], ==, 2 * then->per_pass[0]);
  g_assert_cmpint (now->passes[0], <, then->passes[0]);
  g_assert_cmpfloat (fabs (now->stock - then->stock), <, 12e-6);
}

/* The demo with @field set to @value on @part of its sheet, assessed. */
static EfAssessment *
assess_with (const char *part_id,
             const char *field,
             const char *value)
{
  g_autofree char *path = ef_data_path ("demo", "job-1-hl-24.json", NULL);
  g_autoptr (JsonNode) root = NULL;
  g_autoptr (JsonNode) set = NULL;
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (EfRuleSet) rules = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *text = NULL;
  EfAssessment *assessment;
  JsonArray *parts;

  g_assert_true (g_file_get_contents (path, &text, NULL, &error));
  root = json_from_string (text, &error);
  g_assert_no_error (error);
  set = json_from_string (value, &error);
  g_assert_no_error (error);
  parts = json_object_get_array_member (json_object_get_object_member (json_node_get_object (root), "pump_sheet"), "parts");
  for (guint i = 0; i < json_array_get_length (parts); i++)
    {
      JsonObject *part = json_array_get_object_element (parts, i);

      if (g_str_equal (json_object_get_string_member (part, "id"), part_id))
        json_object_set_member (part, field, g_steal_pointer (&set));
    }
  g_free (text);
  text = ef_json_to_text (root);
  inspection = ef_exchange_parse (text, -1, "changed", &error);
  g_assert_no_error (error);
  rules = ef_rule_set_default (&error);
  assessment = ef_assess_in_detail (inspection, rules, NULL, EF_DETAIL_COARSE, NULL, &error);
  g_assert_no_error (error);

  return assessment;
}

static double
stock_of (const EfAssessment *assessment,
          const char *face)
{
  const EfLapStock *stock = ef_lap_stock_find (assessment->plan->stocks, face);

  return stock != NULL ? stock->stock : 0;
}

static gboolean
names_limit (const EfAssessment *assessment,
             const char *words)
{
  for (guint i = 0; assessment->plan->conflicts != NULL && i < assessment->plan->conflicts->len; i++)
    if (strstr (((EfLapConflict *) assessment->plan->conflicts->pdata[i])->sentence, words) != NULL)
      return TRUE;

  return assessment->plan->reason != NULL && strstr (assessment->plan->reason, words) != NULL;
}

/* What the sheet says besides a face's stock: the housing gives 0.09 mm in the plan, so a reserve of 0.05 mm stands in its way, one of 0.5 mm doesn't; the same for the
 * play between the shaft's shoulders, which the separator's 0.17 mm count against too. A floor that can be lapped may be, and raises the clearance. */
static void
test_sheet_limits (Fixture *f,
                   gconstpointer data)
{
  g_autoptr (EfAssessment) plain = assess (f, NULL);
  g_autoptr (EfAssessment) tight = assess_with ("pressure-housing", "lap_reserve_um", "50");
  g_autoptr (EfAssessment) wide = assess_with ("pressure-housing", "lap_reserve_um", "500");
  g_autoptr (EfAssessment) no_play = assess_with ("drive-shaft", "shoulder_play_um", "200");
  g_autoptr (EfAssessment) play = assess_with ("drive-shaft", "shoulder_play_um", "300");
  g_autoptr (EfAssessment) floor = assess_with ("pressure-housing", "floor_lappable", "true");
  double housing = stock_of (plain, "pressure-housing/mating");

  g_assert_cmpfloat (housing, >, 80e-6);
  g_assert_cmpfloat (stock_of (tight, "pressure-housing/mating"), <, 51e-6);
  g_assert_true (names_limit (tight, "depth left for threads, dowels and ports"));
  g_assert_cmpfloat (stock_of (wide, "pressure-housing/mating"), ==, housing);
  g_assert_true (names_limit (no_play, "end play between its shoulders"));
  g_assert_cmpfloat (stock_of (play, "pressure-housing/mating"), ==, housing);
  g_assert_nonnull (ef_lap_work_option (floor->plan, "recommended"));
  g_assert_cmpint (ef_lap_problem_find_face (ef_lap_work_option (floor->plan, "recommended")->problem, "pressure-housing/floor"), >=, 0);
  g_assert_cmpint (ef_lap_problem_find_face (ef_lap_work_option (plain->plan, "recommended")->problem, "pressure-housing/floor"), <, 0);
}

/* "how" of the flatness of a plate's side, with its first height at the place given; NAN: where it is in the demo. */
static char *
flatness_how (Fixture *f,
              double u,
              double v)
{
  g_autoptr (EfInspection) moved = ef_inspection_copy (f->inspection);
  g_autoptr (EfAssessment) assessment = NULL;
  const EfDerived *flatness;
  g_autoptr (GError) error = NULL;

  for (guint i = 0; i < moved->items[EF_ITEM_READING]->len; i++)
    {
      EfReading *reading = moved->items[EF_ITEM_READING]->pdata[i];
      g_autoptr (EfItem) after = NULL;

      if (reading->quantity != EF_READ_FLATNESS || !g_str_equal (reading->target, "separator/side-a") || isnan (u))
        continue;
      after = ef_item_copy (reading);
      ((EfReading *) after)->u = u;
      ((EfReading *) after)->v = v;
      ef_inspection_swap (moved, &reading->item, after, &error);
      g_assert_no_error (error);
      break;
    }
  assessment = ef_assess_in_detail (moved, f->rules, NULL, EF_DETAIL_COARSE, NULL, &error);
  g_assert_no_error (error);
  flatness = ef_derived_find (assessment->findings.derived, "flatness", "separator/side-a", NULL);
  g_assert_nonnull (flatness);

  return g_strdup (flatness->how);
}

/* A height noted in a stud's hole or past the edge is told with the flatness that rests on it. */
static void
test_off_metal (Fixture *f,
                gconstpointer data)
{
  const EfPart *plate = ef_pump_sheet_part (f->inspection->sheet, "separator");
  const EfHole *hole = &g_array_index (plate->holes, EfHole, 0);
  g_autofree char *demo = flatness_how (f, NAN, NAN);
  g_autofree char *in_hole = flatness_how (f, hole->x, hole->y);
  g_autofree char *past_edge = flatness_how (f, 0.2, 0);

  g_assert_null (strstr (demo, "off the face"));
  g_assert_true (g_str_has_suffix (in_hole, "; 1 of the heights noted in a hole or off the face"));
  g_assert_true (g_str_has_suffix (past_edge, "; 1 of the heights noted in a hole or off the face"));
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

/* 25.161 - 24.990 = 0.171 mm found, 0.0905 off the mating face in whole passes: 0.0805 (the mean of two pocket depths; see the demo's readings). */
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
  g_assert_cmpfloat_with_epsilon (figure->reworked, 0.0805 * MM, 1e-9);
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
  isolated_test_init (&argc, &argv);
#define ADD(path, func) g_test_add (path, Fixture, NULL, set_up, func, tear_down)
  ADD ("/assess/off-metal", test_off_metal);
  ADD ("/assess/learned-rates", test_learned_rates);
  ADD ("/assess/sheet-limits", test_sheet_limits);
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
