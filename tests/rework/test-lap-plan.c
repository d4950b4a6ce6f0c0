/* Lapping plans: a worked case, every plan of a fine grid, contradictions, another way to the optimum.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "../fixed-random.h"
#include "rework/ef-lap-plan.h"
#include "../isolate.h"

#define UM 1e-6

/* The worked case: constructed; its numbers were worked out by hand and by a scan of the housing's removal. All in um. */
static EfLapProblem *
worked_case (void)
{
  static const char *const ends[2][2] = { { "drive/end-a", "drive/end-b" }, { "driven/end-a", "driven/end-b" } };
  static const double wear[2][2] = { { 12, 4 }, { 9, 3 } };
  EfLapProblem *problem = ef_lap_problem_new ();
  EfLapFace *housing = ef_lap_problem_add_face (problem, "housing/mating", EF_LAP_MATING);
  EfLapSection *section;
  EfLapFace *plate;

  housing->needed = 18 * UM;
  housing->residual = 5 * UM;
  housing->flatness = 25 * UM;
  housing->flatness_allowed = 10 * UM;
  housing->stock = 150 * UM;
  plate = ef_lap_problem_add_face (problem, "plate/side-a", EF_LAP_PLATE);
  plate->needed = 90 * UM;
  plate->residual = 10 * UM;
  plate->flatness = 12 * UM;
  plate->flatness_allowed = 10 * UM;
  plate->stock = 200 * UM;
  for (int gear = 0; gear < 2; gear++)
    for (int end = 0; end < 2; end++)
      {
        EfLapFace *face = ef_lap_problem_add_face (problem, ends[gear][end], EF_LAP_GEAR_END);

        face->needed = wear[gear][end] * UM;
        face->residual = 3 * UM;
        face->stock = 40 * UM;
        face->weight = 1.5;
      }
  section = ef_lap_problem_add_section (problem, "pressure");
  section->depth = 25130 * UM;
  section->width[0] = 25000 * UM;
  section->width[1] = 25003 * UM;
  section->width_allowed = 5 * UM;
  section->clearance_min = 50 * UM;
  section->clearance_max = 80 * UM;
  for (int i = 0; i < 4; i++)
    section->ends[i / 2][i % 2] = 2 + i;
  ef_lap_section_add (section, 0, -1.0);

  return problem;
}

static void
near_um (double value,
         double um)
{
  /* tolerance of lengths 0.01 um */
  g_assert_cmpfloat_with_epsilon (value / UM, um, 0.01);
}

static void
test_worked_case (void)
{
  g_autoptr (EfLapProblem) problem = worked_case ();
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLapPlan) plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);

  g_assert_no_error (error);
  g_assert_true (plan->feasible);
  near_um (ef_lap_face_least (ef_lap_problem_face (problem, 0)), 15);
  near_um (ef_lap_face_least (ef_lap_problem_face (problem, 1)), 80);
  near_um (ef_lap_face_least (ef_lap_problem_face (problem, 2)), 9);
  near_um (ef_lap_face_least (ef_lap_problem_face (problem, 3)), 1);
  near_um (ef_lap_face_least (ef_lap_problem_face (problem, 4)), 6);
  near_um (ef_lap_face_least (ef_lap_problem_face (problem, 5)), 0);
  near_um (plan->removal[0], 60);
  near_um (plan->removal[1], 80);
  near_um (plan->removal[2] + plan->removal[3], 10);
  near_um (plan->removal[4] + plan->removal[5], 8);
  near_um (plan->width[0][0], 24990);
  near_um (plan->width[0][1], 24995);
  near_um (plan->clearance[0][0], 80);
  near_um (plan->clearance[0][1], 75);
  near_um (plan->effort, 167);
  g_assert_cmpfloat (plan->gap, ==, 0.0);
}

static const EfLapConflict *
conflict (const EfLapPlan *plan,
          EfLapLimitKind kind)
{
  for (guint i = 0; i < plan->conflicts->len; i++)
    if (((EfLapConflict *) plan->conflicts->pdata[i])->kind == kind)
      return plan->conflicts->pdata[i];

  return NULL;
}

