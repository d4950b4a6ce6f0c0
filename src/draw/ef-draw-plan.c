/* The lapping plan in pictures.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-plan.h"
#include "ef-draw-flow.h"
#include "ef-plot.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define POINTS 256
#define PITCH 4.5 /* of one bar with its words, in text sizes */

/* --- Bars ----------------------------------------------------------------------------------------------------------------------- */

typedef struct
{
  double low, high; /* m */
  double x, width;
  double size;
} Scale;

static double
at (const Scale *s, double value)
{
  return s->x + s->width * (CLAMP (value, s->low, s->high) - s->low) / (s->high - s->low);
}

static void
take (Scale *s, double value)
{
  if (!isfinite (value))
    return;
  s->low = fmin (s->low, value);
  s->high = fmax (s->high, value);
}

static void
set_scale (Scale *s, GPtrArray *bars)
{
  double room;

  s->low = INFINITY;
  s->high = -INFINITY;
  for (guint i = 0; i < bars->len; i++)
    {
      const EfPlanBar *bar = g_ptr_array_index (bars, i);
      double u = isnan (bar->uncertainty) ? 0 : bar->uncertainty;

      take (s, bar->found - u);
      take (s, bar->found + u);
      take (s, bar->after - u);
      take (s, bar->after + u);
      take (s, bar->min);
      take (s, bar->max);
      take (s, bar->use_min);
      take (s, bar->use_max);
    }
  if (!(s->high > s->low))
    {
      s->low = isfinite (s->low) ? s->low - 1e-5 : 0;
      s->high = s->low + 2e-5;
    }
  room = 0.1 * (s->high - s->low);
  s->low = s->low >= 0 ? fmax (0, s->low - room) : s->low - room;
  s->high += room;
}

static void
hatch (cairo_t *cr, const EfDrawStyle *style, double x, double y, double width, double height, double alpha)
{
  double step = 4.5 * style->line_scale;

  if (!(width > 0))
    return;
  cairo_save (cr);
  cairo_rectangle (cr, x, y, width, height);
  cairo_clip (cr);
  ef_draw_set_ink (cr, style, EF_INK_TEXT, alpha);
  ef_draw_set_width (cr, style, 1);
  for (double d = -height; d < width; d += step)
    {
      cairo_move_to (cr, x + d, y + height);
      cairo_line_to (cr, x + d + height, y);
    }
  cairo_stroke (cr);
  cairo_restore (cr);
}

static void
shade (cairo_t *cr, const EfDrawStyle *style, double from, double to, double y, double height, double alpha)
{
  if (!(to > from))
    return;
  ef_draw_set_ink (cr, style, EF_INK_TEXT, alpha);
  cairo_rectangle (cr, from, y, to - from, height);
  cairo_fill (cr);
}

#define FOR_USE 0.22
#define PAST 0.72

static void
draw_zones (const Scale *s, cairo_t *cr, const EfDrawStyle *style, const EfPlanBar *bar, double y, double height)
{
  double use_min = isfinite (bar->use_min) ? fmin (bar->use_min, bar->min) : bar->min;
  double use_max = isfinite (bar->use_max) ? fmax (bar->use_max, bar->max) : bar->max;

  ef_draw_set_ink (cr, style, EF_INK_PAPER, 1);
  cairo_rectangle (cr, s->x, y, s->width, height);
  cairo_fill (cr);
  shade (cr, style, s->x, at (s, use_min), y, height, PAST);
  shade (cr, style, at (s, use_max), s->x + s->width, y, height, PAST);
  shade (cr, style, at (s, use_min), at (s, bar->min), y, height, FOR_USE);
  shade (cr, style, at (s, bar->max), at (s, use_max), y, height, FOR_USE);
  hatch (cr, style, at (s, bar->min), y, at (s, bar->guard_min) - at (s, bar->min), height, 0.8);
  hatch (cr, style, at (s, bar->guard_max), y, at (s, bar->max) - at (s, bar->guard_max), height, 0.8);
  ef_draw_set_ink (cr, style, EF_INK_EDGE, 1);
  ef_draw_set_width (cr, style, 1);
  cairo_rectangle (cr, s->x, y, s->width, height);
  cairo_stroke (cr);
  for (int i = 0; i < 2; i++)
    {
      double x = at (s, i == 0 ? bar->min : bar->max);

      ef_draw_set_ink (cr, style, EF_INK_TEXT, 1);
      ef_draw_set_width (cr, style, 2);
      cairo_move_to (cr, x, y - 2 * style->line_scale);
      cairo_line_to (cr, x, y + height + 2 * style->line_scale);
      cairo_stroke (cr);
    }
}

