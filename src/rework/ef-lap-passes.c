/* The search for whole passes, one face and all together.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-lap-passes.h"

#include <math.h>

#define SLACK 1e-12     /* m: rounding of sums */
#define MOST_SUMS 2e6 /* of one face */

void
ef_lap_grits_default (EfLapGrits *out)
{
  static const EfLapGrits usual = { 3, { 6e-6, 2.5e-6, 1e-6 }, { 12e-6, 5e-6, 0.0 }, { 1.0, 0.8, 0.6 } };

  *out = usual;
}

gboolean
ef_lap_grits_check (const EfLapGrits *grits,
                    GError **error)
{
  if (grits->n < 1 || grits->n > EF_PASSES_MOST_GRITS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "grits: expected 1 to %d, found %u", EF_PASSES_MOST_GRITS, grits->n);
      return FALSE;
    }
  for (guint i = 0; i < grits->n; i++)
    if (!(grits->removal[i] >= 1e-9 && grits->removal[i] <= 1e-3) || !(grits->damage[i] >= 0.0 && grits->damage[i] <= 1e-3) ||
        !(grits->effort[i] > 0.0 && grits->effort[i] <= 1e6))
      {
        g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "grits[%u]: expected removal 0.001 to 1000 µm, damage 0 to 1000 µm, effort above 0, found %g, %g, %g", i,
                     grits->removal[i] * 1e6, grits->damage[i] * 1e6, grits->effort[i]);
        return FALSE;
      }

  return TRUE;
}

double
ef_lap_grits_removal (const EfLapGrits *grits,
                      const int *counts)
{
  double sum = 0.0;

  for (guint i = 0; i < grits->n; i++)
    sum += counts[i] * grits->removal[i];

  return sum;
}

double
ef_lap_grits_effort (const EfLapGrits *grits,
                     const int *counts)
{
  double sum = 0.0;

  for (guint i = 0; i < grits->n; i++)
    sum += counts[i] * grits->effort[i];

  return sum;
}

gboolean
ef_lap_grits_clean (const EfLapGrits *grits,
                    const int *counts)
{
  double finer = 0.0;
  gboolean any = FALSE;

  for (guint i = grits->n; i-- > 0;)
    {
      if (counts[i] > 0 && i + 1 < grits->n && finer < grits->damage[i] - SLACK)
        return FALSE;
      any = any || counts[i] > 0;
      finer += counts[i] * grits->removal[i];
    }

  return !any || counts[grits->n - 1] > 0;
}

/* One face: depth first from the coarsest grit, cut off where the effort can't get better. */
typedef struct
{
  const EfLapGrits *grits;
  double lower, upper;
  double cheapest[EF_PASSES_MOST_GRITS + 1]; /* least effort for each m among this grit and the finer ones */
  int counts[EF_PASSES_MOST_GRITS];
  int best[EF_PASSES_MOST_GRITS];
  double best_effort, best_removal;
} Search;

static void
offer (Search *search,
       double removal,
       double effort)
{
  if (effort > search->best_effort + 1e-9 || (effort > search->best_effort - 1e-9 && removal >= search->best_removal - SLACK))
    return;
  search->best_effort = MIN (effort, search->best_effort);
  search->best_removal = removal;
  for (guint i = 0; i < search->grits->n; i++)
    search->best[i] = search->counts[i];
}

/* The finest grit: as few passes as the sum and the scratches allow. @owed: what must still come off for the scratches left by coarser grits. */
static void
finish (Search *search,
        double removal,
        double effort,
        double owed)
{
  guint last = search->grits->n - 1;
  double needed = fmax (search->lower - removal, owed);
  int count = (int) fmax (ceil ((needed - SLACK) / search->grits->removal[last]), 1.0);

  search->counts[last] = count;
  removal += count * search->grits->removal[last];
  if (count <= EF_PASSES_MOST && removal <= search->upper + SLACK)
    offer (search, removal, effort + count * search->grits->effort[last]);
}