/* The same case with a deeper pocket and less stock: the housing needs 90 um, and stock and largest end clearance are named. */
static void
test_worked_case_conflict (void)
{
  g_autoptr (EfLapProblem) problem = worked_case ();
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLapPlan) plan = NULL;
  const EfLapConflict *stock, *most;

  ef_lap_problem_section (problem, 0)->depth = 25160 * UM;
  ef_lap_problem_face (problem, 0)->stock = 50 * UM;
  plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
  g_assert_no_error (error);
  g_assert_false (plan->feasible);
  g_assert_cmpuint (plan->conflicts->len, ==, 2);
  stock = conflict (plan, EF_LAP_LIMIT_STOCK);
  most = conflict (plan, EF_LAP_LIMIT_CLEARANCE_MAX);
  g_assert_nonnull (stock);
  g_assert_nonnull (most);
  g_assert_cmpstr (stock->target, ==, "housing/mating");
  near_um (50 * UM + stock->shortfall, 90);
  near_um (most->shortfall, 40);
  g_assert_true (stock->restores && most->restores);
  g_assert_cmpstr (stock->sentence, ==, "housing/mating needs 0.09 mm off, its stock is 0.05 mm.");
  g_assert_nonnull (strstr (most->sentence, "the pocket would end 0.04 mm too deep"));
}

static void
test_worked_case_tight (void)
{
  g_autoptr (EfLapProblem) problem = worked_case ();
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLapPlan) plan = NULL;

  ef_lap_problem_section (problem, 0)->depth = 25060 * UM;
  ef_lap_problem_face (problem, 0)->flatness = 60 * UM;
  plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
  g_assert_no_error (error);
  g_assert_true (plan->feasible);
  near_um (plan->removal[0], 50);
  near_um (plan->removal[2] + plan->removal[3], 40);
  near_um (plan->removal[4] + plan->removal[5], 43);
  near_um (plan->clearance[0][0], 50);
  near_um (plan->clearance[0][1], 50);
}

/* The housing's stock is used up: too shallow is told in millimetres. */
static void
test_too_shallow (void)
{
  g_autoptr (EfLapProblem) problem = worked_case ();
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLapPlan) plan = NULL;
  const EfLapConflict *least;

  ef_lap_problem_section (problem, 0)->depth = 25060 * UM;
  ef_lap_problem_face (problem, 0)->flatness = 60 * UM;
  for (guint i = 2; i < 6; i++)
    ef_lap_problem_face (problem, i)->stock = 10 * UM;
  plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
  g_assert_no_error (error);
  g_assert_false (plan->feasible);
  least = conflict (plan, EF_LAP_LIMIT_CLEARANCE_MIN);
  g_assert_nonnull (least);
  /* 25060 - 50 - 25003 + 20 = 27, 23 short of 50 */
  near_um (least->shortfall, 23);
  g_assert_nonnull (strstr (least->sentence, "the pocket would end 0.023 mm too shallow"));
}

/* Another way to the optimum of one section: for a given housing removal the gear ends follow; the cost is piecewise linear in it, so only its breakpoints need
 * be looked at. */
static double
cost_at (const EfLapProblem *problem,
         double r,
         double *best_g)
{
  const EfLapSection *section = ef_lap_problem_section (problem, 0);
  double w = ef_lap_problem_face (problem, 2)->weight;
  double delta = section->width[0] - section->width[1];
  double lo[2], hi[2], g[2];

  for (int i = 0; i < 2; i++)
    {
      const EfLapFace *a = ef_lap_problem_face (problem, 2 + 2 * i);
      const EfLapFace *b = ef_lap_problem_face (problem, 3 + 2 * i);

      lo[i] = fmax (ef_lap_face_least (a) + ef_lap_face_least (b), section->clearance_min - section->depth + section->width[i] + r);
      hi[i] = fmin (a->stock + b->stock, section->clearance_max - section->depth + section->width[i] + r);
    }
  g[0] = fmax (lo[0], lo[1] + delta - section->width_allowed);
  g[1] = fmax (lo[1], lo[0] - delta - section->width_allowed);
  for (int i = 0; i < 2; i++)
    if (g[i] > hi[i] + 1e-12 || ef_lap_face_least (ef_lap_problem_face (problem, 2 + 2 * i)) > ef_lap_problem_face (problem, 2 + 2 * i)->stock + 1e-12 ||
        ef_lap_face_least (ef_lap_problem_face (problem, 3 + 2 * i)) > ef_lap_problem_face (problem, 3 + 2 * i)->stock + 1e-12)
      return INFINITY;
  best_g[0] = g[0];
  best_g[1] = g[1];

  return ef_lap_problem_face (problem, 0)->weight * r + w * (g[0] + g[1]);
}

