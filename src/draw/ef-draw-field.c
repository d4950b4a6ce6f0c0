/* The oil pressure over a face.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-field.h"
#include "ef-plot.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define MOST_ALPHA 0.42

/* --- Fill --------------------------------------------------------------------------------------------------------------- */

static double
fill_alpha (double share)
{
  return MOST_ALPHA * CLAMP (share, 0, 1);
}

/* One pixel a cell, in the wall frame; cairo stretches it over the face. */
static cairo_surface_t *
patch_surface (const EfDrawStyle *style, const EfFieldPatch *patch)
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_ARGB32, (int) patch->cells, (int) patch->cells);
  int stride = cairo_image_surface_get_stride (surface);
  guint8 *data = cairo_image_surface_get_data (surface);
  double rgb[3];

  ef_draw_ink (style, EF_INK_SUCTION, rgb);
  cairo_surface_flush (surface);
  for (guint j = 0; j < patch->cells; j++)
    for (guint i = 0; i < patch->cells; i++)
      {
        double p = patch->values[(gsize) j * patch->cells + i];
        double alpha = isnan (p) ? 0 : fill_alpha (p);
        guint32 *pixel = (guint32 *) (data + (gsize) j * stride) + i;

        *pixel = (guint32) lrint (255 * alpha) << 24 | (guint32) lrint (255 * alpha * rgb[0]) << 16 | (guint32) lrint (255 * alpha * rgb[1]) << 8 | (guint32) lrint (255 * alpha * rgb[2]);
      }
  cairo_surface_mark_dirty (surface);
  return surface;
}

void
ef_draw_field_fill (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFlowField *field)
{
  for (guint k = 0; k < field->n_patches; k++)
    {
      const EfFieldPatch *patch = &field->patch[k];
      double pitch = 2 * patch->extent / patch->cells, s = view->scale;
      cairo_surface_t *surface = patch_surface (style, patch);
      cairo_matrix_t to_chart, to_cells;

      /* wall frame to target, then cells to wall frame */
      cairo_matrix_init (&to_chart, s * patch->axes[0][0], -s * patch->axes[1][0], s * patch->axes[0][1], -s * patch->axes[1][1],
                         view->x0 + s * patch->origin[0], view->y0 - s * patch->origin[1]);
      cairo_matrix_init (&to_cells, pitch, 0, 0, pitch, -patch->extent, -patch->extent);
      cairo_save (cr);
      cairo_transform (cr, &to_chart);
      cairo_transform (cr, &to_cells);
      cairo_set_source_surface (cr, surface, 0, 0);
      cairo_pattern_set_filter (cairo_get_source (cr), CAIRO_FILTER_BILINEAR);
      cairo_rectangle (cr, 0, 0, patch->cells, patch->cells);
      cairo_fill (cr);
      cairo_restore (cr);
      cairo_surface_destroy (surface);
    }
}

/* --- Isobars --------------------------------------------------------------------------------------------------------------- */

typedef struct
{
  double x0, y0, x1, y1; /* target */
} Piece;

double
ef_draw_field_step (const EfFlowField *field)
{
  return ef_nice_step (field->pressure, 8);
}

static void
cell_middle (const EfFieldPatch *patch, const EfFaceView *view, double i, double j, double *x, double *y)
{
  double pitch = 2 * patch->extent / patch->cells, u, v;

  ef_field_patch_to_chart (patch, -patch->extent + (i + 0.5) * pitch, -patch->extent + (j + 0.5) * pitch, &u, &v);
  ef_face_view_to_screen (view, u, v, x, y);
}

/* Where the level crosses the sides of the square between four cells; two pieces where it's a saddle. */
static void
square_pieces (const EfFieldPatch *patch, const EfFaceView *view, guint i, guint j, double level, GArray *pieces)
{
  static const int corner[4][2] = { { 0, 0 }, { 1, 0 }, { 1, 1 }, { 0, 1 } };
  double value[4], x[4], y[4];
  int n = 0;

  for (int k = 0; k < 4; k++)
    {
      value[k] = patch->values[(gsize) (j + corner[k][1]) * patch->cells + i + corner[k][0]];
      if (isnan (value[k]))
        return;
    }
  for (int k = 0; k < 4; k++)
    {
      int next = (k + 1) % 4;
      double t;

      if ((value[k] < level) == (value[next] < level))
        continue;
      t = (level - value[k]) / (value[next] - value[k]);
      cell_middle (patch, view, i + corner[k][0] + t * (corner[next][0] - corner[k][0]), j + corner[k][1] + t * (corner[next][1] - corner[k][1]), &x[n], &y[n]);
      n++;
    }
  for (int k = 0; k + 1 < n; k += 2)
    {
      Piece piece = { x[k], y[k], x[k + 1], y[k + 1] };

      g_array_append_val (pieces, piece);
    }
}

