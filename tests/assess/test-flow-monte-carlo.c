/* Hot-idle pressure with the clearances drawn at random: against direct solves, and how gauges tie clearances together.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "assess/ef-assessment.h"
#include "assess/ef-flow-private.h"
#include "metrology/ef-monte-carlo.h"
#include "record/ef-exchange.h"
#include "../isolate.h"

#define assert_near(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) - (expected)), <=, (tolerance))
#define DIRECT 300

typedef struct
{
  EfRuleSet *rules;
  EfInspection *inspection;
  EfAssessment *assessment;
  const EfFindings *findings;
  const EfSection *section;
  EfFlowFilms *films;
  EfFlowTask task;
  double temperature;
} Fixture;

static void
forget (Fixture *f)
{
  g_clear_pointer (&f->films, ef_flow_films_free);
  g_clear_pointer (&f->assessment, ef_assessment_unref);
}

static void
look (Fixture *f)
{
  g_autoptr (GError) error = NULL;
  EfFlowGeometry geometry;
  const EfFlowResult *flow;

  forget (f);
  f->assessment = ef_assess_in_detail (f->inspection, f->rules, NULL, EF_DETAIL_COARSE, NULL, &error);
  g_assert_no_error (error);
  f->findings = &f->assessment->findings;
  f->section = ef_flow_section (f->inspection->sheet);
  flow = f->assessment->flow;
  geometry = ef_flow_geometry (f->findings, f->section);
  f->films = ef_flow_films_new (ef_section_flow_new (&geometry, 48, 4, EF_FILM_CONDENSE, &error), NULL);
  g_assert_no_error (error);
  ef_flow_geometry_clear (&geometry);
  f->task = (EfFlowTask){ flow->idle_speed, flow->idle_mu, flow->displacement, flow->demand, flow->relief, 1e5 };
  f->temperature = flow->idle_temperature;
}

static void
set_up (Fixture *f,
        gconstpointer job)
{
  g_autofree char *path = ef_data_path ("demo", job != NULL ? job : "job-1-hl-24.json", NULL);
  g_autoptr (GError) error = NULL;

  *f = (Fixture){ 0 };
  f->rules = ef_rule_set_default (&error);
  g_assert_no_error (error);
  f->inspection = ef_exchange_load (path, &error);
  g_assert_no_error (error);
  look (f);
}

static void
tear_down (Fixture *f,
           gconstpointer data)
{
  forget (f);
  ef_rule_set_free (f->rules);
  ef_inspection_free (f->inspection);
}

static EfFlowMonteCarlo
draw (Fixture *f,
      guint32 seed,
      guint n,
      double demand_pressure)
{
  const EfFlowDraws draws = { seed, n, NAN, demand_pressure };
  g_autoptr (GError) error = NULL;
  EfFlowMonteCarlo result;

  g_assert_true (ef_flow_draw (f->findings, f->section, f->films, f->temperature, &f->task, &draws, NULL, &result, &error));
  g_assert_no_error (error);

  return result;
}

typedef struct
{
  Fixture *f;
  EfFlowGaps *found;
  double limit;
  guint n, below;
  double leakage; /* sum */
} Direct;

/* An EfModel: the films solved at each draw. */
static gboolean
solve_directly (const double *shift,
                guint n,
                double *out,
                gpointer data)
{
  Direct *direct = data;
  EfWorkingPoint point;

  g_assert_cmpuint (n, ==, EF_FLOW_TERMS);
  if (!ef_flow_solve_moved (direct->f->films, direct->found, shift, direct->f->temperature, &direct->f->task, NULL, &point, NULL))
    return FALSE;
  *out = point.pressure;
  direct->n++;
  direct->below += point.pressure < direct->limit;
  direct->leakage += point.loss.pressure_loss;

  return TRUE;
}

/* The same draws by direct solves and by curves; and many draws by curves against the few by direct solves, within the sampling error of these
 * (four times the standard deviations u / sqrt n and u / sqrt 2n of mean and standard deviation). */
