/* Minimum-zone and maximum inscribed circles.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Neither is a convex problem, but both are easily solved for a few points by trying all circles that can be the best: for
 * the zone, centres where the bisectors of an outer and an inner pair meet, and those of circles through three points; for the
 * inscribed circle, circles through three points that hold their centre. So a few points are chosen, solved for, and the ones
 * that all others break the answer by are added, until none does. A chosen few can only make the zone narrower and the inscribed
 * circle larger than all points would; the answer that holds for all is the best of all.
 */
#include "ef-roundness.h"
#include "ef-roundness-points.h"

#include <math.h>

#define SECTORS 8
#define MOST_CHOSEN 300
#define WITHIN 0.5 /* of the radius: how far the centre may lie from the least-squares centre */

typedef struct
{
  const double *xy; /* about the least-squares centre */
  guint n;
  double radius;
  guint n_chosen;
  guint chosen[MOST_CHOSEN]; /* latest first: those say no soonest */
  double x[MOST_CHOSEN], y[MOST_CHOSEN]; /* of the chosen */
} Few;

/* Where the chosen points' best circle is. */
typedef struct
{
  double x, y;
  double value; /* zone width, or radius */
  guint n_out, n_in;
  guint out[EF_CIRCLE_CONTACTS], in[EF_CIRCLE_CONTACTS];
} Best;

static gboolean
choose (Few *few,
        guint point)
{
  for (guint i = 0; i < few->n_chosen; i++)
    if (few->chosen[i] == point || (few->x[i] == few->xy[2 * point] && few->y[i] == few->xy[2 * point + 1]))
      return FALSE;
  if (few->n_chosen == MOST_CHOSEN)
    return FALSE;

  for (guint i = few->n_chosen++; i > 0; i--)
    {
      few->chosen[i] = few->chosen[i - 1];
      few->x[i] = few->x[i - 1];
      few->y[i] = few->y[i - 1];
    }
  few->chosen[0] = point;
  few->x[0] = few->xy[2 * point];
  few->y[0] = few->xy[2 * point + 1];
  return TRUE;
}

static guint
sector_of (double x,
           double y,
           guint sectors)
{
  double turn = (atan2 (y, x) + G_PI) / (2 * G_PI) * sectors;

  return MIN ((guint) MAX (turn, 0), sectors - 1);
}

/* The farthest and the nearest of each sector. */
static void
choose_first (Few *few,
              gboolean far,
              gboolean near)
{
  guint high[SECTORS], low[SECTORS];
  double largest[SECTORS], smallest[SECTORS];

  for (guint s = 0; s < SECTORS; s++)
    {
      largest[s] = -1;
      smallest[s] = INFINITY;
    }
  for (guint i = 0; i < few->n; i++)
    {
      double x = few->xy[2 * i], y = few->xy[2 * i + 1];
      double r = x * x + y * y;
      guint s = sector_of (x, y, SECTORS);

      if (r > largest[s])
        {
          largest[s] = r;
          high[s] = i;
        }
      if (r < smallest[s])
        {
          smallest[s] = r;
          low[s] = i;
        }
    }
  for (guint s = 0; s < SECTORS; s++)
    {
      if (far && largest[s] >= 0)
        choose (few, high[s]);
      if (near && largest[s] >= 0)
        choose (few, low[s]);
    }
}

/* Zone width of the chosen about a centre, or @limit as soon as it reaches that. */
static double
zone_about (const Few *few,
            double x,
            double y,
            double limit)
{
  double high = 0, low = INFINITY;

  if (x * x + y * y > WITHIN * WITHIN * few->radius * few->radius)
    return limit;
  for (guint i = 0; i < few->n_chosen; i++)
    {
      double dx = few->x[i] - x, dy = few->y[i] - y;
      double r = sqrt (dx * dx + dy * dy);

      high = MAX (high, r);
      low = MIN (low, r);
      if (high - low >= limit)
        return limit;
    }
  return high - low;
}

/* Bisector of two chosen points: a x + b y = c. */
typedef struct
{
  guint i, j;
  double a, b, c;
} Bisector;

