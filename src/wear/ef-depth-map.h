/* The depth map of a face: all its marks as one raster.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cell (i, j) covers u0 + i cell … + cell, v0 + j cell … + cell; index j nu + i. Where marks overlap the deeper counts.
 *
 * How cover and depth combine. The share of a cell that a mark covers is found in closed form (ef-scan.h); its depth there
 * is that at the cell's middle. Marks of one cell are taken from the deepest to the shallowest: each adds the share that
 * those before it leave free, told by 8 x 8 samples of where each lies in the cell, and never more than the cell has of
 * material. depth is the mean over the shares so added, so cover x depth x cell^2 is the volume lost. One mark, marks that
 * don't share a cell, and marks that cover a cell wholly come out exactly; where outlines of different marks meet within a
 * cell the samples decide, and the error there is a 64th of a cell's area or so, without a side.
 */
#pragma once

#include <gio/gio.h>
#include "../pump/ef-face-chart.h"
#include "ef-mark.h"

G_BEGIN_DECLS

#define EF_DEPTH_MAP_CELL 1e-4

/* What all maps of a face have in common: grid, material, bands. Immutable. */
typedef struct _EfDepthBase EfDepthBase;

typedef struct
{
  guint nu, nv;
  double u0, v0, cell; /* m */
  EfDepthBase *base; /* held; NULL in a map that was put together by hand */
  float *solid; /* share of the cell that is material, 0 … 1; the base's, not to be written to, where there is one */
  float *cover; /* share of the cell that marks of known depth cover, 0 … 1, <= solid */
  float *depth; /* mean depth within the covered share, m; 0 where cover is 0 */
  /* The deepest that any mark reaches on material, which means within a cell may hide, and the middle of its cell. */
  double deepest, deepest_u, deepest_v; /* m; 0, NAN, NAN where nothing is worn */
  gint ref_count;
} EfDepthMap;

/* @marks: EfMark *, those of this face (others are passed over). @cell 0: EF_DEPTH_MAP_CELL, made coarser so that no
 * map has more than 4 million cells; on a chart that wraps made a little smaller, so that whole cells go round.
 * Marks without a depth don't count here. Fails with EF_ERROR_INVALID when the chart's bounds aren't finite or @cell isn't, with
 * ef_mark_check()'s error for the first mark of this face that doesn't pass, and with EF_ERROR_CANCELLED. */
EfDepthMap *ef_depth_map_new (const EfFaceChart *chart, EfMark *const *marks, guint n_marks, double cell, GCancellable *cancellable, GError **error);
/* The same on a base that is already there: for the next map of a face. */
EfDepthBase *ef_depth_base_new (const EfFaceChart *chart, double cell, GError **error);
EfDepthBase *ef_depth_base_ref (EfDepthBase *base);
void ef_depth_base_unref (EfDepthBase *base);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfDepthBase, ef_depth_base_unref)
/* @base is of this @chart. Errors as ef_depth_map_new(). */
EfDepthMap *ef_depth_map_new_on (EfDepthBase *base, const EfFaceChart *chart, EfMark *const *marks, guint n_marks, GCancellable *cancellable, GError **error);
EfDepthMap *ef_depth_map_ref (EfDepthMap *map);
void ef_depth_map_unref (EfDepthMap *map);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfDepthMap, ef_depth_map_unref)

typedef struct
{
  double material_area; /* m2 */
  double worn_area;     /* m2 */
  double worn_share;    /* of the material */
  double deepest;       /* m, with its place */
  double deepest_u, deepest_v;
  double volume;        /* m3 lost */
  guint n_bands;
  double *band_intact;  /* share of each sealing band's area that is unworn */
} EfFaceWear;

/* Within a cell wear is taken as spread evenly over the material, which matters for the rim of a band only. */
void ef_face_wear_from_map (const EfFaceChart *chart, const EfDepthMap *map, EfFaceWear *wear);
void ef_face_wear_clear (EfFaceWear *wear);

/* Bearing-area (material-ratio) curve: share of the material area whose depth is <= c, at @n depths from 0 to the deepest cell's.
 * Definition: ISO 21920-2, heights counted down from the face as new. A cell's covered share counts at its depth, the rest
 * of its material at 0. depths[n], shares[n] are filled; n = 1 gives depth 0 alone. Without material the shares are NAN. */
void ef_bearing_area_curve (const EfDepthMap *map, guint n, double *depths, double *shares);
double ef_bearing_area_share (const EfDepthMap *map, double depth);
/* The same for a plain list: @areas with their depths. */
double ef_bearing_area_share_of (const double *depths, const double *areas, guint n, double depth);

G_END_DECLS
