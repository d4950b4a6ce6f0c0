/* Delivery and hot-idle pressure of whole inspections: order of the states, shares, blame, refusals.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "../fixed-random.h"

#include "assess/ef-assessment.h"
#include "assess/ef-worn-map.h"
#include "record/ef-exchange.h"
#include "../isolate.h"

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
        EfAssessCache *cache,
        EfFlowDetail detail)
{
  g_autoptr (GError) error = NULL;
  EfAssessment *assessment = ef_assess_in_detail (f->inspection, f->rules, cache, detail, NULL, &error);

  g_assert_no_error (error);

  return assessment;
}

static double
idle (const EfAssessment *assessment,
      EfPumpState state)
{
  g_assert_true (assessment->flow->state[state].known);

  return assessment->flow->state[state].idle.pressure;
}

static void
swap (Fixture *f,
      gpointer before,
      gpointer after)
{
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_inspection_swap (f->inspection, before, after, &error));
  g_assert_no_error (error);
}

/* The demo job's story: worn loses, rework gains most of it back. */
static void
test_states (Fixture *f,
             gconstpointer data)
{
  g_autoptr (EfAssessment) assessment = assess (f, NULL, EF_DETAIL_COARSE);
  const EfFigure *figure = ef_assessment_figure (assessment, "idle-pressure", NULL, NULL);

  g_assert_cmpfloat (idle (assessment, EF_STATE_FOUND), <, 0.85 * idle (assessment, EF_STATE_NEW));
  g_assert_cmpfloat (idle (assessment, EF_STATE_REWORKED), >, 1.1 * idle (assessment, EF_STATE_FOUND));
  g_assert_cmpfloat (idle (assessment, EF_STATE_REWORKED), <, idle (assessment, EF_STATE_NEW));
  g_assert_nonnull (figure);
  g_assert_cmpfloat (figure->found, ==, idle (assessment, EF_STATE_FOUND));
  for (int state = 0; state < EF_N_STATES; state++)
    g_assert_cmpfloat (assessment->flow->state[state].idle.loss.worst_imbalance, <, 1e-8);
}

/* The sheet's hot idle was set from a pump as new: the model gives it back within what a sheet rounds to. */
static void
test_sheet_is_consistent (Fixture *f,
                          gconstpointer data)
{
  g_autoptr (EfAssessment) assessment = assess (f, NULL, EF_DETAIL_COARSE);
  const EfRatedPoint *rated = ef_pump_sheet_rated (f->inspection->sheet, "hot idle");

  g_assert_cmpfloat_with_epsilon (idle (assessment, EF_STATE_NEW), rated->pressure, 0.1 * rated->pressure);
}

static void
test_coarse_and_fine (Fixture *f,
                      gconstpointer data)
{
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  g_autoptr (EfAssessment) coarse = assess (f, cache, EF_DETAIL_COARSE);
  g_autoptr (EfAssessment) fine = assess (f, cache, EF_DETAIL_FINE);
  g_autoptr (EfAssessment) again = assess (f, cache, EF_DETAIL_COARSE);

  for (int state = 0; state < EF_N_STATES; state++)
    {
      g_test_message ("%s: coarse %.4f bar, fine %.4f bar", ef_pump_state_name (state), idle (coarse, state) / 1e5, idle (fine, state) / 1e5);
      g_assert_cmpfloat_with_epsilon (idle (coarse, state), idle (fine, state), 0.03 * idle (fine, state));
      g_assert_cmpfloat (idle (coarse, state), ==, idle (again, state));
    }
  g_assert_nonnull (fine->flow->blame);
  g_assert_null (coarse->flow->blame);
}

