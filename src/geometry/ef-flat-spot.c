/* Flats on a flank: width from depth and depth from width, on the involute's circle of curvature.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-gear-pair.h"

#include <math.h>

#include "../base/ef-error.h"

static gboolean
curvature (double base_radius,
           double radius,
           double *rho_out,
           GError **error)
{
  if (!isfinite (base_radius) || base_radius <= 0.0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "base_radius: expected a length above 0, found %g m", base_radius);
      return FALSE;
    }
  if (!isfinite (radius) || radius <= base_radius)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "radius: expected above the base radius of %.6g mm, found %.6g mm: there is no involute there", 1e3 * base_radius, 1e3 * radius);
      return FALSE;
    }
  *rho_out = sqrt ((radius - base_radius) * (radius + base_radius));

  return TRUE;
}

gboolean
ef_flat_spot_depth (double base_radius,
                    double radius,
                    double width,
                    double *depth_out,
                    GError **error)
{
  double rho;

  if (!curvature (base_radius, radius, &rho, error))
    return FALSE;
  if (!isfinite (width) || width < 0.0 || width > 2.0 * rho)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "width: expected from 0 to %.6g mm, twice the radius of curvature there, found %.6g mm", 2e3 * rho, 1e3 * width);
      return FALSE;
    }
  /* rho - sqrt (rho^2 - w^2/4), written so that a small width keeps its digits. */
  *depth_out = 0.25 * width * width / (rho + sqrt (rho * rho - 0.25 * width * width));

  return TRUE;
}

gboolean
ef_flat_spot_width (double base_radius,
                    double radius,
                    double depth,
                    double *width_out,
                    GError **error)
{
  double rho;

  if (!curvature (base_radius, radius, &rho, error))
    return FALSE;
  if (!isfinite (depth) || depth < 0.0 || depth > rho)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "depth: expected from 0 to %.6g mm, the radius of curvature there, found %.6g mm", 1e3 * rho, 1e3 * depth);
      return FALSE;
    }
  *width_out = 2.0 * sqrt (depth * (2.0 * rho - depth));

  return TRUE;
}
