/* Whole passes, grit by grit: the fewest that take off what a plan asks for.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A pass of grit k takes off removal[k] and costs effort[k]. Grits run from coarse to fine. What is lapped at all is finished on the finest, and after each coarser grit
 * the finer ones together take off at least the depth of the scratches it leaves (damage). Effort by weight is the only thing that is saved.
 */
#pragma once

#include "ef-lap-plan.h"

G_BEGIN_DECLS

#define EF_PASSES_MOST_GRITS 8
#define EF_PASSES_MOST 2000 /* of one grit on one face */

typedef struct
{
  guint n;                              /* grits, coarsest first */
  double removal[EF_PASSES_MOST_GRITS]; /* m by one pass, > 0 */
  double damage[EF_PASSES_MOST_GRITS];  /* m; of the finest: ignored */
  double effort[EF_PASSES_MOST_GRITS];  /* of one pass, > 0 */
} EfLapGrits;

/* 6 / 2.5 / 1 um a pass, damage 12 / 5 um, effort 1 / 0.8 / 0.6: common practice, no source. */
void ef_lap_grits_default (EfLapGrits *out);
gboolean ef_lap_grits_check (const EfLapGrits *grits, GError **error);
/* What the counts take off, m; their effort. */
double ef_lap_grits_removal (const EfLapGrits *grits, const int *counts);
double ef_lap_grits_effort (const EfLapGrits *grits, const int *counts);
/* Finished on the finest, and no scratches left of a coarser one. No pass at all is fine too. */
gboolean ef_lap_grits_clean (const EfLapGrits *grits, const int *counts);

/* Fewest-effort counts whose removal lies in [lower, upper]; among equals the least removal. Searched to the end. With lower 0: no passes. FALSE: there are none. */
gboolean ef_lap_passes_find (const EfLapGrits *grits, double lower, double upper, int *counts_out, double *effort_out);

/* Passes for all faces of a plan together. */
typedef struct
{
  gboolean feasible;
  guint n_faces;
  int (*counts)[EF_PASSES_MOST_GRITS]; /* one row a face */
  double *removal;  /* m, what the passes take off */
  double effort;    /* face weights x pass efforts */
  gboolean in_turn; /* found face by face, gear ends first; else by the joint search */
  char *reason;     /* infeasible: why, in a sentence */
} EfLapPassPlan;

void ef_lap_pass_plan_free (EfLapPassPlan *plan);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfLapPassPlan, ef_lap_pass_plan_free)

/* @grits: one a face. Whole passes near @plan that keep every limit of @problem: gear ends first, each at least what the plan takes off; the wider gear then by the
 * width rule from the widths obtained; then the faces that set the pockets' depth, between bounds reckoned from those widths; the rest last. Where that way
 * leads nowhere, all pass counts of all faces are searched jointly, to the end: so "infeasible" is proved. @plan must be feasible and of @problem.
 * Fails with EF_ERROR_NOT_CONVERGED when the joint search is too large to be finished, or parts of several sections are tied together. */
EfLapPassPlan *ef_lap_passes_plan (const EfLapProblem *problem, const EfLapPlan *plan, const EfLapGrits *grits, GError **error);
/* The joint search by itself. */
EfLapPassPlan *ef_lap_passes_search (const EfLapProblem *problem, const EfLapGrits *grits, GError **error);

G_END_DECLS
