/* Something flat to zoom, pan and choose places on.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-photo-pane.h"
#include "ef-look.h"

#include <math.h>
#include <string.h>

#define MARGIN 12
#define REACH 12 /* px, to snap */
#define STILL 6  /* px, a press that isn't a drag */
#define CROSS 11 /* px */

struct _EfPhotoPane
{
  GtkWidget parent_instance;

  double bounds[4];
  EfPhotoPaneDraw draw;
  EfPhotoPaneSnap snap;
  gpointer user_data;
  EfPhotoPaneView view;
  double fit_scale;
  gboolean fitted;

  double *points;
  guint n_points;
  gboolean pending;

  gboolean hovering, by_key;
  double cross_x, cross_y; /* content */
  const char *snapped;
  double drag_x0, drag_y0;
  gboolean panning;
};

enum { PICKED, N_SIGNALS };
static guint signals[N_SIGNALS];

G_DEFINE_FINAL_TYPE (EfPhotoPane, ef_photo_pane, GTK_TYPE_WIDGET)

void
ef_photo_pane_to_widget (EfPhotoPane *self,
                         double x,
                         double y,
                         double *widget_x,
                         double *widget_y)
{
  *widget_x = self->view.x0 + self->view.scale * x;
  *widget_y = self->view.y0 + self->view.scale * y;
}

static void
to_content (EfPhotoPane *self,
            double widget_x,
            double widget_y,
            double *x,
            double *y)
{
  *x = (widget_x - self->view.x0) / self->view.scale;
  *y = (widget_y - self->view.y0) / self->view.scale;
}

