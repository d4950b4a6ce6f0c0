/* The depth of one mark, ready to be asked for at many places.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One reading counts everywhere. Along a line the readings are projected onto it and joined by straight pieces, level
 * beyond the first and the last. Over points and areas they are weighted by the inverse square of the distance. Readings
 * at the same place (within a nanometre) count by their mean.
 */
#pragma once

#include "ef-mark.h"

G_BEGIN_DECLS

typedef struct
{
  double u, v;  /* place, or s along the line in u */
  double depth; /* m */
} EfDepthKnot;

typedef struct
{
  const EfMark *mark; /* borrowed */
  guint n;            /* knots; 0: depth unknown */
  EfDepthKnot *knots; /* along a line: sorted by s */
  double *starts;     /* lines with more than one knot: s at each node */
  double deepest;     /* NAN when unknown */
} EfDepthField;

/* Borrows @mark, which must not change meanwhile. */
void ef_depth_field_init (EfDepthField *self, const EfMark *mark);
void ef_depth_field_clear (EfDepthField *self);
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (EfDepthField, ef_depth_field_clear)

/* Depth at a place of the chart, m; NAN where none is known. */
double ef_depth_field_at (const EfDepthField *self, double u, double v);
/* The same for a line, looking only at the segments named in @segments (those that can be nearest). */
double ef_depth_field_at_near (const EfDepthField *self, const guint *segments, guint n_segments, double u, double v);

/* Square of the distance from a place to segment a-b, and the share of a-b where it is nearest. */
double ef_segment_distance2 (const EfMarkNode *a, const EfMarkNode *b, double u, double v, double *share_out);

G_END_DECLS
