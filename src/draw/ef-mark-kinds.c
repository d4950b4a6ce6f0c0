/* How each kind of wear is drawn: by line and hatch alone, so that it reads without colour.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One small painter a kind, named in the table at the end. A painter strokes with the source that is set; it is run twice
 * where a halo is wanted, first in the colour of the paper with a wider pen.
 */
#include "ef-mark-body.h"

#include <math.h>

static void
stroke (cairo_t *cr, const EfPen *pen, double width)
{
  cairo_set_line_width (cr, width * pen->unit + pen->halo);
  cairo_stroke (cr);
}

/* Straight strokes without round ends, as cheap as strokes get. */
static void
stroke_hatch (cairo_t *cr, const EfPen *pen, double width)
{
  cairo_line_cap_t cap = cairo_get_line_cap (cr);

  cairo_set_line_cap (cr, CAIRO_LINE_CAP_BUTT);
  stroke (cr, pen, width);
  cairo_set_line_cap (cr, cap);
}

/* Distance between the strokes of a hatch. */
static double
apart (const EfPen *pen, double px)
{
  return (pen->crowded ? 1.7 : 1) * px * pen->unit;
}

static double
extent (const EfBody *body)
{
  return MAX (body->box[2] - body->box[0], body->box[3] - body->box[1]);
}

static void
outline (cairo_t *cr, const EfBody *body, const EfPen *pen, double width)
{
  ef_path_spots (cr, body->outline, body->n_outline, TRUE);
  stroke (cr, pen, width);
}

static void
dashed_outline (cairo_t *cr, const EfBody *body, const EfPen *pen, double width, double on, double off)
{
  double dash[2] = { on * pen->unit, off * pen->unit };

  cairo_set_dash (cr, dash, 2, 0);
  outline (cr, body, pen, width);
  cairo_set_dash (cr, NULL, 0, 0);
}

static gboolean
roomy (const EfBody *body, const EfPen *pen)
{
  return extent (body) > 9 * pen->unit;
}

/* A wide line whose own style doesn't show its edges: faint edges. */
static void
faint_band (cairo_t *cr, const EfBody *body, const EfPen *pen)
{
  if (!body->closed && body->half > 6 * pen->unit && pen->halo == 0)
    dashed_outline (cr, body, pen, 0.6, 1.5, 2.5);
}

/* Parallel fine strokes. */
static void
paint_scoring (cairo_t *cr, const EfBody *body, const EfPen *pen)
{
  if (body->closed)
    {
      dashed_outline (cr, body, pen, 0.8, 3, 3);
      if (pen->halo > 0)
        return;
      ef_path_hatch (cr, body, pen, ef_body_grain (body), apart (pen, 3.4), 0);
      stroke_hatch (cr, pen, 0.8);
      return;
    }
  else
    {
      int n = CLAMP ((int) (body->half / (1.7 * pen->unit)), 1, 20);

      for (int k = -n; k <= n; k++)
        if (2 * n + 1 <= 7 || pen->halo == 0 || k == -n || k == n)
          ef_path_offset (cr, body, body->half * k / n, (k + n) % 2 == 0 ? 5 * pen->unit : 0);
      stroke (cr, pen, 0.9);
    }
}

/* A raised edge: thick line with ticks on one side. */
static void
paint_lip (cairo_t *cr, const EfBody *body, const EfPen *pen)
{
  g_autofree EfStride *strides = NULL;
  guint n;

  ef_path_spots (cr, body->spine, body->n_spine, body->closed);
  stroke (cr, pen, body->closed && !roomy (body, pen) ? 1.6 : 2.8);
  strides = ef_body_walk (body, pen, apart (pen, 5.5), &n);
  for (guint i = 0; i < n; i++)
    {
      double length = body->closed ? MIN (5.5 * pen->unit, extent (body) / 4) : MAX (6 * pen->unit, MIN (body->half, 12 * pen->unit));

      if (isnan (strides[i].x))
        continue;
      cairo_move_to (cr, strides[i].x, strides[i].y);
      cairo_line_to (cr, strides[i].x + length * strides[i].nx, strides[i].y + length * strides[i].ny);
    }
  stroke_hatch (cr, pen, 1.1);
  faint_band (cr, body, pen);
}

