/* Branch and bound over trees of boxes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Slots are filled one after the other. While one is open, its tree is walked best box first; each candidate that comes out gives all later slots
 * that meet it a new least cost, found in their own trees. Their sum with what is filled bounds the whole from below: a tuple of
 * least costs, each the lexicographic least of its slot, adds up to no more than any assembly, since the order is kept by addition.
 */
#include "ef-match.h"

#include <math.h>

#define SAME 5e-12 /* m: nearer to a limit than this is on it, whatever the rounding */

typedef struct
{
  double lo[EF_MATCH_DIMS], hi[EF_MATCH_DIMS];
  double u_lo[EF_MATCH_DIMS], u_hi[EF_MATCH_DIMS];
  int faces;            /* least */
  gint64 stock;         /* least */
  gint64 room;          /* most */
  gboolean lapped;      /* any */
  guint left, right;    /* nodes; 0: a single candidate */
  guint candidate;
} Box;

typedef struct
{
  Box *boxes; /* the first is the root */
  guint n;
} Tree;

typedef struct
{
  EfMatchCost cost;
  guint box;
} Open;

typedef struct
{
  const EfMatchProblem *problem;
  Tree trees[EF_MATCH_SLOTS];
  guint order[EF_MATCH_SLOTS];
  guint rank[EF_MATCH_SLOTS];        /* place in the order */
  const Box *filled[EF_MATCH_SLOTS]; /* NULL: open */
  EfMatchCost terms_least[EF_MATCH_SLOTS]; /* by level: terms both of whose slots are open, at least */
  GArray *best;                      /* EfMatchResult, sorted */
  guint most;
  EfMatchStats stats;
  GCancellable *cancellable;
} Search;

int
ef_match_cost_compare (const EfMatchCost *a,
                       const EfMatchCost *b)
{
  if (a->faces != b->faces)
    return a->faces < b->faces ? -1 : 1;
  if (a->stock != b->stock)
    return a->stock < b->stock ? -1 : 1;

  return a->leak < b->leak ? -1 : a->leak > b->leak;
}

static void
add (EfMatchCost *sum,
     const EfMatchCost *one)
{
  sum->faces += one->faces;
  sum->stock += one->stock;
  sum->leak += one->leak;
}

static double
cube (double x)
{
  return x > 0.0 ? x * x * x : 0.0;
}

/* m up to whole steps in nm. */
static gint64
steps_up (double metres)
{
  return metres > SAME ? EF_MATCH_STEP * (gint64) ceil ((metres - SAME) * (1e9 / EF_MATCH_STEP)) : 0;
}

static gboolean
box_gap (const EfMatchProblem *problem,
         const EfMatchTerm *term,
         const Box *a,
         const Box *b,
         EfMatchCost *cost)
{
  guint i = term->dim[0][0], j = term->dim[1][0];
  double lo = term->scale * (a->lo[i] - b->hi[j]);
  double hi = term->scale * (a->hi[i] - b->lo[j]);
  double keep = problem->guard * term->scale * sqrt (a->u_lo[i] * a->u_lo[i] + b->u_lo[j] * b->u_lo[j]);

  if (hi - keep < term->least - SAME || lo + keep > term->most + SAME)
    return FALSE;
  if (!isnan (term->least))
    lo = MAX (lo, term->least + keep - SAME);
  cost->leak += term->leak[0] * cube (lo);

  return TRUE;
}