static void
test_direct (Fixture *f,
             gconstpointer data)
{
  g_auto (EfFlowGaps) found = ef_flow_gaps (f->findings, f->section, EF_STATE_FOUND, NULL, NULL, NULL, NULL);
  EfMonteCarloOptions options = { .seed = 7, .trials = DIRECT };
  double u[EF_FLOW_TERMS], correlation[EF_FLOW_TERMS * EF_FLOW_TERMS];
  EfUncertain inputs[EF_FLOW_TERMS];
  g_autoptr (GError) error = NULL;
  EfWorkingPoint middle;
  const double none[EF_FLOW_TERMS] = { 0.0 };
  Direct direct = { f, &found, 0.0, 0, 0, 0.0 };
  EfFlowMonteCarlo same, many;
  EfMonteCarlo brute;

  g_assert_true (ef_flow_clearances_uncertain (f->findings, f->section, u, correlation));
  for (guint i = 0; i < EF_FLOW_TERMS; i++)
    {
      g_assert_cmpfloat (u[i], >, 0.0);
      inputs[i] = (EfUncertain){ 0.0, EF_DISTRIBUTION_NORMAL, u[i] };
    }
  g_assert_true (ef_flow_solve_moved (f->films, &found, none, f->temperature, &f->task, NULL, &middle, &error));
  direct.limit = middle.pressure;
  g_assert_true (ef_monte_carlo (solve_directly, &direct, inputs, correlation, EF_FLOW_TERMS, &options, NULL, &brute, &error));
  g_assert_no_error (error);
  same = draw (f, 7, DIRECT, direct.limit);
  many = draw (f, 8, 50000, direct.limit);
  g_test_message ("direct %.5f bar, u %.5f; same draws %.5f, %.5f; many %.5f, %.5f; surrogate error %.6f bar", brute.mean / 1e5, brute.u / 1e5,
                  same.pressure.mean / 1e5, same.pressure.u / 1e5, many.pressure.mean / 1e5, many.pressure.u / 1e5, many.surrogate_error / 1e5);
  assert_near (same.pressure.mean, brute.mean, 0.01 * brute.u);
  assert_near (same.pressure.u, brute.u, 0.01 * brute.u);
  assert_near (same.pressure.low, brute.short_low, 0.05 * brute.u);
  assert_near (same.pressure.high, brute.short_high, 0.05 * brute.u);
  assert_near (same.below, (double) direct.below / direct.n, 3.0 / DIRECT);
  assert_near (same.leakage.mean, direct.leakage / direct.n, 0.01 * same.leakage.u);
  assert_near (many.pressure.mean, brute.mean, 4.0 * brute.u / sqrt (DIRECT));
  assert_near (many.pressure.u, brute.u, 4.0 * brute.u / sqrt (2.0 * DIRECT));
  assert_near (many.below, (double) direct.below / direct.n, 4.0 * 0.5 / sqrt (DIRECT));
  /* What was told of the curves' error bounds what the draws show of it, and is small beside the spread. */
  g_assert_cmpuint (many.checks, ==, 6);
  g_assert_cmpfloat (many.surrogate_error, >, 0.0);
  g_assert_cmpfloat (many.surrogate_error, <, 0.15 * many.pressure.u);
}

/* Every demo job: the curves hold, and the mean lies where the pressure was found. */
static void
test_jobs (Fixture *f,
           gconstpointer data)
{
  EfFlowMonteCarlo drawn = draw (f, 1, 20000, NAN);

  g_assert_true (drawn.known);
  g_test_message ("%.4f bar, u %.5f bar, surrogate error %.6f bar", drawn.pressure.mean / 1e5, drawn.pressure.u / 1e5, drawn.surrogate_error / 1e5);
  g_assert_cmpuint (drawn.checks, ==, 6);
  g_assert_cmpfloat (drawn.surrogate_error, <, 0.15 * drawn.pressure.u);
  assert_near (drawn.pressure.mean, f->assessment->flow->state[EF_STATE_FOUND].idle.pressure, 0.02 * drawn.pressure.mean);
  g_assert_true (isnan (drawn.below));
}

