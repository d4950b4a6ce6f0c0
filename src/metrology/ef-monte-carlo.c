/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-monte-carlo.h"

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <string.h>

#define BLOCK 10000            /* trials between looks at the stop conditions (JCGM 101 7.9.4: at least 100/(1 - p), and 10^4) */
#define MOST_TRIALS 5000000
#define LEAST_TRIALS 100
#define MOST_FAILED 0.01

const char *const ef_distribution_names[] = { "normal", "rectangular", "triangular", NULL };

double
ef_distribution_u (EfDistribution distribution,
                   double spread)
{
  switch (distribution)
    {
    case EF_DISTRIBUTION_RECTANGULAR:
      return ef_u_rectangular (spread);
    case EF_DISTRIBUTION_TRIANGULAR:
      return ef_u_triangular (spread);
    case EF_DISTRIBUTION_NORMAL:
    case EF_N_DISTRIBUTIONS:
    default:
      return spread;
    }
}

typedef struct
{
  EfModel model;
  gpointer data;
  const EfUncertain *inputs;
  guint n;
  double *factor;     /* lower triangle L with L L' = correlation; NULL */
  double *drawn, *x;  /* n each */
  gsl_rng *random;
  GArray *values;     /* double */
  guint trials, failed;
} Simulation;

static void
simulation_clear (Simulation *self)
{
  g_free (self->factor);
  g_free (self->drawn);
  g_free (self->x);
  g_clear_pointer (&self->random, gsl_rng_free);
  g_clear_pointer (&self->values, g_array_unref);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Simulation, simulation_clear)

static gboolean
check_inputs (const EfUncertain *inputs,
              const double *correlation,
              guint n,
              GError **error)
{
  for (guint i = 0; i < n; i++)
    {
      if (!isfinite (inputs[i].value) || !(inputs[i].spread >= 0) || isinf (inputs[i].spread)
          || (guint) inputs[i].distribution >= EF_N_DISTRIBUTIONS)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "inputs[%u]: expected a finite value and a spread from 0 on, found %g and %g",
                       i, inputs[i].value, inputs[i].spread);
          return FALSE;
        }
      for (guint j = 0; correlation != NULL && j < n; j++)
        if (i != j && correlation[i * n + j] != 0 && inputs[i].distribution != EF_DISTRIBUTION_NORMAL)
          {
            g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "inputs[%u]: expected a normal distribution where there is correlation, found %s",
                         i, ef_distribution_names[inputs[i].distribution]);
            return FALSE;
          }
    }

  return TRUE;
}

/* Cholesky factor; columns of directions without variance stay 0. */
static double *
factorise (const double *correlation,
           guint n)
{
  double *l = g_new0 (double, (gsize) n * n);

  for (guint j = 0; j < n; j++)
    {
      double pivot = correlation[j * n + j];

      for (guint k = 0; k < j; k++)
        pivot -= l[j * n + k] * l[j * n + k];
      if (pivot < 1e-12)
        continue;
      l[j * n + j] = sqrt (pivot);
      for (guint i = j + 1; i < n; i++)
        {
          double sum = correlation[i * n + j];

          for (guint k = 0; k < j; k++)
            sum -= l[i * n + k] * l[j * n + k];
          l[i * n + j] = sum / l[j * n + j];
        }
    }

  return l;
}

/* Deviation of one input in units of its spread. */
static double
draw (gsl_rng *random,
      EfDistribution distribution)
{
  switch (distribution)
    {
    case EF_DISTRIBUTION_RECTANGULAR:
      return 2 * gsl_rng_uniform (random) - 1;
    case EF_DISTRIBUTION_TRIANGULAR:
      return gsl_rng_uniform (random) - gsl_rng_uniform (random);
    case EF_DISTRIBUTION_NORMAL:
    case EF_N_DISTRIBUTIONS:
    default:
      return gsl_ran_gaussian (random, 1);
    }
}

static void
draw_inputs (Simulation *self)
{
  for (guint i = 0; i < self->n; i++)
    self->drawn[i] = draw (self->random, self->inputs[i].distribution);
  for (guint i = 0; i < self->n; i++)
    {
      double deviation = self->drawn[i];

      if (self->factor != NULL)
        {
          deviation = 0;
          for (guint k = 0; k <= i; k++)
            deviation += self->factor[i * self->n + k] * self->drawn[k];
        }
      self->x[i] = self->inputs[i].value + self->inputs[i].spread * deviation;
    }
}

