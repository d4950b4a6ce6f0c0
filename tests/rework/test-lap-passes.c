/* Whole passes: against every combination, one face and all together.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "../fixed-random.h"
#include "rework/ef-lap-passes.h"
#include "../isolate.h"

#define UM 1e-6

static void
check_passes (double lower,
              double upper,
              int coarse,
              int medium,
              int fine,
              double removal,
              double effort)
{
  EfLapGrits grits;
  int counts[EF_PASSES_MOST_GRITS];
  double found;

  ef_lap_grits_default (&grits);
  g_assert_true (ef_lap_passes_find (&grits, lower * UM, upper * UM, counts, &found));
  g_assert_cmpint (counts[0], ==, coarse);
  g_assert_cmpint (counts[1], ==, medium);
  g_assert_cmpint (counts[2], ==, fine);
  g_assert_cmpfloat_with_epsilon (ef_lap_grits_removal (&grits, counts) / UM, removal, 0.01);
  g_assert_cmpfloat_with_epsilon (found, effort, 1e-9);
  g_assert_true (ef_lap_grits_clean (&grits, counts));
}

/* Constructed; recomputed by trying all counts. */
static void
test_worked_case (void)
{
  check_passes (80, 200, 11, 4, 5, 81, 17.2);
  check_passes (60, 85, 8, 3, 5, 60.5, 13.4);
  check_passes (0, 10, 0, 0, 0, 0, 0);
}

static gboolean
every_count (const EfLapGrits *grits,
             double lower,
             double upper,
             double *effort_out,
             double *removal_out)
{
  int counts[EF_PASSES_MOST_GRITS] = { 0 };
  gboolean any = FALSE;

  *effort_out = *removal_out = INFINITY;
  for (;;)
    {
      double removal = ef_lap_grits_removal (grits, counts);
      double effort = ef_lap_grits_effort (grits, counts);
      guint i = 0;

      if (removal >= lower - 1e-12 && removal <= upper + 1e-12 && ef_lap_grits_clean (grits, counts))
        {
          any = TRUE;
          if (effort < *effort_out - 1e-9 || (effort < *effort_out + 1e-9 && removal < *removal_out))
            {
              *effort_out = effort;
              *removal_out = removal;
            }
        }
      while (i < grits->n && (counts[i] + 1) * grits->removal[i] > upper + 1e-12)
        counts[i++] = 0;
      if (i == grits->n)
        return any;
      counts[i]++;
    }
}

static EfLapGrits
some_grits (void)
{
  EfLapGrits grits = { .n = (guint) fixed_int (1, 4) };
  double removal = fixed_int (4, 20);

  for (guint i = 0; i < grits.n; i++)
    {
      grits.removal[i] = removal / 2.0 * UM;
      grits.damage[i] = fixed_int (0, 12) * UM;
      grits.effort[i] = fixed_double (0.3, 1.5);
      removal = MAX (2.0, floor (removal * fixed_double (0.3, 0.8)));
    }

  return grits;
}

static void
test_every_count (void)
{
  int found = 0, none = 0;

  for (int round = 0; round < 400; round++)
    {
      EfLapGrits grits = some_grits ();
      double lower = fixed_int (1, 36) / 2.0 * UM;
      double upper = lower + fixed_int (0, 12) / 2.0 * UM;
      int counts[EF_PASSES_MOST_GRITS];
      double effort, expected, removal;
      gboolean any = every_count (&grits, lower, upper, &expected, &removal);

      g_assert_cmpint (ef_lap_passes_find (&grits, lower, upper, counts, &effort), ==, any);
      if (!any)
        {
          none++;
          continue;
        }
      found++;
      g_assert_cmpfloat_with_epsilon (effort, expected, 1e-9);
      g_assert_cmpfloat_with_epsilon (ef_lap_grits_removal (&grits, counts) / UM, removal / UM, 1e-6);
      g_assert_true (ef_lap_grits_clean (&grits, counts));
    }
  g_assert_cmpint (found, >, 150);
  g_assert_cmpint (none, >, 20);
}

