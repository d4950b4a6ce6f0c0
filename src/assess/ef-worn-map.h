/* A face's depth map made ready for the film: what is left of it after lapping, and where it's untouched.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../pump/ef-face-chart.h"
#include "../wear/ef-depth-map.h"

G_BEGIN_DECLS

typedef struct
{
  EfDepthMap *map;   /* held */
  double stock;      /* m lapped off: depths are counted from the new face */
  guint32 *worn_sum; /* summed table of worn cells, (nu + 1) (nv + 1) */
  guint8 *column_worn; /* nu: whether any cell of the column is worn */
  /* Pump axes to chart for plane faces: u = origin + axes (x, y). */
  double origin[2], axes[2][2];
} EfWornMap;

/* NULL where nothing is worn any more, or @map is NULL. @chart: a plane face; for unrolled faces the axes mean nothing. */
EfWornMap *ef_worn_map_new (const EfFaceChart *chart, EfDepthMap *map, double stock);
void ef_worn_map_free (EfWornMap *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfWornMap, ef_worn_map_free)

/* Covered share and depth there of the cell at chart place (u, v); 0 and 0 outside. @self may be NULL. */
void ef_worn_map_at (const EfWornMap *self, double u, double v, double *cover, double *depth);
/* TRUE when no cell within @half of the place is worn. */
gboolean ef_worn_map_untouched (const EfWornMap *self, double u, double v, double half);
/* TRUE when no cell of the column at chart place u is worn. */
gboolean ef_worn_map_column_untouched (const EfWornMap *self, double u);
void ef_worn_map_from_pump (const EfWornMap *self, double x, double y, double *u, double *v);

G_END_DECLS
