/* Stock from the land's curve.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-stock-needed.h"

#include <math.h>

#define HAIR 1e-12 /* m */

const char *const ef_clean_goals[] = { "wholly", "residual", "share", NULL };

typedef struct
{
  double depth, weight;
} Piece;

static int
deeper_first (gconstpointer a,
              gconstpointer b)
{
  double difference = ((const Piece *) b)->depth - ((const Piece *) a)->depth;

  return difference > 0.0 ? 1 : difference < 0.0 ? -1 : 0;
}

/* Pieces of one depth become one. */
static void
take_pieces (EfLandCurve *self,
             GArray *pieces)
{
  g_array_sort (pieces, deeper_first);
  self->depth = g_new0 (double, pieces->len + 1);
  self->weight = g_new0 (double, pieces->len + 1);
  for (guint i = 0; i < pieces->len; i++)
    {
      const Piece *piece = &g_array_index (pieces, Piece, i);

      if (self->n == 0 || self->depth[self->n - 1] != piece->depth)
        self->depth[self->n++] = piece->depth;
      self->weight[self->n - 1] += piece->weight;
      self->total += piece->weight;
    }
}

static gboolean
add_piece (GArray *pieces,
           double depth,
           double weight,
           guint i,
           GError **error)
{
  Piece piece = { fmax (depth, 0.0), weight };

  if (!isfinite (depth) || !(weight >= 0.0) || !isfinite (weight))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "land[%u]: expected a depth and an area of at least 0, found %g and %g", i, depth, weight);
      return FALSE;
    }
  if (weight > 0.0)
    g_array_append_val (pieces, piece);

  return TRUE;
}

static gboolean
has_weight (const EfLandCurve *self,
            GError **error)
{
  if (self->total > 0.0)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "land: expected some area with weight, found none");

  return FALSE;
}

gboolean
ef_land_curve_init (EfLandCurve *self,
                    const double *depths,
                    const double *areas,
                    const double *weights,
                    guint n,
                    GError **error)
{
  g_autoptr (GArray) pieces = g_array_new (FALSE, FALSE, sizeof (Piece));

  *self = (EfLandCurve) { 0 };
  for (guint i = 0; i < n; i++)
    {
      if (!add_piece (pieces, depths[i], areas[i] * (weights != NULL ? weights[i] : 1.0), i, error))
        return FALSE;
      /* What weighs nothing must clean up all the same when all must. */
      self->deepest = fmax (self->deepest, depths[i]);
    }
  take_pieces (self, pieces);

  return has_weight (self, error);
}

gboolean
ef_land_curve_init_map (EfLandCurve *self,
                        const EfDepthMap *map,
                        const double *weights,
                        GError **error)
{
  g_autoptr (GArray) pieces = g_array_new (FALSE, FALSE, sizeof (Piece));
  double unworn = 0.0;

  *self = (EfLandCurve) { 0 };
  /* Most land isn't worn: one piece. */
  for (guint i = 0; i < map->nu * map->nv; i++)
    {
      double area = map->cell * map->cell * (weights != NULL ? weights[i] : 1.0);

      if (map->cover[i] > 0.0f && !add_piece (pieces, map->depth[i], area * map->cover[i], i, error))
        return FALSE;
      unworn += area * fmax (map->solid[i] - map->cover[i], 0.0);
    }
  if (!add_piece (pieces, 0.0, unworn, map->nu * map->nv, error))
    return FALSE;
  self->deepest = fmax (map->deepest, 0.0);
  take_pieces (self, pieces);

  return has_weight (self, error);
}

void
ef_land_curve_clear (EfLandCurve *self)
{
  g_clear_pointer (&self->depth, g_free);
  g_clear_pointer (&self->weight, g_free);
  self->n = 0;
}

double
ef_land_share (const EfLandCurve *self,
               double depth)
{
  double deeper = 0.0;

  for (guint i = 0; i < self->n && self->depth[i] > depth + HAIR; i++)
    deeper += self->weight[i];

  return 1.0 - deeper / self->total;
}

double
ef_land_depth (const EfLandCurve *self,
               double share)
{
  double deeper = 0.0;

  for (guint i = 0; i < self->n; i++)
    {
      deeper += self->weight[i];
      if (1.0 - deeper / self->total < share - 1e-12)
        return self->depth[i];
    }

  return 0.0;
}

double
ef_land_restored (const EfLandCurve *self,
                  double flatness,
                  double r)
{
  return ef_land_share (self, fmax (r - flatness, 0.0));
}

double
ef_stock_depth (const EfLandCurve *self,
                const EfCleanTarget *target)
{
  switch (target->goal)
    {
    case EF_CLEAN_TO_RESIDUAL:
      return self->deepest > target->residual + HAIR ? self->deepest - target->residual : 0.0;
    case EF_CLEAN_TO_SHARE:
      return ef_land_depth (self, target->share);
    default:
      return self->deepest;
    }
}

double
ef_stock_needed (const EfLandCurve *self,
                 double flatness,
                 const EfCleanTarget *target)
{
  double depth = ef_stock_depth (self, target);

  return depth > 0.0 ? flatness + depth : 0.0;
}
