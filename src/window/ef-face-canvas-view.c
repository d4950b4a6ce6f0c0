/* The canvas: zoom, pan, the cached picture, drawing.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Ground, depth and marks are one texture, somewhat larger than the canvas. Panning shifts it, zooming scales it; a worker
 * draws it anew when it no longer covers the canvas, when the zoom has come to rest, or when the marks have changed. Only
 * the selected mark, its handles and the stroke under way are drawn each frame, within tight bounds.
 */
#include "config.h"

#include "ef-face-canvas-private.h"

#include "ef-look.h"
#include "ef-mark-edit.h"

#include <glib/gi18n.h>
#include <math.h>
#include <string.h>

#define FIT_MARGIN 36    /* px round a face that is shown whole */
#define MARGIN 0.2       /* of the canvas, that the picture reaches beyond it on each side */
#define REST_MS 90       /* a zoom that is at rest */
#define CHEAP 0.025      /* s: a picture that may follow each step at once */
#define MOST_SCALE 2e6   /* px a metre: 0.1 mm is 200 px */
#define HANDLE 7         /* px, radius as drawn; what can be hit is larger */

static void request_picture (EfFaceCanvas *self);

/* --- Zoom and pan --------------------------------------------------------------------------------------------------- */

void
ef_face_canvas_to_widget (EfFaceCanvas *self,
                          double u,
                          double v,
                          double *x,
                          double *y)
{
  ef_face_view_to_screen (&self->view, u, v, x, y);
}

void
ef_face_canvas_to_chart (EfFaceCanvas *self,
                         double x,
                         double y,
                         double *u,
                         double *v)
{
  ef_face_view_to_chart (&self->view, x, y, u, v);
}

double
ef_face_canvas_zoom (EfFaceCanvas *self)
{
  return self->fit_scale > 0 ? self->view.scale / self->fit_scale : 1;
}

/* Keeps a piece of the face in sight. */
static void
limit_pan (EfFaceCanvas *self)
{
  double x0, y0, x1, y1, keep_x = MIN (80, self->width / 3.0), keep_y = MIN (80, self->height / 3.0);

  ef_face_view_to_screen (&self->view, self->chart->u0, self->chart->v1, &x0, &y0);
  ef_face_view_to_screen (&self->view, self->chart->u1, self->chart->v0, &x1, &y1);
  if (x1 < keep_x)
    self->view.x0 += keep_x - x1;
  if (x0 > self->width - keep_x)
    self->view.x0 += self->width - keep_x - x0;
  if (y1 < keep_y)
    self->view.y0 += keep_y - y1;
  if (y0 > self->height - keep_y)
    self->view.y0 += self->height - keep_y - y0;
}

static void
compute_fit (EfFaceCanvas *self,
             EfFaceView *view)
{
  ef_face_view_fit (view, self->chart, MAX (self->width, 1), MAX (self->height, 1),
                    MIN (FIT_MARGIN, MIN (self->width, self->height) / 6.0));
}

/* The view has moved: shows it, and asks for a better picture where the one at hand won't do. */
void
ef_face_canvas_view_changed (EfFaceCanvas *self)
{
  ef_face_canvas_zoom_notify (self);
  gtk_widget_queue_draw (GTK_WIDGET (self));
  request_picture (self);
}

void
ef_face_canvas_fit (EfFaceCanvas *self)
{
  if (self->chart == NULL || self->width <= 0)
    return;
  compute_fit (self, &self->view);
  self->fit_scale = self->view.scale;
  self->fitted = TRUE;
  ef_face_canvas_view_changed (self);
}

void
ef_face_canvas_zoom_at (EfFaceCanvas *self,
                        double factor,
                        double x,
                        double y)
{
  double u, v, scale;

  if (self->chart == NULL || self->fit_scale <= 0 || !isfinite (factor) || factor <= 0)
    return;
  scale = CLAMP (self->view.scale * factor, self->fit_scale * 0.5, MAX (MOST_SCALE, self->fit_scale));
  if (scale == self->view.scale)
    return;
  ef_face_view_to_chart (&self->view, x, y, &u, &v);
  self->view.scale = scale;
  self->view.x0 = x - scale * u;
  self->view.y0 = y + scale * v;
  self->fitted = FALSE;
  ef_face_canvas_view_changed (self);
}

