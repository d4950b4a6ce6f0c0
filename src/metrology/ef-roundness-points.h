/* Small helpers of the roundness files.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-roundness.h"

G_BEGIN_DECLS

typedef struct
{
  double largest, smallest;
  guint farthest, nearest;
} EfRadii;

/* Greatest and smallest distance of @n points (x, y each) from (x, y), m, and the points that have them. */
void ef_roundness_measure (const double *xy, guint n, double x, double y, EfRadii *radii);
/* The points about a circle's centre; free with g_free(). */
double *ef_roundness_about (const double *xy, guint n, const EfCircleFit *circle);
gboolean ef_circle_through (const double *a, const double *b, const double *c, double centre[2]);

G_END_DECLS
