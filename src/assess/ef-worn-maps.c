/* Worn maps that can be used again, and where one differs from the one before.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-worn-map.h"

#include <string.h>

#define TILE EF_WORN_TILE

struct _EfWornChange
{
  const EfWornMap *map; /* held by the pair: where the tiles are */
  guint tiles_u;
  guint8 *differs; /* of each tile; NULL: none differs */
  gboolean all;    /* nothing is known to be the same */
};

typedef struct
{
  EfDepthMap *map; /* held */
  double stock;
  EfWornMap *worn; /* NULL: nothing is */
  gboolean used;
} Entry;

typedef struct
{
  EfWornMap *before, *after; /* held */
  EfWornChange change;
  gboolean used;
} Pair;

struct _EfWornMaps
{
  GPtrArray *entries; /* Entry * */
  GPtrArray *pairs;   /* Pair * */
};

static void
free_entry (gpointer data)
{
  Entry *entry = data;

  ef_depth_map_unref (entry->map);
  ef_worn_map_unref (entry->worn);
  g_free (entry);
}

static void
free_pair (gpointer data)
{
  Pair *pair = data;

  ef_worn_map_unref (pair->before);
  ef_worn_map_unref (pair->after);
  g_free (pair->change.differs);
  g_free (pair);
}

EfWornMaps *
ef_worn_maps_new (void)
{
  EfWornMaps *self = g_new0 (EfWornMaps, 1);

  self->entries = g_ptr_array_new_with_free_func (free_entry);
  self->pairs = g_ptr_array_new_with_free_func (free_pair);

  return self;
}

void
ef_worn_maps_free (EfWornMaps *self)
{
  if (self == NULL)
    return;
  g_ptr_array_unref (self->entries);
  g_ptr_array_unref (self->pairs);
  g_free (self);
}

void
ef_worn_maps_sweep (EfWornMaps *self)
{
  for (guint i = self->entries->len; i-- > 0;)
    {
      Entry *entry = self->entries->pdata[i];

      if (!entry->used)
        g_ptr_array_remove_index_fast (self->entries, i);
      else
        entry->used = FALSE;
    }
  for (guint i = self->pairs->len; i-- > 0;)
    {
      Pair *pair = self->pairs->pdata[i];

      if (!pair->used)
        g_ptr_array_remove_index_fast (self->pairs, i);
      else
        pair->used = FALSE;
    }
}

EfWornMap *
ef_worn_maps_get (EfWornMaps *self,
                  const EfFaceChart *chart,
                  EfDepthMap *map,
                  double stock)
{
  Entry *entry;

  if (self == NULL || map == NULL)
    return ef_worn_map_new (chart, map, stock);
  for (guint i = 0; i < self->entries->len; i++)
    {
      entry = self->entries->pdata[i];
      if (entry->map == map && entry->stock == stock)
        {
          entry->used = TRUE;
          return entry->worn != NULL ? ef_worn_map_ref (entry->worn) : NULL;
        }
    }
  entry = g_new0 (Entry, 1);
  entry->map = ef_depth_map_ref (map);
  entry->stock = stock;
  entry->worn = ef_worn_map_new (chart, map, stock);
  entry->used = TRUE;
  g_ptr_array_add (self->entries, entry);

  return entry->worn != NULL ? ef_worn_map_ref (entry->worn) : NULL;
}

static gboolean
same_grid (const EfDepthMap *a,
           const EfDepthMap *b)
{
  return a->nu == b->nu && a->nv == b->nv && a->u0 == b->u0 && a->v0 == b->v0 && a->cell == b->cell;
}

/* Tiles in which a row of one map isn't the other's. */
static void
compare_rows (const EfDepthMap *a,
              const EfDepthMap *b,
              EfWornChange *change)
{
  guint nu = a->nu;

  for (guint j = 0; j < a->nv; j++)
    {
      gsize row = (gsize) j * nu;
      guint8 *tiles = change->differs + (gsize) (j / TILE) * change->tiles_u;

      if (memcmp (a->cover + row, b->cover + row, nu * sizeof (float)) == 0 && memcmp (a->depth + row, b->depth + row, nu * sizeof (float)) == 0)
        continue;
      for (guint i = 0; i < nu; i++)
        if (a->cover[row + i] != b->cover[row + i] || a->depth[row + i] != b->depth[row + i])
          tiles[i / TILE] = 1;
    }
}

/* Where the stock differs, or one map isn't there, all that is worn in either counts as changed. */
static void
find_change (const EfWornMap *before,
             const EfWornMap *after,
             EfWornChange *change)
{
  const EfWornMap *either = after != NULL ? after : before;
  gsize n;

  if (before == after)
    return;
  change->map = either;
  if (before != NULL && after != NULL && !same_grid (before->map, after->map))
    {
      change->all = TRUE;
      return;
    }
  change->tiles_u = either->tiles_u;
  n = (gsize) either->tiles_u * either->tiles_v;
  change->differs = g_new0 (guint8, n);
  if (before != NULL && after != NULL && before->stock == after->stock)
    compare_rows (before->map, after->map, change);
  else
    for (gsize k = 0; k < n; k++)
      change->differs[k] = (before != NULL && before->worn[k]) || (after != NULL && after->worn[k]);
}

const EfWornChange *
ef_worn_maps_change (EfWornMaps *self,
                     EfWornMap *before,
                     EfWornMap *after)
{
  Pair *pair;

  for (guint i = 0; i < self->pairs->len; i++)
    {
      pair = self->pairs->pdata[i];
      if (pair->before == before && pair->after == after)
        {
          pair->used = TRUE;
          return &pair->change;
        }
    }
  pair = g_new0 (Pair, 1);
  pair->before = before != NULL ? ef_worn_map_ref (before) : NULL;
  pair->after = after != NULL ? ef_worn_map_ref (after) : NULL;
  pair->used = TRUE;
  find_change (before, after, &pair->change);
  g_ptr_array_add (self->pairs, pair);

  return &pair->change;
}

void
ef_worn_maps_forget_changes (EfWornMaps *self)
{
  g_ptr_array_set_size (self->pairs, 0);
}

gboolean
ef_worn_change_nowhere (const EfWornChange *self)
{
  return self->differs == NULL && !self->all;
}

const EfWornMap *
ef_worn_change_map (const EfWornChange *self)
{
  return self->map;
}

gboolean
ef_worn_change_none (const EfWornChange *self,
                     double u,
                     double v,
                     double half)
{
  if (self->all)
    return FALSE;

  return self->differs == NULL || ef_tiles_clear (self->map->map, self->differs, self->tiles_u, u, v, half);
}
