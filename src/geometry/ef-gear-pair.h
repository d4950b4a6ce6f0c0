/* An external spur gear pair: what follows from its numbers.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Source of the relations: ISO 21771 (notation r_b, r_w, alpha_w, p_b, epsilon_alpha).
 */
#pragma once

#include "ef-polygon.h"

G_BEGIN_DECLS

typedef struct
{
  int teeth[2];          /* z, drive and driven */
  double module;         /* m */
  double pressure_angle; /* rad */
  double shift[2];       /* profile shift coefficient x */
  double tip_radius[2];  /* m */
  double root_radius[2]; /* m; 0: m (z/2 - 1.25 + x) */
  double centre_distance;
  double face_width;     /* m, nominal, both */
} EfGearPairInput;

/* What works, yet a person should hear of. */
typedef enum
{
  EF_GEAR_WARNING_UNDERCUT_0 = 1 << 0, /* gear 0 has less shift than the least without undercut */
  EF_GEAR_WARNING_UNDERCUT_1 = 1 << 1,
} EfGearWarnings;

typedef struct
{
  EfGearPairInput in; /* with the root radii filled in */
  double base_radius[2];
  double working_radius[2];
  double working_angle; /* alpha_w */
  double base_pitch;
  double length_of_contact; /* no longer than between the two base circles */
  double contact_ratio;
  double usable_contact_ratio; /* without the part of the flanks that undercut takes */
  double backlash;             /* circumferential, at the working circle */
  double tip_thickness[2];     /* chordal difference ignored: arc at the tip circle */
  double form_radius[2];       /* where the drawn involute begins, above fillet and radial foot */
  double active_radius[2];     /* where the tip of the mate ends contact */
  double fillet_radius[2];     /* of the drawn root; 0: sharp corner */
  double undercut_limit[2];    /* least x without undercut */
  double undercut_radius[2];   /* undercut takes the flank up to here; 0: none */
  double tip_root_clearance[2]; /* between tip of i and root of its mate */
  EfGearWarnings warnings;
} EfGearPair;

/* Fills centre distance and tip radii of an @input that has teeth, module, pressure angle and shifts, for a pair without
 * backlash and with a tip clearance of 0.25 m (DIN 3960, from memory). */
gboolean ef_gear_pair_standard (EfGearPairInput *input, GError **error);
/* Computes all of @pair from plausible numbers, and no more: fails with EF_ERROR_INVALID for NaN and the like,
 * EF_ERROR_RANGE for numbers outside those in the message, EF_ERROR_GEOMETRY only where the relations have no answer
 * (base circles further apart than the axes, tip inside base circle, root outside tip). */
gboolean ef_gear_pair_compute (const EfGearPairInput *input, EfGearPair *pair, GError **error);
/* The same, and refuses a pair that can't be made or can't run with EF_ERROR_GEOMETRY, the message naming the field and the
 * reason: pointed tips (tip thickness below 0.2 m, common practice), negative backlash (beyond 1 nm), tip that touches the
 * root of its mate, tip of the mate below the base circle (involute interference), contact ratio below 1, undercut by the
 * basic rack (addendum 1 m) that leaves less than one pair of teeth in contact, teeth grown together at the root. Less
 * undercut is a warning. */
gboolean ef_gear_pair_solve (const EfGearPairInput *input, EfGearPair *pair, GError **error);
/* One sentence for each warning; free with g_ptr_array_unref(). */
GPtrArray *ef_gear_pair_warnings (const EfGearPair *pair);

double ef_involute (double angle);                        /* inv a = tan a - a */
double ef_involute_inverse (double inv, GError **error);  /* NAN on error */
/* Tooth thickness along the arc at radius r of gear i, m. */
double ef_gear_thickness (const EfGearPair *pair, int gear, double r);
/* Half the angle of the space between two teeth at radius r, on the drawn profile: involute, radial below the base circle,
 * fillet. 0 below the root circle. */
double ef_gear_space_half_angle (const EfGearPair *pair, int gear, double r);
/* Number of teeth to span; the number before rounding to @theoretical unless NULL. */
int ef_gear_span_teeth (const EfGearPair *pair, int gear, double *theoretical);
/* Base tangent length over k teeth, m. */
double ef_gear_span (const EfGearPair *pair, int gear, int k);
/* Size over two pins of the diameter, m (odd z: in the two most opposite spaces). Fails where the pin falls to the root or
 * doesn't fit, with NAN. */
double ef_gear_over_pins (const EfGearPair *pair, int gear, double pin_diameter, GError **error);
/* Diameter of the pin that touches the flanks at the circle r + x m. */
double ef_gear_ideal_pin (const EfGearPair *pair, int gear);

/* One gear's full outline, anticlockwise, tooth 0 centred on the +x axis, tooth k at k 2 pi / z. Each tooth has the same number
 * of points, the first in the middle of the space before it, the middle one on the tip. All points lie on the profile, so the
 * polygon is inscribed. @points_per_flank 8 to 10000 (clamped). Root: a circular arc tangent to root circle
 * and flank in place of the trochoid that a cutter leaves; below the base circle the flank runs on radially. The arc
 * has 0.38 m (ISO 53, profile A, from memory) or what fits and clears the tip of the mate. */
EfRing ef_gear_outline (const EfGearPair *pair, int gear, guint points_per_flank);
/* Area of one tooth space inside the tip circle on the drawn profile, m2, in closed form. */
double ef_gear_space_area (const EfGearPair *pair, int gear);

/* Rotation (rad, about its own axis) of the driven gear, that meshes with the drive gear turned by @drive_angle, and
 * with contact on the flank that the drive gear pushes when it turns with @rotation (+1 anticlockwise). Drive axis at
 * (-a/2, 0), driven at (+a/2, 0). */
double ef_gear_pair_mesh_angle (const EfGearPair *pair, double drive_angle, int rotation);

/* Figure-eight pocket: union of two circles about the axes at (-a/2, 0) and (+a/2, 0), @n (16 to 100000) points on the
 * circles in all, both corners among them. */
EfRegion *ef_pocket_region (double centre_distance, const double pocket_radius[2], guint n, GError **error);
/* Half angle (rad) of the pocket wall about axis i, measured from the direction pointing away from the mate: the wall
 * of pocket i exists for |psi| <= this. pi where the circles don't reach each other. */
double ef_pocket_wall_half_angle (double centre_distance, const double pocket_radius[2], int gear);

/* Flat on a flank. @radius: distance of the flat's middle from the gear axis; the involute's radius of curvature there is
 * rho = sqrt (r^2 - rb^2) (ISO 21771). A flat of width w cuts to depth rho - sqrt (rho^2 - (w/2)^2) below the involute. */
gboolean ef_flat_spot_depth (double base_radius, double radius, double width, double *depth_out, GError **error);
gboolean ef_flat_spot_width (double base_radius, double radius, double depth, double *width_out, GError **error);

G_END_DECLS
