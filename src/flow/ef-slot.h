/* Thin laminar films in closed form: what the field solves are held against, and what tips leak.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Laminar, parallel walls, no entry or exit loss. Sources: plane Poiseuille and Couette flow, Reynolds 1886 (textbook forms).
 * All fail with EF_ERROR_RANGE, naming the argument, for a length, gap or viscosity that isn't above zero.
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

/* Flow (m3/s) through a plane slot from pressure drop @dp (Pa): width gap^3 dp / (12 mu length) + width gap U / 2, where
 * @wall_speed U (m/s) is that of the one moving wall, positive along the flow. */
gboolean ef_slot_flow (double width, double gap, double length, double dp, double mu, double wall_speed, double *flow_out, GError **error);

/* Flow between two flat discs from @inner to @outer radius: pi gap^3 dp / (6 mu ln (outer / inner)). */
gboolean ef_annulus_flow (double gap, double inner, double outer, double dp, double mu, double *flow_out, GError **error);

/* The annulus with a groove of angle @beta (rad) and depth @depth (m), its sides radial: Q / Q0 = 1 + beta / 2 pi ((1 + d/h)^3 - 1). */
gboolean ef_grooved_annulus_flow (double gap, double inner, double outer, double beta, double depth, double dp, double mu, double *flow_out, GError **error);

/* Annuli in series, radii r[0] < r[1] < … < r[n], gap[i] between r[i] and r[i + 1]. */
gboolean ef_series_annuli_flow (guint n, const double *radii, const double *gaps, double dp, double mu, double *flow_out, GError **error);

/* Flow along the ring gap of a journal, radial clearance @gap, eccentricity ratio @eccentricity 0 … 1:
 * pi D gap^3 dp (1 + 1.5 e^2) / (12 mu length). */
gboolean ef_journal_flow (double diameter, double gap, double eccentricity, double length, double dp, double mu, double *flow_out, GError **error);

G_END_DECLS