void
ef_face_canvas_pan_by (EfFaceCanvas *self,
                       double dx,
                       double dy)
{
  if (self->chart == NULL || !isfinite (dx) || !isfinite (dy))
    return;
  self->view.x0 += dx;
  self->view.y0 += dy;
  self->fitted = FALSE;
  limit_pan (self);
  ef_face_canvas_view_changed (self);
}

/* Along one axis: how far lo … hi must go to be inside 0 … room, or its middle where it is longer than that. */
static double
shift_into (double lo,
            double hi,
            double room)
{
  const double edge = 24;

  if (hi - lo > room - 2 * edge)
    return (lo + hi) / 2 < 0 || (lo + hi) / 2 > room ? room / 2 - (lo + hi) / 2 : 0;
  if (lo < edge)
    return edge - lo;
  if (hi > room - edge)
    return room - edge - hi;
  return 0;
}

void
ef_face_canvas_reveal (EfFaceCanvas *self,
                       const EfMark *mark)
{
  double b[4], x0, y0, x1, y1, dx, dy;

  if (self->chart == NULL || self->width <= 0)
    return;
  ef_mark_bounds (mark, b);
  ef_face_view_to_screen (&self->view, b[0], b[3], &x0, &y0);
  ef_face_view_to_screen (&self->view, b[2], b[1], &x1, &y1);
  dx = shift_into (x0, x1, self->width);
  dy = shift_into (y0, y1, self->height);
  if (dx != 0 || dy != 0)
    ef_face_canvas_pan_by (self, round (dx), round (dy));
}

/* A new size keeps the middle of the canvas in the middle, at the same zoom; a face that was shown whole stays whole. */
void
ef_face_canvas_resized (EfFaceCanvas *self,
                        int width,
                        int height)
{
  int old_width = self->width, old_height = self->height;
  EfFaceView fit;

  self->width = width;
  self->height = height;
  if (self->chart == NULL)
    return;
  if (self->fitted || self->fit_scale <= 0)
    {
      ef_face_canvas_fit (self);
      return;
    }
  compute_fit (self, &fit);
  self->fit_scale = fit.scale;
  self->view.x0 += (width - old_width) / 2.0;
  self->view.y0 += (height - old_height) / 2.0;
  ef_face_canvas_view_changed (self);
}

double
ef_face_canvas_grid_step (EfFaceCanvas *self)
{
  double step = 1e-5;
  int k;

  /* 0.01, 0.02, 0.05, 0.1 … mm: the first that is 8 px or more. */
  for (k = 0; step * self->view.scale < 8 && k < 18; k++)
    step *= k % 3 == 1 ? 2.5 : 2;
  return ef_length_on_grid (step);
}

/* --- The cached picture ---------------------------------------------------------------------------------------------- */

void
ef_face_canvas_drop_picture (EfFaceCanvas *self)
{
  g_clear_handle_id (&self->draw_timeout, g_source_remove);
  if (self->drawing != NULL)
    g_cancellable_cancel (self->drawing);
  g_clear_object (&self->drawing);
  g_clear_object (&self->texture);
  g_clear_pointer (&self->picture, cairo_surface_destroy);
}

static EfFaceLayerJob *
make_job (EfFaceCanvas *self)
{
  EfFaceLayerJob *job = ef_face_layer_job_new (self->chart, self->marks, self->map);
  double mx = floor (self->width * MARGIN);
  double my = floor (self->height * MARGIN);

  job->field = self->field != NULL ? ef_flow_field_ref (self->field) : NULL;
  job->photo = self->photo;
  if (job->photo.picture != NULL)
    ef_photo_picture_ref (job->photo.picture);
  ef_look_style (&job->style);
  ef_look_colour (GTK_WIDGET (self), "view_bg_color", &job->ground);
  job->layers.grid = self->grid;
  job->layers.labels = TRUE;
  job->layers.depth_colours = TRUE;
  job->layers.contours = self->field == NULL;
  job->layers.mark_numbers = self->field == NULL; /* else the isobars have their values there */
  ef_face_canvas_light_job (self, job);
  job->view = self->view;
  job->view.x0 += mx;
  job->view.y0 += my;
  job->width = self->width + 2 * mx;
  job->height = self->height + 2 * my;
  job->scale = gtk_widget_get_scale_factor (GTK_WIDGET (self));
  return job;
}

