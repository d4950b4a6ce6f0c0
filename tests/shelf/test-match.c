/* The search against looking at everything, on small random shelves.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cases are constructed: sizes drawn round the nominal ones of a gear pump. What fits and what it costs is worked out here anew from the
 * definitions in ef-match.h, not by the functions that are tested.
 */
#include "rework/ef-lap-plan.h"
#include "shelf/ef-match.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"

#define MOST 40

typedef struct
{
  EfMatchProblem problem;
  EfMatchCandidate candidates[EF_MATCH_SLOTS][MOST];
  EfMatchTerm terms[16];
} Case;

static double
draw (GRand *rand,
      double middle,
      double spread)
{
  return middle + spread * g_rand_double_range (rand, -1, 1);
}

/* Housing 0, pair 1, cover 2, two shafts 3 and 4, as in a pump of one section; sometimes without cover and shafts. */
static void
make_case (GRand *rand,
           Case *c)
{
  guint n_slots = g_rand_boolean (rand) ? 5 : 2;
  gboolean coarse = g_rand_boolean (rand); /* sizes in whole steps, so that there are ties */

  memset (c, 0, sizeof *c);
  c->problem.n_slots = n_slots;
  c->problem.terms = c->terms;
  c->problem.guard = g_rand_boolean (rand) ? 1.645 : 0;
  for (guint s = 0; s < n_slots; s++)
    {
      EfMatchSlot *slot = &c->problem.slots[s];

      slot->n = g_rand_int_range (rand, 1, n_slots == 5 ? 7 : MOST);
      slot->n_dims = s == 0 ? 6 : s == 1 ? 4 : 2;
      slot->candidates = c->candidates[s];
      for (guint i = 0; i < slot->n; i++)
        {
          EfMatchCandidate *one = &c->candidates[s][i];

          for (guint d = 0; d < slot->n_dims; d++)
            {
              double size = s == 0 ? (d < 2 ? draw (rand, 28.07e-3, 0.12e-3) : d < 4 ? draw (rand, 50.74e-3, 0.08e-3) : draw (rand, 20.02e-3, 0.04e-3))
                            : s == 1 ? (d < 2 ? draw (rand, 28e-3, 0.03e-3) : draw (rand, 50.6e-3, 0.03e-3))
                            : s == 2 ? draw (rand, 20.02e-3, 0.04e-3) : draw (rand, 19.96e-3, 0.03e-3);

              one->x[d] = coarse ? round (size / 5e-6) * 5e-6 : size;
              one->u[d] = g_rand_double_range (rand, 0, 4e-6);
            }
          if (s < 2 && g_rand_boolean (rand))
            one->x[1] = one->x[0] + draw (rand, 0, 4e-6);
          one->faces = g_rand_boolean (rand) ? 0 : g_rand_int_range (rand, 1, 3);
          one->stock = one->faces * 5000 * g_rand_int_range (rand, 1, 5);
          one->lapped = one->faces > 0 && g_rand_boolean (rand);
          one->room = g_rand_boolean (rand) ? 0 : g_rand_int_range (rand, 0, 90000);
        }
    }
  c->terms[0] = (EfMatchTerm){ EF_MATCH_STACK, { 0, 1 }, { { 0, 1 }, { 0, 1 } }, 1, 40e-6, 140e-6, { 2.1, 2.1 } };
  for (guint g = 0; g < 2; g++)
    c->terms[1 + g] = (EfMatchTerm){ EF_MATCH_GAP, { 0, 1 }, { { 2 + g, 0 }, { 2 + g, 0 } }, 0.5, NAN, 160e-6, { 0.7, 0 } };
  c->problem.n_terms = 3;
  for (guint g = 0; n_slots == 5 && g < 2; g++)
    {
      c->terms[c->problem.n_terms++] = (EfMatchTerm){ EF_MATCH_GAP, { 0, 3 + g }, { { 4 + g, 0 }, { 0, 0 } }, 1, 20e-6, 120e-6, { 0.1, 0 } };
      c->terms[c->problem.n_terms++] = (EfMatchTerm){ EF_MATCH_GAP, { 2, 3 + g }, { { g, 0 }, { 1, 0 } }, 1, 20e-6, 120e-6, { 0, 0 } };
    }
}

