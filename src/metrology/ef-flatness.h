/* Flatness of a face from heights at places of it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Terms: ISO 12781-1 (LSPL, MZPL: least-squares and minimum-zone reference plane; FLTt: peak-to-valley deviation). The tolerance
 * zone of ISO 1101 is the least distance of two parallel planes that hold all points.
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

/* z of the plane at (x, y), m. */
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
/* The same with deviations square to the plane (total least squares): the plane is the fixed point of fitting heights in
 * its own frame. Deviations of a face that lies within a degree of level differ from the above by less than 2e-4 of themselves. */
gboolean ef_flatness_least_squares_normal (const double *xyz, guint n, EfFlatness *result, GError **error);

#define EF_ZONE_CONTACTS 3

/* Two parallel planes that hold all points between them. */
typedef struct
{
  EfPlane plane; /* midway */
  double zone;   /* their distance, m: along z or square to them, as asked for */
  /* The points that carry the zone: 3 above and 1 below or the other way round, or 2 and 2; fewer where points are so
   * few or so placed that these fix it already. */
  guint n_high, n_low;
  guint high[EF_ZONE_CONTACTS], low[EF_ZONE_CONTACTS]; /* indices */
  /* How much each counts: zone = sum of high_weight x height - sum of low_weight x height; either sum up to 1. */
  double high_weight[EF_ZONE_CONTACTS], low_weight[EF_ZONE_CONTACTS];
  guint iterations; /* exchanges of a point, all passes together */
  double bound;     /* lower bound of the zone from the carrying points alone (linear-programming dual), m: equals zone to rounding */
} EfFlatnessZone;

/* Minimum zone with deviations along z: exact, a linear programme solved by exchanging one point at a time. Errors as
 * ef_flatness_least_squares(), and EF_ERROR_NOT_CONVERGED. */
gboolean ef_flatness_minimum_zone (const double *xyz, guint n, EfFlatnessZone *result, GError **error);
/* Minimum zone as ISO 1101 has it, distance square to the planes: the above in the frame of its own result, until that
 * lies level. The least among planes near that; for points that spread farther along the face than they stand off it, as those
 * of any face do, there's no other. */
gboolean ef_flatness_minimum_zone_normal (const double *xyz, guint n, EfFlatnessZone *result, GError **error);

G_END_DECLS