static void
descend (Search *search,
         guint grit,
         double removal,
         double effort,
         double owed)
{
  const EfLapGrits *grits = search->grits;

  if (grit + 1 == grits->n)
    {
      finish (search, removal, effort, owed);
      return;
    }
  for (int count = 0; count <= EF_PASSES_MOST; count++)
    {
      double taken = count * grits->removal[grit];
      double now = removal + taken;
      double cost = effort + count * grits->effort[grit];
      double left = fmax (owed - taken, count > 0 ? grits->damage[grit] : 0.0);
      double needed = fmax (search->lower - now, left);

      if (now > search->upper + SLACK || cost > search->best_effort)
        break;
      if (now + left <= search->upper + SLACK && cost + fmax (needed, 0.0) * search->cheapest[grit + 1] <= search->best_effort + 1e-9)
        {
          search->counts[grit] = count;
          descend (search, grit + 1, now, cost, fmax (left, 0.0));
        }
    }
  search->counts[grit] = 0;
}

gboolean
ef_lap_passes_find (const EfLapGrits *grits,
                    double lower,
                    double upper,
                    int *counts_out,
                    double *effort_out)
{
  Search search = { .grits = grits, .lower = lower, .upper = upper, .best_effort = INFINITY, .best_removal = INFINITY };

  for (guint i = 0; i < EF_PASSES_MOST_GRITS; i++)
    counts_out[i] = 0;
  if (effort_out != NULL)
    *effort_out = 0.0;
  if (lower <= SLACK)
    return upper >= -SLACK;
  if (!(upper >= lower - SLACK))
    return FALSE;
  search.cheapest[grits->n] = INFINITY;
  for (guint i = grits->n; i-- > 0;)
    search.cheapest[i] = fmin (search.cheapest[i + 1], grits->effort[i] / grits->removal[i]);
  descend (&search, 0, 0.0, 0.0, 0.0);
  if (!isfinite (search.best_effort))
    return FALSE;
  for (guint i = 0; i < grits->n; i++)
    counts_out[i] = search.best[i];
  if (effort_out != NULL)
    *effort_out = search.best_effort;

  return TRUE;
}

/* All faces */

void
ef_lap_pass_plan_free (EfLapPassPlan *plan)
{
  if (plan == NULL)
    return;
  g_free (plan->counts);
  g_free (plan->removal);
  g_free (plan->reason);
  g_free (plan);
}

static EfLapPassPlan *
pass_plan_new (guint n_faces)
{
  EfLapPassPlan *plan = g_new0 (EfLapPassPlan, 1);

  plan->n_faces = n_faces;
  plan->counts = g_malloc0_n (n_faces + 1, sizeof *plan->counts);
  plan->removal = g_new0 (double, n_faces + 1);

  return plan;
}

static void
sum_up (EfLapPassPlan *plan,
        const EfLapProblem *problem,
        const EfLapGrits *grits)
{
  plan->effort = 0.0;
  for (guint i = 0; i < plan->n_faces; i++)
    {
      plan->removal[i] = ef_lap_grits_removal (&grits[i], plan->counts[i]);
      plan->effort += ef_lap_problem_face (problem, i)->weight * ef_lap_grits_effort (&grits[i], plan->counts[i]);
    }
}

/* The plan's removals are replaced by those of whole passes one after the other. */
static gboolean
choose (EfLapPassPlan *plan,
        const EfLapGrits *grits,
        int face,
        double lower,
        double upper)
{
  if (!ef_lap_passes_find (&grits[face], lower, upper, plan->counts[face], NULL))
    return FALSE;
  plan->removal[face] = ef_lap_grits_removal (&grits[face], plan->counts[face]);

  return TRUE;
}

