/* Land weighed by leakage: where a groove costs, by the weights and by the flow solve itself, and what rests on it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "assess/ef-assess-cache.h"
#include "assess/ef-flow-field.h"
#include "assess/ef-flow-input.h"
#include "record/ef-exchange.h"
#include "../isolate.h"

#define RAD (G_PI / 180.0)

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
assess_with (const EfInspection *inspection,
             EfAssessCache *cache)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);
  EfAssessment *assessment = ef_assess_in_detail (inspection, rules, cache, EF_DETAIL_COARSE, NULL, &error);

  g_assert_no_error (error);

  return assessment;
}

/* The job without a mark, or without a reading either: clearances then count as new. */
static EfInspection *
without (const char *name,
         gboolean readings)
{
  g_autoptr (EfInspection) whole = load (name);
  EfInspection *bare = ef_inspection_copy (whole);

  for (EfItemKind kind = 0; kind < EF_N_ITEM_KINDS; kind++)
    for (guint i = 0; (kind == EF_ITEM_MARK || (readings && kind == EF_ITEM_READING)) && i < whole->items[kind]->len; i++)
      g_assert_true (ef_inspection_swap (bare, whole->items[kind]->pdata[i], NULL, NULL));

  return bare;
}

/* Chart place at radius @r and @psi degrees in the drive gear's wall frame: psi grows from suction to delivery. */
static void
place_at (const EfFlowField *field,
          int gear,
          double r,
          double psi,
          double *u,
          double *v)
{
  for (guint k = 0; k < field->n_patches; k++)
    if (field->patch[k].gear == gear)
      ef_field_patch_to_chart (&field->patch[k], r * cos (psi * RAD), r * sin (psi * RAD), u, v);
}

/* A straight groove between two places of the drive gear's wall frame, 2 mm wide. */
static EfMark *
groove (const char *face_id,
        const EfFlowField *field,
        const double from[2],
        const double to[2],
        double depth)
{
  EfMark *mark = ef_mark_new (face_id, EF_MARK_GROOVE, EF_SHAPE_LINE, 2e-3);
  double u, v;

  place_at (field, 0, from[0], from[1], &u, &v);
  ef_mark_add_node (mark, u, v);
  place_at (field, 0, to[0], to[1], &u, &v);
  ef_mark_add_node (mark, u, v);
  ef_mark_set_depth (mark, depth, EF_UNIT_MM, NULL);
  mark->number = 1;

  return mark;
}

static double
weight_of (const EfFlowWeights *weights,
           const EfFaceChart *chart,
           EfMark *mark,
           double *area)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfDepthMap) map = ef_depth_map_new (chart, &mark, 1, 0.0, NULL, &error);
  g_autofree double *cells = NULL;
  double sum = 0.0;

  g_assert_no_error (error);
  cells = ef_flow_weights_on (weights, chart, map);
  g_assert_nonnull (cells);
  *area = 0.0;
  for (guint i = 0; i < map->nu * map->nv; i++)
    {
      g_assert_cmpfloat (cells[i], >=, 0.0);
      sum += cells[i] * map->cover[i] * map->cell * map->cell;
      *area += map->cover[i] * map->cell * map->cell;
    }

  return sum;
}

/* Loss constant L (m3) as found with one mark more. */
static double
loss_with (const EfInspection *bare,
           EfMark *mark,
           EfAssessCache *cache)
{
  g_autoptr (EfInspection) marked = ef_inspection_copy (bare);
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (GError) error = NULL;

  if (mark != NULL)
    {
      g_autoptr (EfItem) item = ef_item_on_grid (mark);

      g_assert_true (ef_inspection_swap (marked, NULL, item, &error));
    }
  g_assert_no_error (error);
  assessment = assess_with (marked, cache);
  g_assert_true (assessment->flow->state[EF_STATE_FOUND].known);

  return assessment->flow->state[EF_STATE_FOUND].idle.loss.constant;
}

/* The same groove across the land from the teeth to the shaft, on the delivery side, half way up, and on the suction side, where both its ends are at suction
 * pressure. By the weights the first costs most and the last next to nothing; the flow solve, asked with each groove in turn, says the same and by the same ratio. */
