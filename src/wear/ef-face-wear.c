/* Figures of a face from its depth map: areas, volume, bands, bearing-area curve.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-depth-base.h"

#include <math.h>

static double
band_intact (const GArray *cells,
             const EfDepthMap *map)
{
  double area = 0, worn = 0;

  for (guint k = 0; k < cells->len; k++)
    {
      const EfBandCell *cell = &g_array_index (cells, EfBandCell, k);

      area += cell->share;
      if (map->cover[cell->cell] > 0)
        worn += (double) cell->share * map->cover[cell->cell] / map->solid[cell->cell];
    }

  return area > 0 ? CLAMP (1 - worn / area, 0, 1) : 1;
}

static void
measure_bands (const EfFaceChart *chart,
               const EfDepthMap *map,
               EfFaceWear *wear)
{
  g_autoptr (EfDepthBase) own = NULL;
  const EfDepthBase *base = map->base;

  wear->n_bands = chart->bands != NULL ? chart->bands->len : 0;
  wear->band_intact = g_new0 (double, MAX (wear->n_bands, 1));
  if (base == NULL && wear->n_bands > 0)
    base = own = ef_depth_base_new (chart, map->cell, NULL);
  for (guint i = 0; i < wear->n_bands; i++)
    wear->band_intact[i] = base != NULL ? band_intact (base->bands->pdata[i], map) : NAN;
}

void
ef_face_wear_from_map (const EfFaceChart *chart,
                       const EfDepthMap *map,
                       EfFaceWear *wear)
{
  gsize n = (gsize) map->nu * map->nv;
  gsize deepest = n;
  double material = map->base != NULL ? map->base->material : 0;
  double worn = 0, volume = 0;

  for (gsize i = 0; i < n; i++)
    {
      if (map->base == NULL)
        material += map->solid[i];
      if (map->cover[i] <= 0)
        continue;
      worn += map->cover[i];
      volume += (double) map->cover[i] * map->depth[i];
      if (deepest == n || map->depth[i] > map->depth[deepest])
        deepest = i;
    }

  *wear = (EfFaceWear){
    .material_area = material * map->cell * map->cell,
    .worn_area = worn * map->cell * map->cell,
    .worn_share = material > 0 ? worn / material : 0,
    .volume = volume * map->cell * map->cell,
    .deepest_u = NAN,
    .deepest_v = NAN,
  };
  if (deepest < n)
    {
      wear->deepest = map->depth[deepest];
      wear->deepest_u = map->u0 + ((double) (deepest % map->nu) + 0.5) * map->cell;
      wear->deepest_v = map->v0 + ((double) (deepest / map->nu) + 0.5) * map->cell;
    }
  if (map->deepest > wear->deepest)
    {
      wear->deepest = map->deepest;
      wear->deepest_u = map->deepest_u;
      wear->deepest_v = map->deepest_v;
    }
  measure_bands (chart, map, wear);
}

void
ef_face_wear_clear (EfFaceWear *wear)
{
  g_clear_pointer (&wear->band_intact, g_free);
  wear->n_bands = 0;
}

/* The first of n even depths up to @deepest that is at least @depth. */
static guint
first_reached (const double *depths,
               guint n,
               double deepest,
               double depth)
{
  guint k = n > 1 && deepest > 0 ? (guint) CLAMP (floor (depth / deepest * (n - 1)), 0, n - 1) : 0;

  while (k > 0 && depths[k - 1] >= depth)
    k--;
  while (k < n && depths[k] < depth)
    k++;
  return k;
}

void
ef_bearing_area_curve (const EfDepthMap *map,
                       guint n,
                       double *depths,
                       double *shares)
{
  gsize cells = (gsize) map->nu * map->nv;
  double deepest = 0, material = 0, sum = 0;

  if (n == 0)
    return;
  for (gsize i = 0; i < cells; i++)
    {
      material += map->solid[i];
      if (map->cover[i] > 0)
        deepest = MAX (deepest, map->depth[i]);
    }
  for (guint k = 0; k < n; k++)
    {
      depths[k] = k == 0 ? 0 : k == n - 1 ? deepest : deepest * k / (n - 1);
      shares[k] = 0;
    }
  for (gsize i = 0; i < cells; i++)
    {
      guint k;

      if (map->solid[i] <= 0)
        continue;
      shares[0] += (double) map->solid[i] - map->cover[i];
      k = map->cover[i] > 0 ? first_reached (depths, n, deepest, map->depth[i]) : n;
      if (k < n)
        shares[k] += map->cover[i];
    }
  for (guint k = 0; k < n; k++)
    {
      sum += shares[k];
      shares[k] = material > 0 ? MIN (sum / material, 1) : NAN;
    }
}

double
ef_bearing_area_share (const EfDepthMap *map,
                       double depth)
{
  gsize cells = (gsize) map->nu * map->nv;
  double material = 0, reached = 0;

  for (gsize i = 0; i < cells; i++)
    {
      material += map->solid[i];
      if (depth >= 0)
        reached += (double) map->solid[i] - map->cover[i];
      if (map->cover[i] > 0 && map->depth[i] <= depth)
        reached += map->cover[i];
    }

  return material > 0 ? MIN (reached / material, 1) : NAN;
}

double
ef_bearing_area_share_of (const double *depths,
                          const double *areas,
                          guint n,
                          double depth)
{
  double all = 0, reached = 0;

  for (guint i = 0; i < n; i++)
    {
      all += areas[i];
      if (depths[i] <= depth)
        reached += areas[i];
    }

  return all > 0 ? reached / all : NAN;
}
