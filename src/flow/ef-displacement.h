/* What a gear pair displaces in one turn, and how unevenly.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * With the separating contact at signed distance u from the pitch point on the line of action (negative before it), each gear
 * sweeps b/2 (ra^2 - r_contact^2) per radian:
 *   dV/dtheta1 = b/2 [ra1^2 - rw1^2 + i (ra2^2 - rw2^2) - (1 + i) u^2],   i = z1/z2.
 * Relief grooves that hand over symmetrically let u run over [-pb/2, pb/2]. Without relief the trapped oil is open to delivery
 * until the leading contact ends, so u runs over one base pitch up to that end. Derived from first principles; the closed form
 * for equal gears is also in textbooks on hydraulic machines.
 */
#pragma once

#include "../geometry/ef-gear-pair.h"

G_BEGIN_DECLS

typedef struct
{
  double volume;           /* m3 per turn of the drive gear, relief grooves, closed form */
  double volume_no_relief; /* the same without relief */
  double volume_integrated; /* relief, by integration of what each gear sweeps */
  double volume_simple;    /* shop formula without the base pitch term: 6 to 7 % high */
  double mean_rate;        /* m3/rad */
  double ripple;           /* (largest - least) / mean of the flow, hand-over at u = pb/2 */
  double handover[2];      /* u at the two ends without relief, m */
} EfDisplacement;

/* m3 per radian of the drive gear with the separating contact at @u (m). */
double ef_displacement_rate (const EfGearPair *pair, double u);
/* Fails with EF_ERROR_GEOMETRY where the contact ratio is below 1. */
gboolean ef_displacement_solve (const EfGearPair *pair, EfDisplacement *out, GError **error);

typedef struct
{
  double space_area[2]; /* m2, one tooth space between profile and tip circle */
  double trap_area;     /* m2, enclosed by both profiles between the contacts at u = -pb/2 and +pb/2 */
  double volume;        /* m3 per turn of the drive gear: z1 b (space 1 + space 2 - trap) */
} EfDisplacementAreas;

/* The same volume from polygons of the outlines, as an independent check. @points_per_flank as for ef_gear_outline();
 * areas are extrapolated from that many points and half of them. Fails with EF_ERROR_GEOMETRY where a contact within half a
 * base pitch of the pitch point doesn't lie on the drawn involute. */
gboolean ef_displacement_by_areas (const EfGearPair *pair, guint points_per_flank, EfDisplacementAreas *out, GError **error);

/* 1 - leak / (volume n): leak in m3/s, speed in rad/s. NAN for a speed or volume that isn't above 0. */
double ef_volumetric_efficiency (double volume, double speed, double leak);
/* Displacement of @scavenge over that of @pressure when both turn together. */
double ef_displacement_ratio (const EfDisplacement *scavenge, const EfDisplacement *pressure);

G_END_DECLS
