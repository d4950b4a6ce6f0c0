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

typedef struct
{
  EfGearPairInput in; /* with the root radii filled in */
  double base_radius[2];
  double working_radius[2];
  double working_angle; /* alpha_w */
  double base_pitch;
  double length_of_contact;
  double contact_ratio;
  double backlash;           /* circumferential, at the working circle */
  double tip_thickness[2];   /* chordal difference ignored: arc at the tip circle */
  double form_radius[2];     /* where the involute begins above the root fillet */
  double undercut_limit[2];  /* least x without undercut */
  double tip_root_clearance[2]; /* between tip of i and root of its mate */
} EfGearPair;

/* Computes all of @pair. Fails with EF_ERROR_GEOMETRY for geometry that can't exist, the message naming the field
 * and the reason: undercut below a limit, pointed tips (tip thickness below 0.2 m), negative backlash, contact ratio
 * below 1, interference of tip and root, or of tip and involute. */
gboolean ef_gear_pair_solve (const EfGearPairInput *input, EfGearPair *pair, GError **error);

double ef_involute (double angle);                        /* inv a = tan a - a */
double ef_involute_inverse (double inv, GError **error);  /* NAN on error */
/* Tooth thickness along the arc at radius r of gear i, m. */
double ef_gear_thickness (const EfGearPair *pair, int gear, double r);
/* Base tangent length over k teeth, m. */
double ef_gear_span (const EfGearPair *pair, int gear, int k);
/* Size over pins of diameter d_pin, m. */
double ef_gear_over_pins (const EfGearPair *pair, int gear, double pin_diameter);

/* One gear's full outline, anticlockwise, tooth 0 centred on the +x axis, tooth k at k 2 pi / z.
 * @points_per_flank >= 8; root fillet as a trochoid-free circular arc between form circle and root circle, tangent to
 * the root circle (said so in the docs). */
EfRing ef_gear_outline (const EfGearPair *pair, int gear, guint points_per_flank);
/* Area of one tooth space inside the tip circle, m2, in closed form for the involute part. */
double ef_gear_space_area (const EfGearPair *pair, int gear);

/* Rotation (rad, about its own axis) of the driven gear, that meshes with the drive gear turned by @drive_angle, and
 * with contact on the flank that the drive gear pushes when it turns with @rotation (+1 anticlockwise). Drive axis at
 * (-a/2, 0), driven at (+a/2, 0). */
double ef_gear_pair_mesh_angle (const EfGearPair *pair, double drive_angle, int rotation);

/* Figure-eight pocket: union of two circles about the axes at (-a/2, 0) and (+a/2, 0). */
EfRegion *ef_pocket_region (double centre_distance, const double pocket_radius[2], guint n, GError **error);
/* Half angle (rad) of the pocket wall about axis i, measured from the direction pointing away from the mate: the wall
 * of pocket i exists for |psi| <= this. */
double ef_pocket_wall_half_angle (double centre_distance, const double pocket_radius[2], int gear);

/* Flat on a flank. @radius: distance of the flat's middle from the gear axis; the involute's radius of curvature there is
 * rho = sqrt (r^2 - rb^2) (ISO 21771). A flat of width w cuts to depth rho - sqrt (rho^2 - (w/2)^2) below the involute. */
gboolean ef_flat_spot_depth (double base_radius, double radius, double width, double *depth_out, GError **error);
gboolean ef_flat_spot_width (double base_radius, double radius, double depth, double *width_out, GError **error);

G_END_DECLS
