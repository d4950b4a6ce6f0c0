/* Words on pictures, by Pango, and the record of where words already stand.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-draw-ink.h"

#include <pango/pangocairo.h>

G_BEGIN_DECLS

typedef enum { EF_TEXT_PLAIN = 0, EF_TEXT_BOLD = 1 << 0, EF_TEXT_HALO = 1 << 1, EF_TEXT_CENTRE = 1 << 2 } EfTextFlags;

/* A font of @size target units high, whatever the target's resolution. */
PangoFontDescription *ef_text_font (const EfDrawStyle *style, double size, EfTextFlags flags);
/* Lines of @text in the style's font at @size; belongs to the caller. */
PangoLayout *ef_text_layout (cairo_t *cr, const EfDrawStyle *style, double size, EfTextFlags flags, const char *text);
/* Sets the wrap width; a word too long for it is broken without a hyphen; text that still doesn't fit into @lines lines ends in "…" (0: any number of lines). */
void ef_text_wrap (PangoLayout *layout, double width, int lines);
/* Target units; either may be NULL. */
void ef_text_extent (PangoLayout *layout, double *width, double *height);
/* Paints with the corner at (x, y) moved by -align_x of the width and -align_y of the height. */
void ef_text_show (cairo_t *cr, const EfDrawStyle *style, PangoLayout *layout, EfInk ink, EfTextFlags flags, double x, double y, double align_x, double align_y);
/* All in one, for a single line. */
void ef_text_put (cairo_t *cr, const EfDrawStyle *style, double size, EfTextFlags flags, EfInk ink, const char *text, double x, double y, double align_x, double align_y);
/* Text size relative to the style's own, never below what can be read on the target. */
double ef_text_size (const EfDrawStyle *style, double share);

/* "0.05" from 5e-5 m: millimetres with as many decimals as the @step between values needs. */
char *ef_text_mm (double metres, double step);

/* Which places of a picture are taken: labels that would cover another one are moved or left out. */
typedef struct
{
  double x, y, w, h, cell;
  guint nx, ny;
  guint8 *taken;
} EfOccupied;

/* A free picture of @w x @h target units with the corner at (x, y), told apart in squares of @cell; ef_occupied_clear() frees what is inside. */
void ef_occupied_init (EfOccupied *self, double x, double y, double w, double h, double cell);
/* Takes the box if all of it is inside and free. */
gboolean ef_occupied_take (EfOccupied *self, double x, double y, double w, double h);
/* Takes it whatever was there. */
void ef_occupied_block (EfOccupied *self, double x, double y, double w, double h);
void ef_occupied_clear (EfOccupied *self);

G_END_DECLS