/* From the definitions. */
static gboolean
reckon (const Case *c,
        const guint *choice,
        EfMatchCost *cost)
{
  const EfMatchCandidate *at[EF_MATCH_SLOTS];

  memset (cost, 0, sizeof *cost);
  for (guint s = 0; s < c->problem.n_slots; s++)
    {
      at[s] = &c->candidates[s][choice[s]];
      cost->faces += at[s]->faces;
      cost->stock += at[s]->stock;
    }
  for (guint t = 0; t < c->problem.n_terms; t++)
    {
      const EfMatchTerm *term = &c->terms[t];
      const EfMatchCandidate *a = at[term->slot[0]], *b = at[term->slot[1]];
      guint n = term->kind == EF_MATCH_STACK ? 2 : 1;
      double value[2], off[2];
      int mating, ends;
      gboolean found = FALSE;

      for (guint g = 0; g < n; g++)
        {
          value[g] = (a->x[term->dim[0][g]] - b->x[term->dim[1][g]]) * term->scale;
          off[g] = c->problem.guard * term->scale * hypot (a->u[term->dim[0][g]], b->u[term->dim[1][g]]);
        }
      /* By trying every lap from none upwards: off the mating face, or off an end of both gears. */
      for (int lap = 0; lap < 60 && !found; lap++)
        for (int which = 0; which < (lap == 0 ? 1 : 2) && !found; which++)
          {
            double change = (which == 0 ? -lap : lap) * 5e-6;
            gboolean within = TRUE;

            if (lap > 0 && (term->kind == EF_MATCH_GAP || lap * 5000 > (which == 0 ? a->room : b->room)))
              continue;
            for (guint g = 0; g < n; g++)
              {
                if (!isnan (term->least) && value[g] + change - off[g] < term->least - 5e-12)
                  within = FALSE;
                if (!isnan (term->most) && value[g] + change + off[g] > term->most + 5e-12)
                  within = FALSE;
              }
            if (!within)
              continue;
            found = TRUE;
            mating = which == 0 ? lap : 0;
            ends = which == 1 ? lap : 0;
            cost->faces += (mating > 0 && !a->lapped) + 2 * (ends > 0 && !b->lapped);
            cost->stock += mating * 5000 + 2 * ends * 5000;
            for (guint g = 0; g < n; g++)
              cost->leak += term->leak[g] * pow (fmax (value[g] + change, 0), 3);
          }
      if (!found)
        return FALSE;
    }

  return TRUE;
}

static int
compare_costs (gconstpointer a,
               gconstpointer b)
{
  return ef_match_cost_compare (a, b);
}

static GArray *
look_at_all (const Case *c)
{
  GArray *all = g_array_new (FALSE, FALSE, sizeof (EfMatchCost));
  guint choice[EF_MATCH_SLOTS] = { 0 };
  guint s;

  do
    {
      EfMatchCost cost;

      if (reckon (c, choice, &cost))
        g_array_append_val (all, cost);
      for (s = 0; s < c->problem.n_slots && ++choice[s] == c->problem.slots[s].n; s++)
        choice[s] = 0;
    }
  while (s < c->problem.n_slots);
  g_array_sort (all, compare_costs);

  return all;
}

static void
assert_same_cost (const EfMatchCost *a,
                  const EfMatchCost *b)
{
  g_assert_cmpint (a->faces, ==, b->faces);
  g_assert_cmpint (a->stock, ==, b->stock);
  g_assert_cmpfloat_with_epsilon (a->leak, b->leak, 1e-9 * b->leak + 1e-24);
}