static gboolean
choose_gear (EfLapPassPlan *plan,
             const EfLapProblem *problem,
             const EfLapGrits *grits,
             const EfLapSection *section,
             int gear)
{
  for (int end = 0; end < 2; end++)
    {
      int face = section->ends[gear][end];

      if (face >= 0 && !choose (plan, grits, face, plan->removal[face], ef_lap_problem_face (problem, (guint) face)->stock))
        return FALSE;
    }

  return TRUE;
}

/* The wider gear again, when rounding has set the widths apart: its end that has more room. */
static gboolean
even_widths (EfLapPassPlan *plan,
             const EfLapProblem *problem,
             const EfLapGrits *grits,
             const EfLapSection *section)
{
  double difference = ef_lap_section_width (section, plan->removal, 0) - ef_lap_section_width (section, plan->removal, 1);
  double more = fabs (difference) - section->width_allowed;
  int gear = difference > 0.0 ? 0 : 1;

  if (!(more > SLACK))
    return TRUE;
  for (int end = 0; end < 2; end++)
    {
      int face = section->ends[gear][end];
      double had = face >= 0 ? plan->removal[face] : 0.0;
      int kept[EF_PASSES_MOST_GRITS];

      if (face < 0)
        continue;
      for (int i = 0; i < EF_PASSES_MOST_GRITS; i++)
        kept[i] = plan->counts[face][i];
      if (choose (plan, grits, face, had + more, fmin (had + more + 2.0 * section->width_allowed, ef_lap_problem_face (problem, (guint) face)->stock)))
        return TRUE;
      for (int i = 0; i < EF_PASSES_MOST_GRITS; i++)
        plan->counts[face][i] = kept[i];
      plan->removal[face] = had;
    }

  return FALSE;
}

/* What the window leaves for one depth face of effect -1 or +1, the others staying as they are. */
static void
narrow_bounds (const EfLapPassPlan *plan,
               const EfLapSection *section,
               const EfLapTerm *term,
               double *lower,
               double *upper)
{
  double window[2];

  ef_lap_section_window (section, &window[0], &window[1]);
  for (int gear = 0; gear < 2; gear++)
    {
      double rest = ef_lap_section_clearance (section, plan->removal, gear) - term->effect * plan->removal[term->face];
      double a = (window[0] - rest) / term->effect;
      double b = (window[1] - rest) / term->effect;

      *lower = fmax (*lower, fmin (a, b));
      *upper = fmin (*upper, fmax (a, b));
    }
}

static gboolean
choose_depth (EfLapPassPlan *plan,
              const EfLapProblem *problem,
              const EfLapGrits *grits,
              int face)
{
  const EfLapFace *it = ef_lap_problem_face (problem, (guint) face);
  double planned = plan->removal[face] - 2.0 * grits[face].removal[grits[face].n - 1];
  double lower = ef_lap_face_least (it);
  double upper = it->stock;

  for (guint i = 0; i < problem->sections->len; i++)
    {
      const EfLapSection *section = ef_lap_problem_section (problem, i);

      for (guint k = 0; k < section->effects->len; k++)
        if (g_array_index (section->effects, EfLapTerm, k).face == face && g_array_index (section->effects, EfLapTerm, k).effect != 0.0)
          narrow_bounds (plan, section, &g_array_index (section->effects, EfLapTerm, k), &lower, &upper);
    }

  /* About what the plan takes off, which may have had another goal than to take off little. */
  return choose (plan, grits, face, fmax (fmax (lower, planned), 0.0), upper) || choose (plan, grits, face, fmax (lower, 0.0), upper);
}

