/* What the rework costs, against a new pump: the shop's own rates, nothing made up.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../inspection/ef-inspection.h"
#include "ef-steps.h"

G_BEGIN_DECLS

/* Minutes a step (a pass, a fitting) takes where the shop hasn't set its own: common practice, no source. */
double ef_cost_default_minutes (EfCostKind kind);
const char *ef_cost_kind_label (EfCostKind kind); /* "Stripping, a step", …; untranslated */

typedef struct
{
  double count;   /* steps, passes */
  double minutes; /* each */
  gboolean own;   /* set by the shop; else common practice */
  double total;   /* minutes */
  double amount;  /* NAN while no hour rate is set */
} EfCostLine;

typedef struct
{
  EfCostLine line[EF_N_COST_KINDS]; /* EF_COST_FIT belongs to the new pump, all others to the rework */
  double passes_planned; /* of the passes counted: planned, not recorded yet */
  double hour_rate, parts, new_pump; /* as set; NAN not set */
  double rework_minutes, replace_minutes;
  double rework;      /* labour and parts; NAN while no hour rate is set. Parts that aren't set count 0 */
  double replacement; /* new pump and fitting it; NAN while either isn't set */
  double saved;       /* by reworking; NAN */
  char *currency;     /* "" where not set */
  char *sentence;
} EfCostSummary;

/* @steps: EfStep *; @passes: of lapping, on all faces together, recorded; @planned: those of faces that nothing is recorded of yet; @cost: NULL where nothing was set. */
EfCostSummary *ef_cost_summary_new (GPtrArray *steps, double passes, double planned, const EfCost *cost);
void ef_cost_summary_free (EfCostSummary *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfCostSummary, ef_cost_summary_free)
/* Member "cost" of the results file: minutes and amounts as above. */
JsonNode *ef_cost_summary_to_json (const EfCostSummary *self);
/* The kind of work a step is. */
EfCostKind ef_cost_step_kind (const EfStep *step);
/* A fresh item with nothing set, id "cost". */
EfCost *ef_cost_new (void);
EfDemand *ef_demand_new (void);
/* "85.50 units", or "not set". */
char *ef_cost_amount_text (double amount, const char *currency);

G_END_DECLS
