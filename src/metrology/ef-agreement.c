/* Kappas.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-agreement.h"

#include <math.h>
#include <gsl/gsl_cdf.h>

#define TWO_SIDED_95 1.959963984540054 /* normal quantile of 0.975 */

const char *const ef_agreement_weight_names[] = { "none", "linear", "quadratic", NULL };

/* Degree of agreement of categories i and j, 1 for the same. */
static double
weight_of (EfAgreementWeight weight,
           guint n,
           guint i,
           guint j)
{
  double apart = fabs ((double) i - j) / (n - 1);

  switch (weight)
    {
    case EF_WEIGHT_LINEAR:
      return 1 - apart;
    case EF_WEIGHT_QUADRATIC:
      return 1 - apart * apart;
    default:
      return i == j ? 1 : 0;
    }
}

static void
finish (EfKappa *kappa)
{
  gboolean known = isfinite (kappa->kappa) && isfinite (kappa->u);

  kappa->low = known ? fmax (kappa->kappa - TWO_SIDED_95 * kappa->u, -1) : NAN;
  kappa->high = known ? fmin (kappa->kappa + TWO_SIDED_95 * kappa->u, 1) : NAN;
  kappa->p = kappa->u_chance > 0 ? gsl_cdf_ugaussian_Q (kappa->kappa / kappa->u_chance) : NAN;
}

static gboolean
check_counts (const double *counts,
              gsize n,
              double *total_out,
              GError **error)
{
  *total_out = 0;
  for (gsize i = 0; i < n; i++)
    {
      if (!isfinite (counts[i]) || counts[i] < 0)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "agreement: counts: expected numbers not below 0, found %g at place %" G_GSIZE_FORMAT, counts[i], i);
          return FALSE;
        }
      *total_out += counts[i];
    }
  if (*total_out > 0)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "agreement: counts: expected at least one rating, found none");

  return FALSE;
}

static gboolean
check_categories (guint n,
                  GError **error)
{
  if (n >= 2 && n <= EF_AGREEMENT_MOST)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "agreement: categories: expected 2 to %d, found %u", EF_AGREEMENT_MOST, n);

  return FALSE;
}

/* Large-sample variances of weighted kappa; with weights of 0 and 1 they are those of Cohen's. */
static void
take_errors (const double *p,
             guint n,
             EfAgreementWeight weight,
             const double *row,
             const double *column,
             double total,
             EfKappa *kappa)
{
  double po = kappa->observed, pe = kappa->expected;
  double row_weight[EF_AGREEMENT_MOST] = { 0 }, column_weight[EF_AGREEMENT_MOST] = { 0 };
  double sum = 0, sum_chance = 0;

  for (guint i = 0; i < n; i++)
    for (guint j = 0; j < n; j++)
      {
        double w = weight_of (weight, n, i, j);

        row_weight[i] += column[j] * w;
        column_weight[j] += row[i] * w;
      }
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j < n; j++)
      {
        double w = weight_of (weight, n, i, j);
        double mean = row_weight[i] + column_weight[j];

        sum += p[i * n + j] * pow (w * (1 - pe) - mean * (1 - po), 2);
        sum_chance += row[i] * column[j] * pow (w - mean, 2);
      }
  kappa->u = sqrt (fmax (sum - pow (po * pe - 2 * pe + po, 2), 0) / total) / pow (1 - pe, 2);
  kappa->u_chance = sqrt (fmax (sum_chance - pe * pe, 0) / total) / (1 - pe);
}

gboolean
ef_kappa_two (const double *table,
              guint n,
              EfAgreementWeight weight,
              EfKappa *kappa,
              GError **error)
{
  double row[EF_AGREEMENT_MOST] = { 0 }, column[EF_AGREEMENT_MOST] = { 0 };
  g_autofree double *p = NULL;
  double total;

  if (!check_categories (n, error) || !check_counts (table, (gsize) n * n, &total, error))
    return FALSE;

  p = g_new (double, n * n);
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j < n; j++)
      {
        p[i * n + j] = table[i * n + j] / total;
        row[i] += p[i * n + j];
        column[j] += p[i * n + j];
      }

  *kappa = (EfKappa){ 0 };
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j < n; j++)
      {
        kappa->observed += weight_of (weight, n, i, j) * p[i * n + j];
        kappa->expected += weight_of (weight, n, i, j) * row[i] * column[j];
      }
  if (kappa->expected >= 1)
    {
      kappa->kappa = kappa->u = kappa->u_chance = kappa->low = kappa->high = kappa->p = NAN;
      return TRUE;
    }
  kappa->kappa = (kappa->observed - kappa->expected) / (1 - kappa->expected);
  take_errors (p, n, weight, row, column, total, kappa);
  finish (kappa);

  return TRUE;
}