static gboolean
go_in_turn (EfLapPassPlan *plan,
            const EfLapProblem *problem,
            const EfLapGrits *grits)
{
  g_autofree gboolean *done = g_new0 (gboolean, plan->n_faces + 1);

  for (guint i = 0; i < problem->sections->len; i++)
    {
      const EfLapSection *section = ef_lap_problem_section (problem, i);

      if (!choose_gear (plan, problem, grits, section, 0) || !choose_gear (plan, problem, grits, section, 1) || !even_widths (plan, problem, grits, section))
        return FALSE;
      for (int k = 0; k < 4; k++)
        if (section->ends[k / 2][k % 2] >= 0)
          done[section->ends[k / 2][k % 2]] = TRUE;
    }
  for (guint i = 0; i < problem->sections->len; i++)
    {
      const GArray *effects = ef_lap_problem_section (problem, i)->effects;

      for (guint k = 0; k < effects->len; k++)
        {
          int face = g_array_index (effects, EfLapTerm, k).face;

          if (!done[face] && !choose_depth (plan, problem, grits, face))
            return FALSE;
          done[face] = TRUE;
        }
    }
  for (guint i = 0; i < plan->n_faces; i++)
    if (!done[i] && !choose (plan, grits, (int) i, plan->removal[i], ef_lap_problem_face (problem, i)->stock))
      return FALSE;

  return ef_lap_problem_violation (problem, plan->removal, NULL) <= 1e-9;
}

/* The joint search. What a face can have taken off by whole passes is a list of sums with the least effort for each; the two ends of a gear make one list; for each sum of the
 * faces that set a pocket's depth the best pair of gear sums is looked up. So every combination is weighed without going through each. */
typedef struct
{
  double removal, effort;
  int part[2]; /* entries of the lists that this one was made from */
} Sum;

static int
less_first (gconstpointer a,
            gconstpointer b)
{
  const Sum *x = a, *y = b;

  if (fabs (x->removal - y->removal) > SLACK)
    return x->removal < y->removal ? -1 : 1;

  return x->effort < y->effort ? -1 : x->effort > y->effort;
}

/* Sorted, and of entries of the same sum the cheapest. */
static void
thin_out (GArray *sums)
{
  guint kept = 0;

  g_array_sort (sums, less_first);
  for (guint i = 0; i < sums->len; i++)
    {
      Sum one = g_array_index (sums, Sum, i);

      if (kept > 0 && one.removal - g_array_index (sums, Sum, kept - 1).removal <= SLACK)
        continue;
      g_array_index (sums, Sum, kept++) = one;
    }
  g_array_set_size (sums, kept);
}

typedef struct
{
  const EfLapGrits *grits;
  double weight;
  double least, most;
  GArray *sums;
  GArray *counts; /* of each entry: EF_PASSES_MOST_GRITS ints */
} Choices;

static void
choices_clear (Choices *choices)
{
  g_clear_pointer (&choices->sums, g_array_unref);
  g_clear_pointer (&choices->counts, g_array_unref);
}

static void
list_counts (Choices *choices,
             guint grit,
             int *counts,
             double removal)
{
  const EfLapGrits *grits = choices->grits;

  if (grit == grits->n)
    {
      Sum sum = { removal, choices->weight * ef_lap_grits_effort (grits, counts), { (int) choices->counts->len, 0 } };

      if (removal >= choices->least - SLACK && ef_lap_grits_clean (grits, counts))
        {
          g_array_append_val (choices->sums, sum);
          g_array_append_vals (choices->counts, counts, 1);
        }
      return;
    }
  for (counts[grit] = 0; removal + counts[grit] * grits->removal[grit] <= choices->most + SLACK && counts[grit] <= EF_PASSES_MOST; counts[grit]++)
    list_counts (choices, grit + 1, counts, removal + counts[grit] * grits->removal[grit]);
  counts[grit] = 0;
}

/* How many entries a list would have, about. */
static double
list_size (const EfLapGrits *grits,
           double most)
{
  double size = 1.0;

  for (guint i = 0; i < grits->n; i++)
    size *= most / grits->removal[i] / (i + 1) + 1.0;

  return size;
}