static void
whiskers (const Scale *s, cairo_t *cr, const EfDrawStyle *style, double value, double u, double y)
{
  double left, right, cap = 3 * style->line_scale;

  if (isnan (u) || u <= 0)
    return;
  left = at (s, value - u);
  right = at (s, value + u);
  ef_draw_set_ink (cr, style, EF_INK_TEXT, 1);
  ef_draw_set_width (cr, style, 1.4);
  cairo_move_to (cr, left, y);
  cairo_line_to (cr, right, y);
  cairo_move_to (cr, left, y - cap);
  cairo_line_to (cr, left, y + cap);
  cairo_move_to (cr, right, y - cap);
  cairo_line_to (cr, right, y + cap);
  cairo_stroke (cr);
}

/* A stem down through the bar: full for found, dashed for after; light on the dark zones. */
static void
stem (const Scale *s, cairo_t *cr, const EfDrawStyle *style, double value, double from, double to, gboolean dashed)
{
  double dash[2] = { 4 * style->line_scale, 2.5 * style->line_scale };
  double x = at (s, value);

  cairo_save (cr);
  for (int pass = 0; pass < 2; pass++)
    {
      ef_draw_set_ink (cr, style, pass == 0 ? EF_INK_PAPER : EF_INK_TEXT, 1);
      ef_draw_set_width (cr, style, pass == 0 ? 4.5 : 2);
      if (pass == 1 && dashed)
        cairo_set_dash (cr, dash, 2, 0);
      cairo_move_to (cr, x, from);
      cairo_line_to (cr, x, to);
      cairo_stroke (cr);
    }
  cairo_restore (cr);
}

static void
draw_arrow (const Scale *s, cairo_t *cr, const EfDrawStyle *style, double from, double to, double u, double y)
{
  double way = at (s, to) - at (s, from);
  double sign = way < 0 ? -1 : 1;
  double gap = fmax (0.75 * s->size, isnan (u) ? 0 : at (s, from + u) - at (s, from) + 0.4 * s->size), head = 0.5 * s->size;
  double start = at (s, from) + sign * gap, end = at (s, to) - sign * gap;

  if (fabs (way) < 2 * gap + head)
    return;
  ef_draw_set_ink (cr, style, EF_INK_DIM, 1);
  ef_draw_set_width (cr, style, 1.4);
  cairo_move_to (cr, start, y);
  cairo_line_to (cr, end, y);
  cairo_move_to (cr, end - sign * head, y - 0.6 * head);
  cairo_line_to (cr, end, y);
  cairo_line_to (cr, end - sign * head, y + 0.6 * head);
  cairo_stroke (cr);
}

static void
draw_bar (const Scale *s, cairo_t *cr, const EfDrawStyle *style, const EfPlanBar *bar, EfUnit unit, double y)
{
  g_autofree char *values = ef_plan_bar_values (bar, unit);
  g_autoptr (PangoLayout) title = ef_text_layout (cr, style, s->size, EF_TEXT_BOLD, bar->title);
  double lane = y + 2.0 * s->size, top = y + 2.55 * s->size, tall = 1.15 * s->size, value_width;
  g_autoptr (PangoLayout) right = ef_text_layout (cr, style, s->size, 0, values);

  ef_text_extent (right, &value_width, NULL);
  ef_text_wrap (title, MAX (s->width - value_width - s->size, 4 * s->size), 1);
  ef_text_show (cr, style, title, EF_INK_TEXT, EF_TEXT_BOLD, s->x, y, 0, 0);
  ef_text_show (cr, style, right, EF_INK_TEXT, 0, s->x + s->width, y, 1, 0);
  draw_zones (s, cr, style, bar, top, tall);
  stem (s, cr, style, bar->found, lane, top + tall, FALSE);
  whiskers (s, cr, style, bar->found, bar->uncertainty, lane);
  if (bar->changed)
    {
      stem (s, cr, style, bar->after, lane, top + tall, TRUE);
      draw_arrow (s, cr, style, bar->found, bar->after, bar->uncertainty, lane);
      whiskers (s, cr, style, bar->after, bar->uncertainty, lane);
      ef_draw_state_marker (cr, style, EF_STATE_REWORKED, at (s, bar->after), lane, 0.36 * s->size);
    }
  ef_draw_state_marker (cr, style, EF_STATE_FOUND, at (s, bar->found), lane, 0.36 * s->size);
}

