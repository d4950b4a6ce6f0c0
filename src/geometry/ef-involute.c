/* The involute function and its inverse.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-gear-pair.h"

#include <math.h>

#include "../base/ef-error.h"

double
ef_involute (double angle)
{
  double square = angle * angle;

  /* tan a - a cancels for small angles; the series is exact to the last digit there. */
  if (fabs (angle) < 0.02)
    return angle * square * (1.0 / 3.0 + square * (2.0 / 15.0 + square * (17.0 / 315.0 + square * 62.0 / 2835.0)));

  return tan (angle) - angle;
}

/* Newton's iteration from above: tan a - a is convex and both start values are upper bounds, so it falls to the root. */
double
ef_involute_inverse (double inv,
                     GError **error)
{
  double angle;

  if (!isfinite (inv) || inv < 0.0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "inv: expected a number of at least 0, found %g", inv);
      return NAN;
    }
  if (inv == 0.0)
    return 0.0;

  angle = fmin (cbrt (3.0 * inv), atan (inv + 0.5 * G_PI));
  for (int i = 0; i < 60; i++)
    {
      double slope = tan (angle);
      double step = (ef_involute (angle) - inv) / (slope * slope);

      angle -= step;
      if (fabs (step) <= 1e-16 * angle)
        break;
    }

  return angle;
}
