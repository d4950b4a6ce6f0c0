/* The whole computation on one snapshot.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Order: charts, depth maps and wear of each face; values from readings; verdict; worn land, plan and steps; delivery and pressure; the other figures.
 */
#include <math.h>

#include "ef-assess-cache.h"
#include "ef-figures.h"
#include "ef-right-pump.h"

static EfAssessment *
assessment_new (const EfInspection *snapshot,
                const EfRuleSet *rules)
{
  EfAssessment *self = g_new0 (EfAssessment, 1);

  self->ref_count = 1;
  self->inspection = ef_inspection_copy (snapshot);
  self->rule_set = g_strdup (ef_rule_set_version (rules));
  self->decision = ef_judge_decision (rules, snapshot);
  self->figures = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_figure_free);
  ef_assess_findings_init (&self->findings, self->inspection);

  return self;
}

/* Said, not refused: the height may be right and only its place noted wrong. */
static void
tell_off_metal (EfAssessment *self,
                EfDerived *derived)
{
  const EfFaceChart *chart = g_hash_table_lookup (self->findings.charts, derived->target);
  g_autofree char *before = NULL;
  guint n = 0;

  if (chart == NULL || !g_str_equal (derived->quantity, "flatness"))
    return;
  for (guint i = 0; i < derived->reading_ids->len; i++)
    n += !ef_reading_on_metal (ef_inspection_find (self->inspection, EF_ITEM_READING, derived->reading_ids->pdata[i]), chart);
  if (n == 0)
    return;
  before = derived->how;
  derived->how = g_strdup_printf ("%s; %u of the heights noted in a hole or off the face", before, n);
}

static void
derive (EfAssessment *self)
{
  GPtrArray *readings = self->inspection->items[EF_ITEM_READING];
  GPtrArray *gauges = self->inspection->items[EF_ITEM_GAUGE];

  self->findings.derived = ef_derive (self->inspection->sheet,
                                      (EfReading *const *) readings->pdata, readings->len,
                                      (EfGauge *const *) gauges->pdata, gauges->len);
  for (guint i = 0; i < self->findings.derived->len; i++)
    tell_off_metal (self, self->findings.derived->pdata[i]);
}

/* The land that wear takes, and what must come off until enough of it seals again. */
static gboolean
find_land (EfAssessment *self,
           EfAssessCache *cache,
           GCancellable *cancellable,
           GError **error)
{
  self->land = ef_assess_land (&self->findings, cache != NULL ? ef_assess_cache_flow (cache) : NULL, cache != NULL ? ef_assess_cache_land (cache) : NULL,
                               cancellable, error);
  if (self->land == NULL)
    return FALSE;
  self->findings.sealing_stock = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  for (guint i = 0; i < self->land->len; i++)
    {
      const EfFaceLand *land = self->land->pdata[i];
      const EfDerived *flatness = ef_derived_find (self->findings.derived, "flatness", land->face_id, NULL);
      double needed = ef_face_land_needed (land, flatness != NULL ? fmax (flatness->value, 0.0) : 0.0);

      g_hash_table_insert (self->findings.sealing_stock, g_strdup (land->face_id), g_memdup2 (&needed, sizeof needed));
    }

  return TRUE;
}

/* What lapping can't save is judged again, knowing that: the plan stands, with its reasons. */
static gboolean
judge_again (EfAssessment *self,
             const EfRuleSet *rules,
             GError **error)
{
  if (self->plan->bars->len == 0)
    return TRUE;
  self->findings.barred = g_ptr_array_ref (self->plan->bars);
  g_clear_pointer (&self->verdict, ef_verdict_free);
  self->verdict = ef_judge (rules, &self->findings, error);

  return self->verdict != NULL;
}

static gboolean
plan_work (EfAssessment *self,
           const EfRuleSet *rules,
           EfAssessCache *cache,
           GError **error)
{
  g_autoptr (GPtrArray) todo = ef_todo_list (&self->findings, self->verdict);
  g_autoptr (EfLapTable) table = ef_assess_cache_lapping (cache);

  self->plan = ef_lap_work_new (&self->findings, self->verdict, todo, table, error);
  if (self->plan == NULL || !judge_again (self, rules, error))
    return FALSE;
  g_ptr_array_unref (todo);
  todo = ef_todo_list (&self->findings, self->verdict);
  self->steps = ef_steps_plan_with (&self->findings, self->verdict, todo, self->plan, error);

  return self->steps != NULL;
}

