/* The surface of a face as it would be seen: heights finer than marks tell, and the lay that its machining left.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Made from marks, each with the profile of its kind: a groove is round across, scoring a bundle of fine lines, an imprint a dish with a raised rim, a
 * crack narrow, a step even with a short edge, pitting and corrosion a field of pits. The rim stands proud by a quarter of the dish's depth; all
 * such proportions are the program's own, no source. A mark without a depth is given EF_SURFACE_UNKNOWN, so that it's seen at all.
 */
#pragma once

#include "ef-depth-map.h"

G_BEGIN_DECLS

#define EF_SURFACE_UNKNOWN 8e-6 /* m */

/* Which way the tool went. */
typedef enum
{
  EF_LAY_STRAIGHT, /* along @angle */
  EF_LAY_CIRCULAR  /* round the nearer of the centres */
} EfLayKind;

typedef struct
{
  EfLayKind kind;
  double angle;               /* rad, from +u */
  guint n_centres;            /* 1 or 2 */
  double centre_u[2], centre_v[2];
} EfLay;

/* Immutable but for whoever makes it. Cells as in EfDepthMap. */
typedef struct
{
  guint nu, nv;
  double u0, v0, cell; /* m */
  float *height;       /* m above the face as new: below 0 where worn */
  float *solid;        /* share of the cell that is material */
  EfLay lay;
  guint32 seed;        /* of the lay's unevenness */
  EfDepthBase *base;   /* held: solid is its own */
  gint ref_count;
} EfSurface;

/* @cell 0: as for depth maps. Marks of other faces are passed over. Errors as ef_depth_map_new(). */
EfSurface *ef_surface_new (const EfFaceChart *chart, EfMark *const *marks, guint n_marks, double cell, guint32 seed, GCancellable *cancellable, GError **error);
EfSurface *ef_surface_ref (EfSurface *self);
void ef_surface_unref (EfSurface *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfSurface, ef_surface_unref)

/* Where the surface lies higher than @height, m, it's cut down to that. */
static inline void
ef_surface_cut (EfSurface *self,
                guint cell,
                double height)
{
  if (height < self->height[cell])
    self->height[cell] = (float) height;
}

/* The lay of a face of its kind: turned ends, milled floors, ground plates, bored walls. @seed turns what was ground a little. */
EfLay ef_lay_of_face (const EfFaceChart *chart, guint32 seed);
/* Direction of the lay at a place, as a unit vector. */
void ef_lay_at (const EfLay *lay, double u, double v, double *du, double *dv);

G_END_DECLS
