/* Outlines: area against the closed form, and two outlines that mesh without cutting into each other.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "geometry/ef-gear-pair.h"

#include <math.h>

#include "base/ef-error.h"
#include "fixed-random.h"
#include "../isolate.h"

#define DEG (G_PI / 180.0)

static const EfGearPairInput pairs[] = {
  { { 12, 12 }, 3e-3, 20.0 * DEG, { 0.3, 0.3 }, { 21.6e-3, 21.6e-3 }, { 0, 0 }, 37.7e-3, 25e-3 },
  { { 12, 24 }, 3e-3, 20.0 * DEG, { 0.6, 0.36 }, { 22.41986972e-3, 39.69986972e-3 }, { 0, 0 }, 56.49986972e-3, 20e-3 },
  { { 11, 11 }, 4e-3, 20.0 * DEG, { 0.5, 0.5 }, { 27.25907144e-3, 27.25907144e-3 }, { 0, 0 }, 47.25907144e-3, 20e-3 },
  { { 20, 20 }, 2e-3, 20.0 * DEG, { 0.0, 0.0 }, { 22e-3, 22e-3 }, { 0, 0 }, 40e-3, 20e-3 },
  { { 9, 16 }, 3e-3, 22.5 * DEG, { 0.5, 0.2 }, { 17.6e-3, 27.5e-3 }, { 0, 0 }, 39.6e-3, 20e-3 },
  { { 40, 50 }, 1e-3, 20.0 * DEG, { 0.0, 0.0 }, { 21e-3, 26e-3 }, { 0, 0 }, 45.05e-3, 20e-3 },
};

static EfGearPair
solve (guint i)
{
  g_autoptr (GError) error = NULL;
  EfGearPair pair;

  ef_gear_pair_solve (&pairs[i], &pair, &error);
  g_assert_no_error (error);

  return pair;
}

static EfRegion *
placed (const EfRing *ring,
        double angle,
        double x)
{
  EfRegion *region = ef_region_new ();
  EfRing moved = ef_ring_new (ring->n, NULL);

  for (guint i = 0; i < ring->n; i++)
    {
      moved.xy[2 * i] = x + ring->xy[2 * i] * cos (angle) - ring->xy[2 * i + 1] * sin (angle);
      moved.xy[2 * i + 1] = ring->xy[2 * i] * sin (angle) + ring->xy[2 * i + 1] * cos (angle);
    }
  ef_region_take (region, moved);

  return region;
}

static double
overlap (const EfRegion *a,
         const EfRegion *b)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRegion) common = ef_region_combine (a, b, EF_REGION_INTERSECTION, &error);

  g_assert_no_error (error);

  return ef_region_area (common);
}

static void
test_area (void)
{
  for (guint i = 0; i < G_N_ELEMENTS (pairs); i++)
    {
      EfGearPair pair = solve (i);

      for (int gear = 0; gear < 2; gear++)
        for (int sharp = 0; sharp < 2; sharp++)
          {
            double ra = pair.in.tip_radius[gear];
            double exact;
            double error[2];

            if (sharp)
              pair.fillet_radius[gear] = 0.0;
            exact = G_PI * ra * ra - pair.in.teeth[gear] * ef_gear_space_area (&pair, gear);
            for (int fine = 0; fine < 2; fine++)
              {
                EfRing ring = ef_gear_outline (&pair, gear, fine ? 200 : 100);

                error[fine] = ef_ring_area (&ring) / exact - 1.0;
                ef_ring_clear (&ring);
              }
            g_test_message ("pair %u gear %d: %g at 100 points, %g at 200", i, gear, error[0], error[1]);
            /* Chords of arcs: the error falls with the square of the number of points. */
            g_assert_cmpfloat (fabs (error[1]), <, 4e-6);
            if (fabs (error[0]) > 1e-7)
              g_assert_cmpfloat_with_epsilon (error[0] / error[1], 4.0, 0.2);
          }
    }
}

