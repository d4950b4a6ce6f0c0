/* Charts, depth maps and wear that can be used again.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-assess-cache.h"

/* A face as it was last computed. */
typedef struct
{
  GPtrArray *marks; /* EfMark *, owned */
  EfDepthMap *map;
  EfFaceWear wear;
} CachedFace;

struct _EfAssessCache
{
  gint ref_count;
  GMutex mutex;
  EfPumpSheet *sheet;
  GHashTable *charts; /* face id -> EfFaceChart * */
  GHashTable *bases;  /* face id -> EfDepthBase *, of faces that ever had a mark */
  GHashTable *faces;  /* face id -> CachedFace * */
  guint misses;
  EfFlowCache *flow; /* has a lock of its own */
  EfLandCache *land; /* likewise */
  EfLapTable *lapping; /* rates the shop has learned; NULL: the shipped ones */
};

static void
cached_face_free (CachedFace *face)
{
  g_ptr_array_unref (face->marks);
  ef_depth_map_unref (face->map);
  ef_face_wear_clear (&face->wear);
  g_free (face);
}

EfAssessCache *
ef_assess_cache_new (void)
{
  EfAssessCache *cache = g_new0 (EfAssessCache, 1);

  cache->ref_count = 1;
  g_mutex_init (&cache->mutex);
  cache->flow = ef_flow_cache_new ();
  cache->land = ef_land_cache_new ();
  cache->charts = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) ef_face_chart_unref);
  cache->bases = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) ef_depth_base_unref);
  cache->faces = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) cached_face_free);

  return cache;
}

EfAssessCache *
ef_assess_cache_ref (EfAssessCache *cache)
{
  g_atomic_int_inc (&cache->ref_count);

  return cache;
}

void
ef_assess_cache_unref (EfAssessCache *cache)
{
  if (cache == NULL || !g_atomic_int_dec_and_test (&cache->ref_count))
    return;

  ef_flow_cache_free (cache->flow);
  ef_land_cache_free (cache->land);
  g_clear_pointer (&cache->lapping, ef_lap_table_unref);
  g_clear_pointer (&cache->sheet, ef_pump_sheet_unref);
  g_hash_table_unref (cache->charts);
  g_hash_table_unref (cache->bases);
  g_hash_table_unref (cache->faces);
  g_mutex_clear (&cache->mutex);
  g_free (cache);
}

void
ef_assess_cache_take_lapping (EfAssessCache *cache,
                              EfLapTable *table)
{
  g_mutex_lock (&cache->mutex);
  g_clear_pointer (&cache->lapping, ef_lap_table_unref);
  cache->lapping = table;
  g_mutex_unlock (&cache->mutex);
}

EfLapTable *
ef_assess_cache_lapping (EfAssessCache *cache)
{
  EfLapTable *table = NULL;

  if (cache == NULL)
    return NULL;
  g_mutex_lock (&cache->mutex);
  if (cache->lapping != NULL)
    table = ef_lap_table_ref (cache->lapping);
  g_mutex_unlock (&cache->mutex);

  return table;
}

EfFlowCache *
ef_assess_cache_flow (EfAssessCache *cache)
{
  return cache->flow;
}

EfLandCache *
ef_assess_cache_land (EfAssessCache *cache)
{
  return cache->land;
}

guint
ef_assess_cache_misses (EfAssessCache *cache)
{
  guint misses;

  g_mutex_lock (&cache->mutex);
  misses = cache->misses;
  g_mutex_unlock (&cache->mutex);

  return misses;
}

/* With the mutex held. */
static void
serve_sheet (EfAssessCache *cache,
             EfPumpSheet *sheet)
{
  if (cache->sheet == sheet)
    return;
  g_hash_table_remove_all (cache->charts);
  g_hash_table_remove_all (cache->bases);
  g_hash_table_remove_all (cache->faces);
  g_clear_pointer (&cache->sheet, ef_pump_sheet_unref);
  cache->sheet = ef_pump_sheet_ref (sheet);
}

static EfFaceChart *
get_chart (EfAssessCache *cache,
           EfPumpSheet *sheet,
           const char *face_id,
           GError **error)
{
  EfFaceChart *chart = NULL;

  if (cache == NULL)
    return ef_face_chart_new (sheet, face_id, error);

  g_mutex_lock (&cache->mutex);
  serve_sheet (cache, sheet);
  chart = g_hash_table_lookup (cache->charts, face_id);
  if (chart != NULL)
    ef_face_chart_ref (chart);
  g_mutex_unlock (&cache->mutex);
  if (chart != NULL)
    return chart;

  chart = ef_face_chart_new (sheet, face_id, error);
  if (chart == NULL)
    return NULL;
  g_mutex_lock (&cache->mutex);
  serve_sheet (cache, sheet);
  g_hash_table_replace (cache->charts, g_strdup (face_id), ef_face_chart_ref (chart));
  g_mutex_unlock (&cache->mutex);

  return chart;
}

static EfDepthBase *
get_base (EfAssessCache *cache,
          EfPumpSheet *sheet,
          const EfFaceChart *chart,
          GError **error)
{
  EfDepthBase *base = NULL;

  if (cache == NULL)
    return ef_depth_base_new (chart, 0.0, error);
  g_mutex_lock (&cache->mutex);
  serve_sheet (cache, sheet);
  base = g_hash_table_lookup (cache->bases, chart->id);
  if (base != NULL)
    ef_depth_base_ref (base);
  g_mutex_unlock (&cache->mutex);
  if (base != NULL)
    return base;

  base = ef_depth_base_new (chart, 0.0, error);
  if (base == NULL)
    return NULL;
  g_mutex_lock (&cache->mutex);
  serve_sheet (cache, sheet);
  g_hash_table_replace (cache->bases, g_strdup (chart->id), ef_depth_base_ref (base));
  g_mutex_unlock (&cache->mutex);

  return base;
}

