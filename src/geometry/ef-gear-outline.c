/* One gear's outline in plan, the area between its teeth, and how two outlines mesh.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-gear-pair.h"

#include <math.h>

#include "ef-gear-root.h"

/* Half a tooth from the middle of the space out to the middle of the tip, as radius and angle from the tooth's centre
 * line. Points of one flank; the other is its mirror image. */
typedef struct
{
  guint n;
  double *radius;
  double *angle;
} HalfTooth;

static void
half_tooth_add (HalfTooth *half,
                double radius,
                double angle)
{
  half->radius[half->n] = radius;
  half->angle[half->n++] = angle;
}

static HalfTooth
half_tooth_new (const EfGearPair *pair,
                int gear,
                guint flank,
                guint arc)
{
  EfGearRoot root = ef_gear_root (pair, gear, pair->fillet_radius[gear]);
  double pitch_half = G_PI / pair->in.teeth[gear];
  double rb = pair->base_radius[gear];
  double ra = pair->in.tip_radius[gear];
  double start = fmax (rb, root.top_radius);
  double roll_start = sqrt ((start - rb) * (start + rb));
  double roll_end = sqrt ((ra - rb) * (ra + rb));
  double tip_half = pitch_half - ef_gear_flank_half_angle (pair, gear, ra);
  HalfTooth half = { 0, g_new (double, flank + 3 * arc + 8), g_new (double, flank + 3 * arc + 8) };

  /* Root circle, from the middle of the space (left out when the fillets meet there: it is the first fillet point). */
  for (guint i = 0; i < arc && root.centre_angle > 1e-12; i++)
    half_tooth_add (&half, pair->in.root_radius[gear], pitch_half - root.centre_angle * i / arc);
  if (root.radius > 0.0)
    {
      /* About the fillet's centre: from the direction to the axis round to the point on the flank. */
      double top_x = root.top_radius * cos (root.top_angle - root.centre_angle) - root.centre;
      double top_y = root.top_radius * sin (root.top_angle - root.centre_angle);
      double sweep = atan2 (top_y, -top_x);

      for (guint i = 0; i < arc; i++)
        {
          double t = sweep * i / arc;
          double x = root.centre - root.radius * cos (t);
          double y = root.radius * sin (t);

          half_tooth_add (&half, hypot (x, y), pitch_half - root.centre_angle - atan2 (y, x));
        }
    }
  if (root.top_radius < rb)
    half_tooth_add (&half, root.top_radius, pitch_half - root.top_angle);
  for (guint i = 0; i <= flank; i++)
    {
      double roll = roll_start + (roll_end - roll_start) * i / flank;
      double r = i < flank ? hypot (rb, roll) : ra;

      half_tooth_add (&half, r, pitch_half - ef_gear_flank_half_angle (pair, gear, r));
    }
  for (guint i = 1; i < arc; i++)
    half_tooth_add (&half, ra, tip_half * (1.0 - (double) i / arc));

  return half;
}

static void
half_tooth_clear (HalfTooth *half)
{
  g_free (half->radius);
  g_free (half->angle);
}

EfRing
ef_gear_outline (const EfGearPair *pair,
                 int gear,
                 guint points_per_flank)
{
  guint flank = CLAMP (points_per_flank, 8, 10000);
  HalfTooth half = half_tooth_new (pair, gear, flank, flank / 2);
  guint per_tooth = 2 * half.n;
  int z = pair->in.teeth[gear];
  EfRing ring = ef_ring_new (per_tooth * (guint) z, NULL);
  double *xy = ring.xy;

  for (int k = 0; k < z; k++)
    {
      double centre = 2.0 * G_PI * k / z;

      /* Anticlockwise: up the flank at smaller angles, middle of the tip, down the other to one point before the middle of
       * the next space. */
      for (guint i = 0; i < half.n; i++, xy += 2)
        {
          xy[0] = half.radius[i] * cos (centre - half.angle[i]);
          xy[1] = half.radius[i] * sin (centre - half.angle[i]);
        }
      xy[0] = pair->in.tip_radius[gear] * cos (centre);
      xy[1] = pair->in.tip_radius[gear] * sin (centre);
      xy += 2;
      for (guint i = half.n - 1; i >= 1; i--, xy += 2)
        {
          xy[0] = half.radius[i] * cos (centre + half.angle[i]);
          xy[1] = half.radius[i] * sin (centre + half.angle[i]);
        }
    }
  half_tooth_clear (&half);

  return ring;
}

/* Twice the area from the axis out to radius r under the half angle (g + inv) of the space: integral of 2 (g + inv) r dr with
 * r = rb / cos phi and d inv = tan^2 phi d phi. */
static double
involute_sector (double g,
                 double rb,
                 double r)
{
  double t = sqrt ((r - rb) * (r + rb)) / rb;

  return r * r * (g + t - atan (t)) - rb * rb * t * t * t / 3.0;
}

double
ef_gear_space_area (const EfGearPair *pair,
                    int gear)
{
  EfGearRoot root = ef_gear_root (pair, gear, pair->fillet_radius[gear]);
  double rb = pair->base_radius[gear];
  double rf = pair->in.root_radius[gear];
  double g = ef_gear_flank_half_angle (pair, gear, rb);
  double start = fmax (rb, root.top_radius);
  double area = involute_sector (g, rb, pair->in.tip_radius[gear]) - involute_sector (g, rb, start);
  double turn = root.top_angle - root.centre_angle;
  double top_x = root.top_radius * cos (turn) - root.centre;
  double top_y = root.top_radius * sin (turn);
  double sweep = root.radius > 0.0 ? atan2 (top_y, -top_x) : 0.0;

  if (root.top_radius < rb)
    area += g * (rb - root.top_radius) * (rb + root.top_radius);
  /* Between root circle, fillet and the radius to the fillet's top: sector less what lies under the fillet. */
  area += root.top_angle * root.top_radius * root.top_radius - (root.centre_angle * rf * rf + root.centre * top_y - root.radius * root.radius * sweep);

  return area;
}

double
ef_gear_pair_mesh_angle (const EfGearPair *pair,
                         double drive_angle,
                         int rotation)
{
  double half[2];
  double side = rotation >= 0 ? 1.0 : -1.0;
  double ratio = (double) pair->in.teeth[0] / pair->in.teeth[1];

  /* Half the tooth's angle at the working circle. The drive tooth that stands half a thickness behind the pitch point touches
   * there, and so does the driven tooth that stands half a thickness ahead of it. */
  for (int i = 0; i < 2; i++)
    half[i] = 0.5 * ef_gear_thickness (pair, i, pair->working_radius[i]) / pair->working_radius[i];

  return G_PI - side * half[1] - ratio * (drive_angle + side * half[0]);
}
