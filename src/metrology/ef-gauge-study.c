/* Gauge studies by average and range and by analysis of variance.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-gauge-study.h"

#include <math.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_integration.h>

#define FAR_OUT 9.0 /* standard deviations: nothing lies beyond at double precision */
#define POINTS 64

/* 1.128 and 1.693 are d2 of 2 and 3; the manual's factors are rounded to four places, and so are results made with them. */
static const double equipment_factor[] = { [2] = 0.8862, [3] = 0.5908 };
static const double appraiser_factor[] = { [2] = 0.7071, [3] = 0.5231 };
static const double part_factor[] = { [2] = 0.7071, [3] = 0.5231, [4] = 0.4467, [5] = 0.4030, [6] = 0.3742, [7] = 0.3534, [8] = 0.3375, [9] = 0.3249, [10] = 0.3146 };

/* The integral of 1 - P(all <= x) - P(all > x): mean of greatest less least. */
static double
integrand_d2 (double x,
              void *data)
{
  guint m = *(guint *) data;

  return 1 - pow (gsl_cdf_ugaussian_Q (x), m) - pow (gsl_cdf_ugaussian_P (x), m);
}

double
ef_range_d2 (guint m)
{
  gsl_integration_glfixed_table *table;
  gsl_function f = { integrand_d2, &m };
  double half;

  if (m < 2)
    return NAN;
  table = gsl_integration_glfixed_table_alloc (POINTS);
  half = gsl_integration_glfixed (&f, 0, FAR_OUT, table);
  gsl_integration_glfixed_table_free (table);

  return 2 * half;
}

typedef struct
{
  guint m;
  double low; /* the least lies at or below this … */
  gsl_integration_glfixed_table *table;
} Pair;

/* … and the greatest above x. */
static double
integrand_above (double x,
                 void *data)
{
  const Pair *pair = data;
  double below_high = gsl_cdf_ugaussian_P (x);
  double above_low = gsl_cdf_ugaussian_Q (pair->low);
  double between = below_high - gsl_cdf_ugaussian_P (pair->low);

  return 1 - pow (below_high, pair->m) - pow (above_low, pair->m) + pow (between, pair->m);
}

static double
integrand_low (double low,
               void *data)
{
  Pair *pair = data;
  gsl_function f = { integrand_above, pair };

  pair->low = low;

  return gsl_integration_glfixed (&f, low, FAR_OUT, pair->table);
}

/* Root mean square range: E R^2 = 2 times the integral of P(least <= x < y < greatest) over x < y. */
double
ef_range_d2_single (guint m)
{
  Pair pair = { .m = m };
  gsl_function f = { integrand_low, &pair };
  double mean_square;

  if (m < 2)
    return NAN;
  pair.table = gsl_integration_glfixed_table_alloc (POINTS);
  mean_square = 2 * gsl_integration_glfixed (&f, -FAR_OUT, FAR_OUT, pair.table);
  gsl_integration_glfixed_table_free (pair.table);

  return sqrt (mean_square);
}

static double
factor (const double *table,
        guint n_table,
        guint m,
        gboolean single)
{
  if (m < n_table)
    return table[m];

  return 1 / (single ? ef_range_d2_single (m) : ef_range_d2 (m));
}

static gboolean
check (const EfGaugeReadings *readings,
       GError **error)
{
  const struct
  {
    const char *name;
    guint n;
  } counts[] = { { "parts", readings->n_parts }, { "appraisers", readings->n_appraisers }, { "trials", readings->n_trials } };
  gsize n = 1;

  for (guint i = 0; i < G_N_ELEMENTS (counts); i++)
    {
      if (counts[i].n < 2 || counts[i].n > EF_STUDY_MOST)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "gauge study: %s: expected 2 to %d, found %u", counts[i].name, EF_STUDY_MOST, counts[i].n);
          return FALSE;
        }
      n *= counts[i].n;
    }
  for (gsize i = 0; i < n; i++)
    if (!isfinite (readings->values[i]))
      {
        g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "gauge study: values: expected finite numbers, found %g at place %" G_GSIZE_FORMAT, readings->values[i], i);
        return FALSE;
      }

  return TRUE;
}

