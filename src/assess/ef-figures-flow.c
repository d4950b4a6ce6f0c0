/* The figures that follow from the flow solve: hot-idle pressure and delivery.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-assess-cache.h"
#include "ef-figures.h"
#include "ef-flow-input.h"

#include <math.h>

static void
add_figure (EfAssessment *assessment,
            const char *name,
            const char *label,
            EfUnit unit,
            const double values[EF_N_STATES])
{
  EfFigure *figure = ef_figure_add (assessment, name, g_strdup (label), assessment->flow->section, NULL, unit);

  figure->as_new = values[EF_STATE_NEW];
  figure->found = values[EF_STATE_FOUND];
  figure->reworked = values[EF_STATE_REWORKED];
}

/* How sure the hot-idle pressure is follows from the readings; the sheet's own hot-idle pressure is what the engine was given. */
static void
add_figures (EfAssessment *assessment)
{
  double pressure[EF_N_STATES], delivery[EF_N_STATES], efficiency[EF_N_STATES];

  for (int state = 0; state < EF_N_STATES; state++)
    {
      const EfStateFlow *flow = &assessment->flow->state[state];

      pressure[state] = flow->known ? flow->idle.pressure : NAN;
      delivery[state] = flow->known ? flow->rated.delivery : NAN;
      efficiency[state] = flow->known ? flow->rated.efficiency : NAN;
    }
  add_figure (assessment, "idle-pressure", "Hot-idle pressure", EF_UNIT_BAR, pressure);
  add_figure (assessment, "delivery", "Delivery at rated speed", EF_UNIT_LPM, delivery);
  add_figure (assessment, "volumetric-efficiency", "Volumetric efficiency at rated speed", EF_UNIT_NONE, efficiency);
}

gboolean
ef_figures_flow (EfAssessment *assessment,
                 EfFlowDetail detail,
                 EfAssessCache *cache,
                 GCancellable *cancellable,
                 GError **error)
{
  g_autoptr (GHashTable) stock = ef_after_stock (assessment->inspection, assessment->steps);
  const EfSection *section = ef_flow_section (assessment->inspection->sheet);
  double after[2] = { NAN, NAN };

  if (section != NULL)
    ef_assessment_clearance_after (assessment, section, after);
  assessment->flow = ef_flow_result_new (&assessment->findings, stock, after, detail, cache != NULL ? ef_assess_cache_flow (cache) : NULL, cancellable, error);
  if (assessment->flow == NULL)
    return FALSE;
  add_figures (assessment);

  return TRUE;
}
