/* Rings and regions: plain storage, area, containment.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-polygon.h"

#include <math.h>
#include <string.h>

EfRing
ef_ring_new (guint n,
             const double *xy)
{
  EfRing ring = { n, g_new0 (double, 2 * (gsize) n) };

  if (xy != NULL && n > 0)
    memcpy (ring.xy, xy, 2 * (gsize) n * sizeof (double));

  return ring;
}

EfRing
ef_ring_circle (double x,
                double y,
                double radius,
                guint n)
{
  EfRing ring = ef_ring_new (n, NULL);

  for (guint i = 0; i < n; i++)
    {
      ring.xy[2 * i] = x + radius * cos (2.0 * G_PI * i / n);
      ring.xy[2 * i + 1] = y + radius * sin (2.0 * G_PI * i / n);
    }

  return ring;
}

void
ef_ring_clear (EfRing *ring)
{
  g_clear_pointer (&ring->xy, g_free);
  ring->n = 0;
}

/* Triangles about the first point, so that a small ring far from the origin keeps its digits. */
double
ef_ring_area (const EfRing *ring)
{
  double twice = 0.0;

  for (guint i = 1; i + 1 < ring->n; i++)
    {
      double ax = ring->xy[2 * i] - ring->xy[0];
      double ay = ring->xy[2 * i + 1] - ring->xy[1];
      double bx = ring->xy[2 * i + 2] - ring->xy[0];
      double by = ring->xy[2 * i + 3] - ring->xy[1];

      twice += ax * by - ay * bx;
    }

  return 0.5 * twice;
}

gboolean
ef_ring_contains (const EfRing *ring,
                  double x,
                  double y)
{
  gboolean inside = FALSE;

  for (guint i = 0, j = ring->n - 1; i < ring->n; j = i++)
    {
      double xi = ring->xy[2 * i];
      double yi = ring->xy[2 * i + 1];
      double xj = ring->xy[2 * j];
      double yj = ring->xy[2 * j + 1];

      if ((yi > y) != (yj > y) && x < xi + (xj - xi) * (y - yi) / (yj - yi))
        inside = !inside;
    }

  return inside;
}

EfRegion *
ef_region_new (void)
{
  return g_new0 (EfRegion, 1);
}

EfRegion *
ef_region_copy (const EfRegion *region)
{
  EfRegion *copy = ef_region_new ();

  copy->rings = g_new0 (EfRing, region->n);
  for (guint i = 0; i < region->n; i++)
    copy->rings[i] = ef_ring_new (region->rings[i].n, region->rings[i].xy);
  copy->n = region->n;

  return copy;
}

void
ef_region_free (EfRegion *region)
{
  if (region == NULL)
    return;
  for (guint i = 0; i < region->n; i++)
    ef_ring_clear (&region->rings[i]);
  g_free (region->rings);
  g_free (region);
}

void
ef_region_take (EfRegion *region,
                EfRing ring)
{
  region->rings = g_renew (EfRing, region->rings, region->n + 1);
  region->rings[region->n++] = ring;
}

gboolean
ef_region_contains (const EfRegion *region,
                    double x,
                    double y)
{
  gboolean inside = FALSE;

  for (guint i = 0; i < region->n; i++)
    if (ef_ring_contains (&region->rings[i], x, y))
      inside = !inside;

  return inside;
}

void
ef_region_bounds (const EfRegion *region,
                  double bounds[4])
{
  gboolean any = FALSE;

  for (guint i = 0; i < region->n; i++)
    for (guint k = 0; k < region->rings[i].n; k++)
      {
        double x = region->rings[i].xy[2 * k];
        double y = region->rings[i].xy[2 * k + 1];

        if (!any)
          {
            bounds[0] = bounds[2] = x;
            bounds[1] = bounds[3] = y;
            any = TRUE;
            continue;
          }
        bounds[0] = fmin (bounds[0], x);
        bounds[1] = fmin (bounds[1], y);
        bounds[2] = fmax (bounds[2], x);
        bounds[3] = fmax (bounds[3], y);
      }
  if (!any)
    bounds[0] = bounds[1] = bounds[2] = bounds[3] = 0.0;
}