/* A cached answer is the answer: the same to the last bit as one made from nothing. */
static void
test_cache_is_exact (Fixture *f,
                     gconstpointer data)
{
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  g_autoptr (EfAssessment) before = assess (f, cache, EF_DETAIL_COARSE);
  g_autoptr (EfAssessment) after = NULL;
  g_autoptr (EfAssessment) fresh = NULL;
  EfMark *groove = ef_mark_new ("separator/side-a", EF_MARK_GROOVE, EF_SHAPE_LINE, 1e-3);

  ef_mark_add_node (groove, 4e-3, -11e-3);
  ef_mark_add_node (groove, 4e-3, 11e-3);
  ef_mark_set_depth (groove, 0.25e-3, EF_UNIT_MM, NULL);
  groove->number = ef_inspection_next_number (f->inspection);
  swap (f, NULL, groove);
  after = assess (f, cache, EF_DETAIL_COARSE);
  fresh = assess (f, NULL, EF_DETAIL_COARSE);
  g_assert_cmpfloat (idle (after, EF_STATE_FOUND), ==, idle (fresh, EF_STATE_FOUND));
  /* A deep groove from delivery to suction costs pressure. */
  g_assert_cmpfloat (idle (after, EF_STATE_FOUND), <, idle (before, EF_STATE_FOUND) - 1000.0);
  g_assert_cmpfloat (idle (after, EF_STATE_NEW), ==, idle (before, EF_STATE_NEW));
  ef_item_unref (groove);
}

/* Lapping counts depths from the new face, and takes shallower wear away altogether. */
static void
test_stock_off_the_map (Fixture *f,
                        gconstpointer data)
{
  g_autoptr (EfAssessment) assessment = assess (f, NULL, EF_DETAIL_COARSE);
  const EfFaceChart *chart = g_hash_table_lookup (assessment->findings.charts, "separator/side-a");
  EfDepthMap *map = g_hash_table_lookup (assessment->findings.maps, "separator/side-a");
  const double stock = 60e-6;
  g_autoptr (EfWornMap) found = ef_worn_map_new (chart, map, 0.0);
  g_autoptr (EfWornMap) lapped = ef_worn_map_new (chart, map, stock);
  guint left = 0, gone = 0;

  g_assert_nonnull (lapped);
  g_assert_null (ef_worn_map_new (chart, map, 1e-3));
  for (guint j = 0; j < map->nv; j++)
    for (guint i = 0; i < map->nu; i++)
      {
        double u = map->u0 + (i + 0.5) * map->cell;
        double v = map->v0 + (j + 0.5) * map->cell;
        double cover, depth, cover_lapped, depth_lapped;

        ef_worn_map_at (found, u, v, &cover, &depth);
        ef_worn_map_at (lapped, u, v, &cover_lapped, &depth_lapped);
        g_assert_cmpfloat_with_epsilon (depth_lapped, MAX (depth - stock, 0.0), 1e-12);
        g_assert_cmpfloat (cover_lapped, ==, depth > stock ? cover : 0.0);
        left += cover_lapped > 0.0;
        gone += cover > 0.0 && cover_lapped == 0.0;
      }
  g_assert_cmpuint (left, >, 0);
  g_assert_cmpuint (gone, >, 0);
}

/* The clearances being the same, what was lapped off the plate alone brings pressure back. */
static void
test_stock_brings_pressure (Fixture *f,
                            gconstpointer data)
{
  g_autoptr (EfAssessment) assessment = assess (f, NULL, EF_DETAIL_COARSE);
  g_autoptr (GHashTable) stock = g_hash_table_new (g_str_hash, g_str_equal);
  const double same[2] = { NAN, NAN };
  double off = 0.2e-3;
  g_autoptr (EfFlowResult) without = ef_flow_result_new (&assessment->findings, stock, same, EF_DETAIL_COARSE, NULL, NULL, NULL);
  g_autoptr (EfFlowResult) with = NULL;

  g_hash_table_insert (stock, (char *) "separator/side-a", &off);
  with = ef_flow_result_new (&assessment->findings, stock, same, EF_DETAIL_COARSE, NULL, NULL, NULL);
  g_assert_cmpfloat_with_epsilon (without->state[EF_STATE_REWORKED].idle.pressure, without->state[EF_STATE_FOUND].idle.pressure, 1.0);
  g_assert_cmpfloat (with->state[EF_STATE_REWORKED].idle.pressure, >, without->state[EF_STATE_REWORKED].idle.pressure + 3000.0);
}

