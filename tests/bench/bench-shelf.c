/* How long a match takes as the shelf grows, and against looking at everything where that can be waited for.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "shelf/ef-match.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define RESULTS 10

static double
draw (GRand *rand,
      double middle,
      double spread)
{
  return middle + spread * g_rand_double_range (rand, -1, 1);
}

/* A shelf of one model with every place of the pump open: the hardest there is. Parts: housings, pairs (two parts each), covers, two shafts. */
static void
fill_shelf (GRand *rand,
            guint parts,
            EfMatchProblem *problem)
{
  static const EfMatchTerm terms[] = {
    { EF_MATCH_STACK, { 0, 1 }, { { 0, 1 }, { 0, 1 } }, 1, 40e-6, 140e-6, { 2.1, 2.1 } },
    { EF_MATCH_GAP, { 0, 1 }, { { 2, 0 }, { 2, 0 } }, 0.5, NAN, 160e-6, { 0.7, 0 } },
    { EF_MATCH_GAP, { 0, 1 }, { { 3, 0 }, { 3, 0 } }, 0.5, NAN, 160e-6, { 0.7, 0 } },
    { EF_MATCH_GAP, { 0, 3 }, { { 4, 0 }, { 0, 0 } }, 1, 20e-6, 120e-6, { 0.1, 0 } },
    { EF_MATCH_GAP, { 2, 3 }, { { 0, 0 }, { 1, 0 } }, 1, 20e-6, 120e-6, { 0.1, 0 } },
    { EF_MATCH_GAP, { 0, 4 }, { { 5, 0 }, { 0, 0 } }, 1, 20e-6, 120e-6, { 0.1, 0 } },
    { EF_MATCH_GAP, { 2, 4 }, { { 1, 0 }, { 1, 0 } }, 1, 20e-6, 120e-6, { 0.1, 0 } },
  };

  memset (problem, 0, sizeof *problem);
  problem->n_slots = 5;
  problem->terms = terms;
  problem->n_terms = G_N_ELEMENTS (terms);
  problem->guard = 1.645;
  for (guint s = 0; s < 5; s++)
    {
      EfMatchSlot *slot = &problem->slots[s];
      EfMatchCandidate *candidates;

      slot->n = MAX (parts / 6, 1);
      slot->n_dims = s == 0 ? 6 : s == 1 ? 4 : 2;
      candidates = g_new0 (EfMatchCandidate, slot->n);
      for (guint i = 0; i < slot->n; i++)
        {
          EfMatchCandidate *one = &candidates[i];
          double wear = g_rand_double (rand); /* a part that was long at work is worn all over */

          for (guint d = 0; d < slot->n_dims; d++)
            {
              double side = s == 0 || s == 2 ? 1 : -1;
              double nominal = s == 0 ? (d < 2 ? 28.07e-3 : d < 4 ? 50.74e-3 : 20.01e-3) : s == 1 ? (d < 2 ? 28e-3 : 50.6e-3) : s == 2 ? 20.01e-3 : 19.96e-3;

              one->x[d] = draw (rand, nominal + side * 40e-6 * wear, 15e-6);
              one->u[d] = g_rand_double_range (rand, 1e-6, 4e-6);
            }
          one->faces = g_rand_boolean (rand) ? 0 : g_rand_int_range (rand, 1, 3);
          one->stock = one->faces * 5000 * g_rand_int_range (rand, 1, 5);
          one->lapped = one->faces > 0;
          one->room = g_rand_int_range (rand, 0, 90000);
        }
      slot->candidates = candidates;
    }
}

/* The same, but each cover suits one of the shafts only, so that nothing fits, which shows late. */
static void
spoil_covers (EfMatchProblem *problem)
{
  EfMatchCandidate *covers = (EfMatchCandidate *) problem->slots[2].candidates;

  for (guint i = 0; i < problem->slots[2].n; i++)
    covers[i].x[i % 2] += 0.5e-3;
}

static void
empty_shelf (EfMatchProblem *problem)
{
  for (guint s = 0; s < problem->n_slots; s++)
    g_free ((gpointer) problem->slots[s].candidates);
}