static void
test_on_profile (void)
{
  EfGearPair pair = solve (4);

  for (int gear = 0; gear < 2; gear++)
    {
      EfRing ring = ef_gear_outline (&pair, gear, 40);
      double pitch = 2.0 * G_PI / pair.in.teeth[gear];
      double last = -INFINITY;
      guint on_flank = 0;

      g_assert_cmpfloat (ef_ring_area (&ring), >, 0.0);
      for (guint i = 0; i < ring.n; i++)
        {
          double r = hypot (ring.xy[2 * i], ring.xy[2 * i + 1]);
          double angle = atan2 (ring.xy[2 * i + 1], ring.xy[2 * i]);
          double from_tooth = fabs (remainder (angle, pitch));
          double turned = remainder (angle + 0.5 * pitch, 2.0 * G_PI);

          g_assert_cmpfloat (r, >=, pair.in.root_radius[gear] * (1.0 - 1e-12));
          g_assert_cmpfloat (r, <=, pair.in.tip_radius[gear] * (1.0 + 1e-12));
          /* Anticlockwise round the axis without a step back, but for the radial feet. */
          if (i > 0 && fabs (turned - last) < G_PI)
            g_assert_cmpfloat (turned, >=, last - 1e-12);
          last = turned;
          if (r > pair.form_radius[gear] * (1.0 + 1e-12) && r < pair.in.tip_radius[gear] * (1.0 - 1e-12))
            {
              /* Tooth thickness is an independent route to the same angle. */
              g_assert_cmpfloat_with_epsilon (from_tooth * r, 0.5 * ef_gear_thickness (&pair, gear, r), 1e-15);
              on_flank++;
            }
          if (r > pair.in.root_radius[gear] * (1.0 + 1e-9) && r < pair.in.tip_radius[gear] * (1.0 - 1e-9))
            g_assert_cmpfloat_with_epsilon (0.5 * pitch - from_tooth, ef_gear_space_half_angle (&pair, gear, r), 1e-8);
        }
      g_assert_cmpuint (on_flank, >=, (guint) pair.in.teeth[gear] * 2 * 39);
      ef_ring_clear (&ring);
    }
}

static void
test_mesh (void)
{
  for (guint i = 0; i < G_N_ELEMENTS (pairs); i++)
    {
      EfGearPair pair = solve (i);
      EfRing drive = ef_gear_outline (&pair, 0, 60);
      EfRing driven = ef_gear_outline (&pair, 1, 60);
      double a = pair.in.centre_distance;
      double worst = 0.0;

      for (int rotation = -1; rotation <= 1; rotation += 2)
        for (int step = 0; step < 24; step++)
          {
            double angle = 0.3 + rotation * 2.0 * G_PI / pair.in.teeth[0] * step / 24;
            double mate = ef_gear_pair_mesh_angle (&pair, angle, rotation);
            g_autoptr (EfRegion) left = placed (&drive, angle, -0.5 * a);
            g_autoptr (EfRegion) right = placed (&driven, mate, 0.5 * a);
            /* 1 um closer at the base circle. */
            g_autoptr (EfRegion) pressed = placed (&driven, mate + rotation * 1e-6 / pair.base_radius[1], 0.5 * a);
            g_autoptr (EfRegion) apart = placed (&driven, mate - rotation * 1e-6 / pair.base_radius[1], 0.5 * a);

            worst = fmax (worst, overlap (left, right));
            /* They touch on the driven flank: a micrometre is felt. */
            g_assert_cmpfloat (overlap (left, pressed), >, 10.0 * overlap (left, right));
            g_assert_cmpfloat (overlap (left, pressed), >, 1e-11);
            if (pair.backlash > 2e-6)
              g_assert_cmpfloat (overlap (left, apart), ==, 0.0);
          }
      g_test_message ("pair %u: largest overlap %g mm2", i, 1e6 * worst);
      g_assert_cmpfloat (worst, <, 1e-12);
      ef_ring_clear (&drive);
      ef_ring_clear (&driven);
    }
}

/* On the other flank the gap is the backlash: turning the driven gear by it closes it there. */
static void
test_backlash (void)
{
  EfGearPair pair = solve (0);
  EfRing drive = ef_gear_outline (&pair, 0, 100);
  EfRing driven = ef_gear_outline (&pair, 1, 100);
  double a = pair.in.centre_distance;

  for (int rotation = -1; rotation <= 1; rotation += 2)
    for (int step = 0; step < 7; step++)
      {
        double angle = 0.11 * step;
        double mate = ef_gear_pair_mesh_angle (&pair, angle, rotation);
        double other = ef_gear_pair_mesh_angle (&pair, angle, -rotation);
        double turn = remainder (other - mate, 2.0 * G_PI / pair.in.teeth[1]);
        g_autoptr (EfRegion) left = placed (&drive, angle, -0.5 * a);
        g_autoptr (EfRegion) right = placed (&driven, mate + turn, 0.5 * a);

        g_assert_cmpfloat_with_epsilon (-rotation * turn * pair.working_radius[1], pair.backlash, 1e-12);
        g_assert_cmpfloat (overlap (left, right), <, 1e-12);
      }
  ef_ring_clear (&drive);
  ef_ring_clear (&driven);
}

