/* Roundness of a bore or journal from points round it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Terms: ISO 12181-1. Reference circles LSCI (least squares), MZCI (two concentric circles at least radial distance), MCCI (minimum
 * circumscribed), MICI (maximum inscribed); RONt: peak-to-valley of the radii about the centre of the one chosen.
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

#define EF_CIRCLE_CONTACTS 3

typedef struct
{
  double x, y;      /* centre, m */
  double radius;    /* m; MZCI: midway */
  double roundness; /* RONt, m: largest less smallest distance of a point from the centre */
  /* The points that fix the circle. MZCI: outside and inside ones, alternating; MCCI: outside; MICI: inside; LSCI: the farthest and
   * the nearest. */
  guint n_out, n_in;
  guint out[EF_CIRCLE_CONTACTS], in[EF_CIRCLE_CONTACTS];
} EfCircleFit;

/* What holds for all of these: points x0 y0 x1 …, m, in any order, at least 3, going round with no gap of half a turn or more;
 * otherwise EF_ERROR_INVALID or EF_ERROR_GEOMETRY. Repeated points do no harm. EF_ERROR_NOT_CONVERGED where an iteration doesn't
 * settle. Exact means: the best of all circles whose centre lies within half the radius of the least-squares centre. */

/* Geometric least squares: the sum of squared radial deviations is least. */
gboolean ef_roundness_least_squares (const double *xy, guint n, EfCircleFit *fit, GError **error);
gboolean ef_roundness_minimum_zone (const double *xy, guint n, EfCircleFit *fit, GError **error);  /* exact */
gboolean ef_roundness_circumscribed (const double *xy, guint n, EfCircleFit *fit, GError **error); /* exact, unique */
gboolean ef_roundness_inscribed (const double *xy, guint n, EfCircleFit *fit, GError **error);     /* exact; on ovals the centre need not be unique */

/* The second harmonic of the radius about the least-squares centre: r(t) = r0 + … + A cos 2 (t - t2), least squares together with the
 * first harmonic. */
typedef struct
{
  double amplitude; /* A, m */
  double direction; /* t2, of the largest radius, rad in [0, pi); NAN when A is 0 */
} EfHarmonic;

/* Fails as above, and for fewer than 5 distinct directions. */
gboolean ef_roundness_second_harmonic (const double *xy, guint n, EfHarmonic *harmonic, GError **error);

G_END_DECLS
