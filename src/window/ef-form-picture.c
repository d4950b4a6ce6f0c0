/* Drawing area and words.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-form-picture.h"
#include "ef-look.h"
#include "ef-settings.h"

#include "../draw/ef-draw-form.h"

#include <glib/gi18n.h>

#define FLAT_HEIGHT 420
#define ROUND_HEIGHT 460

struct _EfFormPicture
{
  GtkBox parent_instance;

  GtkWidget *area;
  GtkWidget *words;
  EfSession *session;
  const EfSlotGroup *group;
  EfFlatForm *flat;
  EfRoundForm *round;
  EfRoundPlace place;
};

G_DEFINE_FINAL_TYPE (EfFormPicture, ef_form_picture, GTK_TYPE_BOX)

gboolean
ef_form_picture_has (const EfSlotGroup *group)
{
  return group->slots->len > 0
         && (group->quantity == EF_READ_FLATNESS || group->quantity == EF_READ_BORE_DIAMETER || group->quantity == EF_READ_JOURNAL_DIAMETER);
}

static EfFaceChart *
chart_of (EfFormPicture *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const EfSlot *slot = g_ptr_array_index (self->group->slots, 0);
  g_autofree char *face = self->group->quantity == EF_READ_FLATNESS ? g_strdup (slot->target)
                                                                    : ef_round_face_id (inspection->sheet, self->group->quantity, slot->target, slot->place);

  return face != NULL ? ef_session_chart (self->session, face) : NULL;
}

static void
draw_cb (GtkDrawingArea *area,
         cairo_t *cr,
         int width,
         int height,
         gpointer user_data)
{
  EfFormPicture *self = user_data;
  EfFaceChart *chart = chart_of (self);
  EfDrawStyle style;

  ef_look_style (&style);
  if (self->flat != NULL && chart != NULL)
    ef_draw_flat_form (cr, &style, chart, self->flat, ef_settings_length_unit (), width, height);
  else if (self->round != NULL)
    ef_draw_round_form (cr, &style, self->round, &self->place, ef_settings_length_unit (), width, height);
}

static void
take_forms (EfFormPicture *self)
{
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const GPtrArray *readings = inspection->items[EF_ITEM_READING];
  const GPtrArray *gauges = inspection->items[EF_ITEM_GAUGE];
  const EfSlot *slot = g_ptr_array_index (self->group->slots, 0);
  EfFaceChart *chart = chart_of (self);
  g_autoptr (GPtrArray) derived = ef_derive (inspection->sheet, (EfReading *const *) readings->pdata, readings->len,
                                             (EfGauge *const *) gauges->pdata, gauges->len);

  g_clear_pointer (&self->flat, ef_flat_form_free);
  g_clear_pointer (&self->round, ef_round_form_free);
  if (self->group->quantity == EF_READ_FLATNESS)
    {
      if (chart != NULL)
        self->flat = ef_flat_form_new (chart, (EfReading *const *) readings->pdata, readings->len, derived);
      return;
    }
  self->round = ef_round_form_new (inspection->sheet, self->group->quantity, slot->target, slot->place, (EfReading *const *) readings->pdata,
                                   readings->len, (EfGauge *const *) gauges->pdata, gauges->len, derived);
  ef_round_place_init (&self->place);
  if (chart != NULL)
    ef_round_place_take (&self->place, chart, ef_session_assessment (self->session));
}

static void
refresh (EfFormPicture *self)
{
  g_autofree char *text = NULL;
  gboolean any, known;

  take_forms (self);
  any = (self->flat != NULL && self->flat->n > 0) || (self->round != NULL && self->round->n_directions > 0);
  known = (self->flat != NULL && self->flat->known) || (self->round != NULL && self->round->known);
  if (self->flat != NULL)
    text = ef_draw_flat_words (self->flat, ef_settings_length_unit ());
  else if (self->round != NULL)
    text = ef_draw_round_words (self->round, &self->place, ef_settings_length_unit ());
  gtk_widget_set_visible (GTK_WIDGET (self), any);
  gtk_widget_set_visible (self->area, known);
  gtk_label_set_label (GTK_LABEL (self->words), text != NULL ? text : "");
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->area), GTK_ACCESSIBLE_PROPERTY_LABEL, text != NULL ? text : "", -1);
  gtk_widget_queue_draw (self->area);
}

static void
ef_form_picture_dispose (GObject *object)
{
  EfFormPicture *self = EF_FORM_PICTURE (object);

  g_clear_object (&self->session);
  g_clear_pointer (&self->flat, ef_flat_form_free);
  g_clear_pointer (&self->round, ef_round_form_free);
  G_OBJECT_CLASS (ef_form_picture_parent_class)->dispose (object);
}

static void
ef_form_picture_class_init (EfFormPictureClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_form_picture_dispose;
}

static void
ef_form_picture_init (EfFormPicture *self)
{
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 8);
  self->area = g_object_new (GTK_TYPE_DRAWING_AREA, "accessible-role", GTK_ACCESSIBLE_ROLE_IMG, NULL);
  gtk_drawing_area_set_content_width (GTK_DRAWING_AREA (self->area), 260);
  gtk_drawing_area_set_draw_func (GTK_DRAWING_AREA (self->area), draw_cb, self, NULL);
  ef_look_follow (self->area);
  self->words = g_object_new (GTK_TYPE_LABEL, "xalign", 0.0f, "wrap", TRUE, "selectable", TRUE, NULL);
  gtk_box_append (GTK_BOX (self), self->area);
  gtk_box_append (GTK_BOX (self), self->words);
}

GtkWidget *
ef_form_picture_new (EfSession *session,
                     const EfSlotGroup *group)
{
  EfFormPicture *self = g_object_new (EF_TYPE_FORM_PICTURE, NULL);

  self->session = g_object_ref (session);
  self->group = group;
  gtk_drawing_area_set_content_height (GTK_DRAWING_AREA (self->area), group->quantity == EF_READ_FLATNESS ? FLAT_HEIGHT : ROUND_HEIGHT);
  g_signal_connect_object (session, "changed", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (session, "assessed", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  g_signal_connect_object (ef_settings_get (), "changed::length-unit", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  refresh (self);
  return GTK_WIDGET (self);
}

const char *
ef_form_picture_words (EfFormPicture *self)
{
  return gtk_label_get_label (GTK_LABEL (self->words));
}
