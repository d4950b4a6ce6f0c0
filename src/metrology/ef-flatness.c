/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flatness.h"
#include "ef-flatness-frame.h"

#include <math.h>

#define FARTHEST 100.0 /* m */

double
ef_plane_at (const EfPlane *plane,
             double x,
             double y)
{
  return plane->height + plane->slope_x * (x - plane->x0) + plane->slope_y * (y - plane->y0);
}

gboolean
ef_flatness_check_points (const double *xyz,
                          guint n,
                          GError **error)
{
  if (n < 3)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "points: expected at least 3, found %u", n);
      return FALSE;
    }
  for (guint i = 0; i < 3 * n; i++)
    if (!(fabs (xyz[i]) <= FARTHEST))
      {
        g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "points[%u]: expected numbers within %g m, found %g", i / 3, FARTHEST, xyz[i]);
        return FALSE;
      }

  return TRUE;
}

void
ef_flatness_measure (const double *xyz,
                     guint n,
                     EfFlatness *result)
{
  double squares = 0;

  result->peak = -INFINITY;
  result->valley = INFINITY;
  for (guint i = 0; i < n; i++)
    {
      double e = xyz[3 * i + 2] - ef_plane_at (&result->plane, xyz[3 * i], xyz[3 * i + 1]);

      squares += e * e;
      if (e > result->peak)
        {
          result->peak = e;
          result->peak_point = i;
        }
      if (e < result->valley)
        {
          result->valley = e;
          result->valley_point = i;
        }
    }
  result->flatness = result->peak - result->valley;
  result->rms = sqrt (squares / n);
}

gboolean
ef_flatness_least_squares (const double *xyz,
                           guint n,
                           EfFlatness *result,
                           GError **error)
{
  double x = 0, y = 0, z = 0;
  double xx = 0, xy = 0, yy = 0, xz = 0, yz = 0;
  double determinant;

  if (!ef_flatness_check_points (xyz, n, error))
    return FALSE;

  for (guint i = 0; i < n; i++)
    {
      x += xyz[3 * i] / n;
      y += xyz[3 * i + 1] / n;
      z += xyz[3 * i + 2] / n;
    }
  for (guint i = 0; i < n; i++)
    {
      double dx = xyz[3 * i] - x;
      double dy = xyz[3 * i + 1] - y;
      double dz = xyz[3 * i + 2] - z;

      xx += dx * dx;
      xy += dx * dy;
      yy += dy * dy;
      xz += dx * dz;
      yz += dy * dz;
    }

  /* Smallest over largest spread of the places, squared: below 1e-12 they lie on a line within a millionth of its length. */
  determinant = xx * yy - xy * xy;
  if (!(determinant > 1e-12 * (xx + yy) * (xx + yy)))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "points: expected places that span a face, found all on one line");
      return FALSE;
    }

  *result = (EfFlatness){ .plane = { x, y, z, (xz * yy - yz * xy) / determinant, (yz * xx - xz * xy) / determinant } };
  ef_flatness_measure (xyz, n, result);
  return TRUE;
}

#define PASSES 20

gboolean
ef_flatness_least_squares_normal (const double *xyz,
                                  guint n,
                                  EfFlatness *result,
                                  GError **error)
{
  EfFlatness fit;

  if (!ef_flatness_least_squares (xyz, n, &fit, error))
    return FALSE;

  for (int pass = 0; pass < PASSES; pass++)
    {
      EfFlatnessFrame frame;
      g_autofree double *local = NULL;
      EfPlane plane = fit.plane;

      ef_flatness_frame_init (&frame, &plane);
      local = ef_flatness_frame_points (&frame, xyz, n);
      if (!ef_flatness_least_squares (local, n, &fit, error))
        return FALSE;
      *result = fit;
      ef_flatness_frame_plane (&frame, &fit.plane, &result->plane);
      if (hypot (fit.plane.slope_x, fit.plane.slope_y) < 1e-10)
        return TRUE;
      fit.plane = result->plane;
    }

  g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "least-squares plane: didn't settle; the points stand off the face as far as they spread along it");
  return FALSE;
}
