/* Stock needed for a clean face.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "../fixed-random.h"
#include "rework/ef-stock-needed.h"
#include "../isolate.h"

#define UM 1e-6

/* Constructed: 60 % unworn, 25 % worn 10 um, 10 % 30 um, 5 % 80 um. */
static const double depths[4] = { 0, 10e-6, 30e-6, 80e-6 };
static const double areas[4] = { 60, 25, 10, 5 };

static double
needed (const double *weights,
        double flatness,
        EfCleanGoal goal,
        double value)
{
  EfCleanTarget target = { .goal = goal, .residual = value, .share = value };
  g_auto (EfLandCurve) land = { 0 };
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_land_curve_init (&land, depths, areas, weights, 4, &error));

  return ef_stock_needed (&land, flatness, &target) / UM;
}

static void
test_goals (void)
{
  g_assert_cmpfloat_with_epsilon (needed (NULL, 0, EF_CLEAN_WHOLLY, 0), 80, 1e-9);
  g_assert_cmpfloat_with_epsilon (needed (NULL, 12e-6, EF_CLEAN_WHOLLY, 0), 92, 1e-9);
  g_assert_cmpfloat_with_epsilon (needed (NULL, 12e-6, EF_CLEAN_TO_RESIDUAL, 25e-6), 67, 1e-9);
  g_assert_cmpfloat_with_epsilon (needed (NULL, 12e-6, EF_CLEAN_TO_RESIDUAL, 80e-6), 0, 1e-9);
  g_assert_cmpfloat_with_epsilon (needed (NULL, 0, EF_CLEAN_TO_SHARE, 0.95), 30, 1e-9);
  g_assert_cmpfloat_with_epsilon (needed (NULL, 0, EF_CLEAN_TO_SHARE, 0.85), 10, 1e-9);
  g_assert_cmpfloat_with_epsilon (needed (NULL, 0, EF_CLEAN_TO_SHARE, 0.851), 30, 1e-9);
  g_assert_cmpfloat_with_epsilon (needed (NULL, 9e-6, EF_CLEAN_TO_SHARE, 0.6), 0, 1e-9);
}

/* The deepest groove lies where no oil wants to go: it can stay. */
static void
test_weights (void)
{
  static const double weights[4] = { 1, 1, 1, 0.01 };

  g_assert_cmpfloat_with_epsilon (needed (weights, 0, EF_CLEAN_TO_SHARE, 0.99), 30, 1e-9);
  g_assert_cmpfloat_with_epsilon (needed (NULL, 0, EF_CLEAN_TO_SHARE, 0.99), 80, 1e-9);
}

static void
test_restored (void)
{
  g_auto (EfLandCurve) land = { 0 };
  g_autoptr (GError) error = NULL;

  g_assert_true (ef_land_curve_init (&land, depths, areas, NULL, 4, &error));
  g_assert_cmpfloat_with_epsilon (ef_land_restored (&land, 5e-6, 0), 0.6, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_land_restored (&land, 5e-6, 14e-6), 0.6, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_land_restored (&land, 5e-6, 15e-6), 0.85, 1e-12);
  g_assert_cmpfloat_with_epsilon (ef_land_restored (&land, 5e-6, 85e-6), 1.0, 1e-12);
}

/* Share and depth are each other's inverse; more share never needs less. */
static void
test_curve (void)
{
  for (int round = 0; round < 200; round++)
    {
      double d[30], a[30], w[30], last = 0.0;
      g_auto (EfLandCurve) land = { 0 };
      g_autoptr (GError) error = NULL;

      for (int i = 0; i < 30; i++)
        {
          d[i] = fixed_int (0, 3) == 0 ? 0.0 : fixed_double (0, 100) * UM;
          a[i] = fixed_double (0.1, 2);
          w[i] = fixed_double (0.01, 5);
        }
      g_assert_true (ef_land_curve_init (&land, d, a, w, 30, &error));
      for (int k = 0; k <= 20; k++)
        {
          double share = k / 20.0;
          double depth = ef_land_depth (&land, share);

          g_assert_cmpfloat (ef_land_share (&land, depth), >=, share - 1e-9);
          if (depth > 0.0)
            g_assert_cmpfloat (ef_land_share (&land, depth - 1e-9), <, share);
          g_assert_cmpfloat (depth, >=, last);
          last = depth;
        }
      g_assert_cmpfloat_with_epsilon (last, land.deepest, 1e-15);
    }
}

static void
test_refused (void)
{
  static const double none[1] = { 0.0 }, bad[1] = { NAN }, one[1] = { 1.0 };
  g_auto (EfLandCurve) land = { 0 };
  g_auto (EfLandCurve) other = { 0 };
  g_autoptr (GError) error = NULL;

  g_assert_false (ef_land_curve_init (&land, none, none, NULL, 1, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_false (ef_land_curve_init (&other, bad, one, NULL, 1, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
}

int
main (int argc,
      char *argv[])
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/stock-needed/goals", test_goals);
  g_test_add_func ("/stock-needed/weights", test_weights);
  g_test_add_func ("/stock-needed/restored", test_restored);
  g_test_add_func ("/stock-needed/curve", test_curve);
  g_test_add_func ("/stock-needed/refused", test_refused);

  return g_test_run ();
}