static gboolean
run_trials (Simulation *self,
            guint trials,
            GCancellable *cancellable,
            GError **error)
{
  for (guint i = 0; i < trials; i++)
    {
      double y;

      if (i % 1024 == 0 && g_cancellable_is_cancelled (cancellable))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, "cancelled");
          return FALSE;
        }
      draw_inputs (self);
      self->trials++;
      if (self->model (self->x, self->n, &y, self->data) && isfinite (y))
        g_array_append_val (self->values, y);
      else
        self->failed++;
    }
  if (self->failed > MAX (1, MOST_FAILED * self->trials))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "model: expected a value in at least 99 of 100 trials, found none in %u of %u",
                   self->failed, self->trials);
      return FALSE;
    }

  return TRUE;
}

static int
compare_doubles (gconstpointer a,
                 gconstpointer b)
{
  double left = *(const double *) a;
  double right = *(const double *) b;

  return left < right ? -1 : left > right;
}

/* The value below which the share q lies, midway between neighbours (sorted). */
static double
quantile (const double *sorted,
          guint n,
          double q)
{
  double place = q * n - 0.5;
  guint i = place <= 0 ? 0 : MIN ((guint) place, n - 1);
  double rest = CLAMP (place - i, 0, 1);

  return i + 1 < n ? sorted[i] + rest * (sorted[i + 1] - sorted[i]) : sorted[n - 1];
}

/* JCGM 101 7.7.2: of all intervals that hold p of the sorted trials, the shortest. */
static void
find_shortest (const double *sorted,
               guint n,
               double p,
               EfMonteCarlo *result)
{
  guint hold = MIN ((guint) ceil (p * n), n - 1);
  guint best = 0;

  for (guint i = 1; i + hold < n; i++)
    if (sorted[i + hold] - sorted[i] < sorted[best + hold] - sorted[best])
      best = i;
  result->short_low = sorted[best];
  result->short_high = sorted[best + hold];
}

/* Sums about the first value, in the order of the trials. */
static void
summarise (double *values,
           guint n,
           double p,
           EfMonteCarlo *result)
{
  double sum = 0, squares = 0;

  for (guint i = 0; i < n; i++)
    sum += values[i] - values[0];
  result->mean = values[0] + sum / n;
  for (guint i = 0; i < n; i++)
    squares += (values[i] - result->mean) * (values[i] - result->mean);
  result->u = n > 1 ? sqrt (squares / (n - 1)) : 0;

  qsort (values, n, sizeof (double), compare_doubles);
  result->median = quantile (values, n, 0.5);
  result->low = quantile (values, n, (1 - p) / 2);
  result->high = quantile (values, n, (1 + p) / 2);
  find_shortest (values, n, p, result);
}

static double
share_within (const double *values,
              guint n,
              double lower,
              double upper)
{
  guint within = 0;

  for (guint i = 0; i < n; i++)
    within += !(values[i] < lower) && !(values[i] > upper);

  return (double) within / n;
}

/* Half a unit in the last of the digits of u that are to hold (JCGM 101 7.9.2). */
static double
tolerance_of (double u,
              guint digits)
{
  return 0.5 * pow (10, floor (log10 (u)) - (double) digits + 1);
}

/* Twice the standard deviation of the mean of the blocks' results. */
static double
unsettled (const GArray *blocks,
           gsize offset)
{
  double mean = 0, squares = 0;
  guint n = blocks->len;

  for (guint i = 0; i < n; i++)
    mean += *(const double *) (blocks->data + i * sizeof (EfMonteCarlo) + offset) / n;
  for (guint i = 0; i < n; i++)
    squares += pow (*(const double *) (blocks->data + i * sizeof (EfMonteCarlo) + offset) - mean, 2);

  return 2 * sqrt (squares / (n - 1) / n);
}

