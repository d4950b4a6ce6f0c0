/* Outcomes of assessments.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-outcome.h"
#include "../rework/ef-lap-stock.h"

#include <math.h>
#include <string.h>

static const char *const gears[] = { "drive", "driven" };

static void
take_word (EfOutcomeFinding *finding,
           EfVerdictWord word)
{
  EfVerdictWord before;

  finding->n++;
  if (ef_verdict_from_name (finding->word, &before) && before >= word)
    return;
  g_free (finding->word);
  finding->word = g_strdup (ef_verdict_name (word));
}

static void
take_mark (EfOutcome *outcome,
           const EfInspection *inspection,
           const EfVerdict *part,
           const EfVerdict *node)
{
  const char *colon = strchr (node->id, ':');
  const EfMark *mark = colon != NULL ? ef_inspection_find (inspection, EF_ITEM_MARK, colon + 1) : NULL;

  if (mark != NULL)
    take_word (ef_outcome_finding (outcome, part->id, part->title, TRUE, ef_mark_kind_name (mark->kind)), node->word);
}

/* A part's reasons are also reasons of its pair, section and pump: each is taken where it comes from. */
static gboolean
comes_from_below (const EfVerdict *node,
                  const char *rule)
{
  for (guint i = 0; i < node->children->len; i++)
    {
      const EfVerdict *child = node->children->pdata[i];

      for (guint k = 0; k < child->reasons->len; k++)
        if (g_strcmp0 (((const EfReason *) child->reasons->pdata[k])->rule, rule) == 0)
          return TRUE;
    }

  return FALSE;
}

/* Reasons that stand at the node itself; those of marks are told by the kind of mark. */
static void
take_reasons (EfOutcome *outcome,
              const EfVerdict *node)
{
  for (guint i = 0; i < node->reasons->len; i++)
    {
      const EfReason *reason = node->reasons->pdata[i];

      if (reason->word != EF_VERDICT_USE && reason->rule != NULL && !comes_from_below (node, reason->rule))
        take_word (ef_outcome_finding (outcome, node->id, node->title, FALSE, reason->rule), reason->word);
    }
}

static void
take_node (EfOutcome *outcome,
           const EfInspection *inspection,
           const EfVerdict *parent,
           const EfVerdict *node)
{
  if (node->level == EF_LEVEL_MARK)
    {
      if (parent != NULL)
        take_mark (outcome, inspection, parent, node);
      return;
    }
  take_reasons (outcome, node);
  for (guint i = 0; i < node->children->len; i++)
    take_node (outcome, inspection, node, node->children->pdata[i]);
}

static void
take_clearances (EfOutcome *outcome,
                 const EfFindings *findings)
{
  const EfPumpSheet *sheet = findings->inspection->sheet;

  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = sheet->sections->pdata[i];
      const EfLimit *limit = ef_pump_sheet_limit (sheet, "end-clearance", section->id);
      double as_new = limit != NULL ? 0.5 * (limit->as_new_min + limit->as_new_max) : NAN;

      for (int gear = 0; gear < 2; gear++)
        {
          double found = ef_lap_clearance_found (findings, section, gear);

          if (isfinite (found))
            ef_outcome_clearance (outcome, section->id, gears[gear], section->name, as_new, found);
        }
    }
}

static void
take_day (EfOutcome *outcome,
          const char *time)
{
  g_autofree char *day = time != NULL && strlen (time) >= 10 ? g_strndup (time, 10) : NULL;

  outcome->reworked = TRUE;
  if (day == NULL || g_strcmp0 (day, outcome->reworked_day) <= 0)
    return;
  g_free (outcome->reworked_day);
  outcome->reworked_day = g_steal_pointer (&day);
}

static void
take_rework (EfOutcome *outcome,
             const EfInspection *inspection)
{
  GPtrArray *works = inspection->items[EF_ITEM_WORK];
  GPtrArray *readings = inspection->items[EF_ITEM_READING];

  for (guint i = 0; i < works->len; i++)
    take_day (outcome, ((const EfWork *) works->pdata[i])->time);
  for (guint i = 0; i < readings->len; i++)
    if (((const EfReading *) readings->pdata[i])->after)
      take_day (outcome, ((const EfReading *) readings->pdata[i])->time);
}

