/* A whole face on one picture: title, face, legend of the kinds that occur, depth colours, scale bar.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The legend goes to the right of the face or under it, whichever leaves the face larger.
 */
#include "ef-draw-text.h"

#include "config.h"
#include <glib/gi18n-lib.h>

typedef struct
{
  cairo_t *cr;
  const EfDrawStyle *style;
  const EfFaceChart *chart;
  GPtrArray *marks; /* EfMark *, of this face */
  const EfDepthMap *map;
  double max_depth; /* 0: no depths */
  double size;      /* of the legend's text */
  gboolean present[EF_N_MARK_KINDS];
  guint n_present;
  double entry_width;
} Picture;

static double
glyph_width (const Picture *p)
{
  return 2.6 * p->size;
}

static void
collect (Picture *p, const EfAssessment *assessment)
{
  p->marks = assessment != NULL ? ef_inspection_face_marks (assessment->inspection, p->chart->id) : g_ptr_array_new ();
  p->map = assessment != NULL && assessment->findings.maps != NULL ? g_hash_table_lookup (assessment->findings.maps, p->chart->id) : NULL;
  p->max_depth = p->map != NULL ? ef_draw_depth_deepest (p->map) : 0;
  if (p->max_depth > 0)
    p->max_depth = ef_draw_depth_scale (p->max_depth);
  for (guint i = 0; i < p->marks->len; i++)
    {
      const EfMark *mark = g_ptr_array_index (p->marks, i);

      if (!p->present[mark->kind])
        p->n_present++;
      p->present[mark->kind] = TRUE;
    }
  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    {
      g_autoptr (PangoLayout) layout = NULL;
      double w;

      if (!p->present[kind])
        continue;
      layout = ef_text_layout (p->cr, p->style, p->size, 0, _(ef_mark_kind_label (kind)));
      ef_text_extent (layout, &w, NULL);
      p->entry_width = MAX (p->entry_width, glyph_width (p) + 0.6 * p->size + w + 1.2 * p->size);
    }
}

static double
row_height (const Picture *p)
{
  return 1.9 * p->size;
}

static guint
columns_under (const Picture *p, double width)
{
  return MAX ((guint) (width / MAX (p->entry_width, 1)), 1);
}

/* Height that the legend takes under the face. */
static double
height_under (const Picture *p, double width)
{
  guint rows = p->n_present == 0 ? 0 : (p->n_present + columns_under (p, width) - 1) / columns_under (p, width);

  return rows * row_height (p) + (p->max_depth > 0 ? 4.2 * p->size : 0) + (rows > 0 ? 0.5 * p->size : 0);
}

static double
width_beside (const Picture *p)
{
  return MAX (p->n_present > 0 ? p->entry_width + 0.5 * p->size : 0, p->max_depth > 0 ? 7 * p->size : 0);
}

static void
draw_entries (const Picture *p, double x, double y, guint columns)
{
  guint n = 0;

  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    {
      double ex = x + (n % columns) * p->entry_width, ey = y + (n / columns) * row_height (p);

      if (!p->present[kind])
        continue;
      ef_draw_mark_glyph (p->cr, p->style, kind, ex, ey, glyph_width (p), row_height (p) * 0.9);
      ef_text_put (p->cr, p->style, p->size, 0, EF_INK_TEXT, _(ef_mark_kind_label (kind)), ex + glyph_width (p) + 0.6 * p->size, ey + 0.45 * row_height (p), 0, 0.5);
      n++;
    }
}

/* The face itself with everything on it, inside a box of its own. */
static void
draw_face (const Picture *p, double x, double y, double width, double height)
{
  EfFaceLayers layers = { .labels = TRUE, .depth_colours = TRUE, .contours = TRUE, .mark_numbers = TRUE, .max_depth = p->max_depth };
  double bar = 2.8 * p->size;
  EfFaceView view;

  cairo_save (p->cr);
  cairo_translate (p->cr, x, y);
  cairo_rectangle (p->cr, 0, 0, width, height);
  cairo_clip (p->cr);
  ef_face_view_fit (&view, p->chart, width, MAX (height - bar, 1), 1.6 * p->size);
  ef_draw_face_ground (p->cr, p->style, &view, p->chart, &layers);
  if (p->map != NULL)
    ef_draw_face_depth (p->cr, p->style, &view, p->chart, p->map, &layers);
  ef_draw_face_marks (p->cr, p->style, &view, p->chart, (EfMark *const *) p->marks->pdata, p->marks->len, &layers, NULL);
  ef_draw_scale_bar (p->cr, p->style, &view, 0.5 * p->size, height - 0.4 * p->size, MIN (width * 0.35, 14 * p->size));
  if (p->marks->len == 0)
    ef_text_put (p->cr, p->style, p->size, 0, EF_INK_DIM, _("No marks"), width - 0.5 * p->size, height - 0.3 * p->size, 1, 1);
  cairo_restore (p->cr);
}

static double
fit_scale (const Picture *p, double width, double height)
{
  EfFaceView view;

  ef_face_view_fit (&view, p->chart, MAX (width, 1), MAX (height - 2.8 * p->size, 1), 1.6 * p->size);
  return view.scale;
}

static char *
title_of (const EfFaceChart *chart)
{
  const EfPart *part = chart->sheet != NULL ? ef_pump_sheet_part (chart->sheet, chart->part_id) : NULL;

  return g_strdup_printf ("%s · %s", part != NULL ? part->name : chart->part_id, chart->name);
}

void
ef_draw_face_picture (cairo_t *cr, const EfDrawStyle *style, const EfFaceChart *chart, const EfAssessment *assessment, double width, double height)
{
  Picture p = { .cr = cr, .style = style, .chart = chart, .size = ef_text_size (style, 0.9) };
  double pad = 0.8 * p.size, top;
  g_autofree char *title = title_of (chart);
  g_autoptr (PangoLayout) layout = NULL;
  double inner = width - 2 * pad, beside, under;

  cairo_save (cr);
  collect (&p, assessment);
  layout = ef_text_layout (cr, style, ef_text_size (style, 1.1), EF_TEXT_BOLD, title);
  ef_text_wrap (layout, inner, 1);
  ef_text_show (cr, style, layout, EF_INK_TEXT, 0, pad, pad, 0, 0);
  ef_text_extent (layout, NULL, &top);
  top += pad + 0.3 * p.size;
  beside = width_beside (&p);
  under = height_under (&p, inner);
  if (fit_scale (&p, inner - beside, height - top - pad) > fit_scale (&p, inner, height - top - pad - under))
    {
      double x = width - pad - beside + 0.5 * p.size;
      double entries = p.n_present * row_height (&p) + p.size;
      double rest = height - top - pad - entries;

      draw_face (&p, pad, top, inner - beside, height - top - pad);
      draw_entries (&p, x, top, 1);
      if (p.max_depth > 0 && rest > 5 * p.size)
        ef_draw_depth_legend (cr, style, p.max_depth, x, top + entries, 6 * p.size, MIN (rest, 18 * p.size));
    }
  else
    {
      double y = height - pad - under;

      draw_face (&p, pad, top, inner, y - top);
      y += 0.5 * p.size;
      if (p.max_depth > 0)
        {
          ef_draw_depth_legend (cr, style, p.max_depth, pad, y, MIN (inner, 34 * p.size), 3.6 * p.size);
          y += 4.2 * p.size;
        }
      draw_entries (&p, pad, y, columns_under (&p, inner));
    }
  g_ptr_array_unref (p.marks);
  cairo_restore (cr);
}
