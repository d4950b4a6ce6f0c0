/* What every plot is made of: axes, lines, areas, bars, limits, labels.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-plot.h"

#include <math.h>

double
ef_nice_step (double range, guint most)
{
  static const double factors[] = { 1, 2, 5, 10 };
  double raw, decade;

  if (!(range > 0) || !isfinite (range))
    return 1;
  raw = range / MAX (most, 1);
  decade = pow (10, floor (log10 (raw)));
  for (guint i = 0; i < G_N_ELEMENTS (factors); i++)
    if (factors[i] * decade >= raw * (1 - 1e-9))
      return factors[i] * decade;
  return 10 * decade;
}

void
ef_plot_axis_nice (EfPlotAxis *axis, guint most_ticks)
{
  if (!isfinite (axis->min) || !isfinite (axis->max) || axis->max - axis->min < 1e-300)
    {
      axis->min = isfinite (axis->min) ? axis->min : 0;
      axis->max = axis->min + 1;
    }
  axis->step = ef_nice_step (axis->max - axis->min, most_ticks);
  axis->min = axis->step * floor (axis->min / axis->step + 1e-9);
  axis->max = axis->step * ceil (axis->max / axis->step - 1e-9);
}

static int
decimals_of (double step)
{
  int decimals = 0;

  while (decimals < 8 && fabs (step * pow (10, decimals) - rint (step * pow (10, decimals))) > 1e-6)
    decimals++;
  return decimals;
}

static char *
tick_text (const EfPlotAxis *axis, int k)
{
  double value = axis->min + k * axis->step;

  if (fabs (value) < 1e-9 * axis->step)
    value = 0;
  return g_strdup_printf ("%.*f", decimals_of (axis->step), value);
}

static int
n_ticks (const EfPlotAxis *axis)
{
  return axis->step > 0 ? CLAMP ((int) floor ((axis->max - axis->min) / axis->step + 1e-6) + 1, 0, 200) : 0;
}

static double
widest_tick (cairo_t *cr, const EfDrawStyle *style, const EfPlotAxis *axis)
{
  double widest = 0;

  for (int k = 0; k < n_ticks (axis); k++)
    {
      g_autofree char *text = tick_text (axis, k);
      g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, ef_text_size (style, 0.85), 0, text);
      double w;

      ef_text_extent (layout, &w, NULL);
      widest = MAX (widest, w);
    }
  return widest;
}

void
ef_plot_init (EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, const EfPlotAxis *ax, const EfPlotAxis *ay, double x, double y, double width, double height)
{
  double line = 1.35 * ef_text_size (style, 0.85);
  double left, bottom, top, right;

  plot->ax = *ax;
  plot->ay = *ay;
  left = widest_tick (cr, style, ay) + 0.5 * line + (ay->title != NULL ? 1.2 * line : 0);
  bottom = 1.3 * line + (ax->title != NULL ? 1.1 * line : 0);
  top = 0.6 * line;
  right = 0.8 * line;
  plot->x = x + left;
  plot->y = y + top;
  plot->width = MAX (width - left - right, 1);
  plot->height = MAX (height - top - bottom, 1);
}

void
ef_plot_map (const EfPlot *plot, double px, double py, double *x, double *y)
{
  double sx = (px - plot->ax.min) / (plot->ax.max - plot->ax.min);
  double sy = (py - plot->ay.min) / (plot->ay.max - plot->ay.min);

  *x = plot->x + plot->width * (plot->ax.reversed ? 1 - sx : sx);
  *y = plot->y + plot->height * (plot->ay.reversed ? sy : 1 - sy);
}

/* Every tick's label where there is room, else every second, third … one. */
static void
draw_ticks (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, gboolean along_x)
{
  const EfPlotAxis *axis = along_x ? &plot->ax : &plot->ay;
  double size = ef_text_size (style, 0.85);
  double room = (along_x ? plot->width : plot->height) / MAX (n_ticks (axis) - 1, 1);
  double need = along_x ? widest_tick (cr, style, axis) + 0.6 * size : 1.3 * size;
  int every = MAX ((int) ceil (need / room), 1);

  for (int k = 0; k < n_ticks (axis); k++)
    {
      g_autofree char *text = tick_text (axis, k);
      double value = axis->min + k * axis->step;
      double x, y;

      ef_plot_map (plot, along_x ? value : plot->ax.min, along_x ? plot->ay.min : value, &x, &y);
      ef_draw_set_ink (cr, style, EF_INK_FAINT, 0.5);
      ef_draw_set_width (cr, style, 0.7);
      cairo_move_to (cr, along_x ? x : plot->x, along_x ? plot->y : y);
      cairo_line_to (cr, along_x ? x : plot->x + plot->width, along_x ? plot->y + plot->height : y);
      cairo_stroke (cr);
      if (k % every != 0)
        continue;
      if (along_x)
        ef_text_put (cr, style, size, 0, EF_INK_DIM, text, x, plot->y + plot->height + 0.3 * size, 0.5, 0);
      else
        ef_text_put (cr, style, size, 0, EF_INK_DIM, text, plot->x - 0.4 * size, y, 1, 0.5);
    }
}

