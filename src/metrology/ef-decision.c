/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-decision.h"
#include "ef-propagate.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_randist.h>
#include <math.h>

#define EXPANDED_FACTOR 2
#define RISK_SPAN 9    /* standard deviations either way that the integrals run over */
#define RISK_PANELS 64 /* panels between break points */

const char *const ef_decision_rule_names[] = { "guard-band", "expanded", "shared-risk", NULL };

const char *
ef_decision_rule_name (EfDecisionKind kind)
{
  return (guint) kind < EF_N_DECISION_RULES ? ef_decision_rule_names[kind] : "unknown";
}

gboolean
ef_decision_rule_from_name (const char *name,
                            EfDecisionKind *kind_out)
{
  for (guint i = 0; i < EF_N_DECISION_RULES; i++)
    if (g_strcmp0 (name, ef_decision_rule_names[i]) == 0)
      {
        *kind_out = (EfDecisionKind) i;
        return TRUE;
      }

  return FALSE;
}

char *
ef_decision_rule_text (const EfDecisionRule *rule)
{
  switch (rule->kind)
    {
    case EF_DECISION_GUARD_BAND:
      return g_strdup_printf ("guard band at %g %%", rule->coverage * 100);
    case EF_DECISION_EXPANDED:
      return g_strdup ("guard band of the expanded uncertainty");
    case EF_DECISION_SHARED_RISK:
    case EF_N_DECISION_RULES:
    default:
      return g_strdup ("no guard band");
    }
}

gboolean
ef_decision_rule_check (const EfDecisionRule *rule,
                        GError **error)
{
  if ((guint) rule->kind < EF_N_DECISION_RULES && rule->coverage >= 0.5 && rule->coverage <= 0.9999)
    return TRUE;

  g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "coverage: expected a probability from 0.5 to 0.9999, found %g", rule->coverage);
  return FALSE;
}

double
ef_decision_factor (const EfDecisionRule *rule)
{
  switch (rule->kind)
    {
    case EF_DECISION_GUARD_BAND:
      return gsl_cdf_ugaussian_Pinv (rule->coverage);
    case EF_DECISION_EXPANDED:
      return EXPANDED_FACTOR;
    case EF_DECISION_SHARED_RISK:
    case EF_N_DECISION_RULES:
    default:
      return 0;
    }
}

const char *
ef_decision_zone_name (EfDecisionZone zone)
{
  static const char *const names[EF_N_ZONES] = { "accept", "undecided", "reject" };

  return (guint) zone < EF_N_ZONES ? names[zone] : "unknown";
}

static gboolean
check_question (double y,
                double u,
                double lower,
                double upper,
                GError **error)
{
  if (!isfinite (y) || !isfinite (u) || u < 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "value: expected a finite one with an uncertainty from 0 on, found %g ± %g", y, u);
      return FALSE;
    }
  if (isinf (lower) || isinf (upper) || lower > upper)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "limits: expected finite ones in order, found %g and %g", lower, upper);
      return FALSE;
    }

  return TRUE;
}

static int
nearer_side (double y,
             double lower,
             double upper)
{
  if (isnan (lower))
    return isnan (upper) ? 0 : 1;
  if (isnan (upper))
    return -1;

  return fabs (y - lower) < fabs (y - upper) ? -1 : 1;
}

