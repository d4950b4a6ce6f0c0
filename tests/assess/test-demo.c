/* The demo jobs end as they should, and say so.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <string.h>

#include "assess/ef-assessment.h"
#include "metrology/ef-flat-form.h"
#include "metrology/ef-flatness.h"
#include "record/ef-exchange.h"
#include "../isolate.h"

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

static EfAssessment *
assess_coarse (const EfInspection *inspection,
               EfAssessCache *cache)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);
  EfAssessment *assessment;

  g_assert_no_error (error);
  assessment = ef_assess_in_detail (inspection, rules, cache, EF_DETAIL_COARSE, NULL, &error);
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

static double
reading_mean (const EfInspection *inspection,
              EfQuantity quantity,
              const char *target,
              const char *place)
{
  GPtrArray *readings = inspection->items[EF_ITEM_READING];
  double sum = 0.0;
  int n = 0;

  for (guint i = 0; i < readings->len; i++)
    {
      const EfReading *reading = readings->pdata[i];

      if (reading->quantity == quantity && g_str_equal (reading->target, target) && g_strcmp0 (reading->place, place) == 0)
        {
          sum += reading->value;
          n++;
        }
    }
  g_assert_cmpint (n, >, 0);

  return sum / n;
}

static double
planned (const EfAssessment *assessment,
         const char *face)
{
  for (guint i = 0; i < assessment->plan->stocks->len; i++)
    if (g_str_equal (((EfLapStock *) assessment->plan->stocks->pdata[i])->face_id, face))
      return ((EfLapStock *) assessment->plan->stocks->pdata[i])->stock;

  return 0.0;
}

/* The plate comes down on each face's raster of heights: the worn ones, on a face that lies low there by all it's out of flat. What's left is looked for on the raster; the end
 * clearance follows from the readings themselves. */
static void
test_job_1_carried_out (void)
{
  static const char *const gears[2] = { "pressure-drive-gear", "pressure-driven-gear" };
  static const char *const places[2] = { "drive", "driven" };
  g_autoptr (EfInspection) inspection = load ("job-1-hl-24.json");
  g_autoptr (EfAssessment) assessment = assess (inspection);
  const EfLimit *limit = ef_pump_sheet_limit (inspection->sheet, "end-clearance", "pressure");
  const EfDepthMap *map = g_hash_table_lookup (assessment->findings.maps, "separator/side-a");
  const EfDerived *flat = ef_derived_find (assessment->findings.derived, "flatness", "separator/side-a", NULL);
  double removal = planned (assessment, "separator/side-a");
  double left = 0.0, found = 0.0;

  g_assert_true (assessment->plan->feasible);
  g_assert_nonnull (flat);
  for (guint i = 0; i < map->nu * map->nv; i++)
    {
      double form = -flat->value, worn = form - map->depth[i];

      found = fmax (found, map->depth[i]);
      left = fmax (left, fmin (form, -removal) - fmin (worn, -removal));
    }
  g_assert_cmpfloat (found, >, 0.1 * MM);
  g_assert_cmpfloat (left, <=, 1e-9);
  for (int gear = 0; gear < 2; gear++)
    {
      g_autofree char *a = g_strconcat (gears[gear], "/end-a", NULL);
      g_autofree char *b = g_strconcat (gears[gear], "/end-b", NULL);
      double depth = reading_mean (inspection, EF_READ_POCKET_DEPTH, "pressure", places[gear]) - planned (assessment, "pressure-housing/mating");
      double width = reading_mean (inspection, EF_READ_FACE_WIDTH, gears[gear], NULL) - planned (assessment, a) - planned (assessment, b);

      g_assert_cmpfloat (depth - width, >=, limit->as_new_min);
      g_assert_cmpfloat (depth - width, <=, limit->as_new_max);
    }
}

/* Height of the face as it was read, above the middle plane of its zone: between the places by inverse square distance, so never higher or lower than read. */
static double
form_at (const EfFlatForm *form,
         double u,
         double v)
{
  double sum = 0.0, weight = 0.0;

  for (guint i = 0; i < form->n; i++)
    {
      double du = u - form->points[i].u, dv = v - form->points[i].v, w = 1.0 / (du * du + dv * dv + 1e-12);

      sum += w * form->points[i].deviation;
      weight += w;
    }

  return sum / weight;
}

static const EfMark *
deepest_mark (const EfInspection *inspection,
              const char *face_id)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (inspection, face_id);
  const EfMark *deepest = NULL;

  for (guint i = 0; i < marks->len; i++)
    if (ef_mark_deepest (marks->pdata[i]) > (deepest != NULL ? ef_mark_deepest (deepest) : 0.0))
      deepest = marks->pdata[i];

  return deepest;
}

