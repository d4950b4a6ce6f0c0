/* The canvas: tools, from press, drag and release to one change.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A stroke works on a copy (self->live) or on a path of its own; the document changes once, when the stroke ends.
 */
#include "config.h"

#include "ef-face-canvas-private.h"

#include "ef-look.h"
#include "ef-mark-edit.h"

#include <glib/gi18n.h>
#include <math.h>
#include <string.h>

#define SNAP_REACH 12      /* px */
#define HIT (EF_TARGET / 2) /* px: radius of a handle that can be pressed */
#define SIZE_OFF_POINT 30  /* px from the rim of a point to its size handle */
#define SIZE_OFF_LINE 48   /* px from the edge of a line to its size handle */
#define FREEHAND 0.6       /* px: what a freehand area may be smoothed by */
#define LEAST_SIZE 1e-6    /* m */

double
ef_face_canvas_plus_length (void)
{
  return 4 * EF_TARGET;
}

static EfMarkNode *
path_node (EfFaceCanvas *self,
           guint i)
{
  return &g_array_index (self->path, EfMarkNode, i);
}

static void
path_add (EfFaceCanvas *self,
          double u,
          double v)
{
  EfMarkNode node = { u, v };

  g_array_append_val (self->path, node);
}

/* --- Where things are --------------------------------------------------------------------------------------------- */

/* The place on the chart, caught by an edge, a circle or an angle where there is one near. */
static void
place_at (EfFaceCanvas *self,
          double x,
          double y,
          gboolean snap,
          double *u,
          double *v)
{
  ef_face_view_to_chart (&self->view, x, y, u, v);
  self->snapped = NULL;
  if (snap && self->snap)
    self->snapped = ef_face_chart_snap (self->chart, SNAP_REACH / self->view.scale, u, v);
  *u = ef_length_on_grid (*u);
  *v = ef_length_on_grid (*v);
  self->snap_u = *u;
  self->snap_v = *v;
}

static void
node_on_screen (EfFaceCanvas *self,
                const EfMark *mark,
                guint i,
                double *x,
                double *y)
{
  const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i % mark->nodes->len);

  ef_face_view_to_screen (&self->view, node->u, node->v, x, y);
}

/* The middle of a line's middle segment and the direction across it, pointing up the screen. */
static gboolean
line_middle (EfFaceCanvas *self,
             const EfMark *mark,
             double *x,
             double *y,
             double *nx,
             double *ny)
{
  guint k = (mark->nodes->len - 1) / 2;
  double x0, y0, x1, y1, length;

  if (mark->nodes->len < 2)
    return FALSE;
  node_on_screen (self, mark, k, &x0, &y0);
  node_on_screen (self, mark, k + 1, &x1, &y1);
  length = hypot (x1 - x0, y1 - y0);
  if (!(length > 0))
    return FALSE;
  *x = (x0 + x1) / 2;
  *y = (y0 + y1) / 2;
  *nx = (y1 - y0) / length;
  *ny = -(x1 - x0) / length;
  if (*ny > 0 || (*ny == 0 && *nx < 0))
    {
      *nx = -*nx;
      *ny = -*ny;
    }
  return TRUE;
}

gboolean
ef_face_canvas_size_handle (EfFaceCanvas *self,
                            const EfMark *mark,
                            double *x,
                            double *y,
                            double *anchor_x,
                            double *anchor_y)
{
  double half = mark->size / 2 * self->view.scale, nx, ny;

  if (mark->shape == EF_SHAPE_POINT)
    {
      node_on_screen (self, mark, 0, anchor_x, anchor_y);
      *anchor_x += half;
      *x = *anchor_x + SIZE_OFF_POINT;
      *y = *anchor_y;
      return TRUE;
    }
  if (mark->shape != EF_SHAPE_LINE || !line_middle (self, mark, anchor_x, anchor_y, &nx, &ny))
    return FALSE;
  *x = *anchor_x + nx * (half + SIZE_OFF_LINE);
  *y = *anchor_y + ny * (half + SIZE_OFF_LINE);
  *anchor_x += nx * half;
  *anchor_y += ny * half;
  return TRUE;
}