static gboolean
box_stack (const EfMatchProblem *problem,
           const EfMatchTerm *term,
           const Box *a,
           const Box *b,
           EfMatchCost *cost)
{
  double top_least = -INFINITY, top_most = -INFINITY, bottom_most = INFINITY;
  double lo[2], keep[2], down, up;
  gint64 lower, raise;

  for (int g = 0; g < 2; g++)
    {
      guint i = term->dim[0][g], j = term->dim[1][g];
      double hi = a->hi[i] - b->lo[j];

      lo[g] = a->lo[i] - b->hi[j];
      keep[g] = problem->guard * sqrt (a->u_lo[i] * a->u_lo[i] + b->u_lo[j] * b->u_lo[j]);
      top_least = MAX (top_least, lo[g] + keep[g]);
      top_most = MAX (top_most, hi + problem->guard * sqrt (a->u_hi[i] * a->u_hi[i] + b->u_hi[j] * b->u_hi[j]));
      bottom_most = MIN (bottom_most, hi - keep[g]);
    }

  lower = isnan (term->most) ? 0 : steps_up (top_least - term->most);
  raise = isnan (term->least) ? 0 : steps_up (term->least - bottom_most);
  if (lower > a->room || raise > b->room || (lower > 0 && raise > 0)
      || bottom_most + (raise - lower) * 1e-9 < term->least - SAME || top_least + (raise - lower) * 1e-9 > term->most + SAME)
    return FALSE;

  cost->faces += (lower > 0 && !a->lapped ? 1 : 0) + (raise > 0 && !b->lapped ? 2 : 0);
  cost->stock += lower + 2 * raise;
  down = isnan (term->most) ? 0.0 : steps_up (top_most - term->most) * 1e-9;
  up = raise * 1e-9;
  for (int g = 0; g < 2; g++)
    {
      double left = lo[g] - down + up;

      if (!isnan (term->least))
        left = MAX (left, term->least + keep[g] - SAME);
      cost->leak += term->leak[g] * cube (left);
    }

  return TRUE;
}

/* Adds the least that the term costs; FALSE when no two of the boxes fit. */
static gboolean
box_term (Search *search,
          const EfMatchTerm *term,
          const Box *a,
          const Box *b,
          EfMatchCost *cost)
{
  search->stats.boxes++;

  return term->kind == EF_MATCH_GAP ? box_gap (search->problem, term, a, b, cost) : box_stack (search->problem, term, a, b, cost);
}

/* Trees */

typedef struct
{
  const EfMatchSlot *slot;
  Tree *tree;
  guint *index;
} Grower;

static void
box_of (const EfMatchSlot *slot,
        guint candidate,
        Box *box)
{
  const EfMatchCandidate *c = &slot->candidates[candidate];

  for (guint d = 0; d < slot->n_dims; d++)
    {
      box->lo[d] = box->hi[d] = c->x[d];
      box->u_lo[d] = box->u_hi[d] = c->u[d];
    }
  box->faces = c->faces;
  box->stock = c->stock;
  box->room = c->room;
  box->lapped = c->lapped;
  box->left = box->right = 0;
  box->candidate = candidate;
}

static void
box_join (const EfMatchSlot *slot,
          const Box *one,
          Box *box)
{
  for (guint d = 0; d < slot->n_dims; d++)
    {
      box->lo[d] = MIN (box->lo[d], one->lo[d]);
      box->hi[d] = MAX (box->hi[d], one->hi[d]);
      box->u_lo[d] = MIN (box->u_lo[d], one->u_lo[d]);
      box->u_hi[d] = MAX (box->u_hi[d], one->u_hi[d]);
    }
  box->faces = MIN (box->faces, one->faces);
  box->stock = MIN (box->stock, one->stock);
  box->room = MAX (box->room, one->room);
  box->lapped |= one->lapped;
}

/* What the candidates are parted by: a length, or the work they need; a face more counts as 0.1 mm. */
static double
key_of (const Grower *grower,
        guint candidate,
        guint d)
{
  const EfMatchCandidate *c = &grower->slot->candidates[candidate];

  return d < grower->slot->n_dims ? c->x[d] : c->faces * 1e-4 + c->stock * 1e-9;
}

static guint
widest (const Grower *grower,
        guint first,
        guint n)
{
  guint best = 0;
  double spread = -1.0;

  for (guint d = 0; d <= grower->slot->n_dims; d++)
    {
      double lo = INFINITY, hi = -INFINITY;

      for (guint i = first; i < first + n; i++)
        {
          double key = key_of (grower, grower->index[i], d);

          lo = MIN (lo, key);
          hi = MAX (hi, key);
        }
      if (hi - lo > spread)
        {
          spread = hi - lo;
          best = d;
        }
    }

  return best;
}

