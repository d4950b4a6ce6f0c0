/* Regions, the pocket and flats: closed forms, the even-odd rule, nasty input.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "geometry/ef-gear-pair.h"

#include <math.h>
#include <string.h>

#include "base/ef-error.h"
#include "fixed-random.h"
#include "../isolate.h"

static EfRegion *
box (double x0,
     double y0,
     double x1,
     double y1)
{
  double xy[] = { x0, y0, x1, y0, x1, y1, x0, y1 };
  EfRegion *region = ef_region_new ();

  ef_region_take (region, ef_ring_new (4, xy));

  return region;
}

static void
test_ring (void)
{
  static const double clockwise[] = { 0, 0, 0, 2, 3, 2, 3, 0 };
  EfRing ring = ef_ring_new (4, clockwise);
  EfRing circle = ef_ring_circle (1.0, 2.0, 0.5, 1000);
  EfRing none = ef_ring_new (0, NULL);

  g_assert_cmpfloat (ef_ring_area (&ring), ==, -6.0);
  g_assert_true (ef_ring_contains (&ring, 1.0, 1.0));
  g_assert_false (ef_ring_contains (&ring, 4.0, 1.0));
  /* n/2 r^2 sin (2 pi / n), the area of a regular polygon. */
  g_assert_cmpfloat_with_epsilon (ef_ring_area (&circle), 500.0 * 0.25 * sin (2.0 * G_PI / 1000.0), 1e-14);
  g_assert_cmpfloat (ef_ring_area (&none), ==, 0.0);
  g_assert_false (ef_ring_contains (&none, 0.0, 0.0));
  ef_ring_clear (&ring);
  ef_ring_clear (&circle);
  ef_ring_clear (&none);
  ef_ring_clear (&none);
}

static void
test_even_odd (void)
{
  g_autoptr (EfRegion) region = box (0, 0, 4, 4);
  g_autoptr (EfRegion) hole = box (1, 1, 3, 3);
  g_autoptr (EfRegion) island = box (1.5, 1.5, 2, 2);
  g_autoptr (EfRegion) copy = NULL;
  g_autoptr (EfRegion) bow = ef_region_new ();
  static const double crossing[] = { 0, 0, 2, 2, 2, 0, 0, 2 };
  double bounds[4];

  ef_region_take (region, ef_ring_new (4, hole->rings[0].xy));
  ef_region_take (region, ef_ring_new (4, island->rings[0].xy));
  g_assert_cmpfloat_with_epsilon (ef_region_area (region), 16.0 - 4.0 + 0.25, 1e-12);
  g_assert_true (ef_region_contains (region, 0.5, 0.5));
  g_assert_false (ef_region_contains (region, 2.5, 2.5));
  g_assert_true (ef_region_contains (region, 1.7, 1.7));
  copy = ef_region_copy (region);
  ef_region_bounds (copy, bounds);
  g_assert_cmpfloat (bounds[0], ==, 0.0);
  g_assert_cmpfloat (bounds[3], ==, 4.0);

  /* A ring that crosses itself: both lobes count. */
  ef_region_take (bow, ef_ring_new (4, crossing));
  g_assert_cmpfloat_with_epsilon (ef_region_area (bow), 2.0, 1e-12);
  g_assert_cmpfloat (ef_ring_area (&bow->rings[0]), ==, 0.0);
}

