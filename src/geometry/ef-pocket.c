/* The figure-eight pocket both gears run in.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-gear-pair.h"

#include <math.h>

#include "../base/ef-error.h"

/* Distance from axis @gear, towards the mate, of the line through both corners. */
static double
corner_offset (double a,
               const double radius[2],
               int gear)
{
  double own = radius[gear];
  double other = radius[1 - gear];

  return 0.5 * (a + (own - other) * (own + other) / a);
}

double
ef_pocket_wall_half_angle (double centre_distance,
                           const double pocket_radius[2],
                           int gear)
{
  double offset = corner_offset (centre_distance, pocket_radius, gear);

  return G_PI - acos (CLAMP (offset / pocket_radius[gear], -1.0, 1.0));
}

EfRegion *
ef_pocket_region (double centre_distance,
                  const double pocket_radius[2],
                  guint n,
                  GError **error)
{
  double a = centre_distance;
  EfRegion *region;
  EfRing ring;

  if (n < 16 || n > 100000)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "points: expected 16 to 100000, found %u", n);
      return NULL;
    }
  if (!isfinite (a) || a <= 0.0 || a > 10.0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "centre_distance: expected above 0 and at most 10 m, found %g m", a);
      return NULL;
    }
  for (int i = 0; i < 2; i++)
    if (!isfinite (pocket_radius[i]) || pocket_radius[i] <= 0.0 || pocket_radius[i] > 10.0)
      {
        g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "pocket_radius[%d]: expected above 0 and at most 10 m, found %g m", i, pocket_radius[i]);
        return NULL;
      }
  if (pocket_radius[0] + pocket_radius[1] <= a || fabs (pocket_radius[0] - pocket_radius[1]) >= a)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "pocket_radius: expected two circles that cut each other at a centre distance of %.6g mm, found %.6g and %.6g mm",
                   1e3 * a, 1e3 * pocket_radius[0], 1e3 * pocket_radius[1]);
      return NULL;
    }

  /* Anticlockwise: the right circle from the lower corner round to the upper one, then the left one. Each arc leaves out its
   * last point, which is the first of the other. */
  ring = ef_ring_new (2 * (n / 2), NULL);
  for (int side = 0; side < 2; side++)
    {
      int gear = 1 - side;
      guint points = n / 2;
      double half = ef_pocket_wall_half_angle (a, pocket_radius, gear);
      double away = gear == 1 ? 0.0 : G_PI;

      for (guint i = 0; i < points; i++)
        {
          double angle = away - half + 2.0 * half * i / points;
          double *xy = &ring.xy[2 * (side * points + i)];

          xy[0] = (gear == 1 ? 0.5 : -0.5) * a + pocket_radius[gear] * cos (angle);
          xy[1] = pocket_radius[gear] * sin (angle);
        }
    }
  region = ef_region_new ();
  ef_region_take (region, ring);

  return region;
}
