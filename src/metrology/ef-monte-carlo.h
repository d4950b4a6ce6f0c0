/* Uncertainty of a result by drawing its inputs at random.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * JCGM 101:2008, supplement 1 to the GUM: 7 the method, 7.7 coverage intervals, 7.9 the adaptive procedure. Clause numbers from memory. The
 * same seed gives the same numbers on every machine: the generator is MT19937, and one thread draws trial by trial, input by input.
 */
#pragma once

#include "ef-propagate.h"

#include <gio/gio.h>

G_BEGIN_DECLS

typedef enum
{
  EF_DISTRIBUTION_NORMAL,      /* spread: standard deviation */
  EF_DISTRIBUTION_RECTANGULAR, /* spread: half width */
  EF_DISTRIBUTION_TRIANGULAR,  /* spread: half width */
  EF_N_DISTRIBUTIONS
} EfDistribution;

extern const char *const ef_distribution_names[]; /* "normal", "rectangular", "triangular"; NULL-terminated */
/* Standard deviation that belongs to the spread. */
double ef_distribution_u (EfDistribution distribution, double spread);

typedef struct
{
  double value;
  EfDistribution distribution;
  double spread; /* 0: exact */
} EfUncertain;

typedef struct
{
  guint32 seed;
  guint trials;         /* 0: adaptive */
  double probability;   /* of the coverage interval; 0: 0.95 */
  guint digits;         /* adaptive: significant decimal digits of u to be reliable, 1 or 2; 0: 2 */
  guint most_trials;    /* adaptive: no more than this; 0: 5 million */
  double lower, upper;  /* limits to give the probability of lying between; NAN none. Both 0: none */
} EfMonteCarloOptions;

typedef struct
{
  guint trials;
  guint failed;          /* trials for which the model has no value: left out */
  gboolean stable;       /* adaptive: the numbers have settled to the digits asked for */
  double mean, u;
  double median;
  double low, high;      /* probabilistically symmetric coverage interval */
  double short_low, short_high; /* shortest coverage interval */
  double within;         /* share of trials between the limits; NAN without */
} EfMonteCarlo;

/* @correlation: n x n, of normal inputs only (others must be uncorrelated); NULL none. Fails with EF_ERROR_INVALID for inputs or options that can't be,
 * EF_ERROR_RANGE when the model has no value in more than one trial of a hundred, EF_ERROR_CANCELLED. */
gboolean ef_monte_carlo (EfModel model, gpointer data, const EfUncertain *inputs, const double *correlation, guint n, const EfMonteCarloOptions *options, GCancellable *cancellable, EfMonteCarlo *result, GError **error);

G_END_DECLS
