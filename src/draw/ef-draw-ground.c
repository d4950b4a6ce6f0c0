/* The face itself: material, ports, pocket footprint, thin gears and circles, rotation, grid.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-path.h"
#include "ef-draw-text.h"
#include "ef-plot.h"

#include <math.h>

void
ef_path_ring (cairo_t *cr, const EfFaceView *view, const EfRing *ring, gboolean closed)
{
  for (guint i = 0; i < ring->n; i++)
    {
      double x, y;

      ef_face_view_to_screen (view, ring->xy[2 * i], ring->xy[2 * i + 1], &x, &y);
      if (i == 0)
        cairo_move_to (cr, x, y);
      else
        cairo_line_to (cr, x, y);
    }
  if (closed && ring->n > 2)
    cairo_close_path (cr);
}

void
ef_path_region (cairo_t *cr, const EfFaceView *view, const EfRegion *region)
{
  if (region == NULL)
    return;
  for (guint i = 0; i < region->n; i++)
    ef_path_ring (cr, view, &region->rings[i], TRUE);
}

static void
draw_material (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart)
{
  cairo_set_fill_rule (cr, CAIRO_FILL_RULE_EVEN_ODD);
  ef_path_region (cr, view, chart->solid);
  ef_draw_set_ink (cr, style, EF_INK_MATERIAL, 1);
  cairo_fill (cr);
}

static void
draw_bands (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart)
{
  for (guint i = 0; i < chart->bands->len; i++)
    {
      const EfChartBand *band = g_ptr_array_index (chart->bands, i);

      ef_path_region (cr, view, band->region);
      ef_draw_set_ink (cr, style, EF_INK_ACCENT, 0.14);
      cairo_fill_preserve (cr);
      ef_draw_set_ink (cr, style, EF_INK_ACCENT, 0.6);
      ef_draw_set_width (cr, style, 0.8);
      cairo_stroke (cr);
    }
}

/* Line width, ink and dash of each kind of chart line. */
static const struct
{
  EfInk ink;
  double width, alpha;
  double dash[4];
  int n_dash;
  gboolean fill;
} line_styles[] = {
  [EF_LINE_EDGE] = { EF_INK_EDGE, 1.4, 1, { 0 }, 0, FALSE },
  [EF_LINE_HOLE] = { EF_INK_EDGE, 1.1, 1, { 0 }, 0, FALSE },
  [EF_LINE_PORT] = { EF_INK_EDGE, 1.1, 1, { 0 }, 0, FALSE },
  [EF_LINE_POCKET] = { EF_INK_EDGE, 1.0, 0.9, { 7, 3 }, 2, FALSE },
  [EF_LINE_GEAR] = { EF_INK_FAINT, 0.9, 1, { 0 }, 0, FALSE },
  [EF_LINE_CIRCLE] = { EF_INK_FAINT, 0.9, 1, { 8, 3, 1.5, 3 }, 4, FALSE },
  [EF_LINE_STRIP] = { EF_INK_EDGE, 0.8, 0.7, { 2, 3 }, 2, FALSE },
};

static void
draw_lines (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart)
{
  for (guint i = 0; i < chart->lines->len; i++)
    {
      const EfChartLine *line = g_ptr_array_index (chart->lines, i);
      guint kind = MIN ((guint) line->kind, G_N_ELEMENTS (line_styles) - 1);
      double dash[4];

      for (int k = 0; k < 4; k++)
        dash[k] = line_styles[kind].dash[k] * style->line_scale;
      ef_path_ring (cr, view, &line->path, line->closed);
      cairo_set_dash (cr, dash, line_styles[kind].n_dash, 0);
      ef_draw_set_ink (cr, style, line_styles[kind].ink, line_styles[kind].alpha);
      ef_draw_set_width (cr, style, line_styles[kind].width);
      cairo_stroke (cr);
    }
  cairo_set_dash (cr, NULL, 0, 0);
}