static void
take_picture (EfFaceCanvas *self,
              const EfFaceLayerJob *job,
              cairo_surface_t *picture) /* taken */
{
  g_clear_object (&self->texture);
  g_clear_pointer (&self->picture, cairo_surface_destroy);
  self->picture = picture;
  self->texture_view = job->view;
  self->texture_width = job->width;
  self->texture_height = job->height;
}

/* Where the picture lies in the canvas at the present view. */
static graphene_rect_t
picture_rect (EfFaceCanvas *self)
{
  double s = self->view.scale / self->texture_view.scale;

  return GRAPHENE_RECT_INIT (self->view.x0 - s * self->texture_view.x0, self->view.y0 - s * self->texture_view.y0,
                             s * self->texture_width, s * self->texture_height);
}

static gboolean
picture_is_current (EfFaceCanvas *self)
{
  graphene_rect_t canvas = GRAPHENE_RECT_INIT (0, 0, self->width, self->height);
  graphene_rect_t rect;

  if (self->picture == NULL || self->texture_content != self->content || self->texture_view.scale != self->view.scale)
    return FALSE;
  rect = picture_rect (self);
  return graphene_rect_contains_rect (&rect, &canvas);
}

typedef struct
{
  EfFaceCanvas *canvas;
  GCancellable *cancellable;
  guint64 content;
} Wait;

static void
picture_drawn_cb (GObject *source,
                  GAsyncResult *result,
                  gpointer user_data)
{
  Wait *wait = user_data;
  EfFaceCanvas *self = wait->canvas;
  const EfFaceLayerJob *job;
  cairo_surface_t *picture;
  double seconds = 0;

  picture = ef_face_layer_draw_finish (result, &job, &seconds, NULL);
  if (self->drawing == wait->cancellable)
    {
      g_clear_object (&self->drawing);
      if (picture != NULL)
        {
          take_picture (self, job, g_steal_pointer (&picture));
          self->texture_content = wait->content;
          self->cost = seconds;
          gtk_widget_queue_draw (GTK_WIDGET (self));
          request_picture (self);
        }
    }
  g_clear_pointer (&picture, cairo_surface_destroy);
  g_object_unref (wait->cancellable);
  g_object_unref (wait->canvas);
  g_free (wait);
}

static void
start_picture (EfFaceCanvas *self)
{
  Wait *wait;

  g_clear_handle_id (&self->draw_timeout, g_source_remove);
  if (self->chart == NULL || self->width <= 0 || self->drawing != NULL || picture_is_current (self))
    return;
  self->drawing = g_cancellable_new ();
  wait = g_new0 (Wait, 1);
  wait->canvas = g_object_ref (self);
  wait->cancellable = g_object_ref (self->drawing);
  wait->content = self->content;
  ef_face_layer_draw_async (make_job (self), self->drawing, picture_drawn_cb, wait);
}

static gboolean
rest_cb (gpointer data)
{
  EfFaceCanvas *self = data;

  self->draw_timeout = 0;
  start_picture (self);
  return G_SOURCE_REMOVE;
}

/* A change of marks is shown as soon as can be; a zoom waits until it rests, unless pictures are cheap. */
static void
request_picture (EfFaceCanvas *self)
{
  gboolean wait;

  if (self->picture == NULL || self->drawing != NULL || picture_is_current (self))
    return;
  wait = self->cost > CHEAP && self->texture_content == self->content && self->texture_view.scale != self->view.scale;
  if (!wait)
    {
      start_picture (self);
      return;
    }
  g_clear_handle_id (&self->draw_timeout, g_source_remove);
  self->draw_timeout = g_timeout_add (REST_MS, rest_cb, self);
}

