/* Learning what a pass takes off: recursive least squares with a look at what contradicts the rest.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The unknowns are the removals by one standard pass of each grit. A measurement after passes of several grits is one equation in all of
 * them, so nobody needs to measure between grits for the rates to be learned, only to lap in different mixtures.
 */
#include "ef-lap-rate.h"

#include <math.h>
#include <string.h>

#define MOST_PASSES 10000
#define MOST_REMOVAL 5e-3

double
ef_lap_preston_removal (double preston,
                        double pressure,
                        double speed,
                        double time)
{
  return preston * pressure * speed * time;
}

double
ef_lap_rates_u (const EfLapRates *rates,
                guint grit)
{
  return sqrt (MAX (rates->covariance[grit * rates->n + grit], 0.0));
}

static gboolean
find_material (const EfLapTable *table,
               const char *name,
               const EfLapMaterial **material_out,
               GError **error)
{
  g_autoptr (GString) names = NULL;

  *material_out = ef_lap_table_material (table, name);
  if (*material_out != NULL)
    return TRUE;

  names = g_string_new (NULL);
  for (guint m = 0; m < table->n_materials; m++)
    g_string_append_printf (names, "%s%s", m > 0 ? ", " : "", table->material[m].name);
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "material: expected one of %s, found \"%s\"", names->str, name != NULL ? name : "");

  return FALSE;
}

gboolean
ef_lap_rates_prior (const EfLapTable *table,
                    const char *material,
                    EfLapRates *out,
                    GError **error)
{
  const EfLapMaterial *found;

  memset (out, 0, sizeof *out);
  if (!find_material (table, material, &found, error))
    return FALSE;

  out->n = table->n_grits;
  for (guint g = 0; g < out->n; g++)
    {
      double u = table->uncertainty * found->removal[g];

      out->removal[g] = found->removal[g];
      out->covariance[g * out->n + g] = u * u;
    }

  return TRUE;
}

/* P h, and h P h'. */
static double
spread (const EfLapRates *rates,
        const double *h,
        double *ph)
{
  double sum = 0.0;

  for (guint i = 0; i < rates->n; i++)
    {
      ph[i] = 0.0;
      for (guint k = 0; k < rates->n; k++)
        ph[i] += rates->covariance[i * rates->n + k] * h[k];
      sum += h[i] * ph[i];
    }

  return sum;
}

double
ef_lap_rates_predict (const EfLapRates *rates,
                      const double *passes,
                      double *u_out)
{
  double ph[EF_LAP_MOST_GRITS], sum = 0.0;

  for (guint g = 0; g < rates->n; g++)
    sum += passes[g] * rates->removal[g];
  if (u_out != NULL)
    *u_out = sqrt (MAX (spread (rates, passes, ph), 0.0));

  return sum;
}

/* (1 - k h) P (1 - k h)' + k r k', which stays positive whatever the rounding. */
static void
condense (EfLapRates *rates,
          const double *h,
          const double *gain,
          double variance)
{
  const guint n = rates->n;
  double a[EF_LAP_MOST_GRITS][EF_LAP_MOST_GRITS], ap[EF_LAP_MOST_GRITS][EF_LAP_MOST_GRITS];

  for (guint i = 0; i < n; i++)
    for (guint k = 0; k < n; k++)
      a[i][k] = (i == k ? 1.0 : 0.0) - gain[i] * h[k];
  for (guint i = 0; i < n; i++)
    for (guint k = 0; k < n; k++)
      {
        ap[i][k] = 0.0;
        for (guint m = 0; m < n; m++)
          ap[i][k] += a[i][m] * rates->covariance[m * n + k];
      }
  for (guint i = 0; i < n; i++)
    for (guint k = 0; k <= i; k++)
      {
        double sum = gain[i] * variance * gain[k];

        for (guint m = 0; m < n; m++)
          sum += ap[i][m] * a[k][m];
        rates->covariance[i * n + k] = rates->covariance[k * n + i] = sum;
      }
}

