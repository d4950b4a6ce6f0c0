/* A mark's body on the target: walks, offsets and spans that line styles are made of.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-mark-body.h"

#include <math.h>

#define MOST_STRIDES 20000
#define MOST_HATCHES 4000

static double
signed_area (const EfSpot *p, guint n)
{
  double area = 0;

  for (guint i = 0, j = n - 1; i < n; j = i++)
    area += p[j].x * p[i].y - p[i].x * p[j].y;
  return area / 2;
}

/* The left normal at a vertex, lengthened so that offset lines stay parallel; the left is the left as seen on the picture. */
static EfSpot
vertex_normal (const EfSpot *p, guint n, gboolean closed, guint i)
{
  const EfSpot *here = &p[i];
  const EfSpot *before = i > 0 ? &p[i - 1] : closed ? &p[n - 1] : NULL;
  const EfSpot *after = i + 1 < n ? &p[i + 1] : closed ? &p[0] : NULL;
  double nx = 0, ny = 0, length, ux = 0, uy = 0;

  for (int side = 0; side < 2; side++)
    {
      const EfSpot *a = side == 0 ? before : here;
      const EfSpot *b = side == 0 ? here : after;
      double dx, dy, d;

      if (a == NULL || b == NULL)
        continue;
      dx = b->x - a->x;
      dy = b->y - a->y;
      d = hypot (dx, dy);
      if (d < 1e-9)
        continue;
      ux = dy / d;
      uy = -dx / d;
      nx += ux;
      ny += uy;
    }
  length = hypot (nx, ny);
  if (length < 1e-9)
    return (EfSpot) { ux, uy };
  nx /= length;
  ny /= length;
  /* 1 / cos (half the turn), bounded so that sharp corners don't shoot out */
  length = MIN (1 / MAX (fabs (nx * ux + ny * uy), 0.5), 2);
  return (EfSpot) { nx * length, ny * length };
}

static void
measure_box (EfBody *body)
{
  body->box[0] = body->box[1] = G_MAXDOUBLE;
  body->box[2] = body->box[3] = -G_MAXDOUBLE;
  for (guint i = 0; i < body->n_outline; i++)
    {
      body->box[0] = MIN (body->box[0], body->outline[i].x);
      body->box[1] = MIN (body->box[1], body->outline[i].y);
      body->box[2] = MAX (body->box[2], body->outline[i].x);
      body->box[3] = MAX (body->box[3], body->outline[i].y);
    }
}

/* A line of some width ends round, as it does on the depth map. */
static void
capsule (EfBody *body, double half)
{
  guint n = body->n_spine, at = 0;
  guint round = CLAMP ((guint) half, 2, 10); /* corners of an end */

  body->half = half;
  body->outline = g_new (EfSpot, 2 * n + 2 * round);
  for (int side = 0; side < 2; side++)
    {
      double out = side == 0 ? half : -half;

      for (guint k = 0; k < n; k++)
        {
          guint i = side == 0 ? k : n - 1 - k;
          EfSpot normal = vertex_normal (body->spine, n, FALSE, i);

          body->outline[at++] = (EfSpot) { body->spine[i].x + normal.x * out, body->spine[i].y + normal.y * out };
        }
      for (guint k = 1; k <= round && n > 0; k++)
        {
          guint i = side == 0 ? n - 1 : 0;
          EfSpot normal = vertex_normal (body->spine, n, FALSE, i);
          double t = G_PI * k / (round + 1);
          double c = cos (t) * out, s = sin (t) * out;

          /* from the normal over the line's own direction to the other side */
          body->outline[at++] = (EfSpot) { body->spine[i].x + normal.x * c - normal.y * s, body->spine[i].y + normal.y * c + normal.x * s };
        }
    }
  body->n_outline = at;
}