static void
test_brute_force (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (28);
  g_autofree Case *c = g_new (Case, 1);
  guint fitting = 0, lapped = 0;

  for (guint n = 0; n < 800; n++)
    {
      g_autoptr (GError) error = NULL;
      g_autoptr (GArray) all = NULL;
      g_autoptr (GArray) best = NULL;
      guint most = g_rand_int_range (rand, 1, 9);

      make_case (rand, c);
      all = look_at_all (c);
      best = ef_match_best (&c->problem, most, NULL, NULL, &error);
      g_assert_no_error (error);
      g_assert_cmpuint (best->len, ==, MIN (most, all->len));
      for (guint i = 0; i < best->len; i++)
        {
          const EfMatchResult *result = &g_array_index (best, EfMatchResult, i);
          EfMatchCost cost;

          assert_same_cost (&result->cost, &g_array_index (all, EfMatchCost, i));
          g_assert_true (reckon (c, result->choice, &cost));
          assert_same_cost (&result->cost, &cost);
          for (guint k = 0; k < i; k++)
            g_assert_true (memcmp (result->choice, g_array_index (best, EfMatchResult, k).choice, c->problem.n_slots * sizeof (guint)) != 0);
          lapped += i == 0 && cost.stock > 0;
        }
      fitting += best->len > 0;
    }
  /* The cases are worth something only if many fit, many don't, and many need work. */
  g_assert_cmpuint (fitting, >, 300);
  g_assert_cmpuint (fitting, <, 780);
  g_assert_cmpuint (lapped, >, 100);
}

static void
test_fit_tells (void)
{
  EfMatchCandidate body = { .x = { 28.1e-3, 28.1e-3 }, .u = { 2e-6, 2e-6 }, .room = 60000 };
  EfMatchCandidate pair = { .x = { 27.93e-3, 27.93e-3 }, .u = { 2e-6, 2e-6 } };
  EfMatchTerm stack = { EF_MATCH_STACK, { 0, 1 }, { { 0, 1 }, { 0, 1 } }, 1, 40e-6, 140e-6, { 1, 1 } };
  EfMatchProblem problem = { .n_slots = 2, .n_terms = 1, .terms = &stack, .guard = 2 };
  EfMatchCost cost;
  EfMatchFit fit = ef_match_fit (&problem, &stack, &body, &pair, &cost);

  /* 170 µm with u = sqrt 8 µm: 140 less 2 u = 134.34 is allowed, so 35.66 must go: 40 in whole steps. Constructed. */
  g_assert_true (fit.fits);
  g_assert_cmpint (fit.lap_a, ==, 40000);
  g_assert_cmpint (fit.lap_b, ==, 0);
  g_assert_cmpfloat_with_epsilon (fit.value[0], 130e-6, 1e-12);
  g_assert_cmpint (cost.faces, ==, 1);
  body.room = 39999;
  fit = ef_match_fit (&problem, &stack, &body, &pair, NULL);
  g_assert_false (fit.fits);
  g_assert_true (fit.no_stock);
  g_assert_true (fit.over);
  /* Too tight by 12.34 with guard: 15 off an end of each gear. */
  pair.x[0] = pair.x[1] = 28.0666837e-3;
  pair.room = 15000;
  fit = ef_match_fit (&problem, &stack, &body, &pair, &cost);
  g_assert_true (fit.fits);
  g_assert_cmpint (fit.lap_b, ==, 15000);
  g_assert_cmpint (cost.faces, ==, 2);
  g_assert_cmpint (cost.stock, ==, 30000);
}

/* The stack's laps against the lapping plan's proven least stock: the same but for whole steps. Equal mates on an even pocket, since a plan has
 * one depth a section; constructed. */
