/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-lamp-view.h"

#include "ef-look.h"

#include "../draw/ef-draw-lamp.h"

#include <glib/gi18n.h>
#include <math.h>

#define SIZE 104
#define RADIUS 38
#define DEGREE (G_PI / 180.0)
#define TURN (10 * DEGREE)
#define RAISE (5 * DEGREE)

struct _EfLampView
{
  GtkWidget parent_instance;

  EfFaceCanvas *canvas; /* weak */
};

G_DEFINE_FINAL_TYPE (EfLampView, ef_lamp_view, GTK_TYPE_WIDGET)

char *
ef_lamp_view_words (EfLampView *self)
{
  double azimuth = 0, elevation = 0;
  int hour;

  if (self->canvas != NULL)
    ef_face_canvas_lamp_place (self->canvas, &azimuth, &elevation);
  hour = (int) lround (3.0 - azimuth / (30.0 * DEGREE));
  hour = (hour % 12 + 12) % 12;

  return g_strdup_printf (_ ("Lamp at %d o'clock, %.0f° above the face"), hour == 0 ? 12 : hour, elevation / DEGREE);
}

static void
follow (EfLampView *self)
{
  g_autofree char *words = ef_lamp_view_words (self);

  gtk_accessible_update_property (GTK_ACCESSIBLE (self), GTK_ACCESSIBLE_PROPERTY_LABEL, words, -1);
  gtk_widget_queue_draw (GTK_WIDGET (self));
}

static void
step (EfLampView *self,
      double turn,
      double raise)
{
  double azimuth, elevation;

  if (self->canvas == NULL)
    return;
  ef_face_canvas_lamp_place (self->canvas, &azimuth, &elevation);
  ef_face_canvas_move_lamp (self->canvas, azimuth + turn, elevation + raise);
}

static void
move_to (EfLampView *self,
         double x,
         double y)
{
  double dx = x - 0.5 * gtk_widget_get_width (GTK_WIDGET (self)), dy = 0.5 * gtk_widget_get_height (GTK_WIDGET (self)) - y;
  double azimuth, elevation;

  if (self->canvas == NULL)
    return;
  ef_face_canvas_lamp_place (self->canvas, &azimuth, &elevation);
  ef_face_canvas_move_lamp (self->canvas, hypot (dx, dy) > 1 ? atan2 (dy, dx) : azimuth, acos (CLAMP (hypot (dx, dy) / RADIUS, 0.0, 1.0)));
}

static void
drag_begin_cb (GtkGestureDrag *gesture,
               double x,
               double y,
               EfLampView *self)
{
  gtk_gesture_set_state (GTK_GESTURE (gesture), GTK_EVENT_SEQUENCE_CLAIMED);
  gtk_widget_grab_focus (GTK_WIDGET (self));
  move_to (self, x, y);
}

static void
drag_update_cb (GtkGestureDrag *gesture,
                double dx,
                double dy,
                EfLampView *self)
{
  double x, y;

  if (gtk_gesture_drag_get_start_point (gesture, &x, &y))
    move_to (self, x + dx, y + dy);
}

static gboolean
scroll_cb (GtkEventControllerScroll *scroll,
           double dx,
           double dy,
           EfLampView *self)
{
  step (self, 0, dy > 0 ? -RAISE : RAISE);

  return GDK_EVENT_STOP;
}

static gboolean
key_cb (GtkWidget *widget,
        GVariant *args,
        gpointer data)
{
  int turn, raise;

  g_variant_get (args, "(ii)", &turn, &raise);
  step (EF_LAMP_VIEW (widget), turn * TURN, raise * RAISE);

  return TRUE;
}

static void
ef_lamp_view_snapshot (GtkWidget *widget,
                       GtkSnapshot *snapshot)
{
  EfLampView *self = EF_LAMP_VIEW (widget);
  double width = gtk_widget_get_width (widget), height = gtk_widget_get_height (widget), azimuth, elevation;
  EfDrawStyle style;
  cairo_t *cr;

  if (self->canvas == NULL)
    return;
  ef_face_canvas_lamp_place (self->canvas, &azimuth, &elevation);
  ef_look_style (&style);
  cr = gtk_snapshot_append_cairo (snapshot, &GRAPHENE_RECT_INIT (0, 0, (float) width, (float) height));
  ef_draw_lamp_dial (cr, &style, 0.5 * width, 0.5 * height, RADIUS, azimuth, elevation);
  if (gtk_widget_has_visible_focus (widget))
    {
      GdkRGBA ink;

      ef_look_colour (widget, "accent_color", &ink);
      gdk_cairo_set_source_rgba (cr, &ink);
      cairo_set_line_width (cr, 2);
      cairo_arc (cr, 0.5 * width, 0.5 * height, RADIUS + 12, 0, 2 * G_PI);
      cairo_stroke (cr);
    }
  cairo_destroy (cr);
}

