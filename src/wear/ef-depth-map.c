/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-depth-base.h"
#include "ef-depth-field.h"

#include <math.h>
#include <string.h>

#define NONE G_MAXUINT
#define ALL_SAMPLES (~(guint64) 0)

/* What one mark, or the material, covers of a cell that it covers in part. Those of a cell are chained. */
typedef struct
{
  guint64 samples;
  float cover;
  float depth;
  guint next;
} Share;

typedef struct
{
  EfDepthMap *map;
  EfScanner *scanner;
  guint *first;      /* of each cell: index of its first share, NONE */
  GArray *shares;    /* Share */
  const GArray *solids; /* the base's */
  const EfDepthField *field;
  double shift;
  gboolean level;    /* the mark has one depth everywhere */
  GArray *segments;  /* guint: of the line, near this row */
} Build;

static EfDepthMap *
new_map (EfDepthBase *base)
{
  EfDepthMap *map = g_new0 (EfDepthMap, 1);
  gsize n = (gsize) base->grid.nu * base->grid.nv;

  map->ref_count = 1;
  map->nu = base->grid.nu;
  map->nv = base->grid.nv;
  map->u0 = base->grid.u0;
  map->v0 = base->grid.v0;
  map->cell = base->grid.cell;
  map->base = ef_depth_base_ref (base);
  map->solid = base->solid;
  map->cover = g_new0 (float, n);
  map->depth = g_new0 (float, n);
  map->deepest_u = map->deepest_v = NAN;

  return map;
}

EfDepthMap *
ef_depth_map_ref (EfDepthMap *map)
{
  g_atomic_int_inc (&map->ref_count);
  return map;
}

void
ef_depth_map_unref (EfDepthMap *map)
{
  if (map == NULL || !g_atomic_int_dec_and_test (&map->ref_count))
    return;

  if (map->base != NULL)
    ef_depth_base_unref (map->base);
  else
    g_free (map->solid);
  g_free (map->cover);
  g_free (map->depth);
  g_free (map);
}

static void
take_share (Build *build,
            gsize cell,
            float cover,
            float depth,
            guint64 samples)
{
  Share share = { samples, cover, depth, build->first[cell] };

  build->first[cell] = build->shares->len;
  g_array_append_val (build->shares, share);
}

/* Segments of the line that can be the nearest of any cell's middle that it covers in this row. */
static void
choose_segments (Build *build,
                 double v)
{
  const EfMark *mark = build->field->mark;
  double reach = mark->size / 2 + build->map->cell;

  g_array_set_size (build->segments, 0);
  for (guint i = 0; i + 1 < mark->nodes->len; i++)
    {
      double a = g_array_index (mark->nodes, EfMarkNode, i).v;
      double b = g_array_index (mark->nodes, EfMarkNode, i + 1).v;

      if (MIN (a, b) - reach <= v && MAX (a, b) + reach >= v)
        g_array_append_val (build->segments, i);
    }
}

static void
take_mark_row (const EfScanRow *row,
               gpointer user_data)
{
  Build *build = user_data;
  EfDepthMap *map = build->map;
  double v = map->v0 + (row->row + 0.5) * map->cell;
  float depth = (float) build->field->deepest;

  if (!build->level && build->field->starts != NULL)
    choose_segments (build, v);

  for (guint i = row->first; i <= row->last; i++)
    {
      gsize cell = (gsize) row->row * map->nu + i;

      if (row->cover[i] <= 1e-6f || map->solid[cell] <= 0)
        continue;
      if (!build->level)
        depth = (float) ef_depth_field_at_near (build->field, (const guint *) (gpointer) build->segments->data, build->segments->len,
                                                map->u0 + (i + 0.5) * map->cell - build->shift, v);
      if (map->cover[cell] > 0 && depth <= map->depth[cell])
        continue; /* something as deep covers the whole cell */
      if (row->cover[i] >= EF_SCAN_FULL)
        {
          map->cover[cell] = 1;
          map->depth[cell] = depth;
        }
      else
        take_share (build, cell, row->cover[i], depth, ef_scan_mask (row, i));
    }
}

static void
take_mark (Build *build,
           const EfFaceChart *chart,
           const EfMark *mark)
{
  g_auto (EfDepthField) field = { 0 };
  double width = chart->u1 - chart->u0;
  double bounds[4];
  int low = 0, high = 0;

  ef_depth_field_init (&field, mark);
  if (field.n == 0)
    return;

  build->field = &field;
  build->level = field.n == 1;
  if (build->level)
    field.deepest = field.knots[0].depth;
  if (chart->wraps)
    {
      ef_mark_bounds (mark, bounds);
      low = (int) ceil ((chart->u0 - bounds[2]) / width);
      high = (int) floor ((chart->u1 - bounds[0]) / width);
    }
  for (int k = low; k <= high; k++)
    {
      build->shift = k * width;
      ef_scanner_mark (build->scanner, mark, build->shift, take_mark_row, build);
    }
  build->field = NULL;
}

/* Shares of one cell, deepest first. */
static guint
gather_shares (const Build *build,
               gsize cell,
               GArray *gathered)
{
  g_array_set_size (gathered, 0);
  for (guint k = build->first[cell]; k != NONE; k = g_array_index (build->shares, Share, k).next)
    {
      Share share = g_array_index (build->shares, Share, k);
      guint i = gathered->len;

      g_array_append_val (gathered, share);
      for (; i > 0 && g_array_index (gathered, Share, i - 1).depth < share.depth; i--)
        g_array_index (gathered, Share, i) = g_array_index (gathered, Share, i - 1);
      g_array_index (gathered, Share, i) = share;
    }

  return gathered->len;
}

