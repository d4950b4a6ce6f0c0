/* Minimum-zone flatness.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The two planes hi + b x + c y and -lo + b x + c y that hold all points at least distance solve the linear programme
 *   minimise hi + lo   with   hi + b x_i + c y_i >= z_i   and   lo - b x_i - c y_i >= -z_i.
 * Its dual has four rows and two columns a point: (1, 0, x, y) at z for touching above, (0, 1, -x, -y) at -z for touching
 * below, weights summing to (1, 1, 0, 0). That is solved by the revised simplex method: four points carry the planes, the point
 * that stands out most comes in, one of the four goes. Each step looks at every point once. Ties are broken
 * lexicographically, so it ends whatever the degeneracy (duplicates, grids, points in line).
 */
#include "ef-flatness.h"
#include "ef-flatness-frame.h"

#include <float.h>
#include <math.h>
#include <string.h>

#define ROWS 4
#define MOST_EXCHANGES 2000
#define TINY_PIVOT 1e-11
#define PASSES 20

typedef struct
{
  guint point;
  gboolean below;
} Contact;

typedef struct
{
  guint n;
  double *xyz;             /* scaled: places within 1, heights within 1 */
  Contact basis[ROWS];
  double inverse[ROWS][ROWS];
  double start[ROWS][ROWS]; /* the first basis, for ties */
  double weights[ROWS];
  double planes[ROWS];     /* hi, lo, b, c */
  double noise;            /* what stands out by less doesn't */
  guint exchanges;
} Programme;

static void
column_of (const Programme *self,
           Contact contact,
           double column[ROWS])
{
  const double *p = self->xyz + 3 * contact.point;
  double sign = contact.below ? -1 : 1;

  column[0] = contact.below ? 0 : 1;
  column[1] = contact.below ? 1 : 0;
  column[2] = sign * p[0];
  column[3] = sign * p[1];
}

static double
cost_of (const Programme *self,
         Contact contact)
{
  return (contact.below ? -1 : 1) * self->xyz[3 * contact.point + 2];
}

static void
swap_rows (double m[ROWS][2 * ROWS],
           int a,
           int b)
{
  for (int k = 0; k < 2 * ROWS; k++)
    {
      double swap = m[a][k];

      m[a][k] = m[b][k];
      m[b][k] = swap;
    }
}

/* Inverse of the basis by Gauss-Jordan with row pivots. */
static gboolean
invert_basis (Programme *self)
{
  double m[ROWS][2 * ROWS] = { { 0 } };

  for (int j = 0; j < ROWS; j++)
    {
      double column[ROWS];

      column_of (self, self->basis[j], column);
      for (int i = 0; i < ROWS; i++)
        m[i][j] = column[i];
      m[j][ROWS + j] = 1;
    }
  for (int j = 0; j < ROWS; j++)
    {
      int pivot = j;

      for (int i = j + 1; i < ROWS; i++)
        if (fabs (m[i][j]) > fabs (m[pivot][j]))
          pivot = i;
      if (fabs (m[pivot][j]) < 1e-13)
        return FALSE;
      swap_rows (m, j, pivot);
      for (int i = 0; i < ROWS; i++)
        {
          double factor = m[i][j] / m[j][j];

          for (int k = j; i != j && k < 2 * ROWS; k++)
            m[i][k] -= factor * m[j][k];
        }
    }
  for (int i = 0; i < ROWS; i++)
    for (int k = 0; k < ROWS; k++)
      self->inverse[i][k] = m[i][ROWS + k] / m[i][i];

  return TRUE;
}

/* Weights and planes that follow from the basis. */
static void
read_basis (Programme *self)
{
  for (int j = 0; j < ROWS; j++)
    self->planes[j] = 0;
  for (int i = 0; i < ROWS; i++)
    {
      self->weights[i] = MAX (0, self->inverse[i][0] + self->inverse[i][1]);
      for (int j = 0; j < ROWS; j++)
        self->planes[j] += cost_of (self, self->basis[i]) * self->inverse[i][j];
    }
}