static void
test_shares (Fixture *f,
             gconstpointer data)
{
  g_autoptr (EfAssessment) assessment = assess (f, NULL, EF_DETAIL_FULL);
  const EfFlowResult *flow = assessment->flow;
  double previous = INFINITY;
  gboolean plate = FALSE, clearance = FALSE, mark = FALSE;

  g_assert_nonnull (flow->shares);
  for (guint i = 0; i < flow->shares->len; i++)
    {
      const EfLeakShare *share = flow->shares->pdata[i];

      g_assert_cmpfloat (share->pressure, <=, previous);
      previous = share->pressure;
      plate |= g_str_equal (share->id, "face:separator/side-a") && share->pressure > 0.0;
      clearance |= g_str_equal (share->id, "end-clearance") && share->pressure > 0.0;
      mark |= g_str_has_prefix (share->id, "mark:") && share->pressure > 0.0;
    }
  g_assert_true (plate && clearance && mark);
  /* Common practice: end clearance is what costs these pumps most. */
  g_assert_cmpstr (((EfLeakShare *) flow->shares->pdata[0])->id, ==, "end-clearance");
  g_assert_cmpuint (flow->delivery[EF_STATE_FOUND].n, >, 10);
  g_assert_cmpuint (flow->idle_pressure.n, >, 10);
  for (guint i = 1; i < flow->idle_pressure.n; i++)
    g_assert_cmpfloat (flow->idle_pressure.y[i], <, flow->idle_pressure.y[i - 1]);
}

static const char *
blame_for (Fixture *f,
           double found_pressure,
           EfAssessment **out)
{
  EfJobHeader *before = (EfJobHeader *) ef_inspection_header (f->inspection);
  EfJobHeader *after = ef_item_copy (before);

  after->found_pressure = found_pressure;
  swap (f, before, after);
  ef_item_unref (after);
  *out = assess (f, NULL, EF_DETAIL_FINE);

  return (*out)->flow->blame;
}

static void
test_blame (Fixture *f,
            gconstpointer data)
{
  g_autoptr (EfAssessment) all = NULL;
  g_autoptr (EfAssessment) part = NULL;
  g_autoptr (EfAssessment) none = NULL;
  double found;

  g_assert_nonnull (strstr (blame_for (f, 0.3e5, &part), "for the rest look at"));
  found = idle (part, EF_STATE_FOUND);
  g_assert_nonnull (strstr (blame_for (f, found, &all), "explains the missing pressure"));
  g_assert_cmpfloat (all->flow->explained_uncertainty, >, 0.0);
  g_assert_nonnull (strstr (blame_for (f, idle (part, EF_STATE_NEW), &none), "No pressure is missing"));
}

/* A sound pump whose engine lacks pressure: not the pump. */
static void
test_not_to_blame (void)
{
  Fixture f = { 0 };
  g_autofree char *path = ef_data_path ("demo", "job-3-tg-3.json", NULL);
  g_autoptr (EfAssessment) assessment = NULL;

  f.rules = ef_rule_set_default (NULL);
  f.inspection = ef_exchange_load (path, NULL);
  g_assert_nonnull (strstr (blame_for (&f, 0.5e5, &assessment), "not to blame"));
  g_assert_nonnull (strstr (assessment->flow->blame, "relief valve"));
  tear_down (&f, NULL);
}

static void
test_unknown_oil (Fixture *f,
                  gconstpointer data)
{
  EfJobHeader *before = (EfJobHeader *) ef_inspection_header (f->inspection);
  EfJobHeader *after = ef_item_copy (before);
  g_autoptr (EfAssessment) assessment = NULL;

  g_free (after->oil);
  after->oil = g_strdup ("harbour brew");
  swap (f, before, after);
  ef_item_unref (after);
  assessment = assess (f, NULL, EF_DETAIL_COARSE);
  g_assert_false (assessment->flow->state[EF_STATE_NEW].known);
  g_assert_nonnull (strstr (assessment->flow->state[EF_STATE_NEW].reason, "harbour brew"));
  g_assert_true (isnan (ef_assessment_figure (assessment, "idle-pressure", NULL, NULL)->found));
}