void
ef_face_canvas_content_changed (EfFaceCanvas *self)
{
  self->content++;
  gtk_widget_queue_draw (GTK_WIDGET (self));
  request_picture (self);
}

void
ef_face_canvas_set_photo (EfFaceCanvas *self,
                          const EfLaidPhoto *photo)
{
  gboolean same = photo->picture == self->photo.picture && photo->opacity == self->photo.opacity
                  && memcmp (photo->to_photo, self->photo.to_photo, sizeof photo->to_photo) == 0;
  EfPhotoPicture *before = self->photo.picture;

  if (same || (photo->picture == NULL && before == NULL))
    return;
  self->photo = *photo;
  if (self->photo.picture != NULL)
    ef_photo_picture_ref (self->photo.picture);
  g_clear_pointer (&before, ef_photo_picture_unref);
  ef_face_canvas_content_changed (self);
}

void
ef_face_canvas_settle (EfFaceCanvas *self)
{
  while (self->chart != NULL && self->width > 0 && !picture_is_current (self))
    {
      if (self->picture == NULL)
        self->texture_content = self->content - 1;
      start_picture (self);
      g_main_context_iteration (NULL, TRUE);
    }
}

/* --- Drawing ------------------------------------------------------------------------------------------------------ */

/* The renderer without a graphics card would copy a texture for each frame: it gets the pixels as they are. */
static void
draw_pixels (EfFaceCanvas *self,
             GtkSnapshot *snapshot,
             const graphene_rect_t *rect)
{
  graphene_rect_t canvas = GRAPHENE_RECT_INIT (0, 0, self->width, self->height), seen;
  double s = self->view.scale / self->texture_view.scale;
  cairo_t *cr;

  if (!graphene_rect_intersection (rect, &canvas, &seen))
    return;
  cr = gtk_snapshot_append_cairo (snapshot, &seen);
  cairo_translate (cr, rect->origin.x, rect->origin.y);
  cairo_scale (cr, s, s);
  cairo_set_source_surface (cr, self->picture, 0, 0);
  cairo_pattern_set_filter (cairo_get_source (cr), CAIRO_FILTER_FAST);
  /* The picture has a ground of its own, so nothing shines through. */
  cairo_set_operator (cr, CAIRO_OPERATOR_SOURCE);
  cairo_paint (cr);
  cairo_destroy (cr);
}

static void
draw_picture (EfFaceCanvas *self,
              GtkSnapshot *snapshot)
{
  GtkNative *native = gtk_widget_get_native (GTK_WIDGET (self));
  GskRenderer *renderer = native != NULL ? gtk_native_get_renderer (native) : NULL;
  graphene_rect_t rect;

  if (self->picture == NULL)
    {
      g_autoptr (EfFaceLayerJob) job = make_job (self);
      gint64 start = g_get_monotonic_time ();
      cairo_surface_t *picture = ef_face_layer_draw_surface (job);

      self->cost = (g_get_monotonic_time () - start) * 1e-6;
      take_picture (self, job, picture);
      self->texture_content = self->content;
    }
  rect = picture_rect (self);
  if (renderer == NULL || GSK_IS_CAIRO_RENDERER (renderer))
    {
      draw_pixels (self, snapshot, &rect);
      return;
    }
  if (self->texture == NULL)
    self->texture = ef_face_layer_texture (self->picture);
  gtk_snapshot_append_texture (snapshot, self->texture, &rect);
}

/* A cairo context over a box of the canvas, no larger than need be; NULL when it lies outside. */
static cairo_t *
cairo_in (EfFaceCanvas *self,
          GtkSnapshot *snapshot,
          double x0,
          double y0,
          double x1,
          double y1)
{
  graphene_rect_t box;

  x0 = floor (CLAMP (x0, 0, self->width));
  y0 = floor (CLAMP (y0, 0, self->height));
  x1 = ceil (CLAMP (x1, 0, self->width));
  y1 = ceil (CLAMP (y1, 0, self->height));
  if (x1 <= x0 || y1 <= y0)
    return NULL;
  box = GRAPHENE_RECT_INIT (x0, y0, x1 - x0, y1 - y0);
  return gtk_snapshot_append_cairo (snapshot, &box);
}

