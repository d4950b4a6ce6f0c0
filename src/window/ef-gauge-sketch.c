/* Draws the gauge sketch; for flatness the face itself with its places.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-gauge-sketch.h"
#include "ef-look.h"

#include <glib/gi18n.h>
#include <math.h>

#define MARGIN 16

struct _EfGaugeSketch
{
  GtkBox parent_instance;

  GtkWidget *area;
  GtkWidget *caption;
  EfSession *session;
  const EfSlotGroup *group;
  const EfSlot *slot;
};

G_DEFINE_FINAL_TYPE (EfGaugeSketch, ef_gauge_sketch, GTK_TYPE_BOX)

static void
draw_place (GtkWidget *widget,
            cairo_t *cr,
            const EfFaceView *view,
            const EfSlot *slot,
            guint number,
            gboolean current)
{
  g_autofree char *text = g_strdup_printf ("%u", number);
  g_autoptr (PangoLayout) layout = gtk_widget_create_pango_layout (widget, text);
  GdkRGBA accent, ink, ground;
  double x, y, radius;
  int width, height;

  ef_look_colour (widget, "accent_bg_color", &accent);
  ef_look_colour (widget, "view_fg_color", &ink);
  ef_look_colour (widget, "view_bg_color", &ground);
  ef_face_view_to_screen (view, slot->u, slot->v, &x, &y);
  pango_layout_get_pixel_size (layout, &width, &height);
  radius = MAX (width, height) / 2.0 + 3;
  cairo_new_sub_path (cr);
  cairo_arc (cr, x, y, radius, 0, 2 * G_PI);
  gdk_cairo_set_source_rgba (cr, current ? &accent : &ground);
  cairo_fill_preserve (cr);
  gdk_cairo_set_source_rgba (cr, &ink);
  cairo_set_line_width (cr, current ? 2 : 1);
  cairo_stroke (cr);
  if (current)
    cairo_set_source_rgb (cr, 1, 1, 1);
  cairo_move_to (cr, x - width / 2.0, y - height / 2.0);
  pango_cairo_show_layout (cr, layout);
}

static void
draw_places (EfGaugeSketch *self,
             cairo_t *cr,
             const EfDrawStyle *style,
             int width,
             int height)
{
  EfFaceChart *chart = ef_session_chart (self->session, self->slot->target);
  EfFaceLayers layers = { .labels = TRUE };
  EfFaceView view;
  guint i;

  if (chart == NULL)
    return;
  ef_face_view_fit (&view, chart, width, height, MARGIN);
  ef_draw_face_ground (cr, style, &view, chart, &layers);
  for (i = 0; i < self->group->slots->len; i++)
    {
      const EfSlot *slot = g_ptr_array_index (self->group->slots, i);

      draw_place (self->area, cr, &view, slot, i + 1, slot == self->slot);
    }
}

static void
draw_cb (GtkDrawingArea *area,
         cairo_t *cr,
         int width,
         int height,
         gpointer user_data)
{
  EfGaugeSketch *self = user_data;
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  EfDrawStyle style;

  if (self->slot == NULL || width < 2 * MARGIN || height < 2 * MARGIN)
    return;
  ef_look_style (&style);
  if (self->slot->quantity == EF_READ_FLATNESS)
    draw_places (self, cr, &style, width, height);
  else
    ef_draw_gauge_sketch (cr, &style, inspection->sheet, self->slot->quantity, self->slot->target, self->slot->place, width, height);
}

static void
ef_gauge_sketch_dispose (GObject *object)
{
  EfGaugeSketch *self = EF_GAUGE_SKETCH (object);

  self->slot = NULL;
  self->group = NULL;
  g_clear_object (&self->session);
  G_OBJECT_CLASS (ef_gauge_sketch_parent_class)->dispose (object);
}

static void
ef_gauge_sketch_class_init (EfGaugeSketchClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_gauge_sketch_dispose;
}

static void
ef_gauge_sketch_init (EfGaugeSketch *self)
{
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 6);
  self->area = g_object_new (GTK_TYPE_DRAWING_AREA, "accessible-role", GTK_ACCESSIBLE_ROLE_IMG, NULL);
  gtk_drawing_area_set_content_width (GTK_DRAWING_AREA (self->area), 200);
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (self->area), 260);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (self->area), draw_cb, self, NULL);
  gtk_widget_add_css_class (self->area, "card");
  gtk_widget_set_overflow (self->area, GTK_OVERFLOW_HIDDEN);
  ef_look_follow (self->area);
  self->caption = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, NULL);
  gtk_widget_add_css_class (self->caption, "heading");
  gtk_box_append (GTK_BOX (self), self->area);
  gtk_box_append (GTK_BOX (self), self->caption);
}

GtkWidget *
ef_gauge_sketch_new (EfSession *session)
{
  EfGaugeSketch *self = g_object_new (EF_TYPE_GAUGE_SKETCH, NULL);

  self->session = g_object_ref (session);
  return GTK_WIDGET (self);
}

void
ef_gauge_sketch_show (EfGaugeSketch *self,
                      const EfSlotGroup *group,
                      const EfSlot *slot)
{
  g_autofree char *text = NULL;

  self->group = group;
  self->slot = slot;
  gtk_widget_set_visible (GTK_WIDGET (self), slot != NULL);
  if (slot != NULL)
    text = g_strdup_printf ("%s — %s", group->title, slot->label);
  gtk_label_set_label (GTK_LABEL (self->caption), text != NULL ? text : "");
  if (text != NULL)
    gtk_accessible_update_property (GTK_ACCESSIBLE (self->area), GTK_ACCESSIBLE_PROPERTY_LABEL, _ ("Where the gauge goes"),
                                    GTK_ACCESSIBLE_PROPERTY_DESCRIPTION, text, -1);
  gtk_widget_queue_draw (self->area);
}