static void
draw_grid (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart)
{
  double room = 60 * style->line_scale / view->scale;
  double step = ef_nice_step (room, 1);
  double size = ef_text_size (style, 0.75);
  double x0, y0, x1, y1;

  if ((chart->u1 - chart->u0) / step > 500 || (chart->v1 - chart->v0) / step > 500)
    return;
  ef_face_view_to_screen (view, chart->u0, chart->v1, &x0, &y0);
  ef_face_view_to_screen (view, chart->u1, chart->v0, &x1, &y1);
  ef_draw_set_width (cr, style, 0.7);
  ef_draw_set_ink (cr, style, EF_INK_FAINT, 0.6);
  for (double u = step * ceil (chart->u0 / step - 1e-9); u <= chart->u1 + 1e-9; u += step)
    {
      double x = view->x0 + view->scale * u;

      cairo_move_to (cr, x, y0);
      cairo_line_to (cr, x, y1);
    }
  for (double v = step * ceil (chart->v0 / step - 1e-9); v <= chart->v1 + 1e-9; v += step)
    {
      double y = view->y0 - view->scale * v;

      cairo_move_to (cr, x0, y);
      cairo_line_to (cr, x1, y);
    }
  cairo_stroke (cr);
  for (double u = step * ceil (chart->u0 / step - 1e-9); u <= chart->u1 + 1e-9; u += step)
    {
      g_autofree char *text = ef_text_mm (u, step);

      ef_text_put (cr, style, size, EF_TEXT_HALO, EF_INK_DIM, text, view->x0 + view->scale * u, y1 + 2 * style->line_scale, 0.5, 0);
    }
  for (double v = step * ceil (chart->v0 / step - 1e-9); v <= chart->v1 + 1e-9; v += step)
    {
      g_autofree char *text = ef_text_mm (v, step);

      ef_text_put (cr, style, size, EF_TEXT_HALO, EF_INK_DIM, text, x0 - 3 * style->line_scale, view->y0 - view->scale * v, 1, 0.5);
    }
}

static void
draw_rotation (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart)
{
  double r = view->scale * chart->rotation_radius;
  double from = G_PI * 0.28, to = G_PI * 0.72;
  double head = 9 * style->line_scale;
  double x, y, end, sense, ex, ey, tangent;

  if (chart->rotation == 0 || r < 12 * style->line_scale)
    return;
  ef_face_view_to_screen (view, chart->rotation_u, chart->rotation_v, &x, &y);
  ef_draw_set_ink (cr, style, EF_INK_TEXT, 0.85);
  ef_draw_set_width (cr, style, 1.8);
  cairo_new_path (cr);
  cairo_arc (cr, x, y, r, -to, -from);
  cairo_stroke (cr);
  end = chart->rotation > 0 ? to : from;
  sense = chart->rotation > 0 ? 1 : -1;
  ex = x + r * cos (end);
  ey = y - r * sin (end);
  tangent = end + sense * G_PI / 2; /* direction of travel, angles anticlockwise with y up */
  cairo_move_to (cr, ex + head * cos (tangent), ey - head * sin (tangent));
  cairo_line_to (cr, ex + 0.5 * head * cos (end), ey - 0.5 * head * sin (end));
  cairo_line_to (cr, ex - 0.5 * head * cos (end), ey + 0.5 * head * sin (end));
  cairo_close_path (cr);
  cairo_fill (cr);
}

void
ef_draw_face_ground (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart, const EfFaceLayers *layers)
{
  cairo_save (cr);
  cairo_new_path (cr);
  cairo_set_line_cap (cr, CAIRO_LINE_CAP_BUTT);
  cairo_set_line_join (cr, CAIRO_LINE_JOIN_ROUND);
  if (!layers->over_photo)
    draw_material (cr, style, view, chart);
  if (layers->bands)
    draw_bands (cr, style, view, chart);
  if (layers->grid)
    draw_grid (cr, style, view, chart);
  draw_lines (cr, style, view, chart);
  draw_rotation (cr, style, view, chart);
  if (layers->labels)
    ef_draw_face_labels (cr, style, view, chart);
  cairo_restore (cr);
}
