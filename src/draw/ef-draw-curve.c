/* The bearing-area curve: depth downwards, share of the material to the right.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-plot.h"

#include "config.h"
#include <glib/gi18n-lib.h>

#define POINTS 256

void
ef_draw_bearing_area (cairo_t *cr, const EfDrawStyle *style, const EfDepthMap *map, double width, double height)
{
  double depths[POINTS], shares[POINTS], rgb[3];
  EfPlotAxis ax = { 0, 100, 0, _("Material, %"), FALSE };
  EfPlotAxis ay = { 0, 0, 0, _("Depth, mm"), TRUE };
  EfPlot plot;

  if (map == NULL || !(ef_draw_depth_deepest (map) > 0))
    {
      ef_text_put (cr, style, style->text_size, 0, EF_INK_DIM, _("No depths on this face yet"), width / 2, height / 2, 0.5, 0.5);
      return;
    }
  ef_bearing_area_curve (map, POINTS, depths, shares);
  for (int i = 0; i < POINTS; i++)
    {
      depths[i] *= 1e3;
      shares[i] *= 100;
    }
  ay.max = depths[POINTS - 1];
  ef_plot_axis_nice (&ax, MAX ((guint) (width / (6 * style->text_size)), 2));
  ef_plot_axis_nice (&ay, MAX ((guint) (height / (3 * style->text_size)), 2));
  ef_plot_init (&plot, cr, style, &ax, &ay, 0, 0, width, height);
  ef_plot_frame (&plot, cr, style);
  ef_draw_ink (style, EF_INK_ACCENT, rgb);
  /* what is still there at each depth lies to the left of the curve */
  cairo_save (cr);
  cairo_rectangle (cr, plot.x, plot.y, plot.width, plot.height);
  cairo_clip (cr);
  for (int i = 0; i < POINTS; i++)
    {
      double x, y;

      ef_plot_map (&plot, shares[i], depths[i], &x, &y);
      if (i == 0)
        cairo_move_to (cr, plot.x, y);
      cairo_line_to (cr, x, y);
      if (i == POINTS - 1)
        cairo_line_to (cr, plot.x, y);
    }
  cairo_close_path (cr);
  cairo_set_source_rgba (cr, rgb[0], rgb[1], rgb[2], 0.15);
  cairo_fill (cr);
  cairo_restore (cr);
  ef_plot_line (&plot, cr, style, shares, depths, POINTS, rgb, 2, 0);
}
