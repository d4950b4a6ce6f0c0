/* What follows from a mark's outline: distance, bounds, length, area.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An outline that crosses itself is filled by the even-odd rule.
 */
#include "ef-mark.h"
#include "ef-depth-field.h"

#include <math.h>

#define GEOS_USE_ONLY_R_API
#include <geos_c.h>

static const EfMarkNode *
nodes_of (const EfMark *mark)
{
  return (const EfMarkNode *) (gpointer) mark->nodes->data;
}

static gboolean
contains (const EfMark *mark,
          double u,
          double v)
{
  const EfMarkNode *nodes = nodes_of (mark);
  guint n = mark->nodes->len;
  gboolean inside = FALSE;

  for (guint i = 0, j = n - 1; i < n; j = i++)
    if ((nodes[i].v > v) != (nodes[j].v > v)
        && u < nodes[i].u + (v - nodes[i].v) / (nodes[j].v - nodes[i].v) * (nodes[j].u - nodes[i].u))
      inside = !inside;

  return inside;
}

double
ef_mark_distance (const EfMark *mark,
                  double u,
                  double v)
{
  const EfMarkNode *nodes = nodes_of (mark);
  guint n = mark->nodes->len;
  double best = INFINITY;
  double half = mark->shape == EF_SHAPE_AREA ? 0 : mark->size / 2;

  if (n == 0)
    return INFINITY;
  if (mark->shape == EF_SHAPE_AREA && contains (mark, u, v))
    return 0;
  if (n == 1 || mark->shape == EF_SHAPE_POINT)
    return MAX (0, hypot (u - nodes[0].u, v - nodes[0].v) - half);

  for (guint i = 1; i < n; i++)
    best = MIN (best, ef_segment_distance2 (&nodes[i - 1], &nodes[i], u, v, NULL));
  if (mark->shape == EF_SHAPE_AREA)
    best = MIN (best, ef_segment_distance2 (&nodes[n - 1], &nodes[0], u, v, NULL));

  return MAX (0, sqrt (best) - half);
}

void
ef_mark_bounds (const EfMark *mark,
                double bounds[4])
{
  const EfMarkNode *nodes = nodes_of (mark);
  double half = mark->shape == EF_SHAPE_AREA ? 0 : mark->size / 2;

  for (int k = 0; k < 4; k++)
    bounds[k] = mark->nodes->len == 0 ? NAN : k % 2 == 0 ? nodes[0].u : nodes[0].v;
  for (guint i = 1; i < mark->nodes->len; i++)
    {
      bounds[0] = MIN (bounds[0], nodes[i].u);
      bounds[1] = MIN (bounds[1], nodes[i].v);
      bounds[2] = MAX (bounds[2], nodes[i].u);
      bounds[3] = MAX (bounds[3], nodes[i].v);
    }
  bounds[0] -= half;
  bounds[1] -= half;
  bounds[2] += half;
  bounds[3] += half;
}

double
ef_mark_length (const EfMark *mark)
{
  const EfMarkNode *nodes = nodes_of (mark);
  double length = 0;

  if (mark->shape == EF_SHAPE_POINT)
    return mark->size;
  if (mark->shape == EF_SHAPE_LINE)
    {
      for (guint i = 1; i < mark->nodes->len; i++)
        length += hypot (nodes[i].u - nodes[i - 1].u, nodes[i].v - nodes[i - 1].v);
      return length;
    }

  for (guint i = 1; i < mark->nodes->len; i++)
    for (guint j = 0; j < i; j++)
      {
        double du = nodes[i].u - nodes[j].u;
        double dv = nodes[i].v - nodes[j].v;

        length = MAX (length, du * du + dv * dv);
      }
  return sqrt (length);
}

/* The nodes as coordinates of GEOS, in mm about the first node (good digits, small numbers). */
static GEOSCoordSequence *
sequence (GEOSContextHandle_t geos,
          const EfMark *mark,
          gboolean closed)
{
  const EfMarkNode *nodes = nodes_of (mark);
  guint n = mark->nodes->len;
  GEOSCoordSequence *points = GEOSCoordSeq_create_r (geos, n + (closed ? 1 : 0), 2);

  for (guint i = 0; i < n + (closed ? 1 : 0) && points != NULL; i++)
    GEOSCoordSeq_setXY_r (geos, points, i, (nodes[i % n].u - nodes[0].u) * 1e3, (nodes[i % n].v - nodes[0].v) * 1e3);

  return points;
}

static double
area_by_geos (const EfMark *mark)
{
  GEOSContextHandle_t geos = GEOS_init_r ();
  gboolean closed = mark->shape == EF_SHAPE_AREA;
  GEOSCoordSequence *points = sequence (geos, mark, closed);
  GEOSGeometry *outline = NULL;
  GEOSGeometry *body = NULL;
  double area = NAN;

  if (points != NULL)
    outline = closed ? GEOSGeom_createLinearRing_r (geos, points) : GEOSGeom_createLineString_r (geos, points);
  if (outline != NULL && closed)
    {
      GEOSGeometry *polygon = GEOSGeom_createPolygon_r (geos, outline, NULL, 0);

      outline = NULL;
      body = polygon != NULL ? GEOSMakeValid_r (geos, polygon) : NULL;
      GEOSGeom_destroy_r (geos, polygon);
    }
  else if (outline != NULL)
    body = GEOSBuffer_r (geos, outline, mark->size / 2 * 1e3, mark->nodes->len <= 100 ? 64 : 16);
  if (body == NULL || GEOSArea_r (geos, body, &area) == 0)
    area = NAN;

  if (body != NULL)
    GEOSGeom_destroy_r (geos, body);
  if (outline != NULL)
    GEOSGeom_destroy_r (geos, outline);
  GEOS_finish_r (geos);
  return area * 1e-6;
}

double
ef_mark_area (const EfMark *mark)
{
  if (mark->shape == EF_SHAPE_POINT)
    return G_PI / 4 * mark->size * mark->size;
  if (mark->shape == EF_SHAPE_LINE && mark->nodes->len == 2)
    return ef_mark_length (mark) * mark->size + G_PI / 4 * mark->size * mark->size;
  if (mark->nodes->len < (mark->shape == EF_SHAPE_LINE ? 2 : 3))
    return 0;

  return area_by_geos (mark);
}