/* Quickselect: the lower half by the key comes first. */
static void
halve (const Grower *grower,
       guint first,
       guint n,
       guint d)
{
  guint lo = first, hi = first + n - 1, middle = first + n / 2;

  while (lo < hi)
    {
      double pivot = key_of (grower, grower->index[lo + (hi - lo) / 2], d);
      guint i = lo, j = hi;

      for (;;)
        {
          guint swap;

          while (key_of (grower, grower->index[i], d) < pivot)
            i++;
          while (key_of (grower, grower->index[j], d) > pivot)
            j--;
          if (i >= j)
            break;
          swap = grower->index[i];
          grower->index[i++] = grower->index[j];
          grower->index[j--] = swap;
        }
      if (middle <= j)
        hi = j;
      else
        lo = j + 1;
    }
}

static guint
grow (Grower *grower,
      guint first,
      guint n)
{
  guint at = grower->tree->n++;
  Box *box = &grower->tree->boxes[at];
  guint left, right;

  box_of (grower->slot, grower->index[first], box);
  if (n == 1)
    return at;
  halve (grower, first, n, widest (grower, first, n));
  left = grow (grower, first, n / 2);
  right = grow (grower, first + n / 2, n - n / 2);
  *box = grower->tree->boxes[left];
  box_join (grower->slot, &grower->tree->boxes[right], box);
  box->left = left;
  box->right = right;

  return at;
}

/* Of the @n candidates in @index, whose order is changed. */
static void
plant (const EfMatchSlot *slot,
       guint *index,
       guint n,
       Tree *tree)
{
  Grower grower = { .slot = slot, .tree = tree, .index = index };

  tree->boxes = g_new (Box, 2 * (gsize) n - 1);
  tree->n = 0;
  grow (&grower, 0, n);
}

static void
plant_all (const EfMatchSlot *slot,
           Tree *tree)
{
  g_autofree guint *index = g_new (guint, slot->n);

  for (guint i = 0; i < slot->n; i++)
    index[i] = i;
  plant (slot, index, slot->n, tree);
}

/* A heap with the least cost on top. */

static void
heap_push (GArray *heap,
           const EfMatchCost *cost,
           guint box)
{
  Open open = { *cost, box };
  guint i = heap->len;
  Open *a;

  g_array_append_val (heap, open);
  a = (Open *) heap->data;
  while (i > 0 && ef_match_cost_compare (&open.cost, &a[(i - 1) / 2].cost) < 0)
    {
      a[i] = a[(i - 1) / 2];
      i = (i - 1) / 2;
    }
  a[i] = open;
}

static Open
heap_pop (GArray *heap)
{
  Open *a = (Open *) heap->data;
  Open top = a[0], last = a[heap->len - 1];
  guint n = heap->len - 1, i = 0;

  g_array_set_size (heap, n);
  if (n == 0)
    return top;
  for (;;)
    {
      guint child = 2 * i + 1;

      if (child >= n)
        break;
      if (child + 1 < n && ef_match_cost_compare (&a[child + 1].cost, &a[child].cost) < 0)
        child++;
      if (ef_match_cost_compare (&a[child].cost, &last.cost) >= 0)
        break;
      a[i] = a[child];
      i = child;
    }
  a[i] = last;

  return top;
}

/* The least that a candidate in the box costs, with all that is filled and meets it. */
static gboolean
box_bound (Search *search,
           guint slot,
           const Box *box,
           EfMatchCost *cost)
{
  const EfMatchProblem *problem = search->problem;

  *cost = (EfMatchCost){ box->faces, box->stock, 0.0 };
  for (guint t = 0; t < problem->n_terms; t++)
    {
      const EfMatchTerm *term = &problem->terms[t];
      int side = term->slot[0] == slot ? 0 : term->slot[1] == slot ? 1 : -1;
      const Box *other = side >= 0 ? search->filled[term->slot[1 - side]] : NULL;

      if (other != NULL && !box_term (search, term, side == 0 ? box : other, side == 0 ? other : box, cost))
        return FALSE;
    }

  return TRUE;
}

/* What is still worth looking at must cost less. */
static gboolean
is_too_dear (const Search *search,
             const EfMatchCost *cost)
{
  const EfMatchResult *last;

  if (search->best->len < search->most)
    return FALSE;
  last = &g_array_index (search->best, EfMatchResult, search->best->len - 1);

  return ef_match_cost_compare (cost, &last->cost) >= 0;
}

