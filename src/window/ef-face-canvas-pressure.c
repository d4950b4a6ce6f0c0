/* The canvas: the oil pressure over the face, worked out beside the window and drawn with the picture.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One field is worked out at a time. While another is on its way the old one of the same face stays; one of another face is never shown. Fields
 * of the latest assessment are kept, so that going from face to face and back costs nothing.
 */
#include "config.h"

#include "ef-face-canvas-private.h"

#include "ef-look.h"

#include "../draw/ef-draw-field.h"

#include <glib/gi18n.h>

typedef struct
{
  EfAssessment *assessment;
  char *face_id;
} Work;

typedef struct
{
  EfFaceCanvas *canvas;
  GCancellable *cancellable;
} Wait;

static void
work_free (gpointer data)
{
  Work *work = data;

  ef_assessment_unref (work->assessment);
  g_free (work->face_id);
  g_free (work);
}

static void
field_thread (GTask *task,
              gpointer source,
              gpointer task_data,
              GCancellable *cancellable)
{
  Work *work = task_data;
  GError *error = NULL;
  EfFlowField *field = ef_flow_field_new (work->assessment, work->face_id, EF_STATE_FOUND, cancellable, &error);

  if (field == NULL)
    g_task_return_error (task, error);
  else
    g_task_return_pointer (task, field, (GDestroyNotify) ef_flow_field_unref);
}

static void
show_field (EfFaceCanvas *self,
            EfFlowField *field)
{
  if (field == self->field)
    return;
  g_clear_pointer (&self->field, ef_flow_field_unref);
  self->field = field != NULL ? ef_flow_field_ref (field) : NULL;
  ef_face_canvas_content_changed (self);
}

static void
keep_field (EfFaceCanvas *self,
            EfFlowField *field)
{
  GHashTableIter iter;
  gpointer kept;

  if (self->fields == NULL)
    self->fields = g_hash_table_new_full (g_str_hash, g_str_equal, NULL, (GDestroyNotify) ef_flow_field_unref);
  g_hash_table_iter_init (&iter, self->fields);
  while (g_hash_table_iter_next (&iter, NULL, &kept))
    if (!ef_flow_field_is_of (kept, ef_session_assessment (self->session)))
      g_hash_table_iter_remove (&iter);
  g_hash_table_replace (self->fields, field->face_id, ef_flow_field_ref (field));
}

static void
field_done_cb (GObject *source,
               GAsyncResult *result,
               gpointer user_data)
{
  Wait *wait = user_data;
  EfFaceCanvas *self = wait->canvas;
  g_autoptr (GError) error = NULL;
  g_autoptr (EfFlowField) field = g_task_propagate_pointer (G_TASK (result), &error);

  if (self->solving == wait->cancellable)
    {
      g_clear_object (&self->solving);
      g_clear_pointer (&self->no_field, g_free);
      if (field != NULL)
        {
          if (ef_flow_field_is_of (field, ef_session_assessment (self->session)))
            keep_field (self, field);
        }
      else
        self->no_field = g_strdup (error->message);
      /* A stale one is dropped: the document has gone on, and this starts the next. */
      if (field != NULL)
        ef_face_canvas_follow_pressure (self);
      gtk_widget_queue_draw (GTK_WIDGET (self));
    }
  g_object_unref (wait->cancellable);
  g_object_unref (wait->canvas);
  g_free (wait);
}

static void
start_field (EfFaceCanvas *self,
             EfAssessment *assessment)
{
  g_autoptr (GTask) task = NULL;
  Work *work = g_new0 (Work, 1);
  Wait *wait = g_new0 (Wait, 1);

  g_clear_pointer (&self->no_field, g_free);
  work->assessment = ef_assessment_ref (assessment);
  work->face_id = g_strdup (self->face_id);
  self->solving = g_cancellable_new ();
  wait->canvas = g_object_ref (self);
  wait->cancellable = g_object_ref (self->solving);
  task = g_task_new (NULL, self->solving, field_done_cb, wait);
  g_task_set_source_tag (task, start_field);
  g_task_set_task_data (task, work, work_free);
  g_task_run_in_thread (task, field_thread);
}

void
ef_face_canvas_drop_pressure (EfFaceCanvas *self)
{
  if (self->solving != NULL)
    g_cancellable_cancel (self->solving);
  g_clear_object (&self->solving);
  g_clear_pointer (&self->field, ef_flow_field_unref);
  g_clear_pointer (&self->fields, g_hash_table_unref);
  g_clear_pointer (&self->no_field, g_free);
}

static gboolean
has_film (EfFaceCanvas *self)
{
  return self->chart != NULL && ef_flow_field_has (ef_document_inspection (ef_session_document (self->session))->sheet, self->face_id);
}

void
ef_face_canvas_follow_pressure (EfFaceCanvas *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);
  EfFlowField *kept = self->fields != NULL && self->face_id != NULL ? g_hash_table_lookup (self->fields, self->face_id) : NULL;

  gtk_widget_queue_draw (GTK_WIDGET (self));
  if (!self->pressure || !has_film (self) || (self->field != NULL && g_strcmp0 (self->field->face_id, self->face_id) != 0))
    show_field (self, NULL);
  if (!self->pressure || !has_film (self) || assessment == NULL || self->solving != NULL)
    return;
  if (kept != NULL && ef_flow_field_is_of (kept, assessment))
    show_field (self, kept);
  else
    start_field (self, assessment);
}

gboolean
ef_face_canvas_pressure_settled (EfFaceCanvas *self)
{
  EfAssessment *assessment = ef_session_assessment (self->session);

  return self->solving == NULL && self->field != NULL && ef_flow_field_is_of (self->field, assessment);
}

EfFlowField *
ef_face_canvas_field (EfFaceCanvas *self)
{
  return self->field;
}

/* What there is to say while nothing is drawn; NULL: nothing. */
static const char *
pressure_words (EfFaceCanvas *self)
{
  if (!has_film (self))
    return _("No oil film here: this face doesn't meet the pressure gears' ends.");
  if (self->field != NULL)
    return NULL;
  return self->no_field != NULL ? self->no_field : _("Oil pressure: working it out…");
}

void
ef_face_canvas_draw_pressure_legend (EfFaceCanvas *self,
                                     GtkSnapshot *snapshot,
                                     const EfDrawStyle *style)
{
  double size = style->text_size, wide = MIN (32 * size, self->width - 16), high = 3.6 * size;
  const char *words;
  graphene_rect_t box;
  cairo_t *cr;

  if (!self->pressure || self->chart == NULL || wide < 8 * size)
    return;
  words = pressure_words (self);
  if (words != NULL)
    wide = self->width - 16;
  box = GRAPHENE_RECT_INIT (self->width - wide - 8, 6, wide, words != NULL ? 2 * size : high + 4);
  cr = gtk_snapshot_append_cairo (snapshot, &box);
  ef_draw_set_ink (cr, style, EF_INK_PAPER, 0.8);
  cairo_rectangle (cr, box.origin.x, box.origin.y, box.size.width, box.size.height);
  cairo_fill (cr);
  if (words == NULL)
    ef_draw_field_legend (cr, style, self->field, box.origin.x + 4, 8, wide - 8, high);
  else
    {
      g_autoptr (PangoLayout) layout = ef_text_layout (cr, style, ef_text_size (style, 0.9), 0, words);

      ef_text_wrap (layout, wide - 8, 1);
      ef_text_show (cr, style, layout, EF_INK_DIM, 0, self->width - 12, 8, 1, 0);
    }
  cairo_destroy (cr);
}