/* The point that stands out most, above or below; FALSE when none does. */
static gboolean
choose_entering (const Programme *self,
                 Contact *entering)
{
  double highest = -INFINITY, lowest = INFINITY;
  guint high = 0, low = 0;
  double above, below;

  for (guint i = 0; i < self->n; i++)
    {
      const double *p = self->xyz + 3 * (gsize) i;
      double e = p[2] - self->planes[2] * p[0] - self->planes[3] * p[1];

      if (e > highest)
        {
          highest = e;
          high = i;
        }
      if (e < lowest)
        {
          lowest = e;
          low = i;
        }
    }
  above = highest - self->planes[0];
  below = -lowest - self->planes[1];
  if (MAX (above, below) <= self->noise)
    return FALSE;

  *entering = above >= below ? (Contact){ high, FALSE } : (Contact){ low, TRUE };
  return TRUE;
}

/* Row @i of [weights | inverse x first basis] over @pivot: compared from the left, the least leaves. */
static double
tie_breaker (const Programme *self,
             int i,
             int k)
{
  double sum = 0;

  if (k == 0)
    return self->weights[i];
  for (int j = 0; j < ROWS; j++)
    sum += self->inverse[i][j] * self->start[j][k - 1];
  return sum;
}

static int
choose_leaving (const Programme *self,
                const double step[ROWS])
{
  int leaving = -1;

  for (int i = 0; i < ROWS; i++)
    {
      if (step[i] <= TINY_PIVOT)
        continue;
      if (leaving < 0)
        leaving = i;
      else
        for (int k = 0; k <= ROWS; k++)
          {
            double a = tie_breaker (self, i, k) / step[i];
            double b = tie_breaker (self, leaving, k) / step[leaving];

            if (fabs (a - b) > 1e-12 * (1 + fabs (a)))
              {
                if (a < b)
                  leaving = i;
                break;
              }
          }
    }

  return leaving;
}

/* Three places that span the face as widely as they easily can: the farthest from the middle, the farthest from that, the
 * farthest from the line through both. */
static void
choose_first (Programme *self)
{
  guint spread[3] = { 0, 0, 0 };
  double best = -1;

  for (int round = 0; round < 3; round++)
    {
      const double *a = self->xyz + 3 * (gsize) spread[0];
      const double *b = self->xyz + 3 * (gsize) spread[1];

      best = -1;
      for (guint i = 0; i < self->n; i++)
        {
          const double *p = self->xyz + 3 * (gsize) i;
          double far = round == 0   ? hypot (p[0], p[1])
                       : round == 1 ? hypot (p[0] - a[0], p[1] - a[1])
                                    : fabs ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]));

          if (far > best)
            {
              best = far;
              spread[round] = i;
            }
        }
    }

  self->basis[0] = (Contact){ spread[0], FALSE };
  self->basis[1] = (Contact){ spread[0], TRUE };
  self->basis[2] = (Contact){ spread[1], FALSE };
  self->basis[3] = (Contact){ spread[2], FALSE };
  for (int j = 0; j < ROWS; j++)
    {
      double column[ROWS];

      column_of (self, self->basis[j], column);
      for (int i = 0; i < ROWS; i++)
        self->start[i][j] = column[i];
    }
}

/* One that carries the planes already stands out by rounding only. */
static gboolean
in_basis (const Programme *self,
          Contact contact)
{
  for (int i = 0; i < ROWS; i++)
    if (self->basis[i].point == contact.point && self->basis[i].below == contact.below)
      return TRUE;

  return FALSE;
}

static gboolean
solve (Programme *self,
       GError **error)
{
  Contact entering;

  choose_first (self);
  while (invert_basis (self))
    {
      double column[ROWS];
      double step[ROWS] = { 0 };
      int leaving;

      read_basis (self);
      if (!choose_entering (self, &entering) || in_basis (self, entering))
        return TRUE;

      column_of (self, entering, column);
      for (int i = 0; i < ROWS; i++)
        for (int j = 0; j < ROWS; j++)
          step[i] += self->inverse[i][j] * column[j];
      leaving = choose_leaving (self, step);
      if (leaving < 0 || ++self->exchanges > MOST_EXCHANGES)
        break;
      self->basis[leaving] = entering;
    }

  g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "minimum zone: didn't settle in %u exchanges of points", self->exchanges);
  return FALSE;
}

static void
take_contacts (const Programme *self,
               EfFlatnessZone *result)
{
  result->n_high = result->n_low = 0;
  for (int i = 0; i < ROWS; i++)
    {
      if (self->weights[i] <= 1e-12)
        continue;
      if (self->basis[i].below && result->n_low < EF_ZONE_CONTACTS)
        {
          result->low_weight[result->n_low] = self->weights[i];
          result->low[result->n_low++] = self->basis[i].point;
        }
      else if (!self->basis[i].below && result->n_high < EF_ZONE_CONTACTS)
        {
          result->high_weight[result->n_high] = self->weights[i];
          result->high[result->n_high++] = self->basis[i].point;
        }
    }
}

