/* The still part of a face as one texture.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-face-layer.h"

#include "../draw/ef-draw-field.h"

#include <math.h>

typedef struct
{
  cairo_surface_t *surface;
  double seconds;
} Drawn;

static void
drawn_free (gpointer data)
{
  Drawn *drawn = data;

  g_clear_pointer (&drawn->surface, cairo_surface_destroy);
  g_free (drawn);
}

EfFaceLayerJob *
ef_face_layer_job_new (EfFaceChart *chart,
                       GPtrArray *marks,
                       EfDepthMap *map)
{
  EfFaceLayerJob *job = g_new0 (EfFaceLayerJob, 1);

  job->chart = ef_face_chart_ref (chart);
  job->marks = g_ptr_array_ref (marks);
  job->map = map != NULL ? ef_depth_map_ref (map) : NULL;
  job->scale = 1;
  return job;
}

void
ef_face_layer_job_free (EfFaceLayerJob *job)
{
  if (job == NULL)
    return;
  ef_face_chart_unref (job->chart);
  g_ptr_array_unref (job->marks);
  g_clear_pointer (&job->map, ef_depth_map_unref);
  g_clear_pointer (&job->field, ef_flow_field_unref);
  g_clear_pointer (&job->scene, ef_lamp_scene_unref);
  g_clear_pointer (&job->photo.picture, ef_photo_picture_unref);
  g_free (job);
}

static void
draw_lit (cairo_t *cr,
          const EfFaceLayerJob *job)
{
  cairo_surface_t *image = ef_lamp_scene_light (job->scene, job->azimuth, job->elevation);
  double bounds[4];

  ef_lamp_scene_bounds (job->scene, bounds);
  ef_draw_chart_image (cr, &job->view, image, bounds);
  if (job->layers.labels)
    ef_draw_face_labels (cr, &job->style, &job->view, job->chart);
  cairo_surface_destroy (image);
}

static void
draw_photo (cairo_t *cr,
            const EfFaceLayerJob *job)
{
  EfFaceLayers lines = job->layers;

  lines.over_photo = TRUE;
  ef_draw_laid_photo (cr, &job->view, &job->photo, 0, 0, job->width, job->height);
  ef_draw_face_ground (cr, &job->style, &job->view, job->chart, &lines);
}

cairo_surface_t *
ef_face_layer_draw_surface (const EfFaceLayerJob *job)
{
  int width = (int) MAX (1, ceil (job->width * job->scale));
  int height = (int) MAX (1, ceil (job->height * job->scale));
  const double clip[4] = { 0, 0, job->width, job->height };
  EfFaceLayers ground = job->layers;
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_ARGB32, width, height);
  cairo_t *cr;

  cairo_surface_set_device_scale (surface, job->scale, job->scale);
  cr = cairo_create (surface);
  gdk_cairo_set_source_rgba (cr, &job->ground);
  cairo_paint (cr);
  /* Under the lamp they're written on the lit face, which would cut them at the edges of holes. */
  ground.labels = job->layers.labels && job->scene == NULL;
  ef_draw_face_ground (cr, &job->style, &job->view, job->chart, &ground);
  if (job->scene != NULL)
    draw_lit (cr, job);
  else if (job->photo.picture != NULL)
    draw_photo (cr, job);
  if (job->field != NULL)
    ef_draw_field_fill (cr, &job->style, &job->view, job->field);
  /* Colours of depth would hide what is to be traced. */
  if (job->map != NULL && job->scene == NULL && job->photo.picture == NULL)
    ef_draw_face_depth (cr, &job->style, &job->view, job->chart, job->map, &job->layers);
  if (!job->bare)
    ef_draw_face_marks (cr, &job->style, &job->view, job->chart, (EfMark *const *) job->marks->pdata, job->marks->len, &job->layers, clip);
  if (job->field != NULL)
    {
      ef_draw_field_isobars (cr, &job->style, &job->view, job->field);
      ef_draw_field_loads (cr, &job->style, &job->view, job->field);
    }
  cairo_destroy (cr);
  cairo_surface_flush (surface);
  return surface;
}

GdkTexture *
ef_face_layer_texture (cairo_surface_t *surface)
{
  int stride = cairo_image_surface_get_stride (surface);
  int height = cairo_image_surface_get_height (surface);
  g_autoptr (GBytes) bytes = NULL;

  bytes = g_bytes_new_with_free_func (cairo_image_surface_get_data (surface), (gsize) stride * height,
                                      (GDestroyNotify) cairo_surface_destroy, cairo_surface_reference (surface));
  return gdk_memory_texture_new (cairo_image_surface_get_width (surface), height, GDK_MEMORY_DEFAULT, bytes, stride);
}

GdkTexture *
ef_face_layer_draw (const EfFaceLayerJob *job)
{
  cairo_surface_t *surface = ef_face_layer_draw_surface (job);
  GdkTexture *texture = ef_face_layer_texture (surface);

  cairo_surface_destroy (surface);
  return texture;
}

static void
draw_thread (GTask *task,
             gpointer source,
             gpointer task_data,
             GCancellable *cancellable)
{
  Drawn *drawn;
  gint64 start = g_get_monotonic_time ();

  if (g_task_return_error_if_cancelled (task))
    return;
  drawn = g_new0 (Drawn, 1);
  drawn->surface = ef_face_layer_draw_surface (task_data);
  drawn->seconds = (g_get_monotonic_time () - start) * 1e-6;
  g_task_return_pointer (task, drawn, drawn_free);
}

void
ef_face_layer_draw_async (EfFaceLayerJob *job,
                          GCancellable *cancellable,
                          GAsyncReadyCallback callback,
                          gpointer user_data)
{
  g_autoptr (GTask) task = g_task_new (NULL, cancellable, callback, user_data);

  g_task_set_source_tag (task, ef_face_layer_draw_async);
  g_task_set_task_data (task, job, (GDestroyNotify) ef_face_layer_job_free);
  g_task_run_in_thread (task, draw_thread);
}

cairo_surface_t *
ef_face_layer_draw_finish (GAsyncResult *result,
                           const EfFaceLayerJob **job_out,
                           double *seconds_out,
                           GError **error)
{
  Drawn *drawn;
  cairo_surface_t *surface;

  g_return_val_if_fail (g_task_is_valid (result, NULL), NULL);
  drawn = g_task_propagate_pointer (G_TASK (result), error);
  if (drawn == NULL)
    return NULL;
  if (job_out != NULL)
    *job_out = g_task_get_task_data (G_TASK (result));
  if (seconds_out != NULL)
    *seconds_out = drawn->seconds;
  surface = g_steal_pointer (&drawn->surface);
  drawn_free (drawn);
  return surface;
}