static void
draw_axis (const Scale *s, cairo_t *cr, const EfDrawStyle *style, EfUnit unit, double y)
{
  double low = ef_unit_from_si (unit, s->low), high = ef_unit_from_si (unit, s->high);
  double step = ef_nice_step (high - low, MAX ((guint) (s->width / (6 * s->size)), 2));
  int decimals = MAX (0, (int) ceil (-log10 (step) - 1e-9));

  for (double value = step * ceil (low / step - 1e-9); value <= high + 1e-9 * step; value += step)
    {
      g_autofree char *text = g_strdup_printf ("%.*f%s%s", decimals, value, value + step > high + 1e-9 * step ? " " : "", value + step > high + 1e-9 * step ? ef_unit_symbol (unit) : "");
      double x = at (s, ef_unit_to_si (unit, value));

      ef_draw_set_ink (cr, style, EF_INK_DIM, 1);
      ef_draw_set_width (cr, style, 1);
      cairo_move_to (cr, x, y);
      cairo_line_to (cr, x, y + 0.35 * s->size);
      cairo_stroke (cr);
      ef_text_put (cr, style, ef_text_size (style, 0.85), 0, EF_INK_DIM, text, x, y + 0.45 * s->size, x > s->x + 0.9 * s->width ? 1 : 0.5, 0);
    }
}

static void
legend_swatch (const Scale *s, cairo_t *cr, const EfDrawStyle *style, int kind, double x, double y)
{
  double w = 1.8 * s->size, h = 0.95 * s->size, middle = y + 0.6 * s->size;

  if (kind < 2)
    {
      ef_draw_state_marker (cr, style, kind == 0 ? EF_STATE_FOUND : EF_STATE_REWORKED, x + 0.9 * s->size, middle, 0.36 * s->size);
      return;
    }
  if (kind == 3)
    hatch (cr, style, x, middle - h / 2, w, h, 0.8);
  if (kind > 3)
    shade (cr, style, x, x + w, middle - h / 2, h, kind == 4 ? FOR_USE : PAST);
  ef_draw_set_ink (cr, style, EF_INK_EDGE, 1);
  ef_draw_set_width (cr, style, 1);
  cairo_rectangle (cr, x, middle - h / 2, w, h);
  cairo_stroke (cr);
}

static double
lay_legend (const Scale *s, cairo_t *cr, const EfDrawStyle *style, double y, gboolean paint)
{
  const char *words[] = { _("found, with its uncertainty"), _("after rework"), _("where it should end"), _("kept off for the uncertainty"), _("still good for use"), _("past its limit") };
  double x = s->x;

  for (guint i = 0; i < G_N_ELEMENTS (words); i++)
    {
      g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, ef_text_size (style, 0.85), 0, words[i]);
      double w;

      ef_text_extent (layout, &w, NULL);
      if (x > s->x && x + 2.3 * s->size + w > s->x + s->width)
        {
          x = s->x;
          y += 1.5 * s->size;
        }
      if (paint)
        {
          legend_swatch (s, cr, style, (int) i, x, y);
          ef_text_show (cr, style, layout, EF_INK_DIM, 0, x + 2.2 * s->size, y, 0, 0);
        }
      x += 2.2 * s->size + w + 1.4 * s->size;
    }
  return y + 1.5 * s->size;
}

static void
place_scale (Scale *s, const EfDrawStyle *style, double width)
{
  s->size = ef_text_size (style, 1);
  s->x = 2 * style->line_scale;
  s->width = MAX (width - 4 * style->line_scale, 10);
}

