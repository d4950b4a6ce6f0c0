/* Minimum zone of a flat face and the four circles of a round one against least squares of the same points and, for a thousand points, against
 * the whole linear programme solved by GLPK, in one run.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/ef-flatness.h"
#include "metrology/ef-roundness.h"

#include <glpk.h>
#include <math.h>
#include <stdio.h>
#include <time.h>

#define GOES 3
#define SMALL 1000

/* Of this thread alone: what other programs do on the machine counts as little as can be. */
static double
now (void)
{
  struct timespec spec;

  clock_gettime (CLOCK_THREAD_CPUTIME_ID, &spec);

  return (double) spec.tv_sec + 1e-9 * (double) spec.tv_nsec;
}

/* A worn face, heights as a probe gives them, to a tenth of a micrometre. */
static double *
flat_points (guint n)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (1);
  double *xyz = g_new (double, 3 * n);

  for (guint i = 0; i < n; i++)
    {
      xyz[3 * i] = g_rand_double_range (rand, -0.05, 0.05);
      xyz[3 * i + 1] = g_rand_double_range (rand, -0.04, 0.04);
      xyz[3 * i + 2] = rint ((g_rand_double_range (rand, 0, 4e-6) + 0.01 * xyz[3 * i] * xyz[3 * i] + 0.003 * xyz[3 * i + 1]) * 1e7) * 1e-7;
    }

  return xyz;
}

/* A bore, oval and worn to one side. */
static double *
round_points (guint n)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (8);
  double *xy = g_new (double, 2 * n);

  for (guint i = 0; i < n; i++)
    {
      double t = g_rand_double_range (rand, 0, 2 * G_PI);
      double r = 9e-3 + g_rand_double_range (rand, -2e-6, 2e-6) + 8e-6 * cos (2 * t) + 15e-6 * MAX (0, cos (t - 1));

      xy[2 * i] = 0.02 + r * cos (t);
      xy[2 * i + 1] = 0.01 + r * sin (t);
    }

  return xy;
}

typedef enum { FLAT_SQUARES, FLAT_ZONE, FLAT_ZONE_NORMAL, ROUND_SQUARES, ROUND_ZONE, ROUND_OUT, ROUND_IN, N_FITS } Fit;

static void
run (Fit fit,
     const double *points,
     guint n)
{
  EfFlatness flatness;
  EfFlatnessZone zone;
  EfCircleFit circle;
  gboolean done = FALSE;

  switch (fit)
    {
    case FLAT_SQUARES: done = ef_flatness_least_squares_normal (points, n, &flatness, NULL); break;
    case FLAT_ZONE: done = ef_flatness_minimum_zone (points, n, &zone, NULL); break;
    case FLAT_ZONE_NORMAL: done = ef_flatness_minimum_zone_normal (points, n, &zone, NULL); break;
    case ROUND_SQUARES: done = ef_roundness_least_squares (points, n, &circle, NULL); break;
    case ROUND_ZONE: done = ef_roundness_minimum_zone (points, n, &circle, NULL); break;
    case ROUND_OUT: done = ef_roundness_circumscribed (points, n, &circle, NULL); break;
    case ROUND_IN: done = ef_roundness_inscribed (points, n, &circle, NULL); break;
    case N_FITS: break;
    }
  g_assert_true (done);
}

/* Best of a few goes. */
static double
time_of (Fit fit,
         const double *points,
         guint n)
{
  double best = INFINITY;

  for (int k = 0; k < GOES; k++)
    {
      double start = now ();

      run (fit, points, n);
      best = MIN (best, now () - start);
    }

  return best;
}

/* The zone along z as one linear programme. */
static double
time_glpk (const double *xyz,
           guint n)
{
  glp_prob *problem = glp_create_prob ();
  glp_smcp options;
  double start;

  glp_init_smcp (&options);
  options.msg_lev = GLP_MSG_OFF;
  glp_set_obj_dir (problem, GLP_MIN);
  glp_add_cols (problem, 4);
  for (int k = 1; k <= 4; k++)
    glp_set_col_bnds (problem, k, GLP_FR, 0, 0);
  glp_set_obj_coef (problem, 1, 1);
  glp_set_obj_coef (problem, 2, -1);
  glp_add_rows (problem, 2 * (int) n);
  for (guint i = 0; i < n; i++)
    {
      const int high[] = { 0, 1, 3, 4 };
      const int low[] = { 0, 2, 3, 4 };
      const double row[] = { 0, 1, xyz[3 * i] / 0.05, xyz[3 * i + 1] / 0.05 };

      glp_set_mat_row (problem, 2 * (int) i + 1, 3, high, row);
      glp_set_row_bnds (problem, 2 * (int) i + 1, GLP_LO, xyz[3 * i + 2] / 20e-6, 0);
      glp_set_mat_row (problem, 2 * (int) i + 2, 3, low, row);
      glp_set_row_bnds (problem, 2 * (int) i + 2, GLP_UP, 0, xyz[3 * i + 2] / 20e-6);
    }
  start = now ();
  g_assert_cmpint (glp_simplex (problem, &options), ==, 0);
  start = now () - start;
  glp_delete_prob (problem);

  return start;
}

static void
print_growth (const char *title,
              Fit first,
              Fit end,
              const char *columns,
              double *(*points) (guint n))
{
  double before[N_FITS] = { 0 };

  printf ("\n%s\n%8s  %s\n", title, "points", columns);
  for (guint n = 1000; n <= 100000; n *= 10)
    {
      g_autofree double *set = points (n);
      double squares = time_of (first, set, n);

      printf ("%8u  %9s (%5.1fx)", n, "1", before[first] > 0 ? squares / before[first] : 1);
      before[first] = squares;
      for (Fit fit = first + 1; fit < end; fit++)
        {
          double time = time_of (fit, set, n);

          printf ("  %9.2f (%5.1fx)", time / squares, before[fit] > 0 ? time / before[fit] : 1);
          before[fit] = time;
        }
      printf ("\n");
    }
}

int
main (int argc,
      char **argv)
{
  g_autofree double *small = NULL;
  double glpk, ours;

  g_test_init (&argc, &argv, NULL);
  printf ("Times as multiples of least squares of the same points; in brackets the growth from a tenth of the points.\n");
  print_growth ("Flat", FLAT_SQUARES, ROUND_SQUARES, "least squares       minimum zone (z)    minimum zone (normal)", flat_points);
  print_growth ("Round", ROUND_SQUARES, N_FITS, "least squares       minimum zone        circumscribed       inscribed", round_points);
  small = flat_points (SMALL);
  glpk = time_glpk (small, SMALL);
  ours = time_of (FLAT_ZONE, small, SMALL);
  printf ("\nFlat, %d points, zone along z: GLPK takes %.0f times as long.\n", SMALL, glpk / ours);

  return 0;
}
