/* Triangles over scattered points.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

/* Delaunay triangulation (by GEOS) of @n points x0 y0 x1 …, m: three indices a triangle, anticlockwise; it covers their convex hull. Of points
 * at one place the first counts. NULL with *n_triangles 0 where there are fewer than three places, all on one line, or numbers that aren't
 * finite. Free with g_free(). */
guint *ef_triangulate (const double *xy, guint n, guint *n_triangles);

G_END_DECLS
