/* The force of the oil and of the mate on each gear.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Pressure: F = -sum p_k b n_k over the chords from the contact point by the sealing tips back to the contact point. Mesh: F_n = dp b (r_a2^2 -
 * r_2c^2) / (2 r_b2) along the line of action, added on the driven gear, subtracted on the driver.
 */
#pragma once

#include "ef-mesh.h"

G_BEGIN_DECLS

/* Adds the push of pressure @p (Pa) on the chord from (x0, y0) to (x1, y1), the gear on its left, to (fx, fy), N. */
void ef_push_chord (double p, double width, double x0, double y0, double x1, double y1, double *fx, double *fy);

/* Force (N) on @gear in its wall frame. @spaces: pressures of the sealed spaces, Pa above suction. */
void ef_gear_load (const EfGearPair *pair, const EfMesh *mesh, int gear, double face_width, const double *spaces, double dp, double *fx, double *fy);

G_END_DECLS