void
ef_body_init (EfBody *body, const EfSpot *points, guint n, gboolean closed, double half, double least)
{
  gboolean flip = closed && signed_area (points, n) > 0;

  *body = (EfBody) { .n_spine = n, .closed = closed };
  body->spine = g_new (EfSpot, MAX (n, 1));
  for (guint i = 0; i < n; i++)
    body->spine[i] = points[flip ? n - 1 - i : i];
  if (closed)
    {
      body->n_outline = n;
      body->outline = g_memdup2 (body->spine, n * sizeof (EfSpot));
    }
  else
    capsule (body, MAX (half, least));
  measure_box (body);
}

void
ef_body_circle (EfBody *body, double x, double y, double radius)
{
  EfSpot points[64];
  guint n = CLAMP ((guint) (radius * 1.5), 12, G_N_ELEMENTS (points));

  for (guint i = 0; i < n; i++)
    points[i] = (EfSpot) { x + radius * cos (2 * G_PI * i / n), y + radius * sin (2 * G_PI * i / n) };
  ef_body_init (body, points, n, TRUE, 0, 0);
}

void
ef_body_clear (EfBody *body)
{
  g_clear_pointer (&body->spine, g_free);
  g_clear_pointer (&body->outline, g_free);
}

static double
spine_length (const EfBody *body)
{
  double length = 0;

  for (guint i = 1; i < body->n_spine; i++)
    length += hypot (body->spine[i].x - body->spine[i - 1].x, body->spine[i].y - body->spine[i - 1].y);
  if (body->closed && body->n_spine > 1)
    length += hypot (body->spine[0].x - body->spine[body->n_spine - 1].x, body->spine[0].y - body->spine[body->n_spine - 1].y);
  return length;
}

EfStride *
ef_body_walk (const EfBody *body, const EfPen *pen, double spacing, guint *n_out)
{
  double length = spine_length (body);
  guint n = length > 0 ? (guint) CLAMP (rint (length / spacing), 1, MOST_STRIDES) : 0;
  double stride, at = 0, next = 0;
  guint edges = body->closed ? body->n_spine : body->n_spine - 1;
  EfStride *strides;
  guint count = 0, index = 0;
  gboolean broken = FALSE;

  *n_out = 0;
  if (n == 0 || body->n_spine < 2)
    return NULL;
  if (body->closed)
    n += n % 2; /* even, so that patterns of two join */
  stride = length / n;
  strides = g_new (EfStride, n + 3);
  for (guint e = 0; e < edges && index < n + 1; e++)
    {
      const EfSpot *a = &body->spine[e];
      const EfSpot *b = &body->spine[(e + 1) % body->n_spine];
      double d = hypot (b->x - a->x, b->y - a->y);

      while (next <= at + d + 1e-9 * length && index < n + 1 && d > 1e-12)
        {
          double t = (next - at) / d;
          EfStride s = { a->x + t * (b->x - a->x), a->y + t * (b->y - a->y), (b->y - a->y) / d, -(b->x - a->x) / d, index, index == n };
          gboolean out = s.x < pen->clip[0] - 40 * pen->unit || s.x > pen->clip[2] + 40 * pen->unit || s.y < pen->clip[1] - 40 * pen->unit || s.y > pen->clip[3] + 40 * pen->unit;

          if (!out)
            strides[count++] = s;
          else if (!broken && count > 0)
            strides[count++] = (EfStride) { NAN, NAN, 0, 0, index, FALSE };
          broken = out;
          next += stride;
          index++;
        }
      at += d;
    }
  *n_out = count;
  return strides;
}

void
ef_path_spots (cairo_t *cr, const EfSpot *spots, guint n, gboolean closed)
{
  for (guint i = 0; i < n; i++)
    if (i == 0)
      cairo_move_to (cr, spots[i].x, spots[i].y);
    else
      cairo_line_to (cr, spots[i].x, spots[i].y);
  if (closed && n > 2)
    cairo_close_path (cr);
}