double
ef_lap_rates_update (EfLapRates *rates,
                     const double *h,
                     double y,
                     double variance,
                     double forgetting)
{
  double ph[EF_LAP_MOST_GRITS], gain[EF_LAP_MOST_GRITS];
  double total, innovation;

  if (forgetting < 1.0)
    for (guint i = 0; i < rates->n * rates->n; i++)
      rates->covariance[i] /= forgetting;
  total = spread (rates, h, ph) + variance;
  innovation = y - ef_lap_rates_predict (rates, h, NULL);
  for (guint g = 0; g < rates->n; g++)
    {
      gain[g] = ph[g] / total;
      rates->removal[g] += gain[g] * innovation;
      if (h[g] > 0.0)
        rates->observations[g]++;
    }
  condense (rates, h, gain, variance);

  return innovation / sqrt (total);
}

gboolean
ef_lap_observation_check (const EfLapObservation *observation,
                          guint n_grits,
                          GError **error)
{
  double sum = 0.0;

  for (guint g = 0; g < n_grits; g++)
    {
      if (!(observation->passes[g] >= 0.0 && observation->passes[g] <= MOST_PASSES))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "passes: expected 0 to %d, found %g", MOST_PASSES, observation->passes[g]);
          return FALSE;
        }
      sum += observation->passes[g];
    }
  if (sum <= 0.0)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_RANGE, "passes: expected some, found none");
      return FALSE;
    }
  if (!isnan (observation->pressure) && !(observation->pressure > 0.0 && observation->pressure <= 1e7))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "pressure: expected above 0 and at most 10000 kPa, found %g", 1e-3 * observation->pressure);
      return FALSE;
    }
  if (!isnan (observation->stroke) && !(observation->stroke > 0.0 && observation->stroke <= 1e3))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "stroke: expected above 0 and at most 1000 m, found %g", observation->stroke);
      return FALSE;
    }
  if (!(fabs (observation->removal) <= MOST_REMOVAL))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "removal: expected at most 5 mm, found %g mm", 1e3 * observation->removal);
      return FALSE;
    }
  if (!(observation->u > 0.0 && observation->u <= MOST_REMOVAL))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "uncertainty: expected above 0 and at most 5 mm, found %g mm", 1e3 * observation->u);
      return FALSE;
    }

  return TRUE;
}

/* One observation as an equation. */
typedef struct
{
  double h[EF_LAP_MOST_GRITS];
  double y, variance;
} Equation;

static Equation
equation_of (const EfLapTable *table,
             const EfLapMaterial *material,
             const EfLapObservation *observation)
{
  Equation equation = { .y = observation->removal, .variance = observation->u * observation->u };
  double work = (isnan (observation->pressure) ? 1.0 : observation->pressure / table->pressure)
                * (isnan (observation->stroke) ? 1.0 : observation->stroke / table->stroke);
  double expected = 0.0;

  for (guint g = 0; g < table->n_grits; g++)
    {
      equation.h[g] = observation->passes[g] * work;
      expected += equation.h[g] * material->removal[g];
    }
  equation.variance += table->scatter * table->scatter * expected * expected;

  return equation;
}

/* From the prior through all equations that count, in order; @but: one that doesn't, or n. */
static void
run_through (EfLapRates *rates,
             const EfLapRates *prior,
             const Equation *equations,
             const gboolean *left_out,
             guint n,
             guint but,
             double forgetting)
{
  *rates = *prior;
  for (guint i = 0; i < n; i++)
    {
      if (i != but && !left_out[i])
        {
          ef_lap_rates_update (rates, equations[i].h, equations[i].y, equations[i].variance, forgetting);
          continue;
        }
      /* Time passes all the same. */
      for (guint k = 0; k < rates->n * rates->n; k++)
        rates->covariance[k] /= forgetting;
    }
}

