/* A face's depth map made ready for the film: what is left of it after lapping, where it's untouched, and where it differs from another.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../pump/ef-face-chart.h"
#include "../wear/ef-depth-map.h"

G_BEGIN_DECLS

/* Mean over a column's cells of cover, cover depth, … cover depth^3, by which the mean of (h + depth)^3 follows for any h. */
typedef struct
{
  double cover, depth, depth2, depth3;
} EfWornColumn;

typedef struct
{
  EfDepthMap *map;   /* held */
  double stock;      /* m lapped off: depths are counted from the new face */
  guint tiles_u, tiles_v;
  guint8 *worn;      /* whether a tile of 4 x 4 cells has a worn one */
  EfWornColumn *columns; /* nu; NULL until asked for */
  /* Pump axes to chart for plane faces: u = origin + axes (x, y). */
  double origin[2], axes[2][2];
  gint ref_count;
} EfWornMap;

/* NULL where nothing is worn any more, or @map is NULL. @chart: a plane face; for unrolled faces the axes mean nothing. */
EfWornMap *ef_worn_map_new (const EfFaceChart *chart, EfDepthMap *map, double stock);
EfWornMap *ef_worn_map_ref (EfWornMap *self);
void ef_worn_map_unref (EfWornMap *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfWornMap, ef_worn_map_unref)

/* Covered share and depth there of the cell at chart place (u, v); 0 and 0 outside. @self may be NULL. */
void ef_worn_map_at (const EfWornMap *self, double u, double v, double *cover, double *depth);
/* TRUE only when no cell within @half of the place is worn; may be FALSE where one near by is. */
gboolean ef_worn_map_untouched (const EfWornMap *self, double u, double v, double half);
#define EF_WORN_TILE 4 /* cells to the side */
/* TRUE when none of the tiles over the map that lie within @half of the place is set. */
gboolean ef_tiles_clear (const EfDepthMap *map, const guint8 *tiles, guint tiles_u, double u, double v, double half);
/* The column at chart place u, NULL where there is none or it isn't worn. The first call sums them all. */
const EfWornColumn *ef_worn_map_column (EfWornMap *self, double u);
void ef_worn_map_from_pump (const EfWornMap *self, double x, double y, double *u, double *v);

/* Where two maps of a face differ. */
typedef struct _EfWornChange EfWornChange;

/* Keeps worn maps from one call to the next, and where pairs of them differ. */
typedef struct _EfWornMaps EfWornMaps;
EfWornMaps *ef_worn_maps_new (void);
void ef_worn_maps_free (EfWornMaps *self);
/* Forgets what wasn't asked for since the last call. */
void ef_worn_maps_sweep (EfWornMaps *self);
/* As ef_worn_map_new(), the same one for the same map and stock. @self may be NULL. */
EfWornMap *ef_worn_maps_get (EfWornMaps *self, const EfFaceChart *chart, EfDepthMap *map, double stock);
/* Borrowed until the next sweep. @before and @after may be NULL: nothing is worn. */
const EfWornChange *ef_worn_maps_change (EfWornMaps *self, EfWornMap *before, EfWornMap *after);
/* Lets go of the pairs of maps that were compared. */
void ef_worn_maps_forget_changes (EfWornMaps *self);
/* TRUE when they are the same all over. */
gboolean ef_worn_change_nowhere (const EfWornChange *self);
/* A map in whose chart the places are, where they aren't the same all over. */
const EfWornMap *ef_worn_change_map (const EfWornChange *self);
/* TRUE only when both are the same within @half of the place. */
gboolean ef_worn_change_none (const EfWornChange *self, double u, double v, double half);

G_END_DECLS
