/* The canvas: the face under a lamp, made ready beside the window and lit with the picture.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The surface is the session's own where it has one (ef_session_surface(): a specimen, whose marks nobody has drawn yet), else what the marks make of
 * the face; then these aren't drawn on top of it again, but for the selected one. While the lamp moves the picture is lit from a coarse scene, at rest from the fine one.
 */
#include "config.h"

#include "ef-face-canvas-private.h"

#include "../draw/ef-draw-lamp.h"

#include <math.h>

#define COARSE 3      /* cells to a side of the coarse scene's */
#define REST_MS 160   /* the lamp stands still */
#define SEED 1        /* of the lay */

typedef struct
{
  EfFaceChart *chart;
  GPtrArray *marks;
  EfSurface *surface; /* the session's; NULL: to be made from the marks */
  EfMetal metal;
} Work;

struct _EfCanvasScene
{
  Work work; /* what it was made from */
  EfLampScene *fine, *coarse;
};

typedef struct
{
  EfFaceCanvas *canvas;
  GCancellable *cancellable;
} Wait;

static void
work_clear (Work *work)
{
  g_clear_pointer (&work->chart, ef_face_chart_unref);
  g_clear_pointer (&work->marks, g_ptr_array_unref);
  g_clear_pointer (&work->surface, ef_surface_unref);
}

static void
scene_free (gpointer data)
{
  EfCanvasScene *scene = data;

  work_clear (&scene->work);
  g_clear_pointer (&scene->fine, ef_lamp_scene_unref);
  g_clear_pointer (&scene->coarse, ef_lamp_scene_unref);
  g_free (scene);
}

static void
scene_thread (GTask *task,
              gpointer source,
              gpointer task_data,
              GCancellable *cancellable)
{
  EfCanvasScene *scene = task_data;
  Work *work = &scene->work;
  GError *error = NULL;
  EfSurface *surface = work->surface != NULL ? ef_surface_ref (work->surface)
                                             : ef_surface_new (work->chart, (EfMark *const *) work->marks->pdata, work->marks->len, 0.0, SEED, cancellable, &error);

  if (surface == NULL)
    {
      g_task_return_error (task, error);
      return;
    }
  scene->fine = ef_lamp_scene_new (surface, &work->metal, 1);
  scene->coarse = ef_lamp_scene_new (surface, &work->metal, COARSE);
  ef_surface_unref (surface);
  g_task_return_boolean (task, TRUE);
}

static gboolean
is_current (EfFaceCanvas *self,
            const EfCanvasScene *scene)
{
  EfSurface *own = self->face_id != NULL ? ef_session_surface (self->session, self->face_id) : NULL;

  return scene != NULL && scene->work.chart == self->chart && scene->work.surface == own && (own != NULL || scene->work.marks == self->marks);
}

static void
scene_done_cb (GObject *source,
               GAsyncResult *result,
               gpointer user_data)
{
  Wait *wait = user_data;
  EfFaceCanvas *self = wait->canvas;
  g_autoptr (GError) error = NULL;

  if (self->lighting == wait->cancellable)
    {
      EfCanvasScene *scene = g_task_get_task_data (G_TASK (result));

      g_clear_object (&self->lighting);
      if (g_task_propagate_boolean (G_TASK (result), &error))
        {
          g_clear_pointer (&self->scene, scene_free);
          self->scene = g_new0 (EfCanvasScene, 1);
          /* moved, so that the task frees nothing of it */
          *self->scene = *scene;
          *scene = (EfCanvasScene){ 0 };
          ef_face_canvas_content_changed (self);
          /* the document may have gone on */
          ef_face_canvas_follow_lamp (self);
        }
      else
        ef_session_message (self->session, error->message);
    }
  g_object_unref (wait->cancellable);
  g_object_unref (wait->canvas);
  g_free (wait);
}