static guint
make_bisectors (const Few *few,
                Bisector *bisectors)
{
  guint n = 0;

  for (guint i = 0; i < few->n_chosen; i++)
    for (guint j = 0; j < i; j++)
      {
        Bisector *one = &bisectors[n++];
        double length;

        *one = (Bisector){ i, j, few->x[j] - few->x[i], few->y[j] - few->y[i], 0 };
        one->c = ((few->x[j] - few->x[i]) * (few->x[j] + few->x[i]) + (few->y[j] - few->y[i]) * (few->y[j] + few->y[i])) / 2;
        length = hypot (one->a, one->b);
        one->a /= length;
        one->b /= length;
        one->c /= length;
      }
  return n;
}

/* Every pair of bisectors: two pairs of points, or, where they share a point, three points on one circle. */
static void
solve_zone (const Few *few,
            Best *best)
{
  guint pairs = few->n_chosen * (few->n_chosen - 1) / 2;
  g_autofree Bisector *bisectors = g_new (Bisector, MAX (pairs, 1));

  make_bisectors (few, bisectors);
  *best = (Best){ 0 };
  best->value = zone_about (few, 0, 0, INFINITY);
  for (guint p = 0; p < pairs; p++)
    for (guint q = 0; q < p; q++)
      {
        const Bisector *f = &bisectors[p];
        const Bisector *g = &bisectors[q];
        double cross = f->a * g->b - f->b * g->a;
        double x, y, width;

        if (fabs (cross) < 1e-9)
          continue;
        x = (f->c * g->b - g->c * f->b) / cross;
        y = (f->a * g->c - g->a * f->c) / cross;
        width = zone_about (few, x, y, best->value);
        if (width < best->value)
          *best = (Best){ .x = x, .y = y, .value = width };
      }
}

/* TRUE when the centre lies within the triangle, or on its rim. */
static gboolean
holds_centre (const double *a,
              const double *b,
              const double *c,
              const double centre[2])
{
  const double *corners[3] = { a, b, c };
  double turn = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);

  for (int k = 0; k < 3; k++)
    {
      const double *p = corners[k];
      const double *q = corners[(k + 1) % 3];
      double side = (q[0] - p[0]) * (centre[1] - p[1]) - (q[1] - p[1]) * (centre[0] - p[0]);

      if (side * turn < -1e-9 * turn * turn)
        return FALSE;
    }
  return TRUE;
}

static void
try_inscribed (const Few *few,
               guint i,
               guint j,
               guint k,
               Best *best)
{
  const double a[2] = { few->x[i], few->y[i] };
  const double b[2] = { few->x[j], few->y[j] };
  const double c[2] = { few->x[k], few->y[k] };
  double centre[2], r2;

  if (!ef_circle_through (a, b, c, centre))
    return;
  r2 = (a[0] - centre[0]) * (a[0] - centre[0]) + (a[1] - centre[1]) * (a[1] - centre[1]);
  if (r2 <= best->value * best->value
      || centre[0] * centre[0] + centre[1] * centre[1] > WITHIN * WITHIN * few->radius * few->radius)
    return;
  for (guint m = 0; m < few->n_chosen; m++)
    {
      double dx = few->x[m] - centre[0], dy = few->y[m] - centre[1];

      if (dx * dx + dy * dy < r2 * (1 - 1e-14))
        return;
    }
  if (!holds_centre (a, b, c, centre))
    return;

  *best = (Best){ .x = centre[0], .y = centre[1], .value = sqrt (r2), .n_in = 3, .in = { few->chosen[i], few->chosen[j], few->chosen[k] } };
}

static void
solve_inscribed (const Few *few,
                 Best *best)
{
  *best = (Best){ 0 };
  for (guint i = 0; i < few->n_chosen; i++)
    for (guint j = 0; j < i; j++)
      for (guint k = 0; k < j; k++)
        try_inscribed (few, i, j, k, best);
}

/* The nearest point of each of a few sectors about the centre that lies within the circle. */
static guint
choose_within (Few *few,
               const Best *best)
{
  enum { PARTS = 5 };
  guint nearest[PARTS];
  double least[PARTS];
  guint added = 0;

  for (guint s = 0; s < PARTS; s++)
    least[s] = best->value * best->value * (1 - 4e-15);
  for (guint i = 0; i < few->n; i++)
    {
      double x = few->xy[2 * i] - best->x, y = few->xy[2 * i + 1] - best->y;
      double r2 = x * x + y * y;
      guint s;

      if (r2 >= best->value * best->value * (1 - 4e-15))
        continue;
      s = sector_of (x, y, PARTS);
      if (r2 < least[s])
        {
          least[s] = r2;
          nearest[s] = i;
        }
    }
  for (guint s = 0; s < PARTS; s++)
    if (least[s] < best->value * best->value * (1 - 4e-15))
      added += choose (few, nearest[s]);
  return added;
}

