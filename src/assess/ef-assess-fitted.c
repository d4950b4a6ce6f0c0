/* A pump with parts from the shelf in it: judged as it will be put together.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * As found stays what it was. The pump as fitted is assessed by itself (assessment->fitted); its state after rework is the job's, and so are its steps.
 */
#include "ef-assess-cache.h"
#include "../inspection/ef-replacement.h"

#include <math.h>

static void
take_curve (EfCurve *to,
            const EfCurve *from)
{
  g_free (to->x);
  g_free (to->y);
  to->n = from->n;
  to->x = from->n > 0 && from->x != NULL ? g_memdup2 (from->x, from->n * sizeof (double)) : NULL;
  to->y = from->n > 0 && from->y != NULL ? g_memdup2 (from->y, from->n * sizeof (double)) : NULL;
}

static void
take_flow (EfFlowResult *flow,
           const EfFlowResult *after)
{
  EfStateFlow *to = &flow->state[EF_STATE_REWORKED];

  g_free (to->reason);
  *to = after->state[EF_STATE_REWORKED];
  to->reason = g_strdup (to->reason);
  take_curve (&flow->delivery[EF_STATE_REWORKED], &after->delivery[EF_STATE_REWORKED]);
  if (flow->assumptions != NULL)
    g_ptr_array_add (flow->assumptions, g_strdup ("After rework: with the parts from the shelf; tip clearance and backlash worked out from their sizes."));
}

static void
take_figures (EfAssessment *self)
{
  for (guint i = 0; i < self->figures->len; i++)
    {
      EfFigure *figure = self->figures->pdata[i];
      const EfFigure *after = ef_assessment_figure (self->fitted, figure->name, figure->section, figure->face);

      /* A face of the new part that has no wear has no figure. */
      figure->reworked = after != NULL ? after->reworked : figure->face != NULL ? 0.0 : NAN;
    }
}

static EfStep *
fitting_step (const EfReplacement *part)
{
  EfStep *step = g_new0 (EfStep, 1);

  step->id = g_strdup_printf ("fit-%s", part->item.id);
  step->phase = g_strdup ("rework");
  step->text = g_strdup_printf ("Take %s from the shelf for: %s%s.", part->shelf, part->name != NULL ? part->name : part->item.id,
                                part->pair != NULL ? ", together with its mate" : "");
  step->why = part->from_job != NULL ? g_strdup_printf ("It came from %s; set the old one aside and mark it.", part->from_job) : NULL;
  step->tools = g_ptr_array_new_with_free_func (g_free);
  step->cautions = g_ptr_array_new_with_free_func (g_free);
  step->checks = g_ptr_array_new_with_free_func (g_free);
  step->after = g_ptr_array_new_with_free_func (g_free);
  step->part_id = g_strdup (part->item.id);
  step->stock = NAN;
  g_ptr_array_add (step->checks, g_strdup_printf ("The code on its tag is %s.", part->shelf));

  return step;
}

static gboolean
has_phase (const GPtrArray *steps,
           const char *phase)
{
  for (guint i = 0; i < steps->len; i++)
    if (g_str_equal (((EfStep *) steps->pdata[i])->phase, phase))
      return TRUE;

  return FALSE;
}

static int
find_step (const GPtrArray *steps,
           const char *id)
{
  for (guint i = 0; i < steps->len; i++)
    if (g_str_equal (((EfStep *) steps->pdata[i])->id, id))
      return (int) i;

  return -1;
}

/* Where the phase begins: after the last step of those before it. */
static int
start_of_rework (const GPtrArray *steps)
{
  guint at = 0;

  while (at < steps->len && g_str_equal (((EfStep *) steps->pdata[at])->phase, "strip"))
    at++;

  return (int) at;
}

/* What the fitted pump needs besides: new parts have faces of their own to be lapped. */
static void
take_rework (GPtrArray *steps,
             GPtrArray *after)
{
  for (guint i = after->len; i-- > 0;)
    {
      EfStep *step = after->pdata[i];

      if (g_str_equal (step->phase, "rework") && find_step (steps, step->id) < 0)
        g_ptr_array_insert (steps, start_of_rework (steps), g_ptr_array_steal_index (after, i));
    }
}

/* The pump as found is taken apart and put together; where it was past that, the steps of the fitted one count. Finding a replacement becomes
 * fetching it. */
static void
take_steps (EfAssessment *self)
{
  const GPtrArray *parts = self->inspection->items[EF_ITEM_REPLACEMENT];

  if (has_phase (self->steps, "assemble"))
    take_rework (self->steps, self->fitted->steps);
  else
    {
      GPtrArray *found = self->steps;

      self->steps = self->fitted->steps;
      self->fitted->steps = found;
    }
  for (guint i = 0; i < parts->len; i++)
    {
      const EfReplacement *part = parts->pdata[i];
      g_autofree char *id = g_strconcat ("replace-", part->item.id, NULL);
      int at = find_step (self->steps, id);

      if (at >= 0)
        g_ptr_array_remove_index (self->steps, at);
      g_ptr_array_insert (self->steps, at >= 0 ? at : start_of_rework (self->steps), fitting_step (part));
    }
}

gboolean
ef_assess_fitted (EfAssessment *self,
                  const EfRuleSet *rules,
                  EfAssessCache *cache,
                  EfFlowDetail detail,
                  GCancellable *cancellable,
                  GError **error)
{
  g_autoptr (EfInspection) fitted = NULL;

  if (self->inspection->items[EF_ITEM_REPLACEMENT]->len == 0)
    return TRUE;
  fitted = ef_inspection_fitted (self->inspection, error);
  if (fitted == NULL)
    return FALSE;
  self->fitted = ef_assess_in_detail (fitted, rules, cache, detail, cancellable, error);
  if (self->fitted == NULL)
    return FALSE;
  take_flow (self->flow, self->fitted->flow);
  take_figures (self);
  take_steps (self);

  return TRUE;
}