/* A section as found on the bench, sizes in whole um; narrow windows so that rounding matters. */
static EfLapProblem *
bench_case (gboolean small)
{
  EfLapProblem *problem = ef_lap_problem_new ();
  EfLapSection *section;
  int most = small ? 12 : 40;

  for (int i = 0; i < 5; i++)
    {
      g_autofree char *id = g_strdup_printf ("face-%d", i);
      EfLapFace *face = ef_lap_problem_add_face (problem, id, i == 0 ? EF_LAP_MATING : EF_LAP_GEAR_END);

      face->needed = fixed_int (0, small ? (i == 0 ? 6 : 4) : 12) * UM;
      face->stock = (i == 0 ? (small ? 14 : 150) : most) * UM;
      face->weight = i == 0 ? 1.0 : 1.5;
    }
  section = ef_lap_problem_add_section (problem, "pressure");
  section->depth = (25000 + fixed_int (small ? 52 : 40, small ? 66 : 160)) * UM;
  section->width[0] = 25000 * UM;
  section->width[1] = (25000 + fixed_int (-4, 5)) * UM;
  section->width_allowed = fixed_int (1, 6) / 2.0 * UM;
  section->clearance_min = 50 * UM;
  section->clearance_max = section->clearance_min + fixed_int (small ? 0 : 1, small ? 4 : 30) / 2.0 * UM;
  for (int i = 0; i < 4; i++)
    section->ends[i / 2][i % 2] = 1 + i;
  if (small)
    for (int gear = 0; gear < 2; gear++)
      {
        section->ends[gear][1] = -1;
        ef_lap_problem_face (problem, 2 + 2 * (guint) gear)->stock = 0.0;
        ef_lap_problem_face (problem, 2 + 2 * (guint) gear)->needed = 0.0;
      }
  ef_lap_section_add (section, 0, -1.0);

  return problem;
}

static void
check_holds (const EfLapProblem *problem,
             const EfLapGrits *grits,
             const EfLapPassPlan *passes)
{
  g_autofree char *what = NULL;
  double broken = ef_lap_problem_violation (problem, passes->removal, &what);

  if (broken > 1e-9)
    g_test_message ("%s", what);
  g_assert_cmpfloat (broken, <=, 1e-9);
  for (guint i = 0; i < passes->n_faces; i++)
    {
      g_assert_true (ef_lap_grits_clean (&grits[i], passes->counts[i]));
      g_assert_cmpfloat_with_epsilon (ef_lap_grits_removal (&grits[i], passes->counts[i]), passes->removal[i], 1e-12);
    }
}

/* Rounding never breaks a limit. */
static void
test_limits_hold (void)
{
  int in_turn = 0, joint = 0;

  for (int round = 0; round < 300; round++)
    {
      g_autoptr (EfLapProblem) problem = bench_case (FALSE);
      g_autoptr (GError) error = NULL;
      g_autoptr (EfLapPlan) plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
      g_autoptr (EfLapPassPlan) passes = NULL;
      EfLapGrits grits[5];

      g_assert_no_error (error);
      if (!plan->feasible)
        continue;
      for (int i = 0; i < 5; i++)
        ef_lap_grits_default (&grits[i]);
      passes = ef_lap_passes_plan (problem, plan, grits, &error);
      g_assert_no_error (error);
      if (!passes->feasible)
        continue;
      check_holds (problem, grits, passes);
      in_turn += passes->in_turn;
      joint += !passes->in_turn;
    }
  g_test_message ("%d found in turn, %d jointly", in_turn, joint);
  g_assert_cmpint (in_turn, >, 50);
}