/* Against the load at rated speed as found; the pump needn't be measured well enough to have one. */
static void
find_across (EfAssessment *self)
{
  const EfStateFlow *found = &self->flow->state[EF_STATE_FOUND];
  const double nowhere[2] = { NAN, NAN };
  const EfSection *section = self->flow->section != NULL ? ef_pump_sheet_section (self->inspection->sheet, self->flow->section) : NULL;

  self->across = ef_cross_findings (&self->findings, section, found->known ? found->rated.loss.load_psi : nowhere);
}

static gboolean
look_after (EfAssessment *self,
            const EfRuleSet *rules,
            GCancellable *cancellable,
            GError **error)
{
  if (!ef_after_recorded (self->inspection))
    return TRUE;
  self->after = ef_assess_after_new (&self->findings, self->verdict, self->steps, rules, cancellable, error);
  if (self->after == NULL)
    return FALSE;
  self->findings.derived_after = self->after->findings.derived;

  return TRUE;
}

static double
passes_done (const EfInspection *inspection)
{
  double sum = 0.0;

  for (guint i = 0; i < inspection->items[EF_ITEM_WORK]->len; i++)
    {
      const EfWork *work = inspection->items[EF_ITEM_WORK]->pdata[i];

      for (guint k = 0; k < work->n_passes; k++)
        sum += work->passes[k].count;
    }

  return sum;
}

/* Of the chosen option, on faces that nothing is recorded of yet. */
static double
passes_planned (const EfAssessment *self)
{
  const EfLapOption *option = self->plan->chosen;
  const GPtrArray *done = self->inspection->items[EF_ITEM_WORK];
  double sum = 0.0;

  if (option == NULL || option->passes == NULL || !option->passes->feasible)
    return 0.0;
  for (guint i = 0; i < option->passes->n_faces; i++)
    {
      const char *face = ef_lap_problem_face (option->problem, i)->id;
      gboolean recorded = FALSE;

      for (guint k = 0; k < done->len && !recorded; k++)
        recorded = g_strcmp0 (((const EfWork *) done->pdata[k])->face_id, face) == 0;
      for (guint k = 0; !recorded && k < option->grits[i].n; k++)
        sum += option->passes->counts[i][k];
    }

  return sum;
}

/* Among the sheets that come with the program. Without them there's nothing to choose from, which is no failure of the assessment. */
static gboolean
find_pump (EfAssessment *self,
           GCancellable *cancellable,
           GError **error)
{
  const EfDemand *demand = ef_inspection_find (self->inspection, EF_ITEM_DEMAND, "demand");
  g_autoptr (GPtrArray) sheets = demand != NULL ? ef_right_pump_sheets (NULL) : NULL;
  g_autoptr (GError) problem = NULL;

  if (sheets == NULL)
    return TRUE;
  self->right_pump = ef_right_pump_new (self, sheets, demand, cancellable, &problem);
  if (!g_error_matches (problem, EF_ERROR, EF_ERROR_CANCELLED))
    return TRUE;
  g_propagate_error (error, g_steal_pointer (&problem));

  return FALSE;
}

/* Up to the verdict, by rules that are those of the sheet already; with the plan, for what it can't save is scrap. */
static EfAssessment *
judge_snapshot (const EfInspection *snapshot,
                const EfRuleSet *whole,
                EfAssessCache *cache,
                GCancellable *cancellable,
                GError **error)
{
  g_autoptr (EfAssessment) self = assessment_new (snapshot, whole);

  if (!ef_assess_faces (&self->findings, cache, cancellable, error))
    return NULL;
  derive (self);
  self->verdict = ef_judge (whole, &self->findings, error);
  if (self->verdict == NULL || !find_land (self, cache, cancellable, error) || !plan_work (self, whole, cache, error))
    return NULL;

  return g_steal_pointer (&self);
}

EfAssessment *
ef_assess_verdict (const EfInspection *snapshot,
                   const EfRuleSet *rules,
                   EfAssessCache *cache,
                   GCancellable *cancellable,
                   GError **error)
{
  g_autoptr (EfRuleSet) whole = NULL;

  g_return_val_if_fail (snapshot != NULL && rules != NULL, NULL);

  whole = ef_rule_set_for_sheet (rules, snapshot->sheet, error);

  return whole != NULL ? judge_snapshot (snapshot, whole, cache, cancellable, error) : NULL;
}