static void
test_groove (gconstpointer data)
{
  g_autoptr (EfInspection) bare = without (data, TRUE);
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  g_autoptr (EfAssessment) assessment = assess_with (bare, cache);
  g_autoptr (GError) error = NULL;
  const EfSection *section = ef_flow_section (bare->sheet);
  const EfFaceChart *chart = g_hash_table_lookup (assessment->findings.charts, section->facing_face);
  g_autoptr (EfFlowField) field = ef_flow_field_new (assessment, section->facing_face, EF_STATE_NEW, NULL, &error);
  g_autoptr (EfFlowWeights) weights = ef_flow_weights_new (&assessment->findings, ef_assess_cache_flow (cache), NULL, &error);
  EfFlowGeometry geometry = ef_flow_geometry (&assessment->findings, section);
  double inner = geometry.shaft_radius[0] + 0.5e-3, outer = 0.9 * section->pair.in.root_radius[0];
  const double psi[3] = { 75.0, 30.0, -140.0 };
  double cost[3], lost[3], area[3], none;

  g_assert_no_error (error);
  none = loss_with (bare, NULL, cache);
  for (int i = 0; i < 3; i++)
    {
      const double from[2] = { inner, psi[i] }, to[2] = { outer, psi[i] };
      g_autoptr (EfItem) mark = (EfItem *) groove (section->facing_face, field, from, to, 2e-6);

      cost[i] = weight_of (weights, chart, (EfMark *) mark, &area[i]);
      lost[i] = loss_with (bare, (EfMark *) mark, cache) - none;
      g_test_message ("psi %.0f: area %.2f mm2, weight %.4g, loss %.4g mm3", psi[i], area[i] * 1e6, cost[i], lost[i] * 1e9);
    }
  g_assert_cmpfloat_with_epsilon (area[0], area[2], 0.2 * area[0]); /* equal grooves */
  g_assert_cmpfloat (cost[0], >, 5.0 * cost[2]);
  g_assert_cmpfloat (lost[0], >, 5.0 * fmax (lost[2], 0.0));
  g_assert_cmpfloat (lost[1], >, 0.0);
  g_assert_cmpfloat_with_epsilon (cost[1] / cost[0], lost[1] / lost[0], 0.05 * lost[1] / lost[0]);
  ef_flow_geometry_clear (&geometry);
}

/* The cache serves the oil that it's asked for: another oil is solved for anew, and comes to the same as without a cache. */
static void
test_other_oil (void)
{
  g_autoptr (EfInspection) job = without ("job-2-rc-4.json", TRUE);
  g_autoptr (EfInspection) thin = ef_inspection_copy (job);
  g_autoptr (EfItem) header = ef_item_copy (ef_inspection_header (job));
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (EfAssessment) thinner = NULL;
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  g_autoptr (GError) error = NULL;
  const char *face = ef_flow_section (job->sheet)->facing_face;
  g_autoptr (EfItem) item = (EfItem *) ef_mark_new (face, EF_MARK_GROOVE, EF_SHAPE_LINE, 4e-3);
  g_autoptr (EfFlowWeights) first = NULL;
  g_autoptr (EfFlowWeights) again = NULL;
  g_autoptr (EfFlowWeights) other = NULL;
  g_autoptr (EfFlowWeights) alone = NULL;
  g_autoptr (EfFlowField) field = NULL;
  const EfFaceChart *chart;
  EfMark *mark = (EfMark *) item;
  double area, cost[2], u, v;

  g_free (((EfJobHeader *) header)->oil);
  ((EfJobHeader *) header)->oil = g_strdup ("ISO VG 10");
  g_assert_true (ef_inspection_swap (thin, thin->items[EF_ITEM_HEADER]->pdata[0], header, &error));
  assessment = assess_with (job, NULL);
  thinner = assess_with (thin, NULL);
  first = ef_flow_weights_new (&assessment->findings, ef_assess_cache_flow (cache), NULL, &error);
  again = ef_flow_weights_new (&assessment->findings, ef_assess_cache_flow (cache), NULL, &error);
  other = ef_flow_weights_new (&thinner->findings, ef_assess_cache_flow (cache), NULL, &error);
  alone = ef_flow_weights_new (&thinner->findings, NULL, NULL, &error);
  field = ef_flow_field_new (assessment, face, EF_STATE_NEW, NULL, &error);
  g_assert_no_error (error);
  g_assert_true (first == again);
  g_assert_true (other != first);
  chart = g_hash_table_lookup (assessment->findings.charts, face);
  for (int i = 0; i < 2; i++)
    {
      place_at (field, 0, 8e-3 + i * 6e-3, 20.0, &u, &v);
      ef_mark_add_node (mark, u, v);
    }
  ef_mark_set_depth (mark, 1e-5, EF_UNIT_MM, NULL);
  cost[0] = weight_of (other, chart, mark, &area);
  cost[1] = weight_of (alone, chart, mark, &area);
  g_assert_cmpfloat (cost[0], >, 0.0);
  g_assert_cmpfloat_with_epsilon (cost[0], cost[1], 1e-9 * cost[1]);
}