/* The least cost of an open slot, given what is filled. Once it's seen that @base with it is too dear, that bound will do. */
static gboolean
slot_least (Search *search,
            guint slot,
            const EfMatchCost *base,
            EfMatchCost *least)
{
  const Tree *tree = &search->trees[slot];
  g_autoptr (GArray) heap = g_array_sized_new (FALSE, FALSE, sizeof (Open), 64);

  if (!box_bound (search, slot, &tree->boxes[0], least))
    return FALSE;
  heap_push (heap, least, 0);
  while (heap->len > 0)
    {
      Open open = heap_pop (heap);
      const Box *box = &tree->boxes[open.box];
      EfMatchCost sum = *base, cost;

      *least = open.cost;
      add (&sum, least);
      if (box->left == 0 || is_too_dear (search, &sum))
        return TRUE;
      if (box_bound (search, slot, &tree->boxes[box->left], &cost))
        heap_push (heap, &cost, box->left);
      if (box_bound (search, slot, &tree->boxes[box->right], &cost))
        heap_push (heap, &cost, box->right);
    }

  return FALSE;
}

static void
keep (Search *search,
      const EfMatchCost *cost)
{
  EfMatchResult result = { .cost = *cost };
  guint at = search->best->len;

  search->stats.fits++;
  for (guint s = 0; s < search->problem->n_slots; s++)
    result.choice[s] = search->filled[s]->candidate;
  while (at > 0 && ef_match_cost_compare (cost, &g_array_index (search->best, EfMatchResult, at - 1).cost) < 0)
    at--;
  g_array_insert_val (search->best, at, result);
  if (search->best->len > search->most)
    g_array_set_size (search->best, search->most);
}

static gboolean
meets (const EfMatchProblem *problem,
       guint a,
       guint b)
{
  for (guint t = 0; t < problem->n_terms; t++)
    if ((problem->terms[t].slot[0] == a && problem->terms[t].slot[1] == b)
        || (problem->terms[t].slot[0] == b && problem->terms[t].slot[1] == a))
      return TRUE;

  return FALSE;
}

static void fill (Search *search, guint level, const EfMatchCost *so_far, const EfMatchCost *least);

/* The slot at @level holds the candidate of @box now, at @cost in all: renew the bounds of the later ones and go on if it's worth it. */
static void
descend (Search *search,
         guint level,
         const EfMatchCost *cost,
         const EfMatchCost *least)
{
  const EfMatchProblem *problem = search->problem;
  EfMatchCost renewed[EF_MATCH_SLOTS];
  EfMatchCost sum = *cost;

  if (level + 1 == problem->n_slots)
    {
      keep (search, cost);
      return;
    }
  add (&sum, &search->terms_least[level + 1]);
  for (guint k = level + 1; k < problem->n_slots; k++)
    {
      renewed[k] = least[k];
      add (&sum, &least[k]);
    }
  for (guint k = level + 1; k < problem->n_slots; k++)
    {
      guint slot = search->order[k];

      if (!meets (problem, slot, search->order[level]))
        continue;
      sum.faces -= renewed[k].faces;
      sum.stock -= renewed[k].stock;
      sum.leak -= renewed[k].leak;
      if (!slot_least (search, slot, &sum, &renewed[k]))
        return;
      add (&sum, &renewed[k]);
    }
  if (!is_too_dear (search, &sum))
    fill (search, level + 1, cost, renewed);
}

