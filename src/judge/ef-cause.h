/* What most likely wore the pump: the causes that the findings speak for, heaviest first.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each piece of evidence weighs what it is of its limit (1: at the limit); a cause weighs as much as its heaviest piece. Evidence below
 * EF_CAUSE_LEAST is wear as any pump has it and speaks for nothing. The scheme is the program's own, no source.
 *   load          lips on the computed load's side, bores worn long in its line
 *   debris        scoring or grooves on faces that stand still which run from delivery to suction
 *   end-wear      end clearance past its limit, steps that the gears' ends wore
 *   misfit        lips on both gears' walls off the load's side and the same way across the pump, or bores long across its line
 *   foreign-body  a lip off the load's side at one gear alone
 */
#pragma once

#include "ef-cross.h"

G_BEGIN_DECLS

typedef enum { EF_CAUSE_NONE, EF_CAUSE_LOAD, EF_CAUSE_DEBRIS, EF_CAUSE_END_WEAR, EF_CAUSE_MISFIT, EF_CAUSE_FOREIGN_BODY, EF_N_CAUSES } EfCause;

extern const char *const ef_cause_names[]; /* "none", "load", "debris", "end-wear", "misfit", "foreign-body"; NULL-terminated */
const char *ef_cause_label (EfCause cause); /* "Pushed by the oil's pressure": untranslated, shown */
/* FALSE for a name that is none of them. */
gboolean ef_cause_from_name (const char *name, EfCause *cause_out);

#define EF_CAUSE_LEAST 0.8

typedef struct
{
  EfCause cause;
  double weight;
  char *sentence;
  GPtrArray *refs; /* char *: "mark:ID", "reading:ID" */
} EfCauseFinding;
void ef_cause_finding_free (EfCauseFinding *finding);

/* @across: ef_cross_findings() of the same @section. Limits are the sheet's, else those of @rules. EfCauseFinding *, heaviest first; empty where nothing
 * speaks for a cause. */
GPtrArray *ef_cause_findings (const EfFindings *findings, const EfRuleSet *rules, const EfSection *section, const GPtrArray *across);
/* Of the heaviest; EF_CAUSE_NONE where the list is empty. */
EfCause ef_cause_first (const GPtrArray *causes);

G_END_DECLS
