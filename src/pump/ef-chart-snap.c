/* Snapping: the nearest point, circle, ray, line or edge within reach, or where two of them cross.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-chart-private.h"

#include <math.h>

typedef struct
{
  const EfSnap *snap; /* NULL for an edge line */
  const char *name;
  double u, v;
  double distance;
} Hit;

static void
project_segment (double u,
                 double v,
                 const double *p,
                 const double *q,
                 double *pu,
                 double *pv)
{
  double du = q[0] - p[0];
  double dv = q[1] - p[1];
  double length2 = du * du + dv * dv;
  double t = length2 > 0.0 ? CLAMP (((u - p[0]) * du + (v - p[1]) * dv) / length2, 0.0, 1.0) : 0.0;

  *pu = p[0] + t * du;
  *pv = p[1] + t * dv;
}

/* Nearest place on the snap; FALSE where there is none (the centre of a circle). */
static gboolean
project (const EfSnap *snap,
         double u,
         double v,
         double *pu,
         double *pv)
{
  double from[2] = { snap->u, snap->v };
  double to[2] = { snap->u2, snap->v2 };
  double r = hypot (u - snap->u, v - snap->v);

  switch (snap->kind)
    {
    case EF_SNAP_CIRCLE:
      if (!(r > 0.0))
        return FALSE;
      *pu = snap->u + (u - snap->u) * snap->radius / r;
      *pv = snap->v + (v - snap->v) * snap->radius / r;
      return TRUE;
    case EF_SNAP_RAY:
      to[0] = snap->u + snap->radius * cos (snap->angle);
      to[1] = snap->v + snap->radius * sin (snap->angle);
      project_segment (u, v, from, to, pu, pv);
      return TRUE;
    case EF_SNAP_LINE:
      project_segment (u, v, from, to, pu, pv);
      return TRUE;
    case EF_SNAP_POINT:
    default:
      *pu = snap->u;
      *pv = snap->v;
      return TRUE;
    }
}

static void
try_hit (Hit *best,
         const EfSnap *snap,
         const char *name,
         double u,
         double v,
         double pu,
         double pv)
{
  double d = hypot (pu - u, pv - v);

  if (d < best->distance)
    *best = (Hit) { snap, name, pu, pv, d };
}

/* Edges that aren't circles already: outlines, ports, the pocket, gears where they run. */
static void
try_lines (const EfFaceChart *chart,
           double u,
           double v,
           Hit *best)
{
  for (guint i = 0; i < chart->lines->len; i++)
    {
      const EfChartLine *line = g_ptr_array_index (chart->lines, i);
      guint n = line->closed ? line->path.n : line->path.n - 1;

      if (line->kind == EF_LINE_CIRCLE || line->kind == EF_LINE_STRIP)
        continue;
      for (guint k = 0; k < n; k++)
        {
          double pu;
          double pv;

          project_segment (u, v, line->path.xy + 2 * k, line->path.xy + 2 * ((k + 1) % line->path.n), &pu, &pv);
          try_hit (best, NULL, line->name, u, v, pu, pv);
        }
    }
}

/* Where a ray or line crosses a circle or another line; FALSE where they don't, or where it can't be told. */
static gboolean
cross (const EfSnap *a,
       const EfSnap *b,
       double *u,
       double *v)
{
  double da[2];
  double db[2];
  double det;
  double t;

  if (a->kind == EF_SNAP_RAY && b->kind == EF_SNAP_CIRCLE && hypot (a->u - b->u, a->v - b->v) < 1e-9 && b->radius <= a->radius + 1e-9)
    {
      *u = a->u + b->radius * cos (a->angle);
      *v = a->v + b->radius * sin (a->angle);
      return TRUE;
    }
  if (a->kind != EF_SNAP_LINE || b->kind != EF_SNAP_LINE)
    return FALSE;
  da[0] = a->u2 - a->u;
  da[1] = a->v2 - a->v;
  db[0] = b->u2 - b->u;
  db[1] = b->v2 - b->v;
  det = da[0] * db[1] - da[1] * db[0];
  if (fabs (det) < 1e-6 * hypot (da[0], da[1]) * hypot (db[0], db[1]))
    return FALSE;
  t = ((b->u - a->u) * db[1] - (b->v - a->v) * db[0]) / det;
  *u = a->u + t * da[0];
  *v = a->v + t * da[1];

  return TRUE;
}

static void
try_crossings (const EfFaceChart *chart,
               double u,
               double v,
               Hit *best,
               double reach)
{
  const EfSnap *first = best->snap;
  Hit crossing = { NULL, best->name, best->u, best->v, reach };

  for (guint i = 0; i < chart->snaps->len && first != NULL; i++)
    {
      const EfSnap *other = &g_array_index (chart->snaps, EfSnap, i);
      double pu;
      double pv;

      if (other != first && (cross (first, other, &pu, &pv) || cross (other, first, &pu, &pv)))
        try_hit (&crossing, other, best->name, u, v, pu, pv);
    }
  if (crossing.snap != NULL)
    *best = crossing;
}

const char *
ef_face_chart_snap (const EfFaceChart *chart,
                    double reach,
                    double *u,
                    double *v)
{
  Hit point = { NULL, NULL, 0.0, 0.0, reach };
  Hit curve = { NULL, NULL, 0.0, 0.0, reach };
  double pu;
  double pv;

  for (guint i = 0; i < chart->snaps->len; i++)
    {
      const EfSnap *snap = &g_array_index (chart->snaps, EfSnap, i);

      if (project (snap, *u, *v, &pu, &pv))
        try_hit (snap->kind == EF_SNAP_POINT ? &point : &curve, snap, snap->name, *u, *v, pu, pv);
    }
  try_lines (chart, *u, *v, &curve);
  if (point.name == NULL && curve.name != NULL)
    try_crossings (chart, *u, *v, &curve, reach);
  if (point.name != NULL)
    curve = point;
  if (curve.name == NULL)
    return NULL;
  *u = curve.u;
  *v = curve.v;

  return curve.name;
}
