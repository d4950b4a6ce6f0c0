/* Displacement from polygons: tooth spaces less the trapped space.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Drive axis at (-rw1, 0), driven axis at (rw2, 0), pitch point at the origin, drive gear turning anticlockwise. Contact
 * moves along (sin, cos) of the working angle, always on the flank that faces the larger angle of its tooth, on both gears.
 */
#include "ef-displacement.h"

#include <math.h>

#include "../base/ef-error.h"

/* One gear's part of the trap's edge: from the contact on tooth 0 anticlockwise over its root and the tip of tooth 1 to the
 * contact there. */
static void
add_path (GArray *points,
          const EfRing *ring,
          int teeth,
          double axis,
          double tooth_angle,
          double from_radius,
          double to_radius)
{
  guint per_tooth = ring->n / (guint) teeth;

  for (guint i = per_tooth / 2; i < 2 * per_tooth; i++)
    {
      double x = ring->xy[2 * (i % ring->n)];
      double y = ring->xy[2 * (i % ring->n) + 1];
      double r = hypot (x, y);
      gboolean falling = i % per_tooth >= per_tooth / 2;
      double point[2];

      if (i < per_tooth && r >= from_radius)
        continue;
      if (i >= per_tooth && falling && r <= to_radius)
        continue;
      point[0] = axis + x * cos (tooth_angle) - y * sin (tooth_angle);
      point[1] = x * sin (tooth_angle) + y * cos (tooth_angle);
      g_array_append_vals (points, point, 2);
    }
}

static double
trap_area (const EfGearPair *pair,
           const EfRing rings[2])
{
  double half = 0.5 * pair->base_pitch;
  double alpha = pair->working_angle;
  double contact[2][2] = { { -half * sin (alpha), -half * cos (alpha) }, { half * sin (alpha), half * cos (alpha) } };
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (double));
  EfRing trap;

  for (int gear = 0; gear < 2; gear++)
    {
      double axis = gear == 0 ? -pair->working_radius[0] : pair->working_radius[1];
      const double *first = contact[gear];
      const double *second = contact[1 - gear];
      double r = hypot (first[0] - axis, first[1]);
      double tooth_angle = atan2 (first[1], first[0] - axis) - 0.5 * ef_gear_thickness (pair, gear, r) / r;

      g_array_append_vals (points, first, 2);
      add_path (points, &rings[gear], pair->in.teeth[gear], axis, tooth_angle, r, hypot (second[0] - axis, second[1]));
    }
  trap = (EfRing){ points->len / 2, (double *) (gpointer) points->data };

  return fabs (ef_ring_area (&trap));
}

gboolean
ef_displacement_by_areas (const EfGearPair *pair,
                          guint points_per_flank,
                          EfDisplacementAreas *out,
                          GError **error)
{
  double half = 0.5 * pair->base_pitch;
  double alpha = pair->working_angle;
  EfDisplacementAreas results[2];

  for (int gear = 0; gear < 2; gear++)
    {
      double inner = hypot (pair->working_radius[gear] - half * sin (alpha), half * cos (alpha));
      double outer = hypot (pair->working_radius[gear] + half * sin (alpha), half * cos (alpha));

      if (inner < pair->form_radius[gear] || outer > pair->in.tip_radius[gear])
        {
          g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "gear %d: expected the involute from %.6g to %.6g mm, where contact is handed over, found it from %.6g to %.6g mm", gear,
                       2e3 * inner, 2e3 * outer, 2e3 * pair->form_radius[gear], 2e3 * pair->in.tip_radius[gear]);
          return FALSE;
        }
    }

  points_per_flank = CLAMP (points_per_flank, 16, 10000);
  for (int fine = 0; fine < 2; fine++)
    {
      EfRing rings[2];

      for (int gear = 0; gear < 2; gear++)
        {
          double ra = pair->in.tip_radius[gear];

          rings[gear] = ef_gear_outline (pair, gear, fine ? 2 * (points_per_flank / 2) : points_per_flank / 2);
          results[fine].space_area[gear] = (G_PI * ra * ra - ef_ring_area (&rings[gear])) / pair->in.teeth[gear];
        }
      results[fine].trap_area = trap_area (pair, rings);
      for (int gear = 0; gear < 2; gear++)
        ef_ring_clear (&rings[gear]);
    }

  /* Chords of arcs: the error falls with the square of the number of points. */
  for (int gear = 0; gear < 2; gear++)
    out->space_area[gear] = (4.0 * results[1].space_area[gear] - results[0].space_area[gear]) / 3.0;
  out->trap_area = (4.0 * results[1].trap_area - results[0].trap_area) / 3.0;
  out->volume = pair->in.teeth[0] * pair->in.face_width * (out->space_area[0] + out->space_area[1] - out->trap_area);

  return TRUE;
}
