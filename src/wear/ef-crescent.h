/* A bore or wall that its shaft or gear has worn to a crescent: wear of a cylinder's inside that no mark holds.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-surface.h"

G_BEGIN_DECLS

/* Depth @reach cos (angle - @psi) less @clearance, where that's above 0, from @v0 to @v1. */
typedef struct
{
  char *face_id;
  double psi, reach, clearance; /* rad, m, m */
  double v0, v1;                /* m */
} EfCrescent;

/* An array of EfCrescent that frees what is in it. */
GArray *ef_crescents_new (void);
GArray *ef_crescents_copy (const GArray *crescents);

/* Depth of a crescent at an angle, m, at least 0. */
double ef_crescent_depth (const EfCrescent *crescent, double angle);

/* The surface of a face from its marks (EfMark *; those of other faces are passed over) and the crescents cut into it. Where the wall itself is worn, its lip
 * is the edge of that and not a groove. @cell, @seed and errors as ef_surface_new(). */
EfSurface *ef_crescents_surface (const GArray *crescents, const EfFaceChart *chart, const GPtrArray *marks, double cell, guint32 seed, GCancellable *cancellable,
                                 GError **error);

G_END_DECLS
