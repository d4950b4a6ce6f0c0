/* The still part of a face as one texture: ground, depth and marks. Drawn in a worker, so that the canvas never waits for it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../assess/ef-flow-field.h"
#include "../draw/ef-draw-lamp.h"
#include "../draw/ef-draw-photo.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

/* All that is needed to draw it; owns references, so a thread can work on it while the document goes on. */
typedef struct
{
  EfFaceChart *chart;
  GPtrArray *marks; /* EfMark * */
  EfDepthMap *map;  /* NULL: no depth known */
  EfFlowField *field; /* the oil pressure; NULL: not shown */
  EfLampScene *scene; /* the metal under a lamp; NULL: not shown */
  double azimuth, elevation; /* of the lamp */
  gboolean bare;      /* no marks: the lit metal shows them itself */
  EfLaidPhoto photo;  /* under the lines; a picture of NULL: none */
  EfDrawStyle style;
  EfFaceLayers layers;
  GdkRGBA ground;       /* behind the face; alpha 0: none */
  EfFaceView view;      /* of the texture: its own upper left corner is the origin */
  double width, height; /* logical px */
  int scale;            /* device px a logical px */
} EfFaceLayerJob;

EfFaceLayerJob *ef_face_layer_job_new (EfFaceChart *chart, GPtrArray *marks, EfDepthMap *map);
void ef_face_layer_job_free (EfFaceLayerJob *job);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfFaceLayerJob, ef_face_layer_job_free)

/* Cairo's pixels; device px are marked on the surface, so that it is drawn in logical ones. */
cairo_surface_t *ef_face_layer_draw_surface (const EfFaceLayerJob *job);
/* A texture of the same pixels: they are shared, not copied. */
GdkTexture *ef_face_layer_texture (cairo_surface_t *surface);
GdkTexture *ef_face_layer_draw (const EfFaceLayerJob *job);
/* Takes @job. The callback runs in the main context, finish gives the surface and, if wanted, the seconds it took. */
void ef_face_layer_draw_async (EfFaceLayerJob *job, GCancellable *cancellable, GAsyncReadyCallback callback, gpointer user_data);
cairo_surface_t *ef_face_layer_draw_finish (GAsyncResult *result, const EfFaceLayerJob **job_out, double *seconds_out, GError **error);

G_END_DECLS
