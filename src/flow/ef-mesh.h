/* Where the teeth stand at one mesh position, and which of the spaces between them is at which pressure.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each gear is looked at in its own wall frame: X points away from the mate, Y towards delivery, psi = atan2 (Y, X). In this frame both
 * gears turn towards greater psi along the wall, from suction to delivery, and mesh behind |psi| = 90 degrees. Canonical frame: origin midway between
 * the axes, x from the drive gear to the driven, y towards delivery.
 *
 * Tooth j stands at psi[0] + j pitch, j = 0 … z - 1; tooth 0 is the one in contact, seen as the first after the mesh. Space j lies between
 * tooth j and j + 1. It is suction when tooth j is below -psi_s, delivery when tooth j + 1 is above psi_d, else sealed with a pressure of its own.
 */
#pragma once

#include "../base/ef-error.h"
#include "../geometry/ef-gear-pair.h"

G_BEGIN_DECLS

#define EF_MESH_MOST_TEETH 64

/* Groups of fixed pressure on a gear face; sealed space s is group EF_GROUP_SPACE + s. */
enum { EF_GROUP_SUCTION, EF_GROUP_DELIVERY, EF_GROUP_BORE, EF_GROUP_SPACE };

typedef struct
{
  int teeth;
  double pitch;      /* rad */
  double psi0;       /* of tooth 0 */
  double contact_radius;
  double contact_x, contact_y; /* wall frame */
  int n_sealed;      /* spaces with a pressure of their own */
  int first_tip;     /* first tooth that seals at the wall; n_sealed + 1 teeth do */
  int space_group[EF_MESH_MOST_TEETH]; /* of space j */
  int tip_group[EF_MESH_MOST_TEETH];   /* of tooth j's tip; -1: it seals */
} EfMeshGear;

typedef struct
{
  double u; /* contact's place on the line of action, from the pitch point */
  EfMeshGear gear[2];
} EfMesh;

/* @u from -p_b / 2 to p_b / 2. Fails when no tooth seals between the sides, or a gear has more than 64 teeth. */
gboolean ef_mesh_at (const EfGearPair *pair, double suction_angle, double delivery_angle, double u, EfMesh *mesh, GError **error);

/* Position k of n: u = -p_b / 2 + (k + 0.5) p_b / n. */
double ef_mesh_position (const EfGearPair *pair, guint k, guint n);

/* The group that a point on the gear's outline borders on (wall frame), EF_FILM_NO_FLUX at sealing tips and within @patch of the contact. */
int ef_mesh_border_group (const EfGearPair *pair, const EfMesh *mesh, int gear, double x, double y, double patch);

/* Canonical to wall frame and back; the same both ways. */
void ef_mesh_wall_frame (const EfGearPair *pair, int gear, double x, double y, double *wall_x, double *wall_y);
void ef_mesh_canonical_frame (const EfGearPair *pair, int gear, double wall_x, double wall_y, double *x, double *y);

G_END_DECLS