double
ef_draw_plan_bars_height (const EfDrawStyle *style, GPtrArray *bars, double width)
{
  cairo_surface_t *surface = cairo_recording_surface_create (CAIRO_CONTENT_ALPHA, NULL);
  cairo_t *cr = cairo_create (surface);
  double tall;
  Scale s;

  place_scale (&s, style, width);
  tall = lay_legend (&s, cr, style, PITCH * s.size * bars->len + 1.9 * s.size, FALSE);
  cairo_destroy (cr);
  cairo_surface_destroy (surface);
  return tall;
}

void
ef_draw_plan_bars (cairo_t *cr, const EfDrawStyle *style, GPtrArray *bars, EfUnit unit, double width, double height)
{
  double y = 0;
  Scale s;

  place_scale (&s, style, width);
  if (bars->len == 0)
    {
      ef_text_put (cr, style, s.size, 0, EF_INK_DIM, _("No end clearance is measured yet"), width / 2, height / 2, 0.5, 0.5);
      return;
    }
  set_scale (&s, bars);
  for (guint i = 0; i < bars->len; i++, y += PITCH * s.size)
    draw_bar (&s, cr, style, g_ptr_array_index (bars, i), unit, y);
  draw_axis (&s, cr, style, unit, y - 0.45 * s.size);
  lay_legend (&s, cr, style, y + 1.9 * s.size, TRUE);
}

/* --- Curve ----------------------------------------------------------------------------------------------------------------------- */

static double
kept_to (const EfPlanRow *row)
{
  return row->cut + (isnan (row->residual) ? 0 : row->residual);
}

static double
sealing_share (const EfPlanRow *row, double depth)
{
  return row->land != NULL ? ef_land_share (ef_face_land_curve (row->land), depth) : 1;
}

char *
ef_draw_plan_curve_words (const EfDepthMap *map, const EfPlanRow *row, EfUnit unit)
{
  g_autofree char *cut = ef_format_quantity (row->cut, unit, -1);
  double before = 100 * ef_bearing_area_share (map, 0), after = 100 * ef_bearing_area_share (map, row->cut);

  g_autofree char *land = ef_plan_land_words (row, unit);

  return g_strdup_printf (_("%s: %.1f %% of the land is unworn; lapped %s deep, %.1f %% is%s%s"), row->name, before, cut, after, land != NULL ? ". " : "", land != NULL ? land : "");
}

static void
fill_material (const EfPlot *plot, cairo_t *cr, const double *shares, const double *depths, const double rgb[3])
{
  double x, y;

  cairo_save (cr);
  cairo_rectangle (cr, plot->x, plot->y, plot->width, plot->height);
  cairo_clip (cr);
  for (int i = 0; i < POINTS; i++)
    {
      ef_plot_map (plot, shares[i], depths[i], &x, &y);
      if (i == 0)
        cairo_move_to (cr, plot->x, y);
      cairo_line_to (cr, x, y);
    }
  cairo_line_to (cr, x, plot->y + plot->height);
  cairo_line_to (cr, plot->x, plot->y + plot->height);
  cairo_close_path (cr);
  cairo_set_source_rgba (cr, rgb[0], rgb[1], rgb[2], 0.15);
  cairo_fill (cr);
  cairo_restore (cr);
}

/* The same land weighed by what it costs in leakage: dashed. */
static void
draw_sealing (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, const EfPlanRow *row, EfUnit unit, const double *depths, const double rgb[3])
{
  double shares[POINTS];

  if (row->land == NULL || !row->land->by_leakage)
    return;
  for (int i = 0; i < POINTS; i++)
    shares[i] = 100 * ef_land_share (&row->land->sealing, ef_unit_to_si (unit, depths[i]));
  ef_plot_line (plot, cr, style, shares, depths, POINTS, rgb, 1.6, 4);
}

/* What comes off: hatched from the unworn face down to the depth reached. */
static void
hatch_cut (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, double cut)
{
  double x, y;

  ef_plot_map (plot, plot->ax.min, MIN (cut, plot->ay.max), &x, &y);
  hatch (cr, style, plot->x, plot->y, plot->width, y - plot->y, 0.28);
}

