/* Changes to the shape and the depths of a mark.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-mark-edit.h"

#include <math.h>

/* Two places nearer than this are the same: half the nanometre grid. */
#define SAME 0.5e-9

static EfMarkNode *
node_at (const EfMark *mark,
         guint i)
{
  return &g_array_index (mark->nodes, EfMarkNode, i);
}

static int
find_depth (const EfMark *mark,
            double u,
            double v)
{
  guint k;

  for (k = 0; k < mark->depths->len; k++)
    {
      const EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, k);

      if (fabs (depth->u - u) < SAME && fabs (depth->v - v) < SAME)
        return (int) k;
    }
  return -1;
}

guint
ef_mark_edit_least_nodes (EfMarkShape shape)
{
  return shape == EF_SHAPE_AREA ? 3 : shape == EF_SHAPE_LINE ? 2
                                                             : 1;
}

void
ef_mark_edit_move_node (EfMark *mark,
                        guint i,
                        double u,
                        double v)
{
  EfMarkNode *node = node_at (mark, i);
  int k = find_depth (mark, node->u, node->v);

  node->u = ef_length_on_grid (u);
  node->v = ef_length_on_grid (v);
  if (k >= 0)
    {
      g_array_index (mark->depths, EfMarkDepth, k).u = node->u;
      g_array_index (mark->depths, EfMarkDepth, k).v = node->v;
    }
}

void
ef_mark_edit_insert_node (EfMark *mark,
                          guint i,
                          double u,
                          double v)
{
  EfMarkNode node = { ef_length_on_grid (u), ef_length_on_grid (v) };

  g_array_insert_val (mark->nodes, MIN (i, mark->nodes->len), node);
}

gboolean
ef_mark_edit_remove_node (EfMark *mark,
                          guint i)
{
  int k;

  if (i >= mark->nodes->len || mark->nodes->len <= ef_mark_edit_least_nodes (mark->shape))
    return FALSE;
  k = find_depth (mark, node_at (mark, i)->u, node_at (mark, i)->v);
  if (k >= 0)
    g_array_remove_index (mark->depths, k);
  g_array_remove_index (mark->nodes, i);
  return TRUE;
}

const EfMarkDepth *
ef_mark_edit_node_depth (const EfMark *mark,
                         guint i)
{
  int k;

  if (i >= mark->nodes->len)
    return NULL;
  k = find_depth (mark, node_at (mark, i)->u, node_at (mark, i)->v);
  return k >= 0 ? &g_array_index (mark->depths, EfMarkDepth, k) : NULL;
}

void
ef_mark_edit_set_node_depth (EfMark *mark,
                             guint i,
                             double depth,
                             EfUnit unit,
                             const char *gauge_id)
{
  EfMarkDepth *at;
  int k;

  if (i >= mark->nodes->len)
    return;
  k = find_depth (mark, node_at (mark, i)->u, node_at (mark, i)->v);
  if (!isfinite (depth))
    {
      if (k >= 0)
        g_array_remove_index (mark->depths, k);
      return;
    }
  if (k < 0)
    {
      ef_mark_add_depth (mark, node_at (mark, i)->u, node_at (mark, i)->v, depth, unit, gauge_id);
      return;
    }
  at = &g_array_index (mark->depths, EfMarkDepth, k);
  at->depth = ef_length_on_grid (depth);
  at->unit = unit;
  if (g_strcmp0 (at->gauge_id, gauge_id) != 0)
    {
      g_free (at->gauge_id);
      at->gauge_id = g_strdup (gauge_id);
    }
}

/* Nearest place to (u, v) on the segment a-b; returns its distance. */
static double
project (const EfMarkNode *a,
         const EfMarkNode *b,
         double u,
         double v,
         double *u_out,
         double *v_out)
{
  double du = b->u - a->u;
  double dv = b->v - a->v;
  double square = du * du + dv * dv;
  double t = square > 0 ? ((u - a->u) * du + (v - a->v) * dv) / square : 0;

  t = CLAMP (t, 0, 1);
  *u_out = a->u + t * du;
  *v_out = a->v + t * dv;
  return hypot (u - *u_out, v - *v_out);
}

/* Marks in @keep the points of first … last that must stay. A stack of one's own: strokes can be long. */
void
ef_mark_edit_simplify (GArray *nodes,
                       double tolerance)
{
  g_autofree gboolean *keep = NULL;
  g_autoptr (GArray) stack = g_array_new (FALSE, FALSE, 2 * sizeof (guint));
  guint span[2], i, n = 0;

  if (nodes->len < 3)
    return;
  keep = g_new0 (gboolean, nodes->len);
  keep[0] = keep[nodes->len - 1] = TRUE;
  span[0] = 0;
  span[1] = nodes->len - 1;
  g_array_append_val (stack, span);

  while (stack->len > 0)
    {
      double worst = tolerance, u, v;
      guint at = 0, first, last;

      first = ((guint *) (void *) stack->data)[2 * (stack->len - 1)];
      last = ((guint *) (void *) stack->data)[2 * (stack->len - 1) + 1];
      g_array_set_size (stack, stack->len - 1);
      for (i = first + 1; i < last; i++)
        {
          const EfMarkNode *node = &g_array_index (nodes, EfMarkNode, i);
          double distance = project (&g_array_index (nodes, EfMarkNode, first), &g_array_index (nodes, EfMarkNode, last),
                                     node->u, node->v, &u, &v);

          if (distance > worst)
            {
              worst = distance;
              at = i;
            }
        }
      if (at == 0)
        continue;
      keep[at] = TRUE;
      span[0] = first;
      span[1] = at;
      g_array_append_val (stack, span);
      span[0] = at;
      span[1] = last;
      g_array_append_val (stack, span);
    }

  for (i = 0; i < nodes->len; i++)
    if (keep[i])
      g_array_index (nodes, EfMarkNode, n++) = g_array_index (nodes, EfMarkNode, i);
  g_array_set_size (nodes, n);
}

gboolean
ef_mark_edit_nearest_segment (const EfMark *mark,
                              double u,
                              double v,
                              guint *index_out,
                              double *u_out,
                              double *v_out)
{
  guint n = mark->nodes->len, segments, i;
  double best = G_MAXDOUBLE;

  if (mark->shape == EF_SHAPE_POINT || n < 2)
    return FALSE;
  segments = mark->shape == EF_SHAPE_AREA ? n : n - 1;
  for (i = 0; i < segments; i++)
    {
      double pu, pv;
      double distance = project (node_at (mark, i), node_at (mark, (i + 1) % n), u, v, &pu, &pv);

      if (distance >= best)
        continue;
      best = distance;
      *index_out = i + 1;
      *u_out = pu;
      *v_out = pv;
    }
  return TRUE;
}