static double
worst_overlap (const EfGearPair *pair)
{
  EfRing drive = ef_gear_outline (pair, 0, 200);
  EfRing driven = ef_gear_outline (pair, 1, 200);
  double worst = 0.0;

  for (int step = 0; step < 40; step++)
    {
      double angle = 2.0 * G_PI / pair->in.teeth[0] * step / 40;
      g_autoptr (EfRegion) left = placed (&drive, angle, -0.5 * pair->in.centre_distance);
      g_autoptr (EfRegion) right = placed (&driven, ef_gear_pair_mesh_angle (pair, angle, 1), 0.5 * pair->in.centre_distance);

      worst = fmax (worst, overlap (left, right));
    }
  ef_ring_clear (&drive);
  ef_ring_clear (&driven);

  return worst;
}

/* The usual fillet where there is room; with a shallow root the tip of the mate would cut into it, so a smaller one. */
static void
test_fillet (void)
{
  EfGearPairInput in = pairs[5];
  EfGearPair pair = solve (5);

  g_assert_cmpfloat_with_epsilon (pair.fillet_radius[0], 0.38 * pair.in.module, 1e-15);
  in.root_radius[0] = in.centre_distance - in.tip_radius[1] - 10e-6;
  in.root_radius[1] = in.centre_distance - in.tip_radius[0] - 10e-6;
  g_assert_true (ef_gear_pair_solve (&in, &pair, NULL));
  g_assert_cmpfloat (pair.fillet_radius[0], <, 0.25 * pair.in.module);
  g_assert_cmpfloat (pair.fillet_radius[0], >, 0.0);
  g_assert_cmpfloat (worst_overlap (&pair), <, 1e-11);
  pair.fillet_radius[0] = pair.fillet_radius[1] = 0.38 * pair.in.module;
  g_assert_cmpfloat (worst_overlap (&pair), >, 1e-10);
}

static void
test_clamped (void)
{
  EfGearPair pair = solve (0);
  EfRing few = ef_gear_outline (&pair, 0, 0);
  EfRing eight = ef_gear_outline (&pair, 0, 8);

  g_assert_cmpuint (few.n, ==, eight.n);
  ef_ring_clear (&few);
  ef_ring_clear (&eight);
}

/* Random pairs that are accepted mesh cleanly all the way through. */
static void
test_random (void)
{
  guint accepted = 0;

  for (guint i = 0; i < 400 && accepted < 40; i++)
    {
      EfGearPairInput in = {
        .teeth = { fixed_int (7, 26), fixed_int (7, 26) },
        .module = 3e-3,
        .pressure_angle = fixed_double (16.0, 28.0) * DEG,
        .shift = { fixed_double (-0.2, 0.8), fixed_double (-0.2, 0.8) },
        .face_width = 20e-3,
      };
      EfGearPair pair;
      EfRing drive;
      EfRing driven;

      if (!ef_gear_pair_standard (&in, NULL))
        continue;
      in.centre_distance += fixed_double (0.0, 0.2e-3);
      if (!ef_gear_pair_solve (&in, &pair, NULL))
        continue;
      accepted++;
      drive = ef_gear_outline (&pair, 0, 40);
      driven = ef_gear_outline (&pair, 1, 40);
      for (int step = 0; step < 8; step++)
        {
          double angle = 2.0 * G_PI / in.teeth[0] * step / 8;
          double mate = ef_gear_pair_mesh_angle (&pair, angle, 1);
          g_autoptr (EfRegion) left = placed (&drive, angle, -0.5 * in.centre_distance);
          g_autoptr (EfRegion) right = placed (&driven, mate, 0.5 * in.centre_distance);
          double area = overlap (left, right);

          if (area > 5e-12)
            g_test_message ("z %d/%d, alpha %g, x %g/%g: %g mm2, form %g/%g active %g/%g", in.teeth[0], in.teeth[1], in.pressure_angle / DEG, in.shift[0], in.shift[1], 1e6 * area,
                            1e3 * pair.form_radius[0], 1e3 * pair.form_radius[1], 1e3 * pair.active_radius[0], 1e3 * pair.active_radius[1]);
          g_assert_cmpfloat (area, <, 5e-12);
        }
      ef_ring_clear (&drive);
      ef_ring_clear (&driven);
    }
  g_assert_cmpuint (accepted, ==, 40);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/geometry/outline/area", test_area);
  g_test_add_func ("/geometry/outline/on-profile", test_on_profile);
  g_test_add_func ("/geometry/outline/mesh", test_mesh);
  g_test_add_func ("/geometry/outline/backlash", test_backlash);
  g_test_add_func ("/geometry/outline/fillet", test_fillet);
  g_test_add_func ("/geometry/outline/clamped", test_clamped);
  g_test_add_func ("/geometry/outline/random", test_random);

  return g_test_run ();
}