gboolean
ef_decide (const EfDecisionRule *rule,
           double y,
           double u,
           double lower,
           double upper,
           EfDecision *decision,
           GError **error)
{
  double factor = ef_decision_factor (rule);
  double g = factor * u;
  int side = nearer_side (y, lower, upper);
  double limit = side == 0 ? NAN : side < 0 ? lower : upper;

  if (!ef_decision_rule_check (rule, error) || !check_question (y, u, lower, upper, error))
    return FALSE;

  *decision = (EfDecision){
    .zone = EF_ZONE_UNDECIDED,
    .side = side,
    .limit = limit,
    .guard = g,
    .probability = ef_conformance_probability (y, u, lower, upper),
    .accept_lower = isnan (lower) ? -INFINITY : lower + g,
    .accept_upper = isnan (upper) ? INFINITY : upper - g,
    .reject_lower = isnan (lower) ? -INFINITY : lower - g,
    .reject_upper = isnan (upper) ? INFINITY : upper + g,
    .needed_u = side == 0 || factor == 0 ? INFINITY : fabs (y - limit) / factor,
  };
  if (y >= decision->accept_lower && y <= decision->accept_upper)
    decision->zone = EF_ZONE_ACCEPT;
  else if (y < decision->reject_lower || y > decision->reject_upper)
    decision->zone = EF_ZONE_REJECT;

  return TRUE;
}

double
ef_conformance_probability (double y,
                            double u,
                            double lower,
                            double upper)
{
  double below, above;

  if (u == 0)
    return y < lower || y > upper ? 0 : 1;

  below = isnan (lower) ? 0 : gsl_cdf_ugaussian_P ((lower - y) / u);
  above = isnan (upper) ? 0 : gsl_cdf_ugaussian_Q ((upper - y) / u);

  return MAX (1 - below - above, 0);
}

guint
ef_decision_repeats (const EfDecisionRule *rule,
                     double distance,
                     double fixed,
                     double scatter,
                     guint most)
{
  double factor = ef_decision_factor (rule);

  for (guint n = 2; n <= most; n++)
    if (factor * hypot (fixed, ef_repeats_factor (n - 1) * scatter / sqrt (n)) <= distance)
      return n;

  return 0;
}

typedef struct
{
  double mean, spread, u;
  const double *acceptance;
} Production;

/* Density of the true value times the probability that a measurement of it falls into the acceptance zone. */
static double
accepted_density (const Production *p,
                  double x)
{
  return gsl_ran_gaussian_pdf (x - p->mean, p->spread) * ef_conformance_probability (x, p->u, p->acceptance[0], p->acceptance[1]);
}

/* Gauss-Legendre over panels: the integrand bends over u about the acceptance limits. */
static double
integrate (const Production *p,
           double from,
           double to)
{
  gsl_integration_glfixed_table *table = gsl_integration_glfixed_table_alloc (16);
  double sum = 0;

  for (guint panel = 0; panel < RISK_PANELS && to > from; panel++)
    for (guint i = 0; i < 16; i++)
      {
        double width = (to - from) / RISK_PANELS;
        double x, weight;

        gsl_integration_glfixed_point (from + panel * width, from + (panel + 1) * width, i, &x, &weight, table);
        sum += weight * accepted_density (p, x);
      }
  gsl_integration_glfixed_table_free (table);

  return sum;
}

gboolean
ef_global_risk (double mean,
                double spread,
                double u,
                const double tolerance[2],
                const double acceptance[2],
                EfGlobalRisk *risk,
                GError **error)
{
  Production p = { mean, spread, u, acceptance };
  double low = mean - RISK_SPAN * spread;
  double high = mean + RISK_SPAN * spread;
  double inner[2], accepted;

  if (!check_question (mean, u, tolerance[0], tolerance[1], error) || !check_question (mean, u, acceptance[0], acceptance[1], error))
    return FALSE;
  if (!(spread > 0) || !(u > 0) || !isfinite (spread))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "spread: expected a spread and an uncertainty above 0, found %g and %g", spread, u);
      return FALSE;
    }

  inner[0] = isnan (tolerance[0]) ? low : CLAMP (tolerance[0], low, high);
  inner[1] = isnan (tolerance[1]) ? high : CLAMP (tolerance[1], low, high);
  accepted = integrate (&p, inner[0], inner[1]);
  risk->nonconforming = 1 - ef_conformance_probability (mean, spread, tolerance[0], tolerance[1]);
  risk->producer = MAX (1 - risk->nonconforming - accepted, 0);
  risk->consumer = integrate (&p, low, inner[0]) + integrate (&p, inner[1], high);

  return TRUE;
}
