/* The surface of a face as it lies on the bench: how deep it is where. Nothing of what the wear is called or how it's judged.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cell (i, j) covers u0 + i cell … + cell, v0 + j cell … + cell; index j nu + i. In a file: rows one after another, 16 bits with sign, low byte first, packed by
 * zlib (RFC 1950), as base64 (RFC 4648).
 */
#pragma once

#include "../base/ef-json.h"
#include "../pump/ef-face-chart.h"
#include "../wear/ef-crescent.h"
#include "../wear/ef-mark.h"

#include <gio/gio.h>

G_BEGIN_DECLS

typedef struct
{
  char *face_id;
  guint nu, nv;
  double u0, v0, cell; /* m */
  double step;         /* m that one unit of depth stands for */
  gint16 *depth;       /* below the face as new; negative: stands above it */
} EfLessonSurface;

/* From the marks of the face (EfMark *; those of other faces are passed over), each with the profile of its kind (ef-surface.h), and its crescents (EfCrescent).
 * Fails as ef_surface_new(). */
EfLessonSurface *ef_lesson_surface_new (const EfFaceChart *chart, const GPtrArray *marks, const GArray *crescents, GCancellable *cancellable, GError **error);
/* From depths in m, nu * nv of them; finer than a sixty-thousandth of the deepest isn't kept. */
EfLessonSurface *ef_lesson_surface_from_depths (const char *face_id, guint nu, guint nv, double u0, double v0, double cell, const float *depths);
/* To be seen under the lamp, with the lay of the face. */
EfSurface *ef_lesson_surface_light (const EfLessonSurface *surface, const EfFaceChart *chart, GCancellable *cancellable, GError **error);
void ef_lesson_surface_free (EfLessonSurface *surface);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfLessonSurface, ef_lesson_surface_free)
/* m; 0 outside. */
double ef_lesson_surface_depth (const EfLessonSurface *surface, double u, double v);
/* The deepest within @reach of a place: whoever measures a groove feels for its bottom. Never below 0. */
double ef_lesson_surface_deepest (const EfLessonSurface *surface, double u, double v, double reach);
JsonObject *ef_lesson_surface_to_json (const EfLessonSurface *surface);
/* NULL, with an error in the json's context, for what can't be one. */
EfLessonSurface *ef_lesson_surface_from_json (const EfJson *json);

G_END_DECLS