static void
test_combine (void)
{
  g_autoptr (EfRegion) a = box (0, 0, 2, 2);
  g_autoptr (EfRegion) b = box (1, 1, 3, 3);
  g_autoptr (EfRegion) inner = box (0.5, 0.5, 1, 1);
  g_autoptr (EfRegion) far = box (10, 10, 11, 11);
  static const struct
  {
    EfRegionOp op;
    double area;
  } cases[] = { { EF_REGION_UNION, 7.0 }, { EF_REGION_INTERSECTION, 1.0 }, { EF_REGION_DIFFERENCE, 3.0 } };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autoptr (GError) error = NULL;
      g_autoptr (EfRegion) result = ef_region_combine (a, b, cases[i].op, &error);

      g_assert_no_error (error);
      g_assert_cmpfloat_with_epsilon (ef_region_area (result), cases[i].area, 1e-12);
    }
  {
    g_autoptr (EfRegion) holed = ef_region_combine (a, inner, EF_REGION_DIFFERENCE, NULL);
    g_autoptr (EfRegion) nothing = ef_region_combine (a, far, EF_REGION_INTERSECTION, NULL);
    g_autoptr (EfRegion) both = ef_region_combine (a, far, EF_REGION_UNION, NULL);

    g_assert_cmpuint (holed->n, ==, 2);
    g_assert_cmpfloat (ef_ring_area (&holed->rings[0]), >, 0.0);
    g_assert_cmpfloat (ef_ring_area (&holed->rings[1]), <, 0.0);
    g_assert_cmpfloat_with_epsilon (ef_region_area (holed), 3.75, 1e-12);
    g_assert_cmpuint (nothing->n, ==, 0);
    g_assert_cmpfloat (ef_region_area (nothing), ==, 0.0);
    g_assert_cmpuint (both->n, ==, 2);
  }
}

/* Random circles: inclusion and exclusion, and the two-circle lens in closed form. */
static void
test_circles (void)
{
  for (guint i = 0; i < 50; i++)
    {
      double r = fixed_double (5e-3, 20e-3);
      double s = fixed_double (5e-3, 20e-3);
      double d = fixed_double (fabs (r - s) + 1e-4, r + s - 1e-4);
      double c1 = (d * d + r * r - s * s) / (2.0 * d * r);
      double c2 = (d * d + s * s - r * r) / (2.0 * d * s);
      double lens = r * r * acos (c1) + s * s * acos (c2) - d * r * sqrt (1.0 - c1 * c1);
      g_autoptr (EfRegion) a = ef_region_new ();
      g_autoptr (EfRegion) b = ef_region_new ();
      g_autoptr (EfRegion) both = NULL;
      g_autoptr (EfRegion) common = NULL;

      ef_region_take (a, ef_ring_circle (0.1, 0.2, r, 2000));
      ef_region_take (b, ef_ring_circle (0.1 + d, 0.2, s, 2000));
      both = ef_region_combine (a, b, EF_REGION_UNION, NULL);
      common = ef_region_combine (a, b, EF_REGION_INTERSECTION, NULL);
      g_assert_cmpfloat_with_epsilon (ef_region_area (both) + ef_region_area (common), ef_region_area (a) + ef_region_area (b), 1e-12);
      g_assert_cmpfloat_with_epsilon (ef_region_area (common), lens, 3e-6 * G_PI * (r * r + s * s));
    }
}

static void
test_buffer_hull (void)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRegion) a = box (0, 0, 2, 1);
  g_autoptr (EfRegion) grown = ef_region_buffer (a, 0.5, 64, &error);
  g_autoptr (EfRegion) shrunk = ef_region_buffer (a, -0.25, 8, &error);
  g_autoptr (EfRegion) gone = ef_region_buffer (a, -1.0, 8, &error);
  g_autoptr (EfRegion) far = box (5, 0, 6, 1);
  g_autoptr (EfRegion) both = ef_region_combine (a, far, EF_REGION_UNION, &error);
  g_autoptr (EfRegion) hull = ef_region_hull (both, &error);

  g_assert_no_error (error);
  /* Steiner: A + P d + pi d^2. */
  g_assert_cmpfloat_with_epsilon (ef_region_area (grown), 2.0 + 6.0 * 0.5 + G_PI * 0.25, 1e-3);
  g_assert_cmpfloat_with_epsilon (ef_region_area (shrunk), 1.5 * 0.5, 1e-12);
  g_assert_cmpuint (gone->n, ==, 0);
  g_assert_cmpfloat_with_epsilon (ef_region_area (hull), 6.0, 1e-12);
}