void
ef_plot_frame (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style)
{
  double size = ef_text_size (style, 0.85);

  draw_ticks (plot, cr, style, TRUE);
  draw_ticks (plot, cr, style, FALSE);
  ef_draw_set_ink (cr, style, EF_INK_EDGE, 1);
  ef_draw_set_width (cr, style, 1);
  cairo_rectangle (cr, plot->x, plot->y, plot->width, plot->height);
  cairo_stroke (cr);
  if (plot->ax.title != NULL)
    ef_text_put (cr, style, size, 0, EF_INK_TEXT, plot->ax.title, plot->x + plot->width, plot->y + plot->height + 1.65 * size, 1, 0);
  if (plot->ay.title != NULL)
    {
      cairo_save (cr);
      cairo_translate (cr, plot->x - widest_tick (cr, style, &plot->ay) - 0.7 * size, plot->y);
      cairo_rotate (cr, -G_PI / 2);
      ef_text_put (cr, style, size, 0, EF_INK_TEXT, plot->ay.title, 0, 0, 1, 1);
      cairo_restore (cr);
    }
}

static void
line_path (const EfPlot *plot, cairo_t *cr, const double *px, const double *py, guint n)
{
  gboolean open = FALSE;

  for (guint i = 0; i < n; i++)
    {
      double x, y;

      if (!isfinite (px[i]) || !isfinite (py[i]))
        {
          open = FALSE;
          continue;
        }
      ef_plot_map (plot, px[i], py[i], &x, &y);
      if (open)
        cairo_line_to (cr, x, y);
      else
        cairo_move_to (cr, x, y);
      open = TRUE;
    }
}

static void
clip_inside (const EfPlot *plot, cairo_t *cr)
{
  cairo_rectangle (cr, plot->x, plot->y, plot->width, plot->height);
  cairo_clip (cr);
}

void
ef_plot_line (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, const double *px, const double *py, guint n, const double rgb[3], double width, double dash)
{
  cairo_save (cr);
  clip_inside (plot, cr);
  line_path (plot, cr, px, py, n);
  cairo_set_source_rgb (cr, rgb[0], rgb[1], rgb[2]);
  ef_draw_set_width (cr, style, width);
  cairo_set_line_join (cr, CAIRO_LINE_JOIN_ROUND);
  if (dash > 0)
    {
      dash *= style->line_scale;
      cairo_set_dash (cr, &dash, 1, 0);
    }
  cairo_stroke (cr);
  cairo_restore (cr);
}

void
ef_plot_area (const EfPlot *plot, cairo_t *cr, const double *px, const double *py, guint n, double base, const double rgb[3], double alpha)
{
  double x, y;

  if (n < 2)
    return;
  cairo_save (cr);
  clip_inside (plot, cr);
  ef_plot_map (plot, px[0], base, &x, &y);
  cairo_move_to (cr, x, y);
  for (guint i = 0; i < n; i++)
    {
      ef_plot_map (plot, px[i], py[i], &x, &y);
      cairo_line_to (cr, x, y);
    }
  ef_plot_map (plot, px[n - 1], base, &x, &y);
  cairo_line_to (cr, x, y);
  cairo_close_path (cr);
  cairo_set_source_rgba (cr, rgb[0], rgb[1], rgb[2], alpha);
  cairo_fill (cr);
  cairo_restore (cr);
}

void
ef_plot_bar (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, double px, double base, double py, double share, const double rgb[3])
{
  double x0, y0, x1, y1;

  ef_plot_map (plot, px - share / 2, base, &x0, &y0);
  ef_plot_map (plot, px + share / 2, py, &x1, &y1);
  cairo_save (cr);
  clip_inside (plot, cr);
  cairo_rectangle (cr, MIN (x0, x1), MIN (y0, y1), fabs (x1 - x0), fabs (y1 - y0));
  cairo_set_source_rgb (cr, rgb[0], rgb[1], rgb[2]);
  cairo_fill_preserve (cr);
  ef_draw_set_ink (cr, style, EF_INK_EDGE, 1);
  ef_draw_set_width (cr, style, 0.8);
  cairo_stroke (cr);
  cairo_restore (cr);
}

void
ef_plot_limit (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, gboolean across_x, double value, const char *text, const double rgb[3])
{
  double dash[2] = { 6 * style->line_scale, 3 * style->line_scale };
  double size = ef_text_size (style, 0.8);
  double x, y;

  ef_plot_map (plot, across_x ? value : plot->ax.max, across_x ? plot->ay.max : value, &x, &y);
  cairo_save (cr);
  cairo_set_source_rgb (cr, rgb[0], rgb[1], rgb[2]);
  ef_draw_set_width (cr, style, 1.4);
  cairo_set_dash (cr, dash, 2, 0);
  cairo_move_to (cr, across_x ? x : plot->x, across_x ? plot->y : y);
  cairo_line_to (cr, across_x ? x : plot->x + plot->width, across_x ? plot->y + plot->height : y);
  cairo_stroke (cr);
  cairo_restore (cr);
  if (text == NULL)
    return;
  if (across_x)
    ef_text_put (cr, style, size, EF_TEXT_HALO, EF_INK_TEXT, text, x > plot->x + plot->width / 2 ? x - 0.4 * size : x + 0.4 * size, plot->y + 0.3 * size, x > plot->x + plot->width / 2 ? 1 : 0, 0);
  else
    ef_text_put (cr, style, size, EF_TEXT_HALO, EF_INK_TEXT, text, plot->x + plot->width - 0.4 * size, y - 0.2 * size, 1, y > plot->y + 1.6 * size ? 1 : 0);
}

void
ef_plot_label (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, double px, double py, const char *text, double align_x, double align_y)
{
  double x, y;

  ef_plot_map (plot, px, py, &x, &y);
  ef_text_put (cr, style, ef_text_size (style, 0.85), EF_TEXT_HALO, EF_INK_TEXT, text, x, y, align_x, align_y);
}