static void
start_scene (EfFaceCanvas *self)
{
  EfCanvasScene *scene = g_new0 (EfCanvasScene, 1);
  const EfInspection *inspection = ef_document_inspection (ef_session_document (self->session));
  const EfPart *part = ef_pump_sheet_part (inspection->sheet, self->chart->part_id);
  EfSurface *own = ef_session_surface (self->session, self->face_id);
  Wait *wait = g_new0 (Wait, 1);
  g_autoptr (GTask) task = NULL;

  scene->work.chart = ef_face_chart_ref (self->chart);
  scene->work.marks = g_ptr_array_ref (self->marks);
  scene->work.surface = own != NULL ? ef_surface_ref (own) : NULL;
  ef_metal_of (part != NULL ? part->material : NULL, &scene->work.metal);
  self->lighting = g_cancellable_new ();
  wait->canvas = g_object_ref (self);
  wait->cancellable = g_object_ref (self->lighting);
  task = g_task_new (NULL, self->lighting, scene_done_cb, wait);
  g_task_set_source_tag (task, start_scene);
  g_task_set_task_data (task, scene, scene_free);
  g_task_run_in_thread (task, scene_thread);
}

void
ef_face_canvas_follow_lamp (EfFaceCanvas *self)
{
  if (!self->lamp || self->chart == NULL || is_current (self, self->scene) || self->lighting != NULL)
    return;
  start_scene (self);
}

void
ef_face_canvas_drop_lamp (EfFaceCanvas *self)
{
  if (self->lighting != NULL)
    g_cancellable_cancel (self->lighting);
  g_clear_object (&self->lighting);
  g_clear_handle_id (&self->lamp_rest, g_source_remove);
  g_clear_pointer (&self->scene, scene_free);
}

gboolean
ef_face_canvas_lamp_settled (EfFaceCanvas *self)
{
  return self->lighting == NULL && self->lamp_rest == 0 && is_current (self, self->scene);
}

/* A scene of another face is never shown. */
void
ef_face_canvas_light_job (EfFaceCanvas *self,
                          EfFaceLayerJob *job)
{
  if (!self->lamp || self->scene == NULL || self->scene->work.chart != self->chart)
    return;
  job->scene = ef_lamp_scene_ref (self->lamp_rest != 0 ? self->scene->coarse : self->scene->fine);
  job->azimuth = self->lamp_azimuth;
  job->elevation = self->lamp_elevation;
  job->bare = self->scene->work.surface == NULL;
  job->layers.depth_colours = FALSE;
  job->layers.contours = FALSE;
}

void
ef_face_canvas_lamp_place (EfFaceCanvas *self,
                           double *azimuth,
                           double *elevation)
{
  *azimuth = self->lamp_azimuth;
  *elevation = self->lamp_elevation;
}

static gboolean
rest_cb (gpointer data)
{
  EfFaceCanvas *self = data;

  self->lamp_rest = 0;
  ef_face_canvas_content_changed (self);

  return G_SOURCE_REMOVE;
}

void
ef_face_canvas_move_lamp (EfFaceCanvas *self,
                          double azimuth,
                          double elevation)
{
  azimuth = remainder (azimuth, 2.0 * G_PI);
  elevation = CLAMP (elevation, EF_LAMP_LOWEST, 85.0 * G_PI / 180.0);
  if (!isfinite (azimuth) || !isfinite (elevation) || (azimuth == self->lamp_azimuth && elevation == self->lamp_elevation))
    return;
  self->lamp_azimuth = azimuth;
  self->lamp_elevation = elevation;
  if (self->lamp)
    {
      g_clear_handle_id (&self->lamp_rest, g_source_remove);
      self->lamp_rest = g_timeout_add (REST_MS, rest_cb, self);
      ef_face_canvas_content_changed (self);
    }
  ef_face_canvas_lamp_notify (self);
}

void
ef_face_canvas_lamp_at (EfFaceCanvas *self,
                        double x,
                        double y)
{
  double reach = 0.5 * MIN (self->width, self->height), dx = x - 0.5 * self->width, dy = 0.5 * self->height - y;
  double r = reach > 0.0 ? hypot (dx, dy) / reach : 0.0;

  ef_face_canvas_move_lamp (self, r > 0.0 ? atan2 (dy, dx) : self->lamp_azimuth, acos (CLAMP (r, 0.0, 1.0)));
}