/* Some more, spread over all. */
static guint
choose_some (Few *few)
{
  guint stride = MAX (1, few->n / 24);
  guint added = 0;

  for (guint first = 0; first < stride && added == 0; first++)
    for (guint i = first; i < few->n && added < 24; i += stride)
      added += choose (few, i);
  return added;
}

static gboolean
start (const double *xy,
       guint n,
       EfCircleFit *squares,
       double **moved,
       Few *few,
       GError **error)
{
  if (!ef_roundness_least_squares (xy, n, squares, error))
    return FALSE;

  *moved = ef_roundness_about (xy, n, squares);
  few->xy = *moved;
  few->n = n;
  few->radius = squares->radius;
  few->n_chosen = 0;
  return TRUE;
}

/* Contacts of the zone: the chosen points on either circle, as many as there's room for. */
static void
take_contacts (const Few *few,
               const EfRadii *radii,
               const Best *best,
               EfCircleFit *fit)
{
  double slack = 1e-9 * (radii->largest - radii->smallest) + 1e-15 * few->radius;

  for (guint i = 0; i < few->n_chosen; i++)
    {
      double r = hypot (few->x[i] - best->x, few->y[i] - best->y);

      if (r >= radii->largest - slack && fit->n_out < EF_CIRCLE_CONTACTS)
        fit->out[fit->n_out++] = few->chosen[i];
      else if (r <= radii->smallest + slack && fit->n_in < EF_CIRCLE_CONTACTS)
        fit->in[fit->n_in++] = few->chosen[i];
    }
}

gboolean
ef_roundness_minimum_zone (const double *xy,
                           guint n,
                           EfCircleFit *fit,
                           GError **error)
{
  g_autofree double *moved = NULL;
  g_autofree Few *few = g_new (Few, 1);
  EfCircleFit squares;

  if (!start (xy, n, &squares, &moved, few, error))
    return FALSE;

  choose_first (few, TRUE, TRUE);
  while (few->n_chosen < MOST_CHOSEN)
    {
      Best best;
      EfRadii radii;
      gboolean added;

      solve_zone (few, &best);
      ef_roundness_measure (moved, n, best.x, best.y, &radii);
      added = choose (few, radii.farthest);
      added = choose (few, radii.nearest) || added;
      if (added && radii.largest - radii.smallest > best.value + 4e-15 * few->radius)
        continue;

      *fit = (EfCircleFit){ .x = squares.x + best.x, .y = squares.y + best.y };
      fit->radius = (radii.largest + radii.smallest) / 2;
      fit->roundness = radii.largest - radii.smallest;
      take_contacts (few, &radii, &best, fit);
      return TRUE;
    }

  g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "minimum zone of circles: didn't settle with %u points", few->n_chosen);
  return FALSE;
}

gboolean
ef_roundness_inscribed (const double *xy,
                        guint n,
                        EfCircleFit *fit,
                        GError **error)
{
  g_autofree double *moved = NULL;
  g_autofree Few *few = g_new (Few, 1);
  EfCircleFit squares;

  if (!start (xy, n, &squares, &moved, few, error))
    return FALSE;

  choose_first (few, FALSE, TRUE);
  while (few->n_chosen < MOST_CHOSEN)
    {
      Best best;
      EfRadii radii;

      solve_inscribed (few, &best);
      if (best.n_in == 0)
        {
          /* The chosen don't go round yet. */
          if (choose_some (few) == 0)
            break;
          continue;
        }
      if (choose_within (few, &best) > 0)
        continue;

      ef_roundness_measure (moved, n, best.x, best.y, &radii);
      *fit = (EfCircleFit){ .x = squares.x + best.x, .y = squares.y + best.y, .radius = radii.smallest, .roundness = radii.largest - radii.smallest };
      fit->n_in = 3;
      for (int k = 0; k < 3; k++)
        fit->in[k] = best.in[k];
      return TRUE;
    }

  g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "inscribed circle: didn't settle with %u points", few->n_chosen);
  return FALSE;
}
