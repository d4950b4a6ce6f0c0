/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-depth-field.h"

#include <math.h>

#define SAME_PLACE 1e-9 /* m */

double
ef_segment_distance2 (const EfMarkNode *a,
                      const EfMarkNode *b,
                      double u,
                      double v,
                      double *share_out)
{
  double du = b->u - a->u;
  double dv = b->v - a->v;
  double length2 = du * du + dv * dv;
  double share = 0;
  double eu, ev;

  if (length2 > 0)
    share = CLAMP (((u - a->u) * du + (v - a->v) * dv) / length2, 0, 1);
  if (share_out != NULL)
    *share_out = share;

  eu = u - (a->u + share * du);
  ev = v - (a->v + share * dv);
  return eu * eu + ev * ev;
}

static const EfMarkNode *
nodes_of (const EfMark *mark)
{
  return (const EfMarkNode *) (gpointer) mark->nodes->data;
}

/* Distance along the line from its start to where it comes nearest to (u, v). */
static double
along_line (const EfDepthField *self,
            const guint *segments,
            guint n_segments,
            double u,
            double v)
{
  const EfMarkNode *nodes = nodes_of (self->mark);
  double best = INFINITY;
  double s = 0;

  for (guint k = 0; k < n_segments; k++)
    {
      guint i = segments != NULL ? segments[k] : k;
      double share;
      double d2 = ef_segment_distance2 (&nodes[i], &nodes[i + 1], u, v, &share);

      if (d2 < best)
        {
          best = d2;
          s = self->starts[i] + share * (self->starts[i + 1] - self->starts[i]);
        }
    }

  return s;
}

static double
between_knots (const EfDepthField *self,
               double s)
{
  const EfDepthKnot *knots = self->knots;
  guint low = 0;
  guint high = self->n - 1;

  if (s <= knots[low].u)
    return knots[low].depth;
  if (s >= knots[high].u)
    return knots[high].depth;

  while (high - low > 1)
    {
      guint middle = low + (high - low) / 2;

      if (knots[middle].u <= s)
        low = middle;
      else
        high = middle;
    }

  return knots[low].depth + (knots[high].depth - knots[low].depth) * (s - knots[low].u) / (knots[high].u - knots[low].u);
}

static double
weighted_by_distance (const EfDepthField *self,
                      double u,
                      double v)
{
  double sum = 0;
  double weights = 0;

  for (guint i = 0; i < self->n; i++)
    {
      double du = u - self->knots[i].u;
      double dv = v - self->knots[i].v;
      double d2 = du * du + dv * dv;
      double weight;

      if (d2 <= SAME_PLACE * SAME_PLACE)
        return self->knots[i].depth;
      weight = 1 / d2;
      sum += weight * self->knots[i].depth;
      weights += weight;
    }

  return sum / weights;
}

static int
compare_knots (gconstpointer a,
               gconstpointer b,
               gpointer user_data)
{
  double left = ((const EfDepthKnot *) a)->u;
  double right = ((const EfDepthKnot *) b)->u;

  return left < right ? -1 : left > right;
}

/* Joins knots at one place into their mean; knots on a line are sorted, others are compared with each kept one. */
static void
join_same (EfDepthField *self,
           gboolean line)
{
  g_autofree guint *counts = g_new0 (guint, self->n);
  guint kept = 0;

  for (guint i = 0; i < self->n; i++)
    {
      const EfDepthKnot knot = self->knots[i];
      guint first = line && kept > 0 ? kept - 1 : 0;
      guint k;

      for (k = first; k < kept; k++)
        if (fabs (self->knots[k].u - knot.u) <= SAME_PLACE && (line || fabs (self->knots[k].v - knot.v) <= SAME_PLACE))
          break;
      if (k == kept)
        {
          self->knots[kept] = knot;
          counts[kept++] = 1;
        }
      else
        self->knots[k].depth += (knot.depth - self->knots[k].depth) / ++counts[k];
    }

  self->n = kept;
}

void
ef_depth_field_init (EfDepthField *self,
                     const EfMark *mark)
{
  gboolean line = mark->shape == EF_SHAPE_LINE && mark->nodes->len >= 2;

  *self = (EfDepthField){ .mark = mark, .n = mark->depths->len, .deepest = NAN };
  if (self->n == 0)
    return;

  self->knots = g_new (EfDepthKnot, self->n);
  for (guint i = 0; i < self->n; i++)
    {
      const EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);

      self->knots[i] = (EfDepthKnot){ depth->u, depth->v, depth->depth };
      if (!(self->deepest >= depth->depth))
        self->deepest = depth->depth;
    }
  if (self->n == 1)
    return;

  if (line)
    {
      const EfMarkNode *nodes = nodes_of (mark);

      self->starts = g_new0 (double, mark->nodes->len);
      for (guint i = 1; i < mark->nodes->len; i++)
        self->starts[i] = self->starts[i - 1] + hypot (nodes[i].u - nodes[i - 1].u, nodes[i].v - nodes[i - 1].v);
      for (guint i = 0; i < self->n; i++)
        self->knots[i].u = along_line (self, NULL, mark->nodes->len - 1, self->knots[i].u, self->knots[i].v);
      g_qsort_with_data (self->knots, (int) self->n, sizeof (EfDepthKnot), compare_knots, NULL);
    }

  join_same (self, line);
}

void
ef_depth_field_clear (EfDepthField *self)
{
  g_clear_pointer (&self->knots, g_free);
  g_clear_pointer (&self->starts, g_free);
  self->n = 0;
}

double
ef_depth_field_at_near (const EfDepthField *self,
                        const guint *segments,
                        guint n_segments,
                        double u,
                        double v)
{
  if (self->n == 0)
    return NAN;
  if (self->n == 1)
    return self->knots[0].depth;
  if (self->starts != NULL)
    return between_knots (self, along_line (self, segments, n_segments, u, v));

  return weighted_by_distance (self, u, v);
}

double
ef_depth_field_at (const EfDepthField *self,
                   double u,
                   double v)
{
  return ef_depth_field_at_near (self, NULL, self->starts != NULL ? self->mark->nodes->len - 1 : 0, u, v);
}
