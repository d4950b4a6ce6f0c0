/* How far a face must be lapped for its wear to clean up.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Marks are measured from the unworn face beside them, which itself may lie lower than the highest places by the whole flatness deviation. Nobody has measured
 * which, so the worst is reckoned with: a scratch of depth d on a face of flatness deviation f lies f + d below the highest places, and is d - max (0, r - f) deep after
 * removal r. Raised lips are stoned off before and cost no stock.
 *
 * Restored share after removal r: share of the land whose wear is no deeper than max (0, r - f): the material-ratio (bearing-area) curve of ISO 21920-2, heights counted
 * down from the unworn face. Land can be weighted: by what a place costs in leakage, which at the same film goes with the square of the
 * pressure gradient (leakage power of a film, h^3 |grad p|^2 / (12 mu)).
 */
#pragma once

#include "../wear/ef-depth-map.h"

G_BEGIN_DECLS

typedef enum
{
  EF_CLEAN_WHOLLY,      /* nothing stays */
  EF_CLEAN_TO_RESIDUAL, /* wear of the residual depth may stay */
  EF_CLEAN_TO_SHARE     /* so much of the (weighted) land is restored */
} EfCleanGoal;

#define EF_SEALING_SHARE 0.95 /* of the sealing land that a plan restores where it's asked for: common practice, no source */

extern const char *const ef_clean_goals[]; /* "wholly", "residual", "share"; ended by NULL */

typedef struct
{
  EfCleanGoal goal;
  double residual; /* m */
  double share;    /* 0 … 1 */
} EfCleanTarget;

/* Land as a list of pieces, deepest first once made. */
typedef struct
{
  guint n;
  double *depth;  /* m, >= 0 */
  double *weight; /* area x weight; the sum is total */
  double total;
  double deepest; /* m: may be deeper than any piece's mean */
} EfLandCurve;

/* @depths, @areas: pieces; @weights NULL: all 1. What stands proud (depth < 0) counts as 0. Fails with EF_ERROR_INVALID for numbers that make no sense
 * or land without weight. */
gboolean ef_land_curve_init (EfLandCurve *self, const double *depths, const double *areas, const double *weights, guint n, GError **error);
/* Of a face's depth map; @weights: one a cell, or NULL. */
gboolean ef_land_curve_init_map (EfLandCurve *self, const EfDepthMap *map, const double *weights, GError **error);
void ef_land_curve_clear (EfLandCurve *self);
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (EfLandCurve, ef_land_curve_clear)

/* Share of the land with wear no deeper than @depth. */
double ef_land_share (const EfLandCurve *self, double depth);
/* Least depth with that share. */
double ef_land_depth (const EfLandCurve *self, double share);
/* Share restored by removal @r on a face of flatness deviation @flatness. */
double ef_land_restored (const EfLandCurve *self, double flatness, double r);

/* Depth of what has to be cleaned up below the unworn face: 0 where nothing has to be. The removal is that and the flatness deviation, less the residual. */
double ef_stock_depth (const EfLandCurve *self, const EfCleanTarget *target);
/* The removal. */
double ef_stock_needed (const EfLandCurve *self, double flatness, const EfCleanTarget *target);

G_END_DECLS
