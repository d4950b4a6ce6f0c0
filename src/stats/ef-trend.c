/* Straight lines by least squares and by bisquare weights.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-trend.h"

#include <math.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_fit.h>
#include <gsl/gsl_multifit.h>
#include <gsl/gsl_statistics.h>

#define ROBUST_LEAST 5 /* points */

/* In spans of x and deviations of y, so that the matrix is well scaled. */
static void
fit_robust (EfTrend *self,
            const double *x,
            const double *y)
{
  gsl_matrix *design = gsl_matrix_alloc (self->n, 2);
  gsl_vector *values = gsl_vector_alloc (self->n);
  gsl_vector *c = gsl_vector_alloc (2);
  gsl_matrix *covariance = gsl_matrix_alloc (2, 2);
  gsl_multifit_robust_workspace *work = gsl_multifit_robust_alloc (gsl_multifit_robust_bisquare, self->n, 2);
  double span = self->x_max - self->x_min;
  double scale = self->residual;
  int code;

  for (guint i = 0; i < self->n; i++)
    {
      gsl_matrix_set (design, i, 0, 1);
      gsl_matrix_set (design, i, 1, (x[i] - self->x_mean) / span);
      gsl_vector_set (values, i, (y[i] - self->intercept - self->slope * x[i]) / scale);
    }
  code = gsl_multifit_robust (design, values, c, covariance, work);
  if (code == GSL_SUCCESS || code == GSL_EMAXITER)
    {
      double turn = scale * gsl_vector_get (c, 1) / span;

      self->robust_slope = self->slope + turn;
      self->robust_intercept = self->intercept + scale * gsl_vector_get (c, 0) - turn * self->x_mean;
    }
  gsl_multifit_robust_free (work);
  gsl_matrix_free (covariance);
  gsl_vector_free (c);
  gsl_vector_free (values);
  gsl_matrix_free (design);
}

EfTrend
ef_trend (const double *x,
          const double *y,
          guint n,
          double confidence)
{
  EfTrend self = { .n = n, .intercept = NAN, .slope = NAN, .intercept_error = NAN, .slope_error = NAN, .slope_low = NAN, .slope_high = NAN,
                   .residual = NAN, .r_squared = NAN, .robust_intercept = NAN, .robust_slope = NAN, .x_min = NAN, .x_max = NAN, .x_mean = NAN, .sxx = NAN, .t = NAN };
  double c00, c01, c11, rest, total;

  if (n == 0)
    return self;
  gsl_stats_minmax (&self.x_min, &self.x_max, x, 1, n);
  self.x_mean = gsl_stats_mean (x, 1, n);
  if (n < 3 || !(self.x_max > self.x_min))
    return self;
  gsl_set_error_handler_off ();
  gsl_fit_linear (x, 1, y, 1, n, &self.intercept, &self.slope, &c00, &c01, &c11, &rest);
  self.known = TRUE;
  self.sxx = gsl_stats_tss (x, 1, n);
  total = gsl_stats_tss (y, 1, n);
  self.residual = sqrt (rest / (n - 2));
  self.intercept_error = sqrt (c00);
  self.slope_error = sqrt (c11);
  self.r_squared = total > 0 ? 1 - rest / total : NAN;
  self.t = gsl_cdf_tdist_Pinv (0.5 + 0.5 * confidence, n - 2);
  self.slope_low = self.slope - self.t * self.slope_error;
  self.slope_high = self.slope + self.t * self.slope_error;
  if (n >= ROBUST_LEAST && self.residual > 0)
    fit_robust (&self, x, y);

  return self;
}

double
ef_trend_at (const EfTrend *self,
             double x,
             double *low,
             double *high)
{
  double y = self->intercept + self->slope * x;
  double off = x - self->x_mean;
  double half = self->t * self->residual * sqrt (1.0 / self->n + off * off / self->sxx);

  if (!self->known)
    y = half = NAN;
  *low = y - half;
  *high = y + half;

  return y;
}
