/* Overlap of marks, and matching them one to one.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-mark-match.h"

#include "../geometry/ef-polygon.h"

#include <math.h>

#define CIRCLE 64         /* corners of a circle */
#define QUARTER 16        /* the same of a grown outline, to the quarter */
#define AS_GOOD_AS_ONE 0.995 /* what the corners may hide */
#define WRONG_KIND 0.5
#define NEARER 1e-6          /* what being at the very place is worth more than being far from it */

static EfRegion *
filled (EfRing ring)
{
  EfRegion *region = ef_region_new ();

  ef_region_take (region, ring);

  return region;
}

static gboolean
has_length (const EfMark *mark)
{
  const EfMarkNode *nodes = (const EfMarkNode *) mark->nodes->data;

  for (guint i = 1; i < mark->nodes->len; i++)
    if (hypot (nodes[i].u - nodes[0].u, nodes[i].v - nodes[0].v) > 0)
      return TRUE;

  return FALSE;
}

static EfRegion *
body_of (const EfMark *mark,
         GError **error)
{
  const EfMarkNode *nodes = (const EfMarkNode *) mark->nodes->data;

  if (mark->shape == EF_SHAPE_AREA)
    return filled (ef_ring_new (mark->nodes->len, &nodes[0].u));
  if (mark->shape == EF_SHAPE_LINE && has_length (mark))
    return ef_region_line (mark->nodes->len, &nodes[0].u, mark->size, QUARTER, error);

  return filled (ef_ring_circle (nodes[0].u, nodes[0].v, mark->size / 2, CIRCLE));
}

/* A mark's body, and the same grown by the tolerance. */
typedef struct
{
  EfRegion *body, *grown;
  double bounds[4];
} Body;

static void
body_free (Body *body)
{
  if (body == NULL)
    return;

  ef_region_free (body->body);
  ef_region_free (body->grown);
  g_free (body);
}
G_DEFINE_AUTOPTR_CLEANUP_FUNC (Body, body_free)

static Body *
body_new (const EfMark *mark,
          double tolerance,
          GError **error)
{
  g_autoptr (Body) body = g_new0 (Body, 1);

  if (!ef_mark_check (mark, error))
    return NULL;
  body->body = body_of (mark, error);
  body->grown = body->body != NULL ? ef_region_buffer (body->body, tolerance, QUARTER, error) : NULL;
  if (body->grown == NULL)
    return NULL;
  ef_region_bounds (body->body, body->bounds);

  return g_steal_pointer (&body);
}

/* How much of @a lies within the tolerance of @b. */
static gboolean
share_within (const Body *a,
              const Body *b,
              double *share_out,
              GError **error)
{
  g_autoptr (EfRegion) common = ef_region_combine (a->body, b->grown, EF_REGION_INTERSECTION, error);
  double area = ef_region_area (a->body);

  if (common == NULL)
    return FALSE;
  *share_out = area > 0 ? ef_region_area (common) / area : 0;
  if (*share_out > AS_GOOD_AS_ONE)
    *share_out = 1;

  return TRUE;
}

static gboolean
overlap_of (const Body *a,
            const Body *b,
            double tolerance,
            double *share_out,
            GError **error)
{
  double other;

  *share_out = 0;
  if (a->bounds[0] > b->bounds[2] + tolerance || b->bounds[0] > a->bounds[2] + tolerance || a->bounds[1] > b->bounds[3] + tolerance
      || b->bounds[1] > a->bounds[3] + tolerance)
    return TRUE;
  if (!share_within (a, b, share_out, error) || !share_within (b, a, &other, error))
    return FALSE;
  *share_out = MIN (*share_out, other);

  return TRUE;
}

gboolean
ef_mark_overlap (const EfMark *a,
                 const EfMark *b,
                 double tolerance,
                 double *share_out,
                 GError **error)
{
  g_autoptr (Body) body_a = NULL;
  g_autoptr (Body) body_b = NULL;

  *share_out = 0;
  body_a = body_new (a, tolerance, error);
  body_b = body_a != NULL ? body_new (b, tolerance, error) : NULL;
  if (body_b == NULL)
    return FALSE;
  if (!g_str_equal (a->face_id, b->face_id))
    return TRUE;

  return overlap_of (body_a, body_b, tolerance, share_out, error);
}

gboolean
ef_mark_common (const EfMark *a,
                const EfMark *b,
                double *share_out,
                GError **error)
{
  g_autoptr (EfRegion) body_a = NULL;
  g_autoptr (EfRegion) body_b = NULL;
  g_autoptr (EfRegion) common = NULL;
  double area, both;

  *share_out = 0;
  if (!ef_mark_check (a, error) || !ef_mark_check (b, error))
    return FALSE;
  if (!g_str_equal (a->face_id, b->face_id))
    return TRUE;
  body_a = body_of (a, error);
  body_b = body_a != NULL ? body_of (b, error) : NULL;
  common = body_b != NULL ? ef_region_combine (body_a, body_b, EF_REGION_INTERSECTION, error) : NULL;
  if (common == NULL)
    return FALSE;
  area = ef_region_area (common);
  both = ef_region_area (body_a) + ef_region_area (body_b) - area;
  *share_out = both > 0 ? CLAMP (area / both, 0, 1) : 0;

  return TRUE;
}