static double
by_breakpoints (const EfLapProblem *problem)
{
  const EfLapSection *section = ef_lap_problem_section (problem, 0);
  const EfLapFace *housing = ef_lap_problem_face (problem, 0);
  const EfLapFace *plate = ef_lap_problem_face (problem, 1);
  double delta = section->width[0] - section->width[1];
  double low = ef_lap_face_least (housing), best = INFINITY;
  double at[64];
  int n = 0;

  at[n++] = low;
  at[n++] = housing->stock;
  for (int i = 0; i < 2; i++)
    {
      const EfLapFace *a = ef_lap_problem_face (problem, 2 + 2 * i);
      const EfLapFace *b = ef_lap_problem_face (problem, 3 + 2 * i);
      double least[3], most = a->stock + b->stock;

      /* What the width rule can make the gear's removal, and its own least and most: each against each end of its window and of the other's. */
      least[0] = ef_lap_face_least (a) + ef_lap_face_least (b);
      least[1] = ef_lap_face_least (ef_lap_problem_face (problem, 4 - 2 * i)) + ef_lap_face_least (ef_lap_problem_face (problem, 5 - 2 * i)) +
                 (i == 0 ? delta : -delta) - section->width_allowed;
      least[2] = most;
      for (int k = 0; k < 3; k++)
        {
          at[n++] = section->depth - section->width[i] + least[k] - section->clearance_min;
          at[n++] = section->depth - section->width[i] + least[k] - section->clearance_max;
          at[n++] = section->depth - section->width[1 - i] + least[k] - (i == 0 ? delta : -delta) + section->width_allowed - section->clearance_min;
          at[n++] = section->depth - section->width[1 - i] + least[k] - (i == 0 ? delta : -delta) + section->width_allowed - section->clearance_max;
        }
    }
  for (int i = 0; i < n; i++)
    {
      double g[2];

      if (at[i] < low - 1e-12 || at[i] > housing->stock + 1e-12)
        continue;
      best = fmin (best, cost_at (problem, at[i], g));
    }
  if (ef_lap_face_least (plate) > plate->stock + 1e-12)
    return INFINITY;

  return best + plate->weight * ef_lap_face_least (plate);
}

static void
test_breakpoints (void)
{
  int solved = 0;

  for (int round = 0; round < 400; round++)
    {
      g_autoptr (EfLapProblem) problem = worked_case ();
      g_autoptr (GError) error = NULL;
      g_autoptr (EfLapPlan) plan = NULL;
      EfLapSection *section = ef_lap_problem_section (problem, 0);
      double expected;

      section->depth = fixed_double (25040, 25200) * UM;
      section->width[1] = fixed_double (24990, 25015) * UM;
      section->width_allowed = fixed_double (0, 12) * UM;
      section->clearance_max = section->clearance_min + fixed_double (0, 50) * UM;
      ef_lap_problem_face (problem, 0)->flatness = fixed_double (0, 90) * UM;
      ef_lap_problem_face (problem, 0)->weight = fixed_double (0.2, 5);
      for (guint i = 0; i < 6; i++)
        ef_lap_problem_face (problem, i)->needed = fixed_double (0, i == 1 ? 210 : 40) * UM;
      expected = by_breakpoints (problem);
      plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
      g_assert_no_error (error);
      g_assert_cmpint (plan->feasible, ==, isfinite (expected));
      if (!plan->feasible)
        continue;
      near_um (plan->effort, expected / UM);
      g_assert_cmpfloat (ef_lap_problem_violation (problem, plan->removal, NULL), <, 1e-11);
      solved++;
    }
  g_assert_cmpint (solved, >, 100);
  g_assert_cmpint (solved, <, 390);
}

