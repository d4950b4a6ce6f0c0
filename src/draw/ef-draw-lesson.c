/* Faces of a lesson's result, and progress.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-lesson.h"
#include "ef-draw-text.h"
#include "ef-plot.h"

#include "config.h"
#include <glib/gi18n-lib.h>
#include <math.h>

#define SPREAD 0.382 /* signs of neighbouring marks stand at different places along them */

EfLessonMatch
ef_lesson_match (const EfLessonMark *row)
{
  if (row->reference == NULL)
    return EF_MATCH_FALSE;
  if (row->attempt == NULL)
    return EF_MATCH_MISSED;

  return row->score->pair.same_kind ? EF_MATCH_FOUND : EF_MATCH_WRONG_KIND;
}

const char *
ef_lesson_match_label (EfLessonMatch match)
{
  static const char *const labels[EF_N_MATCHES] = { N_("Found"), N_("Wrong kind"), N_("Missed"), N_("Not there") };

  return labels[match];
}

/* Blue, amber, vermilion, purple: told apart by colour-blind eyes too; the sign says the same. */
static void
set_colour (cairo_t *cr, EfLessonMatch match, const EfDrawStyle *style)
{
  static const double light[EF_N_MATCHES][3] = { { 0.0, 0.38, 0.62 }, { 0.72, 0.45, 0.0 }, { 0.76, 0.22, 0.05 }, { 0.5, 0.2, 0.55 } };
  static const double dark[EF_N_MATCHES][3] = { { 0.36, 0.72, 0.95 }, { 0.95, 0.72, 0.25 }, { 1.0, 0.5, 0.35 }, { 0.85, 0.6, 0.9 } };
  const double *rgb = style->dark ? dark[match] : light[match];

  cairo_set_source_rgb (cr, rgb[0], rgb[1], rgb[2]);
}

static void
sign_path (cairo_t *cr, EfLessonMatch match, double s)
{
  switch (match)
    {
    case EF_MATCH_FOUND: /* a tick */
      cairo_move_to (cr, -0.24 * s, 0.02 * s);
      cairo_line_to (cr, -0.06 * s, 0.2 * s);
      cairo_line_to (cr, 0.26 * s, -0.2 * s);
      break;
    case EF_MATCH_WRONG_KIND: /* not equal */
      cairo_move_to (cr, -0.24 * s, -0.1 * s);
      cairo_line_to (cr, 0.24 * s, -0.1 * s);
      cairo_move_to (cr, -0.24 * s, 0.1 * s);
      cairo_line_to (cr, 0.24 * s, 0.1 * s);
      cairo_move_to (cr, -0.14 * s, 0.24 * s);
      cairo_line_to (cr, 0.14 * s, -0.24 * s);
      break;
    case EF_MATCH_MISSED: /* an exclamation mark */
      cairo_move_to (cr, 0, -0.26 * s);
      cairo_line_to (cr, 0, 0.08 * s);
      cairo_move_to (cr, 0, 0.22 * s);
      cairo_line_to (cr, 0, 0.25 * s);
      break;
    default: /* a cross */
      cairo_move_to (cr, -0.2 * s, -0.2 * s);
      cairo_line_to (cr, 0.2 * s, 0.2 * s);
      cairo_move_to (cr, -0.2 * s, 0.2 * s);
      cairo_line_to (cr, 0.2 * s, -0.2 * s);
      break;
    }
}

void
ef_draw_lesson_sign (cairo_t *cr, const EfDrawStyle *style, EfLessonMatch match, double x, double y, double size)
{
  cairo_save (cr);
  cairo_translate (cr, x, y);
  cairo_new_path (cr);
  cairo_arc (cr, 0, 0, size / 2, 0, 2 * G_PI);
  set_colour (cr, match, style);
  cairo_fill (cr);
  if (style->dark)
    cairo_set_source_rgb (cr, 0.05, 0.05, 0.05);
  else
    cairo_set_source_rgb (cr, 1, 1, 1);
  cairo_set_line_width (cr, 0.1 * size);
  cairo_set_line_cap (cr, CAIRO_LINE_CAP_ROUND);
  sign_path (cr, match, size);
  cairo_stroke (cr);
  cairo_restore (cr);
}

static const EfMark *
mark_of (const EfLessonMark *row, gboolean attempt)
{
  return attempt ? row->attempt : row->reference;
}

static void
draw_sign_at (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfLessonMark *row, const EfMark *mark, guint number, double size)
{
  double along = fmod (number * SPREAD, 1) * (mark->nodes->len - 1);
  const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, (guint) along);
  double x, y;

  ef_face_view_to_screen (view, node->u, node->v, &x, &y);
  ef_draw_lesson_sign (cr, style, ef_lesson_match (row), x, y, size);
}

static void
draw_key (cairo_t *cr, const EfDrawStyle *style, double size, gboolean attempt, double x, double y)
{
  for (int match = 0; match < EF_N_MATCHES; match++)
    {
      g_autoptr (PangoLayout) layout = NULL;
      double width;

      if (match == (attempt ? EF_MATCH_MISSED : EF_MATCH_FALSE))
        continue;
      layout = ef_text_layout (cr, style, size, 0, _(ef_lesson_match_label (match)));
      ef_text_extent (layout, &width, NULL);
      ef_draw_lesson_sign (cr, style, match, x + 0.7 * size, y, 1.3 * size);
      ef_text_show (cr, style, layout, EF_INK_TEXT, 0, x + 1.7 * size, y, 0, 0.5);
      x += width + 3 * size;
    }
}