static cairo_t *
cairo_round_mark (EfFaceCanvas *self,
                  GtkSnapshot *snapshot,
                  const EfMark *mark,
                  double margin)
{
  double b[4], x0, y0, x1, y1;

  ef_mark_bounds (mark, b);
  ef_face_view_to_screen (&self->view, b[0], b[3], &x0, &y0);
  ef_face_view_to_screen (&self->view, b[2], b[1], &x1, &y1);
  return cairo_in (self, snapshot, x0 - margin, y0 - margin, x1 + margin, y1 + margin);
}

static void
draw_handle (cairo_t *cr,
             const GdkRGBA *ground,
             const GdkRGBA *ink,
             double x,
             double y,
             double radius,
             gboolean full)
{
  cairo_arc (cr, x, y, radius, 0, 2 * G_PI);
  gdk_cairo_set_source_rgba (cr, full ? ink : ground);
  cairo_fill_preserve (cr);
  gdk_cairo_set_source_rgba (cr, ink);
  cairo_set_line_width (cr, 2.5);
  cairo_stroke (cr);
}

static void
draw_plus (cairo_t *cr,
           const GdkRGBA *ground,
           const GdkRGBA *ink,
           double x,
           double y)
{
  draw_handle (cr, ground, ink, x, y, HANDLE, FALSE);
  cairo_move_to (cr, x - 4, y);
  cairo_line_to (cr, x + 4, y);
  cairo_move_to (cr, x, y - 4);
  cairo_line_to (cr, x, y + 4);
  cairo_set_line_width (cr, 1.5);
  cairo_stroke (cr);
}

static void
draw_node_handles (EfFaceCanvas *self,
                   cairo_t *cr,
                   const EfMark *mark,
                   const GdkRGBA *ground,
                   const GdkRGBA *ink)
{
  guint n = mark->nodes->len, i;

  for (i = 0; i < n; i++)
    {
      const EfMarkNode *a = &g_array_index (mark->nodes, EfMarkNode, i);
      const EfMarkNode *b = &g_array_index (mark->nodes, EfMarkNode, (i + 1) % n);
      double x0, y0, x1, y1;

      ef_face_view_to_screen (&self->view, a->u, a->v, &x0, &y0);
      ef_face_view_to_screen (&self->view, b->u, b->v, &x1, &y1);
      if ((i + 1 < n || mark->shape == EF_SHAPE_AREA) && hypot (x1 - x0, y1 - y0) >= ef_face_canvas_plus_length ())
        draw_plus (cr, ground, ink, (x0 + x1) / 2, (y0 + y1) / 2);
      draw_handle (cr, ground, ink, x0, y0, HANDLE, (int) i == self->node);
    }
}

static void
draw_size_handle (EfFaceCanvas *self,
                  cairo_t *cr,
                  const EfMark *mark,
                  const GdkRGBA *ground,
                  const GdkRGBA *ink)
{
  const double dash[] = { 2, 3 };
  double x, y, ax, ay;

  if (!ef_face_canvas_size_handle (self, mark, &x, &y, &ax, &ay))
    return;
  cairo_move_to (cr, ax, ay);
  cairo_line_to (cr, x, y);
  cairo_set_dash (cr, dash, 2, 0);
  gdk_cairo_set_source_rgba (cr, ink);
  cairo_set_line_width (cr, 1.5);
  cairo_stroke (cr);
  cairo_set_dash (cr, NULL, 0, 0);
  cairo_rectangle (cr, x - HANDLE + 1, y - HANDLE + 1, 2 * HANDLE - 2, 2 * HANDLE - 2);
  gdk_cairo_set_source_rgba (cr, ground);
  cairo_fill_preserve (cr);
  gdk_cairo_set_source_rgba (cr, ink);
  cairo_set_line_width (cr, 2.5);
  cairo_stroke (cr);
}