/* A gear wider than its pocket is deep: the state says so, the others stand. */
static void
test_no_clearance (Fixture *f,
                   gconstpointer data)
{
  GPtrArray *readings = f->inspection->items[EF_ITEM_READING];
  g_autoptr (EfAssessment) assessment = NULL;

  for (guint i = 0; i < readings->len; i++)
    {
      EfReading *before = readings->pdata[i];
      EfReading *after;

      if (before->quantity != EF_READ_FACE_WIDTH && before->quantity != EF_READ_END_CLEARANCE)
        continue;
      after = ef_item_copy (before);
      after->value = before->quantity == EF_READ_END_CLEARANCE ? 0.0 : before->value + 0.4e-3;
      swap (f, before, after);
      ef_item_unref (after);
    }
  assessment = assess (f, NULL, EF_DETAIL_COARSE);
  g_assert_true (assessment->flow->state[EF_STATE_NEW].known);
  g_assert_false (assessment->flow->state[EF_STATE_FOUND].known);
  g_assert_nonnull (strstr (assessment->flow->state[EF_STATE_FOUND].reason, "seize"));
}

static EfMark *
random_mark (Fixture *f)
{
  GPtrArray *marks = f->inspection->items[EF_ITEM_MARK];

  for (;;)
    {
      EfMark *mark = marks->pdata[fixed_int (0, (int) marks->len)];

      if (mark->depths->len > 0)
        return mark;
    }
}

static gpointer
cancel_soon (gpointer cancellable)
{
  g_usleep ((gulong) fixed_int (500, 30000));
  g_cancellable_cancel (cancellable);

  return NULL;
}

/* Moves a mark, makes it deeper or shallower, or widens it. */
static void
random_edit (Fixture *f)
{
  EfMark *before = random_mark (f);
  EfMark *after = ef_item_copy (before);

  switch (fixed_int (0, 3))
    {
    case 0:
      for (guint i = 0; i < after->depths->len; i++)
        g_array_index (after->depths, EfMarkDepth, i).depth *= fixed_double (0.5, 2.0);
      break;
    case 1:
      for (guint i = 0; i < after->nodes->len; i++)
        g_array_index (after->nodes, EfMarkNode, i).u += 0.4e-3;
      break;
    default:
      after->size = after->size > 0.0 ? after->size * fixed_double (0.7, 1.5) : after->size;
    }
  swap (f, before, after);
  ef_item_unref (after);
}

static void
assert_same_state (const EfStateFlow *a,
                   const EfStateFlow *b)
{
  g_assert_true (a->known == b->known);
  if (!a->known)
    return;
  g_assert_cmpfloat (fabs (a->idle.pressure / b->idle.pressure - 1.0), <, 1e-10);
  g_assert_cmpfloat (fabs (a->rated.delivery / b->rated.delivery - 1.0), <, 1e-10);
  g_assert_cmpfloat (fabs (a->idle.loss.to_bores / b->idle.loss.to_bores - 1.0), <, 1e-9);
  g_assert_cmpfloat (a->idle.loss.worst_imbalance, <, 1e-8);
  g_assert_cmpfloat (b->idle.loss.worst_imbalance, <, 1e-8);
}

/* Whatever was edited before, and in whatever detail it was looked at in between: what is kept gives the figures that a fresh start gives. */
static void
test_edits_are_exact (Fixture *f,
                      gconstpointer data)
{
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();

  for (int round = 0; round < 12; round++)
    {
      EfFlowDetail detail = round % 4 == 3 ? EF_DETAIL_FINE : EF_DETAIL_COARSE;
      g_autoptr (EfAssessment) kept = NULL;
      g_autoptr (EfAssessment) fresh = NULL;

      random_edit (f);
      kept = assess (f, cache, detail);
      fresh = assess (f, NULL, detail);
      for (int state = 0; state < EF_N_STATES; state++)
        assert_same_state (&kept->flow->state[state], &fresh->flow->state[state]);
      if (detail == EF_DETAIL_FINE)
        {
          g_assert_cmpfloat_with_epsilon (kept->flow->explained / fresh->flow->explained, 1.0, 1e-9);
          g_assert_cmpfloat_with_epsilon (kept->flow->explained_uncertainty / fresh->flow->explained_uncertainty, 1.0, 1e-6);
        }
    }
}