/* How far the observation lies from what the others say. What was long ago says less about now: its variance grows as its weight shrinks. */
static double
score_of (const EfLapRates *others,
          const Equation *equation,
          double age,
          double forgetting)
{
  double ph[EF_LAP_MOST_GRITS];
  double variance = equation->variance / pow (forgetting, age);

  return (equation->y - ef_lap_rates_predict (others, equation->h, NULL)) / sqrt (spread (others, equation->h, ph) + variance);
}

static void
score_all (EfLapLearned *out,
           const EfLapRates *prior,
           const Equation *equations,
           double forgetting)
{
  EfLapRates others;

  for (guint i = 0; i < out->n; i++)
    {
      run_through (&others, prior, equations, out->doubtful, out->n, i, forgetting);
      out->score[i] = score_of (&others, &equations[i], out->n - 1.0 - i, forgetting);
    }
}

/* Leaves out the worst until none contradicts the rest. Never more than half of them: then it's the rest that is wrong. */
static void
leave_out (EfLapLearned *out,
           const EfLapRates *prior,
           const Equation *equations,
           double forgetting)
{
  guint left = 0;

  score_all (out, prior, equations, forgetting);
  while (2 * (left + 1) <= out->n)
    {
      guint worst = out->n;

      for (guint i = 0; i < out->n; i++)
        if (!out->doubtful[i] && (worst == out->n || fabs (out->score[i]) > fabs (out->score[worst])))
          worst = i;
      if (worst == out->n || !(fabs (out->score[worst]) > EF_LAP_DOUBTFUL))
        break;
      out->doubtful[worst] = TRUE;
      left++;
      score_all (out, prior, equations, forgetting);
    }
}

void
ef_lap_learned_clear (EfLapLearned *self)
{
  g_clear_pointer (&self->doubtful, g_free);
  g_clear_pointer (&self->score, g_free);
}

gboolean
ef_lap_learn (const EfLapTable *table,
              const char *material,
              const EfLapObservation *observations,
              guint n,
              double forgetting,
              EfLapLearned *out,
              GError **error)
{
  g_autofree Equation *equations = g_new (Equation, MAX (n, 1));
  const EfLapMaterial *found;
  EfLapRates prior;

  memset (out, 0, sizeof *out);
  if (!(forgetting > 0.0 && forgetting <= 1.0))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "forgetting: expected above 0 and at most 1, found %g", forgetting);
      return FALSE;
    }
  if (!find_material (table, material, &found, error) || !ef_lap_rates_prior (table, material, &prior, error))
    return FALSE;
  for (guint i = 0; i < n; i++)
    {
      if (!ef_lap_observation_check (&observations[i], table->n_grits, error))
        {
          g_prefix_error (error, "observation %u: ", i + 1);
          return FALSE;
        }
      equations[i] = equation_of (table, found, &observations[i]);
    }

  out->n = n;
  out->doubtful = g_new0 (gboolean, MAX (n, 1));
  out->score = g_new0 (double, MAX (n, 1));
  leave_out (out, &prior, equations, forgetting);
  run_through (&out->rates, &prior, equations, out->doubtful, n, n, forgetting);

  return TRUE;
}

void
ef_lap_plan_removal (const EfLapTable *table,
                     const char *material,
                     const EfLapRates *learned,
                     double removal_out[EF_LAP_MOST_GRITS],
                     double u_out[EF_LAP_MOST_GRITS])
{
  EfLapRates prior;

  if (!ef_lap_rates_prior (table, material, &prior, NULL))
    ef_lap_rates_prior (table, table->material[0].name, &prior, NULL);
  for (guint g = 0; g < table->n_grits; g++)
    {
      gboolean sure = learned != NULL && learned->n == table->n_grits && learned->removal[g] > 2.0 * ef_lap_rates_u (learned, g)
                      && learned->observations[g] > 0;

      if (removal_out != NULL)
        removal_out[g] = sure ? learned->removal[g] : prior.removal[g];
      if (u_out != NULL)
        u_out[g] = ef_lap_rates_u (sure ? learned : &prior, g);
    }
}