static void
draw_selected (EfFaceCanvas *self,
               GtkSnapshot *snapshot,
               const EfDrawStyle *style)
{
  const EfMark *mark = self->live != NULL ? self->live : ef_face_canvas_selected (self);
  GdkRGBA ground, ink;
  cairo_t *cr;

  if (mark == NULL)
    return;
  cr = cairo_round_mark (self, snapshot, mark, 80);
  if (cr == NULL)
    return;
  ef_draw_mark (cr, style, &self->view, mark, TRUE, self->live != NULL);
  if (self->tool == EF_TOOL_SELECT && !ef_session_read_only (self->session))
    {
      ef_look_colour (GTK_WIDGET (self), "view_bg_color", &ground);
      ef_look_colour (GTK_WIDGET (self), "accent_color", &ink);
      draw_size_handle (self, cr, mark, &ground, &ink);
      if (mark->shape != EF_SHAPE_POINT)
        draw_node_handles (self, cr, mark, &ground, &ink);
    }
  cairo_destroy (cr);
}

static EfMarkShape
stroke_shape (EfFaceCanvas *self)
{
  if (self->stroke == EF_STROKE_POINT)
    return EF_SHAPE_POINT;
  if (self->stroke == EF_STROKE_AREA || (self->placing && self->placing_shape == EF_SHAPE_AREA))
    return EF_SHAPE_AREA;
  return EF_SHAPE_LINE;
}

/* The mark that the path under way would make, or NULL while it has too few nodes. */
static EfMark *
mark_of_path (EfFaceCanvas *self,
              gboolean with_hover)
{
  EfMarkShape shape = stroke_shape (self);
  EfMark *mark = ef_mark_new (self->face_id, self->kind, shape, self->size[shape]);
  guint i;

  for (i = 0; i < self->path->len; i++)
    {
      const EfMarkNode *node = &g_array_index (self->path, EfMarkNode, i);

      ef_mark_add_node (mark, node->u, node->v);
    }
  if (with_hover)
    ef_mark_add_node (mark, self->hover_u, self->hover_v);
  if (mark->nodes->len < ef_mark_edit_least_nodes (shape))
    g_clear_pointer ((EfItem **) &mark, ef_item_unref);
  return mark;
}

static void
draw_path_nodes (EfFaceCanvas *self,
                 GtkSnapshot *snapshot,
                 gboolean with_hover)
{
  double x0 = G_MAXDOUBLE, y0 = G_MAXDOUBLE, x1 = -G_MAXDOUBLE, y1 = -G_MAXDOUBLE, x, y;
  GdkRGBA ground, ink;
  cairo_t *cr;
  guint i;

  for (i = 0; i < self->path->len + (with_hover ? 1 : 0); i++)
    {
      double u = i < self->path->len ? g_array_index (self->path, EfMarkNode, i).u : self->hover_u;
      double v = i < self->path->len ? g_array_index (self->path, EfMarkNode, i).v : self->hover_v;

      ef_face_view_to_screen (&self->view, u, v, &x, &y);
      x0 = MIN (x0, x);
      y0 = MIN (y0, y);
      x1 = MAX (x1, x);
      y1 = MAX (y1, y);
    }
  cr = cairo_in (self, snapshot, x0 - 12, y0 - 12, x1 + 12, y1 + 12);
  if (cr == NULL)
    return;
  ef_look_colour (GTK_WIDGET (self), "view_bg_color", &ground);
  ef_look_colour (GTK_WIDGET (self), "accent_color", &ink);
  for (i = 0; i < self->path->len + (with_hover ? 1 : 0); i++)
    {
      double u = i < self->path->len ? g_array_index (self->path, EfMarkNode, i).u : self->hover_u;
      double v = i < self->path->len ? g_array_index (self->path, EfMarkNode, i).v : self->hover_v;

      ef_face_view_to_screen (&self->view, u, v, &x, &y);
      if (i == 0)
        cairo_move_to (cr, x, y);
      else
        cairo_line_to (cr, x, y);
    }
  gdk_cairo_set_source_rgba (cr, &ink);
  cairo_set_line_width (cr, 2);
  cairo_stroke (cr);
  for (i = 0; i < self->path->len; i++)
    {
      const EfMarkNode *node = &g_array_index (self->path, EfMarkNode, i);

      if (self->stroke == EF_STROKE_AREA && self->moved)
        break;
      ef_face_view_to_screen (&self->view, node->u, node->v, &x, &y);
      draw_handle (cr, &ground, &ink, x, y, 5, FALSE);
    }
  cairo_destroy (cr);
}

