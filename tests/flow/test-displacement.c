/* Displacement: closed form, integration and polygons against the check values and each other.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "flow/ef-displacement.h"

#include "base/ef-error.h"
#include "check-values.h"
#include "fixed-random.h"
#include "../isolate.h"

#define DEG (G_PI / 180.0)

static void
row_pair (const char *inputs,
          EfGearPair *pair)
{
  g_autoptr (GError) error = NULL;
  EfGearPairInput in = {
    .teeth = { (int) check_input (inputs, "z1", NAN), (int) check_input (inputs, "z2", NAN) },
    .module = 1e-3 * check_input (inputs, "m", NAN),
    .pressure_angle = DEG * check_input (inputs, "alpha", NAN),
    .shift = { check_input (inputs, "x1", NAN), check_input (inputs, "x2", NAN) },
    .tip_radius = { 1e-3 * check_input (inputs, "ra1", NAN), 1e-3 * check_input (inputs, "ra2", NAN) },
    .centre_distance = 1e-3 * check_input (inputs, "a", NAN),
    .face_width = 1e-3 * check_input (inputs, "b", NAN),
  };

  ef_gear_pair_compute (&in, pair, &error);
  g_assert_no_error (error);
}

/* The table's value without relief is the closed form for equal gears, kappa = 4 - 6 eps + 3 eps^2. */
static double
no_relief_equal (const EfGearPair *pair,
                 const EfDisplacement *displacement)
{
  double eps = pair->contact_ratio;
  double kappa = 4.0 - 6.0 * eps + 3.0 * eps * eps;

  return displacement->volume_simple + kappa * (displacement->volume - displacement->volume_simple);
}

static void
check_row (const CheckRow *row)
{
  g_autoptr (GError) error = NULL;
  EfDisplacementAreas areas;
  EfDisplacement displacement;
  EfGearPair pair;

  if (g_str_has_prefix (row->name, "vol.eff"))
    {
      double volume = 1e-9 * check_input (row->inputs, "V", NAN);
      double speed = check_input (row->inputs, "n", NAN) / 60.0;
      double leak = 1e-9 * check_input (row->inputs, "Qleak", NAN);

      if (g_str_has_prefix (row->quantity, "eta_v"))
        check_near (row, ef_volumetric_efficiency (volume, 2.0 * G_PI * speed, leak));
      else
        check_near (row, 6e4 * leak / (1.0 - ef_volumetric_efficiency (volume, 2.0 * G_PI * speed, leak)));
      return;
    }

  row_pair (row->inputs, &pair);
  ef_displacement_solve (&pair, &displacement, &error);
  g_assert_no_error (error);
  if (g_str_equal (row->quantity, "pb"))
    check_near (row, 1e3 * pair.base_pitch);
  else if (g_str_has_prefix (row->quantity, "eps"))
    check_near (row, pair.contact_ratio);
  else if (g_str_has_prefix (row->quantity, "V_ideal_relief"))
    check_near (row, 1e9 * displacement.volume);
  else if (g_str_has_prefix (row->quantity, "V by quadrature"))
    check_near (row, 1e9 * displacement.volume_integrated);
  else if (g_str_has_prefix (row->quantity, "V by polygon"))
    {
      ef_displacement_by_areas (&pair, 400, &areas, &error);
      g_assert_no_error (error);
      check_near (row, 1e9 * areas.volume);
    }
  else if (g_str_has_prefix (row->quantity, "V_no_relief"))
    {
      check_near (row, 1e9 * no_relief_equal (&pair, &displacement));
      if (pair.in.teeth[0] == pair.in.teeth[1])
        check_near (row, 1e9 * displacement.volume_no_relief);
    }
  else if (g_str_has_prefix (row->quantity, "V_simple"))
    check_near (row, 1e9 * displacement.volume_simple);
  else if (g_str_has_prefix (row->quantity, "flow ripple"))
    check_near (row, displacement.ripple);
  else if (g_str_has_prefix (row->quantity, "tip thickness"))
    check_near (row, 1e3 * pair.tip_thickness[0]);
  else if (g_str_has_prefix (row->quantity, "tip clearance"))
    check_near (row, 1e3 * pair.tip_root_clearance[0]);
  else
    {
      g_test_message ("%s %s", row->name, row->quantity);
      g_assert_not_reached ();
    }
}

static void
test_table (void)
{
  g_assert_cmpuint (check_table ("displacement.csv", check_row), ==, 44);
}

static void
near (double value,
      double expected,
      double relative)
{
  g_test_message ("%.10g, expected %.10g", value, expected);
  g_assert_cmpfloat (fabs (value - expected), <=, relative * fabs (expected));
}