static gboolean
choices_init (Choices *choices,
              const EfLapProblem *problem,
              const EfLapGrits *grits,
              int face,
              GError **error)
{
  int counts[EF_PASSES_MOST_GRITS] = { 0 };

  choices->grits = &grits[face];
  choices->weight = ef_lap_problem_face (problem, (guint) face)->weight;
  choices->least = ef_lap_face_least (ef_lap_problem_face (problem, (guint) face));
  choices->most = ef_lap_problem_face (problem, (guint) face)->stock;
  choices->sums = g_array_new (FALSE, FALSE, sizeof (Sum));
  choices->counts = g_array_new (FALSE, FALSE, EF_PASSES_MOST_GRITS * sizeof (int));
  if (list_size (choices->grits, choices->most) > MOST_SUMS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "passes: %s: too many counts of passes to try them all", ef_lap_problem_face (problem, (guint) face)->id);
      return FALSE;
    }
  list_counts (choices, 0, counts, 0.0);
  thin_out (choices->sums);

  return TRUE;
}

/* Sums of two lists. */
static GArray *
combine (const GArray *a,
         double effect_a,
         const GArray *b,
         double effect_b,
         double least,
         double most)
{
  GArray *sums = g_array_new (FALSE, FALSE, sizeof (Sum));

  for (guint i = 0; i < a->len; i++)
    for (guint k = 0; k < b->len; k++)
      {
        const Sum *x = &g_array_index (a, Sum, i), *y = &g_array_index (b, Sum, k);
        Sum sum = { effect_a * x->removal + effect_b * y->removal, x->effort + y->effort, { (int) i, (int) k } };

        if (sum.removal >= least - SLACK && sum.removal <= most + SLACK)
          g_array_append_val (sums, sum);
      }
  thin_out (sums);

  return sums;
}

static GArray *
nothing (void)
{
  GArray *sums = g_array_new (FALSE, FALSE, sizeof (Sum));
  Sum none = { 0.0, 0.0, { -1, -1 } };

  g_array_append_val (sums, none);

  return sums;
}

/* One section: lists of both gears; of its depth faces at most one is shared with others. */
typedef struct
{
  const EfLapSection *section;
  GArray *gear[2];
  int best[2];   /* of the last search */
} Pair;

/* Least effort of the second gear for each stretch of its list: a table of minima over 2^k entries. */
static GPtrArray *
minima (const GArray *sums)
{
  GPtrArray *levels = g_ptr_array_new_with_free_func (g_free);
  int *level = g_new (int, sums->len + 1);

  for (guint i = 0; i < sums->len; i++)
    level[i] = (int) i;
  g_ptr_array_add (levels, level);
  for (guint width = 1; 2 * width <= sums->len; width *= 2)
    {
      int *wider = g_new (int, sums->len + 1);

      for (guint i = 0; i + 2 * width <= sums->len; i++)
        wider[i] = g_array_index (sums, Sum, level[i]).effort <= g_array_index (sums, Sum, level[i + width]).effort ? level[i] : level[i + width];
      g_ptr_array_add (levels, wider);
      level = wider;
    }

  return levels;
}

/* First entry of at least @removal. */
static guint
lower_bound (const GArray *sums,
             double removal)
{
  guint low = 0, high = sums->len;

  while (low < high)
    {
      guint middle = low + (high - low) / 2;

      if (g_array_index (sums, Sum, middle).removal < removal)
        low = middle + 1;
      else
        high = middle;
    }

  return low;
}

static int
cheapest_within (const GArray *sums,
                 const GPtrArray *levels,
                 double least,
                 double most)
{
  guint from = lower_bound (sums, least - SLACK), to = lower_bound (sums, most + SLACK);
  guint level = 0;
  const int *minimum;
  int a, b;

  if (from >= to)
    return -1;
  while ((2u << level) <= to - from)
    level++;
  minimum = levels->pdata[level];
  a = minimum[from];
  b = minimum[to - (1u << level)];

  return g_array_index (sums, Sum, a).effort <= g_array_index (sums, Sum, b).effort ? a : b;
}

