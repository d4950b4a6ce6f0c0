/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-scale-risk.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <math.h>

/* Of the normal distribution's function from far below to @t. */
static double
integral (double t)
{
  return t * gsl_cdf_ugaussian_P (t) + gsl_ran_ugaussian_pdf (t);
}

gboolean
ef_scale_risk (const EfDecisionRule *rule,
               double gauge_u,
               double step,
               EfScaleRisk *out,
               GError **error)
{
  double factor = ef_decision_factor (rule);
  double a, b;

  if (!ef_decision_rule_check (rule, error))
    return FALSE;
  if (!(gauge_u > 0.0) || !isfinite (gauge_u) || !(step >= 0.0) || !isfinite (step))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "scale: expected an uncertainty above 0 and a step from 0 on, found %g and %g m", gauge_u, step);
      return FALSE;
    }

  out->u = hypot (gauge_u, step / sqrt (12.0));
  out->guard = factor * out->u;
  out->promised = gsl_cdf_ugaussian_Q (factor);
  /* The last mark to be accepted lies from none to a whole step inside the guard band; it's shown for what lies up to half a step beyond it. */
  a = (-out->guard - 0.5 * step) / gauge_u;
  b = (-out->guard + 0.5 * step) / gauge_u;
  out->lowest = gsl_cdf_ugaussian_P (a);
  out->highest = gsl_cdf_ugaussian_P (b);
  out->mean = b - a > 1e-6 ? (integral (b) - integral (a)) / (b - a) : gsl_cdf_ugaussian_P (0.5 * (a + b));
  out->guard_every_fall = factor * gauge_u + 0.5 * step;

  return TRUE;
}
