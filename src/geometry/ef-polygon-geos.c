/* Regions through GEOS: area by the even-odd rule, set operations, growing, hull.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One GEOS context a call, so any thread may call. A ring that crosses itself is made valid first, which keeps the
 * even-odd rule; rings are then joined by symmetric difference, which is the even-odd rule between rings.
 */
#include "ef-polygon.h"

#include <math.h>
#include <geos_c.h>

#include "../base/ef-error.h"

/* Coordinates past this size can't be lengths of a pump, and squares of them stay far from overflow. */
#define LIMIT_METRES 1e6

typedef struct
{
  GEOSContextHandle_t handle;
  char message[256]; /* the last one from GEOS */
} Geos;

static void
keep_message (const char *message,
              void *data)
{
  g_strlcpy (((Geos *) data)->message, message, sizeof ((Geos *) data)->message);
}

static void
geos_open (Geos *geos)
{
  geos->handle = GEOS_init_r ();
  geos->message[0] = '\0';
  GEOSContext_setErrorMessageHandler_r (geos->handle, keep_message, geos);
}

static void
geos_close (Geos *geos)
{
  GEOS_finish_r (geos->handle);
}

static gboolean
geos_failed (const Geos *geos,
             const char *what,
             GError **error)
{
  g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "%s of outlines failed: %s", what, geos->message[0] != '\0' ? geos->message : "no reason given");

  return FALSE;
}

static gboolean
region_is_sound (const EfRegion *region,
                 GError **error)
{
  for (guint i = 0; i < region->n; i++)
    for (guint k = 0; k < 2 * region->rings[i].n; k++)
      if (!(fabs (region->rings[i].xy[k]) <= LIMIT_METRES))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "rings[%u], point %u: expected coordinates within ±1e6 m, found %g", i, k / 2, region->rings[i].xy[k]);
          return FALSE;
        }

  return TRUE;
}

/* A valid polygon or set of them; NULL on failure. Takes @geometry. */
static GEOSGeometry *
make_valid (Geos *geos,
            GEOSGeometry *geometry)
{
  GEOSGeometry *valid;

  if (geometry == NULL || GEOSisValid_r (geos->handle, geometry) == 1)
    return geometry;
  valid = GEOSMakeValid_r (geos->handle, geometry);
  GEOSGeom_destroy_r (geos->handle, geometry);

  return valid;
}

static GEOSGeometry *
ring_to_geos (Geos *geos,
              const EfRing *ring)
{
  GEOSCoordSequence *points = GEOSCoordSeq_create_r (geos->handle, ring->n + 1, 2);
  GEOSGeometry *edge;

  if (points == NULL)
    return NULL;
  for (guint i = 0; i <= ring->n; i++)
    GEOSCoordSeq_setXY_r (geos->handle, points, i, ring->xy[2 * (i % ring->n)], ring->xy[2 * (i % ring->n) + 1]);
  edge = GEOSGeom_createLinearRing_r (geos->handle, points);
  if (edge == NULL)
    return NULL;

  return make_valid (geos, GEOSGeom_createPolygon_r (geos->handle, edge, NULL, 0));
}

static GEOSGeometry *
region_to_geos (Geos *geos,
                const EfRegion *region)
{
  GEOSGeometry *sum = GEOSGeom_createEmptyPolygon_r (geos->handle);
  gboolean empty = TRUE;

  for (guint i = 0; i < region->n && sum != NULL; i++)
    {
      GEOSGeometry *part;
      GEOSGeometry *next;

      if (region->rings[i].n < 3)
        continue;
      part = ring_to_geos (geos, &region->rings[i]);
      if (part == NULL)
        {
          GEOSGeom_destroy_r (geos->handle, sum);
          return NULL;
        }
      if (empty)
        next = GEOSGeom_clone_r (geos->handle, part);
      else
        next = GEOSSymDifference_r (geos->handle, sum, part);
      empty = FALSE;
      GEOSGeom_destroy_r (geos->handle, part);
      GEOSGeom_destroy_r (geos->handle, sum);
      sum = next;
    }

  return sum;
}

static void
take_edge (Geos *geos,
           const GEOSGeometry *edge,
           gboolean outer,
           EfRegion *region)
{
  const GEOSCoordSequence *points = GEOSGeom_getCoordSeq_r (geos->handle, edge);
  unsigned int n = 0;
  EfRing ring;

  if (points == NULL || !GEOSCoordSeq_getSize_r (geos->handle, points, &n) || n < 4)
    return;
  ring = ef_ring_new (n - 1, NULL);
  for (guint i = 0; i + 1 < n; i++)
    GEOSCoordSeq_getXY_r (geos->handle, points, i, &ring.xy[2 * i], &ring.xy[2 * i + 1]);
  /* Outer edges anticlockwise, holes clockwise. */
  if ((ef_ring_area (&ring) > 0.0) != outer)
    for (guint i = 0, j = ring.n - 1; i < j; i++, j--)
      for (guint k = 0; k < 2; k++)
        {
          double swap = ring.xy[2 * i + k];

          ring.xy[2 * i + k] = ring.xy[2 * j + k];
          ring.xy[2 * j + k] = swap;
        }
  ef_region_take (region, ring);
}