static void
ef_lamp_view_measure (GtkWidget *widget,
                      GtkOrientation orientation,
                      int for_size,
                      int *minimum,
                      int *natural,
                      int *minimum_baseline,
                      int *natural_baseline)
{
  *minimum = *natural = SIZE;
}

static void
ef_lamp_view_dispose (GObject *object)
{
  g_clear_weak_pointer (&EF_LAMP_VIEW (object)->canvas);
  G_OBJECT_CLASS (ef_lamp_view_parent_class)->dispose (object);
}

static void
ef_lamp_view_class_init (EfLampViewClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);
  static const struct
  {
    guint key, keypad;
    int turn, raise;
  } keys[] = { { GDK_KEY_Left, GDK_KEY_KP_Left, 1, 0 }, { GDK_KEY_Right, GDK_KEY_KP_Right, -1, 0 }, { GDK_KEY_Up, GDK_KEY_KP_Up, 0, 1 }, { GDK_KEY_Down, GDK_KEY_KP_Down, 0, -1 } };

  G_OBJECT_CLASS (klass)->dispose = ef_lamp_view_dispose;
  widget_class->snapshot = ef_lamp_view_snapshot;
  widget_class->measure = ef_lamp_view_measure;
  for (guint i = 0; i < G_N_ELEMENTS (keys); i++)
    {
      gtk_widget_class_add_binding (widget_class, keys[i].key, 0, key_cb, "(ii)", keys[i].turn, keys[i].raise);
      gtk_widget_class_add_binding (widget_class, keys[i].keypad, 0, key_cb, "(ii)", keys[i].turn, keys[i].raise);
    }
  gtk_widget_class_set_accessible_role (widget_class, GTK_ACCESSIBLE_ROLE_SLIDER);
  gtk_widget_class_set_css_name (widget_class, "lampview");
}

static void
ef_lamp_view_init (EfLampView *self)
{
  GtkWidget *widget = GTK_WIDGET (self);
  GtkGesture *drag = gtk_gesture_drag_new ();
  GtkEventController *scroll = gtk_event_controller_scroll_new (GTK_EVENT_CONTROLLER_SCROLL_VERTICAL | GTK_EVENT_CONTROLLER_SCROLL_DISCRETE);

  g_signal_connect (drag, "drag-begin", G_CALLBACK (drag_begin_cb), self);
  g_signal_connect (drag, "drag-update", G_CALLBACK (drag_update_cb), self);
  gtk_widget_add_controller (widget, GTK_EVENT_CONTROLLER (drag));
  g_signal_connect (scroll, "scroll", G_CALLBACK (scroll_cb), self);
  gtk_widget_add_controller (widget, scroll);
  gtk_widget_set_focusable (widget, TRUE);
  gtk_widget_set_halign (widget, GTK_ALIGN_END);
  gtk_widget_set_valign (widget, GTK_ALIGN_START);
  gtk_widget_set_margin_top (widget, 4);
  gtk_widget_set_margin_end (widget, 4);
  gtk_widget_set_tooltip_text (widget, _ ("Drag the lamp round the face: low light from the side shows what is shallow. Keys: ← → turn, ↑ ↓ raise and lower"));
  ef_look_follow (widget);
}

GtkWidget *
ef_lamp_view_new (EfFaceCanvas *canvas)
{
  EfLampView *self = g_object_new (EF_TYPE_LAMP_VIEW, NULL);

  g_set_weak_pointer (&self->canvas, canvas);
  g_signal_connect_object (canvas, "notify::lamp", G_CALLBACK (follow), self, G_CONNECT_SWAPPED);
  g_object_bind_property (canvas, "lamp", self, "visible", G_BINDING_SYNC_CREATE);
  follow (self);

  return GTK_WIDGET (self);
}