static gboolean
settled (const GArray *blocks,
         guint digits)
{
  static const gsize watched[] = {
    G_STRUCT_OFFSET (EfMonteCarlo, mean), G_STRUCT_OFFSET (EfMonteCarlo, u), G_STRUCT_OFFSET (EfMonteCarlo, low), G_STRUCT_OFFSET (EfMonteCarlo, high)
  };
  double u = 0;

  if (blocks->len < 2)
    return FALSE;
  for (guint i = 0; i < blocks->len; i++)
    u += g_array_index (blocks, EfMonteCarlo, i).u / blocks->len;
  if (u == 0)
    return TRUE;
  for (guint i = 0; i < G_N_ELEMENTS (watched); i++)
    if (unsettled (blocks, watched[i]) > tolerance_of (u, digits))
      return FALSE;

  return TRUE;
}

static gboolean
run_adaptive (Simulation *self,
              const EfMonteCarloOptions *options,
              GCancellable *cancellable,
              EfMonteCarlo *result,
              GError **error)
{
  g_autoptr (GArray) blocks = g_array_new (FALSE, FALSE, sizeof (EfMonteCarlo));
  guint block = MAX (BLOCK, (guint) ceil (100 / (1 - options->probability)));

  while (self->trials + block <= MAX (options->most_trials, 2 * block))
    {
      guint before = self->values->len;
      g_autofree double *copy = NULL;
      EfMonteCarlo one = { 0 };

      if (!run_trials (self, block, cancellable, error))
        return FALSE;
      copy = g_memdup2 (&g_array_index (self->values, double, before), sizeof (double) * (self->values->len - before));
      summarise (copy, self->values->len - before, options->probability, &one);
      g_array_append_val (blocks, one);
      result->stable = settled (blocks, options->digits);
      if (result->stable)
        break;
    }

  return TRUE;
}

static gboolean
check_options (EfMonteCarloOptions *options,
               GError **error)
{
  if (options->probability == 0)
    options->probability = 0.95;
  if (options->digits == 0)
    options->digits = 2;
  if (options->most_trials == 0)
    options->most_trials = MOST_TRIALS;
  if (options->lower == 0 && options->upper == 0)
    options->lower = options->upper = NAN;
  if (!(options->probability > 0 && options->probability <= 0.9999))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "probability: expected a number above 0 and up to 0.9999, found %g", options->probability);
      return FALSE;
    }
  if (options->digits > 3 || (options->trials != 0 && options->trials < LEAST_TRIALS) || options->trials > 100000000)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "trials: expected %d to 100 million trials, or up to 3 digits, found %u and %u",
                   LEAST_TRIALS, options->trials, options->digits);
      return FALSE;
    }

  return TRUE;
}

gboolean
ef_monte_carlo (EfModel model,
                gpointer data,
                const EfUncertain *inputs,
                const double *correlation,
                guint n,
                const EfMonteCarloOptions *options,
                GCancellable *cancellable,
                EfMonteCarlo *result,
                GError **error)
{
  g_auto (Simulation) self = { .model = model, .data = data, .inputs = inputs, .n = n };
  g_autofree double *zeros = g_new0 (double, n + 1);
  EfMonteCarloOptions o = *options;
  double u;

  *result = (EfMonteCarlo){ 0 };
  if (!check_options (&o, error) || !check_inputs (inputs, correlation, n, error)
      || !ef_propagate_linear (zeros, zeros, correlation, n, &u, error))
    return FALSE;

  self.factor = correlation != NULL ? factorise (correlation, n) : NULL;
  self.drawn = g_new (double, n + 1);
  self.x = g_new (double, n + 1);
  self.random = gsl_rng_alloc (gsl_rng_mt19937);
  gsl_rng_set (self.random, o.seed);
  self.values = g_array_new (FALSE, FALSE, sizeof (double));
  if (o.trials > 0 ? !run_trials (&self, o.trials, cancellable, error) : !run_adaptive (&self, &o, cancellable, result, error))
    return FALSE;
  if (self.values->len == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "model: expected a value in at least 99 of 100 trials, found none at all");
      return FALSE;
    }

  result->trials = self.trials;
  result->failed = self.failed;
  summarise ((double *) self.values->data, self.values->len, o.probability, result);
  result->within = isnan (o.lower) && isnan (o.upper) ? NAN : share_within ((double *) self.values->data, self.values->len, o.lower, o.upper);

  return TRUE;
}