static const double *
cell (const EfGaugeReadings *r,
      guint part,
      guint appraiser)
{
  return r->values + ((gsize) part * r->n_appraisers + appraiser) * r->n_trials;
}

static double
cell_mean (const EfGaugeReadings *r,
           guint part,
           guint appraiser)
{
  const double *values = cell (r, part, appraiser);
  double sum = 0;

  for (guint k = 0; k < r->n_trials; k++)
    sum += values[k];

  return sum / r->n_trials;
}

static double
cell_range (const EfGaugeReadings *r,
            guint part,
            guint appraiser)
{
  const double *values = cell (r, part, appraiser);
  double least = values[0], most = values[0];

  for (guint k = 1; k < r->n_trials; k++)
    {
      least = fmin (least, values[k]);
      most = fmax (most, values[k]);
    }

  return most - least;
}

static double
part_mean (const EfGaugeReadings *r,
           guint part)
{
  double sum = 0;

  for (guint j = 0; j < r->n_appraisers; j++)
    sum += cell_mean (r, part, j);

  return sum / r->n_appraisers;
}

static double
appraiser_mean (const EfGaugeReadings *r,
                guint appraiser)
{
  double sum = 0;

  for (guint i = 0; i < r->n_parts; i++)
    sum += cell_mean (r, i, appraiser);

  return sum / r->n_parts;
}

static void
finish (EfGaugeComponents *c)
{
  c->grr = sqrt (c->equipment * c->equipment + c->appraiser * c->appraiser + c->interaction * c->interaction);
  c->total = hypot (c->grr, c->part);
  c->distinct = c->grr > 0 ? 1.41 * c->part / c->grr : INFINITY;
}

/* D4 = 1 + 3 d3 / d2. */
static double
range_limit_factor (guint n_trials)
{
  double d2 = ef_range_d2 (n_trials);
  double single = ef_range_d2_single (n_trials);

  return 1 + 3 * sqrt (single * single - d2 * d2) / d2;
}

static void
find_wide (const EfGaugeReadings *r,
           EfGaugeStudyRange *s)
{
  double widest = 0;

  s->range_limit = range_limit_factor (r->n_trials) * s->all_range;
  s->n_over = s->over_part = s->over_appraiser = 0;
  for (guint i = 0; i < r->n_parts; i++)
    for (guint j = 0; j < r->n_appraisers; j++)
      {
        double range = cell_range (r, i, j);

        if (range <= s->range_limit)
          continue;
        s->n_over++;
        if (range > widest)
          {
            widest = range;
            s->over_part = i;
            s->over_appraiser = j;
          }
      }
}

gboolean
ef_gauge_study_range (const EfGaugeReadings *r,
                      EfGaugeStudyRange *s,
                      GError **error)
{
  double least = INFINITY, most = -INFINITY;
  double variance;

  if (!check (r, error))
    return FALSE;

  s->all_range = 0;
  for (guint j = 0; j < r->n_appraisers; j++)
    {
      s->mean[j] = appraiser_mean (r, j);
      s->mean_range[j] = 0;
      for (guint i = 0; i < r->n_parts; i++)
        s->mean_range[j] += cell_range (r, i, j) / r->n_parts;
      s->all_range += s->mean_range[j] / r->n_appraisers;
      least = fmin (least, s->mean[j]);
      most = fmax (most, s->mean[j]);
    }
  s->difference = most - least;

  least = INFINITY;
  most = -INFINITY;
  for (guint i = 0; i < r->n_parts; i++)
    {
      least = fmin (least, part_mean (r, i));
      most = fmax (most, part_mean (r, i));
    }
  s->part_range = most - least;

  s->components = (EfGaugeComponents){ 0 };
  s->components.equipment = s->all_range * factor (equipment_factor, G_N_ELEMENTS (equipment_factor), r->n_trials, FALSE);
  variance = pow (s->difference * factor (appraiser_factor, G_N_ELEMENTS (appraiser_factor), r->n_appraisers, TRUE), 2)
             - pow (s->components.equipment, 2) / ((double) r->n_parts * r->n_trials);
  s->components.appraiser = sqrt (fmax (variance, 0));
  s->components.part = s->part_range * factor (part_factor, G_N_ELEMENTS (part_factor), r->n_parts, TRUE);
  finish (&s->components);
  find_wide (r, s);

  return TRUE;
}