/* Small cases in whole um: one section with all four ends, or two that share one housing face, a plate, further limits, costs of touching. Differences of sums that a
 * whole number bounds have whole-number corners, so the best plan of the grid is the best of all. */
static EfLapProblem *
small_case (gboolean *two_out)
{
  EfLapProblem *problem = ef_lap_problem_new ();
  gboolean two = fixed_int (0, 3) == 0;
  gboolean through = !two && fixed_int (0, 4) == 0;
  int n = two ? 5 : 5 + through;
  EfLapSection *section;

  for (int i = 0; i < n; i++)
    {
      g_autofree char *id = g_strdup_printf ("face-%d", i);
      EfLapFace *face = ef_lap_problem_add_face (problem, id, i == 0 ? EF_LAP_MATING : EF_LAP_GEAR_END);
      static const double weights[] = { 1, 1, 1.5, 2, 0.5 };

      face->needed = fixed_int (0, 4) * UM;
      face->residual = fixed_int (0, 3) * UM;
      face->flatness = fixed_int (0, 4) * UM;
      face->flatness_allowed = fixed_int (1, 4) * UM;
      face->stock = fixed_int (fixed_int (0, 12) == 0 ? 0 : 3, 7) * UM;
      face->weight = weights[fixed_int (0, 5)];
      face->setup = fixed_int (0, 2) * fixed_int (0, 5) * UM;
    }
  for (int s = 0; s < (two ? 2 : 1); s++)
    {
      int thin = fixed_int (0, 10);

      section = ef_lap_problem_add_section (problem, s == 0 ? "pressure" : "scavenge");
      section->width[0] = (1000 + fixed_int (0, 4)) * UM;
      section->width[1] = (1000 + fixed_int (0, 4)) * UM;
      section->width_allowed = fixed_int (0, 4) * UM;
      section->depth = (1000 + fixed_int (5, 15)) * UM;
      section->clearance_min = fixed_int (3, 7) * UM;
      section->clearance_max = section->clearance_min + (thin == 0 ? 0 : fixed_int (0, 6)) * UM;
      ef_lap_section_add (section, 0, -1.0);
      if (through)
        ef_lap_section_add (section, 5, -1.0);
      for (int i = 0; i < (two ? 2 : 4); i++)
        section->ends[two ? i : i / 2][two ? 0 : i % 2] = 1 + (two ? 2 * s + i : i);
    }
  if (fixed_int (0, 2) == 0)
    {
      EfLapLimit *limit = ef_lap_problem_add_limit (problem, "thickness");

      ef_lap_limit_add (limit, 1, 1.0);
      if (!two)
        ef_lap_limit_add (limit, 2, 1.0);
      limit->max = fixed_int (2, 9) * UM;
    }
  if (two_out != NULL)
    *two_out = two;

  return problem;
}

/* Every plan in whole um. */
static gboolean
best_of_grid (const EfLapProblem *problem,
              double *effort_out,
              double *stock_out)
{
  guint n = problem->faces->len;
  int r[8] = { 0 }, least[8], most[8];
  gboolean any = FALSE;

  *effort_out = *stock_out = INFINITY;
  for (guint i = 0; i < n; i++)
    {
      least[i] = (int) lrint (ef_lap_face_least (ef_lap_problem_face (problem, i)) / UM);
      most[i] = (int) lrint (ef_lap_problem_face (problem, i)->stock / UM);
      if (least[i] > most[i])
        return FALSE;
      r[i] = least[i];
    }
  for (;;)
    {
      double removal[8];
      double effort, stock;
      guint i = 0;

      for (guint k = 0; k < n; k++)
        removal[k] = r[k] * UM;
      if (ef_lap_problem_violation (problem, removal, NULL) < 1e-9)
        {
          effort = ef_lap_problem_effort (problem, removal) / UM;
          stock = ef_lap_problem_stock (problem, removal) / UM;
          any = TRUE;
          if (effort < *effort_out - 1e-9 || (effort < *effort_out + 1e-9 && stock < *stock_out))
            {
              *effort_out = effort;
              *stock_out = stock;
            }
        }
      while (i < n && r[i] == most[i])
        {
          r[i] = least[i];
          i++;
        }
      if (i == n)
        return any;
      r[i]++;
    }
}