/* Two edges with nothing between. */
static void
paint_groove (cairo_t *cr, const EfBody *body, const EfPen *pen)
{
  if (body->closed)
    {
      outline (cr, body, pen, 1.3);
      if (extent (body) > 12 * pen->unit)
        {
          ef_path_offset (cr, body, 3.2 * pen->unit, 0);
          stroke (cr, pen, 1.3);
        }
      return;
    }
  outline (cr, body, pen, 1.4);
}

/* A line with stairs on one side. */
static void
paint_step (cairo_t *cr, const EfBody *body, const EfPen *pen)
{
  g_autofree EfStride *strides = NULL;
  double height = body->closed ? MIN (4.5 * pen->unit, extent (body) / 4) : 4.5 * pen->unit;
  gboolean open = FALSE;
  guint n;

  ef_path_spots (cr, body->spine, body->n_spine, body->closed);
  stroke (cr, pen, 1.2);
  strides = ef_body_walk (body, pen, 5 * pen->unit, &n);
  for (guint i = 0; i < n; i++)
    {
      const EfStride *s = &strides[i];
      double from = s->index % 2 == 0 ? 0 : height, to = height - from;

      if (isnan (s->x))
        {
          open = FALSE;
          continue;
        }
      if (open)
        cairo_line_to (cr, s->x + from * s->nx, s->y + from * s->ny);
      else
        cairo_move_to (cr, s->x + from * s->nx, s->y + from * s->ny);
      cairo_line_to (cr, s->x + to * s->nx, s->y + to * s->ny);
      open = TRUE;
    }
  stroke (cr, pen, 1.2);
  faint_band (cr, body, pen);
}

/* A hatched box. */
static void
paint_flat_spot (cairo_t *cr, const EfBody *body, const EfPen *pen)
{
  outline (cr, body, pen, 1.5);
  if (pen->halo > 0 || !roomy (body, pen))
    return;
  ef_path_hatch (cr, body, pen, -G_PI / 4, apart (pen, 4.5), 0);
  stroke_hatch (cr, pen, 0.9);
}

/* A dent: dotted edge, one dot in the middle of a small one. */
static void
paint_imprint (cairo_t *cr, const EfBody *body, const EfPen *pen)
{
  dashed_outline (cr, body, pen, 1.8, 0.01, 3.6);
  if (body->closed && extent (body) < 40 * pen->unit)
    {
      double x = (body->box[0] + body->box[2]) / 2, y = (body->box[1] + body->box[3]) / 2;

      cairo_move_to (cr, x, y);
      cairo_line_to (cr, x + 0.01 * pen->unit, y);
      stroke (cr, pen, 2.4);
    }
}

/* A field of dots without an edge. */
static void
paint_pitting (cairo_t *cr, const EfBody *body, const EfPen *pen)
{
  static const double few[5][2] = { { 0, 0 }, { 0.55, 0.45 }, { -0.55, 0.4 }, { -0.35, -0.6 }, { 0.5, -0.5 } };
  double w = body->box[2] - body->box[0], h = body->box[3] - body->box[1];

  if (pen->halo > 0)
    {
      if (roomy (body, pen))
        outline (cr, body, pen, 0);
      return;
    }
  if (body->closed && MAX (w, h) < 14 * pen->unit)
    for (int i = 0; i < 5; i++)
      {
        double x = (body->box[0] + body->box[2] + few[i][0] * w) / 2, y = (body->box[1] + body->box[3] + few[i][1] * h) / 2;

        cairo_move_to (cr, x, y);
        cairo_line_to (cr, x + 0.01 * pen->unit, y);
      }
  else
    ef_path_stipple (cr, body, pen, apart (pen, 4.2));
  stroke (cr, pen, 1.9);
}

/* Along a closed outline or a spine, out and in by turns. */
static void
saw_path (cairo_t *cr, const EfBody *body, const EfPen *pen, double spacing, double out, double in)
{
  g_autofree EfStride *strides = NULL;
  gboolean open = FALSE;
  guint n;

  strides = ef_body_walk (body, pen, spacing, &n);
  for (guint i = 0; i < n; i++)
    {
      const EfStride *s = &strides[i];
      double d = s->index % 2 == 0 ? -out : in;

      if (isnan (s->x))
        {
          open = FALSE;
          continue;
        }
      if (!body->closed && (s->index == 0 || s->last))
        d = 0;
      if (open)
        cairo_line_to (cr, s->x + d * s->nx, s->y + d * s->ny);
      else
        cairo_move_to (cr, s->x + d * s->nx, s->y + d * s->ny);
      open = TRUE;
    }
}

