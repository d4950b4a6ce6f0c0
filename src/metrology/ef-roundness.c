/* Least-squares circle, second harmonic, minimum circumscribed circle.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-roundness.h"
#include "ef-bore.h"
#include "ef-roundness-points.h"

#include <math.h>

#define FARTHEST 100.0 /* m */
#define MOST_STEPS 100

static gboolean
check_points (const double *xy,
              guint n,
              GError **error)
{
  if (n < 3)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "points: expected at least 3, found %u", n);
      return FALSE;
    }
  for (gsize i = 0; i < 2 * (gsize) n; i++)
    if (!(fabs (xy[i]) <= FARTHEST))
      {
        g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "points[%u]: expected numbers within %g m, found %g", (guint) (i / 2), FARTHEST, xy[i]);
        return FALSE;
      }

  return TRUE;
}

static gboolean
set_in_line (GError **error)
{
  g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "points: expected points that go round, found them all on one line or in one place");
  return FALSE;
}

/* Solves m x = b in place by Gauss with row pivots; FALSE when singular. */
static gboolean
solve_dense (double *m,
             double *b,
             int size)
{
  double largest = 0;

  for (int i = 0; i < size * size; i++)
    largest = MAX (largest, fabs (m[i]));
  for (int j = 0; j < size; j++)
    {
      int pivot = j;

      for (int i = j + 1; i < size; i++)
        if (fabs (m[i * size + j]) > fabs (m[pivot * size + j]))
          pivot = i;
      if (fabs (m[pivot * size + j]) <= 1e-12 * largest)
        return FALSE;
      for (int k = 0; k < size; k++)
        {
          double swap = m[j * size + k];

          m[j * size + k] = m[pivot * size + k];
          m[pivot * size + k] = swap;
        }
      {
        double swap = b[j];

        b[j] = b[pivot];
        b[pivot] = swap;
      }
      for (int i = j + 1; i < size; i++)
        {
          double factor = m[i * size + j] / m[j * size + j];

          for (int k = j; k < size; k++)
            m[i * size + k] -= factor * m[j * size + k];
          b[i] -= factor * b[j];
        }
    }
  for (int i = size - 1; i >= 0; i--)
    {
      for (int k = i + 1; k < size; k++)
        b[i] -= m[i * size + k] * b[k];
      b[i] /= m[i * size + i];
    }

  return TRUE;
}

/* A first circle: x2 + y2 = 2 a x + 2 b y + c by linear least squares, in places about the mean over their spread. */
static gboolean
fit_algebraic (const double *xy,
               guint n,
               EfCircleFit *fit,
               GError **error)
{
  double x = 0, y = 0, spread = 0;
  double m[9] = { 0 };
  double b[3] = { 0 };

  for (guint i = 0; i < n; i++)
    {
      x += xy[2 * i] / n;
      y += xy[2 * i + 1] / n;
    }
  for (guint i = 0; i < n; i++)
    spread = MAX (spread, hypot (xy[2 * i] - x, xy[2 * i + 1] - y));
  if (spread <= 0)
    return set_in_line (error);

  for (guint i = 0; i < n; i++)
    {
      const double row[3] = { (xy[2 * i] - x) / spread, (xy[2 * i + 1] - y) / spread, 1 };
      double right = row[0] * row[0] + row[1] * row[1];

      for (int j = 0; j < 3; j++)
        {
          b[j] += row[j] * right;
          for (int k = 0; k < 3; k++)
            m[3 * j + k] += row[j] * row[k];
        }
    }
  if (!solve_dense (m, b, 3))
    return set_in_line (error);

  fit->x = x + spread * b[0] / 2;
  fit->y = y + spread * b[1] / 2;
  fit->radius = spread * sqrt (MAX (0, b[2] + (b[0] * b[0] + b[1] * b[1]) / 4));
  return TRUE;
}

/* One Gauss-Newton step on the radial deviations; returns its length, negative when it can't be made. */
static double
step_geometric (const double *xy,
                guint n,
                EfCircleFit *fit)
{
  double m[9] = { 0 };
  double b[3] = { 0 };

  for (guint i = 0; i < n; i++)
    {
      double dx = xy[2 * i] - fit->x;
      double dy = xy[2 * i + 1] - fit->y;
      double r = sqrt (dx * dx + dy * dy);
      const double row[3] = { r > 0 ? dx / r : 1, r > 0 ? dy / r : 0, 1 };

      for (int j = 0; j < 3; j++)
        {
          b[j] += row[j] * (r - fit->radius);
          for (int k = 0; k < 3; k++)
            m[3 * j + k] += row[j] * row[k];
        }
    }
  if (!solve_dense (m, b, 3))
    return -1;

  fit->x += b[0];
  fit->y += b[1];
  fit->radius += b[2];
  return fabs (b[0]) + fabs (b[1]) + fabs (b[2]);
}

