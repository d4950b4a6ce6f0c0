/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-slot.h"

#include <math.h>

static gboolean
above_zero (const char *name,
            double value,
            GError **error)
{
  if (isfinite (value) && value > 0.0)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected a number above 0, found %g", name, value);

  return FALSE;
}

static gboolean
is_finite (const char *name,
        double value,
        GError **error)
{
  if (isfinite (value))
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected a finite number, found %g", name, value);

  return FALSE;
}

gboolean
ef_slot_flow (double width,
              double gap,
              double length,
              double dp,
              double mu,
              double wall_speed,
              double *flow_out,
              GError **error)
{
  if (!above_zero ("width", width, error) || !above_zero ("gap", gap, error) || !above_zero ("length", length, error) ||
      !above_zero ("viscosity", mu, error) || !is_finite ("pressure drop", dp, error) || !is_finite ("wall speed", wall_speed, error))
    return FALSE;
  *flow_out = width * gap * gap * gap * dp / (12.0 * mu * length) + width * gap * wall_speed / 2.0;

  return TRUE;
}

static gboolean
check_radii (double inner,
             double outer,
             GError **error)
{
  if (!above_zero ("inner radius", inner, error) || !is_finite ("outer radius", outer, error))
    return FALSE;
  if (outer > inner)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "outer radius: expected more than the inner radius %g m, found %g m", inner, outer);

  return FALSE;
}

gboolean
ef_annulus_flow (double gap,
                 double inner,
                 double outer,
                 double dp,
                 double mu,
                 double *flow_out,
                 GError **error)
{
  if (!above_zero ("gap", gap, error) || !check_radii (inner, outer, error) ||
      !above_zero ("viscosity", mu, error) || !is_finite ("pressure drop", dp, error))
    return FALSE;
  *flow_out = G_PI * gap * gap * gap * dp / (6.0 * mu * log (outer / inner));

  return TRUE;
}

gboolean
ef_grooved_annulus_flow (double gap,
                         double inner,
                         double outer,
                         double beta,
                         double depth,
                         double dp,
                         double mu,
                         double *flow_out,
                         GError **error)
{
  double plain;

  if (!ef_annulus_flow (gap, inner, outer, dp, mu, &plain, error))
    return FALSE;
  if (!(beta >= 0.0 && beta <= 2.0 * G_PI) || !(depth >= 0.0) || !isfinite (depth))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "groove: expected an angle of 0 to 2 pi rad and a depth from 0, found %g rad and %g m", beta, depth);
      return FALSE;
    }
  *flow_out = plain * (1.0 + beta / (2.0 * G_PI) * (pow (1.0 + depth / gap, 3.0) - 1.0));

  return TRUE;
}

gboolean
ef_series_annuli_flow (guint n,
                       const double *radii,
                       const double *gaps,
                       double dp,
                       double mu,
                       double *flow_out,
                       GError **error)
{
  double resistance = 0.0;

  if (n == 0)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_RANGE, "annuli: expected at least one");
      return FALSE;
    }
  for (guint i = 0; i < n; i++)
    {
      double unit;

      if (!ef_annulus_flow (gaps[i], radii[i], radii[i + 1], 1.0, mu, &unit, error))
        return FALSE;
      resistance += 1.0 / unit;
    }
  *flow_out = dp / resistance;

  return is_finite ("pressure drop", dp, error);
}

gboolean
ef_journal_flow (double diameter,
                 double gap,
                 double eccentricity,
                 double length,
                 double dp,
                 double mu,
                 double *flow_out,
                 GError **error)
{
  if (!(eccentricity >= 0.0 && eccentricity <= 1.0))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "eccentricity: expected 0 to 1, found %g", eccentricity);
      return FALSE;
    }
  if (!ef_slot_flow (G_PI * diameter, gap, length, dp, mu, 0.0, flow_out, error))
    return FALSE;
  *flow_out *= 1.0 + 1.5 * eccentricity * eccentricity;

  return TRUE;
}
