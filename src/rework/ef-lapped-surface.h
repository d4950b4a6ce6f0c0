/* A surface as heights: what lapping leaves of it, and how it bears.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Heights in m (or any one unit), each standing for the same area. Ra, Rq, Rsk, Rku, Rmr and the straight-line construction of the core are those of ISO 21920-2
 * (formerly ISO 4287, ISO 13565-2); the rules of the construction are from memory.
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

typedef struct
{
  double mean;
  double ra, rq, rsk, rku; /* about the mean */
} EfSurfaceMoments;

typedef struct
{
  double rk, rpk, rvk; /* core, peaks, valleys */
  double mr1, mr2;     /* shares of material */
  double slope;        /* of the secant over 40 % of the curve that is least steep */
} EfSurfaceCore;

/* All fail with EF_ERROR_INVALID for fewer than 2 heights or one that isn't finite. */
gboolean ef_surface_moments (const double *heights, guint n, EfSurfaceMoments *out, GError **error);
gboolean ef_surface_core (const double *heights, guint n, EfSurfaceCore *out, GError **error);
/* Share of the heights at or above @height. */
double ef_surface_ratio (const double *heights, guint n, double height);

/* A plane comes down from the highest place by @removal: what stands above it is gone. */
void ef_surface_lap (double *heights, guint n, double removal);

G_END_DECLS