static void
test_w1 (void)
{
  EfDisplacementAreas areas;
  EfDisplacement displacement;
  EfGearPair pair;

  row_pair ("z1=12;z2=12;m=3;alpha=20;x1=0.3;x2=0.3;b=25;ra1=21.6;ra2=21.6;a=37.7", &pair);
  g_assert_true (ef_displacement_solve (&pair, &displacement, NULL));
  /* Worked case 1 of the computation specification, 1e-5. */
  near (1e6 * displacement.volume, 16.446424, 1e-7);
  near (displacement.ripple, 0.187285, 1e-5);
  near (1e6 * displacement.volume_no_relief, 16.372650, 1e-7);
  near (4.0 - 6.0 * pair.contact_ratio + 3.0 * pair.contact_ratio * pair.contact_ratio, 1.071854, 1e-6);
  /* Areas with radial feet and sharp root corners, as the specification counts them. */
  pair.fillet_radius[0] = pair.fillet_radius[1] = 0.0;
  g_assert_true (ef_displacement_by_areas (&pair, 400, &areas, NULL));
  near (1e6 * areas.space_area[0], 32.79777, 1e-5);
  near (1e6 * areas.space_area[1], 32.79777, 1e-5);
  near (1e6 * areas.trap_area, 10.77411, 1e-5);
  near (areas.volume, displacement.volume, 1e-7);
}

/* All three ways agree for any pair that runs; the fillet changes both areas alike and the volume not at all. */
static void
test_random (void)
{
  guint accepted = 0;

  for (guint i = 0; i < 3000 && accepted < 60; i++)
    {
      EfGearPairInput in = {
        .teeth = { fixed_int (8, 26), fixed_int (8, 26) },
        .module = 1e-3 * fixed_double (1.0, 6.0),
        .pressure_angle = fixed_double (18.0, 26.0) * DEG,
        .shift = { fixed_double (0.0, 0.7), fixed_double (0.0, 0.7) },
        .face_width = 20e-3,
      };
      g_autoptr (GError) error = NULL;
      EfDisplacementAreas areas;
      EfDisplacement displacement;
      EfDisplacement twice;
      EfGearPair pair;

      if (!ef_gear_pair_standard (&in, NULL))
        continue;
      in.centre_distance += fixed_double (0.0, 0.03) * in.module;
      if (!ef_gear_pair_solve (&in, &pair, NULL))
        continue;
      g_assert_true (ef_displacement_solve (&pair, &displacement, NULL));
      near (displacement.volume_integrated, displacement.volume, 1e-12);
      g_assert_cmpfloat (displacement.volume_no_relief, <=, displacement.volume * (1.0 + 1e-12));
      g_assert_cmpfloat (displacement.volume, <, displacement.volume_simple);
      pair.in.face_width *= 2.0;
      g_assert_true (ef_displacement_solve (&pair, &twice, NULL));
      near (ef_displacement_ratio (&twice, &displacement), 2.0, 1e-14);
      pair.in.face_width *= 0.5;
      if (!ef_displacement_by_areas (&pair, 200, &areas, &error))
        {
          g_assert_error (error, EF_ERROR, EF_ERROR_GEOMETRY);
          continue;
        }
      accepted++;
      near (areas.volume, displacement.volume, 1e-6);
      near (areas.space_area[0], ef_gear_space_area (&pair, 0), 1e-6);
    }
  g_assert_cmpuint (accepted, ==, 60);
}

static void
test_refused (void)
{
  g_autoptr (GError) error = NULL;
  EfDisplacementAreas areas;
  EfDisplacement displacement;
  EfGearPair pair;

  row_pair ("z1=12;z2=12;m=3;alpha=20;x1=0.3;x2=0.3;b=25;ra1=20.5;ra2=20.5;a=37.7", &pair);
  g_assert_false (ef_displacement_solve (&pair, &displacement, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_GEOMETRY);
  g_assert_true (g_str_has_prefix (error->message, "contact_ratio: expected at least 1, found 0.7367"));
  g_clear_error (&error);
  g_assert_false (ef_displacement_by_areas (&pair, 100, &areas, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_GEOMETRY);
  g_assert_true (isnan (ef_volumetric_efficiency (0.0, 100.0, 1e-6)));
  g_assert_true (isnan (ef_volumetric_efficiency (1e-5, NAN, 1e-6)));
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/flow/displacement/table", test_table);
  g_test_add_func ("/flow/displacement/w1", test_w1);
  g_test_add_func ("/flow/displacement/random", test_random);
  g_test_add_func ("/flow/displacement/refused", test_refused);

  return g_test_run ();
}