/* All counts of the three faces that can be lapped. */
static double
every_combination (const EfLapProblem *problem,
                   const EfLapGrits *grits)
{
  static const guint lapped[3] = { 0, 1, 3 };
  GArray *choices[3];
  double best = INFINITY;

  for (int f = 0; f < 3; f++)
    {
      int counts[EF_PASSES_MOST_GRITS] = { 0 };
      double stock = ef_lap_problem_face (problem, lapped[f])->stock;

      choices[f] = g_array_new (FALSE, FALSE, 2 * sizeof (double));
      for (;;)
        {
          const EfLapGrits *g = &grits[lapped[f]];
          double pair[2] = { ef_lap_grits_removal (g, counts), ef_lap_grits_effort (g, counts) * ef_lap_problem_face (problem, lapped[f])->weight };
          guint i = 0;

          if (pair[0] <= stock + 1e-12 && ef_lap_grits_clean (g, counts))
            g_array_append_val (choices[f], pair);
          while (i < g->n && (counts[i] + 1) * g->removal[i] > stock + 1e-12)
            counts[i++] = 0;
          if (i == g->n)
            break;
          counts[i]++;
        }
    }
  for (guint a = 0; a < choices[0]->len; a++)
    for (guint b = 0; b < choices[1]->len; b++)
      for (guint c = 0; c < choices[2]->len; c++)
        {
          const double *pair[3] = { (double *) (gpointer) choices[0]->data + 2 * a, (double *) (gpointer) choices[1]->data + 2 * b,
                                    (double *) (gpointer) choices[2]->data + 2 * c };
          double removal[5] = { pair[0][0], pair[1][0], 0.0, pair[2][0], 0.0 };
          double effort = pair[0][1] + pair[1][1] + pair[2][1];

          if (effort < best && ef_lap_problem_violation (problem, removal, NULL) <= 1e-9)
            best = effort;
        }
  for (int f = 0; f < 3; f++)
    g_array_unref (choices[f]);

  return best;
}

/* What is called impossible for whole passes really is; what the joint search finds is the best. */
static void
test_every_combination (void)
{
  int found = 0, rounded_away = 0;

  for (int round = 0; round < 300; round++)
    {
      g_autoptr (EfLapProblem) problem = bench_case (TRUE);
      g_autoptr (GError) error = NULL;
      g_autoptr (EfLapPlan) plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
      g_autoptr (EfLapPassPlan) passes = NULL;
      g_autoptr (EfLapPassPlan) joint = NULL;
      EfLapGrits grits[5];
      double best;

      g_assert_no_error (error);
      if (!plan->feasible)
        continue;
      for (int i = 0; i < 5; i++)
        {
          ef_lap_grits_default (&grits[i]);
          grits[i].damage[0] = 4 * UM;
          grits[i].damage[1] = 2 * UM;
          grits[i].removal[2] = fixed_int (0, 2) == 0 ? 1.5 * UM : 1 * UM;
        }
      best = every_combination (problem, grits);
      joint = ef_lap_passes_search (problem, grits, &error);
      g_assert_no_error (error);
      passes = ef_lap_passes_plan (problem, plan, grits, &error);
      g_assert_no_error (error);
      g_assert_cmpint (joint->feasible, ==, isfinite (best));
      g_assert_cmpint (passes->feasible, ==, isfinite (best));
      if (!joint->feasible)
        {
          rounded_away++;
          g_assert_nonnull (passes->reason);
          continue;
        }
      found++;
      check_holds (problem, grits, joint);
      check_holds (problem, grits, passes);
      g_assert_cmpfloat_with_epsilon (joint->effort, best, 1e-6);
      g_assert_cmpfloat (passes->effort, >=, best - 1e-6);
    }
  g_test_message ("%d found, %d impossible in whole passes alone", found, rounded_away);
  g_assert_cmpint (found, >, 20);
  g_assert_cmpint (rounded_away, >, 3);
}

static void
test_refused (void)
{
  g_autoptr (GError) error = NULL;
  EfLapGrits grits;

  ef_lap_grits_default (&grits);
  grits.removal[1] = 0.0;
  g_assert_false (ef_lap_grits_check (&grits, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_assert_nonnull (strstr (error->message, "grits[1]"));
}

int
main (int argc,
      char *argv[])
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/lap-passes/worked-case", test_worked_case);
  g_test_add_func ("/lap-passes/every-count", test_every_count);
  g_test_add_func ("/lap-passes/limits-hold", test_limits_hold);
  g_test_add_func ("/lap-passes/every-combination", test_every_combination);
  g_test_add_func ("/lap-passes/refused", test_refused);

  return g_test_run ();
}