static void
sums_of_squares (const EfGaugeReadings *r,
                 EfGaugeStudyVariance *s)
{
  double mean = 0;

  for (guint j = 0; j < r->n_appraisers; j++)
    mean += appraiser_mean (r, j) / r->n_appraisers;

  s->appraiser.ss = s->part.ss = s->interaction.ss = s->equipment.ss = s->total.ss = 0;
  for (guint j = 0; j < r->n_appraisers; j++)
    s->appraiser.ss += r->n_parts * r->n_trials * pow (appraiser_mean (r, j) - mean, 2);
  for (guint i = 0; i < r->n_parts; i++)
    {
      double of_part = part_mean (r, i);

      s->part.ss += r->n_appraisers * r->n_trials * pow (of_part - mean, 2);
      for (guint j = 0; j < r->n_appraisers; j++)
        {
          const double *values = cell (r, i, j);
          double of_cell = cell_mean (r, i, j);

          s->interaction.ss += r->n_trials * pow (of_cell - of_part - appraiser_mean (r, j) + mean, 2);
          for (guint k = 0; k < r->n_trials; k++)
            {
              s->equipment.ss += pow (values[k] - of_cell, 2);
              s->total.ss += pow (values[k] - mean, 2);
            }
        }
    }
}

static void
set_row (EfVarianceRow *row,
         double df)
{
  row->df = df;
  row->ms = row->ss / df;
  row->f = row->p = NAN;
}

static void
hold_against (EfVarianceRow *row,
              double ms,
              double df)
{
  if (!(ms > 0))
    return;
  row->f = row->ms / ms;
  row->p = gsl_cdf_fdist_Q (row->f, row->df, df);
}

gboolean
ef_gauge_study_variance (const EfGaugeReadings *r,
                         double alpha,
                         EfGaugeStudyVariance *s,
                         GError **error)
{
  double n = r->n_parts, k = r->n_appraisers, m = r->n_trials;
  double error_ms, error_df, between_ms, between_df;

  if (!check (r, error))
    return FALSE;

  sums_of_squares (r, s);
  set_row (&s->appraiser, k - 1);
  set_row (&s->part, n - 1);
  set_row (&s->interaction, (k - 1) * (n - 1));
  set_row (&s->equipment, n * k * (m - 1));
  set_row (&s->total, n * k * m - 1);
  hold_against (&s->interaction, s->equipment.ms, s->equipment.df);

  s->pooled = !(s->interaction.p <= alpha);
  error_df = s->equipment.df + (s->pooled ? s->interaction.df : 0);
  error_ms = (s->equipment.ss + (s->pooled ? s->interaction.ss : 0)) / error_df;
  between_ms = s->pooled ? error_ms : s->interaction.ms;
  between_df = s->pooled ? error_df : s->interaction.df;
  hold_against (&s->appraiser, between_ms, between_df);
  hold_against (&s->part, between_ms, between_df);

  s->components = (EfGaugeComponents){ 0 };
  s->components.equipment = sqrt (error_ms);
  s->components.interaction = s->pooled ? 0 : sqrt (fmax ((s->interaction.ms - error_ms) / m, 0));
  s->components.appraiser = sqrt (fmax ((s->appraiser.ms - between_ms) / (n * m), 0));
  s->components.part = sqrt (fmax ((s->part.ms - between_ms) / (k * m), 0));
  finish (&s->components);

  return TRUE;
}