/* @least: of each open slot, by level; @so_far: of all that is filled. */
static void
fill (Search *search,
      guint level,
      const EfMatchCost *so_far,
      const EfMatchCost *least)
{
  guint slot = search->order[level];
  const Tree *tree = &search->trees[slot];
  g_autoptr (GArray) heap = g_array_sized_new (FALSE, FALSE, sizeof (Open), 64);
  EfMatchCost others = *so_far, cost;

  for (guint k = level + 1; k < search->problem->n_slots; k++)
    add (&others, &least[k]);
  add (&others, &search->terms_least[level]);
  if (box_bound (search, slot, &tree->boxes[0], &cost))
    heap_push (heap, &cost, 0);

  while (heap->len > 0 && !g_cancellable_is_cancelled (search->cancellable))
    {
      Open open = heap_pop (heap);
      const Box *box = &tree->boxes[open.box];
      EfMatchCost sum = others;

      add (&sum, &open.cost);
      if (is_too_dear (search, &sum))
        break;
      if (box->left != 0)
        {
          if (box_bound (search, slot, &tree->boxes[box->left], &cost))
            heap_push (heap, &cost, box->left);
          if (box_bound (search, slot, &tree->boxes[box->right], &cost))
            heap_push (heap, &cost, box->right);
          continue;
        }
      cost = *so_far;
      add (&cost, &open.cost);
      search->filled[slot] = box;
      descend (search, level, &cost, least);
      search->filled[slot] = NULL;
    }
}

/* The slot that meets most others first, then always the one that meets most of those before it; of equals the one that meets more of those still open,
 * so that what hangs on filled slots alone, and fits or doesn't by itself, comes last; few candidates before many. */
static void
put_in_order (Search *search)
{
  const EfMatchProblem *problem = search->problem;
  gboolean placed[EF_MATCH_SLOTS] = { FALSE };

  for (guint level = 0; level < problem->n_slots; level++)
    {
      guint best = G_MAXUINT;
      double best_score = -INFINITY;

      for (guint s = 0; s < problem->n_slots; s++)
        {
          double score = -1e-9 * problem->slots[s].n;

          if (placed[s])
            continue;
          for (guint o = 0; o < problem->n_slots; o++)
            if (o != s && meets (problem, s, o))
              score += level == 0 || placed[o] ? 1.0 : 0.01;
          if (score > best_score)
            {
              best_score = score;
              best = s;
            }
        }
      placed[best] = TRUE;
      search->order[level] = best;
      search->rank[best] = level;
    }
}

/* Candidates without a partner */

static gboolean
has_partner (Search *search,
             const EfMatchTerm *term,
             int side,
             const Box *one)
{
  const Tree *tree = &search->trees[term->slot[1 - side]];
  guint stack[128];
  guint n = 0;

  stack[n++] = 0;
  while (n > 0)
    {
      const Box *box = &tree->boxes[stack[--n]];
      EfMatchCost cost = { 0 };

      if (!box_term (search, term, side == 0 ? one : box, side == 0 ? box : one, &cost))
        continue;
      if (box->left == 0)
        return TRUE;
      stack[n++] = box->right;
      stack[n++] = box->left;
    }

  return FALSE;
}

/* Plants the slot's tree anew with those candidates only that have a partner by every term. FALSE when none is left. */
static gboolean
thin_out (Search *search,
          guint slot,
          gboolean *thinner)
{
  const EfMatchProblem *problem = search->problem;
  Tree *tree = &search->trees[slot];
  g_autofree guint *left = g_new (guint, tree->n);
  guint n = 0, leaves = 0;

  for (guint i = 0; i < tree->n; i++)
    {
      const Box *box = &tree->boxes[i];
      gboolean fits = box->left == 0;

      leaves += box->left == 0;
      for (guint t = 0; fits && t < problem->n_terms; t++)
        {
          const EfMatchTerm *term = &problem->terms[t];

          if (term->slot[0] == slot || term->slot[1] == slot)
            fits = has_partner (search, term, term->slot[0] == slot ? 0 : 1, box);
        }
      if (fits)
        left[n++] = box->candidate;
    }
  if (n == leaves)
    return TRUE;
  *thinner = TRUE;
  g_clear_pointer (&tree->boxes, g_free);
  tree->n = 0;
  if (n > 0)
    plant (&problem->slots[slot], left, n, tree);

  return n > 0;
}

/* Until every candidate has partners: those that can't be in any assembly would only be tried in vain. */
static gboolean
thin_all (Search *search)
{
  gboolean thinner = TRUE;

  while (thinner)
    {
      thinner = FALSE;
      for (guint s = 0; s < search->problem->n_slots; s++)
        if (!thin_out (search, s, &thinner))
          return FALSE;
    }

  return TRUE;
}

