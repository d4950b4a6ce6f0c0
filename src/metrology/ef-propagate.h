/* Uncertainty of a result from that of its inputs, first order.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * JCGM 100:2008 (GUM): 4.2 type A, 5.1 uncorrelated and 5.2 correlated inputs, 6 expanded uncertainty, annex G degrees of
 * freedom. Clause numbers from memory.
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

/* Repeated readings. */
typedef struct
{
  guint n;
  double mean;
  double scatter; /* s, standard deviation of one reading, n - 1 in the denominator; 0 for one reading */
  double u;       /* s / sqrt n: type A standard uncertainty of the mean */
  double factor;  /* for few readings: what u is multiplied by so that 1.645 times the product covers one-sided 95 % as the t
                     distribution with n - 1 degrees of freedom does: 3.84 for 2, 1.78 for 3, 1.30 for 5, 1.11 for 10; 1 for one reading */
} EfRepeats;

/* Fails with EF_ERROR_INVALID for no values or ones that aren't finite. */
gboolean ef_repeats (const double *values, guint n, EfRepeats *repeats, GError **error);
/* The factor from degrees of freedom. It stands for the t factor and goes into the standard uncertainty before anything is added to it.
 * Effective degrees of freedom (GUM G.4.1) would let the guard band of few readings shrink when the gauge gets worse; this doesn't. ISO 14253-2
 * has the same kind of factor, with two-sided 95.45 %. 1 for infinitely many or no degrees of freedom. */
double ef_repeats_factor (double freedom);

/* Standard uncertainty of a rectangular distribution of the half width: a / sqrt 3; of a triangular one: a / sqrt 6. */
double ef_u_rectangular (double half_width);
double ef_u_triangular (double half_width);

/* u of sum c_i x_i: sqrt (sum_ij c_i c_j r_ij u_i u_j). @correlation: n x n, symmetric, ones on the diagonal; NULL: none. Fails with
 * EF_ERROR_INVALID for numbers that aren't finite, negative uncertainties, or a matrix that can't be one of correlations. */
gboolean ef_propagate_linear (const double *sensitivity, const double *u, const double *correlation, guint n, double *u_out, GError **error);

/* FALSE: the model has no value there. */
typedef gboolean (*EfModel) (const double *x, guint n, double *y_out, gpointer data);

typedef struct
{
  double value, u;
  double *sensitivity; /* of each input, in the unit of y over that of x */
  double *share;       /* of the variance that each input brings; sums up to 1 without correlation. Zeros where u is 0 */
  guint n;
} EfPropagated;
void ef_propagated_clear (EfPropagated *self);
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (EfPropagated, ef_propagated_clear)

/* Sensitivities by steps of one standard uncertainty either way (GUM 5.1.4, note 2); of inputs that are exact: 0. Also fails with
 * EF_ERROR_RANGE where the model has no value. */
gboolean ef_propagate (EfModel model, gpointer data, const double *x, const double *u, const double *correlation, guint n, EfPropagated *out, GError **error);

/* Effective degrees of freedom by Welch and Satterthwaite (GUM G.4.1), from the standard uncertainties of uncorrelated terms of a sum and
 * their degrees of freedom (INFINITY for what is known well). */
double ef_effective_freedom (const double *u, const double *freedom, guint n);
/* Two-sided coverage factor at @probability: of the t distribution, of the normal one for infinite degrees of freedom. NAN outside (0, 1). */
double ef_coverage_factor (double probability, double freedom);

G_END_DECLS
