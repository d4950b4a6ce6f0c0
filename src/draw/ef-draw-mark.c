/* Marks on a face: body from the mark's shape, painted by its kind, with its number where there is room.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw-labels.h"
#include "ef-mark-body.h"

#include <math.h>

/* A face is crowded, and its marks are drawn without halos, with wider hatches and coarser smoothing, when there are more than
 * this many to a million square units of it, or when their boxes would cover it more than so many times. Neither depends on
 * what part is in view, so that pictures drawn piece by piece fit together. */
#define CROWD_MARKS 700
#define CROWD_COVER 4
#define LEADER_UP_TO 400 /* marks in view: above, a number without room is left out */

/* A line's kind must be told apart however thin the line is. */
static double
least_half (EfMarkKind kind)
{
  switch (kind)
    {
    case EF_MARK_PITTING:
    case EF_MARK_CORROSION:
      return 4.5;
    case EF_MARK_CHIP:
    case EF_MARK_FLAT_SPOT:
    case EF_MARK_IMPRINT:
      return 3;
    default:
      return 2.2;
    }
}

/* FALSE for marks that can't be drawn (too few nodes, not finite). */
static gboolean
body_of_mark (EfBody *body, const EfDrawStyle *style, const EfFaceView *view, const EfMark *mark)
{
  guint n = mark->nodes->len;
  g_autofree EfSpot *spots = NULL;
  EfSpot few[32];
  EfSpot *points = few;

  if (n < (mark->shape == EF_SHAPE_POINT ? 1 : mark->shape == EF_SHAPE_LINE ? 2 : 3))
    return FALSE;
  if (n > G_N_ELEMENTS (few))
    points = spots = g_new (EfSpot, n);
  for (guint i = 0; i < n; i++)
    {
      const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);

      ef_face_view_to_screen (view, node->u, node->v, &points[i].x, &points[i].y);
      if (!(fabs (points[i].x) < 1e7) || !(fabs (points[i].y) < 1e7))
        return FALSE;
    }
  if (mark->shape == EF_SHAPE_POINT)
    ef_body_circle (body, points[0].x, points[0].y, MAX (mark->size / 2 * view->scale, 4.5 * style->line_scale));
  else
    ef_body_init (body, points, n, mark->shape == EF_SHAPE_AREA, mark->size / 2 * view->scale, least_half (mark->kind) * style->line_scale);
  return TRUE;
}

static void
pen_init (EfPen *pen, cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view)
{
  double x0, y0, x1, y1;

  cairo_clip_extents (cr, &x0, &y0, &x1, &y1);
  *pen = (EfPen) { .unit = style->line_scale * (style->high_contrast ? 1.2 : 1), .anchor = { view->x0, view->y0 }, .clip = { x0, y0, x1, y1 } };
}

static void
paint_body (cairo_t *cr, const EfDrawStyle *style, const EfMark *mark, const EfBody *body, EfPen *pen, gboolean selected, gboolean halo)
{
  if (selected)
    {
      ef_path_spots (cr, body->outline, body->n_outline, TRUE);
      cairo_set_fill_rule (cr, CAIRO_FILL_RULE_WINDING);
      ef_draw_set_ink (cr, style, EF_INK_ACCENT, 0.28);
      cairo_set_line_join (cr, CAIRO_LINE_JOIN_ROUND);
      cairo_set_line_width (cr, 9 * pen->unit);
      cairo_stroke_preserve (cr);
      ef_draw_set_ink (cr, style, EF_INK_ACCENT, 0.16);
      cairo_fill (cr);
    }
  if (halo)
    {
      pen->halo = 2.4 * pen->unit;
      ef_draw_set_ink (cr, style, EF_INK_PAPER, 0.6);
      ef_mark_paint (cr, mark->kind, body, pen);
      pen->halo = 0;
    }
  ef_draw_set_ink (cr, style, selected ? EF_INK_ACCENT : EF_INK_TEXT, 1);
  ef_mark_paint (cr, mark->kind, body, pen);
}

