/* Taper of a bore or journal along its axis.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-bore.h"

#include <math.h>

static gboolean
check_row (const double *places,
           const double *diameters,
           const double *u,
           guint i,
           GError **error)
{
  if (!(fabs (places[i]) <= 10))
    g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "diameters[%u]: place: expected a length within 10 m, found %g m", i, places[i]);
  else if (!(diameters[i] > 0 && diameters[i] <= 10))
    g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "diameters[%u]: diameter: expected a length above 0 and up to 10 m, found %g m", i, diameters[i]);
  else if (u != NULL && !(u[i] >= 0 && u[i] <= 1))
    g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "diameters[%u]: uncertainty: expected 0 or more, found %g m", i, u[i]);
  else
    return TRUE;

  return FALSE;
}

gboolean
ef_bore_taper (const double *places,
               const double *diameters,
               const double *u,
               guint n,
               EfTaper *taper,
               GError **error)
{
  double z = 0, d = 0, zz = 0, zd = 0, squares = 0, u2 = 0;
  double low = INFINITY, high = -INFINITY;

  for (guint i = 0; i < n; i++)
    {
      if (!check_row (places, diameters, u, i, error))
        return FALSE;
      z += places[i] / n;
      d += diameters[i] / n;
      low = MIN (low, places[i]);
      high = MAX (high, places[i]);
    }
  if (!(high - low > 1e-6))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "diameters: expected at least 2 places along the axis, found %u", MIN (n, 1));
      return FALSE;
    }

  for (guint i = 0; i < n; i++)
    {
      zz += (places[i] - z) * (places[i] - z);
      zd += (places[i] - z) * (diameters[i] - d);
    }
  *taper = (EfTaper){ .slope = zd / zz, .taper = zd / zz * (high - low), .mean = d, .u_taper = NAN };
  for (guint i = 0; i < n; i++)
    {
      double e = diameters[i] - d - taper->slope * (places[i] - z);
      double gain = (places[i] - z) / zz * (high - low);

      squares += e * e;
      u2 += u != NULL ? gain * gain * u[i] * u[i] : 0;
    }
  taper->residual = sqrt (squares / n);
  if (u != NULL)
    taper->u_taper = sqrt (u2);

  return TRUE;
}
