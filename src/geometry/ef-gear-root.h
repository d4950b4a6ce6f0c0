/* The foot of a tooth: undercut by the rack, room for a fillet, clearance of the mate's tip.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Used by ef-gear-pair.c and ef-gear-outline.c only.
 */
#pragma once

#include "ef-gear-pair.h"

G_BEGIN_DECLS

/* The drawn root of one gear, in terms of the half space: angles from the middle of a tooth space. */
typedef struct
{
  double radius;       /* of the fillet */
  double top_radius;   /* where the fillet meets the flank or its radial foot */
  double top_angle;    /* half angle of the space there */
  double centre;       /* distance of the fillet's centre from the axis */
  double centre_angle; /* of the fillet's centre, from the middle of the space; negative: doesn't fit */
} EfGearRoot;

/* Half the angle of the space on the involute, or on its radial foot below the base circle. */
double ef_gear_flank_half_angle (const EfGearPair *pair, int gear, double r);
EfGearRoot ef_gear_root (const EfGearPair *pair, int gear, double fillet_radius);
/* Up to what radius the basic rack (addendum 1 m) cuts the flank away; 0: not at all. */
double ef_gear_undercut_radius (const EfGearPair *pair, int gear);
/* The largest fillet, at most 0.38 m, that fits and clears the tip of the mate; 0: a sharp corner, which the tip always clears
 * as long as it doesn't reach below the base circle. */
double ef_gear_fitting_fillet (const EfGearPair *pair, int gear);

G_END_DECLS