/* One face on its raster: its form as read, its wear below that, the plate coming down from the highest place. Writes how deep wear stays below what is lapped, and the
 * minimum zone of all that isn't wear. */
static void
carry_out (const EfAssessment *assessment,
           const EfLapFace *face,
           double removal,
           double *left_out,
           double *zone_out)
{
  const EfInspection *inspection = assessment->inspection;
  const EfDepthMap *map = g_hash_table_lookup (assessment->findings.maps, face->id);
  const EfFaceChart *chart = g_hash_table_lookup (assessment->findings.charts, face->id);
  GPtrArray *readings = inspection->items[EF_ITEM_READING];
  g_autoptr (EfFlatForm) form = ef_flat_form_new (chart, (EfReading *const *) readings->pdata, readings->len, assessment->findings.derived);
  g_autoptr (GArray) xyz = g_array_new (FALSE, FALSE, sizeof (double));
  g_autoptr (GError) error = NULL;
  EfFlatnessZone zone;
  double highest = -INFINITY, lowest = INFINITY, plate;

  g_assert_true (form->known);
  for (guint i = 0; i < form->n; i++)
    {
      highest = fmax (highest, form->points[i].deviation);
      lowest = fmin (lowest, form->points[i].deviation);
    }
  g_assert_cmpfloat (highest - lowest, >, 1e-6); /* it isn't flat, or nothing is tried */
  plate = highest - removal;
  *left_out = 0.0;
  for (guint j = 0; j < map->nv; j++)
    for (guint i = 0; i < map->nu; i++)
      {
        guint at = j * map->nu + i;
        double u = map->u0 + (i + 0.5) * map->cell, v = map->v0 + (j + 0.5) * map->cell;
        double surface, xyz_at[3];

        if (!(map->solid[at] > 0.0f))
          continue;
        if (!(map->cover[at] > 0.0f) && (i % 20 != 0 || j % 20 != 0))
          continue;
        surface = form_at (form, u, v);
        if (map->cover[at] > 0.0f)
          *left_out = fmax (*left_out, fmin (plate, surface) - fmin (plate, surface - map->depth[at]));
        else
          {
            xyz_at[0] = u;
            xyz_at[1] = v;
            xyz_at[2] = fmin (plate, surface);
            g_array_append_vals (xyz, xyz_at, 3);
          }
      }
  g_assert_cmpuint (xyz->len, >, 300);
  g_assert_true (ef_flatness_minimum_zone ((const double *) xyz->data, xyz->len / 3, &zone, &error));
  g_assert_no_error (error);
  *zone_out = zone.zone;
}

/* The same with the separator's form as it was read at nine places, on the raster, for every option of the plan: what stays of the wear is no deeper than may stay, the face
 * is as flat as it must be, and each end clearance ends in its window. With no removal neither holds. */
static void
test_job_1_carried_out_on_form (void)
{
  g_autoptr (EfInspection) inspection = load ("job-1-hl-24.json");
  g_autoptr (EfAssessment) assessment = assess_coarse (inspection, NULL);
  const char *face_id = "separator/side-a";
  double untouched = 0.0, rough = 0.0;

  g_assert_nonnull (deepest_mark (inspection, face_id));
  for (guint i = 0; i < assessment->plan->options->len; i++)
    {
      const EfLapOption *option = assessment->plan->options->pdata[i];
      int at = ef_lap_problem_find_face (option->problem, face_id);
      const EfLapFace *face = ef_lap_problem_face (option->problem, (guint) at);
      double left, zone;

      carry_out (assessment, face, option->removal[at], &left, &zone);
      g_test_message ("%s: %.1f um off, wear stays %.2f um of %.1f um, flat to %.2f um of %.1f um", option->id, option->removal[at] * 1e6, left * 1e6, face->residual * 1e6,
                      zone * 1e6, face->flatness_allowed * 1e6);
      g_assert_cmpfloat (left, <=, face->residual + 1e-9);
      g_assert_cmpfloat (zone, <=, face->flatness_allowed + 1e-9);
      if (i == 0)
        carry_out (assessment, face, 0.0, &untouched, &rough);
      g_assert_cmpfloat (untouched, >, face->residual);
      g_assert_cmpfloat (rough, >=, zone);
      for (guint k = 0; k < option->problem->sections->len; k++)
        {
          const EfLapSection *section = ef_lap_problem_section (option->problem, k);

          for (int gear = 0; gear < 2; gear++)
            {
              double clearance = ef_lap_section_clearance (section, option->removal, gear);

              g_assert_cmpfloat (clearance, >=, section->clearance_min - 1e-9);
              g_assert_cmpfloat (clearance, <=, section->clearance_max + 1e-9);
            }
        }
    }
}