void
ef_draw_lesson_face (cairo_t *cr, const EfDrawStyle *style, const EfFaceChart *chart, const EfLessonScore *score, gboolean attempt, double width, double height)
{
  double size = ef_text_size (style, 0.9), title = 2.4 * size, key = 2.4 * size;
  EfFaceLayers layers = { .labels = TRUE };
  EfFaceView view;

  cairo_save (cr);
  ef_text_put (cr, style, ef_text_size (style, 1.1), EF_TEXT_BOLD, EF_INK_TEXT, attempt ? _("Attempt") : _("Reference"), 0.5 * size, 0.3 * size, 0, 0);
  cairo_save (cr);
  cairo_translate (cr, 0, title);
  cairo_rectangle (cr, 0, 0, width, MAX (height - title - key, 1));
  cairo_clip (cr);
  ef_face_view_fit (&view, chart, width, MAX (height - title - key, 1), 1.2 * size);
  ef_draw_face_ground (cr, style, &view, chart, &layers);
  for (guint pass = 0; pass < 2; pass++)
    for (guint i = 0; i < score->mark_rows->len; i++)
      {
        const EfLessonMark *row = score->mark_rows->pdata[i];
        const EfMark *mark = mark_of (row, attempt);

        if (mark == NULL || !g_str_equal (mark->face_id, chart->id))
          continue;
        if (pass == 0)
          ef_draw_mark (cr, style, &view, mark, FALSE, FALSE);
        else
          draw_sign_at (cr, style, &view, row, mark, i, 1.4 * size);
      }
  cairo_restore (cr);
  draw_key (cr, style, size, attempt, 0.5 * size, height - 0.5 * key);
  cairo_restore (cr);
}

static void
draw_points (const EfPlot *plot, cairo_t *cr, const double *x, const double *y, guint n, const double rgb[3], double radius)
{
  for (guint i = 0; i < n; i++)
    {
      double px, py;

      ef_plot_map (plot, x[i], y[i], &px, &py);
      cairo_new_path (cr);
      cairo_arc (cr, px, py, radius, 0, 2 * G_PI);
      cairo_set_source_rgb (cr, rgb[0], rgb[1], rgb[2]);
      cairo_fill (cr);
    }
}

void
ef_draw_lesson_progress (cairo_t *cr, const EfDrawStyle *style, const GPtrArray *past, double width, double height)
{
  const double colours[3][3] = { { 0.1, 0.45, 0.75 }, { 0.8, 0.45, 0.05 }, { 0.35, 0.55, 0.3 } };
  const char *const labels[3] = { _("all"), _("marks"), _("decisions") };
  const double dashes[3] = { 0, 5, 2 };
  guint n = past->len;
  g_autofree double *x = g_new (double, n + 1);
  g_autofree double *y = g_new (double, n + 1);
  EfPlotAxis ax = { .min = 0, .max = n + 1, .step = ef_nice_step (MAX (n, 1), 10), .title = _("attempt") };
  EfPlotAxis ay = { .min = 0, .max = 100, .step = 25, .title = _("score, %") };
  double above = 1.6 * ef_text_size (style, 0.85); /* the legend */
  EfPlot plot;

  if (n == 0)
    {
      ef_text_put (cr, style, ef_text_size (style, 1), 0, EF_INK_DIM, _("No attempt was scored yet"), width / 2, height / 2, 0.5, 0.5);
      return;
    }
  ax.step = MAX (ax.step, 1);
  ef_plot_init (&plot, cr, style, &ax, &ay, 0, above, width, height - above);
  ef_plot_frame (&plot, cr, style);
  for (guint line = 3; line > 0; line--)
    {
      for (guint i = 0; i < n; i++)
        {
          const EfLessonPast *one = past->pdata[i];

          x[i] = i + 1;
          y[i] = 100 * (line == 1 ? one->score : line == 2 ? one->marks : one->decisions);
        }
      ef_plot_line (&plot, cr, style, x, y, n, colours[line - 1], line == 1 ? 2.4 : 1.4, dashes[line - 1]);
      draw_points (&plot, cr, x, y, n, colours[line - 1], (line == 1 ? 4 : 2.6) * style->line_scale);
    }
  for (guint line = 0; line < 3; line++)
    {
      double size = ef_text_size (style, 0.85), lx = plot.x + (0.5 + 9 * line) * size, ly = plot.y - 0.9 * size;

      cairo_new_path (cr);
      cairo_move_to (cr, lx, ly);
      cairo_line_to (cr, lx + 2 * size, ly);
      cairo_set_source_rgb (cr, colours[line][0], colours[line][1], colours[line][2]);
      cairo_set_line_width (cr, 2 * style->line_scale);
      if (dashes[line] > 0)
        cairo_set_dash (cr, &dashes[line], 1, 0);
      cairo_stroke (cr);
      cairo_set_dash (cr, NULL, 0, 0);
      ef_text_put (cr, style, size, EF_TEXT_HALO, EF_INK_TEXT, labels[line], lx + 2.4 * size, ly, 0, 0.5);
    }
}