/* A node of a short line can be pressed on a third of the way to its neighbour, so that the body stays within reach. */
static double
node_reach (EfFaceCanvas *self,
            const EfMark *mark,
            guint i)
{
  double x, y, ox, oy, nearest = G_MAXDOUBLE;
  guint n = mark->nodes->len, k;

  node_on_screen (self, mark, i, &x, &y);
  for (k = 0; k < n; k++)
    {
      if (k == i)
        continue;
      node_on_screen (self, mark, k, &ox, &oy);
      nearest = MIN (nearest, hypot (ox - x, oy - y));
    }
  return CLAMP (nearest / 3, 8, HIT);
}

static EfHit
hit_handles (EfFaceCanvas *self,
             const EfMark *mark,
             double x,
             double y,
             int *index_out)
{
  EfHit hit = EF_HIT_NONE;
  double best = HIT, hx, hy, ax, ay, x1, y1, distance;
  guint n = mark->nodes->len, i;

  if (ef_face_canvas_size_handle (self, mark, &hx, &hy, &ax, &ay) && hypot (x - hx, y - hy) <= best)
    {
      best = hypot (x - hx, y - hy);
      hit = EF_HIT_SIZE;
    }
  for (i = 0; mark->shape != EF_SHAPE_POINT && i < n; i++)
    {
      node_on_screen (self, mark, i, &hx, &hy);
      distance = hypot (x - hx, y - hy);
      if (distance <= best && distance <= node_reach (self, mark, i))
        {
          best = distance;
          hit = EF_HIT_NODE;
          *index_out = (int) i;
        }
      if (i + 1 == n && mark->shape != EF_SHAPE_AREA)
        continue;
      node_on_screen (self, mark, i + 1, &x1, &y1);
      distance = hypot (x - (hx + x1) / 2, y - (hy + y1) / 2);
      if (hypot (x1 - hx, y1 - hy) >= ef_face_canvas_plus_length () && distance < best)
        {
          best = distance;
          hit = EF_HIT_PLUS;
          *index_out = (int) i + 1;
        }
    }
  return hit;
}

/* What lies under a place: a handle of the selected mark before a mark; of marks the nearest. For a body, @index_out is its
 * place in self->marks. */
EfHit
ef_face_canvas_hit (EfFaceCanvas *self,
                    double x,
                    double y,
                    int *index_out,
                    double *u_out,
                    double *v_out)
{
  const EfMark *selected = ef_face_canvas_selected (self);
  EfMark *mark;
  EfHit hit = EF_HIT_NONE;
  guint at;

  *index_out = -1;
  if (self->chart == NULL)
    return EF_HIT_NONE;
  ef_face_view_to_chart (&self->view, x, y, u_out, v_out);
  if (selected != NULL && !ef_session_read_only (self->session))
    hit = hit_handles (self, selected, x, y, index_out);
  if (hit != EF_HIT_NONE)
    return hit;
  mark = ef_face_index_pick (self->index, *u_out, *v_out, HIT / self->view.scale);
  if (mark == NULL || !g_ptr_array_find (self->marks, mark, &at))
    return EF_HIT_NONE;
  *index_out = (int) at;
  return EF_HIT_BODY;
}

/* --- Read-out ------------------------------------------------------------------------------------------------------- */

static char *
span_text (double u0,
           double v0,
           double u1,
           double v1)
{
  g_autofree char *angle = ef_format_quantity (atan2 (v1 - v0, u1 - u0), EF_UNIT_DEG, 1);
  g_autofree char *length = ef_format_quantity (hypot (u1 - u0, v1 - v0), EF_UNIT_MM, 2);

  return g_strdup_printf ("%s   %s", length, angle);
}