EfAssessment *
ef_assess (const EfInspection *snapshot,
           const EfRuleSet *rules,
           EfAssessCache *cache,
           GCancellable *cancellable,
           GError **error)
{
  return ef_assess_in_detail (snapshot, rules, cache, EF_DETAIL_FULL, cancellable, error);
}

EfAssessment *
ef_assess_in_detail (const EfInspection *snapshot,
                     const EfRuleSet *rules,
                     EfAssessCache *cache,
                     EfFlowDetail detail,
                     GCancellable *cancellable,
                     GError **error)
{
  g_autoptr (EfRuleSet) whole = NULL;
  g_autoptr (EfAssessment) self = NULL;

  g_return_val_if_fail (snapshot != NULL && rules != NULL, NULL);

  whole = ef_rule_set_for_sheet (rules, snapshot->sheet, error);
  self = whole != NULL ? judge_snapshot (snapshot, whole, cache, cancellable, error) : NULL;
  if (self == NULL)
    return NULL;
  self->cautions = ef_steps_cautions (self->inspection->sheet, self->steps);
  if (!look_after (self, rules, cancellable, error))
    return NULL;
  self->cost = ef_cost_summary_new (self->steps, passes_done (self->inspection), passes_planned (self), ef_inspection_find (self->inspection, EF_ITEM_COST, "cost"));
  if (!ef_figures_flow (self, detail, cache, cancellable, error) || !ef_figures_make (self, cancellable, error))
    return NULL;
  find_across (self);
  if (detail == EF_DETAIL_FULL && !find_pump (self, cancellable, error))
    return NULL;
  if (!ef_assess_fitted (self, rules, cache, detail, cancellable, error))
    return NULL;

  return g_steal_pointer (&self);
}

EfAssessment *
ef_assessment_ref (EfAssessment *self)
{
  g_atomic_int_inc (&self->ref_count);

  return self;
}

void
ef_assessment_unref (EfAssessment *self)
{
  if (self == NULL || !g_atomic_int_dec_and_test (&self->ref_count))
    return;

  g_clear_pointer (&self->verdict, ef_verdict_free);
  g_clear_pointer (&self->land, g_ptr_array_unref);
  g_clear_pointer (&self->plan, ef_lap_work_free);
  g_clear_pointer (&self->steps, g_ptr_array_unref);
  g_clear_pointer (&self->cautions, g_ptr_array_unref);
  g_clear_pointer (&self->figures, g_ptr_array_unref);
  g_clear_pointer (&self->flow, ef_flow_result_unref);
  g_clear_pointer (&self->across, g_ptr_array_unref);
  g_clear_pointer (&self->after, ef_assess_after_free);
  g_clear_pointer (&self->cost, ef_cost_summary_free);
  g_clear_pointer (&self->right_pump, ef_right_pump_free);
  g_clear_pointer (&self->fitted, ef_assessment_unref);
  ef_assess_findings_clear (&self->findings);
  ef_inspection_free (self->inspection);
  g_free (self->rule_set);
  g_free (self->rules_before);
  g_free (self->judged_before);
  g_free (self);
}

void
ef_assessment_clearance_after (const EfAssessment *self,
                               const EfSection *section,
                               double after[2])
{
  for (int gear = 0; gear < 2; gear++)
    after[gear] = ef_assess_after_clearance (self->after, &self->findings, self->steps, section, gear);
}

void
ef_assessment_take_before (EfAssessment *self,
                           const char *rules,
                           const char *time)
{
  g_free (self->rules_before);
  g_free (self->judged_before);
  self->rules_before = g_strdup (rules);
  self->judged_before = g_strdup (time);
}

char *
ef_assessment_before_text (const EfAssessment *self)
{
  if (self->rules_before == NULL)
    return NULL;

  return g_strdup_printf ("Judged before under %s (last on %.10s), now under %s.", self->rules_before, self->judged_before != NULL ? self->judged_before : "?",
                          self->rule_set);
}

const EfFigure *
ef_assessment_figure (const EfAssessment *self,
                      const char *name,
                      const char *section,
                      const char *face)
{
  for (guint i = 0; i < self->figures->len; i++)
    {
      const EfFigure *figure = self->figures->pdata[i];

      if (g_str_equal (figure->name, name) && (section == NULL || g_strcmp0 (figure->section, section) == 0)
          && (face == NULL || g_strcmp0 (figure->face, face) == 0))
        return figure;
    }

  return NULL;
}