static void
test_every_plan (void)
{
  int solved = 0, contradicted = 0;

  for (int round = 0; round < 500; round++)
    {
      g_autoptr (EfLapProblem) problem = small_case (NULL);
      g_autoptr (GError) error = NULL;
      g_autoptr (EfLapPlan) plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
      g_autoptr (EfLapPlan) least = ef_lap_plan_solve (problem, EF_LAP_LEAST_STOCK, &error);
      double effort, stock;

      g_assert_no_error (error);
      g_assert_cmpint (plan->feasible, ==, best_of_grid (problem, &effort, &stock));
      if (!plan->feasible)
        {
          contradicted++;
          continue;
        }
      solved++;
      g_assert_cmpfloat_with_epsilon (plan->effort / UM, effort, 1e-4);
      g_assert_cmpfloat_with_epsilon (plan->stock / UM, stock, 1e-4);
      g_assert_cmpfloat (least->stock, <=, plan->stock + 1e-11);
      g_assert_cmpfloat (least->effort, >=, plan->effort - 1e-11);
      g_assert_cmpfloat (ef_lap_problem_violation (problem, plan->removal, NULL), <, 1e-11);
    }
  g_test_message ("%d solved, %d contradict", solved, contradicted);
  g_assert_cmpint (solved, >, 150);
  g_assert_cmpint (contradicted, >, 100);
}

/* Held against the grid alone: whether whole removals up to @most keep the limits named, all others being let go. */
static double
broken_by (const EfLapProblem *problem,
           const EfLapConflict *limit,
           const double *removal)
{
  double least, most;

  switch (limit->kind)
    {
    case EF_LAP_LIMIT_WEAR:
      return ef_lap_problem_face (problem, limit->index)->needed - ef_lap_problem_face (problem, limit->index)->residual - removal[limit->index];
    case EF_LAP_LIMIT_FLATNESS:
      return ef_lap_problem_face (problem, limit->index)->flatness - ef_lap_problem_face (problem, limit->index)->flatness_allowed - removal[limit->index];
    case EF_LAP_LIMIT_STOCK:
      return removal[limit->index] - ef_lap_problem_face (problem, limit->index)->stock;
    case EF_LAP_LIMIT_WIDTH:
      return fabs (ef_lap_section_width (ef_lap_problem_section (problem, limit->index), removal, 0) -
                   ef_lap_section_width (ef_lap_problem_section (problem, limit->index), removal, 1)) -
             ef_lap_problem_section (problem, limit->index)->width_allowed;
    case EF_LAP_LIMIT_FURTHER:
      return ef_lap_limit_sum (ef_lap_problem_limit (problem, limit->index), removal) - ef_lap_problem_limit (problem, limit->index)->max;
    default:
      break;
    }
  ef_lap_section_window (ef_lap_problem_section (problem, limit->index), &least, &most);
  if (limit->kind == EF_LAP_LIMIT_CLEARANCE_MIN)
    return least - fmin (ef_lap_section_clearance (ef_lap_problem_section (problem, limit->index), removal, 0),
                         ef_lap_section_clearance (ef_lap_problem_section (problem, limit->index), removal, 1));

  return fmax (ef_lap_section_clearance (ef_lap_problem_section (problem, limit->index), removal, 0),
               ef_lap_section_clearance (ef_lap_problem_section (problem, limit->index), removal, 1)) - most;
}

static gboolean
grid_keeps (const EfLapProblem *problem,
            const EfLapConflict *const *limits,
            guint n_limits,
            int most)
{
  guint n = problem->faces->len;
  int r[8] = { 0 };

  for (;;)
    {
      double removal[8];
      gboolean kept = TRUE;
      guint i = 0;

      for (guint k = 0; k < n; k++)
        removal[k] = r[k] * UM;
      for (guint k = 0; k < n_limits && kept; k++)
        kept = broken_by (problem, limits[k], removal) < 1e-9;
      if (kept)
        return TRUE;
      while (i < n && r[i] == most)
        r[i++] = 0;
      if (i == n)
        return FALSE;
      r[i]++;
    }
}