/* Given up half way, then asked again: nothing half done is taken for done. */
static void
test_cancelled_midway (Fixture *f,
                       gconstpointer data)
{
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  g_autoptr (EfAssessment) before = assess (f, cache, EF_DETAIL_COARSE);
  g_autoptr (EfAssessment) kept = NULL;
  g_autoptr (EfAssessment) fresh = NULL;

  for (int round = 0; round < 6; round++)
    {
      g_autoptr (GCancellable) cancellable = g_cancellable_new ();
      g_autoptr (GError) error = NULL;
      g_autoptr (EfAssessment) gone = NULL;
      g_autoptr (GThread) thread = NULL;

      random_edit (f);
      thread = g_thread_new ("cancel", cancel_soon, cancellable);
      gone = ef_assess_in_detail (f->inspection, f->rules, cache, EF_DETAIL_COARSE, cancellable, &error);
      g_thread_join (g_steal_pointer (&thread));
      if (gone == NULL)
        g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
    }
  kept = assess (f, cache, EF_DETAIL_COARSE);
  fresh = assess (f, NULL, EF_DETAIL_COARSE);
  for (int state = 0; state < EF_N_STATES; state++)
    assert_same_state (&kept->flow->state[state], &fresh->flow->state[state]);
}

/* The order in which marks were made is no wear. */
static void
test_order_of_marks (Fixture *f,
                     gconstpointer data)
{
  g_autoptr (EfAssessment) before = assess (f, NULL, EF_DETAIL_COARSE);
  g_autoptr (EfAssessment) after = NULL;
  GPtrArray *marks = f->inspection->items[EF_ITEM_MARK];

  for (guint i = marks->len - 1; i > 0; i--)
    {
      guint k = (guint) fixed_int (0, (int) i + 1);
      gpointer mark = marks->pdata[i];

      marks->pdata[i] = marks->pdata[k];
      marks->pdata[k] = mark;
    }
  after = assess (f, NULL, EF_DETAIL_COARSE);
  for (int state = 0; state < EF_N_STATES; state++)
    g_assert_cmpfloat_with_epsilon (idle (after, state) / idle (before, state), 1.0, 1e-6);
}

/* Wear never helps: each mark made deeper, none of the losses falls. */
static void
test_deeper_is_no_better (Fixture *f,
                          gconstpointer data)
{
  g_autoptr (EfAssessment) last = assess (f, NULL, EF_DETAIL_COARSE);

  for (int round = 0; round < 8; round++)
    {
      EfMark *before = random_mark (f);
      EfMark *after = ef_item_copy (before);
      EfAssessment *now;

      for (guint i = 0; i < after->depths->len; i++)
        g_array_index (after->depths, EfMarkDepth, i).depth *= 1.5;
      swap (f, before, after);
      ef_item_unref (after);
      now = assess (f, NULL, EF_DETAIL_COARSE);
      g_assert_cmpfloat (now->flow->state[EF_STATE_FOUND].idle.loss.constant, >=, last->flow->state[EF_STATE_FOUND].idle.loss.constant * (1.0 - 1e-3));
      ef_assessment_unref (last);
      last = now;
    }
}

/* A rated pressure that the relief valve doesn't let through. */
static void
test_above_relief (Fixture *f,
                   gconstpointer data)
{
  g_autoptr (EfAssessment) assessment = NULL;
  double relief = f->inspection->sheet->relief;

  f->inspection->sheet->relief = 0.5e5;
  assessment = assess (f, NULL, EF_DETAIL_COARSE);
  f->inspection->sheet->relief = relief;
  for (int state = 0; state < EF_N_STATES; state++)
    {
      g_assert_false (assessment->flow->state[state].known);
      g_assert_nonnull (strstr (assessment->flow->state[state].reason, "above the relief valve"));
    }
}

