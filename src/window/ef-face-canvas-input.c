/* The canvas: gestures of mouse, finger, pen and wheel.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One finger, the pen and the primary button press, drag and release; two fingers pinch and pan; the middle button pans.
 */
#include "config.h"

#include "ef-face-canvas-private.h"

#include <math.h>

/* A second press soon after and near the first is a double one. */
static int
count_press (EfFaceCanvas *self,
             double x,
             double y)
{
  gint64 now = g_get_monotonic_time ();
  int time = 400, distance = 5;
  gboolean twice;

  g_object_get (gtk_widget_get_settings (GTK_WIDGET (self)), "gtk-double-click-time", &time, "gtk-double-click-distance", &distance, NULL);
  twice = self->click_time != 0 && now - self->click_time < (gint64) time * 1000
          && hypot (x - self->click_x, y - self->click_y) <= 2 * distance;
  self->click_time = twice ? 0 : now;
  self->click_x = x;
  self->click_y = y;
  return twice ? 2 : 1;
}

static EfTouch
touch_of (GtkGesture *gesture)
{
  GdkDevice *device = gtk_event_controller_get_current_event_device (GTK_EVENT_CONTROLLER (gesture));

  if (device != NULL && gdk_device_get_source (device) == GDK_SOURCE_TOUCHSCREEN)
    return EF_TOUCH_FINGER;
  return EF_TOUCH_POINTER;
}

/* Pen events go to the stylus gesture. */
static gboolean
is_pen (GtkGesture *gesture)
{
  GdkEvent *event = gtk_event_controller_get_current_event (GTK_EVENT_CONTROLLER (gesture));

  return event != NULL && gdk_event_get_device_tool (event) != NULL;
}

static void
drag_begin_cb (GtkGestureDrag *gesture,
               double x,
               double y,
               EfFaceCanvas *self)
{
  if (is_pen (GTK_GESTURE (gesture)))
    {
      gtk_gesture_set_state (GTK_GESTURE (gesture), GTK_EVENT_SEQUENCE_DENIED);
      return;
    }
  gtk_gesture_set_state (GTK_GESTURE (gesture), GTK_EVENT_SEQUENCE_CLAIMED);
  ef_face_canvas_press (self, x, y, count_press (self, x, y), touch_of (GTK_GESTURE (gesture)));
}

static void
drag_update_cb (GtkGestureDrag *gesture,
                double dx,
                double dy,
                EfFaceCanvas *self)
{
  ef_face_canvas_drag_to (self, self->press_x + dx, self->press_y + dy);
}

static void
drag_end_cb (GtkGestureDrag *gesture,
             double dx,
             double dy,
             EfFaceCanvas *self)
{
  ef_face_canvas_release (self, self->press_x + dx, self->press_y + dy);
}

static void
drag_cancel_cb (GtkGesture *gesture,
                GdkEventSequence *sequence,
                EfFaceCanvas *self)
{
  if (self->stroke != EF_STROKE_NONE)
    ef_face_canvas_drop_stroke (self);
}

static void
pan_begin_cb (GtkGestureDrag *gesture,
              double x,
              double y,
              EfFaceCanvas *self)
{
  gtk_gesture_set_state (GTK_GESTURE (gesture), GTK_EVENT_SEQUENCE_CLAIMED);
  self->zoom_x = 0;
  self->zoom_y = 0;
}

static void
pan_update_cb (GtkGestureDrag *gesture,
               double dx,
               double dy,
               EfFaceCanvas *self)
{
  ef_face_canvas_pan_by (self, dx - self->zoom_x, dy - self->zoom_y);
  self->zoom_x = dx;
  self->zoom_y = dy;
}

/* A second finger ends the stroke of the first without a change. */
static void
pinch_begin_cb (GtkGesture *gesture,
                GdkEventSequence *sequence,
                EfFaceCanvas *self)
{
  if (self->stroke != EF_STROKE_NONE)
    ef_face_canvas_drop_stroke (self);
  gtk_gesture_set_state (self->drag, GTK_EVENT_SEQUENCE_DENIED);
  gtk_gesture_set_state (gesture, GTK_EVENT_SEQUENCE_CLAIMED);
  self->zoom_last = 1;
  if (!gtk_gesture_get_bounding_box_center (gesture, &self->zoom_x, &self->zoom_y))
    {
      self->zoom_x = self->width / 2.0;
      self->zoom_y = self->height / 2.0;
    }
}

static void
pinch_scale_cb (GtkGestureZoom *gesture,
                double scale,
                EfFaceCanvas *self)
{
  double x = self->zoom_x, y = self->zoom_y;

  if (!(scale > 0) || !(self->zoom_last > 0))
    return;
  gtk_gesture_get_bounding_box_center (GTK_GESTURE (gesture), &x, &y);
  ef_face_canvas_pan_by (self, x - self->zoom_x, y - self->zoom_y);
  ef_face_canvas_zoom_at (self, scale / self->zoom_last, x, y);
  self->zoom_last = scale;
  self->zoom_x = x;
  self->zoom_y = y;
}