/* A gear's end is the same at every tooth. */
static void
test_turns (void)
{
  g_autoptr (EfInspection) bare = without ("job-1-hl-24.json", FALSE);
  g_autoptr (EfAssessment) assessment = assess_with (bare, NULL);
  g_autoptr (GError) error = NULL;
  const EfSection *section = ef_flow_section (bare->sheet);
  g_autofree char *face = g_strdup_printf ("%s/end-a", section->gear_part[0]);
  const EfFaceChart *chart = g_hash_table_lookup (assessment->findings.charts, face);
  g_autoptr (EfFlowWeights) weights = ef_flow_weights_new (&assessment->findings, NULL, NULL, &error);
  double pitch = 2.0 * G_PI / section->pair.in.teeth[0], r = 0.7 * section->pair.in.root_radius[0], first = NAN;

  g_assert_no_error (error);
  for (int tooth = 0; tooth < section->pair.in.teeth[0]; tooth++)
    {
      g_autoptr (EfItem) item = (EfItem *) ef_mark_new (face, EF_MARK_GROOVE, EF_SHAPE_LINE, 2e-3);
      EfMark *mark = (EfMark *) item;
      double area, cost;

      ef_mark_add_node (mark, r * cos (tooth * pitch), r * sin (tooth * pitch));
      ef_mark_add_node (mark, 1.1 * r * cos (tooth * pitch), 1.1 * r * sin (tooth * pitch));
      ef_mark_set_depth (mark, 1e-5, EF_UNIT_MM, NULL);
      cost = weight_of (weights, chart, mark, &area) / area;
      if (tooth == 0)
        first = cost;
      g_assert_cmpfloat (cost, >, 0.0);
      g_assert_cmpfloat_with_epsilon (cost, first, 0.2 * first);
    }
}

static const EfFaceLand *
land_of (const EfAssessment *assessment,
         const char *face_id)
{
  return ef_face_land_find (assessment->land, face_id);
}

/* With films: by leakage, and the whole land is at most 1. A mating face has none, nor has a pump whose sheet has no hot idle: by area, and said. */
static void
test_rests_on (void)
{
  g_autoptr (EfInspection) inspection = load ("job-1-hl-24.json");
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  g_autoptr (EfAssessment) assessment = assess_with (inspection, cache);
  g_autoptr (EfAssessment) again = assess_with (inspection, cache);
  const EfFaceLand *plate = land_of (assessment, "separator/side-a");
  guint area = 0;

  g_assert_true (plate->by_leakage);
  g_assert_nonnull (strstr (plate->rests_on, "leakage"));
  g_assert_cmpfloat (ef_face_land_restored (plate, 0.0, 0.0), <, 1.0);
  g_assert_cmpfloat (ef_face_land_restored (plate, 0.0, 1.0), ==, 1.0);
  g_assert_cmpfloat (fabs (ef_face_land_restored (plate, 0.0, 0.0) - ef_land_restored (&plate->area, 0.0, 0.0)), >, 1e-3);
  g_assert_true (land_of (again, "separator/side-a") == plate); /* nothing changed, nothing worked out again */
  for (guint i = 0; i < assessment->land->len; i++)
    {
      const EfFaceLand *land = assessment->land->pdata[i];

      if (land->by_leakage)
        continue;
      g_assert_nonnull (strstr (land->rests_on, "area alone"));
      area++;
    }
  g_assert_cmpuint (area, >=, 1);
}

/* Without a film at all. */
static void
test_no_film (void)
{
  g_autoptr (EfInspection) inspection = load ("job-1-hl-24.json");
  g_autoptr (GError) error = NULL;
  g_autofree char *text = g_strdup (inspection->sheet->json);
  g_autoptr (EfPumpSheet) sheet = NULL;
  g_autoptr (EfAssessment) assessment = NULL;
  char *at = strstr (text, "hot idle");

  g_assert_nonnull (at);
  memcpy (at, "hot wait", 8);
  sheet = ef_pump_sheet_parse (text, "sheet", &error);
  g_assert_no_error (error);
  ef_pump_sheet_unref (inspection->sheet);
  inspection->sheet = g_steal_pointer (&sheet);
  assessment = assess_with (inspection, NULL);
  g_assert_false (land_of (assessment, "separator/side-a")->by_leakage);
  g_assert_nonnull (strstr (land_of (assessment, "separator/side-a")->rests_on, "hot idle"));
}

