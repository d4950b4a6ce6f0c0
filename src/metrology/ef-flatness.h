/* Flatness of a face from heights at places of it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Terms: ISO 12781-1 (LSPL least-squares reference plane, FLTt peak-to-valley deviation).
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

/* Plane z = height + slope_x (x - x0) + slope_y (y - y0). */
typedef struct
{
  double x0, y0;
  double height, slope_x, slope_y;
} EfPlane;

double ef_plane_at (const EfPlane *plane, double x, double y);

typedef struct
{
  EfPlane plane;
  double peak, valley; /* m above and below (negative) the plane */
  double flatness;     /* peak - valley, m */
  double rms;          /* m */
  guint peak_point, valley_point; /* indices of the points that carry it */
} EfFlatness;

/* Least-squares plane of heights (deviations along z) through @n points x0 y0 z0 x1 …, m. Fails with EF_ERROR_INVALID for fewer than
 * 3 points or numbers that aren't finite, EF_ERROR_GEOMETRY when the places lie on one line. */
gboolean ef_flatness_least_squares (const double *xyz, guint n, EfFlatness *result, GError **error);

G_END_DECLS