/* Where the event is on the canvas; its middle for one without a place. */
static void
event_place (EfFaceCanvas *self,
             GtkEventController *controller,
             double *x,
             double *y)
{
  GdkEvent *event = gtk_event_controller_get_current_event (controller);
  GtkNative *native = gtk_widget_get_native (GTK_WIDGET (self));
  double sx, sy, dx, dy;

  *x = self->hovering ? self->hover_x : self->width / 2.0;
  *y = self->hovering ? self->hover_y : self->height / 2.0;
  if (event == NULL || native == NULL || !gdk_event_get_position (event, &sx, &sy))
    return;
  gtk_native_get_surface_transform (native, &dx, &dy);
  gtk_widget_translate_coordinates (GTK_WIDGET (native), GTK_WIDGET (self), sx - dx, sy - dy, x, y);
}

/* The wheel zooms at the pointer; two fingers on a touchpad pan, and zoom with Ctrl. */
static gboolean
scroll_cb (GtkEventControllerScroll *scroll,
           double dx,
           double dy,
           EfFaceCanvas *self)
{
  GtkEventController *controller = GTK_EVENT_CONTROLLER (scroll);
  GdkDevice *device = gtk_event_controller_get_current_event_device (controller);
  GdkModifierType state = gtk_event_controller_get_current_event_state (controller);
  gboolean pad = gtk_event_controller_scroll_get_unit (scroll) == GDK_SCROLL_UNIT_SURFACE
                 || (device != NULL && gdk_device_get_source (device) == GDK_SOURCE_TOUCHPAD);
  double x, y;

  event_place (self, controller, &x, &y);
  if (pad && (state & GDK_CONTROL_MASK) == 0)
    ef_face_canvas_pan_by (self, -dx * (gtk_event_controller_scroll_get_unit (scroll) == GDK_SCROLL_UNIT_SURFACE ? 1 : 24),
                           -dy * (gtk_event_controller_scroll_get_unit (scroll) == GDK_SCROLL_UNIT_SURFACE ? 1 : 24));
  else if (state & GDK_SHIFT_MASK)
    ef_face_canvas_pan_by (self, -(dx + dy) * 48, 0);
  else
    ef_face_canvas_zoom_at (self, pow (1.2, -dy), x, y);
  return GDK_EVENT_STOP;
}

static void
motion_cb (GtkEventControllerMotion *motion,
           double x,
           double y,
           EfFaceCanvas *self)
{
  ef_face_canvas_hover (self, x, y);
}

static void
leave_cb (GtkEventControllerMotion *motion,
          EfFaceCanvas *self)
{
  ef_face_canvas_leave (self);
}

static gboolean
key_pressed_cb (GtkEventControllerKey *key,
                guint value,
                guint code,
                GdkModifierType state,
                EfFaceCanvas *self)
{
  if (value != GDK_KEY_space)
    return GDK_EVENT_PROPAGATE;
  self->space = TRUE;
  gtk_widget_set_cursor_from_name (GTK_WIDGET (self), "grab");
  return GDK_EVENT_STOP;
}

static void
drop_space (EfFaceCanvas *self)
{
  self->space = FALSE;
  gtk_widget_set_cursor_from_name (GTK_WIDGET (self), self->tool == EF_TOOL_SELECT ? NULL : "crosshair");
}

static void
key_released_cb (GtkEventControllerKey *key,
                 guint value,
                 guint code,
                 GdkModifierType state,
                 EfFaceCanvas *self)
{
  if (value == GDK_KEY_space)
    drop_space (self);
}

static void
focus_leave_cb (GtkEventControllerFocus *focus,
                EfFaceCanvas *self)
{
  if (self->space)
    drop_space (self);
}

/* --- Pen -------------------------------------------------------------------------------------------------------------- */

static void
pen_down_cb (GtkGestureStylus *gesture,
             double x,
             double y,
             EfFaceCanvas *self)
{
  GdkDeviceTool *tool = gtk_gesture_stylus_get_device_tool (gesture);
  int index;
  double u, v;

  gtk_gesture_set_state (GTK_GESTURE (gesture), GTK_EVENT_SEQUENCE_CLAIMED);
  if (tool != NULL && gdk_device_tool_get_tool_type (tool) == GDK_DEVICE_TOOL_TYPE_ERASER)
    {
      /* The other end of the pen takes away the mark it touches. */
      ef_session_select_mark (self->session, NULL);
      if (ef_face_canvas_hit (self, x, y, &index, &u, &v) != EF_HIT_BODY)
        return;
      ef_session_select_mark (self->session, ((EfMark *) g_ptr_array_index (self->marks, index))->item.id);
      ef_face_canvas_set_node (self, -1);
      ef_face_canvas_delete (self);
      return;
    }
  ef_face_canvas_press (self, x, y, count_press (self, x, y), EF_TOUCH_PEN);
}

