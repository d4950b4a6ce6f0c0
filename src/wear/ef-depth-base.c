/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-depth-base.h"

#include <math.h>

#define MOST_CELLS 4000000.0
#define SMALLEST_CELL 1e-7 /* m */

static gboolean
plan_grid (const EfFaceChart *chart,
           double cell,
           EfScanGrid *grid,
           GError **error)
{
  double width = chart->u1 - chart->u0;
  double height = chart->v1 - chart->v0;

  if (!(fabs (chart->u0) <= 10 && fabs (chart->v0) <= 10 && width > 0 && width <= 10 && height > 0 && height <= 10))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "face %s: bounds: expected a width and height above 0 and up to 10 m, found %g x %g m",
                   chart->id != NULL ? chart->id : "", width, height);
      return FALSE;
    }
  if (cell == 0)
    cell = EF_DEPTH_MAP_CELL;
  if (!(cell >= SMALLEST_CELL && cell <= 0.1))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "cell: expected a length from %g to 100 mm, found %g mm", SMALLEST_CELL * 1e3, cell * 1e3);
      return FALSE;
    }

  /* (w/c + 1) (h/c + 1) <= most, solved for c. */
  for (int pass = 0; pass < 100 && (ceil (width / cell) + 1) * (ceil (height / cell) + 1) > MOST_CELLS; pass++)
    cell *= MAX (1.001, sqrt ((ceil (width / cell) + 1) * (ceil (height / cell) + 1) / MOST_CELLS));
  if (chart->wraps)
    cell = width / ceil (width / cell - 1e-9);

  *grid = (EfScanGrid){ chart->u0, chart->v0, cell, (guint) MAX (1, ceil (width / cell - 1e-6)), (guint) MAX (1, ceil (height / cell - 1e-6)) };
  return TRUE;
}

static void
take_solid_row (const EfScanRow *row,
                gpointer user_data)
{
  EfDepthBase *base = user_data;
  float *solid = base->solid + (gsize) row->row * base->grid.nu;

  for (guint i = row->first; i <= row->last; i++)
    {
      if (row->cover[i] >= EF_SCAN_FULL)
        solid[i] = 1;
      else if (row->cover[i] > 1e-6f)
        {
          guint64 samples = ef_scan_mask (row, i);

          solid[i] = row->cover[i];
          g_array_append_val (base->solids, samples);
        }
    }
}

typedef struct
{
  const EfDepthBase *base;
  GArray *cells;
} BandScan;

static void
take_band_row (const EfScanRow *row,
               gpointer user_data)
{
  BandScan *scan = user_data;
  gsize start = (gsize) row->row * scan->base->grid.nu;

  for (guint i = row->first; i <= row->last; i++)
    {
      EfBandCell cell = { (guint) start + i, MIN (row->cover[i], scan->base->solid[start + i]) };

      if (cell.share > 0)
        g_array_append_val (scan->cells, cell);
    }
}

static void
scan_bands (EfDepthBase *base,
            const EfFaceChart *chart,
            EfScanner *scanner)
{
  base->bands = g_ptr_array_new_with_free_func ((GDestroyNotify) g_array_unref);
  for (guint i = 0; chart->bands != NULL && i < chart->bands->len; i++)
    {
      const EfChartBand *band = g_ptr_array_index (chart->bands, i);
      BandScan scan = { base, g_array_new (FALSE, FALSE, sizeof (EfBandCell)) };

      ef_scanner_region (scanner, band->region, take_band_row, &scan);
      g_ptr_array_add (base->bands, scan.cells);
    }
}

EfDepthBase *
ef_depth_base_new (const EfFaceChart *chart,
                   double cell,
                   GError **error)
{
  g_autoptr (EfScanner) scanner = NULL;
  EfScanGrid grid;
  EfDepthBase *base;
  gsize n;

  if (!plan_grid (chart, cell, &grid, error))
    return NULL;
  n = (gsize) grid.nu * grid.nv;
  base = g_new0 (EfDepthBase, 1);
  base->ref_count = 1;
  base->grid = grid;
  base->solid = g_new0 (float, n);
  base->solids = g_array_new (FALSE, FALSE, sizeof (guint64));
  scanner = ef_scanner_new (&grid);
  if (chart->solid != NULL)
    ef_scanner_region (scanner, chart->solid, take_solid_row, base);
  else
    for (gsize i = 0; i < n; i++)
      base->solid[i] = 1;
  for (gsize i = 0; i < n; i++)
    base->material += base->solid[i];
  scan_bands (base, chart, scanner);

  return base;
}

EfDepthBase *
ef_depth_base_ref (EfDepthBase *base)
{
  g_atomic_int_inc (&base->ref_count);

  return base;
}

void
ef_depth_base_unref (EfDepthBase *base)
{
  if (base == NULL || !g_atomic_int_dec_and_test (&base->ref_count))
    return;
  g_free (base->solid);
  g_array_unref (base->solids);
  g_ptr_array_unref (base->bands);
  g_free (base);
}