static void
test_agrees_with_the_plan (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (5);
  guint solved = 0, refused = 0;

  for (guint n = 0; n < 200; n++)
    {
      double depth = draw (rand, 28.07e-3, 0.12e-3), width = draw (rand, 28e-3, 0.03e-3), u = g_rand_double_range (rand, 0, 4e-6);
      gint64 needed = g_rand_boolean (rand) ? 0 : 5000 * g_rand_int_range (rand, 1, 6), room = 5000 * g_rand_int_range (rand, 0, 12), end_room = 5000 * g_rand_int_range (rand, 0, 8);
      EfMatchCandidate body = { .x = { depth - needed * 1e-9, depth - needed * 1e-9 }, .u = { u, u }, .faces = needed > 0, .stock = needed, .lapped = needed > 0, .room = room };
      EfMatchCandidate pair = { .x = { width, width }, .room = end_room };
      EfMatchTerm stack = { EF_MATCH_STACK, { 0, 1 }, { { 0, 1 }, { 0, 1 } }, 1, 40e-6, 140e-6, { 1, 1 } };
      EfMatchProblem match = { .n_slots = 2, .n_terms = 1, .terms = &stack, .guard = 1.645, .slots = { { 1, 2, &body }, { 1, 2, &pair } } };
      g_autoptr (EfLapProblem) problem = ef_lap_problem_new ();
      g_autoptr (GError) error = NULL;
      g_autoptr (EfLapPlan) plan = NULL;
      g_autoptr (GArray) best = NULL;
      EfLapSection *section;
      EfLapFace *face;

      face = ef_lap_problem_add_face (problem, "body/mating", EF_LAP_MATING);
      face->needed = needed * 1e-9;
      face->stock = (needed + room) * 1e-9;
      for (int g = 0; g < 2; g++)
        ef_lap_problem_add_face (problem, g == 0 ? "drive/end-a" : "driven/end-a", EF_LAP_GEAR_END)->stock = end_room * 1e-9;
      section = ef_lap_problem_add_section (problem, "pressure");
      section->depth = depth;
      section->width[0] = section->width[1] = width;
      section->width_allowed = 0;
      section->clearance_min = 40e-6;
      section->clearance_max = 140e-6;
      section->uncertainty = u;
      section->guard = 1.645;
      section->ends[0][0] = 1;
      section->ends[1][0] = 2;
      section->ends[0][1] = section->ends[1][1] = -1;
      ef_lap_section_add (section, 0, -1);
      plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_STOCK, &error);
      g_assert_no_error (error);
      best = ef_match_best (&match, 1, NULL, NULL, &error);
      g_assert_no_error (error);
      if (best->len > 0)
        {
          double stock = g_array_index (best, EfMatchResult, 0).cost.stock * 1e-9;

          g_assert_true (plan->feasible);
          g_assert_cmpfloat (stock, >=, plan->stock - 1e-9);
          g_assert_cmpfloat (stock, <=, plan->stock + 10e-6 + 1e-9);
          solved += stock > 0;
        }
      else
        {
          /* At most for want of the last whole step. */
          g_assert_true (!plan->feasible || plan->removal[0] > (needed + room) * 1e-9 - 5e-6 || plan->removal[1] > end_room * 1e-9 - 5e-6);
          refused++;
        }
    }
  g_assert_cmpuint (solved, >, 40);
  g_assert_cmpuint (refused, >, 20);
}

static void
test_bad_problems (void)
{
  EfMatchCandidate one = { .x = { 1 } };
  EfMatchTerm term = { EF_MATCH_GAP, { 0, 1 }, { { 0, 0 }, { 0, 0 } }, 1, NAN, NAN, { 0, 0 } };
  EfMatchProblem problem = { .n_slots = 2, .n_terms = 1, .terms = &term, .slots = { { 1, 1, &one }, { 1, 1, &one } } };
  g_autoptr (GArray) best = NULL;
  g_autoptr (GError) error = NULL;

  best = ef_match_best (&problem, 1, NULL, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpuint (best->len, ==, 1);
  one.x[0] = NAN;
  g_assert_null (ef_match_best (&problem, 1, NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  one.x[0] = 1;
  term.slot[1] = 2;
  g_assert_null (ef_match_best (&problem, 1, NULL, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  term.slot[1] = 1;
  problem.slots[1].n = 0;
  g_clear_pointer (&best, g_array_unref);
  best = ef_match_best (&problem, 1, NULL, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpuint (best->len, ==, 0);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/match/brute-force", test_brute_force);
  g_test_add_func ("/match/fit-tells", test_fit_tells);
  g_test_add_func ("/match/agrees-with-the-plan", test_agrees_with_the_plan);
  g_test_add_func ("/match/bad-problems", test_bad_problems);

  return g_test_run ();
}
