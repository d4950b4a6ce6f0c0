/* The lapping of one job: the problem made from what was found, its plan with whole passes, and the alternatives.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Faces that the verdict asks to lap must clean up; sections whose clearance it asks to bring back must end within the window as new, less a guard for the uncertainty of the
 * measured clearance (1.645 standard uncertainties at either end, a 95 % one-sided interval, but never more than a third of the window). Sections that are touched
 * otherwise must stay within their limits for use. Where that can't all be had, less is tried, in the order of EfLapLevel; what can't be had at all is said.
 */
#pragma once

#include "ef-lap-passes.h"
#include "ef-lap-rate.h"
#include "ef-lap-stock.h"

G_BEGIN_DECLS

/* What is aimed at, best first. */
typedef enum
{
  EF_LAP_AS_NEW,   /* wear cleans up wholly, end clearance as new */
  EF_LAP_RESIDUAL, /* half the depth allowed for wear may stay (common practice, no source), end clearance as new */
  EF_LAP_WITHIN,   /* the same with the end clearance within its limits for use */
  EF_LAP_SEALING,  /* as RESIDUAL, and EF_SEALING_SHARE of the land is restored, weighed by what it costs in leakage: only where it's asked for */
  EF_N_LAP_LEVELS
} EfLapLevel;

const char *ef_lap_level_name (EfLapLevel level); /* "as-new", "residual", "within-limits", "sealing" */
/* Whether a plan may lap the face: plane, and its part's sheet doesn't speak against it. */
gboolean ef_lap_is_plan_face (const EfPumpSheet *sheet, const char *face_id);

/* A part that stands in for the pump's own, by its size. */
typedef struct
{
  const char *part_id;
  double width; /* of a gear's face, m */
} EfLapReplacement;

typedef struct
{
  char *id;      /* "recommended", "cheapest", "least-stock", "durable", "sealing" */
  char *label;
  EfLapLevel level;
  EfLapProblem *problem;
  EfLapPlan *plan;
  EfLapGrits *grits;     /* one a face */
  EfLapPassPlan *passes; /* NULL when the plan can't be done */
  const double *removal; /* one a face, m: in whole passes where there are such, else the plan's; NULL when it can't be done */
} EfLapOption;

typedef struct
{
  gboolean wanted;     /* something is to be lapped */
  gboolean feasible;   /* all that is wanted can be had at some level */
  char *reason;        /* why not, or why not at the best level; NULL */
  GPtrArray *conflicts; /* EfLapConflict *, of what can't be had; NULL */
  GPtrArray *failed;   /* char *: faces and sections that are given up */
  GPtrArray *bars;     /* EfBar *: the same for the verdict, with why */
  GPtrArray *options;  /* EfLapOption *: the recommended one first; none when nothing is wanted */
  const EfLapOption *chosen; /* what the job's header says, the recommended one where that isn't there; NULL when nothing is wanted */
  GPtrArray *stocks;   /* EfLapStock *, of the chosen option */
  EfLapTable *table;
} EfLapWork;

/* What the verdict asks to lap. @table NULL: the shipped rates. Fails only when files are missing or the solver gives up. */
EfLapWork *ef_lap_work_new (const EfFindings *findings, const EfVerdict *verdict, GPtrArray *todo, EfLapTable *table, GError **error);
void ef_lap_work_free (EfLapWork *work);
/* An option by its id; NULL. */
const EfLapOption *ef_lap_work_option (const EfLapWork *work, const char *id);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfLapWork, ef_lap_work_free)

/* The problem alone, with parts replaced: for trying parts from the shelf. The faces of replaced parts need nothing. */
EfLapProblem *ef_lap_work_problem (const EfFindings *findings, const EfVerdict *verdict, GPtrArray *todo, EfLapLevel level, const EfLapReplacement *parts,
                                   guint n_parts);

G_END_DECLS