static void
paint_number (cairo_t *cr, const EfDrawStyle *style, PangoLayout *layout, double x, double y, double w, double h, gboolean selected)
{
  double r = h / 2;

  cairo_new_sub_path (cr);
  cairo_arc (cr, x + r, y + r, r, G_PI / 2, 3 * G_PI / 2);
  cairo_arc (cr, x + w - r, y + r, r, -G_PI / 2, G_PI / 2);
  cairo_close_path (cr);
  ef_draw_set_ink (cr, style, selected ? EF_INK_ACCENT : EF_INK_PAPER, selected ? 1 : 0.92);
  cairo_fill_preserve (cr);
  ef_draw_set_ink (cr, style, selected ? EF_INK_ACCENT : EF_INK_EDGE, 1);
  ef_draw_set_width (cr, style, 0.8);
  cairo_stroke (cr);
  ef_text_show (cr, style, layout, selected ? EF_INK_PAPER : EF_INK_TEXT, 0, x + w / 2, y + h / 2, 0.5, 0.5);
}

/* Where numbers hang on to: the start of a line, the centre of a point, the corner of an area. */
static void
number_anchor (const EfBody *body, const EfMark *mark, double *x, double *y, double *reach)
{
  if (mark->shape == EF_SHAPE_LINE)
    {
      *x = body->spine[0].x;
      *y = body->spine[0].y;
      *reach = body->half;
      return;
    }
  *x = (body->box[0] + body->box[2]) / 2;
  *y = (body->box[1] + body->box[3]) / 2;
  *reach = MAX (body->box[2] - body->box[0], body->box[3] - body->box[1]) / 2;
  if (mark->shape == EF_SHAPE_AREA && *reach > 18)
    {
      *x = body->outline[0].x;
      *y = body->outline[0].y;
      *reach = 2;
    }
}

static const double directions[8][2] = { { 0.75, -0.75 }, { -0.75, -0.75 }, { 0.75, 0.75 }, { -0.75, 0.75 }, { 1, 0 }, { -1, 0 }, { 0, -1 }, { 0, 1 } };

/* The eight directions round a mark, those away from its body first. */
static void
order_directions (const EfBody *body, const EfMark *mark, int order[8])
{
  double ax = 0.3, ay = -0.2, d; /* up and to the right by preference */

  for (int k = 0; k < 8; k++)
    order[k] = k;
  if (mark->shape != EF_SHAPE_LINE || body->n_spine < 2)
    return;
  ax = body->spine[0].x - body->spine[1].x;
  ay = body->spine[0].y - body->spine[1].y;
  d = MAX (hypot (ax, ay), 1e-9);
  for (int k = 1; k < 8; k++)
    for (int m = k; m > 0 && (directions[order[m]][0] * ax + directions[order[m]][1] * ay) / d > (directions[order[m - 1]][0] * ax + directions[order[m - 1]][1] * ay) / d + 1e-6; m--)
      {
        int swap = order[m];

        order[m] = order[m - 1];
        order[m - 1] = swap;
      }
}

static void
place_number (cairo_t *cr, const EfDrawStyle *style, PangoLayout *layout, EfOccupied *occupied, const EfBody *body, const EfMark *mark, gboolean selected, gboolean leader)
{
  double unit = style->line_scale;
  char text[16];
  double ax, ay, reach, w, h;
  int order[8];

  if (mark->number <= 0)
    return;
  g_snprintf (text, sizeof text, "%d", mark->number);
  pango_layout_set_text (layout, text, -1);
  ef_text_extent (layout, &w, &h);
  w = MAX (w + 0.7 * h, 1.1 * h);
  number_anchor (body, mark, &ax, &ay, &reach);
  order_directions (body, mark, order);
  for (int ring = 0; ring < (leader ? 6 : 1); ring++)
    for (int n = 0; n < 8; n++)
      {
        int k = order[n];
        double distance = reach + 4 * unit + ring * 1.3 * h;
        double cx = ax + directions[k][0] * (distance + w / 2), cy = ay + directions[k][1] * (distance + h / 2);

        if (!ef_occupied_take (occupied, cx - w / 2 - 1 * unit, cy - h / 2 - 1 * unit, w + 2 * unit, h + 2 * unit))
          continue;
        if (ring > 0)
          {
            ef_draw_set_ink (cr, style, EF_INK_DIM, 1);
            ef_draw_set_width (cr, style, 0.7);
            cairo_move_to (cr, ax + directions[k][0] * reach, ay + directions[k][1] * reach);
            cairo_line_to (cr, cx, cy);
            cairo_stroke (cr);
          }
        paint_number (cr, style, layout, cx - w / 2, cy - h / 2, w, h, selected);
        return;
      }
  if (selected)
    paint_number (cr, style, layout, ax + reach, ay - h - reach, w, h, TRUE);
}

