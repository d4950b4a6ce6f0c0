/* What all depth maps of a face have in common: its grid, its material, its bands. Inside wear only.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-depth-map.h"
#include "ef-scan.h"

G_BEGIN_DECLS

/* A cell that a band covers, and how much of its material. */
typedef struct
{
  guint cell;
  float share;
} EfBandCell;

struct _EfDepthBase
{
  EfScanGrid grid;
  float *solid;     /* share of each cell that is material */
  GArray *solids;   /* guint64: samples of the material in cells that have it in part, in raster order */
  double material;  /* cells */
  GPtrArray *bands; /* GArray of EfBandCell, one a band of the chart */
  gint ref_count;
};

G_END_DECLS
