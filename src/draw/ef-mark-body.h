/* A mark's body on the target: its spine or outline in target units, with the walks, offsets and spans that line styles are made of.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-draw-ink.h"

G_BEGIN_DECLS

typedef struct
{
  double x, y;
} EfSpot;

typedef struct
{
  EfSpot *spine; /* the line itself; for points and areas the outline */
  guint n_spine;
  gboolean closed;
  EfSpot *outline; /* of the whole body */
  guint n_outline;
  double half;   /* of a line's width as drawn */
  double box[4]; /* x0 y0 x1 y1 of the outline */
} EfBody;

/* What a painter draws with. */
typedef struct
{
  double unit;      /* one px */
  double halo;      /* widening while the paper-coloured halo is drawn, else 0 */
  gboolean crowded; /* so many marks that each must be cheap */
  double anchor[2]; /* hatches are tied to it, so they move with the face */
  double clip[4];   /* x0 y0 x1 y1 */
} EfPen;

/* @points are copied; @half only for lines (closed FALSE), at least @least as drawn. */
void ef_body_init (EfBody *body, const EfSpot *points, guint n, gboolean closed, double half, double least);
void ef_body_circle (EfBody *body, double x, double y, double radius);
void ef_body_clear (EfBody *body);

/* Places along the spine every @spacing units: x y and the left normal nx ny (for closed spines it points inwards). Those far
 * outside the clip are left out by breaking the walk: x is NAN there. Free with g_free(). */
typedef struct
{
  double x, y, nx, ny;
  guint index; /* counted from the start, also over those left out */
  gboolean last;
} EfStride;
EfStride *ef_body_walk (const EfBody *body, const EfPen *pen, double spacing, guint *n_out);

/* Appended to the current path as straight pieces; closed only from three spots on. */
void ef_path_spots (cairo_t *cr, const EfSpot *spots, guint n, gboolean closed);
/* The spine moved to its left by @distance. */
void ef_path_offset (cairo_t *cr, const EfBody *body, double distance, double inset);
/* Parallel strokes across the outline at @angle; @dash > 0 breaks them with a shift from one to the next. */
void ef_path_hatch (cairo_t *cr, const EfBody *body, const EfPen *pen, double angle, double spacing, double dash);
/* Zero-length strokes (dots under round caps) over the outline, evenly scattered. */
void ef_path_stipple (cairo_t *cr, const EfBody *body, const EfPen *pen, double spacing);
/* Direction of the outline's longest extent, rad. */
double ef_body_grain (const EfBody *body);

/* Paints the body in the style of its kind with the source that is set. */
void ef_mark_paint (cairo_t *cr, EfMarkKind kind, const EfBody *body, const EfPen *pen);

G_END_DECLS