static double
depth_in_map (EfFaceCanvas *self,
              double u,
              double v)
{
  const EfDepthMap *map = self->map;
  double i, j;

  if (map == NULL)
    return NAN;
  i = floor ((u - map->u0) / map->cell);
  j = floor ((v - map->v0) / map->cell);
  if (!(i >= 0 && j >= 0 && i < map->nu && j < map->nv) || map->cover[(gsize) j * map->nu + (gsize) i] <= 0)
    return NAN;
  return map->depth[(gsize) j * map->nu + (gsize) i];
}

static void
append_quantity (GString *text,
                 const char *name,
                 double si,
                 int decimals)
{
  g_autofree char *value = ef_format_quantity (si, EF_UNIT_MM, decimals);

  g_string_append_printf (text, "%s%s %s", text->len > 0 ? "   " : "", name, value);
}

static char *
read_out_text (EfFaceCanvas *self,
               double u,
               double v)
{
  GString *text = g_string_new (NULL);
  EfChartPlace place = { NAN, NAN, 0, -1 };
  double depth = depth_in_map (self, u, v);

  append_quantity (text, "x", u, 2);
  /* The unit of y stands for both. */
  g_string_truncate (text, text->len - strlen (" mm"));
  append_quantity (text, "y", v, 2);
  ef_face_chart_place (self->chart, u, v, &place);
  if (isfinite (place.angle))
    {
      g_autofree char *angle = ef_format_quantity (place.angle, EF_UNIT_DEG, 1);

      g_string_append_printf (text, "   %s", angle);
    }
  if (isfinite (place.radius))
    append_quantity (text, _("radius"), place.radius, 2);
  if (place.tooth > 0)
    g_string_append_printf (text, "   %s %d", _("tooth"), place.tooth);
  if (isfinite (depth))
    append_quantity (text, _("depth"), depth, 3);
  return g_string_free (text, FALSE);
}

void
ef_face_canvas_update_read_out (EfFaceCanvas *self)
{
  const EfMark *mark = self->live != NULL ? self->live : ef_face_canvas_selected (self);

  if (self->chart == NULL)
    ef_face_canvas_set_read_out (self, NULL);
  else if (self->hovering)
    ef_face_canvas_set_read_out (self, read_out_text (self, self->hover_u, self->hover_v));
  else if (mark != NULL && mark->nodes->len > 0)
    {
      const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, CLAMP (self->node, 0, (int) mark->nodes->len - 1));

      ef_face_canvas_set_read_out (self, read_out_text (self, node->u, node->v));
    }
  else
    ef_face_canvas_set_read_out (self, NULL);
}

/* The text at the pointer: what is being drawn, and what it has caught. */
static void
update_hint (EfFaceCanvas *self)
{
  g_autofree char *size = NULL;

  if (self->tool == EF_TOOL_RULER && self->path->len > 1)
    size = span_text (path_node (self, 0)->u, path_node (self, 0)->v, path_node (self, 1)->u, path_node (self, 1)->v);
  else if (self->stroke == EF_STROKE_POINT && self->moved)
    {
      g_autofree char *diameter = ef_format_quantity (self->size[EF_SHAPE_POINT], EF_UNIT_MM, 2);

      size = g_strdup_printf ("⌀ %s", diameter);
    }
  else if (self->stroke == EF_STROKE_LINE && self->path->len > 1)
    size = span_text (path_node (self, self->path->len - 2)->u, path_node (self, self->path->len - 2)->v, self->hover_u, self->hover_v);
  else if (self->placing && self->path->len > 0)
    size = span_text (path_node (self, self->path->len - 1)->u, path_node (self, self->path->len - 1)->v, self->hover_u, self->hover_v);
  else if (self->stroke == EF_STROKE_SIZE && self->live != NULL)
    {
      g_autofree char *value = ef_format_quantity (self->live->size, EF_UNIT_MM, 2);

      size = g_strdup_printf ("%s %s", self->live->shape == EF_SHAPE_POINT ? "⌀" : _("width"), value);
    }

  if (size != NULL && self->snapped != NULL)
    {
      g_autofree char *both = g_strdup_printf ("%s   %s", size, self->snapped);

      ef_face_canvas_set_hint (self, both);
    }
  else
    ef_face_canvas_set_hint (self, size != NULL ? size : self->snapped);
}