/* Lapped past what there is: the state after rework says why it isn't known. */
static void
test_negative_after_lapping (Fixture *f,
                             gconstpointer data)
{
  g_autoptr (EfAssessment) assessment = assess (f, NULL, EF_DETAIL_COARSE);
  const double after[2] = { -0.12e-3, -0.12e-3 };
  g_autoptr (GError) error = NULL;
  g_autoptr (EfFlowResult) flow = ef_flow_result_new (&assessment->findings, NULL, after, EF_DETAIL_COARSE, NULL, NULL, &error);
  const EfStateFlow *reworked = &flow->state[EF_STATE_REWORKED];

  g_assert_no_error (error);
  g_assert_true (flow->state[EF_STATE_FOUND].known);
  g_assert_false (reworked->known);
  g_test_message ("%s", reworked->reason);
  g_assert_nonnull (strstr (reworked->reason, "seize"));
}

/* Tip and shaft clearance count beside the end clearance: with their gauges made a great deal coarser the pressure is less sure. */
static void
test_uncertainty_grows (Fixture *f,
                        gconstpointer data)
{
  g_autoptr (EfAssessment) before = assess (f, NULL, EF_DETAIL_FINE);
  GPtrArray *derived = before->findings.derived;
  guint n = 0;

  for (guint i = 0; i < derived->len; i++)
    {
      EfDerived *one = derived->pdata[i];

      if (!g_str_equal (one->quantity, "tip-clearance") || isnan (one->uncertainty))
        continue;
      one->uncertainty *= 10.0;
      n++;
    }
  g_assert_cmpuint (n, >, 0);
  {
    const double unknown[2] = { NAN, NAN };
    g_autoptr (EfFlowResult) flow = ef_flow_result_new (&before->findings, NULL, unknown, EF_DETAIL_FINE, NULL, NULL, NULL);

    g_test_message ("explained %.3f bar, standard uncertainty %.4f bar, with the tips ten times less sure %.4f bar", before->flow->explained / 1e5,
                    before->flow->explained_uncertainty / 1e5, flow->explained_uncertainty / 1e5);
    g_assert_cmpfloat (flow->explained_uncertainty, >, 1.02 * before->flow->explained_uncertainty);
  }
}

static void
test_cancelled (Fixture *f,
                gconstpointer data)
{
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  g_autoptr (GError) error = NULL;

  g_cancellable_cancel (cancellable);
  g_assert_null (ef_assess_in_detail (f->inspection, f->rules, NULL, EF_DETAIL_FULL, cancellable, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
}

#define CASE(path, function) g_test_add (path, Fixture, NULL, set_up, function, tear_down)

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  CASE ("/assess/flow/states-in-order", test_states);
  CASE ("/assess/flow/sheet-is-consistent", test_sheet_is_consistent);
  CASE ("/assess/flow/coarse-near-fine", test_coarse_and_fine);
  CASE ("/assess/flow/cache-is-exact", test_cache_is_exact);
  CASE ("/assess/flow/stock-off-the-map", test_stock_off_the_map);
  CASE ("/assess/flow/stock-brings-pressure", test_stock_brings_pressure);
  CASE ("/assess/flow/shares", test_shares);
  CASE ("/assess/flow/blame", test_blame);
  g_test_add_func ("/assess/flow/not-to-blame", test_not_to_blame);
  CASE ("/assess/flow/unknown-oil", test_unknown_oil);
  CASE ("/assess/flow/no-clearance", test_no_clearance);
  CASE ("/assess/flow/edits-are-exact", test_edits_are_exact);
  CASE ("/assess/flow/order-of-marks", test_order_of_marks);
  CASE ("/assess/flow/deeper-is-no-better", test_deeper_is_no_better);
  CASE ("/assess/flow/above-relief", test_above_relief);
  CASE ("/assess/flow/negative-after-lapping", test_negative_after_lapping);
  CASE ("/assess/flow/uncertainty-grows", test_uncertainty_grows);
  CASE ("/assess/flow/cancelled", test_cancelled);
  CASE ("/assess/flow/cancelled-midway", test_cancelled_midway);

  return g_test_run ();
}