static PangoLayout *
number_layout (cairo_t *cr, const EfDrawStyle *style)
{
  return ef_text_layout (cr, style, ef_text_size (style, 0.8), EF_TEXT_BOLD, "");
}

void
ef_draw_mark (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfMark *mark, gboolean selected, gboolean number)
{
  EfBody body;
  EfPen pen;

  if (!body_of_mark (&body, style, view, mark))
    return;
  cairo_save (cr);
  pen_init (&pen, cr, style, view);
  paint_body (cr, style, mark, &body, &pen, selected, TRUE);
  if (number)
    {
      g_autoptr (PangoLayout) layout = number_layout (cr, style);
      EfOccupied occupied;

      ef_occupied_init (&occupied, pen.clip[0], pen.clip[1], pen.clip[2] - pen.clip[0], pen.clip[3] - pen.clip[1], 6 * style->line_scale);
      place_number (cr, style, layout, &occupied, &body, mark, selected, FALSE);
      ef_occupied_clear (&occupied);
    }
  cairo_restore (cr);
  ef_body_clear (&body);
}

/* A mark as it stands in the view: on a face that wraps it may show at both ends. */
typedef struct
{
  const EfMark *mark;
  double shift; /* of u, m */
} Seen;

/* Appends the mark as often as it shows. */
static void
look (GArray *seen, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart, const EfMark *mark, const double clip[4])
{
  double bounds[4], slack = 14 * style->line_scale;
  double turn = chart->wraps ? chart->u1 - chart->u0 : 0;

  ef_mark_bounds (mark, bounds);
  for (int k = chart->wraps ? -1 : 0; k <= (chart->wraps ? 1 : 0); k++)
    {
      Seen s = { mark, k * turn };
      double u0 = bounds[0] + s.shift, u1 = bounds[2] + s.shift;
      double x0 = view->x0 + view->scale * u0 - slack, x1 = view->x0 + view->scale * u1 + slack;
      double y0 = view->y0 - view->scale * bounds[3] - slack, y1 = view->y0 - view->scale * bounds[1] + slack;

      if (k != 0 && (u1 <= chart->u0 || u0 >= chart->u1))
        continue;
      if (x1 < clip[0] || x0 > clip[2] || y1 < clip[1] || y0 > clip[3])
        continue;
      g_array_append_val (seen, s);
    }
}

static gboolean
is_crowded (const EfFaceView *view, const EfFaceChart *chart, EfMark *const *marks, guint n_marks)
{
  double area = MAX ((chart->u1 - chart->u0) * (chart->v1 - chart->v0), 1e-12);
  double cover = 0;
  guint n = 0;

  for (guint i = 0; i < n_marks; i++)
    {
      double bounds[4];

      if (g_strcmp0 (marks[i]->face_id, chart->id) != 0)
        continue;
      ef_mark_bounds (marks[i], bounds);
      if (isfinite (bounds[0] + bounds[1] + bounds[2] + bounds[3]))
        cover += (bounds[2] - bounds[0]) * (bounds[3] - bounds[1]);
      n++;
    }
  return n * 1e6 > CROWD_MARKS * area * view->scale * view->scale || (n > 100 && cover > CROWD_COVER * area);
}

