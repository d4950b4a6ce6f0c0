/* What the steps of a gauge's scale do to the risk at a limit.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One reading of a thing whose true value lies exactly at an upper limit: the gauge errs normally, then shows the nearest mark of its scale. Accepted where
 * what it shows is within the limit by the guard band. Where the limit falls between two marks decides which mark is the last to be accepted, and
 * so how often that happens; over all such falls the rate averages to what the uncertainty with the scale as a rectangle promises.
 */
#pragma once

#include "ef-decision.h"

G_BEGIN_DECLS

typedef struct
{
  double u;       /* standard uncertainty with the scale in it, m: what the guard band is taken from */
  double guard;   /* m */
  double promised; /* accepted at the limit if the scale had no steps; 0.5 without a guard band */
  double lowest, highest, mean; /* accepted at the limit, over all falls of the limit between two marks */
  double guard_every_fall;      /* the guard band with which the highest is what is promised, m */
} EfScaleRisk;

/* @gauge_u: standard uncertainty without the scale, above 0; @step of the scale, from 0; m. Fails with EF_ERROR_RANGE. First principles. */
gboolean ef_scale_risk (const EfDecisionRule *rule, double gauge_u, double step, EfScaleRisk *out, GError **error);

G_END_DECLS