/* Pits 0.14 mm deep in the mating face of a pump whose pocket is hardly worn: cleaning them up would leave the gears no room. */
static void
test_job_5 (void)
{
  g_autoptr (EfInspection) inspection = load ("job-5-hl-24.json");
  g_autoptr (EfAssessment) assessment = assess (inspection);

  g_assert_true (assessment->plan->wanted);
  g_assert_false (assessment->plan->feasible);
  g_assert_nonnull (strstr (assessment->plan->reason, "the pocket would end 0.024 mm too shallow"));
  g_assert_nonnull (strstr (assessment->plan->reason, "its stock is 0.04 mm"));
  g_assert_false (has_step (assessment, "lap-pressure-housing-mating"));
  /* The verdict says so too: the housing is scrap with the plan's own reason, and the steps set it aside. */
  {
    const EfVerdict *housing = ef_verdict_find (assessment->verdict, "part:pressure-housing");
    const EfReason *reason = housing->reasons->pdata[0];

    g_assert_cmpint (housing->word, ==, EF_VERDICT_SCRAP);
    g_assert_cmpint (assessment->verdict->word, ==, EF_VERDICT_SCRAP);
    g_assert_cmpint (ef_verdict_find (assessment->verdict, "part:separator")->word, ==, EF_VERDICT_USE);
    g_assert_cmpstr (reason->rule, ==, "not-lappable");
    g_assert_nonnull (strstr (reason->sentence, assessment->plan->reason));
    g_assert_true (has_step (assessment, "set-aside"));
  }
}

static EfInspection *
with_item (const EfInspection *before,
           EfItem *item)
{
  EfInspection *after = ef_inspection_copy (before);
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_inspection_swap (after, ef_inspection_find (before, item->klass->kind, item->id), item, &error));
  g_assert_no_error (error);

  return after;
}

/* Pits in the mating face from shallow to deep, assessed wholly: the pump's word never improves, and lapping goes from possible to impossible once. */
static void
test_job_5_grows (void)
{
  g_autoptr (EfInspection) inspection = load ("job-5-hl-24.json");
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (inspection, "pressure-housing/mating");
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  EfVerdictWord before = EF_VERDICT_USE;
  gboolean lappable = TRUE;
  guint met[EF_N_VERDICTS] = { 0 };

  g_assert_cmpuint (marks->len, >, 0);
  for (int um = 5; um <= 305; um += 30)
    {
      g_autoptr (EfInspection) worn = ef_inspection_copy (inspection);
      g_autoptr (EfAssessment) assessment = NULL;

      for (guint i = 0; i < marks->len; i++)
        {
          g_autoptr (EfItem) item = ef_item_copy (marks->pdata[i]);
          g_autoptr (EfInspection) next = NULL;

          ef_mark_set_depth ((EfMark *) item, um * 1e-6, EF_UNIT_UM, NULL);
          next = with_item (worn, item);
          ef_inspection_free (worn);
          worn = g_steal_pointer (&next);
        }
      assessment = assess_coarse (worn, cache);
      g_assert_cmpint (assessment->verdict->word, >=, before);
      g_assert_true (lappable || !assessment->plan->wanted || !assessment->plan->feasible);
      lappable = lappable && assessment->plan->feasible;
      before = assessment->verdict->word;
      met[before]++;
    }
  g_assert_false (lappable);
  g_assert_cmpuint (met[EF_VERDICT_REWORK], >, 0);
  g_assert_cmpuint (met[EF_VERDICT_SCRAP], >, 0);
}

/* A pocket so deep that no lapping of its mating face brings the clearance back: nothing is wrong with one face, so the section is condemned. */
static void
test_too_deep (void)
{
  g_autoptr (EfInspection) deep = load ("job-1-hl-24.json");
  g_autoptr (GPtrArray) readings = g_ptr_array_ref (deep->items[EF_ITEM_READING]);
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  g_autoptr (EfAssessment) assessment = NULL;
  const EfVerdict *section;
  gboolean told = FALSE;

  for (guint i = 0; i < readings->len; i++)
    {
      const EfReading *reading = readings->pdata[i];
      g_autoptr (EfItem) item = NULL;
      g_autoptr (EfInspection) next = NULL;

      if (reading->quantity != EF_READ_POCKET_DEPTH || g_strcmp0 (reading->target, "pressure") != 0)
        continue;
      item = ef_item_copy (readings->pdata[i]);
      ((EfReading *) item)->value += 0.3 * MM;
      next = with_item (deep, item);
      ef_inspection_free (deep);
      deep = g_steal_pointer (&next);
    }
  assessment = assess_coarse (deep, cache);
  g_assert_true (assessment->plan->wanted);
  g_assert_false (assessment->plan->feasible);
  section = ef_verdict_find (assessment->verdict, "section:pressure");
  g_assert_cmpint (section->word, ==, EF_VERDICT_SCRAP);
  g_assert_cmpint (assessment->verdict->word, ==, EF_VERDICT_SCRAP);
  g_assert_cmpint (ef_verdict_find (assessment->verdict, "section:scavenge")->word, ==, EF_VERDICT_USE);
  for (guint i = 0; i < section->reasons->len; i++)
    {
      const EfReason *reason = section->reasons->pdata[i];

      told |= g_strcmp0 (reason->rule, "not-lappable") == 0 && reason->word == EF_VERDICT_SCRAP && strstr (reason->sentence, "too deep") != NULL;
    }
  g_assert_true (told);
}