static void
test_seed (Fixture *f,
           gconstpointer data)
{
  EfFlowMonteCarlo a = draw (f, 3, 2000, 1e5);
  EfFlowMonteCarlo b = draw (f, 3, 2000, 1e5);
  EfFlowMonteCarlo c = draw (f, 4, 2000, 1e5);

  g_assert_cmpmem (&a, sizeof a, &b, sizeof b);
  g_assert_cmpfloat (a.pressure.mean, !=, c.pressure.mean);
  g_assert_cmpfloat (a.end_clearance.u, !=, c.end_clearance.u);
  assert_near (a.pressure.mean, c.pressure.mean, 5.0 * a.pressure.u / sqrt (1000.0));
}

static void
set_uncertainty (Fixture *f,
                 double factor)
{
  for (guint i = 0; i < f->findings->derived->len; i++)
    ((EfDerived *) f->findings->derived->pdata[i])->uncertainty *= factor;
}

/* Nothing uncertain: no width. */
static void
test_exact (Fixture *f,
            gconstpointer data)
{
  g_auto (EfFlowGaps) found = ef_flow_gaps (f->findings, f->section, EF_STATE_FOUND, NULL, NULL, NULL, NULL);
  const double none[EF_FLOW_TERMS] = { 0.0 };
  EfWorkingPoint point;
  EfFlowMonteCarlo drawn;

  g_assert_true (ef_flow_solve_moved (f->films, &found, none, f->temperature, &f->task, NULL, &point, NULL));
  set_uncertainty (f, 0.0);
  drawn = draw (f, 1, 1000, point.pressure * 1.01);
  g_assert_true (drawn.known);
  g_assert_cmpfloat (drawn.pressure.u, ==, 0.0);
  g_assert_cmpfloat (drawn.pressure.low, ==, drawn.pressure.high);
  g_assert_cmpfloat (drawn.leakage.u, ==, 0.0);
  g_assert_cmpfloat (drawn.end_clearance.u, ==, 0.0);
  g_assert_cmpfloat (drawn.surrogate_error, <, 1e-5 * point.pressure);
  assert_near (drawn.pressure.mean, point.pressure, 2e-6 * point.pressure);
  assert_near (drawn.leakage.mean, point.loss.pressure_loss, 2e-6 * point.loss.pressure_loss);
  assert_near (drawn.end_clearance.mean, 0.5 * (found.end_clearance[0] + found.end_clearance[1]), 1e-15);
  g_assert_cmpfloat (drawn.below, ==, 1.0);
}

/* Each clearance twice as unsure, what the gauges have in common being as before: wider, but less than twice, as more of it averages out between the
 * two gears. */
static void
test_wider (Fixture *f,
            gconstpointer data)
{
  EfFlowMonteCarlo once = draw (f, 1, 50000, NAN);
  EfFlowMonteCarlo twice;

  set_uncertainty (f, 2.0);
  twice = draw (f, 1, 50000, NAN);
  g_assert_cmpfloat (twice.pressure.u, >, 1.6 * once.pressure.u);
  g_assert_cmpfloat (twice.pressure.u, <, 2.0 * once.pressure.u);
  assert_near (twice.end_clearance.mean, once.end_clearance.mean, 5.0 * twice.end_clearance.u / sqrt (50000.0));
}

static double
u_of (Fixture *f,
      const char *quantity,
      const char *place)
{
  return ef_derived_find (f->findings->derived, quantity, "pressure", place)->uncertainty;
}

static double
correlation_between (const double *correlation,
                     guint a,
                     guint b)
{
  g_assert_cmpfloat (correlation[a * EF_FLOW_TERMS + b], ==, correlation[b * EF_FLOW_TERMS + a]);

  return correlation[a * EF_FLOW_TERMS + b];
}

/* Job 1 has its pockets read with a depth micrometer (U 6 um), its gears and journals with a micrometer (4 um), its bores with a bore gauge (5 um),
 * its tips with feelers (10 um). Half of each variance (U/2)^2 is common: worked out by hand. */