/* The plane lies midway; heights are measured, not taken from the programme. */
static void
take_planes (const double *xyz,
             guint n,
             EfFlatnessZone *result)
{
  double highest = -INFINITY, lowest = INFINITY;

  for (guint i = 0; i < n; i++)
    {
      double e = xyz[3 * i + 2] - ef_plane_at (&result->plane, xyz[3 * i], xyz[3 * i + 1]);

      highest = MAX (highest, e);
      lowest = MIN (lowest, e);
    }
  result->plane.height += (highest + lowest) / 2;
  result->zone = highest - lowest;
}

/* Places over their reach from the middle, heights over the least-squares plane, over @height. */
static double *
scale_points (const double *xyz,
              guint n,
              const EfPlane *plane,
              double reach,
              double height)
{
  double *scaled = g_new (double, 3 * (gsize) n);

  for (guint i = 0; i < n; i++)
    {
      scaled[3 * i] = (xyz[3 * i] - plane->x0) / reach;
      scaled[3 * i + 1] = (xyz[3 * i + 1] - plane->y0) / reach;
      scaled[3 * i + 2] = (xyz[3 * i + 2] - ef_plane_at (plane, xyz[3 * i], xyz[3 * i + 1])) / height;
    }

  return scaled;
}

gboolean
ef_flatness_minimum_zone (const double *xyz,
                          guint n,
                          EfFlatnessZone *result,
                          GError **error)
{
  EfFlatness fit;
  Programme programme = { .n = n, .noise = 1e-14 };
  g_autofree double *scaled = NULL;
  double reach = 0, size = 0, height;

  if (!ef_flatness_least_squares (xyz, n, &fit, error))
    return FALSE;

  *result = (EfFlatnessZone){ .plane = fit.plane };
  for (guint i = 0; i < n; i++)
    {
      reach = MAX (reach, hypot (xyz[3 * i] - fit.plane.x0, xyz[3 * i + 1] - fit.plane.y0));
      size = MAX (size, fabs (xyz[3 * i + 2]));
    }
  height = MAX (fit.peak, -fit.valley);
  size = MAX (size, reach * hypot (fit.plane.slope_x, fit.plane.slope_y));
  if (height <= 8 * DBL_EPSILON * size)
    {
      /* Plane to rounding: any point carries it. */
      take_planes (xyz, n, result);
      result->high[result->n_high++] = fit.peak_point;
      result->low[result->n_low++] = fit.valley_point;
      result->high_weight[0] = result->low_weight[0] = 1;
      return TRUE;
    }

  scaled = scale_points (xyz, n, &fit.plane, reach, height);
  programme.xyz = scaled;
  if (!solve (&programme, error))
    return FALSE;

  result->plane.slope_x += programme.planes[2] * height / reach;
  result->plane.slope_y += programme.planes[3] * height / reach;
  take_planes (xyz, n, result);
  take_contacts (&programme, result);
  result->iterations = programme.exchanges;
  result->bound = MAX (0, (programme.planes[0] + programme.planes[1]) * height);
  return TRUE;
}

gboolean
ef_flatness_minimum_zone_normal (const double *xyz,
                                 guint n,
                                 EfFlatnessZone *result,
                                 GError **error)
{
  EfFlatnessZone zone;
  guint iterations;

  if (!ef_flatness_minimum_zone (xyz, n, &zone, error))
    return FALSE;

  iterations = zone.iterations;
  result->zone = INFINITY;
  for (int pass = 0; pass < PASSES; pass++)
    {
      EfFlatnessFrame frame;
      EfPlane plane;
      g_autofree double *local = NULL;

      ef_flatness_frame_init (&frame, &zone.plane);
      local = ef_flatness_frame_points (&frame, xyz, n);
      if (!ef_flatness_minimum_zone (local, n, &zone, error))
        return FALSE;
      iterations += zone.iterations;
      ef_flatness_frame_plane (&frame, &zone.plane, &plane);
      if (zone.zone < result->zone)
        {
          *result = zone;
          result->plane = plane;
        }
      if (hypot (zone.plane.slope_x, zone.plane.slope_y) < 1e-9)
        break;
      zone.plane = plane;
    }

  result->iterations = iterations;
  return TRUE;
}