/* The best pair when the pocket has got deeper by @change. */
static double
best_pair (Pair *pair,
           const GPtrArray *levels,
           double change)
{
  const EfLapSection *section = pair->section;
  double delta = section->width[0] - section->width[1];
  double window[2], best = INFINITY;
  double low[2], high[2];

  ef_lap_section_window (section, &window[0], &window[1]);
  for (int i = 0; i < 2; i++)
    {
      low[i] = window[0] - (section->depth + change - section->width[i]);
      high[i] = window[1] - (section->depth + change - section->width[i]);
    }
  for (guint i = lower_bound (pair->gear[0], low[0] - SLACK); i < pair->gear[0]->len; i++)
    {
      const Sum *one = &g_array_index (pair->gear[0], Sum, i);
      int other;

      if (one->removal > high[0] + SLACK)
        break;
      other = cheapest_within (pair->gear[1], levels, fmax (low[1], one->removal - delta - section->width_allowed),
                               fmin (high[1], one->removal - delta + section->width_allowed));
      if (other < 0 || one->effort + g_array_index (pair->gear[1], Sum, other).effort >= best)
        continue;
      best = one->effort + g_array_index (pair->gear[1], Sum, other).effort;
      pair->best[0] = (int) i;
      pair->best[1] = other;
    }

  return best;
}

/* Everything that hangs together by one list of depths. */
typedef struct
{
  const EfLapProblem *problem;
  const EfLapGrits *grits;
  Choices *choices; /* one a face */
  gboolean *done;
  EfLapPassPlan *plan;
} Joint;

static void
take (const Joint *joint,
      int face,
      int entry)
{
  const Choices *choices = &joint->choices[face];
  const Sum *sum = &g_array_index (choices->sums, Sum, entry);
  const int *counts = (const int *) (gconstpointer) choices->counts->data + (gsize) sum->part[0] * EF_PASSES_MOST_GRITS;

  for (int k = 0; k < EF_PASSES_MOST_GRITS; k++)
    joint->plan->counts[face][k] = counts[k];
  joint->plan->removal[face] = ef_lap_grits_removal (&joint->grits[face], joint->plan->counts[face]);
  joint->done[face] = TRUE;
}

static GArray *
end_sums (const Joint *joint,
          int face)
{
  return face >= 0 ? g_array_ref (joint->choices[face].sums) : nothing ();
}

/* A limit on nothing but the two ends of this gear narrows its list. */
static double
most_of_gear (const Joint *joint,
              const EfLapSection *section,
              int gear)
{
  double most = INFINITY;

  for (guint i = 0; i < joint->problem->limits->len; i++)
    {
      const EfLapLimit *limit = ef_lap_problem_limit (joint->problem, i);
      gboolean own = limit->terms->len == 2;

      for (guint k = 0; own && k < limit->terms->len; k++)
        {
          const EfLapTerm *term = &g_array_index (limit->terms, EfLapTerm, k);

          own = term->effect == 1.0 && (term->face == section->ends[gear][0] || term->face == section->ends[gear][1]);
        }
      if (own)
        most = fmin (most, limit->max);
    }

  return most;
}