static void
block_body (EfOccupied *occupied, const EfBody *body, const EfPen *pen)
{
  g_autofree EfStride *strides = NULL;
  double r = MAX (MIN (body->half, 6 * pen->unit), 2 * pen->unit);
  guint n;

  strides = ef_body_walk (body, pen, 5 * pen->unit, &n);
  for (guint i = 0; i < n; i++)
    if (!isnan (strides[i].x))
      ef_occupied_block (occupied, strides[i].x - r, strides[i].y - r, 2 * r, 2 * r);
}

static void
draw_numbers (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart, GArray *seen, const EfPen *pen, const EfFaceLayers *layers)
{
  g_autoptr (PangoLayout) layout = number_layout (cr, style);
  gboolean leader = seen->len <= LEADER_UP_TO;
  EfOccupied occupied;

  ef_occupied_init (&occupied, pen->clip[0], pen->clip[1], pen->clip[2] - pen->clip[0], pen->clip[3] - pen->clip[1], 4 * style->line_scale);
  if (layers->labels)
    ef_face_labels_block (cr, style, view, chart, &occupied);
  for (int pass = leader ? 0 : 1; pass < 2; pass++)
    for (guint i = 0; i < seen->len; i++)
      {
        const Seen *s = &g_array_index (seen, Seen, i);
        EfFaceView moved = { view->x0 + view->scale * s->shift, view->y0, view->scale };
        EfBody body;

        if ((pass == 1 && s->mark->number <= 0) || !body_of_mark (&body, style, &moved, s->mark))
          continue;
        if (pass == 0)
          block_body (&occupied, &body, pen);
        else
          place_number (cr, style, layout, &occupied, &body, s->mark, layers->selected != NULL && g_strcmp0 (layers->selected, s->mark->item.id) == 0, leader);
        ef_body_clear (&body);
      }
  ef_occupied_clear (&occupied);
}

void
ef_draw_face_marks (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart, EfMark *const *marks, guint n_marks, const EfFaceLayers *layers, const double clip[4])
{
  g_autoptr (GArray) seen = g_array_new (FALSE, FALSE, sizeof (Seen));
  gboolean halo;
  EfPen pen;

  cairo_save (cr);
  if (clip != NULL)
    {
      cairo_rectangle (cr, clip[0], clip[1], clip[2], clip[3]);
      cairo_clip (cr);
    }
  pen_init (&pen, cr, style, view);
  for (guint i = 0; i < n_marks; i++)
    if (g_strcmp0 (marks[i]->face_id, chart->id) == 0)
      look (seen, style, view, chart, marks[i], pen.clip);
  halo = !is_crowded (view, chart, marks, n_marks);
  pen.crowded = !halo;
  cairo_set_tolerance (cr, 0.25 * style->line_scale);
  if (!halo)
    cairo_set_antialias (cr, CAIRO_ANTIALIAS_FAST);
  /* the selected one last, on top */
  for (int top = 0; top < 2; top++)
    for (guint i = 0; i < seen->len; i++)
      {
        const Seen *s = &g_array_index (seen, Seen, i);
        EfFaceView moved = { view->x0 + view->scale * s->shift, view->y0, view->scale };
        gboolean selected = layers->selected != NULL && g_strcmp0 (layers->selected, s->mark->item.id) == 0;
        EfBody body;

        if (selected != (top == 1) || !body_of_mark (&body, style, &moved, s->mark))
          continue;
        pen.anchor[0] = moved.x0;
        if (s->shift != 0)
          {
            cairo_save (cr);
            cairo_rectangle (cr, view->x0 + view->scale * chart->u0, pen.clip[1], view->scale * (chart->u1 - chart->u0), pen.clip[3] - pen.clip[1]);
            cairo_clip (cr);
          }
        paint_body (cr, style, s->mark, &body, &pen, selected, halo || selected);
        if (s->shift != 0)
          cairo_restore (cr);
        ef_body_clear (&body);
      }
  if (layers->mark_numbers)
    draw_numbers (cr, style, view, chart, seen, &pen, layers);
  cairo_restore (cr);
}
