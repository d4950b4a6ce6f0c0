/* Moments, material ratio and core of a surface; lapping it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-lapped-surface.h"

#include <math.h>
#include <stdlib.h>

#define WINDOW 0.4 /* of the curve */
#define TIE 1e-9   /* relative: of windows alike the first counts */

static gboolean
check (const double *heights,
       guint n,
       GError **error)
{
  if (n < 2)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "heights: expected at least 2, found %u", n);
      return FALSE;
    }
  for (guint i = 0; i < n; i++)
    if (!isfinite (heights[i]))
      {
        g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "heights[%u]: expected a number, found %g", i, heights[i]);
        return FALSE;
      }

  return TRUE;
}

gboolean
ef_surface_moments (const double *heights,
                    guint n,
                    EfSurfaceMoments *out,
                    GError **error)
{
  double sum[4] = { 0.0 };
  double mean = 0.0;

  *out = (EfSurfaceMoments) { 0 };
  if (!check (heights, n, error))
    return FALSE;
  for (guint i = 0; i < n; i++)
    mean += heights[i] / n;
  for (guint i = 0; i < n; i++)
    {
      double z = heights[i] - mean;

      sum[0] += fabs (z);
      sum[1] += z * z;
      sum[2] += z * z * z;
      sum[3] += z * z * z * z;
    }
  out->mean = mean;
  out->ra = sum[0] / n;
  out->rq = sqrt (sum[1] / n);
  out->rsk = out->rq > 0.0 ? sum[2] / n / pow (out->rq, 3.0) : 0.0;
  out->rku = out->rq > 0.0 ? sum[3] / n / pow (out->rq, 4.0) : 0.0;

  return TRUE;
}

double
ef_surface_ratio (const double *heights,
                  guint n,
                  double height)
{
  guint above = 0;

  for (guint i = 0; i < n; i++)
    above += heights[i] >= height;

  return n > 0 ? (double) above / n : NAN;
}

static int
higher_first (const void *a,
              const void *b)
{
  double difference = *(const double *) b - *(const double *) a;

  return difference > 0.0 ? 1 : difference < 0.0 ? -1 : 0;
}

/* The curve's height at share @x: straight between the sorted heights, which stand at (i + 1/2) / n. */
static double
curve_at (const double *sorted,
          guint n,
          double x)
{
  double at = CLAMP (x * n - 0.5, 0.0, n - 1.0);
  guint i = MIN ((guint) at, n - 2);

  return sorted[i] + (at - i) * (sorted[i + 1] - sorted[i]);
}

static double
least_steep (const double *sorted,
             guint n,
             double *slope_out)
{
  double least = INFINITY;
  double best = 0.0;
  double tie = TIE * (sorted[0] - sorted[n - 1]);
  guint steps = MIN (n, 20000);

  for (guint i = 0; i <= steps; i++)
    {
      double x = (1.0 - WINDOW) * i / steps;
      double fall = curve_at (sorted, n, x) - curve_at (sorted, n, x + WINDOW);

      if (fall < least - tie)
        {
          least = fall;
          best = x;
        }
    }
  *slope_out = least / WINDOW;

  return best;
}

/* Share at which the curve falls to @height. */
static double
crossing (const double *sorted,
          guint n,
          double height)
{
  guint low = 0, high = n - 1;
  double fall;

  if (height >= sorted[0])
    return 0.0;
  if (height <= sorted[n - 1])
    return 1.0;
  while (high - low > 1)
    {
      guint middle = low + (high - low) / 2;

      if (sorted[middle] >= height)
        low = middle;
      else
        high = middle;
    }
  fall = sorted[low] - sorted[high];

  return (low + 0.5 + (fall > 0.0 ? (sorted[low] - height) / fall : 0.0)) / n;
}

gboolean
ef_surface_core (const double *heights,
                 guint n,
                 EfSurfaceCore *out,
                 GError **error)
{
  g_autofree double *sorted = NULL;
  double top, bottom, x, peaks = 0.0, valleys = 0.0;

  *out = (EfSurfaceCore) { 0 };
  if (!check (heights, n, error))
    return FALSE;
  sorted = g_memdup2 (heights, (gsize) n * sizeof *sorted);
  qsort (sorted, n, sizeof *sorted, higher_first);
  x = least_steep (sorted, n, &out->slope);
  top = curve_at (sorted, n, x) + out->slope * x;
  bottom = top - out->slope;
  out->rk = out->slope;
  out->mr1 = crossing (sorted, n, top);
  out->mr2 = crossing (sorted, n, bottom);
  for (guint i = 0; i < n && sorted[i] > top; i++)
    peaks += (sorted[i] - top) / n;
  for (guint i = n; i-- > 0 && sorted[i] < bottom;)
    valleys += (bottom - sorted[i]) / n;
  /* Triangles of the same area. */
  out->rpk = out->mr1 > 0.0 ? 2.0 * peaks / out->mr1 : 0.0;
  out->rvk = out->mr2 < 1.0 ? 2.0 * valleys / (1.0 - out->mr2) : 0.0;

  return TRUE;
}

void
ef_surface_lap (double *heights,
                guint n,
                double removal)
{
  double plane = -INFINITY;

  for (guint i = 0; i < n; i++)
    plane = fmax (plane, heights[i]);
  plane -= removal;
  for (guint i = 0; i < n; i++)
    heights[i] = fmin (heights[i], plane);
}
