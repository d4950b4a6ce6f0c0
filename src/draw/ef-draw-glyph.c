/* Glyphs: verdicts and kinds of wear, as on buttons, in legends and tables. Own drawings.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each verdict has an outline of its own (disc, ruler, turning arrow, square), so it is told apart without its colour.
 */
#include "ef-mark-body.h"

#include <math.h>

/* A tick on a disc. */
static void
glyph_use (cairo_t *cr, const EfDrawStyle *style)
{
  cairo_arc (cr, 8, 8, 7.2, 0, 2 * G_PI);
  cairo_fill (cr);
  ef_draw_set_ink (cr, style, EF_INK_PAPER, 1);
  cairo_set_line_width (cr, 2);
  cairo_move_to (cr, 4.4, 8.3);
  cairo_line_to (cr, 7, 10.9);
  cairo_line_to (cr, 11.7, 5.4);
  cairo_stroke (cr);
}

/* A ruler under a question mark. */
static void
glyph_measure (cairo_t *cr, const EfDrawStyle *style)
{
  cairo_set_line_width (cr, 1.8);
  cairo_move_to (cr, 5.6, 3.4);
  cairo_curve_to (cr, 5.6, 0.2, 10.4, 0.2, 10.4, 3.2);
  cairo_curve_to (cr, 10.4, 4.9, 8, 4.9, 8, 6.6);
  cairo_stroke (cr);
  cairo_arc (cr, 8, 8.7, 1.05, 0, 2 * G_PI);
  cairo_fill (cr);
  cairo_rectangle (cr, 0.8, 10.6, 14.4, 4.8);
  cairo_fill (cr);
  ef_draw_set_ink (cr, style, EF_INK_PAPER, 1);
  cairo_set_line_width (cr, 1);
  cairo_set_line_cap (cr, CAIRO_LINE_CAP_BUTT);
  for (int k = 1; k < 6; k++)
    {
      cairo_move_to (cr, 0.8 + 2.4 * k, 10.6);
      cairo_line_to (cr, 0.8 + 2.4 * k, k % 2 ? 12.6 : 13.6);
    }
  cairo_stroke (cr);
}

/* An arrow that turns nearly once round. */
static void
glyph_rework (cairo_t *cr, const EfDrawStyle *style)
{
  double from = -0.15 * G_PI, to = 1.45 * G_PI;
  double x = 8 + 5.6 * cos (to), y = 8.4 + 5.6 * sin (to);

  cairo_set_line_width (cr, 2.4);
  cairo_set_line_cap (cr, CAIRO_LINE_CAP_BUTT);
  cairo_arc (cr, 8, 8.4, 5.6, from, to);
  cairo_stroke (cr);
  cairo_move_to (cr, x - 0.6, y - 3.9);
  cairo_line_to (cr, x + 4.6, y - 0.1);
  cairo_line_to (cr, x - 0.3, y + 4);
  cairo_close_path (cr);
  cairo_fill (cr);
}

/* A cross in a square. */
static void
glyph_scrap (cairo_t *cr, const EfDrawStyle *style)
{
  cairo_rectangle (cr, 1.2, 1.2, 13.6, 13.6);
  cairo_fill (cr);
  ef_draw_set_ink (cr, style, EF_INK_PAPER, 1);
  cairo_set_line_width (cr, 2);
  cairo_move_to (cr, 4.6, 4.6);
  cairo_line_to (cr, 11.4, 11.4);
  cairo_move_to (cr, 11.4, 4.6);
  cairo_line_to (cr, 4.6, 11.4);
  cairo_stroke (cr);
}

static void (*const verdict_glyphs[EF_N_VERDICTS]) (cairo_t *, const EfDrawStyle *) = {
  [EF_VERDICT_USE] = glyph_use,
  [EF_VERDICT_MEASURE] = glyph_measure,
  [EF_VERDICT_REWORK] = glyph_rework,
  [EF_VERDICT_SCRAP] = glyph_scrap,
};

void
ef_draw_verdict_glyph (cairo_t *cr, EfVerdictWord word, const EfDrawStyle *style, double x, double y, double size)
{
  double rgb[3];

  if ((guint) word >= EF_N_VERDICTS)
    return;
  cairo_save (cr);
  cairo_new_path (cr);
  cairo_translate (cr, x, y);
  cairo_scale (cr, size / 16, size / 16);
  cairo_set_line_cap (cr, CAIRO_LINE_CAP_ROUND);
  cairo_set_line_join (cr, CAIRO_LINE_JOIN_ROUND);
  ef_draw_verdict_colour (word, style, rgb);
  cairo_set_source_rgb (cr, rgb[0], rgb[1], rgb[2]);
  verdict_glyphs[word](cr, style);
  cairo_restore (cr);
}

static gboolean
is_line_kind (EfMarkKind kind)
{
  return kind == EF_MARK_SCORING || kind == EF_MARK_LIP || kind == EF_MARK_GROOVE || kind == EF_MARK_STEP || kind == EF_MARK_CRACK;
}

/* A small body that shows the kind at its most typical: a line across, a box, or a blob. */
static void
sample_body (EfBody *body, EfMarkKind kind, double unit, double x, double y, double w, double h)
{
  double pad = 3 * unit;
  double cx = x + w / 2, cy = y + h / 2, rx = w / 2 - pad, ry = h / 2 - pad;

  if (is_line_kind (kind))
    {
      double lift = MIN (0.2 * h, 5 * unit);
      EfSpot line[2] = { { cx - rx + pad, cy + lift }, { cx + rx - pad, cy - lift } };

      if (kind == EF_MARK_LIP || kind == EF_MARK_STEP)
        line[0].y += 2 * unit, line[1].y += 2 * unit;
      ef_body_init (body, line, 2, FALSE, kind == EF_MARK_SCORING ? 3.6 * unit : 2.6 * unit, 0);
    }
  else if (kind == EF_MARK_FLAT_SPOT)
    {
      EfSpot box[4] = { { cx - rx, cy - ry }, { cx + rx, cy - ry }, { cx + rx, cy + ry }, { cx - rx, cy + ry } };

      ef_body_init (body, box, 4, TRUE, 0, 0);
    }
  else if (kind == EF_MARK_IMPRINT)
    ef_body_circle (body, cx, cy, MIN (MIN (rx, ry), 8 * unit));
  else
    {
      EfSpot blob[24];

      for (int i = 0; i < 24; i++)
        {
          double t = 2 * G_PI * i / 24;
          double r = 1 + (kind == EF_MARK_PITTING ? 0 : 0.08 * sin (3 * t + 1));

          blob[i] = (EfSpot) { cx + rx * 0.92 * r * cos (t), cy + ry * 0.92 * r * sin (t) };
        }
      ef_body_init (body, blob, 24, TRUE, 0, 0);
    }
}

void
ef_draw_mark_glyph (cairo_t *cr, const EfDrawStyle *style, EfMarkKind kind, double x, double y, double width, double height)
{
  EfPen pen = { .unit = style->line_scale, .anchor = { x + width / 2, y + height / 2 }, .clip = { x, y, x + width, y + height } };
  EfBody body;

  cairo_save (cr);
  cairo_new_path (cr);
  sample_body (&body, kind, pen.unit, x, y, width, height);
  ef_draw_set_ink (cr, style, EF_INK_TEXT, 1);
  ef_mark_paint (cr, kind, &body, &pen);
  ef_body_clear (&body);
  cairo_restore (cr);
}
