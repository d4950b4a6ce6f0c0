/* Words on a face: sides, gears, tooth numbers, angles.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A label in a hole stays in it where it can: broken between words, then smaller. What covers another one is left out, tooth numbers before all else.
 */
#include "ef-draw-labels.h"

#define LEAST_SHRINK 0.6 /* of a label's size in a narrow hole */
#define HOLE_MARGIN 0.92 /* of the chord that words may take */
#define WIDEST_KEPT 0.2  /* of the face: wider ones leave too little room for numbers */

/* A label laid out: its box, and the room for an arrow at its left. */
typedef struct
{
  PangoLayout *layout;
  EfInk ink;
  double x, y, w, h, arrow, left;
} Placed;

static gboolean
has_role (const EfChartLabel *label, const char *role)
{
  return g_strcmp0 (label->role, role) == 0;
}

/* Twice the way from (u, v) to the nearer side of the ring along the line v, m; 0 outside. */
static double
chord (const EfRing *ring, double u, double v)
{
  double left = -G_MAXDOUBLE, right = G_MAXDOUBLE;
  guint n_right = 0;

  for (guint i = 0; i < ring->n; i++)
    {
      const double *a = ring->xy + 2 * i, *b = ring->xy + 2 * ((i + 1) % ring->n);
      double at;

      if ((a[1] > v) == (b[1] > v))
        continue;
      at = a[0] + (b[0] - a[0]) * (v - a[1]) / (b[1] - a[1]);
      if (at > u)
        {
          n_right++;
          right = MIN (right, at);
        }
      else
        left = MAX (left, at);
    }

  return n_right % 2 == 1 ? 2 * MIN (right - u, u - left) : 0;
}

/* Width free within the hole round a label for a text of @height, both in target units; 0: it's in none. */
static double
room_in_hole (const EfFaceView *view, const EfFaceChart *chart, const EfChartLabel *label, double height)
{
  double half = height / (2 * view->scale);

  for (guint i = 0; i < chart->lines->len; i++)
    {
      const EfChartLine *line = chart->lines->pdata[i];

      if (line->kind != EF_LINE_HOLE || !line->closed || chord (&line->path, label->u, label->v) <= 0)
        continue;

      return HOLE_MARGIN * view->scale * MIN (chord (&line->path, label->u, label->v + half), chord (&line->path, label->u, label->v - half));
    }

  return 0;
}

static gboolean
is_in_hole (const EfFaceView *view, const EfFaceChart *chart, const EfChartLabel *label)
{
  return room_in_hole (view, chart, label, 0) > 0;
}

/* Its lines broken between words, as many as there are. */
static void
break_words (PangoLayout *layout, const char *text)
{
  g_autofree char *lines = g_strdelimit (g_strdup (text), " ", '\n');

  pango_layout_set_text (layout, lines, -1);
  pango_layout_set_alignment (layout, PANGO_ALIGN_CENTER);
}

/* Belongs to the caller. */
static PangoLayout *
fitted (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart, const EfChartLabel *label, double size)
{
  PangoLayout *layout = ef_text_layout (cr, style, size, 0, label->text);
  double w, h;

  ef_text_extent (layout, &w, &h);
  if (!is_in_hole (view, chart, label) || w <= room_in_hole (view, chart, label, h))
    return layout;
  for (double share = 1; share >= LEAST_SHRINK - 1e-9; share -= 0.1)
    {
      g_autoptr (PangoFontDescription) font = ef_text_font (style, share * size, 0);

      pango_layout_set_font_description (layout, font);
      break_words (layout, label->text);
      ef_text_extent (layout, &w, &h);
      if (w <= room_in_hole (view, chart, label, h))
        break;
    }

  return layout;
}

static void
lay_out (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart, const EfChartLabel *label, Placed *placed)
{
  gboolean suction = has_role (label, "suction"), delivery = has_role (label, "delivery");
  double size = ef_text_size (style, has_role (label, "tooth") ? 0.8 : 0.92);

  placed->ink = suction ? EF_INK_SUCTION : delivery ? EF_INK_DELIVERY
                                                    : EF_INK_DIM;
  placed->arrow = suction || delivery ? 0.8 * size : 0;
  placed->left = placed->arrow > 0 ? placed->arrow + 0.35 * size : 0;
  placed->layout = fitted (cr, style, view, chart, label, size);
  ef_text_extent (placed->layout, &placed->w, &placed->h);
  ef_face_view_to_screen (view, label->u, label->v, &placed->x, &placed->y);
  placed->w += placed->left;
  placed->x -= placed->w / 2;
  placed->y -= placed->h / 2;
}

/* An arrow that says which way oil goes: an open one into the pump (suction), a filled one out of it (delivery). */
static void
draw_side_arrow (cairo_t *cr, const EfDrawStyle *style, EfInk ink, gboolean filled, double x, double y, double size)
{
  cairo_move_to (cr, x, y - size / 2);
  cairo_line_to (cr, x + size * 0.9, y);
  cairo_line_to (cr, x, y + size / 2);
  cairo_close_path (cr);
  ef_draw_set_ink (cr, style, ink, 1);
  ef_draw_set_width (cr, style, 1.2);
  if (filled)
    cairo_fill_preserve (cr);
  cairo_stroke (cr);
}

static void
draw_label (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart, const EfChartLabel *label, EfOccupied *occupied)
{
  Placed p;

  lay_out (cr, style, view, chart, label, &p);
  if (ef_occupied_take (occupied, p.x - 1, p.y, p.w + 2, p.h))
    {
      if (p.arrow > 0)
        draw_side_arrow (cr, style, p.ink, p.ink == EF_INK_DELIVERY, p.x, p.y + p.h / 2, p.arrow);
      ef_text_show (cr, style, p.layout, p.ink, EF_TEXT_HALO, p.x + p.left, p.y, 0, 0);
    }
  g_object_unref (p.layout);
}

void
ef_draw_face_labels (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart)
{
  EfOccupied occupied;
  double x0, y0, x1, y1;

  cairo_save (cr);
  cairo_new_path (cr);
  cairo_set_line_join (cr, CAIRO_LINE_JOIN_ROUND);
  cairo_clip_extents (cr, &x0, &y0, &x1, &y1);
  ef_occupied_init (&occupied, x0, y0, x1 - x0, y1 - y0, 4 * style->line_scale);
  for (int teeth = 0; teeth < 2; teeth++)
    for (guint i = 0; i < chart->labels->len; i++)
      {
        const EfChartLabel *label = chart->labels->pdata[i];

        if (has_role (label, "tooth") == (teeth == 1))
          draw_label (cr, style, view, chart, label, &occupied);
      }
  ef_occupied_clear (&occupied);
  cairo_restore (cr);
}

void
ef_face_labels_block (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart, EfOccupied *occupied)
{
  for (guint i = 0; i < chart->labels->len; i++)
    {
      const EfChartLabel *label = chart->labels->pdata[i];
      Placed p;

      if (has_role (label, "tooth"))
        continue;
      lay_out (cr, style, view, chart, label, &p);
      if (p.w <= WIDEST_KEPT * view->scale * (chart->u1 - chart->u0))
        ef_occupied_block (occupied, p.x, p.y, p.w, p.h);
      g_object_unref (p.layout);
    }
}