/* Before any slot is filled: FALSE when a term can't be kept by any two. */
static gboolean
open_terms (Search *search)
{
  const EfMatchProblem *problem = search->problem;

  for (guint t = 0; t < problem->n_terms; t++)
    {
      const EfMatchTerm *term = &problem->terms[t];
      guint first = MIN (search->rank[term->slot[0]], search->rank[term->slot[1]]);
      EfMatchCost cost = { 0 };

      if (!box_term (search, term, &search->trees[term->slot[0]].boxes[0], &search->trees[term->slot[1]].boxes[0], &cost))
        return FALSE;
      for (guint level = 0; level <= first; level++)
        add (&search->terms_least[level], &cost);
    }

  return TRUE;
}

static gboolean
check_candidates (const EfMatchProblem *problem,
                  GError **error)
{
  for (guint s = 0; s < problem->n_slots; s++)
    for (guint i = 0; i < problem->slots[s].n; i++)
      for (guint d = 0; d < problem->slots[s].n_dims; d++)
        if (!isfinite (problem->slots[s].candidates[i].x[d]) || !(problem->slots[s].candidates[i].u[d] >= 0.0)
            || !isfinite (problem->slots[s].candidates[i].u[d]))
          {
            g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "slot %u, candidate %u, size %u: expected a finite size and uncertainty", s, i, d);
            return FALSE;
          }

  return TRUE;
}

static gboolean
check_terms (const EfMatchProblem *problem,
             GError **error)
{
  for (guint t = 0; t < problem->n_terms; t++)
    {
      const EfMatchTerm *term = &problem->terms[t];

      for (guint side = 0; side < 2; side++)
        if (term->slot[side] >= problem->n_slots || term->slot[0] == term->slot[1]
            || term->dim[side][0] >= problem->slots[term->slot[side]].n_dims
            || (term->kind == EF_MATCH_STACK && term->dim[side][1] >= problem->slots[term->slot[side]].n_dims)
            || !(term->leak[0] >= 0.0) || !(term->leak[1] >= 0.0) || !(term->scale > 0.0) || !isfinite (term->scale))
          {
            g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "term %u: expected two slots with the sizes it names, a scale above 0 and weights of 0 or more", t);
            return FALSE;
          }
    }

  return TRUE;
}

static gboolean
check_problem (const EfMatchProblem *problem,
               GError **error)
{
  if (problem->n_slots == 0 || problem->n_slots > EF_MATCH_SLOTS || !(problem->guard >= 0.0) || !isfinite (problem->guard))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "match: expected 1 to %d slots and a guard of 0 or more", EF_MATCH_SLOTS);
      return FALSE;
    }
  for (guint s = 0; s < problem->n_slots; s++)
    if (problem->slots[s].n_dims > EF_MATCH_DIMS)
      {
        g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "slot %u: expected at most %d sizes, found %u", s, EF_MATCH_DIMS, problem->slots[s].n_dims);
        return FALSE;
      }

  return check_candidates (problem, error) && check_terms (problem, error);
}

GArray *
ef_match_best (const EfMatchProblem *problem,
               guint most,
               EfMatchStats *stats,
               GCancellable *cancellable,
               GError **error)
{
  Search search = { .problem = problem, .most = MAX (most, 1), .cancellable = cancellable };
  EfMatchCost least[EF_MATCH_SLOTS] = { 0 }, nothing = { 0 };
  gboolean possible = TRUE;

  if (!check_problem (problem, error))
    return NULL;
  search.best = g_array_new (FALSE, FALSE, sizeof (EfMatchResult));
  put_in_order (&search);
  for (guint s = 0; s < problem->n_slots; s++)
    possible = possible && problem->slots[s].n > 0;
  for (guint s = 0; possible && s < problem->n_slots; s++)
    plant_all (&problem->slots[s], &search.trees[s]);
  possible = possible && thin_all (&search) && open_terms (&search);
  for (guint k = 0; possible && k < problem->n_slots; k++)
    {
      const Box *root = &search.trees[search.order[k]].boxes[0];

      least[k] = (EfMatchCost){ root->faces, root->stock, 0.0 };
    }
  if (possible)
    fill (&search, 0, &nothing, least);
  for (guint s = 0; s < problem->n_slots; s++)
    g_free (search.trees[s].boxes);
  if (stats != NULL)
    *stats = search.stats;
  if (g_cancellable_is_cancelled (cancellable))
    {
      g_array_unref (search.best);
      g_set_error_literal (error, EF_ERROR, EF_ERROR_CANCELLED, "cancelled");
      return NULL;
    }

  return search.best;
}