static gboolean
same_marks (GPtrArray *a,
            GPtrArray *b)
{
  if (a->len != b->len)
    return FALSE;
  for (guint i = 0; i < a->len; i++)
    if (a->pdata[i] != b->pdata[i])
      return FALSE;

  return TRUE;
}

static void
copy_wear (EfFaceWear *to,
           const EfFaceWear *from)
{
  *to = *from;
  to->band_intact = from->n_bands > 0 ? g_memdup2 (from->band_intact, from->n_bands * sizeof (double)) : NULL;
}

/* TRUE and a map with its wear where the face is as it was. */
static gboolean
look_up (EfAssessCache *cache,
         EfPumpSheet *sheet,
         const char *face_id,
         GPtrArray *marks,
         EfDepthMap **map_out,
         EfFaceWear *wear_out)
{
  const CachedFace *face;
  gboolean hit;

  if (cache == NULL)
    return FALSE;
  g_mutex_lock (&cache->mutex);
  serve_sheet (cache, sheet);
  face = g_hash_table_lookup (cache->faces, face_id);
  hit = face != NULL && same_marks (face->marks, marks);
  if (hit)
    {
      *map_out = ef_depth_map_ref (face->map);
      copy_wear (wear_out, &face->wear);
    }
  else
    {
      cache->misses++;
    }
  g_mutex_unlock (&cache->mutex);

  return hit;
}

static void
keep (EfAssessCache *cache,
      EfPumpSheet *sheet,
      const char *face_id,
      GPtrArray *marks,
      EfDepthMap *map,
      const EfFaceWear *wear)
{
  CachedFace *face;

  if (cache == NULL)
    return;
  face = g_new0 (CachedFace, 1);
  face->marks = g_ptr_array_new_full (marks->len, ef_item_unref);
  for (guint i = 0; i < marks->len; i++)
    g_ptr_array_add (face->marks, ef_item_ref (marks->pdata[i]));
  face->map = ef_depth_map_ref (map);
  copy_wear (&face->wear, wear);
  g_mutex_lock (&cache->mutex);
  serve_sheet (cache, sheet);
  g_hash_table_replace (cache->faces, g_strdup (face_id), face);
  g_mutex_unlock (&cache->mutex);
}

static void
wear_free (EfFaceWear *wear)
{
  ef_face_wear_clear (wear);
  g_free (wear);
}

void
ef_assess_findings_init (EfFindings *findings,
                         const EfInspection *inspection)
{
  findings->inspection = inspection;
  findings->charts = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) ef_face_chart_unref);
  findings->maps = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) ef_depth_map_unref);
  findings->wear = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify) wear_free);
}

void
ef_assess_findings_clear (EfFindings *findings)
{
  g_clear_pointer (&findings->derived, g_ptr_array_unref);
  g_clear_pointer (&findings->charts, g_hash_table_unref);
  g_clear_pointer (&findings->maps, g_hash_table_unref);
  g_clear_pointer (&findings->wear, g_hash_table_unref);
  g_clear_pointer (&findings->barred, g_ptr_array_unref);
  g_clear_pointer (&findings->sealing_stock, g_hash_table_unref);
}

static gboolean
assess_face (EfFindings *findings,
             EfAssessCache *cache,
             const char *face_id,
             GPtrArray *marks,
             GCancellable *cancellable,
             GError **error)
{
  EfPumpSheet *sheet = findings->inspection->sheet;
  EfFaceChart *chart = g_hash_table_lookup (findings->charts, face_id);
  EfDepthMap *map = NULL;
  EfFaceWear *wear = g_new0 (EfFaceWear, 1);

  if (!look_up (cache, sheet, face_id, marks, &map, wear))
    {
      g_autoptr (EfDepthBase) base = get_base (cache, sheet, chart, error);

      if (base != NULL)
        map = ef_depth_map_new_on (base, chart, (EfMark *const *) marks->pdata, marks->len, cancellable, error);
      if (map == NULL)
        {
          g_free (wear);
          return FALSE;
        }
      ef_face_wear_from_map (chart, map, wear);
      keep (cache, sheet, face_id, marks, map, wear);
    }
  g_hash_table_insert (findings->maps, g_strdup (face_id), map);
  g_hash_table_insert (findings->wear, g_strdup (face_id), wear);

  return TRUE;
}

gboolean
ef_assess_faces (EfFindings *findings,
                 EfAssessCache *cache,
                 GCancellable *cancellable,
                 GError **error)
{
  EfPumpSheet *sheet = findings->inspection->sheet;
  g_auto (GStrv) faces = ef_face_ids (sheet);

  for (guint i = 0; faces[i] != NULL; i++)
    {
      g_autoptr (GPtrArray) marks = NULL;
      EfFaceChart *chart;

      if (g_cancellable_is_cancelled (cancellable))
        {
          g_set_error_literal (error, EF_ERROR, EF_ERROR_CANCELLED, "assessment: cancelled");
          return FALSE;
        }
      chart = get_chart (cache, sheet, faces[i], error);
      if (chart == NULL)
        return FALSE;
      g_hash_table_insert (findings->charts, g_strdup (faces[i]), chart);
      marks = ef_inspection_face_marks (findings->inspection, faces[i]);
      if (marks->len > 0 && !assess_face (findings, cache, faces[i], marks, cancellable, error))
        return FALSE;
    }

  return TRUE;
}
