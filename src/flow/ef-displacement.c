/* Displacement and flow ripple of a gear pair: closed form and integration.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-displacement.h"

#include <math.h>

#include "../base/ef-error.h"

static double
ratio_of (const EfGearPair *pair)
{
  return (double) pair->in.teeth[0] / pair->in.teeth[1];
}

double
ef_displacement_rate (const EfGearPair *pair,
                      double u)
{
  double i = ratio_of (pair);
  double sum = 0.0;

  for (int gear = 0; gear < 2; gear++)
    sum += (gear == 0 ? 1.0 : i) * (pair->in.tip_radius[gear] - pair->working_radius[gear]) * (pair->in.tip_radius[gear] + pair->working_radius[gear]);

  return 0.5 * pair->in.face_width * (sum - (1.0 + i) * u * u);
}

/* What both gears sweep per radian of the drive gear, from where the contact point is; no use of the line above. */
static double
swept (const EfGearPair *pair,
       double u)
{
  double alpha = pair->working_angle;
  double x = u * sin (alpha); /* from the pitch point, towards the driven axis */
  double y = u * cos (alpha);
  double drive = hypot (pair->working_radius[0] + x, y);
  double driven = hypot (pair->working_radius[1] - x, y);
  double a0 = pair->in.tip_radius[0];
  double a1 = pair->in.tip_radius[1];

  return 0.5 * pair->in.face_width * ((a0 - drive) * (a0 + drive) + ratio_of (pair) * (a1 - driven) * (a1 + driven));
}

/* Volume of a turn, with u over [from, from + pb]: z1 teeth, theta1 = u / rb1. Simpson's rule. */
static double
integrate (const EfGearPair *pair,
           double from)
{
  const int n = 32;
  double step = pair->base_pitch / n;
  double sum = swept (pair, from) + swept (pair, from + pair->base_pitch);

  for (int i = 1; i < n; i++)
    sum += (i % 2 != 0 ? 4.0 : 2.0) * swept (pair, from + i * step);

  return pair->in.teeth[0] * sum * step / 3.0 / pair->base_radius[0];
}

gboolean
ef_displacement_solve (const EfGearPair *pair,
                       EfDisplacement *out,
                       GError **error)
{
  double pb = pair->base_pitch;
  double i = ratio_of (pair);
  double recess;

  if (!(pair->contact_ratio >= 1.0))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "contact_ratio: expected at least 1, found %.4g: delivery and suction aren't parted at every moment", pair->contact_ratio);
      return FALSE;
    }

  *out = (EfDisplacement){ 0 };
  out->volume = 2.0 * G_PI * ef_displacement_rate (pair, pb / sqrt (12.0));
  out->volume_simple = 2.0 * G_PI * ef_displacement_rate (pair, 0.0);
  out->volume_integrated = integrate (pair, -0.5 * pb);
  out->mean_rate = out->volume / (2.0 * G_PI);
  out->ripple = (ef_displacement_rate (pair, 0.0) - ef_displacement_rate (pair, 0.5 * pb)) / out->mean_rate;

  /* The leading contact ends on the tip of the drive gear, or where the involute of the driven gear ends. */
  recess = fmin (sqrt ((pair->in.tip_radius[0] - pair->base_radius[0]) * (pair->in.tip_radius[0] + pair->base_radius[0])), pair->in.centre_distance * sin (pair->working_angle));
  out->handover[1] = recess - pair->working_radius[0] * sin (pair->working_angle);
  out->handover[0] = out->handover[1] - pb;
  /* Mean of u^2 over that range. */
  out->volume_no_relief = out->volume_simple - G_PI * pair->in.face_width * (1.0 + i) * (pow (out->handover[1], 3.0) - pow (out->handover[0], 3.0)) / (3.0 * pb);

  return TRUE;
}

double
ef_volumetric_efficiency (double volume,
                          double speed,
                          double leak)
{
  if (!(volume > 0.0) || !(speed > 0.0))
    return NAN;

  return 1.0 - leak / (volume * speed / (2.0 * G_PI));
}

double
ef_displacement_ratio (const EfDisplacement *scavenge,
                       const EfDisplacement *pressure)
{
  return scavenge->volume / pressure->volume;
}