/* Whoever decides otherwise at the bench is heard. */
static void
test_job_5_overruled (void)
{
  g_autoptr (EfInspection) inspection = load ("job-5-hl-24.json");
  g_autoptr (EfItem) item = ef_item_new (&ef_override_class, "part:pressure-housing");
  g_autoptr (EfInspection) decided = NULL;
  g_autoptr (EfAssessment) assessment = NULL;
  const EfVerdict *housing;

  ((EfOverride *) item)->verdict = g_strdup ("use-again");
  ((EfOverride *) item)->reason = g_strdup ("the pits lie outside the sealing land");
  ((EfOverride *) item)->role = g_strdup ("bench 2");
  decided = with_item (inspection, item);
  assessment = assess_coarse (decided, NULL);
  housing = ef_verdict_find (assessment->verdict, "part:pressure-housing");
  g_assert_cmpint (housing->word, ==, EF_VERDICT_USE);
  g_assert_cmpint (assessment->verdict->word, <, EF_VERDICT_SCRAP);
}

/* Every mark of the demos lies on the material of its face: it covers some of it, and no more lies beside it than runs out into a port
 * or over an edge. */
static void
test_marks_on_material (void)
{
  static const char *const jobs[] = { "job-1-hl-24.json", "job-2-rc-4.json", "job-3-tg-3.json", "job-4-hl-27.json", "job-5-hl-24.json" };

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
/* What lists and statistics show is what the job itself says, on every level. */
static void
assert_same_verdict (const EfVerdict *a,
                     const EfVerdict *b)
{
  g_assert_cmpstr (a->id, ==, b->id);
  g_assert_cmpint (a->word, ==, b->word);
  g_assert_cmpuint (a->children->len, ==, b->children->len);
  for (guint i = 0; i < a->children->len; i++)
    assert_same_verdict (a->children->pdata[i], b->children->pdata[i]);
}

static void
test_verdict_alone (void)
{
  static const char *const names[] = { "job-1-hl-24.json", "job-2-rc-4.json", "job-3-tg-3.json", "job-4-hl-27.json", "job-5-hl-24.json" };
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (NULL);

  for (guint i = 0; i < G_N_ELEMENTS (names); i++)
    {
      g_autoptr (EfInspection) inspection = load (names[i]);
      g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
      g_autoptr (GError) error = NULL;
      g_autoptr (EfAssessment) alone = ef_assess_verdict (inspection, rules, NULL, NULL, &error);
      g_autoptr (EfAssessment) whole = assess_coarse (inspection, cache);

      g_assert_no_error (error);
      assert_same_verdict (alone->verdict, whole->verdict);
    }
}

static void
test_round_trip (void)
{
  static const char *const jobs[] = { "job-1-hl-24.json", "job-2-rc-4.json", "job-3-tg-3.json", "job-4-hl-27.json", "job-5-hl-24.json" };

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
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/demo/job-1-rework-saves-the-pump", test_job_1);
  g_test_add_func ("/demo/job-1-carried-out", test_job_1_carried_out);
  g_test_add_func ("/demo/job-1-carried-out-on-form", test_job_1_carried_out_on_form);
  g_test_add_func ("/demo/job-5-too-shallow", test_job_5);
  g_test_add_func ("/demo/job-5-grows", test_job_5_grows);
  g_test_add_func ("/demo/job-5-overruled", test_job_5_overruled);
  g_test_add_func ("/demo/too-deep", test_too_deep);
  g_test_add_func ("/demo/job-2-pair-scrapped", test_job_2);
  g_test_add_func ("/demo/job-3-used-again", test_job_3);
  g_test_add_func ("/demo/job-4-measure-again", test_job_4);
  g_test_add_func ("/demo/marks-on-material", test_marks_on_material);
  g_test_add_func ("/demo/verdict-alone", test_verdict_alone);
  g_test_add_func ("/demo/round-trip", test_round_trip);

  return g_test_run ();
}
