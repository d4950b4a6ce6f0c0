/* The whole computation on one snapshot.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Order: charts, depth maps and wear of each face; values from readings; verdict; steps; delivery and pressure; the other figures.
 */
#include <math.h>

#include "ef-assess-cache.h"
#include "ef-figures.h"

static EfAssessment *
assessment_new (const EfInspection *snapshot,
                const EfRuleSet *rules)
{
  EfAssessment *self = g_new0 (EfAssessment, 1);

  self->ref_count = 1;
  self->inspection = ef_inspection_copy (snapshot);
  self->rule_set = g_strdup (ef_rule_set_version (rules));
  self->figures = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_figure_free);
  ef_assess_findings_init (&self->findings, self->inspection);

  return self;
}

static void
derive (EfAssessment *self)
{
  GPtrArray *readings = self->inspection->items[EF_ITEM_READING];
  GPtrArray *gauges = self->inspection->items[EF_ITEM_GAUGE];

  self->findings.derived = ef_derive (self->inspection->sheet,
                                      (EfReading *const *) readings->pdata, readings->len,
                                      (EfGauge *const *) gauges->pdata, gauges->len);
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
  g_autoptr (EfAssessment) self = NULL;

  g_return_val_if_fail (snapshot != NULL && rules != NULL, NULL);

  self = assessment_new (snapshot, rules);
  if (!ef_assess_faces (&self->findings, cache, cancellable, error))
    return NULL;
  derive (self);
  self->verdict = ef_judge (rules, &self->findings, error);
  if (self->verdict == NULL)
    return NULL;
  self->steps = ef_steps_plan (&self->findings, self->verdict, error);
  if (self->steps == NULL)
    return NULL;
  self->cautions = ef_steps_cautions (self->inspection->sheet, self->steps);
  if (!ef_figures_flow (self, detail, cache, cancellable, error) || !ef_figures_make (self, cancellable, error))
    return NULL;
  find_across (self);

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
  g_clear_pointer (&self->steps, g_ptr_array_unref);
  g_clear_pointer (&self->cautions, g_ptr_array_unref);
  g_clear_pointer (&self->figures, g_ptr_array_unref);
  g_clear_pointer (&self->flow, ef_flow_result_unref);
  g_clear_pointer (&self->across, g_ptr_array_unref);
  ef_assess_findings_clear (&self->findings);
  ef_inspection_free (self->inspection);
  g_free (self->rule_set);
  g_free (self);
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