static GPtrArray *
bodies_of (EfMark *const *marks,
           guint n,
           double tolerance,
           GError **error)
{
  g_autoptr (GPtrArray) bodies = g_ptr_array_new_with_free_func ((GDestroyNotify) body_free);

  for (guint i = 0; i < n; i++)
    {
      Body *body = body_new (marks[i], tolerance, error);

      if (body == NULL)
        return NULL;
      g_ptr_array_add (bodies, body);
    }

  return g_steal_pointer (&bodies);
}

static void
middle_of (const EfMark *mark,
           double middle[2])
{
  middle[0] = middle[1] = 0;
  for (guint i = 0; i < mark->nodes->len; i++)
    {
      const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);

      middle[0] += node->u / mark->nodes->len;
      middle[1] += node->v / mark->nodes->len;
    }
}

static double
nearness (const EfMark *a,
          const EfMark *b,
          double tolerance)
{
  double of_a[2], of_b[2];

  middle_of (a, of_a);
  middle_of (b, of_b);

  return NEARER * tolerance / (tolerance + hypot (of_a[0] - of_b[0], of_a[1] - of_b[1]));
}

/* Overlaps into @overlap, and what each pair is worth into @worth. */
static gboolean
weigh (EfMark *const *reference,
       GPtrArray *bodies_r,
       EfMark *const *attempt,
       GPtrArray *bodies_a,
       double tolerance,
       double least,
       EfMarkWorth worth_of,
       gpointer data,
       double *overlap,
       double *worth,
       GError **error)
{
  for (guint i = 0; i < bodies_r->len; i++)
    for (guint j = 0; j < bodies_a->len; j++)
      {
        guint at = i * bodies_a->len + j;

        overlap[at] = worth[at] = 0;
        if (!g_str_equal (reference[i]->face_id, attempt[j]->face_id))
          continue;
        if (!overlap_of (bodies_r->pdata[i], bodies_a->pdata[j], tolerance, &overlap[at], error))
          return FALSE;
        if (overlap[at] >= least && overlap[at] > 0)
          worth[at] = worth_of (reference[i], attempt[j], overlap[at], data);
        if (worth[at] > 0)
          worth[at] += nearness (reference[i], attempt[j], tolerance);
      }

  return TRUE;
}

static void
add_pair (GArray *pairs,
          int reference,
          int attempt,
          double overlap,
          gboolean same_kind)
{
  EfMarkPair pair = { reference, attempt, overlap, same_kind };

  g_array_append_val (pairs, pair);
}

static double
plain_worth (const EfMark *reference,
             const EfMark *attempt,
             double overlap,
             gpointer data)
{
  return overlap * (reference->kind == attempt->kind ? 1 : WRONG_KIND);
}

GArray *
ef_marks_match (EfMark *const *reference,
                guint n_reference,
                EfMark *const *attempt,
                guint n_attempt,
                double tolerance,
                double least,
                GError **error)
{
  return ef_marks_match_by (reference, n_reference, attempt, n_attempt, tolerance, least, plain_worth, NULL, error);
}

GArray *
ef_marks_match_by (EfMark *const *reference,
                   guint n_reference,
                   EfMark *const *attempt,
                   guint n_attempt,
                   double tolerance,
                   double least,
                   EfMarkWorth worth_of,
                   gpointer data,
                   GError **error)
{
  g_autofree double *overlap = g_new (double, n_reference * n_attempt + 1);
  g_autofree double *worth = g_new (double, n_reference * n_attempt + 1);
  g_autofree int *row_of = g_new (int, n_attempt + 1);
  g_autofree gboolean *found = g_new0 (gboolean, n_reference + 1);
  g_autoptr (GArray) pairs = g_array_new (FALSE, FALSE, sizeof (EfMarkPair));
  g_autoptr (GPtrArray) bodies_r = NULL;
  g_autoptr (GPtrArray) bodies_a = NULL;

  if (!(tolerance > 0) || !isfinite (tolerance))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "tolerance: expected a length above 0, found %g m", tolerance);
      return NULL;
    }
  bodies_r = bodies_of (reference, n_reference, tolerance, error);
  bodies_a = bodies_r != NULL ? bodies_of (attempt, n_attempt, tolerance, error) : NULL;
  if (bodies_a == NULL || !weigh (reference, bodies_r, attempt, bodies_a, tolerance, least, worth_of, data, overlap, worth, error)
      || !ef_assign (worth, n_reference, n_attempt, row_of, error))
    return NULL;

  for (guint i = 0; i < n_reference; i++)
    for (guint j = 0; j < n_attempt; j++)
      if (row_of[j] == (int) i)
        {
          add_pair (pairs, (int) i, (int) j, overlap[i * n_attempt + j], reference[i]->kind == attempt[j]->kind);
          found[i] = TRUE;
        }
  for (guint i = 0; i < n_reference; i++)
    if (!found[i])
      add_pair (pairs, (int) i, -1, NAN, FALSE);
  for (guint j = 0; j < n_attempt; j++)
    if (row_of[j] < 0)
      add_pair (pairs, -1, (int) j, NAN, FALSE);

  return g_steal_pointer (&pairs);
}