static GArray *
level_pieces (const EfFieldPatch *patch, const EfFaceView *view, double level)
{
  GArray *pieces = g_array_new (FALSE, FALSE, sizeof (Piece));

  for (guint j = 0; j + 1 < patch->cells; j++)
    for (guint i = 0; i + 1 < patch->cells; i++)
      square_pieces (patch, view, i, j, level, pieces);
  return pieces;
}

static void
stroke_pieces (cairo_t *cr, const EfDrawStyle *style, GArray *pieces)
{
  cairo_new_path (cr);
  for (guint k = 0; k < pieces->len; k++)
    {
      const Piece *piece = &g_array_index (pieces, Piece, k);

      cairo_move_to (cr, piece->x0, piece->y0);
      cairo_line_to (cr, piece->x1, piece->y1);
    }
  cairo_set_line_cap (cr, CAIRO_LINE_CAP_ROUND);
  /* readable over deep wear too */
  ef_draw_set_ink (cr, style, EF_INK_PAPER, 0.55);
  ef_draw_set_width (cr, style, 3.2);
  cairo_stroke_preserve (cr);
  ef_draw_set_ink (cr, style, EF_INK_SUCTION, 1);
  ef_draw_set_width (cr, style, 1.1);
  cairo_stroke (cr);
}

/* At most three values a level on one gear, well apart, each where it covers none of the others. */
static void
label_pieces (cairo_t *cr, const EfDrawStyle *style, GArray *pieces, const char *text, EfOccupied *occupied)
{
  double size = ef_text_size (style, 0.8), apart = 90 * style->line_scale, w, h;
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, size, 0, text);
  double placed[3][2];
  guint n = 0;

  ef_text_extent (layout, &w, &h);
  for (guint step = 0; step < pieces->len && n < 3; step++)
    {
      /* a walk over all of them that doesn't begin with the neighbours */
      const Piece *piece = &g_array_index (pieces, Piece, (guint) (((guint64) step * 7919 + pieces->len / 2) % pieces->len));
      double x = (piece->x0 + piece->x1) / 2, y = (piece->y0 + piece->y1) / 2;
      gboolean near = FALSE;

      for (guint k = 0; k < n; k++)
        near = near || hypot (x - placed[k][0], y - placed[k][1]) < apart;
      if (near || !ef_occupied_take (occupied, x - w / 2 - 1, y - h / 2, w + 2, h))
        continue;
      ef_text_show (cr, style, layout, EF_INK_TEXT, EF_TEXT_HALO, x, y, 0.5, 0.5);
      placed[n][0] = x;
      placed[n++][1] = y;
    }
}

static double
load_length (const EfFlowField *field, const EfFieldPatch *patch)
{
  double most = 0;

  for (guint k = 0; k < field->n_patches; k++)
    most = MAX (most, field->patch[k].load);
  return most > 0 ? 0.85 * patch->extent * patch->load / most : 0;
}

/* Isobars' values keep off the arrows. */
static void
block_loads (const EfFaceView *view, const EfFlowField *field, EfOccupied *occupied, double wide)
{
  for (guint k = 0; k < field->n_patches; k++)
    {
      const EfFieldPatch *patch = &field->patch[k];

      for (int i = 0; i <= 24; i++)
        {
          double along = load_length (field, patch) * i / 24, x, y;

          ef_face_view_to_screen (view, patch->origin[0] + along * patch->load_u, patch->origin[1] + along * patch->load_v, &x, &y);
          ef_occupied_block (occupied, x - wide / 2, y - wide / 2, wide, wide);
        }
    }
}