EfOutcome *
ef_outcome_of (const EfAssessment *assessment)
{
  EfOutcome *outcome;

  g_return_val_if_fail (assessment != NULL && assessment->verdict != NULL, NULL);
  outcome = ef_outcome_new (assessment->rule_set);
  outcome->hours = ef_inspection_header (assessment->inspection)->hours;
  take_node (outcome, assessment->inspection, NULL, assessment->verdict);
  take_clearances (outcome, &assessment->findings);
  take_rework (outcome, assessment->inspection);

  return outcome;
}

gboolean
ef_outcome_keep (EfStore *store,
                 gint64 job,
                 const EfAssessment *assessment,
                 GError **error)
{
  g_autoptr (EfOutcome) outcome = NULL;
  gboolean stale;
  gint64 row;

  g_return_val_if_fail (store != NULL && assessment != NULL, FALSE);
  if (!ef_store_outcome_stale (store, job, assessment->rule_set, &stale, error))
    return FALSE;
  if (!stale)
    return TRUE;
  row = ef_store_last_row (store, job, error);
  outcome = ef_outcome_of (assessment);

  return row > 0 && ef_store_set_outcome (store, job, row, outcome, error);
}

/* A verdict that is there stays: it's renewed when the job is opened. */
static gboolean
give_verdict (EfStore *store,
              gint64 job,
              const EfAssessment *assessment,
              GError **error)
{
  g_autoptr (GPtrArray) rows = ef_store_job_rows (store, &job, 1, error);

  if (rows == NULL)
    return FALSE;
  if (rows->len == 0 || *((EfJobRow *) rows->pdata[0])->verdict != '\0')
    return TRUE;

  return ef_store_set_verdict (store, job, ef_verdict_name (assessment->verdict->word), error);
}

/* FALSE: it can't be assessed, and why. */
static gboolean
fill_one (EfStore *store,
          gint64 job,
          const EfRuleSet *rules,
          EfAssessCache *cache,
          GCancellable *cancellable,
          GError **error)
{
  gint64 row = ef_store_last_row (store, job, error);
  g_autoptr (EfInspection) inspection = row > 0 ? ef_store_load (store, job, error) : NULL;
  g_autoptr (EfAssessment) assessment = inspection != NULL ? ef_assess_verdict (inspection, rules, cache, cancellable, error) : NULL;
  g_autoptr (EfOutcome) outcome = assessment != NULL ? ef_outcome_of (assessment) : NULL;

  return outcome != NULL
         && ef_store_set_outcome (store, job, row, outcome, error)
         && give_verdict (store, job, assessment, error);
}

int
ef_outcomes_fill (const char *path,
                  guint limit,
                  EfOutcomeProgress progress,
                  gpointer user_data,
                  guint *failed_out,
                  GCancellable *cancellable,
                  GError **error)
{
  g_autoptr (EfStore) store = NULL;
  g_autoptr (EfRuleSet) rules = NULL;
  g_autoptr (EfAssessCache) cache = NULL;
  g_autoptr (GArray) jobs = NULL;
  guint failed = 0;

  g_return_val_if_fail (path != NULL, -1);
  store = ef_store_open (path, error);
  rules = store != NULL ? ef_rule_set_default (error) : NULL;
  jobs = rules != NULL ? ef_store_stale_outcomes (store, limit, error) : NULL;
  if (jobs == NULL)
    return -1;
  cache = ef_assess_cache_new ();
  for (guint i = 0; i < jobs->len; i++)
    {
      g_autoptr (GError) local = NULL;

      if (g_cancellable_is_cancelled (cancellable))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, "%s: working out was stopped after %u of %u jobs", path, i, jobs->len);
          return -1;
        }
      if (!fill_one (store, g_array_index (jobs, gint64, i), rules, cache, cancellable, &local))
        {
          if (g_error_matches (local, EF_ERROR, EF_ERROR_BUSY) || g_error_matches (local, EF_ERROR, EF_ERROR_FULL) || g_error_matches (local, EF_ERROR, EF_ERROR_IO))
            {
              g_propagate_error (error, g_steal_pointer (&local));
              return -1;
            }
          if (!g_error_matches (local, EF_ERROR, EF_ERROR_CANCELLED))
            failed++;
        }
      if (progress != NULL)
        progress (i + 1, jobs->len, user_data);
    }
  if (failed_out != NULL)
    *failed_out = failed;

  return (int) (jobs->len - failed);
}