static void
pointer_at (EfFaceCanvas *self,
            double x,
            double y,
            double u,
            double v)
{
  self->hover_x = x;
  self->hover_y = y;
  self->hover_u = u;
  self->hover_v = v;
  self->hovering = TRUE;
  update_hint (self);
  ef_face_canvas_update_read_out (self);
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

/* --- Changes -------------------------------------------------------------------------------------------------------- */

static char *
label_for (const char *format,
           EfMarkKind kind)
{
  g_autofree char *name = g_utf8_strdown (_(ef_mark_kind_label (kind)), -1);

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
  return g_strdup_printf (format, name);
#pragma GCC diagnostic pop
}

void
ef_face_canvas_drop_stroke (EfFaceCanvas *self)
{
  self->stroke = EF_STROKE_NONE;
  self->placing = FALSE;
  self->moved = FALSE;
  self->snapped = NULL;
  g_array_set_size (self->path, 0);
  g_clear_pointer ((EfItem **) &self->live, ef_item_unref);
  update_hint (self);
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

static void
commit_new (EfFaceCanvas *self,
            EfMarkShape shape)
{
  EfMark *mark = ef_mark_new (self->face_id, self->kind, shape, self->size[shape]);
  g_autofree char *label = label_for (_("Add %s"), self->kind);
  g_autofree char *id = g_strdup (mark->item.id);
  gboolean done;
  guint i;

  for (i = 0; i < self->path->len; i++)
    ef_mark_add_node (mark, path_node (self, i)->u, path_node (self, i)->v);
  mark->number = ef_inspection_next_number (ef_document_inspection (ef_session_document (self->session)));
  ef_face_canvas_drop_stroke (self);
  done = ef_face_canvas_apply (self, label, NULL, mark);
  ef_item_unref (mark);
  if (!done)
    return;
  ef_face_canvas_set_node (self, -1);
  ef_session_select_mark (self->session, id);
  ef_face_canvas_emit_drawn (self, id);
}

static void
commit_live (EfFaceCanvas *self,
             const char *format)
{
  EfMark *before = (EfMark *) ef_face_canvas_selected (self);
  g_autoptr (EfItem) after = ef_item_ref (self->live);
  g_autofree char *label = label_for (format, self->live->kind);

  ef_face_canvas_drop_stroke (self);
  if (before != NULL && !ef_item_equal (before, after))
    ef_face_canvas_apply (self, label, before, (EfMark *) after);
  g_object_notify (G_OBJECT (self), "node");
}

void
ef_face_canvas_finish (EfFaceCanvas *self)
{
  if (!self->placing || self->tool == EF_TOOL_RULER)
    return;
  if (self->path->len >= ef_mark_edit_least_nodes (self->placing_shape))
    commit_new (self, self->placing_shape);
  else
    ef_face_canvas_drop_stroke (self);
}

gboolean
ef_face_canvas_cancel (EfFaceCanvas *self)
{
  if (self->stroke != EF_STROKE_NONE || self->placing || self->path->len > 0)
    ef_face_canvas_drop_stroke (self);
  else if (self->node >= 0)
    ef_face_canvas_set_node (self, -1);
  else if (self->tool != EF_TOOL_SELECT)
    ef_face_canvas_set_tool (self, EF_TOOL_SELECT);
  else if (ef_session_mark (self->session) != NULL)
    ef_session_select_mark (self->session, NULL);
  else
    return FALSE;
  return TRUE;
}

/* --- Press ---------------------------------------------------------------------------------------------------------- */

static void
begin_live (EfFaceCanvas *self,
            EfStroke stroke)
{
  const EfMark *mark = ef_face_canvas_selected (self);

  if (mark == NULL)
    return;
  g_clear_pointer ((EfItem **) &self->live, ef_item_unref);
  self->live = ef_item_copy (mark);
  self->stroke = stroke;
}

static void
press_body (EfFaceCanvas *self,
            int index,
            int n_press)
{
  EfMark *mark = g_ptr_array_index (self->marks, index);

  ef_face_canvas_set_node (self, -1);
  /* A mark that is pressed stays where it is. */
  self->stroke = EF_STROKE_MARK;
  ef_session_select_mark (self->session, mark->item.id);
  self->stroke = EF_STROKE_NONE;
  if (n_press > 1)
    gtk_widget_activate_action (GTK_WIDGET (self), "face.edit-mark", NULL);
  else if (ef_session_read_only (self->session))
    self->stroke = EF_STROKE_VIEW;
  else
    begin_live (self, EF_STROKE_MARK);
}

static void
press_select (EfFaceCanvas *self,
              double x,
              double y,
              int n_press)
{
  double u, v;
  int index;

  switch (ef_face_canvas_hit (self, x, y, &index, &u, &v))
    {
    case EF_HIT_NODE:
      ef_face_canvas_set_node (self, index);
      begin_live (self, EF_STROKE_NODE);
      break;
    case EF_HIT_PLUS:
      begin_live (self, EF_STROKE_NODE);
      if (self->live == NULL)
        break;
      ef_mark_edit_insert_node (self->live, index, u, v);
      self->node = index;
      self->moved = TRUE;
      break;
    case EF_HIT_SIZE:
      begin_live (self, EF_STROKE_SIZE);
      break;
    case EF_HIT_BODY:
      press_body (self, index, n_press);
      break;
    case EF_HIT_NONE:
    default:
      /* A pen draws at once, whatever the tool; a finger or the mouse takes hold of the face. */
      if (self->touch == EF_TOUCH_PEN && !ef_session_read_only (self->session))
        {
          g_array_set_size (self->path, 0);
          path_add (self, self->press_u, self->press_v);
          self->stroke = EF_STROKE_LINE;
        }
      else
        self->stroke = EF_STROKE_VIEW;
    }
}

static gboolean
near_first (EfFaceCanvas *self,
            double x,
            double y)
{
  double fx, fy;

  if (self->path->len < 3)
    return FALSE;
  ef_face_view_to_screen (&self->view, path_node (self, 0)->u, path_node (self, 0)->v, &fx, &fy);
  return hypot (x - fx, y - fy) <= 14;
}

static void
press_path (EfFaceCanvas *self,
            double x,
            double y,
            EfStroke stroke,
            int n_press)
{
  if (self->placing && (n_press > 1 || (stroke == EF_STROKE_AREA && near_first (self, x, y))))
    {
      ef_face_canvas_finish (self);
      return;
    }
  if (!self->placing)
    g_array_set_size (self->path, 0);
  path_add (self, self->press_u, self->press_v);
  self->stroke = stroke;
}

static void
press_ruler (EfFaceCanvas *self)
{
  self->stroke = EF_STROKE_RULER;
  if (self->placing && self->path->len > 0)
    {
      self->placing = FALSE;
      g_array_set_size (self->path, 1);
      path_add (self, self->press_u, self->press_v);
      return;
    }
  g_array_set_size (self->path, 0);
  path_add (self, self->press_u, self->press_v);
}

void
ef_face_canvas_press (EfFaceCanvas *self,
                      double x,
                      double y,
                      int n_press,
                      EfTouch touch)
{
  gboolean draws = self->tool == EF_TOOL_POINT || self->tool == EF_TOOL_LINE || self->tool == EF_TOOL_AREA;

  if (self->chart == NULL || self->stroke != EF_STROKE_NONE)
    return;
  gtk_widget_grab_focus (GTK_WIDGET (self));
  self->touch = touch;
  self->moved = FALSE;
  self->press_x = self->last_x = x;
  self->press_y = self->last_y = y;
  place_at (self, x, y, self->tool != EF_TOOL_SELECT || touch == EF_TOUCH_PEN, &self->press_u, &self->press_v);

  if (self->space || (draws && ef_session_read_only (self->session)))
    self->stroke = EF_STROKE_VIEW;
  else
    switch (self->tool)
      {
      case EF_TOOL_POINT:
        g_array_set_size (self->path, 0);
        path_add (self, self->press_u, self->press_v);
        self->stroke = EF_STROKE_POINT;
        break;
      case EF_TOOL_LINE:
        press_path (self, x, y, EF_STROKE_LINE, n_press);
        break;
      case EF_TOOL_AREA:
        press_path (self, x, y, EF_STROKE_AREA, n_press);
        break;
      case EF_TOOL_RULER:
        press_ruler (self);
        break;
      case EF_TOOL_SELECT:
      case EF_N_TOOLS:
      default:
        press_select (self, x, y, n_press);
      }
  pointer_at (self, x, y, self->press_u, self->press_v);
}

/* --- Drag ------------------------------------------------------------------------------------------------------------- */

static void
drag_mark (EfFaceCanvas *self,
           double x,
           double y)
{
  const EfMark *mark = ef_face_canvas_selected (self);
  const EfMarkNode *first;
  double u, v, du, dv;

  if (mark == NULL || mark->nodes->len == 0)
    return;
  ef_face_view_to_chart (&self->view, x, y, &u, &v);
  du = u - self->press_u;
  dv = v - self->press_v;
  if (mark->shape == EF_SHAPE_POINT)
    {
      /* A point is caught by its middle. */
      double cx, cy;

      first = &g_array_index (mark->nodes, EfMarkNode, 0);
      ef_face_view_to_screen (&self->view, first->u + du, first->v + dv, &cx, &cy);
      place_at (self, cx, cy, TRUE, &u, &v);
      du = u - first->u;
      dv = v - first->v;
    }
  g_clear_pointer ((EfItem **) &self->live, ef_item_unref);
  self->live = ef_item_copy (mark);
  ef_mark_translate (self->live, du, dv);
}

static void
drag_size (EfFaceCanvas *self,
           double x,
           double y)
{
  double cx, cy, nx, ny, half;

  if (self->live->shape == EF_SHAPE_POINT)
    {
      node_on_screen (self, self->live, 0, &cx, &cy);
      half = x - cx - SIZE_OFF_POINT;
    }
  else if (line_middle (self, self->live, &cx, &cy, &nx, &ny))
    half = (x - cx) * nx + (y - cy) * ny - SIZE_OFF_LINE;
  else
    return;
  self->live->size = MAX (ef_length_on_grid (2 * half / self->view.scale), LEAST_SIZE);
}

static void
drag_path (EfFaceCanvas *self,
           double u,
           double v)
{
  if (!self->placing && self->path->len == 1)
    path_add (self, u, v);
  path_node (self, self->path->len - 1)->u = u;
  path_node (self, self->path->len - 1)->v = v;
}

/* Freehand: a point each few px. */
static void
drag_area (EfFaceCanvas *self,
           double x,
           double y)
{
  double u, v;

  if (self->placing)
    {
      place_at (self, x, y, TRUE, &u, &v);
      drag_path (self, u, v);
      return;
    }
  place_at (self, x, y, FALSE, &u, &v);
  if (hypot (u - path_node (self, self->path->len - 1)->u, v - path_node (self, self->path->len - 1)->v) * self->view.scale >= 2)
    path_add (self, u, v);
}

void
ef_face_canvas_drag_to (EfFaceCanvas *self,
                        double x,
                        double y)
{
  double u, v, slack = self->touch == EF_TOUCH_FINGER ? 10 : 5;

  if (self->chart == NULL || self->stroke == EF_STROKE_NONE)
    return;
  if (!self->moved && hypot (x - self->press_x, y - self->press_y) < slack)
    return;
  self->moved = TRUE;
  place_at (self, x, y, self->stroke != EF_STROKE_VIEW && self->stroke != EF_STROKE_MARK && self->stroke != EF_STROKE_SIZE
                          && self->stroke != EF_STROKE_AREA && self->stroke != EF_STROKE_POINT,
            &u, &v);
  switch (self->stroke)
    {
    case EF_STROKE_VIEW:
      ef_face_canvas_pan_by (self, x - self->last_x, y - self->last_y);
      break;
    case EF_STROKE_MARK:
      drag_mark (self, x, y);
      break;
    case EF_STROKE_NODE:
      if (self->live != NULL && self->node < (int) self->live->nodes->len)
        ef_mark_edit_move_node (self->live, self->node, u, v);
      break;
    case EF_STROKE_SIZE:
      drag_size (self, x, y);
      break;
    case EF_STROKE_POINT:
      self->size[EF_SHAPE_POINT] = MAX (ef_length_on_grid (2 * hypot (u - self->press_u, v - self->press_v)), LEAST_SIZE);
      break;
    case EF_STROKE_LINE:
      drag_path (self, u, v);
      break;
    case EF_STROKE_AREA:
      drag_area (self, x, y);
      break;
    case EF_STROKE_RULER:
      g_array_set_size (self->path, 1);
      path_add (self, u, v);
      break;
    case EF_STROKE_NONE:
    default:
      break;
    }
  self->last_x = x;
  self->last_y = y;
  pointer_at (self, x, y, u, v);
}

/* --- Release ------------------------------------------------------------------------------------------------------------ */

static void
release_path (EfFaceCanvas *self,
              EfMarkShape shape)
{
  if (!self->moved && self->tool == EF_TOOL_SELECT)
    {
      ef_face_canvas_drop_stroke (self);
      ef_session_select_mark (self->session, NULL);
      return;
    }
  self->stroke = EF_STROKE_NONE;
  if (self->placing || !self->moved)
    {
      self->placing = TRUE;
      self->placing_shape = shape;
      return;
    }
  if (shape == EF_SHAPE_AREA)
    ef_mark_edit_simplify (self->path, FREEHAND / self->view.scale);
  if (self->path->len >= ef_mark_edit_least_nodes (shape))
    commit_new (self, shape);
  else
    ef_face_canvas_drop_stroke (self);
}

static void
release_view (EfFaceCanvas *self)
{
  gboolean moved = self->moved;

  self->stroke = EF_STROKE_NONE;
  if (moved || self->space || self->tool != EF_TOOL_SELECT)
    return;
  ef_face_canvas_set_node (self, -1);
  ef_session_select_mark (self->session, NULL);
}

void
ef_face_canvas_release (EfFaceCanvas *self,
                        double x,
                        double y)
{
  gboolean moved;

  if (self->chart == NULL || self->stroke == EF_STROKE_NONE)
    return;
  ef_face_canvas_drag_to (self, x, y);
  moved = self->moved;
  switch (self->stroke)
    {
    case EF_STROKE_VIEW:
      release_view (self);
      break;
    case EF_STROKE_MARK:
      if (moved)
        commit_live (self, _("Move %s"));
      else
        ef_face_canvas_drop_stroke (self);
      break;
    case EF_STROKE_NODE:
      if (moved)
        commit_live (self, _("Reshape %s"));
      else
        ef_face_canvas_drop_stroke (self);
      break;
    case EF_STROKE_SIZE:
      if (moved)
        commit_live (self, _("Resize %s"));
      else
        ef_face_canvas_drop_stroke (self);
      break;
    case EF_STROKE_POINT:
      self->stroke = EF_STROKE_NONE;
      commit_new (self, EF_SHAPE_POINT);
      break;
    case EF_STROKE_LINE:
      release_path (self, EF_SHAPE_LINE);
      break;
    case EF_STROKE_AREA:
      release_path (self, EF_SHAPE_AREA);
      break;
    case EF_STROKE_RULER:
      self->stroke = EF_STROKE_NONE;
      self->placing = self->path->len < 2;
      break;
    case EF_STROKE_NONE:
    default:
      break;
    }
  update_hint (self);
  ef_face_canvas_update_read_out (self);
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

void
ef_face_canvas_hover (EfFaceCanvas *self,
                      double x,
                      double y)
{
  double u, v;

  if (self->chart == NULL || self->stroke != EF_STROKE_NONE)
    return;
  place_at (self, x, y, self->tool != EF_TOOL_SELECT, &u, &v);
  if (self->tool == EF_TOOL_RULER && self->placing && self->path->len > 0)
    {
      g_array_set_size (self->path, 1);
      path_add (self, u, v);
    }
  pointer_at (self, x, y, u, v);
}

void
ef_face_canvas_leave (EfFaceCanvas *self)
{
  if (self->stroke != EF_STROKE_NONE)
    return;
  self->hovering = FALSE;
  self->snapped = NULL;
  update_hint (self);
  ef_face_canvas_update_read_out (self);
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

/* --- From the keyboard ---------------------------------------------------------------------------------------------------- */

void
ef_face_canvas_nudge (EfFaceCanvas *self,
                      int dx,
                      int dy,
                      gboolean fine)
{
  EfMark *before = (EfMark *) ef_face_canvas_selected (self);
  double step;
  g_autoptr (EfItem) item = NULL;
  g_autofree char *label = NULL;
  EfMark *after;

  if (self->chart == NULL || self->stroke != EF_STROKE_NONE)
    return;
  if (before == NULL || ef_session_read_only (self->session))
    {
      ef_face_canvas_pan_by (self, -64.0 * dx, 64.0 * dy);
      return;
    }
  step = ef_face_canvas_grid_step (self) * (fine ? 0.1 : 1);
  item = ef_item_copy (before);
  after = (EfMark *) item;
  if (self->node >= 0 && self->node < (int) after->nodes->len)
    {
      const EfMarkNode *node = &g_array_index (after->nodes, EfMarkNode, self->node);

      ef_mark_edit_move_node (after, self->node, node->u + dx * step, node->v + dy * step);
      label = label_for (_("Reshape %s"), after->kind);
    }
  else
    {
      ef_mark_translate (after, dx * step, dy * step);
      label = label_for (_("Move %s"), after->kind);
    }
  ef_face_canvas_apply (self, label, before, after);
  ef_face_canvas_update_read_out (self);
}

void
ef_face_canvas_delete (EfFaceCanvas *self)
{
  EfMark *before = (EfMark *) ef_face_canvas_selected (self);
  g_autofree char *label = NULL;

  if (self->placing && self->path->len > 0)
    {
      /* While a line is being placed, the last node goes. */
      g_array_set_size (self->path, self->path->len - 1);
      if (self->path->len == 0)
        ef_face_canvas_drop_stroke (self);
      gtk_widget_queue_draw (GTK_WIDGET (self));
      return;
    }
  if (before == NULL || self->stroke != EF_STROKE_NONE || ef_session_read_only (self->session))
    return;
  if (self->node >= 0 && self->node < (int) before->nodes->len && before->shape != EF_SHAPE_POINT)
    {
      g_autoptr (EfItem) after = ef_item_copy (before);

      if (!ef_mark_edit_remove_node ((EfMark *) after, self->node))
        {
          ef_session_message (self->session, _("This shape needs all the nodes it has. Delete the mark instead."));
          ef_face_canvas_set_node (self, -1);
          gtk_widget_queue_draw (GTK_WIDGET (self));
          return;
        }
      ef_face_canvas_set_node (self, -1);
      label = label_for (_("Reshape %s"), before->kind);
      ef_face_canvas_apply (self, label, before, (EfMark *) after);
      return;
    }
  label = label_for (_("Delete %s"), before->kind);
  ef_face_canvas_apply (self, label, before, NULL);
}