static void
check_leaving_out (const EfLapProblem *problem,
                   const EfLapPlan *plan)
{
  const EfLapConflict *kept[64];

  g_assert_cmpuint (plan->conflicts->len, <, 64);
  for (guint out = 0; out < plan->conflicts->len; out++)
    {
      guint n = 0;

      for (guint i = 0; i < plan->conflicts->len; i++)
        if (i != out)
          kept[n++] = plan->conflicts->pdata[i];
      g_assert_true (ef_lap_problem_solvable_with (problem, kept, n));
    }
}

/* Gives way by the shortfall: then it can be done, and by a little less it can't. */
static void
check_shortfall (const EfLapProblem *problem,
                 const EfLapConflict *limit)
{
  g_autoptr (EfLapProblem) eased = NULL;

  if (!limit->restores)
    return;
  for (int more = 0; more < 2; more++)
    {
      double by = limit->shortfall + (more ? 1e-9 : -1e-9);

      g_clear_pointer (&eased, ef_lap_problem_free);
      eased = ef_lap_problem_copy (problem);
      if (limit->kind == EF_LAP_LIMIT_WEAR)
        ef_lap_problem_face (eased, limit->index)->residual += by;
      else if (limit->kind == EF_LAP_LIMIT_FLATNESS)
        ef_lap_problem_face (eased, limit->index)->flatness_allowed += by;
      else if (limit->kind == EF_LAP_LIMIT_STOCK)
        ef_lap_problem_face (eased, limit->index)->stock += by;
      else if (limit->kind == EF_LAP_LIMIT_WIDTH)
        ef_lap_problem_section (eased, limit->index)->width_allowed += by;
      else if (limit->kind == EF_LAP_LIMIT_FURTHER)
        ef_lap_problem_limit (eased, limit->index)->max += by;
      else if (limit->kind == EF_LAP_LIMIT_CLEARANCE_MIN)
        ef_lap_problem_section (eased, limit->index)->clearance_min -= by;
      else
        ef_lap_problem_section (eased, limit->index)->clearance_max += by;
      g_assert_cmpint (ef_lap_problem_solvable (eased), ==, more);
    }
}

static void
test_conflicts (void)
{
  int seen = 0, on_grid = 0, restored = 0;

  for (int round = 0; round < 500; round++)
    {
      g_autoptr (EfLapProblem) problem = small_case (NULL);
      g_autoptr (GError) error = NULL;
      g_autoptr (EfLapPlan) plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
      g_autofree char *reason = NULL;

      g_assert_no_error (error);
      if (plan->feasible)
        continue;
      seen++;
      reason = ef_lap_plan_reason (plan);
      g_assert_nonnull (reason);
      g_assert_cmpuint (plan->conflicts->len, >, 0);
      g_assert_false (ef_lap_problem_solvable_with (problem, (const EfLapConflict *const *) plan->conflicts->pdata, plan->conflicts->len));
      check_leaving_out (problem, plan);
      for (guint i = 0; i < plan->conflicts->len; i++)
        {
          const EfLapConflict *limit = plan->conflicts->pdata[i];

          g_assert_cmpfloat (limit->shortfall, >, 0.0);
          restored += limit->restores;
          check_shortfall (problem, limit);
        }
      if (problem->faces->len > 5 || on_grid >= 12)
        continue;
      on_grid++;
      g_assert_false (grid_keeps (problem, (const EfLapConflict *const *) plan->conflicts->pdata, plan->conflicts->len, 10));
    }
  g_test_message ("%d contradictions, %d limits whose giving way alone is enough", seen, restored);
  g_assert_cmpint (seen, >, 100);
  g_assert_cmpint (on_grid, ==, 12);
}

