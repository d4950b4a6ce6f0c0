/* Points of a face seen in the frame of a plane through them. For the flatness files only.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-flatness.h"

G_BEGIN_DECLS

/* Axes e1, e2 along the plane, e3 its normal with positive z; origin on the plane. */
typedef struct
{
  double origin[3];
  double axes[3][3];
} EfFlatnessFrame;

/* Origin at the plane's x0, y0; e1 has no y. */
void ef_flatness_frame_init (EfFlatnessFrame *frame, const EfPlane *plane);
/* New coordinates of @n points; free with g_free(). */
double *ef_flatness_frame_points (const EfFlatnessFrame *frame, const double *xyz, guint n);
/* A plane given in the frame, in the old coordinates. */
void ef_flatness_frame_plane (const EfFlatnessFrame *frame, const EfPlane *local, EfPlane *plane);

/* Fails with EF_ERROR_INVALID below 3 points or for numbers that aren't within 100 m, naming the point. */
gboolean ef_flatness_check_points (const double *xyz, guint n, GError **error);
/* Peak, valley and rms of deviations along z about result->plane. */
void ef_flatness_measure (const double *xyz, guint n, EfFlatness *result);

G_END_DECLS
