/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-triangulation.h"

#include <geos_c.h>
#include <math.h>

static void
ignore_message (const char *message,
                void *user_data)
{
}

static guint
place_hash (gconstpointer data)
{
  const double *xy = data;

  return g_double_hash (&xy[0]) * 31 + g_double_hash (&xy[1]);
}

static gboolean
place_equal (gconstpointer a,
             gconstpointer b)
{
  const double *one = a, *other = b;

  return one[0] == other[0] && one[1] == other[1];
}

static GEOSGeometry *
make_points (GEOSContextHandle_t geos,
             const double *xy,
             guint n)
{
  GEOSCoordSequence *sequence = GEOSCoordSeq_copyFromBuffer_r (geos, xy, n, 0, 0);

  return sequence != NULL ? GEOSGeom_createLineString_r (geos, sequence) : NULL;
}

/* One triangle's corners as indices, anticlockwise. */
static gboolean
read_triangle (GEOSContextHandle_t geos,
               const GEOSGeometry *polygon,
               GHashTable *index,
               const double *xy,
               guint corners[3])
{
  const GEOSGeometry *ring = GEOSGetExteriorRing_r (geos, polygon);
  const GEOSCoordSequence *sequence = ring != NULL ? GEOSGeom_getCoordSeq_r (geos, ring) : NULL;
  const double *a, *b, *c;

  for (guint k = 0; k < 3; k++)
    {
      double at[2];
      gpointer found;

      if (sequence == NULL || !GEOSCoordSeq_getXY_r (geos, sequence, k, &at[0], &at[1])
          || !g_hash_table_lookup_extended (index, at, NULL, &found))
        return FALSE;
      corners[k] = GPOINTER_TO_UINT (found);
    }
  a = xy + 2 * corners[0];
  b = xy + 2 * corners[1];
  c = xy + 2 * corners[2];
  if ((b[0] - a[0]) * (c[1] - a[1]) < (b[1] - a[1]) * (c[0] - a[0]))
    {
      guint swap = corners[1];

      corners[1] = corners[2];
      corners[2] = swap;
    }

  return TRUE;
}

guint *
ef_triangulate (const double *xy,
                guint n,
                guint *n_triangles)
{
  g_autoptr (GHashTable) index = g_hash_table_new (place_hash, place_equal);
  GEOSContextHandle_t geos;
  GEOSGeometry *points, *triangles;
  guint *corners = NULL;
  int count;

  *n_triangles = 0;
  for (guint i = 0; i < n; i++)
    {
      if (!isfinite (xy[2 * i]) || !isfinite (xy[2 * i + 1]))
        return NULL;
      if (!g_hash_table_contains (index, xy + 2 * i))
        g_hash_table_insert (index, (gpointer) (xy + 2 * i), GUINT_TO_POINTER (i));
    }
  if (g_hash_table_size (index) < 3)
    return NULL;

  geos = GEOS_init_r ();
  GEOSContext_setErrorMessageHandler_r (geos, ignore_message, NULL);
  GEOSContext_setNoticeMessageHandler_r (geos, ignore_message, NULL);
  points = make_points (geos, xy, n);
  triangles = points != NULL ? GEOSDelaunayTriangulation_r (geos, points, 0, 0) : NULL;
  count = triangles != NULL ? GEOSGetNumGeometries_r (geos, triangles) : 0;
  corners = g_new (guint, 3 * (gsize) MAX (count, 0) + 1);
  for (int i = 0; i < count; i++)
    if (read_triangle (geos, GEOSGetGeometryN_r (geos, triangles, i), index, xy, corners + 3 * *n_triangles))
      *n_triangles += 1;
  if (triangles != NULL)
    GEOSGeom_destroy_r (geos, triangles);
  if (points != NULL)
    GEOSGeom_destroy_r (geos, points);
  GEOS_finish_r (geos);
  if (*n_triangles == 0)
    g_clear_pointer (&corners, g_free);

  return corners;
}
