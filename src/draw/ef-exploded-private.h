/* Inside the exploded pump: its items, their shapes and where they stand.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-draw-text.h"

G_BEGIN_DECLS

/* One part. The plan is in pump axes, metres; check-list parts have none and are drawn as small pictures. */
typedef struct
{
  const EfPart *part;
  const EfSection *section; /* NULL where it belongs to none or to all */
  EfRegion *plan;           /* outer edge and holes; NULL for small pictures */
  EfRegion *pocket;         /* housings: footprint of the pocket */
  gboolean pocket_in_front; /* opens towards the viewer */
  double box[4];            /* of the plan: x0 y0 x1 y1 */
  double thickness;         /* as drawn, m */
  guint slot;
  double at;      /* of the front face's origin along the axis, target units */
  double cross;   /* moved across, target units (small pictures) */
  double cell[4]; /* x y w h: where pressing means this part */
  double body[4]; /* x y w h: what is drawn */
} EfExplodedItem;

/* A place along the axis; parts in it stand side by side. */
typedef struct
{
  guint first, n; /* of the items */
  double extent;  /* along the axis at scale 1, m */
  double y0, y1;  /* of the plans */
  double start, length; /* target units along the axis */
  guint row;
} EfExplodedSlot;

struct _EfExploded
{
  EfPumpSheet *sheet;
  GArray *items; /* EfExplodedItem, in reading order */
  GArray *slots; /* EfExplodedSlot */
  double width, height, text;
  double reach; /* half of the widest plan across, m */
  /* layout */
  gboolean upright; /* the axis runs downwards */
  guint rows;
  double scale;     /* target units a metre, across */
  double squeeze;   /* of the plan's y */
  double along;     /* of lengths along the axis, times scale */
  gboolean names;
  double head, foot;    /* room before and after the plans, across: names */
  double band;          /* of section names */
  double row_size;      /* across, target units */
};

/* EfExplodedItem of every part of the sheet, in reading order, not laid out yet. Free with g_array_unref(). */
GArray *ef_exploded_items (const EfPumpSheet *sheet);
/* Places items and slots for the width, height and text size that are set. */
void ef_exploded_layout (EfExploded *self);
/* Pump axes (x, y) and distance z behind the item's front, to the target. */
void ef_exploded_point (const EfExploded *self, const EfExplodedItem *item, double x, double y, double z, double *px, double *py);
/* Across position of the row's middle. */
double ef_exploded_row_middle (const EfExploded *self, guint row);

G_END_DECLS
