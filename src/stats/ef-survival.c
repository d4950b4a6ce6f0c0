/* Product-limit estimate.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-survival.h"

#include <math.h>
#include <stdlib.h>
#include <gsl/gsl_cdf.h>

static int
compare_spells (gconstpointer a,
                gconstpointer b)
{
  const EfSpell *one = a;
  const EfSpell *two = b;

  if (one->time != two->time)
    return one->time < two->time ? -1 : 1;

  return two->event - one->event;
}

static void
set_interval (EfSurvivalStep *step,
              double variance_sum,
              double z)
{
  double log_holds = log (step->holds);
  double half;

  step->error = step->holds * sqrt (variance_sum);
  if (step->holds <= 0)
    {
      step->error = step->low = step->high = NAN;
      return;
    }
  half = z * sqrt (variance_sum) / fabs (log_holds);
  step->low = pow (step->holds, exp (half));
  step->high = pow (step->holds, exp (-half));
}

EfSurvival *
ef_survival_new (const EfSpell *spells,
                 guint n,
                 double confidence)
{
  EfSurvival *self = g_new0 (EfSurvival, 1);
  g_autofree EfSpell *sorted = g_memdup2 (spells, n * sizeof (EfSpell));
  double z = gsl_cdf_ugaussian_Pinv (0.5 + 0.5 * confidence);
  double holds = 1, sum = 0;

  self->n = n;
  self->median = NAN;
  self->steps = g_array_new (FALSE, FALSE, sizeof (EfSurvivalStep));
  if (n > 0)
    qsort (sorted, n, sizeof (EfSpell), compare_spells);
  for (guint i = 0; i < n;)
    {
      EfSurvivalStep step = { .time = sorted[i].time, .at_risk = n - i };

      for (; i < n && sorted[i].time == step.time; i++)
        step.events += sorted[i].event;
      self->longest = step.time;
      if (step.events == 0)
        continue;
      self->events += step.events;
      holds *= 1 - (double) step.events / step.at_risk;
      sum += (double) step.events / ((double) step.at_risk * (step.at_risk - step.events));
      step.holds = holds;
      set_interval (&step, sum, z);
      if (isnan (self->median) && holds <= 0.5 + 1e-12)
        self->median = step.time;
      g_array_append_val (self->steps, step);
    }

  return self;
}

void
ef_survival_free (EfSurvival *self)
{
  if (self == NULL)
    return;

  g_array_unref (self->steps);
  g_free (self);
}

gboolean
ef_survival_at (const EfSurvival *self,
                double time,
                EfSurvivalStep *out)
{
  *out = (EfSurvivalStep) { .time = 0, .at_risk = self->n, .holds = 1, .error = 0, .low = 1, .high = 1 };
  for (guint i = 0; i < self->steps->len && g_array_index (self->steps, EfSurvivalStep, i).time <= time; i++)
    *out = g_array_index (self->steps, EfSurvivalStep, i);

  return time <= self->longest;
}