/* One term on two candidates, told whole. */

static void
fit_gap (const EfMatchProblem *problem,
         const EfMatchTerm *term,
         const EfMatchCandidate *a,
         const EfMatchCandidate *b,
         EfMatchFit *fit)
{
  guint i = term->dim[0][0], j = term->dim[1][0];

  fit->value[0] = term->scale * (a->x[i] - b->x[j]);
  fit->u[0] = term->scale * sqrt (a->u[i] * a->u[i] + b->u[j] * b->u[j]);
  fit->over = fit->value[0] + problem->guard * fit->u[0] > term->most + SAME;
  fit->fits = !fit->over && !(fit->value[0] - problem->guard * fit->u[0] < term->least - SAME);
  fit->worst = fit->value[0];
  fit->worst_u = fit->u[0];
}

static void
fit_stack (const EfMatchProblem *problem,
           const EfMatchTerm *term,
           const EfMatchCandidate *a,
           const EfMatchCandidate *b,
           EfMatchFit *fit)
{
  double top = -INFINITY, bottom = INFINITY;
  int widest = 0, tightest = 0;

  for (int g = 0; g < 2; g++)
    {
      guint i = term->dim[0][g], j = term->dim[1][g];
      double keep_off;

      fit->value[g] = a->x[i] - b->x[j];
      fit->u[g] = sqrt (a->u[i] * a->u[i] + b->u[j] * b->u[j]);
      keep_off = problem->guard * fit->u[g];
      if (fit->value[g] + keep_off > top)
        {
          top = fit->value[g] + keep_off;
          widest = g;
        }
      if (fit->value[g] - keep_off < bottom)
        {
          bottom = fit->value[g] - keep_off;
          tightest = g;
        }
    }
  fit->lap_a = isnan (term->most) ? 0 : steps_up (top - term->most);
  fit->lap_b = isnan (term->least) ? 0 : steps_up (term->least - bottom);
  fit->over = fit->lap_a > 0;
  fit->worst = fit->value[fit->over ? widest : tightest];
  fit->worst_u = fit->u[fit->over ? widest : tightest];
  fit->fits = !(fit->lap_a > 0 && fit->lap_b > 0) && !(bottom + (fit->lap_b - fit->lap_a) * 1e-9 < term->least - SAME)
              && !(top + (fit->lap_b - fit->lap_a) * 1e-9 > term->most + SAME);
  fit->no_stock = fit->fits && (fit->lap_a > a->room || fit->lap_b > b->room);
  fit->fits = fit->fits && !fit->no_stock;
  if (!fit->fits)
    fit->lap_a = fit->lap_b = 0;
  for (int g = 0; g < 2; g++)
    fit->value[g] += (fit->lap_b - fit->lap_a) * 1e-9;
}

EfMatchFit
ef_match_fit (const EfMatchProblem *problem,
              const EfMatchTerm *term,
              const EfMatchCandidate *a,
              const EfMatchCandidate *b,
              EfMatchCost *cost_out)
{
  EfMatchFit fit = { 0 };
  EfMatchCost cost = { 0 };

  if (term->kind == EF_MATCH_GAP)
    fit_gap (problem, term, a, b, &fit);
  else
    fit_stack (problem, term, a, b, &fit);
  cost.faces = (fit.lap_a > 0 && !a->lapped ? 1 : 0) + (fit.lap_b > 0 && !b->lapped ? 2 : 0);
  cost.stock = fit.lap_a + 2 * fit.lap_b;
  cost.leak = term->leak[0] * cube (fit.value[0]) + (term->kind == EF_MATCH_STACK ? term->leak[1] * cube (fit.value[1]) : 0.0);
  if (cost_out != NULL)
    *cost_out = cost;

  return fit;
}