/* The largest angle between neighbours as seen from the centre, rad. */
static int
compare_doubles (gconstpointer a,
                 gconstpointer b)
{
  double left = *(const double *) a;
  double right = *(const double *) b;

  return left < right ? -1 : left > right;
}

static double
largest_gap (const double *xy,
             guint n,
             const EfCircleFit *fit)
{
  g_autofree double *angles = g_new (double, n);
  double gap;

  for (guint i = 0; i < n; i++)
    angles[i] = atan2 (xy[2 * i + 1] - fit->y, xy[2 * i] - fit->x);
  qsort (angles, n, sizeof (double), compare_doubles);
  gap = angles[0] + 2 * G_PI - angles[n - 1];
  for (guint i = 1; i < n; i++)
    gap = MAX (gap, angles[i] - angles[i - 1]);

  return gap;
}

void
ef_roundness_measure (const double *xy,
                      guint n,
                      double x,
                      double y,
                      EfRadii *radii)
{
  double high = -1, low = INFINITY;

  radii->farthest = radii->nearest = 0;
  for (guint i = 0; i < n; i++)
    {
      double dx = xy[2 * i] - x;
      double dy = xy[2 * i + 1] - y;
      double r2 = dx * dx + dy * dy;

      if (r2 > high)
        {
          high = r2;
          radii->farthest = i;
        }
      if (r2 < low)
        {
          low = r2;
          radii->nearest = i;
        }
    }
  radii->largest = sqrt (MAX (high, 0));
  radii->smallest = sqrt (low);
}

gboolean
ef_roundness_least_squares (const double *xy,
                            guint n,
                            EfCircleFit *fit,
                            GError **error)
{
  EfRadii radii;
  double step = INFINITY, gap;

  *fit = (EfCircleFit){ 0 };
  if (!check_points (xy, n, error) || !fit_algebraic (xy, n, fit, error))
    return FALSE;
  gap = largest_gap (xy, n, fit);
  if (!(gap < G_PI * (1 - 1e-9)))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "points: expected points that go round, found a gap of %.1f°", gap * 180 / G_PI);
      return FALSE;
    }

  for (int i = 0; i < MOST_STEPS && step > 1e-14 * fit->radius; i++)
    {
      double next = step_geometric (xy, n, fit);

      if (next < 0)
        return set_in_line (error);
      /* Near the end the steps are rounding and grow no smaller. */
      if (next < 1e-11 * fit->radius && next >= step / 2)
        break;
      step = next;
    }
  if (!(step <= 1e-9 * fit->radius))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "least-squares circle: didn't settle; the points are far from round");
      return FALSE;
    }

  ef_roundness_measure (xy, n, fit->x, fit->y, &radii);
  fit->roundness = radii.largest - radii.smallest;
  fit->n_out = fit->n_in = 1;
  fit->out[0] = radii.farthest;
  fit->in[0] = radii.nearest;
  return TRUE;
}

double *
ef_roundness_about (const double *xy,
                    guint n,
                    const EfCircleFit *circle)
{
  double *moved = g_new (double, 2 * (gsize) n);

  for (guint i = 0; i < n; i++)
    {
      moved[2 * i] = xy[2 * i] - circle->x;
      moved[2 * i + 1] = xy[2 * i + 1] - circle->y;
    }
  return moved;
}

gboolean
ef_roundness_second_harmonic (const double *xy,
                              guint n,
                              EfHarmonic *harmonic,
                              GError **error)
{
  EfCircleFit circle;
  double m[25] = { 0 };
  double b[5] = { 0 };

  if (!ef_roundness_least_squares (xy, n, &circle, error))
    return FALSE;

  for (guint i = 0; i < n; i++)
    {
      double t = atan2 (xy[2 * i + 1] - circle.y, xy[2 * i] - circle.x);
      double e = hypot (xy[2 * i] - circle.x, xy[2 * i + 1] - circle.y) - circle.radius;
      const double row[5] = { 1, cos (t), sin (t), cos (2 * t), sin (2 * t) };

      for (int j = 0; j < 5; j++)
        {
          b[j] += row[j] * e;
          for (int k = 0; k < 5; k++)
            m[5 * j + k] += row[j] * row[k];
        }
    }
  if (n < 5 || !solve_dense (m, b, 5))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "points: expected at least 5 directions for the second harmonic");
      return FALSE;
    }

  harmonic->amplitude = hypot (b[3], b[4]);
  harmonic->direction = harmonic->amplitude > 0 ? ef_angle_modulo_pi (atan2 (b[4], b[3]) / 2) : NAN;
  return TRUE;
}