static gboolean
search_group (Joint *joint,
              const guint *members,
              guint n_members)
{
  const EfLapSection *first = ef_lap_problem_section (joint->problem, members[0]);
  const GArray *effects = first->effects;
  g_autofree Pair *pairs = g_new0 (Pair, n_members);
  g_autofree int *chosen = g_new0 (int, 2 * n_members);
  g_autoptr (GPtrArray) tables = g_ptr_array_new_with_free_func ((GDestroyNotify) g_ptr_array_unref);
  GArray *a = effects->len > 0 ? g_array_ref (joint->choices[g_array_index (effects, EfLapTerm, 0).face].sums) : nothing ();
  GArray *b = effects->len > 1 ? g_array_ref (joint->choices[g_array_index (effects, EfLapTerm, 1).face].sums) : nothing ();
  GArray *depths = combine (a, effects->len > 0 ? g_array_index (effects, EfLapTerm, 0).effect : 1.0, b,
                            effects->len > 1 ? g_array_index (effects, EfLapTerm, 1).effect : 1.0, -INFINITY, INFINITY);
  double best = INFINITY;
  Sum depth = { 0 };

  for (guint m = 0; m < n_members; m++)
    {
      pairs[m].section = ef_lap_problem_section (joint->problem, members[m]);
      for (int gear = 0; gear < 2; gear++)
        {
          GArray *x = end_sums (joint, pairs[m].section->ends[gear][0]);
          GArray *y = end_sums (joint, pairs[m].section->ends[gear][1]);

          pairs[m].gear[gear] = combine (x, 1.0, y, 1.0, 0.0, most_of_gear (joint, pairs[m].section, gear));
          g_array_unref (x);
          g_array_unref (y);
        }
      g_ptr_array_add (tables, minima (pairs[m].gear[1]));
    }
  for (guint i = 0; i < depths->len; i++)
    {
      double effort = g_array_index (depths, Sum, i).effort;

      for (guint m = 0; m < n_members && effort < best; m++)
        effort += best_pair (&pairs[m], tables->pdata[m], g_array_index (depths, Sum, i).removal);
      if (!(effort < best - 1e-12))
        continue;
      best = effort;
      depth = g_array_index (depths, Sum, i);
      for (guint m = 0; m < n_members; m++)
        for (int gear = 0; gear < 2; gear++)
          chosen[2 * m + (guint) gear] = pairs[m].best[gear];
    }
  for (guint m = 0; m < n_members; m++)
    for (int gear = 0; gear < 2; gear++)
      {
        for (int end = 0; isfinite (best) && end < 2; end++)
          if (pairs[m].section->ends[gear][end] >= 0)
            take (joint, pairs[m].section->ends[gear][end], g_array_index (pairs[m].gear[gear], Sum, chosen[2 * m + (guint) gear]).part[end]);
        g_array_unref (pairs[m].gear[gear]);
      }
  for (guint k = 0; isfinite (best) && k < effects->len; k++)
    take (joint, g_array_index (effects, EfLapTerm, k).face, depth.part[k]);
  g_array_unref (a);
  g_array_unref (b);
  g_array_unref (depths);

  return isfinite (best);
}

static gboolean
same_effects (const GArray *a,
              const GArray *b)
{
  if (a->len != b->len)
    return FALSE;
  for (guint i = 0; i < a->len; i++)
    if (g_array_index (a, EfLapTerm, i).face != g_array_index (b, EfLapTerm, i).face || g_array_index (a, EfLapTerm, i).effect != g_array_index (b, EfLapTerm, i).effect)
      return FALSE;

  return TRUE;
}

static gboolean
share_any (const GArray *a,
           const GArray *b)
{
  for (guint i = 0; i < a->len; i++)
    for (guint k = 0; k < b->len; k++)
      if (g_array_index (a, EfLapTerm, i).face == g_array_index (b, EfLapTerm, k).face)
        return TRUE;

  return FALSE;
}

/* Sections share their depth faces wholly or not at all, at most two of them, and no gear end: all that pumps on record are built like. */
static gboolean
can_be_searched (const EfLapProblem *problem)
{
  for (guint i = 0; i < problem->sections->len; i++)
    {
      const GArray *mine = ef_lap_problem_section (problem, i)->effects;

      if (mine->len > 2)
        return FALSE;
      for (guint k = 0; k < i; k++)
        if (share_any (mine, ef_lap_problem_section (problem, k)->effects) && !same_effects (mine, ef_lap_problem_section (problem, k)->effects))
          return FALSE;
    }

  return TRUE;
}