void
ef_draw_field_isobars (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFlowField *field)
{
  double step = ef_draw_field_step (field), x0, y0, x1, y1;
  EfOccupied occupied;

  if (!(field->pressure > 0))
    return;
  cairo_save (cr);
  cairo_clip_extents (cr, &x0, &y0, &x1, &y1);
  ef_occupied_init (&occupied, x0, y0, x1 - x0, y1 - y0, 3 * style->line_scale);
  block_loads (view, field, &occupied, 14 * style->line_scale);
  for (double level = step; level < field->pressure * (1 - 1e-6); level += step)
    {
      g_autofree char *text = g_strdup_printf (step >= 0.0999e5 ? "%.1f" : "%.2f", level / 1e5);

      for (guint k = 0; k < field->n_patches; k++)
        {
          g_autoptr (GArray) pieces = level_pieces (&field->patch[k], view, level / field->pressure);

          stroke_pieces (cr, style, pieces);
          label_pieces (cr, style, pieces, text, &occupied);
        }
    }
  ef_occupied_clear (&occupied);
  cairo_restore (cr);
}

/* --- Loads ------------------------------------------------------------------------------------------------------------------- */

static void
arrow_path (cairo_t *cr, double x0, double y0, double x1, double y1, double head)
{
  double length = hypot (x1 - x0, y1 - y0), c = (x1 - x0) / length, s = (y1 - y0) / length;
  double bx = x1 - head * c, by = y1 - head * s, half = 0.42 * head;

  cairo_move_to (cr, x0, y0);
  cairo_line_to (cr, bx, by);
  cairo_new_sub_path (cr);
  cairo_move_to (cr, x1, y1);
  cairo_line_to (cr, bx - half * s, by + half * c);
  cairo_line_to (cr, bx + half * s, by - half * c);
  cairo_close_path (cr);
}

static void
draw_arrow (cairo_t *cr, const EfDrawStyle *style, double x0, double y0, double x1, double y1)
{
  double head = 12 * style->line_scale;

  if (hypot (x1 - x0, y1 - y0) < 1.5 * head)
    return;
  cairo_save (cr);
  cairo_set_line_join (cr, CAIRO_LINE_JOIN_ROUND);
  arrow_path (cr, x0, y0, x1, y1, head);
  ef_draw_set_ink (cr, style, EF_INK_PAPER, 0.9);
  ef_draw_set_width (cr, style, 6.5);
  cairo_stroke (cr);
  arrow_path (cr, x0, y0, x1, y1, head);
  ef_draw_set_ink (cr, style, EF_INK_TEXT, 1);
  ef_draw_set_width (cr, style, 2.6);
  cairo_stroke_preserve (cr);
  cairo_fill (cr);
  cairo_arc (cr, x0, y0, 3.2 * style->line_scale, 0, 2 * G_PI);
  cairo_fill (cr);
  cairo_restore (cr);
}

void
ef_draw_field_loads (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFlowField *field)
{
  double size = ef_text_size (style, 0.95);

  for (guint k = 0; k < field->n_patches; k++)
    {
      const EfFieldPatch *patch = &field->patch[k];
      double length = load_length (field, patch);
      g_autofree char *text = g_strdup_printf ("%.0f N", patch->load);
      double x0, y0, x1, y1;

      if (!(length > 0))
        continue;
      ef_face_view_to_screen (view, patch->origin[0], patch->origin[1], &x0, &y0);
      ef_face_view_to_screen (view, patch->origin[0] + length * patch->load_u, patch->origin[1] + length * patch->load_v, &x1, &y1);
      draw_arrow (cr, style, x0, y0, x1, y1);
      /* beside the shaft of the arrow, to the right of it as it stands */
      ef_text_put (cr, style, size, EF_TEXT_HALO | EF_TEXT_BOLD, EF_INK_TEXT, text, x0 + 0.6 * (x1 - x0) + 0.7 * size, y0 + 0.6 * (y1 - y0), 0, 0.5);
    }
}

/* --- Legend ------------------------------------------------------------------------------------------------------------------------ */