static void
take_geometry (Geos *geos,
               const GEOSGeometry *geometry,
               EfRegion *region)
{
  int type = GEOSGeomTypeId_r (geos->handle, geometry);

  if (GEOSisEmpty_r (geos->handle, geometry) == 1)
    return;
  if (type == GEOS_POLYGON)
    {
      take_edge (geos, GEOSGetExteriorRing_r (geos->handle, geometry), TRUE, region);
      for (int i = 0; i < GEOSGetNumInteriorRings_r (geos->handle, geometry); i++)
        take_edge (geos, GEOSGetInteriorRingN_r (geos->handle, geometry, i), FALSE, region);
    }
  else if (type == GEOS_MULTIPOLYGON || type == GEOS_GEOMETRYCOLLECTION)
    for (int i = 0; i < GEOSGetNumGeometries_r (geos->handle, geometry); i++)
      take_geometry (geos, GEOSGetGeometryN_r (geos->handle, geometry, i), region);
}

/* Takes @result. */
static EfRegion *
finish (Geos *geos,
        GEOSGeometry *result,
        const char *what,
        GError **error)
{
  EfRegion *region = NULL;

  if (result != NULL)
    {
      region = ef_region_new ();
      take_geometry (geos, result, region);
      GEOSGeom_destroy_r (geos->handle, result);
    }
  else
    geos_failed (geos, what, error);
  geos_close (geos);

  return region;
}

double
ef_region_area (const EfRegion *region)
{
  Geos geos;
  GEOSGeometry *geometry;
  double area = NAN;

  if (!region_is_sound (region, NULL))
    return NAN;
  geos_open (&geos);
  geometry = region_to_geos (&geos, region);
  if (geometry != NULL)
    {
      if (GEOSArea_r (geos.handle, geometry, &area) != 1)
        area = NAN;
      GEOSGeom_destroy_r (geos.handle, geometry);
    }
  geos_close (&geos);

  return area;
}

EfRegion *
ef_region_combine (const EfRegion *a,
                   const EfRegion *b,
                   EfRegionOp op,
                   GError **error)
{
  static const char *const names[] = { "union", "intersection", "difference" };
  Geos geos;
  GEOSGeometry *left;
  GEOSGeometry *right;
  GEOSGeometry *result = NULL;

  g_return_val_if_fail ((guint) op < G_N_ELEMENTS (names), NULL);
  if (!region_is_sound (a, error) || !region_is_sound (b, error))
    return NULL;

  geos_open (&geos);
  left = region_to_geos (&geos, a);
  right = region_to_geos (&geos, b);
  if (left != NULL && right != NULL)
    switch (op)
      {
      case EF_REGION_UNION:
        result = GEOSUnion_r (geos.handle, left, right);
        break;
      case EF_REGION_INTERSECTION:
        result = GEOSIntersection_r (geos.handle, left, right);
        break;
      case EF_REGION_DIFFERENCE:
      default:
        result = GEOSDifference_r (geos.handle, left, right);
        break;
      }
  GEOSGeom_destroy_r (geos.handle, left);
  GEOSGeom_destroy_r (geos.handle, right);

  return finish (&geos, result, names[op], error);
}

EfRegion *
ef_region_buffer (const EfRegion *region,
                  double distance,
                  guint segments,
                  GError **error)
{
  Geos geos;
  GEOSGeometry *geometry;
  GEOSGeometry *result = NULL;

  if (!(fabs (distance) <= LIMIT_METRES) || segments < 1 || segments > 1000)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "distance: expected within ±1e6 m with 1 to 1000 segments, found %g m with %u", distance, segments);
      return NULL;
    }
  if (!region_is_sound (region, error))
    return NULL;

  geos_open (&geos);
  geometry = region_to_geos (&geos, region);
  if (geometry != NULL)
    {
      result = GEOSBuffer_r (geos.handle, geometry, distance, (int) segments);
      GEOSGeom_destroy_r (geos.handle, geometry);
    }

  return finish (&geos, result, "buffer", error);
}

static GEOSGeometry *
line_to_geos (Geos *geos,
              guint n,
              const double *xy)
{
  GEOSCoordSequence *places = GEOSCoordSeq_create_r (geos->handle, n, 2);

  for (guint i = 0; places != NULL && i < n; i++)
    GEOSCoordSeq_setXY_r (geos->handle, places, i, xy[2 * i], xy[2 * i + 1]);

  return places != NULL ? GEOSGeom_createLineString_r (geos->handle, places) : NULL;
}

EfRegion *
ef_region_line (guint n,
                const double *xy,
                double width,
                guint segments,
                GError **error)
{
  Geos geos;
  GEOSGeometry *line;
  GEOSGeometry *result = NULL;

  if (n < 2 || !(width > 0 && width <= LIMIT_METRES) || segments < 1 || segments > 1000)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "line: expected 2 places or more, a width above 0 and 1 to 1000 segments, found %u, %g m, %u", n, width, segments);
      return NULL;
    }
  for (guint i = 0; i < 2 * n; i++)
    if (!(fabs (xy[i]) <= LIMIT_METRES))
      {
        g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "line: expected places within ±1e6 m, found %g m", xy[i]);
        return NULL;
      }

  geos_open (&geos);
  line = line_to_geos (&geos, n, xy);
  if (line != NULL)
    {
      result = GEOSBuffer_r (geos.handle, line, width / 2, (int) segments);
      GEOSGeom_destroy_r (geos.handle, line);
    }

  return finish (&geos, result, "line", error);
}

EfRegion *
ef_region_hull (const EfRegion *region,
                GError **error)
{
  Geos geos;
  GEOSGeometry *geometry;
  GEOSGeometry *result = NULL;

  if (!region_is_sound (region, error))
    return NULL;

  geos_open (&geos);
  geometry = region_to_geos (&geos, region);
  if (geometry != NULL)
    {
      result = GEOSConvexHull_r (geos.handle, geometry);
      GEOSGeom_destroy_r (geos.handle, geometry);
    }

  return finish (&geos, result, "hull", error);
}
