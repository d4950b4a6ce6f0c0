/* The foot of a tooth: undercut by the rack, room for a fillet, clearance of the mate's tip.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-gear-root.h"

#include <math.h>

/* Root fillet of the basic rack in modules: ISO 53, profile A (from memory). */
#define FILLET_MODULES 0.38

double
ef_gear_flank_half_angle (const EfGearPair *pair,
                          int gear,
                          double r)
{
  double rb = pair->base_radius[gear];
  double z = pair->in.teeth[gear];
  double alpha = pair->in.pressure_angle;
  double base_space = G_PI / z - (0.5 * G_PI + 2.0 * pair->in.shift[gear] * tan (alpha)) / z - ef_involute (alpha);

  return base_space + (r > rb ? ef_involute (acos (rb / r)) : 0.0);
}

/* Radius of the circle that is tangent to the root circle from outside and to the flank at radius r. With n the flank's normal
 * into the space, |F + rho n| = rf + rho, and F.n = sqrt (r^2 - rb^2) on the involute, 0 on the radial foot. */
static double
fillet_at (const EfGearPair *pair,
           int gear,
           double r)
{
  double rf = pair->in.root_radius[gear];
  double rb = pair->base_radius[gear];
  double along = r > rb ? sqrt ((r - rb) * (r + rb)) : 0.0;

  return along < rf ? 0.5 * (r - rf) * (r + rf) / (rf - along) : INFINITY;
}

EfGearRoot
ef_gear_root (const EfGearPair *pair,
              int gear,
              double fillet_radius)
{
  double low = pair->in.root_radius[gear];
  double high = pair->in.tip_radius[gear];
  EfGearRoot root = { .radius = fillet_radius };
  double along;

  if (fillet_radius > 0.0)
    for (int i = 0; i < 100; i++)
      {
        double middle = 0.5 * (low + high);

        if (fillet_at (pair, gear, middle) < fillet_radius)
          low = middle;
        else
          high = middle;
      }
  root.top_radius = low;
  root.top_angle = ef_gear_flank_half_angle (pair, gear, low);
  root.centre = pair->in.root_radius[gear] + fillet_radius;
  /* In the frame of F: the centre lies (along) outward and (across) into the space. */
  along = low > pair->base_radius[gear] ? sqrt ((low - pair->base_radius[gear]) * (low + pair->base_radius[gear])) / low : 0.0;
  root.centre_angle = root.top_angle - atan2 (fillet_radius * sqrt (1.0 - along * along), low + fillet_radius * along);

  return root;
}

/* Whether the corner of a rack tooth, h below the pitch line, cuts into the involute where that is t (m, along the tangent)
 * from its base circle. Seen from the turning gear, with the rack's flank through the pitch point at roll angle 0 and
 * angles clockwise from there, the corner at distance rho from the axis lies at atan (X / Y) - phi with Y = r - h,
 * X = -sqrt (rho^2 - Y^2) on the side where it enters the space, and phi = (X - h tan alpha) / r; the flank lies at
 * inv alpha - inv alpha_rho. */
static gboolean
rack_cuts (const EfGearPair *pair,
           int gear,
           double t)
{
  double alpha = pair->in.pressure_angle;
  double rb = pair->base_radius[gear];
  double r = 0.5 * pair->in.module * pair->in.teeth[gear];
  double h = (1.0 - pair->in.shift[gear]) * pair->in.module;
  double y = r - h;
  double x = -sqrt (fmax (rb * rb + t * t - y * y, 0.0));
  double phi = (x - h * tan (alpha)) / r;

  return atan2 (x, y) - phi < ef_involute (alpha) - ef_involute (atan (t / rb));
}

double
ef_gear_undercut_radius (const EfGearPair *pair,
                         int gear)
{
  const int steps = 500;
  double rb = pair->base_radius[gear];
  double ra = pair->in.tip_radius[gear];
  double reach = sqrt ((ra - rb) * (ra + rb));
  double inner = 0.0;
  double outer = reach;

  if (pair->in.shift[gear] >= pair->undercut_limit[gear] || (1.0 - pair->in.shift[gear]) * 2.0 >= pair->in.teeth[gear])
    return 0.0;
  /* Finer towards the base circle, where a slight undercut ends. */
  for (int i = 1; i <= steps; i++)
    {
      double t = reach * pow ((double) i / steps, 3.0);

      if (rack_cuts (pair, gear, t))
        {
          inner = t;
          outer = reach * pow ((i + 1.0) / steps, 3.0);
        }
    }
  if (inner == 0.0)
    return 0.0;
  for (int i = 0; i < 60; i++)
    {
      double middle = 0.5 * (inner + outer);

      if (rack_cuts (pair, gear, middle))
        inner = middle;
      else
        outer = middle;
    }

  return hypot (rb, inner);
}

static double
root_half_angle (const EfGearPair *pair,
                 int gear,
                 const EfGearRoot *root,
                 double r)
{
  double cosine;

  if (r >= root->top_radius || root->radius <= 0.0)
    return ef_gear_flank_half_angle (pair, gear, r);
  cosine = (r * r + root->centre * root->centre - root->radius * root->radius) / (2.0 * r * root->centre);

  return root->centre_angle + acos (CLAMP (cosine, -1.0, 1.0));
}

double
ef_gear_space_half_angle (const EfGearPair *pair,
                          int gear,
                          double r)
{
  EfGearRoot root;

  if (r < pair->in.root_radius[gear])
    return 0.0;
  root = ef_gear_root (pair, gear, pair->fillet_radius[gear]);

  return root_half_angle (pair, gear, &root, r);
}

/* Whether the tip corner of the mate comes into the tooth while it runs through the space of @gear. Axis of the gear at the
 * origin, of its mate at (a, 0); the gear drives clockwise. Contact of the flank with the corner is where the corner
 * crosses the active radius: above the line of axes, or below where the tip circle of the mate stays inside its working
 * circle. Seen from the gear the corner stands at the flank's own angle there. */
static gboolean
tip_cuts (const EfGearPair *pair,
          int gear,
          const EfGearRoot *root)
{
  const int steps = 200;
  int mate = 1 - gear;
  double a = pair->in.centre_distance;
  double ra = pair->in.tip_radius[mate];
  double active = pair->active_radius[gear];
  double side = active <= pair->working_radius[gear] ? 1.0 : -1.0;
  double ratio = (double) pair->in.teeth[gear] / pair->in.teeth[mate];
  double start = acos (CLAMP ((a * a + ra * ra - active * active) / (2.0 * a * ra), -1.0, 1.0));
  double own_start = acos (CLAMP ((a * a + active * active - ra * ra) / (2.0 * a * active), -1.0, 1.0));
  double contact = ef_gear_flank_half_angle (pair, gear, active);

  for (int i = 0; i <= steps; i++)
    {
      double at = start * (1.0 - 2.0 * i / steps);
      double x = a - ra * cos (at);
      double y = ra * sin (at);
      double r = hypot (x, y);
      double angle = contact + atan2 (y, x) - side * own_start + (side * start - at) / ratio;

      if (r * (fabs (angle) - root_half_angle (pair, gear, root, r)) > 1e-9)
        return TRUE;
    }

  return FALSE;
}

double
ef_gear_fitting_fillet (const EfGearPair *pair,
                        int gear)
{
  double fillet = FILLET_MODULES * pair->in.module;

  for (; fillet > 0.01 * pair->in.module; fillet *= 0.85)
    {
      EfGearRoot root = ef_gear_root (pair, gear, fillet);

      if (root.centre_angle >= 0.0 && !tip_cuts (pair, gear, &root))
        return fillet;
    }

  return 0.0;
}
