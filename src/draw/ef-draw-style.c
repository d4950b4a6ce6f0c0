/* Styles and the colours that follow from them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Quiet and flat: greys for material, one accent, and colour only where it says something. High contrast keeps the same
 * roles but goes to the ends of the scale.
 */
#include "ef-draw-ink.h"

static const guint32 inks[4][EF_N_INKS] = {
  /* light */
  { 0xffffff, 0x1c1e22, 0x5a5f68, 0xb4b9c1, 0xe3e5e8, 0xc3c7cd, 0x6a7079, 0xf4f5f7, 0x1b6ac9, 0x2a6496, 0x8a4b22 },
  /* dark */
  { 0x1e1f22, 0xf0f1f3, 0xa9aeb7, 0x5c616a, 0x3f4349, 0x2f3237, 0x9aa0aa, 0x292b2f, 0x78aeff, 0x8fc1ea, 0xe3ab80 },
  /* light, high contrast */
  { 0xffffff, 0x000000, 0x2a2a2a, 0x7c7c7c, 0xe6e6e6, 0xb5b5b5, 0x000000, 0xffffff, 0x0b47a1, 0x0b3f73, 0x6b2c08 },
  /* dark, high contrast */
  { 0x000000, 0xffffff, 0xdcdcdc, 0x8c8c8c, 0x303030, 0x1c1c1c, 0xffffff, 0x000000, 0x9cc7ff, 0xa8d4ff, 0xffc8a0 },
};
static const guint32 verdicts[4][EF_N_VERDICTS] = {
  { 0x25784a, 0x3360a8, 0xa05c00, 0xa8233a },
  { 0x74ca95, 0x94bbf5, 0xe8b054, 0xf48a95 },
  { 0x0d5a30, 0x17407f, 0x6e3e00, 0x850f26 },
  { 0x9ae8b6, 0xb5d2ff, 0xffcf80, 0xffb0b8 },
};

static int
column (const EfDrawStyle *style)
{
  return (style->dark ? 1 : 0) + (style->high_contrast ? 2 : 0);
}

static void
unpack (guint32 hex, double rgb[3])
{
  rgb[0] = ((hex >> 16) & 0xff) / 255.0;
  rgb[1] = ((hex >> 8) & 0xff) / 255.0;
  rgb[2] = (hex & 0xff) / 255.0;
}

void
ef_draw_style_screen (EfDrawStyle *style, gboolean dark, gboolean high_contrast)
{
  *style = (EfDrawStyle) { .dark = dark, .high_contrast = high_contrast, .text_size = 13, .line_scale = 1, .font = "Sans" };
}

void
ef_draw_style_print (EfDrawStyle *style)
{
  *style = (EfDrawStyle) { .text_size = 8.5, .line_scale = 0.75, .font = "Sans", .print = TRUE };
}

void
ef_draw_ink (const EfDrawStyle *style, EfInk ink, double rgb[3])
{
  unpack (inks[column (style)][MIN (ink, EF_N_INKS - 1)], rgb);
}

void
ef_draw_set_ink (cairo_t *cr, const EfDrawStyle *style, EfInk ink, double alpha)
{
  double rgb[3];

  ef_draw_ink (style, ink, rgb);
  if (alpha >= 1)
    cairo_set_source_rgb (cr, rgb[0], rgb[1], rgb[2]);
  else
    cairo_set_source_rgba (cr, rgb[0], rgb[1], rgb[2], alpha);
}

void
ef_draw_mix (double rgb[3], const double other[3], double share)
{
  for (int i = 0; i < 3; i++)
    rgb[i] += share * (other[i] - rgb[i]);
}

void
ef_draw_set_width (cairo_t *cr, const EfDrawStyle *style, double width)
{
  cairo_set_line_width (cr, width * style->line_scale * (style->high_contrast ? 1.3 : 1));
}

void
ef_draw_paper (cairo_t *cr, const EfDrawStyle *style)
{
  ef_draw_set_ink (cr, style, EF_INK_PAPER, 1);
  cairo_paint (cr);
}

void
ef_draw_verdict_colour (EfVerdictWord word, const EfDrawStyle *style, double rgb[3])
{
  unpack (verdicts[column (style)][CLAMP ((int) word, 0, EF_N_VERDICTS - 1)], rgb);
}
