/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-propagate.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_linalg.h>
#include <math.h>

#define ONE_SIDED 0.95
#define NOT_A_CORRELATION 1e-9 /* how far below 0 rounding may bring a variance, as a share of its largest term */

static gboolean
check_number (const char *name,
              guint i,
              double value,
              double least,
              GError **error)
{
  if (isfinite (value) && value >= least)
    return TRUE;

  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s[%u]: expected a %s, found %g", name, i, least == 0 ? "number from 0 on" : "finite number", value);
  return FALSE;
}

double
ef_repeats_factor (double freedom)
{
  if (!(freedom >= 1) || isinf (freedom))
    return 1;

  return gsl_cdf_tdist_Pinv (ONE_SIDED, freedom) / gsl_cdf_ugaussian_Pinv (ONE_SIDED);
}

gboolean
ef_repeats (const double *values,
            guint n,
            EfRepeats *repeats,
            GError **error)
{
  double sum = 0, squares = 0;

  if (n == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "values: expected at least one, found none");
      return FALSE;
    }
  for (guint i = 0; i < n; i++)
    {
      if (!check_number ("values", i, values[i], -INFINITY, error))
        return FALSE;
      sum += values[i] - values[0];
    }

  *repeats = (EfRepeats){ .n = n, .mean = values[0] + sum / n, .factor = ef_repeats_factor (n - 1) };
  for (guint i = 0; i < n && n > 1; i++)
    squares += (values[i] - repeats->mean) * (values[i] - repeats->mean) / (n - 1);
  repeats->scatter = sqrt (squares);
  repeats->u = sqrt (squares / n);

  return TRUE;
}

double
ef_u_rectangular (double half_width)
{
  return half_width / sqrt (3);
}

double
ef_u_triangular (double half_width)
{
  return half_width / sqrt (6);
}

/* Symmetric, ones on the diagonal, no variance below 0 for any combination: all eigenvalues from 0 on. */
static gboolean
check_correlation (const double *correlation,
                   guint n,
                   GError **error)
{
  g_autofree double *copy = NULL;
  gsl_matrix_view view;
  gboolean possible = TRUE;

  if (correlation == NULL)
    return TRUE;
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j <= i; j++)
      {
        double r = correlation[i * n + j];

        if (!(fabs (r) <= 1) || (i == j && r != 1) || correlation[j * n + i] != r)
          {
            g_set_error (error, EF_ERROR, EF_ERROR_INVALID,
                         "correlation[%u][%u]: expected a symmetric matrix of numbers from -1 to 1 with ones on the diagonal, found %g", i, j, r);
            return FALSE;
          }
      }

  /* LDL' without pivots: each pivot is the variance left when those before are known. */
  copy = g_memdup2 (correlation, sizeof (double) * n * n);
  view = gsl_matrix_view_array (copy, n, n);
  for (guint k = 0; k < n && possible; k++)
    {
      double pivot = gsl_matrix_get (&view.matrix, k, k);

      possible = pivot >= -NOT_A_CORRELATION;
      for (guint i = k + 1; i < n && possible; i++)
        {
          double f = gsl_matrix_get (&view.matrix, i, k);

          if (pivot < NOT_A_CORRELATION)
            {
              possible = fabs (f) < sqrt (NOT_A_CORRELATION);
              continue;
            }
          for (guint j = k + 1; j < n; j++)
            *gsl_matrix_ptr (&view.matrix, i, j) -= f / pivot * gsl_matrix_get (&view.matrix, k, j);
        }
    }
  if (!possible)
    g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "correlation: expected a matrix that correlations can form, found one that gives a variance below 0");

  return possible;
}

gboolean
ef_propagate_linear (const double *sensitivity,
                     const double *u,
                     const double *correlation,
                     guint n,
                     double *u_out,
                     GError **error)
{
  double variance = 0;

  for (guint i = 0; i < n; i++)
    if (!check_number ("sensitivity", i, sensitivity[i], -INFINITY, error) || !check_number ("u", i, u[i], 0, error))
      return FALSE;
  if (!check_correlation (correlation, n, error))
    return FALSE;

  for (guint i = 0; i < n; i++)
    {
      double term = sensitivity[i] * u[i];

      variance += term * term;
      for (guint j = 0; correlation != NULL && j < i; j++)
        variance += 2 * correlation[i * n + j] * term * sensitivity[j] * u[j];
    }
  *u_out = sqrt (MAX (variance, 0));

  return TRUE;
}

void
ef_propagated_clear (EfPropagated *self)
{
  g_clear_pointer (&self->sensitivity, g_free);
  g_clear_pointer (&self->share, g_free);
}

static gboolean
evaluate (EfModel model,
          gpointer data,
          const double *x,
          guint n,
          double *y,
          GError **error)
{
  if (model (x, n, y, data) && isfinite (*y))
    return TRUE;

  g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "model: expected a value within one standard uncertainty of the inputs, found none");
  return FALSE;
}

static gboolean
find_sensitivities (EfModel model,
                    gpointer data,
                    const double *x,
                    const double *u,
                    guint n,
                    double *sensitivity,
                    GError **error)
{
  g_autofree double *moved = g_memdup2 (x, sizeof (double) * n);

  for (guint i = 0; i < n; i++)
    {
      double above, below;

      if (!check_number ("x", i, x[i], -INFINITY, error) || !check_number ("u", i, u[i], 0, error))
        return FALSE;
      if (u[i] == 0)
        continue;
      moved[i] = x[i] + u[i];
      if (!evaluate (model, data, moved, n, &above, error))
        return FALSE;
      moved[i] = x[i] - u[i];
      if (!evaluate (model, data, moved, n, &below, error))
        return FALSE;
      sensitivity[i] = (above - below) / (2 * u[i]);
      moved[i] = x[i];
    }

  return TRUE;
}

gboolean
ef_propagate (EfModel model,
              gpointer data,
              const double *x,
              const double *u,
              const double *correlation,
              guint n,
              EfPropagated *out,
              GError **error)
{
  g_auto (EfPropagated) result = { .n = n, .sensitivity = g_new0 (double, n + 1), .share = g_new0 (double, n + 1) };

  if (!find_sensitivities (model, data, x, u, n, result.sensitivity, error)
      || !evaluate (model, data, x, n, &result.value, error)
      || !ef_propagate_linear (result.sensitivity, u, correlation, n, &result.u, error))
    return FALSE;

  for (guint i = 0; i < n && result.u > 0; i++)
    result.share[i] = pow (result.sensitivity[i] * u[i] / result.u, 2);
  *out = result;
  result = (EfPropagated){ 0 };

  return TRUE;
}

double
ef_effective_freedom (const double *u,
                      const double *freedom,
                      guint n)
{
  double variance = 0, quotient = 0;

  for (guint i = 0; i < n; i++)
    {
      variance += u[i] * u[i];
      quotient += isinf (freedom[i]) ? 0 : pow (u[i], 4) / freedom[i];
    }

  return quotient > 0 ? variance * variance / quotient : INFINITY;
}

double
ef_coverage_factor (double probability,
                    double freedom)
{
  double p = (1 + probability) / 2;

  if (!(probability > 0 && probability < 1) || !(freedom > 0))
    return NAN;

  return isinf (freedom) ? gsl_cdf_ugaussian_Pinv (p) : gsl_cdf_tdist_Pinv (p, freedom);
}
