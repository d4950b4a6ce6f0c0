/* Shapes onto a raster, with the share of each cell they cover.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each row of cells is cut into eight slices, and further at the corners, tops and bottoms of the shape. In a slice the
 * shape is a set of spans with sloping ends, and what a span covers of each cell is found in closed form. So the area of
 * a polygon, a disc or a capsule comes out exactly in total, wherever it lies on the raster; within a cell, slopes of arcs are
 * taken as straight over an eighth of a cell, and where capsules of one line overlap their union is taken slice by slice.
 * Beside the share, 8 x 8 samples tell where in the cell the shape lies, so that overlaps of shapes can be told.
 */
#pragma once

#include "../geometry/ef-polygon.h"
#include "ef-mark.h"

G_BEGIN_DECLS

#define EF_SCAN_SAMPLES 8
#define EF_SCAN_FULL (1 - 2e-6f) /* from this share on a cell counts as wholly covered */

typedef struct
{
  double u0, v0, cell; /* m */
  guint nu, nv;
} EfScanGrid;

/* One row of cells, first … last touched: cover[i] is the share; samples[s][i] the eight samples of slice s. */
typedef struct
{
  guint row, first, last;
  const float *cover;
  const guint8 *samples[EF_SCAN_SAMPLES];
} EfScanRow;

typedef void (*EfScanFunc) (const EfScanRow *row, gpointer user_data);

typedef struct _EfScanner EfScanner;

/* The grid is copied. One thread at a time. */
EfScanner *ef_scanner_new (const EfScanGrid *grid);
void ef_scanner_free (EfScanner *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfScanner, ef_scanner_free)

/* Even-odd rings. */
void ef_scanner_region (EfScanner *self, const EfRegion *region, EfScanFunc func, gpointer user_data);
/* A mark's body, moved by @shift along u. The mark has passed ef_mark_check(). */
void ef_scanner_mark (EfScanner *self, const EfMark *mark, double shift, EfScanFunc func, gpointer user_data);

/* The samples of cell @i as one word. */
static inline guint64
ef_scan_mask (const EfScanRow *row,
              guint i)
{
  guint64 mask = 0;

  for (int s = 0; s < EF_SCAN_SAMPLES; s++)
    mask |= (guint64) row->samples[s][i] << (8 * s);
  return mask;
}

G_END_DECLS
