/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-land.h"

#include "../rework/ef-lap-work.h"

#include <glib/gi18n.h>
#include <math.h>
#include <string.h>

/* One face as it was last worked out. */
typedef struct
{
  EfFlowWeights *from; /* held; NULL: none */
  EfDepthBase *base;   /* held: the cells are this grid's */
  double *cells;       /* NULL: no film there */
  EfDepthMap *map;     /* held */
  EfFaceLand *land;
} Kept;

struct _EfLandCache
{
  GMutex lock;
  GHashTable *faces; /* face id -> Kept * */
};

EfFaceLand *
ef_face_land_ref (EfFaceLand *self)
{
  g_atomic_int_inc (&self->ref_count);

  return self;
}

void
ef_face_land_unref (EfFaceLand *self)
{
  if (self == NULL || !g_atomic_int_dec_and_test (&self->ref_count))
    return;
  ef_land_curve_clear (&self->area);
  ef_land_curve_clear (&self->sealing);
  g_free (self->rests_on);
  g_free (self->face_id);
  g_free (self);
}

const EfLandCurve *
ef_face_land_curve (const EfFaceLand *self)
{
  return self->by_leakage ? &self->sealing : &self->area;
}

double
ef_face_land_restored (const EfFaceLand *self,
                       double flatness,
                       double r)
{
  return ef_land_restored (ef_face_land_curve (self), flatness, r);
}

double
ef_face_land_needed (const EfFaceLand *self,
                     double flatness)
{
  const EfCleanTarget target = { .goal = EF_CLEAN_TO_SHARE, .share = EF_SEALING_SHARE };

  return ef_stock_needed (ef_face_land_curve (self), flatness, &target);
}

static void
kept_free (gpointer data)
{
  Kept *kept = data;

  ef_flow_weights_unref (kept->from);
  g_clear_pointer (&kept->base, ef_depth_base_unref);
  g_clear_pointer (&kept->map, ef_depth_map_unref);
  ef_face_land_unref (kept->land);
  g_free (kept->cells);
  g_free (kept);
}

EfLandCache *
ef_land_cache_new (void)
{
  EfLandCache *cache = g_new0 (EfLandCache, 1);

  g_mutex_init (&cache->lock);
  cache->faces = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, kept_free);

  return cache;
}

void
ef_land_cache_free (EfLandCache *cache)
{
  if (cache == NULL)
    return;
  g_hash_table_unref (cache->faces);
  g_mutex_clear (&cache->lock);
  g_free (cache);
}

static void
take_weights (Kept *kept,
              EfFlowWeights *weights,
              const EfFaceChart *chart,
              EfDepthMap *map)
{
  if (kept->from == weights && kept->base == map->base && kept->base != NULL)
    return;
  g_clear_pointer (&kept->from, ef_flow_weights_unref);
  g_clear_pointer (&kept->base, ef_depth_base_unref);
  g_clear_pointer (&kept->cells, g_free);
  kept->from = weights != NULL ? ef_flow_weights_ref (weights) : NULL;
  kept->base = map->base != NULL ? ef_depth_base_ref (map->base) : NULL;
  kept->cells = weights != NULL ? ef_flow_weights_on (weights, chart, map) : NULL;
  g_clear_pointer (&kept->map, ef_depth_map_unref);
}

/* NULL when the face has no material at all. */
static EfFaceLand *
land_new (const Kept *kept,
          const char *face_id,
          const EfDepthMap *map,
          const char *no_film)
{
  EfFaceLand *self = g_new0 (EfFaceLand, 1);

  self->ref_count = 1;
  self->face_id = g_strdup (face_id);
  if (!ef_land_curve_init_map (&self->area, map, NULL, NULL))
    {
      ef_face_land_unref (self);
      return NULL;
    }
  self->by_leakage = kept->cells != NULL && ef_land_curve_init_map (&self->sealing, map, kept->cells, NULL);
  if (self->by_leakage)
    self->rests_on = g_strdup (_("what each place costs in leakage, from the oil film as new at hot idle"));
  else if (kept->from == NULL)
    self->rests_on = g_strdup_printf (_("area alone: no oil film is worked out (%s)"), no_film);
  else
    self->rests_on = g_strdup (_("area alone: the gear ends of the pressure section don't run on this face"));

  return self;
}

static void
add_face (GPtrArray *all,
          GHashTable *faces,
          const EfFaceChart *chart,
          EfDepthMap *map,
          EfFlowWeights *weights,
          const char *no_film)
{
  Kept *kept = g_hash_table_lookup (faces, chart->id);

  if (kept == NULL)
    {
      kept = g_new0 (Kept, 1);
      g_hash_table_insert (faces, g_strdup (chart->id), kept);
    }
  take_weights (kept, weights, chart, map);
  if (kept->map != map)
    {
      g_clear_pointer (&kept->map, ef_depth_map_unref);
      g_clear_pointer (&kept->land, ef_face_land_unref);
      kept->map = ef_depth_map_ref (map);
      kept->land = land_new (kept, chart->id, map, no_film);
    }
  if (kept->land != NULL)
    g_ptr_array_add (all, ef_face_land_ref (kept->land));
}

static gboolean
is_worn (const EfDepthMap *map)
{
  return map != NULL && map->deepest > 0.0;
}

GPtrArray *
ef_assess_land (const EfFindings *findings,
                EfFlowCache *flow,
                EfLandCache *cache,
                GCancellable *cancellable,
                GError **error)
{
  GPtrArray *all = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_face_land_unref);
  EfLandCache *own = cache == NULL ? ef_land_cache_new () : NULL;
  EfLandCache *use = cache != NULL ? cache : own;
  g_autoptr (GError) problem = NULL;
  g_autoptr (EfFlowWeights) weights = ef_flow_weights_new (findings, flow, cancellable, &problem);
  g_auto (GStrv) faces = ef_face_ids (findings->inspection->sheet);

  g_mutex_lock (&use->lock);
  for (guint i = 0; faces[i] != NULL && !g_error_matches (problem, EF_ERROR, EF_ERROR_CANCELLED); i++)
    {
      const EfFaceChart *chart = g_hash_table_lookup (findings->charts, faces[i]);
      EfDepthMap *map = g_hash_table_lookup (findings->maps, faces[i]);

      if (chart != NULL && is_worn (map) && ef_lap_is_plan_face (findings->inspection->sheet, faces[i]))
        add_face (all, use->faces, chart, map, weights, problem != NULL ? problem->message : "not known why");
    }
  g_mutex_unlock (&use->lock);
  ef_land_cache_free (own);
  if (!g_error_matches (problem, EF_ERROR, EF_ERROR_CANCELLED))
    return all;
  g_propagate_error (error, g_steal_pointer (&problem));
  g_ptr_array_unref (all);

  return NULL;
}

const EfFaceLand *
ef_face_land_find (GPtrArray *land,
                   const char *face_id)
{
  for (guint i = 0; land != NULL && i < land->len; i++)
    if (g_str_equal (((const EfFaceLand *) land->pdata[i])->face_id, face_id))
      return land->pdata[i];

  return NULL;
}