void
ef_photo_pane_fit (EfPhotoPane *self)
{
  double w = MAX (self->bounds[2] - self->bounds[0], 1e-9), h = MAX (self->bounds[3] - self->bounds[1], 1e-9);

  if (self->view.width <= 0 || self->draw == NULL)
    return;
  self->view.scale = self->fit_scale = MIN (MAX (self->view.width - 2 * MARGIN, 1) / w, MAX (self->view.height - 2 * MARGIN, 1) / h);
  self->view.x0 = self->view.width / 2.0 - self->view.scale * (self->bounds[0] + self->bounds[2]) / 2;
  self->view.y0 = self->view.height / 2.0 - self->view.scale * (self->bounds[1] + self->bounds[3]) / 2;
  self->fitted = TRUE;
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

void
ef_photo_pane_zoom_at (EfPhotoPane *self,
                       double factor,
                       double widget_x,
                       double widget_y)
{
  double x, y;

  if (self->fit_scale <= 0 || !isfinite (factor) || factor <= 0)
    return;
  to_content (self, widget_x, widget_y, &x, &y);
  self->view.scale = CLAMP (self->view.scale * factor, 0.5 * self->fit_scale, 60 * self->fit_scale);
  self->view.x0 = widget_x - self->view.scale * x;
  self->view.y0 = widget_y - self->view.scale * y;
  self->fitted = FALSE;
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

/* Within bounds, and to what is near. */
static void
set_cross (EfPhotoPane *self,
           double x,
           double y,
           gboolean snap)
{
  self->cross_x = CLAMP (x, self->bounds[0], self->bounds[2]);
  self->cross_y = CLAMP (y, self->bounds[1], self->bounds[3]);
  self->snapped = snap && self->snap != NULL ? self->snap (REACH / self->view.scale, &self->cross_x, &self->cross_y, self->user_data) : NULL;
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

static void
pick (EfPhotoPane *self)
{
  if (self->draw != NULL)
    g_signal_emit (self, signals[PICKED], 0, self->cross_x, self->cross_y);
}

/* --- Drawing -------------------------------------------------------------------------------------------------------------------- */

/* Dark in light, so that it's seen on anything. */
static void
stroke_twice (cairo_t *cr,
              const GdkRGBA *ink)
{
  cairo_set_source_rgba (cr, 0, 0, 0, 0.75);
  cairo_set_line_width (cr, 4);
  cairo_stroke_preserve (cr);
  gdk_cairo_set_source_rgba (cr, ink);
  cairo_set_line_width (cr, 1.8);
  cairo_stroke (cr);
}

static void
draw_point (EfPhotoPane *self,
            cairo_t *cr,
            guint i)
{
  static const GdkRGBA set = { 1, 1, 1, 1 }, open = { 1, 0.8, 0.1, 1 };
  gboolean pending = self->pending && i + 1 == self->n_points;
  g_autofree char *number = g_strdup_printf ("%u", i + 1);
  g_autoptr (PangoLayout) layout = gtk_widget_create_pango_layout (GTK_WIDGET (self), number);
  double x, y;

  ef_photo_pane_to_widget (self, self->points[2 * i], self->points[2 * i + 1], &x, &y);
  cairo_move_to (cr, x - CROSS, y);
  cairo_line_to (cr, x + CROSS, y);
  cairo_move_to (cr, x, y - CROSS);
  cairo_line_to (cr, x, y + CROSS);
  cairo_new_sub_path (cr);
  cairo_arc (cr, x, y, CROSS - 4, 0, 2 * G_PI);
  stroke_twice (cr, pending ? &open : &set);
  cairo_move_to (cr, x + CROSS - 2, y - CROSS - 10);
  pango_cairo_layout_path (cr, layout);
  cairo_set_source_rgba (cr, 0, 0, 0, 0.8);
  cairo_set_line_width (cr, 4);
  cairo_stroke_preserve (cr);
  gdk_cairo_set_source_rgba (cr, pending ? &open : &set);
  cairo_fill (cr);
}

static void
draw_cross (EfPhotoPane *self,
            cairo_t *cr)
{
  static const GdkRGBA ink = { 0.4, 0.9, 1, 1 };
  double x, y;

  ef_photo_pane_to_widget (self, self->cross_x, self->cross_y, &x, &y);
  cairo_move_to (cr, x - 2 * CROSS, y);
  cairo_line_to (cr, x - 4, y);
  cairo_move_to (cr, x + 4, y);
  cairo_line_to (cr, x + 2 * CROSS, y);
  cairo_move_to (cr, x, y - 2 * CROSS);
  cairo_line_to (cr, x, y - 4);
  cairo_move_to (cr, x, y + 4);
  cairo_line_to (cr, x, y + 2 * CROSS);
  stroke_twice (cr, &ink);
}

static void
ef_photo_pane_snapshot (GtkWidget *widget,
                        GtkSnapshot *snapshot)
{
  EfPhotoPane *self = EF_PHOTO_PANE (widget);
  graphene_rect_t box = GRAPHENE_RECT_INIT (0, 0, self->view.width, self->view.height);
  cairo_t *cr;

  if (self->draw == NULL || self->view.width <= 0)
    return;
  gtk_snapshot_push_clip (snapshot, &box);
  cr = gtk_snapshot_append_cairo (snapshot, &box);
  cairo_save (cr);
  self->draw (cr, &self->view, self->user_data);
  cairo_restore (cr);
  for (guint i = 0; i < self->n_points; i++)
    draw_point (self, cr, i);
  if (self->hovering || (self->by_key && gtk_widget_has_focus (widget)))
    draw_cross (self, cr);
  cairo_destroy (cr);
  if (self->snapped != NULL && (self->hovering || self->by_key))
    ef_look_tag (widget, snapshot, self->snapped, 12, self->view.height - 12, self->view.width, self->view.height);
  if (gtk_widget_has_visible_focus (widget))
    {
      GskRoundedRect outline;
      const float widths[4] = { 2, 2, 2, 2 };
      GdkRGBA accent;

      ef_look_colour (widget, "accent_color", &accent);
      gsk_rounded_rect_init_from_rect (&outline, &box, 0);
      gtk_snapshot_append_border (snapshot, &outline, widths, (const GdkRGBA[4]){ accent, accent, accent, accent });
    }
  gtk_snapshot_pop (snapshot);
}

static void
ef_photo_pane_size_allocate (GtkWidget *widget,
                             int width,
                             int height,
                             int baseline)
{
  EfPhotoPane *self = EF_PHOTO_PANE (widget);

  self->view.width = width;
  self->view.height = height;
  if (self->fitted || self->fit_scale <= 0)
    ef_photo_pane_fit (self);
}

static void
ef_photo_pane_measure (GtkWidget *widget,
                       GtkOrientation orientation,
                       int for_size,
                       int *minimum,
                       int *natural,
                       int *minimum_baseline,
                       int *natural_baseline)
{
  *minimum = orientation == GTK_ORIENTATION_HORIZONTAL ? 200 : 160;
  *natural = orientation == GTK_ORIENTATION_HORIZONTAL ? 480 : 380;
}

/* --- Input ---------------------------------------------------------------------------------------------------------------------- */

static void
drag_begin_cb (EfPhotoPane *self)
{
  gtk_widget_grab_focus (GTK_WIDGET (self));
  self->drag_x0 = self->view.x0;
  self->drag_y0 = self->view.y0;
  self->panning = FALSE;
}

static void
drag_update_cb (EfPhotoPane *self,
                double dx,
                double dy)
{
  if (!self->panning && hypot (dx, dy) < STILL)
    return;
  self->panning = TRUE;
  self->view.x0 = self->drag_x0 + dx;
  self->view.y0 = self->drag_y0 + dy;
  self->fitted = FALSE;
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

static void
drag_end_cb (EfPhotoPane *self,
             double dx,
             double dy,
             GtkGestureDrag *drag)
{
  double x, y;

  if (self->panning || self->draw == NULL || !gtk_gesture_drag_get_start_point (drag, &x, &y))
    return;
  to_content (self, x, y, &x, &y);
  if (x < self->bounds[0] || y < self->bounds[1] || x > self->bounds[2] || y > self->bounds[3])
    return;
  self->by_key = FALSE;
  set_cross (self, x, y, TRUE);
  pick (self);
}

static void
motion_cb (EfPhotoPane *self,
           double x,
           double y)
{
  if (self->draw == NULL || self->view.scale <= 0)
    return;
  self->hovering = TRUE;
  to_content (self, x, y, &x, &y);
  set_cross (self, x, y, TRUE);
}

static void
leave_cb (EfPhotoPane *self)
{
  self->hovering = FALSE;
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

static gboolean
scroll_cb (EfPhotoPane *self,
           double dx,
           double dy)
{
  double x, y;

  ef_photo_pane_to_widget (self, self->cross_x, self->cross_y, &x, &y);
  ef_photo_pane_zoom_at (self, pow (1.2, -dy), x, y);

  return TRUE;
}

static gboolean
key_cb (EfPhotoPane *self,
        guint keyval,
        guint keycode,
        GdkModifierType state)
{
  double step = (state & GDK_CONTROL_MASK ? 1 : state & GDK_SHIFT_MASK ? 40 : 8) / MAX (self->view.scale, 1e-12);
  double dx = keyval == GDK_KEY_Right ? step : keyval == GDK_KEY_Left ? -step : 0;
  double dy = keyval == GDK_KEY_Down ? step : keyval == GDK_KEY_Up ? -step : 0;
  double x, y;

  if (self->draw == NULL)
    return FALSE;
  ef_photo_pane_to_widget (self, self->cross_x, self->cross_y, &x, &y);
  if (dx != 0 || dy != 0)
    {
      self->by_key = TRUE;
      set_cross (self, self->cross_x + dx, self->cross_y + dy, FALSE);
    }
  else if (keyval == GDK_KEY_Return || keyval == GDK_KEY_KP_Enter || keyval == GDK_KEY_space)
    {
      self->by_key = TRUE;
      set_cross (self, self->cross_x, self->cross_y, TRUE);
      pick (self);
    }
  else if (keyval == GDK_KEY_plus || keyval == GDK_KEY_KP_Add)
    ef_photo_pane_zoom_at (self, 1.25, x, y);
  else if (keyval == GDK_KEY_minus || keyval == GDK_KEY_KP_Subtract)
    ef_photo_pane_zoom_at (self, 0.8, x, y);
  else if (keyval == GDK_KEY_0 || keyval == GDK_KEY_KP_0)
    ef_photo_pane_fit (self);
  else
    return FALSE;

  return TRUE;
}

static void
add_controllers (EfPhotoPane *self)
{
  GtkGesture *drag = gtk_gesture_drag_new ();
  GtkEventController *motion = gtk_event_controller_motion_new ();
  GtkEventController *scroll = gtk_event_controller_scroll_new (GTK_EVENT_CONTROLLER_SCROLL_VERTICAL);
  GtkEventController *key = gtk_event_controller_key_new ();

  g_signal_connect_swapped (drag, "drag-begin", G_CALLBACK (drag_begin_cb), self);
  g_signal_connect_swapped (drag, "drag-update", G_CALLBACK (drag_update_cb), self);
  g_signal_connect_swapped (drag, "drag-end", G_CALLBACK (drag_end_cb), self);
  g_signal_connect_swapped (motion, "motion", G_CALLBACK (motion_cb), self);
  g_signal_connect_swapped (motion, "leave", G_CALLBACK (leave_cb), self);
  g_signal_connect_swapped (scroll, "scroll", G_CALLBACK (scroll_cb), self);
  g_signal_connect_swapped (key, "key-pressed", G_CALLBACK (key_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), GTK_EVENT_CONTROLLER (drag));
  gtk_widget_add_controller (GTK_WIDGET (self), motion);
  gtk_widget_add_controller (GTK_WIDGET (self), scroll);
  gtk_widget_add_controller (GTK_WIDGET (self), key);
}

static void
ef_photo_pane_finalize (GObject *object)
{
  g_free (EF_PHOTO_PANE (object)->points);
  G_OBJECT_CLASS (ef_photo_pane_parent_class)->finalize (object);
}

static void
ef_photo_pane_class_init (EfPhotoPaneClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->finalize = ef_photo_pane_finalize;
  widget_class->measure = ef_photo_pane_measure;
  widget_class->size_allocate = ef_photo_pane_size_allocate;
  widget_class->snapshot = ef_photo_pane_snapshot;
  gtk_widget_class_set_accessible_role (widget_class, GTK_ACCESSIBLE_ROLE_IMG);
  signals[PICKED] = g_signal_new ("picked", G_TYPE_FROM_CLASS (klass), G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL, G_TYPE_NONE, 2, G_TYPE_DOUBLE, G_TYPE_DOUBLE);
}

static void
ef_photo_pane_init (EfPhotoPane *self)
{
  gtk_widget_set_focusable (GTK_WIDGET (self), TRUE);
  gtk_widget_set_overflow (GTK_WIDGET (self), GTK_OVERFLOW_HIDDEN);
  add_controllers (self);
  ef_look_follow (GTK_WIDGET (self));
}

GtkWidget *
ef_photo_pane_new (const char *label)
{
  GtkWidget *self = g_object_new (EF_TYPE_PHOTO_PANE, "hexpand", TRUE, "vexpand", TRUE, NULL);

  gtk_accessible_update_property (GTK_ACCESSIBLE (self), GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);

  return self;
}

void
ef_photo_pane_set_content (EfPhotoPane *self,
                           double x0,
                           double y0,
                           double x1,
                           double y1,
                           EfPhotoPaneDraw draw,
                           EfPhotoPaneSnap snap,
                           gpointer user_data)
{
  const double bounds[4] = { x0, y0, x1, y1 };

  memcpy (self->bounds, bounds, sizeof bounds);
  self->draw = draw;
  self->snap = snap;
  self->user_data = user_data;
  self->cross_x = (x0 + x1) / 2;
  self->cross_y = (y0 + y1) / 2;
  ef_photo_pane_fit (self);
}

void
ef_photo_pane_set_points (EfPhotoPane *self,
                          const double *xy,
                          guint n,
                          gboolean pending)
{
  g_free (self->points);
  self->points = g_memdup2 (xy, 2 * n * sizeof (double));
  self->n_points = n;
  self->pending = pending;
  gtk_widget_queue_draw (GTK_WIDGET (self));
}