/* TRUE with plan->feasible set; FALSE: a list is too long. */
static gboolean
search_all (Joint *joint,
            GError **error)
{
  const EfLapProblem *problem = joint->problem;
  g_autofree gboolean *seen = g_new0 (gboolean, problem->sections->len + 1);
  g_autofree guint *members = g_new0 (guint, problem->sections->len + 1);

  for (guint i = 0; i < joint->plan->n_faces; i++)
    if (!choices_init (&joint->choices[i], problem, joint->grits, (int) i, error))
      return FALSE;
  joint->plan->feasible = TRUE;
  for (guint i = 0; i < problem->sections->len && joint->plan->feasible; i++)
    {
      guint n = 0;

      for (guint k = i; k < problem->sections->len; k++)
        if (!seen[k] && (k == i || (ef_lap_problem_section (problem, i)->effects->len > 0 &&
                                    same_effects (ef_lap_problem_section (problem, i)->effects, ef_lap_problem_section (problem, k)->effects))))
          {
            seen[k] = TRUE;
            members[n++] = k;
          }
      if (n > 0)
        joint->plan->feasible = search_group (joint, members, n);
    }
  for (guint i = 0; i < joint->plan->n_faces && joint->plan->feasible; i++)
    if (!joint->done[i])
      {
        joint->plan->feasible = choose (joint->plan, joint->grits, (int) i, ef_lap_face_least (ef_lap_problem_face (problem, i)), ef_lap_problem_face (problem, i)->stock);
        joint->done[i] = TRUE;
      }

  return TRUE;
}

EfLapPassPlan *
ef_lap_passes_search (const EfLapProblem *problem,
                      const EfLapGrits *grits,
                      GError **error)
{
  g_autoptr (EfLapPassPlan) plan = NULL;
  Joint joint = { .problem = problem, .grits = grits };
  gboolean searched;

  if (!ef_lap_problem_check (problem, error))
    return NULL;
  for (guint i = 0; i < problem->faces->len; i++)
    if (!ef_lap_grits_check (&grits[i], error))
      return NULL;
  if (!can_be_searched (problem))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "passes: expected sections that share their mating faces wholly or not at all");
      return NULL;
    }
  plan = pass_plan_new (problem->faces->len);
  joint.plan = plan;
  joint.choices = g_new0 (Choices, plan->n_faces + 1);
  joint.done = g_new0 (gboolean, plan->n_faces + 1);
  searched = search_all (&joint, error);
  for (guint i = 0; i < plan->n_faces; i++)
    choices_clear (&joint.choices[i]);
  g_free (joint.choices);
  g_free (joint.done);
  if (!searched)
    return NULL;
  if (!plan->feasible)
    plan->reason = g_strdup ("No whole number of passes keeps every limit: with finer grits, or a pass that takes off less, it can be done.");
  else if (ef_lap_problem_violation (problem, plan->removal, NULL) > 1e-9)
    {
      /* Only limits that tie parts of different sections together are left out of the search. */
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "passes: limits over several sections: the passes have to be chosen by hand");
      return NULL;
    }
  else
    sum_up (plan, problem, grits);

  return g_steal_pointer (&plan);
}

EfLapPassPlan *
ef_lap_passes_plan (const EfLapProblem *problem,
                    const EfLapPlan *lapping,
                    const EfLapGrits *grits,
                    GError **error)
{
  g_autoptr (EfLapPassPlan) plan = NULL;

  if (!lapping->feasible || lapping->n_faces != problem->faces->len)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "passes: expected a plan that can be done of the same problem");
      return NULL;
    }
  for (guint i = 0; i < problem->faces->len; i++)
    if (!ef_lap_grits_check (&grits[i], error))
      return NULL;
  plan = pass_plan_new (problem->faces->len);
  for (guint i = 0; i < plan->n_faces; i++)
    plan->removal[i] = lapping->removal[i];
  if (!go_in_turn (plan, problem, grits))
    return ef_lap_passes_search (problem, grits, error);
  sum_up (plan, problem, grits);
  plan->feasible = TRUE;
  plan->in_turn = TRUE;

  return g_steal_pointer (&plan);
}