static double
restored_by (const EfAssessment *assessment,
             const char *option_id,
             const char *face_id,
             double *removal_out)
{
  const EfLapOption *option = ef_lap_work_option (assessment->plan, option_id);
  const EfDerived *flatness = ef_derived_find (assessment->findings.derived, "flatness", face_id, NULL);
  int at;

  g_assert_nonnull (option);
  at = ef_lap_problem_find_face (option->problem, face_id);
  *removal_out = option->removal[at];

  return ef_face_land_restored (land_of (assessment, face_id), flatness != NULL ? fmax (flatness->value, 0.0) : 0.0, option->removal[at]);
}

/* A wide worn land 120 um deep and a groove a little deeper: leaving what may stay leaves the wide land too, the plan for the sealing land doesn't, and takes less off than
 * cleaning up wholly. */
static void
test_plan (void)
{
  g_autoptr (EfInspection) inspection = without ("job-1-hl-24.json", FALSE);
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  g_autoptr (EfAssessment) before = assess_with (inspection, cache);
  g_autoptr (EfAssessment) assessment = NULL;
  g_autoptr (GError) error = NULL;
  const EfSection *section = ef_flow_section (inspection->sheet);
  const char *face = section->facing_face;
  g_autoptr (EfFlowField) field = ef_flow_field_new (before, face, EF_STATE_NEW, NULL, &error);
  g_autoptr (EfItem) wide = (EfItem *) ef_mark_new (face, EF_MARK_SCORING, EF_SHAPE_AREA, 1e-3);
  g_autoptr (EfItem) deep = NULL;
  const double from[2] = { 0.5 * section->pair.in.root_radius[0], 100.0 }, to[2] = { 0.9 * section->pair.in.root_radius[0], 100.0 };
  double all, sealing, cheap;

  for (int k = 0; k <= 12; k++)
    {
      double u = 0.0, v = 0.0;

      place_at (field, 0, (k <= 6 ? 0.45 : 0.95) * section->pair.in.root_radius[0], 30.0 + 10.0 * (k <= 6 ? k : 12 - k), &u, &v);
      ef_mark_add_node ((EfMark *) wide, u, v);
    }
  ef_mark_set_depth ((EfMark *) wide, 120e-6, EF_UNIT_UM, NULL);
  ((EfMark *) wide)->number = 1;
  deep = (EfItem *) groove (face, field, from, to, 130e-6);
  ((EfMark *) deep)->number = 2;
  g_assert_true (ef_inspection_swap (inspection, NULL, wide, &error));
  g_assert_true (ef_inspection_swap (inspection, NULL, deep, &error));
  g_assert_no_error (error);
  assessment = assess_with (inspection, cache);
  g_assert_true (land_of (assessment, face)->by_leakage);
  for (guint i = 0; i < assessment->plan->options->len; i++)
    {
      const EfLapOption *option = assessment->plan->options->pdata[i];

      g_test_message ("%s, %s: %.1f um", option->id, ef_lap_level_name (option->level), option->removal[ef_lap_problem_find_face (option->problem, face)] * 1e6);
    }
  g_assert_cmpfloat (restored_by (assessment, "cheapest", face, &cheap), <, EF_SEALING_SHARE);
  g_assert_cmpfloat (restored_by (assessment, "sealing", face, &sealing), >=, EF_SEALING_SHARE);
  g_assert_cmpfloat (restored_by (assessment, "recommended", face, &all), ==, 1.0);
  g_test_message ("off: %.1f, %.1f, %.1f um", cheap * 1e6, sealing * 1e6, all * 1e6);
  g_assert_cmpfloat (cheap, <, sealing);
  g_assert_cmpfloat (sealing, <, all);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_data_func ("/land/groove/hl-24", "job-1-hl-24.json", test_groove);
  g_test_add_data_func ("/land/groove/rc-4", "job-2-rc-4.json", test_groove);
  g_test_add_func ("/land/other-oil", test_other_oil);
  g_test_add_func ("/land/turns", test_turns);
  g_test_add_func ("/land/rests-on", test_rests_on);
  g_test_add_func ("/land/no-film", test_no_film);
  g_test_add_func ("/land/plan", test_plan);

  return g_test_run ();
}
