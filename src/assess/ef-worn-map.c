/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-worn-map.h"

#include <math.h>

static double
left_depth (const EfWornMap *self,
            gsize k)
{
  return self->map->cover[k] > 0.0f ? MAX (self->map->depth[k] - self->stock, 0.0) : 0.0;
}

static guint32
sum_worn (EfWornMap *self)
{
  guint nu = self->map->nu;
  guint nv = self->map->nv;
  gsize stride = nu + 1;

  self->worn_sum = g_new0 (guint32, stride * (nv + 1));
  for (guint j = 0; j < nv; j++)
    {
      guint32 row = 0;

      for (guint i = 0; i < nu; i++)
        {
          row += left_depth (self, (gsize) j * nu + i) > 0.0;
          self->worn_sum[(j + 1) * stride + i + 1] = self->worn_sum[j * stride + i + 1] + row;
        }
    }

  return self->worn_sum[stride * (nv + 1) - 1];
}

static void
find_worn_columns (EfWornMap *self)
{
  gsize stride = self->map->nu + 1;
  const guint32 *all = self->worn_sum + self->map->nv * stride;

  self->column_worn = g_new (guint8, self->map->nu);
  for (guint i = 0; i < self->map->nu; i++)
    self->column_worn[i] = all[i + 1] != all[i];
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
  self->map = ef_depth_map_ref (map);
  self->stock = stock;
  if (sum_worn (self) == 0)
    return NULL;
  find_worn_columns (self);
  find_axes (self, chart);

  return g_steal_pointer (&self);
}

void
ef_worn_map_free (EfWornMap *self)
{
  if (self == NULL)
    return;
  ef_depth_map_unref (self->map);
  g_free (self->worn_sum);
  g_free (self->column_worn);
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
ef_worn_map_untouched (const EfWornMap *self,
                       double u,
                       double v,
                       double half)
{
  int i0, i1, j0, j1;
  gsize stride;

  if (self == NULL)
    return TRUE;
  i0 = CLAMP ((int) floor ((u - half - self->map->u0) / self->map->cell), 0, (int) self->map->nu);
  i1 = CLAMP ((int) floor ((u + half - self->map->u0) / self->map->cell) + 1, 0, (int) self->map->nu);
  j0 = CLAMP ((int) floor ((v - half - self->map->v0) / self->map->cell), 0, (int) self->map->nv);
  j1 = CLAMP ((int) floor ((v + half - self->map->v0) / self->map->cell) + 1, 0, (int) self->map->nv);
  if (i0 >= i1 || j0 >= j1)
    return TRUE;
  stride = self->map->nu + 1;

  return self->worn_sum[j1 * stride + i1] - self->worn_sum[j0 * stride + i1] == self->worn_sum[j1 * stride + i0] - self->worn_sum[j0 * stride + i0];
}

gboolean
ef_worn_map_column_untouched (const EfWornMap *self,
                              double u)
{
  double i = self != NULL ? floor ((u - self->map->u0) / self->map->cell) : -1.0;

  return !(i >= 0.0 && i < self->map->nu) || !self->column_worn[(guint) i];
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
