/* What can be measured on one gear: span over teeth, size over pins.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Relations of DIN 3960 / ISO 21771 (from memory); checked against the handbook examples named in the tests.
 */
#include "ef-gear-pair.h"

#include <math.h>

#include "ef-gear-root.h"
#include "../base/ef-error.h"

int
ef_gear_span_teeth (const EfGearPair *pair,
                    int gear,
                    double *theoretical)
{
  double z = pair->in.teeth[gear];
  double x = pair->in.shift[gear];
  double alpha = pair->in.pressure_angle;
  double edge = 1.0 + 2.0 * x / z;
  double root = sqrt (fmax (edge * edge - cos (alpha) * cos (alpha), 0.0)) / cos (alpha);
  double k = z * (root - ef_involute (alpha) - 2.0 * x / z * tan (alpha)) / G_PI + 0.5;

  if (theoretical != NULL)
    *theoretical = k;

  return MAX (1, (int) rint (k));
}

double
ef_gear_span (const EfGearPair *pair,
              int gear,
              int k)
{
  double alpha = pair->in.pressure_angle;

  return pair->in.module * (cos (alpha) * (G_PI * (k - 0.5) + pair->in.teeth[gear] * ef_involute (alpha)) + 2.0 * pair->in.shift[gear] * sin (alpha));
}

double
ef_gear_over_pins (const EfGearPair *pair,
                   int gear,
                   double pin_diameter,
                   GError **error)
{
  double base = 2.0 * pair->base_radius[gear];
  double phi;
  double centre;

  if (!isfinite (pin_diameter) || pin_diameter <= 0.0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "pin_diameter: expected above 0, found %g mm", 1e3 * pin_diameter);
      return NAN;
    }
  phi = ef_involute_inverse (pin_diameter / base - ef_gear_flank_half_angle (pair, gear, 0.0), NULL);
  centre = base / cos (phi);
  if (!isfinite (phi) || tan (phi) < pin_diameter / base || 0.5 * (centre - pin_diameter) < pair->in.root_radius[gear])
    {
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "pin_diameter: expected a pin that rests on the flanks, found one of %.6g mm that falls to the root", 1e3 * pin_diameter);
      return NAN;
    }
  /* The point of touch is base / (2 cos) of the angle whose tangent is phi + half the space at the base circle. */
  if (0.5 * base * hypot (1.0, tan (phi) - pin_diameter / base) > pair->in.tip_radius[gear])
    {
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "pin_diameter: expected a pin that rests on the flanks, found one of %.6g mm that rests on the tips", 1e3 * pin_diameter);
      return NAN;
    }
  if (pair->in.teeth[gear] % 2 != 0)
    centre *= cos (0.5 * G_PI / pair->in.teeth[gear]);

  return centre + pin_diameter;
}

double
ef_gear_ideal_pin (const EfGearPair *pair,
                   int gear)
{
  double base = 2.0 * pair->base_radius[gear];
  double touch = acos (CLAMP (base / (pair->in.module * (pair->in.teeth[gear] + 2.0 * pair->in.shift[gear])), 0.0, 1.0));
  double half_space = ef_gear_flank_half_angle (pair, gear, 0.0);

  return base * (ef_involute (tan (touch) + half_space) + half_space);
}