static void
draw_ruler (EfFaceCanvas *self,
            GtkSnapshot *snapshot)
{
  const EfMarkNode *a = &g_array_index (self->path, EfMarkNode, 0);
  const EfMarkNode *b = &g_array_index (self->path, EfMarkNode, 1);
  double x0, y0, x1, y1, length, ticks, step;
  GdkRGBA ink, ground;
  cairo_t *cr;
  int i;

  ef_face_view_to_screen (&self->view, a->u, a->v, &x0, &y0);
  ef_face_view_to_screen (&self->view, b->u, b->v, &x1, &y1);
  cr = cairo_in (self, snapshot, MIN (x0, x1) - 16, MIN (y0, y1) - 16, MAX (x0, x1) + 16, MAX (y0, y1) + 16);
  if (cr == NULL)
    return;
  ef_look_colour (GTK_WIDGET (self), "view_bg_color", &ground);
  ef_look_colour (GTK_WIDGET (self), "accent_color", &ink);
  gdk_cairo_set_source_rgba (cr, &ground);
  cairo_set_line_width (cr, 5);
  cairo_move_to (cr, x0, y0);
  cairo_line_to (cr, x1, y1);
  cairo_stroke (cr);
  gdk_cairo_set_source_rgba (cr, &ink);
  cairo_set_line_width (cr, 2);
  cairo_move_to (cr, x0, y0);
  cairo_line_to (cr, x1, y1);
  length = hypot (x1 - x0, y1 - y0);
  step = ef_face_canvas_grid_step (self) * self->view.scale;
  ticks = length > 0 ? length / step : 0;
  for (i = 0; i <= ticks && i < 500; i++)
    {
      double x = x0 + (x1 - x0) * i * step / length;
      double y = y0 + (y1 - y0) * i * step / length;
      double reach = i % 5 == 0 ? 8 : 4;

      cairo_move_to (cr, x, y);
      cairo_line_to (cr, x - (y1 - y0) / length * reach, y + (x1 - x0) / length * reach);
    }
  cairo_stroke (cr);
  draw_handle (cr, &ground, &ink, x0, y0, 5, FALSE);
  draw_handle (cr, &ground, &ink, x1, y1, 5, FALSE);
  cairo_destroy (cr);
}

static void
draw_stroke (EfFaceCanvas *self,
             GtkSnapshot *snapshot,
             const EfDrawStyle *style)
{
  gboolean hover = self->placing && self->stroke == EF_STROKE_NONE && self->hovering;
  EfMark *mark;
  cairo_t *cr;

  if (self->path->len == 0)
    return;
  if (self->tool == EF_TOOL_RULER)
    {
      if (self->path->len > 1)
        draw_ruler (self, snapshot);
      return;
    }
  mark = mark_of_path (self, hover);
  if (mark != NULL)
    {
      cr = cairo_round_mark (self, snapshot, mark, 24);
      if (cr != NULL)
        {
          ef_draw_mark (cr, style, &self->view, mark, TRUE, FALSE);
          cairo_destroy (cr);
        }
      ef_item_unref (mark);
    }
  if (stroke_shape (self) != EF_SHAPE_POINT)
    draw_path_nodes (self, snapshot, hover);
}

/* What the pointer has caught: a ring and its name. */
static void
draw_snap (EfFaceCanvas *self,
           GtkSnapshot *snapshot)
{
  double x, y;
  GdkRGBA ink;
  cairo_t *cr;

  if (self->snapped == NULL)
    return;
  ef_face_view_to_screen (&self->view, self->snap_u, self->snap_v, &x, &y);
  cr = cairo_in (self, snapshot, x - 14, y - 14, x + 14, y + 14);
  if (cr == NULL)
    return;
  ef_look_colour (GTK_WIDGET (self), "accent_color", &ink);
  gdk_cairo_set_source_rgba (cr, &ink);
  cairo_set_line_width (cr, 2);
  cairo_arc (cr, x, y, 10, 0, 2 * G_PI);
  cairo_stroke (cr);
  cairo_arc (cr, x, y, 2, 0, 2 * G_PI);
  cairo_fill (cr);
  cairo_destroy (cr);
}

