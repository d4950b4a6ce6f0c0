/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-working-point.h"

#include <math.h>
#include <string.h>

#define REFERENCE 293.15
#define MOST_ROUNDS 50

gboolean
ef_demand_constant (double flow,
                    double pressure,
                    double mu,
                    double *k_out,
                    GError **error)
{
  if (!(flow > 0.0) || !(pressure > 0.0) || !(mu > 0.0) || !isfinite (flow * pressure * mu))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "demand: expected flow, pressure and viscosity above 0, found %g m3/s, %g Pa, %g Pa s", flow, pressure, mu);
      return FALSE;
    }
  *k_out = mu * flow / pressure;

  return TRUE;
}

double
ef_hot_clearance (double cold,
                  double housing_length,
                  double housing_alpha,
                  double gear_length,
                  double gear_alpha,
                  double temperature)
{
  double warmth = temperature - REFERENCE;

  return cold + (housing_alpha * housing_length - gear_alpha * gear_length) * warmth;
}

static gboolean
fill_point (EfSectionFlow *flow,
            const EfSectionConditions *conditions,
            double displacement,
            EfWorkingPoint *out,
            GError **error)
{
  memset (out, 0, sizeof *out);
  if (!(displacement > 0.0))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "displacement: expected more than 0, found %g m3", displacement);
      return FALSE;
    }
  if (!ef_section_flow_solve (flow, conditions, &out->loss, error))
    return FALSE;
  out->pressure = conditions->dp;
  out->theoretical = displacement * conditions->speed;
  out->delivery = out->theoretical - out->loss.pressure_loss + out->loss.drag;
  out->efficiency = out->theoretical > 0.0 ? out->delivery / out->theoretical : NAN;
  out->loss_power = conditions->dp * out->loss.pressure_loss;

  return TRUE;
}

gboolean
ef_delivery_at (EfSectionFlow *flow,
                const EfSectionConditions *conditions,
                double displacement,
                EfWorkingPoint *out,
                GError **error)
{
  return fill_point (flow, conditions, displacement, out, error);
}

gboolean
ef_working_point (EfSectionFlow *flow,
                  const EfSectionConditions *conditions,
                  double displacement,
                  double k,
                  double relief,
                  EfWorkingPoint *out,
                  GError **error)
{
  EfSectionConditions now = *conditions;

  if (!(k > 0.0) || !isfinite (k))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "demand: expected a constant above 0, found %g m3", k);
      return FALSE;
    }
  /* L and the drag depend on the pressure only through the direction of the side play: this settles in two or three rounds. */
  for (int round = 0; round < MOST_ROUNDS; round++)
    {
      double p;

      if (!fill_point (flow, &now, displacement, out, error))
        return FALSE;
      p = now.mu * (out->theoretical + out->loss.drag) / (k + out->loss.constant);
      if (!isnan (relief) && p > relief)
        {
          p = relief;
          out->at_relief = TRUE;
        }
      if (fabs (p - now.dp) <= 1e-6 * p)
        {
          out->relieved = out->at_relief ? MAX (out->delivery - k * p / now.mu, 0.0) : 0.0;
          return TRUE;
        }
      now.dp = p;
    }
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "working point: the pressure didn't settle in %d rounds", MOST_ROUNDS);

  return FALSE;
}