/* No set of fewer limits contradicts itself: all of them are looked at. */
static guint
all_limits (const EfLapProblem *problem,
            EfLapConflict *out)
{
  guint n = 0;

  for (guint i = 0; i < problem->faces->len; i++)
    for (int kind = EF_LAP_LIMIT_WEAR; kind <= EF_LAP_LIMIT_STOCK; kind++)
      out[n++] = (EfLapConflict) { .kind = (EfLapLimitKind) kind, .index = i };
  for (guint i = 0; i < problem->sections->len; i++)
    for (int kind = EF_LAP_LIMIT_CLEARANCE_MIN; kind <= EF_LAP_LIMIT_WIDTH; kind++)
      out[n++] = (EfLapConflict) { .kind = (EfLapLimitKind) kind, .index = i };
  for (guint i = 0; i < problem->limits->len; i++)
    out[n++] = (EfLapConflict) { .kind = EF_LAP_LIMIT_FURTHER, .index = i };

  return n;
}

static gboolean
any_smaller (const EfLapProblem *problem,
             const EfLapConflict *all,
             guint n,
             guint from,
             const EfLapConflict **chosen,
             guint n_chosen,
             guint size)
{
  if (n_chosen == size)
    return !ef_lap_problem_solvable_with (problem, chosen, size);
  for (guint i = from; i < n; i++)
    {
      chosen[n_chosen] = &all[i];
      if (any_smaller (problem, all, n, i + 1, chosen, n_chosen + 1, size))
        return TRUE;
    }

  return FALSE;
}

static void
test_smallest (void)
{
  guint sizes[8] = { 0 };
  int seen = 0;

  for (int round = 0; round < 2000 && seen < 60; round++)
    {
      g_autoptr (EfLapProblem) problem = small_case (NULL);
      g_autoptr (GError) error = NULL;
      g_autoptr (EfLapPlan) plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
      EfLapConflict all[64];
      const EfLapConflict *chosen[8];
      guint n;

      g_assert_no_error (error);
      if (plan->feasible)
        continue;
      g_assert_cmpuint (plan->conflicts->len, <, 8);
      sizes[plan->conflicts->len]++;
      if (plan->conflicts->len < 3 || plan->conflicts->len > 4)
        continue;
      seen++;
      n = all_limits (problem, all);
      g_assert_false (any_smaller (problem, all, n, 0, chosen, 0, plan->conflicts->len - 1));
    }
  g_test_message ("sizes 1 %u, 2 %u, 3 %u, 4 %u, 5 %u, 6 %u", sizes[1], sizes[2], sizes[3], sizes[4], sizes[5], sizes[6]);
  g_assert_cmpint (seen, >, 20);
}

/* A face open to both sides counts twice; one shared by two sections once in each. */
static void
test_shared_faces (void)
{
  g_autoptr (EfLapProblem) problem = ef_lap_problem_new ();
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLapPlan) plan = NULL;
  g_autoptr (EfLapPlan) durable = NULL;

  for (int i = 0; i < 3; i++)
    ef_lap_problem_add_face (problem, i == 0 ? "a" : i == 1 ? "b" : "shared", EF_LAP_MATING)->stock = 60 * UM;
  ef_lap_problem_face (problem, 2)->needed = 10 * UM;
  for (int i = 0; i < 2; i++)
    {
      EfLapSection *section = ef_lap_problem_add_section (problem, i == 0 ? "one" : "two");

      section->depth = 20000 * UM;
      section->width[0] = section->width[1] = (19870 + 30 * i) * UM;
      section->clearance_min = 40 * UM;
      section->clearance_max = 100 * UM;
      ef_lap_section_add (section, 2, -1.0);
      if (i == 0)
        {
          ef_lap_section_add (section, 0, -1.0);
          ef_lap_section_add (section, 1, -1.0);
        }
    }
  plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
  g_assert_no_error (error);
  g_assert_true (plan->feasible);
  near_um (plan->stock, 30);
  near_um (plan->clearance[0][0], 100);
  g_assert_cmpfloat (plan->clearance[1][0], <=, 90.01 * UM);
  durable = ef_lap_plan_solve (problem, EF_LAP_DURABLE, &error);
  g_assert_no_error (error);
  near_um (durable->clearance[0][0], 40);
  near_um (durable->clearance[1][1], 40);
  near_um (durable->removal[2], 60);
}