static void
draw_tag (EfFaceCanvas *self,
          GtkSnapshot *snapshot)
{
  double x, y;

  if (self->hint == NULL)
    return;
  if (self->tool == EF_TOOL_RULER && self->path->len > 1)
    {
      const EfMarkNode *end = &g_array_index (self->path, EfMarkNode, 1);

      ef_face_view_to_screen (&self->view, end->u, end->v, &x, &y);
    }
  else
    {
      x = self->hover_x;
      y = self->hover_y;
    }
  ef_look_tag (GTK_WIDGET (self), snapshot, self->hint, x + 18, y - 14, self->width, self->height);
}

static void
draw_scale (EfFaceCanvas *self,
            GtkSnapshot *snapshot,
            const EfDrawStyle *style)
{
  double room = MIN (180, self->width / 3.0), high = 2.2 * style->text_size + 12;
  cairo_t *cr;

  cr = cairo_in (self, snapshot, 8, self->height - high - 8, 8 + room + 20, self->height - 8);
  if (cr != NULL)
    {
      ef_draw_scale_bar (cr, style, &self->view, 18, self->height - 18, room);
      cairo_destroy (cr);
    }
}

static void
draw_legend (EfFaceCanvas *self,
             GtkSnapshot *snapshot,
             const EfDrawStyle *style)
{
  double wide = MIN (220, self->width / 3.0), high = 3.2 * style->text_size;
  GdkRGBA ground;
  cairo_t *cr;

  if (self->lamp || self->photo.picture != NULL || self->map == NULL || !(self->map_deepest > 0) || self->width < 36 * style->text_size)
    return;
  cr = cairo_in (self, snapshot, self->width - wide - 40, self->height - high - 24, self->width - 4, self->height - 4);
  if (cr == NULL)
    return;
  ef_look_colour (GTK_WIDGET (self), "view_bg_color", &ground);
  ground.alpha = 0.85f;
  /* A face that is shown whole leaves room; a zoomed one lies beneath. */
  if (ef_face_canvas_zoom (self) > 1)
    {
      gdk_cairo_set_source_rgba (cr, &ground);
      cairo_paint (cr);
    }
  ef_draw_depth_legend (cr, style, self->map_deepest, self->width - wide - 20, self->height - high - 14, wide, high);
  cairo_destroy (cr);
}

static void
draw_focus (EfFaceCanvas *self,
            GtkSnapshot *snapshot)
{
  const float width[4] = { 2, 2, 2, 2 };
  GskRoundedRect outline;
  GdkRGBA ink, colours[4];
  int i;

  if (!gtk_widget_has_visible_focus (GTK_WIDGET (self)))
    return;
  ef_look_colour (GTK_WIDGET (self), "accent_color", &ink);
  for (i = 0; i < 4; i++)
    colours[i] = ink;
  gsk_rounded_rect_init_from_rect (&outline, &GRAPHENE_RECT_INIT (1, 1, self->width - 2, self->height - 2), 4);
  gtk_snapshot_append_border (snapshot, &outline, width, colours);
}

void
ef_face_canvas_draw (EfFaceCanvas *self,
                     GtkSnapshot *snapshot)
{
  EfDrawStyle style;

  if (self->chart == NULL || self->width <= 0)
    return;
  ef_look_style (&style);
  draw_picture (self, snapshot);
  draw_selected (self, snapshot, &style);
  draw_stroke (self, snapshot, &style);
  draw_scale (self, snapshot, &style);
  draw_legend (self, snapshot, &style);
  ef_face_canvas_draw_pressure_legend (self, snapshot, &style);
  draw_snap (self, snapshot);
  draw_tag (self, snapshot);
  draw_focus (self, snapshot);
}