static void
test_nasty (void)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRegion) good = box (0, 0, 1, 1);
  g_autoptr (EfRegion) bad = box (0, 0, 1, NAN);
  g_autoptr (EfRegion) huge = box (0, 0, 1e300, 1e300);
  g_autoptr (EfRegion) thin = ef_region_new ();
  static const double two[] = { 0, 0, 1, 1 };
  static const double flat[] = { 0, 0, 1, 1, 2, 2, 1, 1 };

  g_assert_true (isnan (ef_region_area (bad)));
  g_assert_true (isnan (ef_region_area (huge)));
  g_assert_null (ef_region_combine (good, bad, EF_REGION_UNION, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_null (ef_region_buffer (huge, 1.0, 8, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_null (ef_region_buffer (good, INFINITY, 8, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_null (ef_region_buffer (good, 1.0, 0, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_null (ef_region_hull (bad, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  ef_region_take (thin, ef_ring_new (2, two));
  ef_region_take (thin, ef_ring_new (4, flat));
  g_assert_cmpfloat (ef_region_area (thin), ==, 0.0);
  ef_region_free (NULL);
}

static void
test_pocket (void)
{
  /* Area of two circles less their lens; the polygon with n points misses less than the n-gon's share. */
  static const double cases[][3] = { { 37.7e-3, 21.66e-3, 21.66e-3 }, { 60e-3, 40e-3, 25e-3 }, { 30e-3, 31e-3, 5e-3 } };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autoptr (GError) error = NULL;
      double a = cases[i][0];
      const double *radius = &cases[i][1];
      double half[2] = { ef_pocket_wall_half_angle (a, radius, 0), ef_pocket_wall_half_angle (a, radius, 1) };
      g_autoptr (EfRegion) pocket = ef_pocket_region (a, radius, 4000, &error);
      double area = 0.0;

      g_assert_no_error (error);
      for (int gear = 0; gear < 2; gear++)
        area += radius[gear] * radius[gear] * (half[gear] - sin (half[gear]) * cos (half[gear]));
      g_assert_cmpfloat_with_epsilon (ef_region_area (pocket), area, 2e-6 * area);
      g_assert_cmpfloat_with_epsilon (ef_ring_area (&pocket->rings[0]), area, 2e-6 * area);
      /* Both walls end in the same corner. */
      g_assert_cmpfloat_with_epsilon (radius[0] * sin (half[0]), radius[1] * sin (half[1]), 1e-15);
      g_assert_cmpfloat_with_epsilon (-radius[0] * cos (half[0]) - radius[1] * cos (half[1]), a, 1e-15);
      g_assert_true (ef_region_contains (pocket, -0.5 * a - 0.9 * radius[0], 0.0));
      g_assert_true (ef_region_contains (pocket, 0.5 * a + 0.9 * radius[1], 0.0));
    }
}

static void
test_pocket_refused (void)
{
  static const struct
  {
    double a;
    double radius[2];
    guint n;
    EfError code;
    const char *prefix;
  } cases[] = {
    { 60e-3, { 20e-3, 20e-3 }, 100, EF_ERROR_GEOMETRY, "pocket_radius: expected two circles that cut each other" },
    { 10e-3, { 40e-3, 20e-3 }, 100, EF_ERROR_GEOMETRY, "pocket_radius: expected two circles that cut each other" },
    { NAN, { 20e-3, 20e-3 }, 100, EF_ERROR_INVALID, "centre_distance: expected" },
    { 30e-3, { -20e-3, 20e-3 }, 100, EF_ERROR_INVALID, "pocket_radius[0]: expected" },
    { 30e-3, { 20e-3, INFINITY }, 100, EF_ERROR_INVALID, "pocket_radius[1]: expected" },
    { 30e-3, { 20e-3, 20e-3 }, 4, EF_ERROR_INVALID, "points: expected" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autoptr (GError) error = NULL;

      g_assert_null (ef_pocket_region (cases[i].a, cases[i].radius, cases[i].n, &error));
      g_assert_error (error, EF_ERROR, (int) cases[i].code);
      g_assert_true (g_str_has_prefix (error->message, cases[i].prefix));
    }
  g_assert_cmpfloat (ef_pocket_wall_half_angle (60e-3, cases[0].radius, 0), ==, G_PI);
}

static void
test_flat_spot (void)
{
  double base = 16.914e-3;
  double depth;
  double width;

  for (guint i = 0; i < 1000; i++)
    {
      double radius = base * fixed_double (1.001, 1.3);
      double rho = sqrt (radius * radius - base * base);
      double w = 2.0 * rho * pow (10.0, fixed_double (-5.0, -0.01));

      g_assert_true (ef_flat_spot_depth (base, radius, w, &depth, NULL));
      /* Chord and sagitta: (w/2)^2 = d (2 rho - d). */
      g_assert_cmpfloat_with_epsilon (depth * (2.0 * rho - depth), 0.25 * w * w, 1e-12 * w * w);
      g_assert_true (ef_flat_spot_width (base, radius, depth, &width, NULL));
      g_assert_cmpfloat_with_epsilon (width, w, 1e-12 * w);
    }
  /* 3, 4, 5: rho = 5 mm, flat 8 mm wide, so 5 - 3 = 2 mm deep (constructed). */
  g_assert_true (ef_flat_spot_depth (12e-3, 13e-3, 8e-3, &depth, NULL));
  g_assert_cmpfloat_with_epsilon (depth, 2e-3, 1e-16);
}

static void
test_flat_spot_refused (void)
{
  static const struct
  {
    double base, radius, width;
    EfError code;
    const char *prefix;
  } cases[] = {
    { 12e-3, 12e-3, 1e-3, EF_ERROR_GEOMETRY, "radius: expected above the base radius of 12 mm" },
    { 12e-3, 13e-3, 10.1e-3, EF_ERROR_GEOMETRY, "width: expected from 0 to 10 mm" },
    { 12e-3, 13e-3, -1e-3, EF_ERROR_GEOMETRY, "width: expected from 0 to 10 mm" },
    { 12e-3, 13e-3, NAN, EF_ERROR_GEOMETRY, "width: expected" },
    { 0.0, 13e-3, 1e-3, EF_ERROR_INVALID, "base_radius: expected" },
    { INFINITY, 13e-3, 1e-3, EF_ERROR_INVALID, "base_radius: expected" },
  };
  g_autoptr (GError) error = NULL;
  double out;

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_clear_error (&error);
      g_assert_false (ef_flat_spot_depth (cases[i].base, cases[i].radius, cases[i].width, &out, &error));
      g_assert_error (error, EF_ERROR, (int) cases[i].code);
      g_assert_true (g_str_has_prefix (error->message, cases[i].prefix));
    }
  g_clear_error (&error);
  g_assert_false (ef_flat_spot_width (12e-3, 13e-3, 5.1e-3, &out, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_GEOMETRY);
  g_assert_true (g_str_has_prefix (error->message, "depth: expected from 0 to 5 mm"));
}

/* A straight line of width w and length l: a rectangle with two half discs; in closed form. */
static void
test_line (void)
{
  const double straight[] = { 1e-3, 2e-3, 7e-3, 10e-3 }, same[] = { 0, 0, INFINITY, 0 };
  g_autoptr (EfRegion) line = ef_region_line (2, straight, 2e-3, 64, NULL);
  g_autoptr (GError) error = NULL;

  g_assert_cmpfloat (fabs (ef_region_area (line) - (2e-3 * 10e-3 + G_PI * 1e-6)), <, 2e-9);
  g_assert_true (ef_region_contains (line, 4e-3, 6e-3));
  g_assert_false (ef_region_contains (line, 4e-3, 8e-3));
  g_assert_null (ef_region_line (1, straight, 2e-3, 64, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_null (ef_region_line (2, same, 2e-3, 64, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/geometry/ring", test_ring);
  g_test_add_func ("/geometry/region/even-odd", test_even_odd);
  g_test_add_func ("/geometry/region/combine", test_combine);
  g_test_add_func ("/geometry/region/circles", test_circles);
  g_test_add_func ("/geometry/region/buffer-hull", test_buffer_hull);
  g_test_add_func ("/geometry/region/nasty", test_nasty);
  g_test_add_func ("/geometry/pocket/area", test_pocket);
  g_test_add_func ("/geometry/pocket/refused", test_pocket_refused);
  g_test_add_func ("/geometry/flat-spot/both-ways", test_flat_spot);
  g_test_add_func ("/geometry/flat-spot/refused", test_flat_spot_refused);
  g_test_add_func ("/geometry/region/line", test_line);

  return g_test_run ();
}
