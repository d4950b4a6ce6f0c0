/* Closed outlines with holes in a plane, and what GEOS does for them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All coordinates in metres. A ring is n points, x0 y0 x1 y1 …, not repeated at the end.
 */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  guint n;    /* points */
  double *xy; /* 2 n numbers */
} EfRing;

/* A set of rings filled by the even-odd rule: outer edges and holes alike. */
typedef struct
{
  guint n;
  EfRing *rings;
} EfRegion;

/* A copy of @xy; NULL: all 0, to be filled in. Free with ef_ring_clear(). */
EfRing ef_ring_new (guint n, const double *xy);
/* @n corners on the circle, anticlockwise from angle 0. */
EfRing ef_ring_circle (double x, double y, double radius, guint n);
void ef_ring_clear (EfRing *ring);
double ef_ring_area (const EfRing *ring); /* signed: positive anticlockwise, m2 */
/* Whether a place lies inside, by crossings of a ray. On the edge itself either may come out. */
gboolean ef_ring_contains (const EfRing *ring, double x, double y);

/* Empty. */
EfRegion *ef_region_new (void);
EfRegion *ef_region_copy (const EfRegion *region);
void ef_region_free (EfRegion *region);
/* Adds the ring, whose points then belong to the region. */
void ef_region_take (EfRegion *region, EfRing ring);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfRegion, ef_region_free)

double ef_region_area (const EfRegion *region); /* m2, by GEOS */
/* By the even-odd rule over all rings. */
gboolean ef_region_contains (const EfRegion *region, double x, double y);
void ef_region_bounds (const EfRegion *region, double bounds[4]); /* x0 y0 x1 y1 */

typedef enum { EF_REGION_UNION, EF_REGION_INTERSECTION, EF_REGION_DIFFERENCE } EfRegionOp;
/* By GEOS. Fails with EF_ERROR_INVALID for coordinates that aren't within 1e6 m, EF_ERROR_GEOMETRY where GEOS refuses. */
EfRegion *ef_region_combine (const EfRegion *a, const EfRegion *b, EfRegionOp op, GError **error);
/* Grown (distance > 0) or shrunk, with round corners of @segments to the quarter. */
EfRegion *ef_region_buffer (const EfRegion *region, double distance, guint segments, GError **error);
/* A line of @width through @n >= 2 places (x, y each), round at its ends and corners. */
EfRegion *ef_region_line (guint n, const double *xy, double width, guint segments, GError **error);
EfRegion *ef_region_hull (const EfRegion *region, GError **error);

G_END_DECLS
