/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-worn-map.h"

#include <math.h>
#include <string.h>

#define TILE EF_WORN_TILE

static double
left_depth (const EfWornMap *self,
            gsize k)
{
  return self->map->cover[k] > 0.0f ? MAX (self->map->depth[k] - self->stock, 0.0) : 0.0;
}

/* Marks the tiles that have a worn cell; FALSE when none has. */
static gboolean
find_worn (EfWornMap *self)
{
  const EfDepthMap *map = self->map;
  gboolean any = FALSE;

  self->tiles_u = (map->nu + TILE - 1) / TILE;
  self->tiles_v = (map->nv + TILE - 1) / TILE;
  self->worn = g_new0 (guint8, (gsize) self->tiles_u * self->tiles_v);
  for (guint j = 0; j < map->nv; j++)
    {
      const float *cover = map->cover + (gsize) j * map->nu;
      guint8 *tiles = self->worn + (gsize) (j / TILE) * self->tiles_u;

      for (guint i = 0; i < map->nu; i++)
        if (cover[i] > 0.0f && left_depth (self, (gsize) j * map->nu + i) > 0.0)
          {
            tiles[i / TILE] = 1;
            any = TRUE;
          }
    }

  return any;
}

static void
sum_columns (EfWornMap *self)
{
  const EfDepthMap *map = self->map;

  self->columns = g_new0 (EfWornColumn, map->nu);
  for (guint j = 0; j < map->nv; j++)
    for (guint i = 0; i < map->nu; i++)
      {
        double depth = left_depth (self, (gsize) j * map->nu + i);
        double cover = depth > 0.0 ? MIN (map->cover[(gsize) j * map->nu + i], 1.0) / map->nv : 0.0;

        self->columns[i].cover += cover;
        self->columns[i].depth += cover * depth;
        self->columns[i].depth2 += cover * depth * depth;
        self->columns[i].depth3 += cover * depth * depth * depth;
      }
}

const EfWornColumn *
ef_worn_map_column (EfWornMap *self,
                    double u)
{
  double i = floor ((u - self->map->u0) / self->map->cell);

  if (self->columns == NULL)
    sum_columns (self);
  if (!(i >= 0.0 && i < self->map->nu) || self->columns[(guint) i].cover == 0.0)
    return NULL;

  return &self->columns[(guint) i];
}

/* The chart's map from pump axes, found from where its own axes go. */
static void
find_axes (EfWornMap *self,
           const EfFaceChart *chart)
{
  double o[3], a[3], b[3];
  double m[2][2], det;

  ef_face_chart_to_pump (chart, 0.0, 0.0, o, NULL);
  ef_face_chart_to_pump (chart, 1e-3, 0.0, a, NULL);
  ef_face_chart_to_pump (chart, 0.0, 1e-3, b, NULL);
  for (int i = 0; i < 2; i++)
    {
      m[i][0] = (a[i] - o[i]) / 1e-3;
      m[i][1] = (b[i] - o[i]) / 1e-3;
    }
  det = m[0][0] * m[1][1] - m[0][1] * m[1][0];
  if (fabs (det) < 1e-9)
    return;
  self->axes[0][0] = m[1][1] / det;
  self->axes[0][1] = -m[0][1] / det;
  self->axes[1][0] = -m[1][0] / det;
  self->axes[1][1] = m[0][0] / det;
  for (int i = 0; i < 2; i++)
    self->origin[i] = -(self->axes[i][0] * o[0] + self->axes[i][1] * o[1]);
}

EfWornMap *
ef_worn_map_new (const EfFaceChart *chart,
                 EfDepthMap *map,
                 double stock)
{
  g_autoptr (EfWornMap) self = NULL;

  if (map == NULL)
    return NULL;
  self = g_new0 (EfWornMap, 1);
  self->ref_count = 1;
  self->map = ef_depth_map_ref (map);
  self->stock = stock;
  if (!find_worn (self))
    return NULL;
  find_axes (self, chart);

  return g_steal_pointer (&self);
}

EfWornMap *
ef_worn_map_ref (EfWornMap *self)
{
  g_atomic_int_inc (&self->ref_count);

  return self;
}

void
ef_worn_map_unref (EfWornMap *self)
{
  if (self == NULL || !g_atomic_int_dec_and_test (&self->ref_count))
    return;
  ef_depth_map_unref (self->map);
  g_free (self->worn);
  g_free (self->columns);
  g_free (self);
}

void
ef_worn_map_at (const EfWornMap *self,
                double u,
                double v,
                double *cover,
                double *depth)
{
  double i, j;
  gsize k;

  *cover = *depth = 0.0;
  if (self == NULL)
    return;
  i = floor ((u - self->map->u0) / self->map->cell);
  j = floor ((v - self->map->v0) / self->map->cell);
  if (!(i >= 0.0 && j >= 0.0 && i < self->map->nu && j < self->map->nv))
    return;
  k = (gsize) j * self->map->nu + (gsize) i;
  *depth = left_depth (self, k);
  if (*depth > 0.0)
    *cover = MIN (self->map->cover[k], 1.0);
}

gboolean
ef_tiles_clear (const EfDepthMap *map,
                const guint8 *tiles,
                guint tiles_u,
                double u,
                double v,
                double half)
{
  double scale = 1.0 / map->cell;
  int i0 = (int) CLAMP (floor ((u - half - map->u0) * scale), -1.0, 1e9);
  int i1 = (int) CLAMP (floor ((u + half - map->u0) * scale), -1.0, 1e9);
  int j0 = (int) CLAMP (floor ((v - half - map->v0) * scale), -1.0, 1e9);
  int j1 = (int) CLAMP (floor ((v + half - map->v0) * scale), -1.0, 1e9);

  i0 = MAX (i0, 0);
  j0 = MAX (j0, 0);
  i1 = MIN (i1, (int) map->nu - 1);
  j1 = MIN (j1, (int) map->nv - 1);
  if (i0 > i1 || j0 > j1)
    return TRUE;
  for (int j = j0 / TILE; j <= j1 / TILE; j++)
    for (int i = i0 / TILE; i <= i1 / TILE; i++)
      if (tiles[(gsize) j * tiles_u + i])
        return FALSE;

  return TRUE;
}

gboolean
ef_worn_map_untouched (const EfWornMap *self,
                       double u,
                       double v,
                       double half)
{
  return self == NULL || ef_tiles_clear (self->map, self->worn, self->tiles_u, u, v, half);
}

void
ef_worn_map_from_pump (const EfWornMap *self,
                       double x,
                       double y,
                       double *u,
                       double *v)
{
  *u = self->origin[0] + self->axes[0][0] * x + self->axes[0][1] * y;
  *v = self->origin[1] + self->axes[1][0] * x + self->axes[1][1] * y;
}