/* What of the share lies on material. */
static double
on_material (Share *share,
             double solid,
             guint64 samples)
{
  double cover = share->cover;

  if (samples == ALL_SAMPLES)
    return MIN (cover, solid);
  if (share->samples == 0)
    cover *= solid;
  else if ((share->samples & samples) != share->samples)
    cover *= (double) __builtin_popcountll (share->samples & samples) / __builtin_popcountll (share->samples);
  share->samples &= samples;

  return MIN (cover, solid);
}

static void
note_deepest (EfDepthMap *map,
              gsize cell,
              double depth)
{
  if (depth <= map->deepest && !isnan (map->deepest_u))
    return;

  map->deepest = depth;
  map->deepest_u = map->u0 + ((double) (cell % map->nu) + 0.5) * map->cell;
  map->deepest_v = map->v0 + ((double) (cell / map->nu) + 0.5) * map->cell;
}

/* Lays the shares of a cell over each other, the deepest first, the one that covers all last. */
static void
settle_cell (Build *build,
             gsize cell,
             guint64 material,
             GArray *gathered)
{
  EfDepthMap *map = build->map;
  double solid = map->solid[cell];
  gboolean whole = map->cover[cell] > 0;
  double whole_depth = map->depth[cell];
  double cover = 0, sum = 0;
  guint64 taken = 0;
  guint n = gather_shares (build, cell, gathered);

  for (guint k = 0; k < n && cover < solid; k++)
    {
      Share *share = &g_array_index (gathered, Share, k);
      double own, free, added;

      if (whole && share->depth <= whole_depth)
        break;
      own = on_material (share, solid, material);
      if (share->samples == 0)
        free = 1 - cover / solid;
      else
        free = (double) __builtin_popcountll (share->samples & ~taken) / __builtin_popcountll (share->samples);
      added = MIN (own * free, solid - cover);
      taken |= share->samples;
      if (added <= 0)
        continue;
      cover += added;
      sum += added * share->depth;
      note_deepest (map, cell, share->depth);
    }
  if (whole && cover < solid)
    {
      sum += (solid - cover) * whole_depth;
      cover = solid;
      note_deepest (map, cell, whole_depth);
    }

  map->cover[cell] = (float) cover;
  map->depth[cell] = cover > 0 ? (float) (sum / cover) : 0;
}

static void
settle (Build *build)
{
  g_autoptr (GArray) gathered = g_array_new (FALSE, FALSE, sizeof (Share));
  EfDepthMap *map = build->map;
  gsize n = (gsize) map->nu * map->nv;
  guint next_solid = 0;

  for (gsize cell = 0; cell < n; cell++)
    {
      guint64 material = ALL_SAMPLES;

      if (map->solid[cell] <= 0)
        continue;
      if (map->solid[cell] < 1 && next_solid < build->solids->len)
        material = g_array_index (build->solids, guint64, next_solid++);
      if (build->first[cell] != NONE)
        settle_cell (build, cell, material, gathered);
      else if (map->cover[cell] > 0)
        {
          map->cover[cell] = map->solid[cell];
          note_deepest (map, cell, map->depth[cell]);
        }
    }
}

static gboolean
check_marks (const EfFaceChart *chart,
             EfMark *const *marks,
             guint n_marks,
             GError **error)
{
  for (guint i = 0; i < n_marks; i++)
    if (g_strcmp0 (marks[i]->face_id, chart->id) == 0 && !ef_mark_check (marks[i], error))
      return FALSE;

  return TRUE;
}

static gboolean
stopped (GCancellable *cancellable,
         GError **error)
{
  if (cancellable == NULL || !g_cancellable_is_cancelled (cancellable))
    return FALSE;

  g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, "depth map: stopped");
  return TRUE;
}

EfDepthMap *
ef_depth_map_new_on (EfDepthBase *base,
                     const EfFaceChart *chart,
                     EfMark *const *marks,
                     guint n_marks,
                     GCancellable *cancellable,
                     GError **error)
{
  g_autoptr (EfDepthMap) map = NULL;
  g_autoptr (EfScanner) scanner = NULL;
  g_autoptr (GArray) shares = NULL;
  g_autoptr (GArray) segments = NULL;
  g_autofree guint *first = NULL;
  gsize n = (gsize) base->grid.nu * base->grid.nv;
  Build build;

  if (!check_marks (chart, marks, n_marks, error) || stopped (cancellable, error))
    return NULL;

  map = new_map (base);
  scanner = ef_scanner_new (&base->grid);
  shares = g_array_new (FALSE, FALSE, sizeof (Share));
  segments = g_array_new (FALSE, FALSE, sizeof (guint));
  first = g_new (guint, n);
  memset (first, 0xff, n * sizeof (guint));
  build = (Build){ .map = map, .scanner = scanner, .first = first, .shares = shares, .solids = base->solids, .segments = segments };

  for (guint i = 0; i < n_marks; i++)
    {
      if (stopped (cancellable, error))
        return NULL;
      if (g_strcmp0 (marks[i]->face_id, chart->id) == 0)
        take_mark (&build, chart, marks[i]);
    }
  if (stopped (cancellable, error))
    return NULL;
  settle (&build);

  return g_steal_pointer (&map);
}

EfDepthMap *
ef_depth_map_new (const EfFaceChart *chart,
                  EfMark *const *marks,
                  guint n_marks,
                  double cell,
                  GCancellable *cancellable,
                  GError **error)
{
  g_autoptr (EfDepthBase) base = NULL;

  if (stopped (cancellable, error))
    return NULL;
  base = ef_depth_base_new (chart, cell, error);

  return base != NULL ? ef_depth_map_new_on (base, chart, marks, n_marks, cancellable, error) : NULL;
}
