/* Time of a lapping plan: against trying every removal in whole um, and how it grows with the faces. Ratios only.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>

#include "../fixed-random.h"
#include "assess/ef-assessment.h"
#include "record/ef-exchange.h"
#include "rework/ef-lap-passes.h"

#define UM 1e-6

/* One section with a mating face, four gear ends and as many plates as are wanted. */
static EfLapProblem *
pump (int sections,
      int plates,
      int stock)
{
  EfLapProblem *problem = ef_lap_problem_new ();

  for (int i = 0; i < plates; i++)
    {
      g_autofree char *id = g_strdup_printf ("plate-%d", i);
      EfLapFace *face = ef_lap_problem_add_face (problem, id, EF_LAP_PLATE);

      face->needed = fixed_int (0, stock) * UM;
      face->stock = stock * UM;
      face->setup = 10 * UM;
    }
  for (int s = 0; s < sections; s++)
    {
      int first = (int) problem->faces->len;
      EfLapSection *section;

      for (int i = 0; i < 5; i++)
        {
          g_autofree char *id = g_strdup_printf ("face-%d-%d", s, i);
          EfLapFace *face = ef_lap_problem_add_face (problem, id, i == 0 ? EF_LAP_MATING : EF_LAP_GEAR_END);

          face->needed = fixed_int (0, stock / 2) * UM;
          face->stock = stock * UM;
          face->weight = i == 0 ? 1.0 : 1.5;
          face->setup = 10 * UM;
        }
      section = ef_lap_problem_add_section (problem, "section");
      section->depth = (25000 + 60 + stock) * UM;
      section->width[0] = 25000 * UM;
      section->width[1] = 25001 * UM;
      section->width_allowed = 4 * UM;
      section->clearance_min = 50 * UM;
      section->clearance_max = (60 + stock) * UM;
      for (int i = 0; i < 4; i++)
        section->ends[i / 2][i % 2] = first + 1 + i;
      ef_lap_section_add (section, first, -1.0);
    }

  return problem;
}

static double
seconds_of_plan (const EfLapProblem *problem,
                 double *effort_out)
{
  gint64 begin = g_get_monotonic_time ();
  int rounds = 0;

  while (rounds < 5 || g_get_monotonic_time () - begin < 200000)
    {
      g_autoptr (EfLapPlan) plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, NULL);

      g_assert_nonnull (plan);
      *effort_out = plan->feasible ? plan->effort : INFINITY;
      rounds++;
    }

  return (g_get_monotonic_time () - begin) * 1e-6 / rounds;
}

static double
seconds_of_passes (const EfLapProblem *problem)
{
  g_autofree EfLapGrits *grits = g_new0 (EfLapGrits, problem->faces->len);
  g_autoptr (EfLapPlan) plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, NULL);
  gint64 begin;
  int rounds = 0;

  for (guint i = 0; i < problem->faces->len; i++)
    ef_lap_grits_default (&grits[i]);
  begin = g_get_monotonic_time ();
  while (plan->feasible && (rounds < 3 || g_get_monotonic_time () - begin < 100000))
    {
      g_autoptr (EfLapPassPlan) passes = ef_lap_passes_plan (problem, plan, grits, NULL);

      rounds++;
    }

  return rounds > 0 ? (g_get_monotonic_time () - begin) * 1e-6 / rounds : NAN;
}

static double
seconds_of_trying_all (const EfLapProblem *problem,
                       double *effort_out)
{
  gint64 begin = g_get_monotonic_time ();
  guint n = problem->faces->len;
  g_autofree double *removal = g_new0 (double, n);

  *effort_out = INFINITY;
  for (;;)
    {
      guint i = 0;

      if (ef_lap_problem_violation (problem, removal, NULL) < 1e-9)
        *effort_out = fmin (*effort_out, ef_lap_problem_effort (problem, removal));
      while (i < n && removal[i] + 0.5 * UM > ef_lap_problem_face (problem, i)->stock)
        removal[i++] = 0.0;
      if (i == n)
        break;
      removal[i] += UM;
    }

  return (g_get_monotonic_time () - begin) * 1e-6;
}

