/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-specimen-trial.h"
#include "ef-flow-input.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <string.h>

gboolean
ef_specimen_load (EfPumpSheet *sheet,
                  double load_psi[2],
                  GError **error)
{
  g_autoptr (EfInspection) empty = ef_inspection_new (sheet, "new");
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (error);
  g_autoptr (EfAssessment) assessment = rules != NULL ? ef_assess_in_detail (empty, rules, NULL, EF_DETAIL_COARSE, NULL, error) : NULL;
  const EfStateFlow *state;

  if (assessment == NULL)
    return FALSE;
  state = &assessment->flow->state[EF_STATE_NEW];
  if (!state->known)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: the load on the gears can't be computed: %s", sheet->file, state->reason != NULL ? state->reason : "no pressure section");
      return FALSE;
    }
  memcpy (load_psi, state->rated.loss.load_psi, 2 * sizeof *load_psi);

  return TRUE;
}

GPtrArray *
ef_assessment_causes (const EfAssessment *assessment,
                      const EfRuleSet *rules)
{
  return ef_cause_findings (&assessment->findings, rules, ef_flow_section (assessment->inspection->sheet), assessment->across);
}

static void
scatter_add (EfScatter *scatter,
             double value,
             double truth,
             double u)
{
  double z = (value - truth) / u;

  if (!isfinite (z))
    return;
  scatter->n++;
  scatter->chi2 += z * z;
  scatter->within += fabs (z) <= 2.0;
}

double
ef_scatter_p (const EfScatter *scatter)
{
  if (scatter->n == 0)
    return NAN;

  return fmin (1.0, 2.0 * fmin (gsl_cdf_chisq_P (scatter->chi2, scatter->n), gsl_cdf_chisq_Q (scatter->chi2, scatter->n)));
}

/* Only the first of each gauge: the others share its deviation. */
static void
scatter_readings (EfSpecimenTrial *trial,
                  const EfInspection *truth,
                  const EfInspection *measured)
{
  gboolean seen[EF_N_GAUGE_KINDS] = { FALSE };

  for (guint i = 0; i < measured->items[EF_ITEM_READING]->len; i++)
    {
      const EfReading *reading = measured->items[EF_ITEM_READING]->pdata[i];
      const EfReading *exact = ef_inspection_find (truth, EF_ITEM_READING, reading->item.id);
      const EfGauge *gauge = ef_inspection_find (measured, EF_ITEM_GAUGE, reading->gauge_id);

      if (exact == NULL || gauge == NULL || seen[gauge->kind])
        continue;
      seen[gauge->kind] = TRUE;
      scatter_add (&trial->readings[gauge->kind], reading->value, exact->value, ef_specimen_reading_u (gauge));
    }
}

static void
scatter_derived (EfSpecimenTrial *trial,
                 const EfInspection *truth,
                 const EfAssessment *assessment)
{
  GPtrArray *readings = truth->items[EF_ITEM_READING];
  g_autoptr (GPtrArray) exact = ef_derive (truth->sheet, (EfReading *const *) readings->pdata, readings->len, NULL, 0);
  const char *const quantities[] = { "end-clearance", "bore-diameter" };

  for (guint q = 0; q < G_N_ELEMENTS (quantities); q++)
    for (guint i = 0; i < exact->len; i++)
      {
        const EfDerived *one = exact->pdata[i];
        const EfDerived *found = g_str_equal (one->quantity, quantities[q]) ? ef_derived_find (assessment->findings.derived, one->quantity, one->target, one->place) : NULL;

        if (found == NULL)
          continue;
        scatter_add (&trial->derived, found->value, one->value, found->uncertainty);
        break;
      }
}

typedef struct
{
  EfPumpSheet *sheet;
  const EfRuleSet *rules;
  EfAssessCache *cache;
  double load_psi[2];
  GCancellable *cancellable;
} Run;

static gboolean
run_one (const Run *run,
         EfSpecimenTrial *trial,
         guint32 seed,
         int difficulty,
         GError **error)
{
  EfSpecimenOptions options = { seed, EF_CAUSE_NONE, difficulty, { run->load_psi[0], run->load_psi[1] } };
  g_autoptr (EfSpecimen) specimen = ef_specimen_new (run->sheet, &options, error);
  g_autoptr (EfInspection) measured = specimen != NULL ? ef_specimen_measure (specimen, NULL, seed ^ EF_SPECIMEN_DEVIATIONS, error) : NULL;
  g_autoptr (EfAssessment) assessment = measured != NULL ? ef_assess_in_detail (measured, run->rules, run->cache, EF_DETAIL_COARSE, run->cancellable, error) : NULL;
  g_autoptr (GPtrArray) causes = NULL;
  EfCause found;

  if (assessment == NULL)
    return FALSE;
  causes = ef_assessment_causes (assessment, run->rules);
  found = ef_cause_first (causes);
  trial->n++;
  trial->table[specimen->cause][found]++;
  trial->of_difficulty[difficulty - 1]++;
  if (found == specimen->cause)
    {
      trial->right++;
      trial->right_of_difficulty[difficulty - 1]++;
    }
  else if (trial->n_wrong < EF_TRIAL_WRONG)
    trial->wrong[trial->n_wrong++] = seed;
  scatter_readings (trial, specimen->truth, measured);
  scatter_derived (trial, specimen->truth, assessment);

  return TRUE;
}

gboolean
ef_specimen_trial (EfPumpSheet *sheet,
                   const EfRuleSet *rules,
                   guint32 first_seed,
                   guint n,
                   int difficulty,
                   GCancellable *cancellable,
                   EfSpecimenTrial *trial,
                   GError **error)
{
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  Run run = { sheet, rules, cache, { 0, 0 }, cancellable };

  memset (trial, 0, sizeof *trial);
  if (!ef_specimen_load (sheet, run.load_psi, error))
    return FALSE;
  for (guint i = 0; i < n; i++)
    {
      if (g_cancellable_is_cancelled (cancellable))
        {
          g_set_error_literal (error, EF_ERROR, EF_ERROR_CANCELLED, "cancelled");
          return FALSE;
        }
      if (!run_one (&run, trial, first_seed + i, difficulty > 0 ? difficulty : 1 + (int) (i % EF_SPECIMEN_HARDEST), error))
        return FALSE;
    }

  return TRUE;
}
