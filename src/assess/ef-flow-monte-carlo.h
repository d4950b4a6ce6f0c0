/* How sure the hot-idle pressure of the pump as found is, its clearances drawn at random within the uncertainty of their readings.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * JCGM 101:2008 (from memory). Six clearances are drawn, normally distributed: end clearance, tip clearance and side play of either gear, with the
 * correlation that follows from the gauges they share: of a gauge's variance EF_SAME_GAUGE_CORRELATION is common to all that it reads. So one
 * micrometer for both gears makes both end clearances too large together, and cancels where it serves both terms of a difference.
 *
 * The films are solved at a few values of each clearance alone; between them log L (L the loss constant) and the drag follow a monotone cubic
 * (Steffen 1990, from memory), and what the clearances add to L is summed. What that costs in pressure is found by solving directly where several
 * clearances are off at once, between the knots.
 */
#pragma once

#include "../judge/ef-judge.h"

G_BEGIN_DECLS

typedef struct
{
  double mean, u;
  double low, high; /* shortest interval that holds 95 % of the draws */
} EfSpreadFigure;

typedef struct
{
  gboolean known;
  char *reason;    /* why it isn't; NULL where nobody asked */
  guint32 seed;
  guint draws;
  guint failed;    /* draws in which a gear would seize: left out */
  EfSpreadFigure end_clearance; /* cold, mean of both gears, m */
  EfSpreadFigure leakage;       /* driven by pressure, at hot idle, m3/s */
  EfSpreadFigure pressure;      /* at hot idle, Pa */
  double demand_pressure;       /* of the pump sheet's hot idle, Pa; NAN */
  double below;                 /* probability that the pressure is below it; NAN */
  double surrogate_error;       /* of the pressure, Pa: the largest difference from a direct solve where it was tried */
  guint checks;                 /* how often it was tried */
} EfFlowMonteCarlo;
void ef_flow_monte_carlo_clear (EfFlowMonteCarlo *self);
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (EfFlowMonteCarlo, ef_flow_monte_carlo_clear)

/* As in the flow result in full detail. @draws 0: adaptive (JCGM 101 7.9), otherwise at least 100. The same seed gives the same numbers. What
 * can't be worked out is no error: @out says why. Fails with EF_ERROR_CANCELLED and EF_ERROR_INVALID for @draws. Clear @out. */
gboolean ef_flow_monte_carlo (const EfFindings *findings, guint32 seed, guint draws, GCancellable *cancellable, EfFlowMonteCarlo *out, GError **error);
JsonNode *ef_flow_monte_carlo_to_json (const EfFlowMonteCarlo *self);

G_END_DECLS