/* Each term as soon as both of its candidates are chosen; no bounds. */
static guint64
look_at_all (const EfMatchProblem *problem,
             guint level,
             guint *choice,
             const EfMatchCost *so_far,
             EfMatchCost *best)
{
  guint64 looked = 0;

  if (level == problem->n_slots)
    {
      if (ef_match_cost_compare (so_far, best) < 0)
        *best = *so_far;
      return 1;
    }
  for (guint i = 0; i < problem->slots[level].n; i++)
    {
      const EfMatchCandidate *one = &problem->slots[level].candidates[i];
      EfMatchCost cost = { so_far->faces + one->faces, so_far->stock + one->stock, so_far->leak };
      gboolean fits = TRUE;

      choice[level] = i;
      for (guint t = 0; fits && t < problem->n_terms; t++)
        {
          const EfMatchTerm *term = &problem->terms[t];
          EfMatchCost more;

          if (MAX (term->slot[0], term->slot[1]) != level)
            continue;
          fits = ef_match_fit (problem, term, &problem->slots[term->slot[0]].candidates[choice[term->slot[0]]],
                               &problem->slots[term->slot[1]].candidates[choice[term->slot[1]]], &more).fits;
          cost.faces += more.faces;
          cost.stock += more.stock;
          cost.leak += more.leak;
        }
      if (fits)
        looked += look_at_all (problem, level + 1, choice, &cost, best);
    }

  return looked;
}

static double
seconds_since (gint64 start)
{
  return 1e-6 * (g_get_monotonic_time () - start);
}

static void
print_hopeless (void)
{
  static const guint sizes[] = { 1000, 10000, 100000 };
  double before = NAN;

  printf ("\nnothing fits: each cover suits one shaft only\n%10s %12s %14s %12s\n", "parts", "seconds", "boxes", "growth");
  for (guint k = 0; k < G_N_ELEMENTS (sizes); k++)
    {
      g_autoptr (GRand) rand = g_rand_new_with_seed (7);
      g_autoptr (GArray) best = NULL;
      EfMatchProblem problem;
      EfMatchStats stats;
      double seconds;
      gint64 start;

      fill_shelf (rand, sizes[k], &problem);
      spoil_covers (&problem);
      start = g_get_monotonic_time ();
      best = ef_match_best (&problem, RESULTS, &stats, NULL, NULL);
      seconds = seconds_since (start);
      printf ("%10u %12.6f %14" G_GUINT64_FORMAT " %12.2f%s\n", sizes[k], seconds, stats.boxes, seconds / before, best->len > 0 ? "   SOMETHING FITS" : "");
      before = seconds;
      empty_shelf (&problem);
    }
}

int
main (void)
{
  static const guint sizes[] = { 30, 60, 120, 1000, 10000, 100000 };
  double before = NAN;

  printf ("shelf match, all places of a one-section pump open, best %d\n", RESULTS);
  printf ("%10s %12s %14s %12s %14s %10s\n", "parts", "seconds", "boxes", "growth", "all looked at", "ratio");
  for (guint k = 0; k < G_N_ELEMENTS (sizes); k++)
    {
      g_autoptr (GRand) rand = g_rand_new_with_seed (7);
      g_autoptr (GArray) best = NULL;
      EfMatchProblem problem;
      EfMatchStats stats;
      double seconds, all = NAN;
      gint64 start;

      fill_shelf (rand, sizes[k], &problem);
      start = g_get_monotonic_time ();
      best = ef_match_best (&problem, RESULTS, &stats, NULL, NULL);
      seconds = seconds_since (start);
      if (sizes[k] <= 120)
        {
          EfMatchCost nothing = { 0 }, least = { G_MAXINT, 0, 0 };
          guint choice[EF_MATCH_SLOTS];

          start = g_get_monotonic_time ();
          look_at_all (&problem, 0, choice, &nothing, &least);
          all = seconds_since (start);
          least.leak *= 1 + 1e-12; /* sums in another order */
          if (best->len > 0 && ef_match_cost_compare (&least, &g_array_index (best, EfMatchResult, 0).cost) < 0)
            printf ("NOT THE BEST at %u parts\n", sizes[k]);
        }
      printf ("%10u %12.6f %14" G_GUINT64_FORMAT " %12.2f ", sizes[k], seconds, stats.boxes, seconds / before);
      if (isnan (all))
        printf ("%14s %10s", "", "");
      else
        printf ("%14.6f %10.1f", all, all / seconds);
      if (best->len > 0)
        {
          const EfMatchCost *cost = &g_array_index (best, EfMatchResult, 0).cost;

          printf ("   best: %d faces, %.3f mm, leak %.4g m3\n", cost->faces, cost->stock * 1e-6, cost->leak);
        }
      else
        printf ("   none fits\n");
      before = seconds;
      empty_shelf (&problem);
    }
  print_hopeless ();

  return 0;
}
