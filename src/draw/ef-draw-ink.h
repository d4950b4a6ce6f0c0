/* The few colours everything is drawn in; none is chosen elsewhere.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-draw.h"

G_BEGIN_DECLS

typedef enum
{
  EF_INK_PAPER,
  EF_INK_TEXT,     /* words, marks */
  EF_INK_DIM,      /* second-rank words */
  EF_INK_FAINT,    /* grid, thin gears */
  EF_INK_MATERIAL, /* what a part is made of */
  EF_INK_SIDE,     /* its side in the exploded view, a shade darker */
  EF_INK_EDGE,     /* outlines */
  EF_INK_RECESS,   /* pockets and ports */
  EF_INK_ACCENT,   /* selected */
  EF_INK_SUCTION,
  EF_INK_DELIVERY,
  EF_N_INKS
} EfInk;

/* sRGB of an ink in the style's look, 0 … 1 each; the same as source of @cr, with @alpha 0 … 1. */
void ef_draw_ink (const EfDrawStyle *style, EfInk ink, double rgb[3]);
void ef_draw_set_ink (cairo_t *cr, const EfDrawStyle *style, EfInk ink, double alpha);
/* Brings @rgb nearer to @other, in place: @share 0 leaves it, 1 makes it the other. */
void ef_draw_mix (double rgb[3], const double other[3], double share);
/* A line @width screen px wide, scaled for the target. */
void ef_draw_set_width (cairo_t *cr, const EfDrawStyle *style, double width);

/* CIELAB (D65, 2 degree observer) to sRGB and back; both 0 … 1 for rgb, L 0 … 100. FALSE when out of the sRGB gamut (clipped). */
gboolean ef_lab_to_rgb (const double lab[3], double rgb[3]);
void ef_rgb_to_lab (const double rgb[3], double lab[3]);

G_END_DECLS