static void
test_correlation (Fixture *f,
                  gconstpointer data)
{
  double u[EF_FLOW_TERMS], r[EF_FLOW_TERMS * EF_FLOW_TERMS];
  double ends = 0.5 * (3e-6 * 3e-6 + 2e-6 * 2e-6), tips = 0.5 * 5e-6 * 5e-6, plays = 0.25 * 0.5 * (2.5e-6 * 2.5e-6 + 2e-6 * 2e-6);

  g_assert_true (ef_flow_clearances_uncertain (f->findings, f->section, u, r));
  g_assert_cmpfloat (u[EF_FLOW_END], ==, u_of (f, "end-clearance", "drive"));
  g_assert_cmpfloat (u[EF_FLOW_TIP + 1], ==, u_of (f, "tip-clearance", "driven"));
  assert_near (correlation_between (r, EF_FLOW_END, EF_FLOW_END + 1), ends / (u[0] * u[1]), 1e-9);
  assert_near (correlation_between (r, EF_FLOW_TIP, EF_FLOW_TIP + 1), tips / (u[2] * u[3]), 1e-9);
  assert_near (correlation_between (r, EF_FLOW_PLAY, EF_FLOW_PLAY + 1), plays / (u[4] * u[5]), 1e-9);
  /* The micrometer is taken off both in the end clearance and in the shaft's. */
  assert_near (correlation_between (r, EF_FLOW_END, EF_FLOW_PLAY), 0.5 * 0.5 * 2e-6 * 2e-6 / (u[0] * u[4]), 1e-9);
  assert_near (correlation_between (r, EF_FLOW_END, EF_FLOW_TIP), 0.0, 0.0);
  g_assert_cmpfloat (r[0], ==, 1.0);
}

/* Gives readings of a quantity another gauge; NULL: none. */
static void
use_gauge (Fixture *f,
           EfQuantity quantity,
           const char *gauge)
{
  GPtrArray *readings = f->inspection->items[EF_ITEM_READING];

  for (guint i = 0; i < readings->len; i++)
    {
      g_autoptr (GError) error = NULL;
      EfReading *before = readings->pdata[i];
      EfReading *after;

      if (before->quantity != quantity)
        continue;
      after = ef_item_copy (before);
      g_free (after->gauge_id);
      after->gauge_id = g_strdup (gauge);
      ef_inspection_swap (f->inspection, (EfItem *) before, (EfItem *) after, &error);
      g_assert_no_error (error);
      ef_item_unref (after);
    }
  look (f);
}

/* One gauge for pocket and gear: what it has in common cancels in each clearance, so nothing ties the two clearances together, and the pressure is
 * surer than with two gauges as good. */
static void
test_one_gauge (Fixture *f,
                gconstpointer data)
{
  double u[EF_FLOW_TERMS], r[EF_FLOW_TERMS * EF_FLOW_TERMS];
  EfFlowMonteCarlo two = draw (f, 1, 50000, NAN);
  EfFlowMonteCarlo one;
  double together;

  together = sqrt (0.25 * (pow (u_of (f, "end-clearance", "drive"), 2) + pow (u_of (f, "end-clearance", "driven"), 2) + 2.0 * 0.5 * 13e-12));
  assert_near (two.end_clearance.u, together, 0.02 * together);
  use_gauge (f, EF_READ_FACE_WIDTH, "depth");
  g_assert_true (ef_flow_clearances_uncertain (f->findings, f->section, u, r));
  assert_near (correlation_between (r, EF_FLOW_END, EF_FLOW_END + 1), 0.0, 1e-12);
  one = draw (f, 1, 50000, NAN);
  together = sqrt (0.25 * (u[0] * u[0] + u[1] * u[1]));
  assert_near (one.end_clearance.u, together, 0.02 * together);
  g_assert_cmpfloat (one.end_clearance.u, <, two.end_clearance.u);
}

static void
test_unknown (Fixture *f,
              gconstpointer data)
{
  g_auto (EfFlowMonteCarlo) drawn = { 0 };

  use_gauge (f, EF_READ_TIP_CLEARANCE, NULL);
  drawn = draw (f, 1, 1000, NAN);
  g_assert_true (drawn.known);
  use_gauge (f, EF_READ_POCKET_DEPTH, NULL);
  drawn = draw (f, 1, 1000, NAN);
  g_assert_false (drawn.known);
  g_assert_nonnull (strstr (drawn.reason, "end clearance"));
}