void
ef_draw_field_legend (cairo_t *cr, const EfDrawStyle *style, const EfFlowField *field, double x, double y, double width, double height)
{
  double size = ef_text_size (style, 0.85), step = ef_draw_field_step (field);
  double bx = x + size, by = y + 1.35 * size, length = width - 2.5 * size;
  double band = CLAMP (height - 2.8 * size, 5 * style->line_scale, 1.1 * size);
  guint every = MAX ((guint) ceil (2.2 * size / (length * step / MAX (field->pressure, 1))), 1);
  g_autofree char *title = g_strdup_printf (_("Oil pressure, bar (%.0f rpm, %.0f °C); arrow: force on the gear"), 60 * field->speed, field->temperature - 273.15);
  double rgb[3], paper[3];
  cairo_pattern_t *fill;

  if (!(field->pressure > 0))
    return;
  cairo_save (cr);
  ef_draw_ink (style, EF_INK_SUCTION, rgb);
  ef_draw_ink (style, EF_INK_MATERIAL, paper);
  fill = cairo_pattern_create_linear (bx, 0, bx + length, 0);
  cairo_pattern_add_color_stop_rgba (fill, 0, rgb[0], rgb[1], rgb[2], fill_alpha (0));
  cairo_pattern_add_color_stop_rgba (fill, 1, rgb[0], rgb[1], rgb[2], fill_alpha (1));
  cairo_rectangle (cr, bx, by, length, band);
  cairo_set_source_rgb (cr, paper[0], paper[1], paper[2]);
  cairo_fill_preserve (cr);
  cairo_set_source (cr, fill);
  cairo_fill_preserve (cr);
  cairo_pattern_destroy (fill);
  ef_draw_set_ink (cr, style, EF_INK_EDGE, 1);
  ef_draw_set_width (cr, style, 0.8);
  cairo_stroke (cr);
  for (guint k = 0; k * step <= field->pressure * (1 + 1e-9); k++)
    {
      g_autofree char *text = g_strdup_printf (step >= 0.0999e5 ? "%.1f" : "%.2f", k * step / 1e5);
      double at = bx + length * k * step / field->pressure;

      ef_draw_set_ink (cr, style, EF_INK_SUCTION, 1);
      ef_draw_set_width (cr, style, 1.1);
      cairo_move_to (cr, at, by);
      cairo_line_to (cr, at, by + band);
      cairo_stroke (cr);
      if (k % every == 0)
        ef_text_put (cr, style, size, 0, EF_INK_TEXT, text, at, by + band + 0.2 * size, 0.5, 0);
    }
  ef_text_put (cr, style, size, 0, EF_INK_DIM, title, bx, y, 0, 0);
  cairo_restore (cr);
}

void
ef_draw_field_picture (cairo_t *cr, const EfDrawStyle *style, const EfFaceChart *chart, const EfAssessment *assessment, const EfFlowField *field, double width, double height)
{
  const EfPart *part = ef_pump_sheet_part (assessment->inspection->sheet, chart->part_id);
  EfDepthMap *map = g_hash_table_lookup (assessment->findings.maps, chart->id);
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (assessment->inspection, chart->id);
  EfFaceLayers layers = { .labels = TRUE, .contours = FALSE, .depth_colours = TRUE };
  double size = style->text_size, top = 2.2 * size, bottom = 4.2 * size;
  g_autofree char *title = g_strdup_printf (_("%s · %s: oil pressure %s"), part != NULL ? part->name : chart->part_id, chart->name,
                                            field->state == EF_STATE_NEW ? _("as new") : field->state == EF_STATE_FOUND ? _("as found") : _("after rework"));
  g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, ef_text_size (style, 1.1), EF_TEXT_BOLD, title);
  EfFaceView view;

  ef_text_wrap (layout, width - size, 1);
  ef_text_show (cr, style, layout, EF_INK_TEXT, 0, 0.5 * size, 0.3 * size, 0, 0);
  cairo_save (cr);
  cairo_translate (cr, 0, top);
  cairo_rectangle (cr, 0, 0, width, MAX (height - top - bottom, 1));
  cairo_clip (cr);
  ef_face_view_fit (&view, chart, width, MAX (height - top - bottom, 1), 1.2 * size);
  ef_draw_face_ground (cr, style, &view, chart, &layers);
  ef_draw_field_fill (cr, style, &view, field);
  if (map != NULL)
    ef_draw_face_depth (cr, style, &view, chart, map, &layers);
  ef_draw_face_marks (cr, style, &view, chart, (EfMark *const *) marks->pdata, marks->len, &layers, NULL);
  ef_draw_field_isobars (cr, style, &view, field);
  ef_draw_field_loads (cr, style, &view, field);
  cairo_restore (cr);
  ef_draw_scale_bar (cr, style, &view, 0.5 * size, height - 0.6 * size, 0.25 * width);
  ef_draw_field_legend (cr, style, field, MAX (width - 30 * size, 0.35 * width), height - bottom + 0.3 * size, MIN (30 * size, 0.65 * width), 3.6 * size);
}