void
ef_path_offset (cairo_t *cr, const EfBody *body, double distance, double inset)
{
  for (guint i = 0; i < body->n_spine; i++)
    {
      EfSpot normal = vertex_normal (body->spine, body->n_spine, body->closed, i);
      double x = body->spine[i].x + normal.x * distance;
      double y = body->spine[i].y + normal.y * distance;

      if (inset > 0 && !body->closed && body->n_spine > 1 && (i == 0 || i == body->n_spine - 1))
        {
          const EfSpot *other = &body->spine[i == 0 ? 1 : i - 1];
          double d = hypot (other->x - body->spine[i].x, other->y - body->spine[i].y);
          double t = d > 0 ? MIN (inset, 0.3 * d) / d : 0;

          x += t * (other->x - body->spine[i].x);
          y += t * (other->y - body->spine[i].y);
        }
      if (i == 0)
        cairo_move_to (cr, x, y);
      else
        cairo_line_to (cr, x, y);
    }
  if (body->closed)
    cairo_close_path (cr);
}

static int
compare_doubles (gconstpointer a, gconstpointer b)
{
  double d = *(const double *) a - *(const double *) b;

  return d < 0 ? -1 : d > 0 ? 1 : 0;
}

/* Where the line c·p = level crosses the outline, as sorted positions along (−s, c)·p. */
static void
crossings (const EfBody *body, double c, double s, double level, GArray *out)
{
  g_array_set_size (out, 0);
  for (guint i = 0, j = body->n_outline - 1; i < body->n_outline; j = i++)
    {
      const EfSpot *a = &body->outline[j], *b = &body->outline[i];
      double da = c * a->x + s * a->y - level;
      double db = c * b->x + s * b->y - level;

      if ((da < 0) != (db < 0))
        {
          double t = da / (da - db);
          double along = -s * (a->x + t * (b->x - a->x)) + c * (a->y + t * (b->y - a->y));

          g_array_append_val (out, along);
        }
    }
  g_array_sort (out, compare_doubles);
}

/* The span of levels where the box meets the clip. */
static gboolean
level_range (const EfBody *body, const EfPen *pen, double c, double s, double range[2], double along[2])
{
  double slack = 8 * pen->unit; /* strokes just outside reach in */
  double box[4] = { MAX (body->box[0], pen->clip[0] - slack), MAX (body->box[1], pen->clip[1] - slack), MIN (body->box[2], pen->clip[2] + slack), MIN (body->box[3], pen->clip[3] + slack) };

  if (box[0] >= box[2] || box[1] >= box[3])
    return FALSE;
  range[0] = along[0] = G_MAXDOUBLE;
  range[1] = along[1] = -G_MAXDOUBLE;
  for (int k = 0; k < 4; k++)
    {
      double x = box[(k & 1) * 2], y = box[1 + (k & 2)];

      range[0] = MIN (range[0], c * x + s * y);
      range[1] = MAX (range[1], c * x + s * y);
      along[0] = MIN (along[0], -s * x + c * y);
      along[1] = MAX (along[1], -s * x + c * y);
    }
  return TRUE;
}