/* So unsure that the gear would seize in many draws; and so unsure of the shafts that the films have no answer. */
static void
test_seizes (Fixture *f,
             gconstpointer data)
{
  g_auto (EfFlowMonteCarlo) drawn = { 0 };
  g_auto (EfFlowMonteCarlo) loose = { 0 };

  for (guint i = 0; i < f->findings->derived->len; i++)
    {
      EfDerived *derived = f->findings->derived->pdata[i];

      if (g_str_equal (derived->quantity, "end-clearance"))
        derived->uncertainty *= 30.0;
    }
  drawn = draw (f, 1, 1000, NAN);
  g_assert_false (drawn.known);
  g_test_message ("%s", drawn.reason);
  g_assert_nonnull (strstr (drawn.reason, "99 of 100"));
  set_uncertainty (f, 100.0);
  loose = draw (f, 1, 1000, NAN);
  g_assert_false (loose.known);
  g_assert_nonnull (loose.reason);
}

/* What the result in full detail has is what is computed by name. */
static void
test_in_result (Fixture *f,
                gconstpointer data)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfAssessment) full = ef_assess_in_detail (f->inspection, f->rules, NULL, EF_DETAIL_FULL, NULL, &error);
  const EfFlowMonteCarlo *in = &full->flow->monte_carlo;
  g_auto (EfFlowMonteCarlo) alone = { 0 };

  g_assert_no_error (error);
  g_assert_false (f->assessment->flow->monte_carlo.known);
  g_assert_true (in->known);
  g_assert_true (ef_flow_monte_carlo (f->findings, in->seed, in->draws, NULL, &alone, &error));
  g_assert_no_error (error);
  assert_near (alone.pressure.mean / in->pressure.mean, 1.0, 1e-8);
  assert_near (alone.pressure.u / in->pressure.u, 1.0, 1e-6);
  assert_near (alone.leakage.high / in->leakage.high, 1.0, 1e-7);
  g_assert_cmpfloat (in->demand_pressure, ==, ef_pump_sheet_rated (f->inspection->sheet, "hot idle")->pressure);
  /* Brought to the fine films: the mean lies within a tenth of its spread of the figure shown. */
  assert_near (in->pressure.mean, full->flow->state[EF_STATE_FOUND].idle.pressure, 0.1 * in->pressure.u);
  assert_near (in->leakage.mean, full->flow->state[EF_STATE_FOUND].idle.loss.pressure_loss, 0.1 * in->leakage.u);
  /* First order takes both ends off together by the larger of the two: it isn't below. */
  g_assert_cmpfloat (in->pressure.u, <, 1.1 * full->flow->state[EF_STATE_FOUND].idle_uncertainty);
  g_assert_cmpfloat (in->pressure.u, >, 0.5 * full->flow->state[EF_STATE_FOUND].idle_uncertainty);
}

static void
test_refused (Fixture *f,
              gconstpointer data)
{
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  g_autoptr (GError) error = NULL;
  g_auto (EfFlowMonteCarlo) out = { 0 };

  g_assert_false (ef_flow_monte_carlo (f->findings, 1, 50, NULL, &out, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_cancellable_cancel (cancellable);
  g_assert_false (ef_flow_monte_carlo (f->findings, 1, 1000, cancellable, &out, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
}

#define CASE(path, function) g_test_add ("/assess/flow-monte-carlo/" path, Fixture, NULL, set_up, function, tear_down)
#define JOB(path, job) g_test_add ("/assess/flow-monte-carlo/" path, Fixture, job, set_up, test_jobs, tear_down)

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  CASE ("direct-solves", test_direct);
  CASE ("seed", test_seed);
  CASE ("exact", test_exact);
  CASE ("wider", test_wider);
  CASE ("correlation", test_correlation);
  CASE ("one-gauge", test_one_gauge);
  CASE ("unknown", test_unknown);
  CASE ("seizes", test_seizes);
  CASE ("in-result", test_in_result);
  CASE ("refused", test_refused);
  JOB ("hl-24", "job-1-hl-24.json");
  JOB ("rc-4", "job-2-rc-4.json");
  JOB ("tg-3", "job-3-tg-3.json");
  JOB ("hl-27", "job-4-hl-27.json");

  return g_test_run ();
}