/* Touching a face for nothing costs; one end takes what either could. */
static void
test_setup_cost (void)
{
  g_autoptr (EfLapProblem) problem = worked_case ();
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLapPlan) plan = NULL;

  for (guint i = 2; i < 6; i++)
    {
      ef_lap_problem_face (problem, i)->needed = 0.0;
      ef_lap_problem_face (problem, i)->setup = 20 * UM;
    }
  ef_lap_problem_section (problem, 0)->width[1] = 25020 * UM;
  plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
  g_assert_no_error (error);
  g_assert_true (plan->feasible);
  /* 15 um off the wider gear, all on one end */
  near_um (plan->removal[2] + plan->removal[3], 0);
  near_um (plan->removal[4] + plan->removal[5], 15);
  near_um (fmin (plan->removal[4], plan->removal[5]), 0);
}

static void
test_window_and_uncertainty (void)
{
  g_autoptr (EfLapProblem) problem = worked_case ();
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLapPlan) plan = NULL;
  EfLapSection *section = ef_lap_problem_section (problem, 0);

  section->uncertainty = 4 * UM;
  section->guard = 2.0;
  plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
  g_assert_no_error (error);
  near_um (plan->clearance[0][0], 72);
  g_clear_pointer (&plan, ef_lap_plan_free);
  section->guard = 4.0;
  plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
  g_assert_no_error (error);
  g_assert_false (plan->feasible);
  g_assert_cmpuint (plan->conflicts->len, ==, 2);
  near_um (((EfLapConflict *) plan->conflicts->pdata[0])->shortfall, 2);
}

static void
test_refused (void)
{
  g_autoptr (EfLapProblem) problem = worked_case ();
  g_autoptr (GError) error = NULL;

  ef_lap_problem_face (problem, 0)->stock = NAN;
  g_assert_null (ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_assert_nonnull (strstr (error->message, "housing/mating: stock"));
  g_clear_error (&error);
  ef_lap_problem_face (problem, 0)->stock = 0.0;
  ef_lap_section_add (ef_lap_problem_section (problem, 0), 17, -1.0);
  g_assert_null (ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
}

/* Nothing can be lapped at all: still an answer. */
static void
test_no_faces (void)
{
  g_autoptr (EfLapProblem) problem = ef_lap_problem_new ();
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLapPlan) plan = NULL;
  EfLapSection *section = ef_lap_problem_add_section (problem, "pressure");

  section->depth = 25.1e-3;
  section->width[0] = section->width[1] = 25e-3;
  section->clearance_max = 90 * UM;
  plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
  g_assert_no_error (error);
  g_assert_false (plan->feasible);
  g_assert_cmpuint (plan->conflicts->len, ==, 1);
  near_um (((EfLapConflict *) plan->conflicts->pdata[0])->shortfall, 10);
  section->clearance_max = 110 * UM;
  g_clear_pointer (&plan, ef_lap_plan_free);
  plan = ef_lap_plan_solve (problem, EF_LAP_DURABLE, &error);
  g_assert_no_error (error);
  g_assert_true (plan->feasible);
}

int
main (int argc,
      char *argv[])
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/lap-plan/worked-case", test_worked_case);
  g_test_add_func ("/lap-plan/worked-case-conflict", test_worked_case_conflict);
  g_test_add_func ("/lap-plan/worked-case-tight", test_worked_case_tight);
  g_test_add_func ("/lap-plan/too-shallow", test_too_shallow);
  g_test_add_func ("/lap-plan/breakpoints", test_breakpoints);
  g_test_add_func ("/lap-plan/every-plan", test_every_plan);
  g_test_add_func ("/lap-plan/conflicts", test_conflicts);
  g_test_add_func ("/lap-plan/smallest", test_smallest);
  g_test_add_func ("/lap-plan/shared-faces", test_shared_faces);
  g_test_add_func ("/lap-plan/setup-cost", test_setup_cost);
  g_test_add_func ("/lap-plan/window", test_window_and_uncertainty);
  g_test_add_func ("/lap-plan/refused", test_refused);
  g_test_add_func ("/lap-plan/no-faces", test_no_faces);

  return g_test_run ();
}