/* Kappa of all items but @without (n_items: of all). */
static double
fleiss (const double *counts,
        guint n_items,
        guint n_categories,
        double raters,
        guint without,
        double *observed_out,
        double *expected_out)
{
  double share[EF_AGREEMENT_MOST] = { 0 };
  double used = without < n_items ? n_items - 1 : n_items;
  double observed = 0, expected = 0;

  for (guint i = 0; i < n_items; i++)
    for (guint j = 0; i != without && j < n_categories; j++)
      {
        double count = counts[i * n_categories + j];

        share[j] += count / (used * raters);
        observed += count * (count - 1) / (raters * (raters - 1)) / used;
      }
  for (guint j = 0; j < n_categories; j++)
    expected += share[j] * share[j];
  if (observed_out != NULL)
    {
      *observed_out = observed;
      *expected_out = expected;
    }

  return expected < 1 ? (observed - expected) / (1 - expected) : NAN;
}

static double
jackknife (const double *counts,
           guint n_items,
           guint n_categories,
           double raters)
{
  double mean = 0, square = 0;
  g_autofree double *kappas = g_new (double, n_items);

  if (n_items < 3)
    return NAN;
  for (guint i = 0; i < n_items; i++)
    {
      kappas[i] = fleiss (counts, n_items, n_categories, raters, i, NULL, NULL);
      mean += kappas[i] / n_items;
    }
  for (guint i = 0; i < n_items; i++)
    square += pow (kappas[i] - mean, 2);

  return sqrt (square * (n_items - 1) / n_items);
}

static double
chance_error (const double *share,
              guint n_categories,
              guint n_items,
              double raters)
{
  double spread = 0, third = 0;

  for (guint j = 0; j < n_categories; j++)
    {
      double p = share[j], q = 1 - share[j];

      spread += p * q;
      third += p * q * (q - p);
    }

  return sqrt (2 / (n_items * raters * (raters - 1)) * fmax (spread * spread - third, 0)) / spread;
}

static double
category_kappa (const double *counts,
                guint n_items,
                guint n_categories,
                double raters,
                guint category,
                double share)
{
  double apart = 0;

  for (guint i = 0; i < n_items; i++)
    {
      double count = counts[i * n_categories + category];

      apart += count * (raters - count);
    }
  apart /= n_items * raters * (raters - 1) * share * (1 - share);

  return 1 - apart;
}

static gboolean
count_raters (const double *counts,
              guint n_items,
              guint n_categories,
              double *raters_out,
              GError **error)
{
  for (guint i = 0; i < n_items; i++)
    {
      double raters = 0;

      for (guint j = 0; j < n_categories; j++)
        raters += counts[i * n_categories + j];
      if (i == 0)
        *raters_out = raters;
      if (raters < 2 || raters != *raters_out)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "agreement: item %u: expected as many ratings as the first item, 2 or more, found %g", i + 1, raters);
          return FALSE;
        }
    }

  return TRUE;
}

gboolean
ef_kappa_many (const double *counts,
               guint n_items,
               guint n_categories,
               EfKappaMany *kappa,
               GError **error)
{
  double total, raters = 0;

  if (!check_categories (n_categories, error) || !check_counts (counts, (gsize) n_items * n_categories, &total, error) ||
      !count_raters (counts, n_items, n_categories, &raters, error))
    return FALSE;

  *kappa = (EfKappaMany){ 0 };
  for (guint j = 0; j < n_categories; j++)
    {
      for (guint i = 0; i < n_items; i++)
        kappa->share[j] += counts[i * n_categories + j] / total;
      kappa->kappa[j] = category_kappa (counts, n_items, n_categories, raters, j, kappa->share[j]);
      if (!isfinite (kappa->kappa[j]))
        kappa->kappa[j] = NAN;
    }
  kappa->all.kappa = fleiss (counts, n_items, n_categories, raters, n_items, &kappa->all.observed, &kappa->all.expected);
  kappa->all.u = jackknife (counts, n_items, n_categories, raters);
  kappa->all.u_chance = chance_error (kappa->share, n_categories, n_items, raters);
  finish (&kappa->all);

  return TRUE;
}