static void
pen_motion_cb (GtkGestureStylus *gesture,
               double x,
               double y,
               EfFaceCanvas *self)
{
  ef_face_canvas_drag_to (self, x, y);
}

static void
pen_up_cb (GtkGestureStylus *gesture,
           double x,
           double y,
           EfFaceCanvas *self)
{
  ef_face_canvas_release (self, x, y);
}

static void
add_stylus (EfFaceCanvas *self)
{
  GtkGesture *stylus = gtk_gesture_stylus_new ();

  g_signal_connect (stylus, "down", G_CALLBACK (pen_down_cb), self);
  g_signal_connect (stylus, "motion", G_CALLBACK (pen_motion_cb), self);
  g_signal_connect (stylus, "up", G_CALLBACK (pen_up_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), GTK_EVENT_CONTROLLER (stylus));
}

static void
lamp_begin_cb (GtkGestureDrag *gesture,
               double x,
               double y,
               EfFaceCanvas *self)
{
  if (!self->lamp)
    {
      gtk_gesture_set_state (GTK_GESTURE (gesture), GTK_EVENT_SEQUENCE_DENIED);
      return;
    }
  gtk_gesture_set_state (GTK_GESTURE (gesture), GTK_EVENT_SEQUENCE_CLAIMED);
  ef_face_canvas_lamp_at (self, x, y);
}

static void
lamp_update_cb (GtkGestureDrag *gesture,
                double dx,
                double dy,
                EfFaceCanvas *self)
{
  double x, y;

  if (gtk_gesture_drag_get_start_point (gesture, &x, &y))
    ef_face_canvas_lamp_at (self, x + dx, y + dy);
}

/* The right button carries the lamp over the face. */
static void
add_lamp_drag (EfFaceCanvas *self)
{
  GtkGesture *lamp = gtk_gesture_drag_new ();

  gtk_gesture_single_set_button (GTK_GESTURE_SINGLE (lamp), GDK_BUTTON_SECONDARY);
  g_signal_connect (lamp, "drag-begin", G_CALLBACK (lamp_begin_cb), self);
  g_signal_connect (lamp, "drag-update", G_CALLBACK (lamp_update_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), GTK_EVENT_CONTROLLER (lamp));
}

static void
add_drags (EfFaceCanvas *self)
{
  GtkGesture *middle = gtk_gesture_drag_new ();
  GtkGesture *pinch = gtk_gesture_zoom_new ();

  self->drag = gtk_gesture_drag_new ();
  g_signal_connect (self->drag, "drag-begin", G_CALLBACK (drag_begin_cb), self);
  g_signal_connect (self->drag, "drag-update", G_CALLBACK (drag_update_cb), self);
  g_signal_connect (self->drag, "drag-end", G_CALLBACK (drag_end_cb), self);
  g_signal_connect (self->drag, "cancel", G_CALLBACK (drag_cancel_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), GTK_EVENT_CONTROLLER (self->drag));

  gtk_gesture_single_set_button (GTK_GESTURE_SINGLE (middle), GDK_BUTTON_MIDDLE);
  g_signal_connect (middle, "drag-begin", G_CALLBACK (pan_begin_cb), self);
  g_signal_connect (middle, "drag-update", G_CALLBACK (pan_update_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), GTK_EVENT_CONTROLLER (middle));

  g_signal_connect (pinch, "begin", G_CALLBACK (pinch_begin_cb), self);
  g_signal_connect (pinch, "scale-changed", G_CALLBACK (pinch_scale_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), GTK_EVENT_CONTROLLER (pinch));
}

void
ef_face_canvas_add_gestures (EfFaceCanvas *self)
{
  GtkEventController *motion = gtk_event_controller_motion_new ();
  GtkEventController *scroll = gtk_event_controller_scroll_new (GTK_EVENT_CONTROLLER_SCROLL_BOTH_AXES);
  GtkEventController *key = gtk_event_controller_key_new ();
  GtkEventController *focus = gtk_event_controller_focus_new ();

  add_drags (self);
  add_lamp_drag (self);
  add_stylus (self);
  g_signal_connect (motion, "motion", G_CALLBACK (motion_cb), self);
  g_signal_connect (motion, "enter", G_CALLBACK (motion_cb), self);
  g_signal_connect (motion, "leave", G_CALLBACK (leave_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), motion);
  g_signal_connect (scroll, "scroll", G_CALLBACK (scroll_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), scroll);
  g_signal_connect (key, "key-pressed", G_CALLBACK (key_pressed_cb), self);
  g_signal_connect (key, "key-released", G_CALLBACK (key_released_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), key);
  g_signal_connect (focus, "leave", G_CALLBACK (focus_leave_cb), self);
  gtk_widget_add_controller (GTK_WIDGET (self), focus);
}
