/* Delivery, and the pressure at which pump and engine agree.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The engine's demand: Q = k p / mu, k (m3) from one known point; the relief valve holds the pressure at its setting or below. Then
 *   p = mu (V n + q_drag) / (k + L).
 * Not modelled: filling losses, cavitation, air in the oil, shear thinning, the relief valve's own slope.
 */
#pragma once

#include "ef-section-flow.h"

G_BEGIN_DECLS

/* k = mu Q / p. */
gboolean ef_demand_constant (double flow, double pressure, double mu, double *k_out, GError **error);

/* Film left after the parts have grown: @cold (m) at 20 degrees C, housing and gear of these lengths (m) and expansion coefficients (1/K), at
 * @temperature (K). For end clearance the lengths are pocket depth and face width, for tip clearance pocket and tip radius. */
double ef_hot_clearance (double cold, double housing_length, double housing_alpha, double gear_length, double gear_alpha, double temperature);

typedef struct
{
  double pressure;   /* Pa */
  double delivery;   /* m3/s to the engine and the relief valve */
  double theoretical; /* V n, m3/s */
  double efficiency; /* volumetric: delivery / theoretical */
  double loss_power; /* W lost to leakage: pressure times pressure-driven loss */
  gboolean at_relief; /* the valve is open: pressure is its setting */
  double relieved;   /* m3/s through the valve */
  EfSectionLoss loss;
} EfWorkingPoint;

/* Delivery at the pressure of the conditions. @displacement: m3 a revolution of the drive gear. */
gboolean ef_delivery_at (EfSectionFlow *flow, const EfSectionConditions *conditions, double displacement, EfWorkingPoint *out, GError **error);

/* The point where the pump meets the demand @k. conditions->dp is the first guess. @relief NAN: none. */
gboolean ef_working_point (EfSectionFlow *flow, const EfSectionConditions *conditions, double displacement, double k, double relief, EfWorkingPoint *out, GError **error);

G_END_DECLS
