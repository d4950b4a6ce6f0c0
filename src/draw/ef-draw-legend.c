/* Scale bar and depth legend.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-text.h"
#include "ef-plot.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

/* (x, y): left end of the bar's lower edge; the words stand above it. */
void
ef_draw_scale_bar (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, double x, double y, double max_width)
{
  double length = ef_nice_step (max_width / view->scale, 1);
  double high = 4 * style->line_scale;
  g_autofree char *number = NULL;
  g_autofree char *text = NULL;
  double width;

  /* ef_nice_step rounds up: take the next lower one that fits */
  while (length * view->scale > max_width)
    length = length * 0.5 * view->scale <= max_width ? length * 0.5 : length * 0.2;
  length = ef_nice_step (length * 0.999, 1) * view->scale <= max_width ? ef_nice_step (length * 0.999, 1) : length;
  width = length * view->scale;
  number = ef_text_mm (length, length);
  text = g_strdup_printf ("%s mm", number);
  cairo_save (cr);
  ef_draw_set_ink (cr, style, EF_INK_PAPER, 0.85);
  cairo_rectangle (cr, x - high / 2, y - 1.5 * high, width + high, 2 * high);
  cairo_fill (cr);
  ef_draw_set_ink (cr, style, EF_INK_TEXT, 1);
  ef_draw_set_width (cr, style, 1);
  for (int k = 0; k < 4; k++)
    {
      cairo_rectangle (cr, x + width * k / 4, y - high, width / 4, high);
      if (k % 2 == 0)
        cairo_fill (cr);
      else
        cairo_stroke (cr);
    }
  cairo_rectangle (cr, x, y - high, width, high);
  cairo_stroke (cr);
  ef_text_put (cr, style, ef_text_size (style, 0.85), EF_TEXT_HALO, EF_INK_TEXT, text, x, y - 1.4 * high, 0, 1);
  cairo_restore (cr);
}

/* The colours from 0 to max_depth, upright when the box is taller than wide, with ticks and the unit. */
void
ef_draw_depth_legend (cairo_t *cr, const EfDrawStyle *style, double max_depth, double x, double y, double width, double height)
{
  gboolean upright = height > width;
  double size = ef_text_size (style, 0.85);
  double band = MIN (upright ? 0.4 * width : height - 2.6 * size, 1.2 * size);
  double title = upright ? 2.2 * size : 0;
  double length = upright ? height - title - size : width - 2.5 * size;
  double bx = upright ? x : x + size, by = upright ? y + title : y + 1.35 * size;
  double step = ef_nice_step (max_depth, MAX ((guint) (length / (upright ? 2.2 * size : 4 * size)), 1));
  int n = 64;

  band = MAX (band, 5 * style->line_scale);
  cairo_save (cr);
  for (int k = 0; k < n; k++)
    {
      double rgb[3];

      ef_draw_depth_colour ((k + 0.5) / n, style->dark, rgb);
      cairo_set_source_rgb (cr, rgb[0], rgb[1], rgb[2]);
      /* a little overlap, so that no seam shows */
      if (upright)
        cairo_rectangle (cr, bx, by + length * k / n, band, MIN (length / n * 1.6, length * (n - k) / n));
      else
        cairo_rectangle (cr, bx + length * k / n, by, MIN (length / n * 1.6, length * (n - k) / n), band);
      cairo_fill (cr);
    }
  ef_draw_set_ink (cr, style, EF_INK_EDGE, 1);
  ef_draw_set_width (cr, style, 0.8);
  cairo_rectangle (cr, bx, by, upright ? band : length, upright ? length : band);
  cairo_stroke (cr);
  for (double d = 0; d <= max_depth * (1 + 1e-9); d += step)
    {
      g_autofree char *text = ef_text_mm (d, step);
      double at = length * d / max_depth;

      ef_draw_set_ink (cr, style, EF_INK_EDGE, 1);
      if (upright)
        {
          cairo_move_to (cr, bx + band, by + at);
          cairo_line_to (cr, bx + band + 0.3 * size, by + at);
        }
      else
        {
          cairo_move_to (cr, bx + at, by + band);
          cairo_line_to (cr, bx + at, by + band + 0.3 * size);
        }
      cairo_stroke (cr);
      if (upright)
        ef_text_put (cr, style, size, 0, EF_INK_TEXT, text, bx + band + 0.5 * size, by + at, 0, 0.5);
      else
        ef_text_put (cr, style, size, 0, EF_INK_TEXT, text, bx + at, by + band + 0.3 * size, 0.5, 0);
    }
  ef_text_put (cr, style, size, 0, EF_INK_DIM, _("Depth, mm"), upright ? x : bx, y, 0, 0);
  cairo_restore (cr);
}