void
ef_path_hatch (cairo_t *cr, const EfBody *body, const EfPen *pen, double angle, double spacing, double dash)
{
  double c = -sin (angle), s = cos (angle);
  double anchor = c * pen->anchor[0] + s * pen->anchor[1];
  double along0 = -s * pen->anchor[0] + c * pen->anchor[1];
  g_autoptr (GArray) hits = g_array_new (FALSE, FALSE, sizeof (double));
  double range[2], along[2];
  gint64 first, last;

  if (!level_range (body, pen, c, s, range, along))
    return;
  first = (gint64) ceil ((range[0] - anchor) / spacing);
  last = MIN ((gint64) floor ((range[1] - anchor) / spacing), first + MOST_HATCHES);
  for (gint64 k = first; k <= last; k++)
    {
      double level = anchor + k * spacing;

      crossings (body, c, s, level, hits);
      for (guint i = 0; i + 1 < hits->len; i += 2)
        {
          double from = MAX (g_array_index (hits, double, i), along[0]);
          double to = MIN (g_array_index (hits, double, i + 1), along[1]);
          double phase = along0 + (k & 1) * dash;

          for (double t = dash > 0 ? phase + 2 * dash * floor ((from - phase) / (2 * dash)) : from; t < to; t += dash > 0 ? 2 * dash : to - from + 1)
            {
              double a = MAX (t, from), b = dash > 0 ? MIN (t + 1.2 * dash, to) : to;

              if (b <= a)
                continue;
              cairo_move_to (cr, c * level - s * a, s * level + c * a);
              cairo_line_to (cr, c * level - s * b, s * level + c * b);
            }
        }
    }
}

void
ef_path_stipple (cairo_t *cr, const EfBody *body, const EfPen *pen, double spacing)
{
  g_autoptr (GArray) hits = g_array_new (FALSE, FALSE, sizeof (double));
  double range[2], along[2];
  gint64 first, last;

  if (!level_range (body, pen, 0, 1, range, along))
    return;
  first = (gint64) ceil ((range[0] - pen->anchor[1]) / spacing);
  last = MIN ((gint64) floor ((range[1] - pen->anchor[1]) / spacing), first + MOST_HATCHES);
  for (gint64 k = first; k <= last; k++)
    {
      double y = pen->anchor[1] + k * spacing;

      crossings (body, 0, 1, y, hits);
      for (guint i = 0; i + 1 < hits->len; i += 2)
        {
          /* crossings() measures along -x here */
          double from = MAX (-g_array_index (hits, double, i + 1), pen->clip[0] - spacing);
          double to = MIN (-g_array_index (hits, double, i), pen->clip[2] + spacing);
          gint64 m = (gint64) ceil ((from - pen->anchor[0]) / spacing - 0.5 * (k & 1));
          int guard = 0;

          for (double x = pen->anchor[0] + (m + 0.5 * (k & 1)) * spacing; x < to && guard < MOST_HATCHES; m++, guard++, x = pen->anchor[0] + (m + 0.5 * (k & 1)) * spacing)
            {
              /* a small scatter that depends on the place alone */
              guint32 h = (guint32) (m * 73856093) ^ (guint32) (k * 19349663);
              double jx, jy;

              h ^= h >> 13;
              h *= 0x5bd1e995u;
              h ^= h >> 15;
              jx = ((h & 0xff) / 255.0 - 0.5) * 0.5 * spacing;
              jy = (((h >> 8) & 0xff) / 255.0 - 0.5) * 0.5 * spacing;
              cairo_move_to (cr, x + jx, y + jy);
              cairo_line_to (cr, x + jx + 0.01 * pen->unit, y + jy);
            }
        }
    }
}

double
ef_body_grain (const EfBody *body)
{
  double mx = 0, my = 0, xx = 0, xy = 0, yy = 0;

  if (!body->closed && body->n_spine > 1)
    {
      const EfSpot *a = &body->spine[0], *b = &body->spine[body->n_spine - 1];

      return atan2 (b->y - a->y, b->x - a->x);
    }
  for (guint i = 0; i < body->n_outline; i++)
    {
      mx += body->outline[i].x / body->n_outline;
      my += body->outline[i].y / body->n_outline;
    }
  for (guint i = 0; i < body->n_outline; i++)
    {
      double dx = body->outline[i].x - mx, dy = body->outline[i].y - my;

      xx += dx * dx;
      xy += dx * dy;
      yy += dy * dy;
    }
  if (fabs (xy) < 1e-9 * (xx + yy) && fabs (xx - yy) < 1e-3 * (xx + yy))
    return 0; /* round: no direction of its own */
  return 0.5 * atan2 (2 * xy, xx - yy);
}