/* Material broken out: a jagged edge, few strokes across. */
static void
paint_chip (cairo_t *cr, const EfBody *body, const EfPen *pen)
{
  EfBody edge = *body;

  edge.spine = body->outline;
  edge.n_spine = body->n_outline;
  edge.closed = TRUE;
  saw_path (cr, &edge, pen, MIN (4.5 * pen->unit, extent (body) / 4), 1.2 * pen->unit, 2.2 * pen->unit);
  stroke (cr, pen, 1.5);
  if (pen->halo > 0 || !roomy (body, pen))
    return;
  /* a few strokes across, wider apart than any hatch */
  ef_path_hatch (cr, body, pen, G_PI / 3, apart (pen, 8), 0);
  stroke_hatch (cr, pen, 0.6);
}

/* A zigzag. */
static void
paint_crack (cairo_t *cr, const EfBody *body, const EfPen *pen)
{
  saw_path (cr, body, pen, 4.5 * pen->unit, 2.6 * pen->unit, 2.6 * pen->unit);
  stroke (cr, pen, 1.8);
  faint_band (cr, body, pen);
}

/* Blotches: a scalloped edge around broken cross hatch. */
static void
paint_corrosion (cairo_t *cr, const EfBody *body, const EfPen *pen)
{
  EfBody edge = *body;
  g_autofree EfStride *strides = NULL;
  guint n;

  edge.spine = body->outline;
  edge.n_spine = body->n_outline;
  edge.closed = TRUE;
  strides = ef_body_walk (&edge, pen, MIN (7 * pen->unit, extent (body) / 2), &n);
  for (guint i = 0; i + 1 < n; i++)
    {
      const EfStride *a = &strides[i], *b = &strides[i + 1];
      double bulge = -3 * pen->unit;

      if (isnan (a->x) || isnan (b->x))
        continue;
      cairo_move_to (cr, a->x, a->y);
      cairo_curve_to (cr, a->x + bulge * a->nx, a->y + bulge * a->ny, b->x + bulge * b->nx, b->y + bulge * b->ny, b->x, b->y);
    }
  stroke (cr, pen, 1.1);
  if (pen->halo > 0 || !roomy (body, pen))
    return;
  ef_path_hatch (cr, body, pen, 0.35, apart (pen, 4.6), apart (pen, 4));
  ef_path_hatch (cr, body, pen, 0.35 + G_PI / 2, apart (pen, 4.6), apart (pen, 4));
  stroke_hatch (cr, pen, 0.9);
}

static void (*const painters[EF_N_MARK_KINDS]) (cairo_t *, const EfBody *, const EfPen *) = {
  [EF_MARK_SCORING] = paint_scoring,
  [EF_MARK_LIP] = paint_lip,
  [EF_MARK_GROOVE] = paint_groove,
  [EF_MARK_STEP] = paint_step,
  [EF_MARK_FLAT_SPOT] = paint_flat_spot,
  [EF_MARK_IMPRINT] = paint_imprint,
  [EF_MARK_PITTING] = paint_pitting,
  [EF_MARK_CHIP] = paint_chip,
  [EF_MARK_CRACK] = paint_crack,
  [EF_MARK_CORROSION] = paint_corrosion,
};

void
ef_mark_paint (cairo_t *cr, EfMarkKind kind, const EfBody *body, const EfPen *pen)
{
  if ((guint) kind >= EF_N_MARK_KINDS || body->n_spine < 2)
    return;
  cairo_set_line_cap (cr, CAIRO_LINE_CAP_ROUND);
  cairo_set_line_join (cr, kind == EF_MARK_CHIP || kind == EF_MARK_CRACK || kind == EF_MARK_STEP ? CAIRO_LINE_JOIN_MITER : CAIRO_LINE_JOIN_ROUND);
  painters[kind](cr, body, pen);
}