/* Circle through three points; FALSE when they lie in line. */
gboolean
ef_circle_through (const double *a,
                   const double *b,
                   const double *c,
                   double centre[2])
{
  double ux = b[0] - a[0], uy = b[1] - a[1];
  double vx = c[0] - a[0], vy = c[1] - a[1];
  double cross = 2 * (ux * vy - uy * vx);
  double u2 = ux * ux + uy * uy;
  double v2 = vx * vx + vy * vy;

  if (fabs (cross) <= 1e-12 * (u2 + v2))
    return FALSE;

  centre[0] = a[0] + (vy * u2 - uy * v2) / cross;
  centre[1] = a[1] + (ux * v2 - vx * u2) / cross;
  return TRUE;
}

/* Smallest circle about at most four points: the least through two or three of them that holds all. */
static void
enclose_few (const double *xy,
             const guint *points,
             guint n,
             EfCircleFit *fit)
{
  double best = INFINITY;

  for (guint mask = 1; mask < 1u << n; mask++)
    {
      guint chosen[4];
      guint k = 0;
      double centre[2], r2 = 0;
      gboolean holds = TRUE;

      for (guint i = 0; i < n; i++)
        if (mask & 1u << i)
          chosen[k++] = points[i];
      if (k < 2 || k > 3)
        continue;
      if (k == 2)
        for (int j = 0; j < 2; j++)
          centre[j] = (xy[2 * chosen[0] + (guint) j] + xy[2 * chosen[1] + (guint) j]) / 2;
      else if (!ef_circle_through (xy + 2 * chosen[0], xy + 2 * chosen[1], xy + 2 * chosen[2], centre))
        continue;
      for (guint i = 0; i < k; i++)
        r2 = MAX (r2, pow (xy[2 * chosen[i]] - centre[0], 2) + pow (xy[2 * chosen[i] + 1] - centre[1], 2));
      for (guint i = 0; i < n && holds; i++)
        holds = pow (xy[2 * points[i]] - centre[0], 2) + pow (xy[2 * points[i] + 1] - centre[1], 2) <= r2 * (1 + 1e-14);
      if (!holds || r2 >= best)
        continue;
      best = r2;
      fit->x = centre[0];
      fit->y = centre[1];
      fit->radius = sqrt (r2);
      fit->n_out = k;
      for (guint i = 0; i < k; i++)
        fit->out[i] = chosen[i];
    }
}

gboolean
ef_roundness_circumscribed (const double *xy,
                            guint n,
                            EfCircleFit *fit,
                            GError **error)
{
  EfCircleFit squares;
  g_autofree double *moved = NULL;
  guint points[4];
  guint k = 2;

  if (!ef_roundness_least_squares (xy, n, &squares, error))
    return FALSE;

  /* The circle about the points that carry it and the one that stands out most, again and again: it grows each time. */
  moved = ef_roundness_about (xy, n, &squares);
  points[0] = squares.out[0];
  points[1] = squares.in[0] != squares.out[0] ? squares.in[0] : (squares.out[0] + 1) % n;
  for (int round = 0; round < 10000; round++)
    {
      EfRadii radii;
      gboolean known = FALSE;

      *fit = (EfCircleFit){ 0 };
      enclose_few (moved, points, k, fit);
      ef_roundness_measure (moved, n, fit->x, fit->y, &radii);
      for (guint i = 0; i < fit->n_out; i++)
        known = known || fit->out[i] == radii.farthest;
      if (known || radii.largest <= fit->radius * (1 + 1e-15))
        {
          fit->x += squares.x;
          fit->y += squares.y;
          fit->roundness = MAX (0, radii.largest - radii.smallest);
          return TRUE;
        }
      for (k = 0; k < fit->n_out; k++)
        points[k] = fit->out[k];
      points[k++] = radii.farthest;
    }

  g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "circumscribed circle: didn't settle");
  return FALSE;
}
