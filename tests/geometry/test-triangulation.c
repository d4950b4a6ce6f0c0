/* Triangles over scattered points: cover, the empty circle, nasty input.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "geometry/ef-triangulation.h"

#include <math.h>


static double
area (const double *xy,
      const guint *t)
{
  const double *a = xy + 2 * t[0], *b = xy + 2 * t[1], *c = xy + 2 * t[2];

  return ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) / 2;
}

/* > 0: p lies inside the circle through the triangle's corners (the determinant of the definition). */
static double
in_circle (const double *xy,
           const guint *t,
           const double *p)
{
  double m[3][3];

  for (int i = 0; i < 3; i++)
    {
      double dx = xy[2 * t[i]] - p[0], dy = xy[2 * t[i] + 1] - p[1];

      m[i][0] = dx;
      m[i][1] = dy;
      m[i][2] = dx * dx + dy * dy;
    }
  return m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
         + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
}

static void
test_delaunay (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (11);
  double xy[2 * 64] = { 0, 0, 1, 0, 1, 1, 0, 1 };
  g_autofree guint *corners = NULL;
  double sum = 0;
  guint n;

  for (int i = 8; i < 128; i++)
    xy[i] = g_rand_double_range (rand, 0.01, 0.99);
  corners = ef_triangulate (xy, 64, &n);
  /* Euler: 2 n - 2 - hull corners */
  g_assert_cmpuint (n, ==, 2 * 64 - 2 - 4);
  for (guint t = 0; t < n; t++)
    {
      g_assert_cmpfloat (area (xy, corners + 3 * t), >, 0);
      sum += area (xy, corners + 3 * t);
      for (guint i = 0; i < 64; i++)
        if (i != corners[3 * t] && i != corners[3 * t + 1] && i != corners[3 * t + 2])
          g_assert_cmpfloat (in_circle (xy, corners + 3 * t, xy + 2 * i), <, 1e-12);
    }
  g_assert_cmpfloat_with_epsilon (sum, 1, 1e-12);
}

static void
test_nasty (void)
{
  static const double line[] = { 0, 0, 1, 1, 2, 2, 3, 3 };
  static const double same[] = { 1, 1, 1, 1, 1, 1 };
  static const double twice[] = { 0, 0, 1, 0, 0, 1, 1, 0, 0, 0 };
  static const double odd[] = { 0, 0, 1, NAN, 0, 1 };
  g_autofree guint *corners = NULL;
  guint n = 7;

  g_assert_null (ef_triangulate (line, 4, &n));
  g_assert_cmpuint (n, ==, 0);
  g_assert_null (ef_triangulate (same, 3, &n));
  g_assert_null (ef_triangulate (odd, 3, &n));
  g_assert_null (ef_triangulate (NULL, 0, &n));
  corners = ef_triangulate (twice, 5, &n);
  g_assert_cmpuint (n, ==, 1);
  for (int k = 0; k < 3; k++)
    g_assert_cmpuint (corners[k], <, 3);
}

int
main (int argc,
      char **argv)
{
  g_test_init (&argc, &argv, NULL);
  g_test_add_func ("/geometry/triangulation/delaunay", test_delaunay);
  g_test_add_func ("/geometry/triangulation/nasty", test_nasty);
  return g_test_run ();
}