/* The whole plan of a job as the window makes it: levels, alternatives, whole passes. */
static double
seconds_of_job (const EfAssessment *assessment)
{
  g_autoptr (GPtrArray) todo = ef_todo_list (&assessment->findings, assessment->verdict);
  gint64 begin = g_get_monotonic_time ();
  int rounds = 0;

  while (g_get_monotonic_time () - begin < 200000)
    {
      g_autoptr (EfLapWork) work = ef_lap_work_new (&assessment->findings, assessment->verdict, todo, NULL, NULL);

      g_assert_nonnull (work);
      rounds++;
    }

  return (g_get_monotonic_time () - begin) * 1e-6 / rounds;
}

/* Working out the land and its weights: at first, and again when nothing has changed, against a whole coarse assessment. */
static void
bench_land (const EfInspection *inspection,
            const EfRuleSet *rules,
            const char *name)
{
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  EfLandCache *land = ef_land_cache_new ();
  EfFlowCache *flow = ef_flow_cache_new ();
  gint64 begin = g_get_monotonic_time (), whole, first, again;
  g_autoptr (EfAssessment) assessment = ef_assess_in_detail (inspection, rules, cache, EF_DETAIL_COARSE, NULL, NULL);

  whole = g_get_monotonic_time () - begin;
  for (int round = 0; round < 2; round++)
    {
      g_autoptr (GPtrArray) all = NULL;

      begin = g_get_monotonic_time ();
      all = ef_assess_land (&assessment->findings, flow, land, NULL, NULL);
      *(round == 0 ? &first : &again) = g_get_monotonic_time () - begin;
      g_assert_nonnull (all);
    }
  g_print ("%s: land weighed by leakage takes %.3f of a first coarse assessment, %.5f of it again\n", name, (double) first / whole, (double) again / whole);
  ef_land_cache_free (land);
  ef_flow_cache_free (flow);
}

static void
bench_jobs (double base)
{
  static const char *const jobs[] = { "job-1-hl-24", "job-2-rc-4", "job-3-tg-3", "job-4-hl-27", "job-5-hl-24" };
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (NULL);

  for (guint i = 0; i < G_N_ELEMENTS (jobs); i++)
    {
      g_autofree char *file = g_strconcat (jobs[i], ".json", NULL);
      g_autofree char *path = ef_data_path ("demo", file, NULL);
      g_autoptr (EfInspection) inspection = ef_exchange_load (path, NULL);
      g_autoptr (EfAssessment) assessment = inspection != NULL ? ef_assess_in_detail (inspection, rules, NULL, EF_DETAIL_COARSE, NULL, NULL) : NULL;

      g_assert_nonnull (assessment);
      g_print ("%s: plan with its alternatives %.1f times that of 6 faces (%s, %u option(s))\n", jobs[i], seconds_of_job (assessment) / base,
               !assessment->plan->wanted ? "nothing to lap" : assessment->plan->feasible ? "can be had" : "can't be had", assessment->plan->options->len);
      bench_land (inspection, rules, jobs[i]);
    }
}

int
main (void)
{
  static const int sizes[][2] = { { 1, 1 }, { 1, 3 }, { 2, 2 }, { 4, 4 }, { 8, 8 }, { 16, 16 } };
  double base = NAN;

  for (int stock = 4; stock <= 8; stock += 2)
    {
      g_autoptr (EfLapProblem) problem = pump (1, 1, stock);
      double planned, tried;
      double plan = seconds_of_plan (problem, &planned), all = seconds_of_trying_all (problem, &tried);

      g_print ("6 faces, %d um of stock: trying every removal takes %.0f times the plan; efforts %.1f and %.1f um\n", stock, all / plan, tried / UM, planned / UM);
      g_assert_cmpfloat_with_epsilon (tried, planned, 1e-10);
    }
  for (guint i = 0; i < G_N_ELEMENTS (sizes); i++)
    {
      g_autoptr (EfLapProblem) problem = pump (sizes[i][0], sizes[i][1], 40);
      double effort, seconds = seconds_of_plan (problem, &effort), passes = seconds_of_passes (problem);

      if (i == 0)
        base = seconds;
      g_print ("%3u faces: plan %.1f times that of 6 faces, whole passes %.3f times their plan\n", problem->faces->len, seconds / base, passes / seconds);
    }
  bench_jobs (base);

  return 0;
}
