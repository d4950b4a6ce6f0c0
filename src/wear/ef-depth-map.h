/* The depth map of a face: all its marks as one raster.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Cell (i, j) covers u0 + i cell … + cell, v0 + j cell … + cell; index j nu + i. Where marks overlap the deeper counts.
 */
#pragma once

#include <gio/gio.h>
#include "../pump/ef-face-chart.h"
#include "ef-mark.h"

G_BEGIN_DECLS

#define EF_DEPTH_MAP_CELL 1e-4

typedef struct
{
  guint nu, nv;
  double u0, v0, cell; /* m */
  float *solid; /* share of the cell that is material, 0 … 1 */
  float *cover; /* share of the cell that marks of known depth cover, 0 … 1, <= solid */
  float *depth; /* mean depth within the covered share, m; 0 where cover is 0 */
  gint ref_count;
} EfDepthMap;

/* @marks: EfMark *, those of this face (others are passed over). @cell 0: EF_DEPTH_MAP_CELL, made coarser so that no
 * map has more than 4 million cells. Marks without a depth don't count here. */
EfDepthMap *ef_depth_map_new (const EfFaceChart *chart, EfMark *const *marks, guint n_marks, double cell, GCancellable *cancellable, GError **error);
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

void ef_face_wear_from_map (const EfFaceChart *chart, const EfDepthMap *map, EfFaceWear *wear);
void ef_face_wear_clear (EfFaceWear *wear);

/* Bearing-area (material-ratio) curve: share of the material area whose depth is <= c, at @n depths from 0 to the deepest.
 * Definition: ISO 21920-2. depths[n], shares[n] are filled. */
void ef_bearing_area_curve (const EfDepthMap *map, guint n, double *depths, double *shares);
double ef_bearing_area_share (const EfDepthMap *map, double depth);

G_END_DECLS
