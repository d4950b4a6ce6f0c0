/* A straight line through scattered points, and how sure it is.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Least squares with the confidence band of the mean (ordinary linear regression, as GSL's gsl_fit_linear); beside it a robust line (bisquare weights,
 * GSL's gsl_multifit_robust) that a few odd points don't draw away.
 */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  guint n;
  gboolean known;       /* at least three points at two or more places */
  double intercept, slope;
  double intercept_error, slope_error; /* standard */
  double slope_low, slope_high;        /* at the confidence asked for */
  double residual;      /* standard deviation about the line, n - 2 */
  double r_squared;
  double robust_intercept, robust_slope; /* NAN where it can't be worked out */
  double x_min, x_max, x_mean, sxx;
  double t;             /* Student's, of the confidence */
} EfTrend;

/* Through @n points, in any units; @confidence of the band and of the slope's interval, two-sided, 0 … 1. The robust line from 5 points on that don't lie on one line. */
EfTrend ef_trend (const double *x, const double *y, guint n, double confidence);
/* The line at @x with its band; NAN where it isn't known. */
double ef_trend_at (const EfTrend *self, double x, double *low, double *high);

G_END_DECLS