void
ef_draw_plan_curve (cairo_t *cr, const EfDrawStyle *style, const EfDepthMap *map, const EfPlanRow *row, EfUnit unit, double width, double height)
{
  double depths[POINTS], shares[POINTS], rgb[3], ink[3];
  g_autofree char *title = g_strdup_printf (_("Depth, %s"), ef_unit_symbol (unit));
  EfPlotAxis ax = { 0, 100, 0, _("Share of the land no deeper, %"), FALSE };
  EfPlotAxis ay = { 0, 0, 0, title, TRUE };
  g_autofree char *cut = ef_format_quantity (row->cut, unit, -1);
  g_autofree char *cut_words = NULL;
  EfPlot plot;

  if (map == NULL || !(ef_draw_depth_deepest (map) > 0))
    {
      ef_text_put (cr, style, style->text_size, 0, EF_INK_DIM, _("No depths on this face yet"), width / 2, height / 2, 0.5, 0.5);
      return;
    }
  ef_bearing_area_curve (map, POINTS, depths, shares);
  ay.max = ef_unit_from_si (unit, 1.1 * fmax (depths[POINTS - 1], kept_to (row)));
  for (int i = 0; i < POINTS; i++)
    {
      depths[i] = ef_unit_from_si (unit, depths[i]);
      shares[i] *= 100;
    }
  ax.min = floor (MAX (0, MIN (shares[0], 100 * sealing_share (row, 0)) - 4) / 10) * 10;
  ef_plot_axis_nice (&ax, MAX ((guint) (width / (6 * style->text_size)), 2));
  ef_plot_axis_nice (&ay, MAX ((guint) (height / (3 * style->text_size)), 2));
  ax.max = MIN (ax.max, 100);
  ef_plot_init (&plot, cr, style, &ax, &ay, 0, 0, width, height);
  ef_plot_frame (&plot, cr, style);
  ef_draw_ink (style, EF_INK_ACCENT, rgb);
  ef_draw_ink (style, EF_INK_TEXT, ink);
  fill_material (&plot, cr, shares, depths, rgb);
  if (row->cut > 0)
    hatch_cut (&plot, cr, style, ef_unit_from_si (unit, row->cut));
  ef_plot_line (&plot, cr, style, shares, depths, POINTS, rgb, 2.4, 0);
  draw_sealing (&plot, cr, style, row, unit, depths, ink);
  if (row->cut > 0)
    {
      cut_words = row->land != NULL && row->land->by_leakage
                      ? g_strdup_printf (_("lapped to %s: %.1f %% clean, %.1f %% of what seals (dashed)"), cut, 100 * ef_bearing_area_share (map, row->cut),
                                         100 * ef_plan_restored (row, row->removal))
                      : g_strdup_printf (_("lapped to %s: %.1f %% clean"), cut, 100 * ef_bearing_area_share (map, row->cut));
      ef_plot_limit (&plot, cr, style, FALSE, ef_unit_from_si (unit, row->cut), cut_words, ink);
    }
  if (kept_to (row) > row->cut + 5e-7)
    {
      g_autofree char *kept = ef_format_quantity (row->residual, unit, -1);
      g_autofree char *words = g_strdup_printf (_("%s more may stay"), kept);

      ef_plot_limit (&plot, cr, style, FALSE, ef_unit_from_si (unit, kept_to (row)), words, ink);
    }
}

/* --- Share of the stock --------------------------------------------------------------------------------------------------------- */

void
ef_draw_plan_share (cairo_t *cr, const EfDrawStyle *style, const EfPlanRow *row, double width, double height)
{
  double share = row->bound > 0 ? CLAMP (row->removal / row->bound, 0, 1) : 0;
  double least = row->bound > 0 ? row->least / row->bound : 0;
  double line = style->line_scale;

  ef_draw_set_ink (cr, style, EF_INK_ACCENT, 0.85);
  cairo_rectangle (cr, line, line, share * (width - 2 * line), height - 2 * line);
  cairo_fill (cr);
  ef_draw_set_ink (cr, style, EF_INK_EDGE, 1);
  ef_draw_set_width (cr, style, 1);
  cairo_rectangle (cr, line, line, width - 2 * line, height - 2 * line);
  cairo_stroke (cr);
  if (least > 0 && least <= 1)
    {
      ef_draw_set_ink (cr, style, EF_INK_TEXT, 1);
      ef_draw_set_width (cr, style, 2);
      cairo_move_to (cr, line + least * (width - 2 * line), 0);
      cairo_line_to (cr, line + least * (width - 2 * line), height);
      cairo_stroke (cr);
    }
}
