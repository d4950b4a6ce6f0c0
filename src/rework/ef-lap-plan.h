/* The lapping plan: how much comes off which face, proven best, or the limits that stand against each other.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A mixed-integer programme, solved by branch and bound with a gap of 0: removals are continuous, whether a face is touched is 0 or 1. Goals are taken in order:
 * the second decides only among plans that are best by the first.
 */
#pragma once

#include "ef-lap-problem.h"

G_BEGIN_DECLS

typedef enum
{
  EF_LAP_LEAST_EFFORT, /* least effort, then least stock: the cheapest */
  EF_LAP_LEAST_STOCK,  /* least stock, then least effort */
  EF_LAP_DURABLE,      /* smallest end clearances within their windows, then least effort: lasts longest until the limit */
  EF_N_LAP_GOALS
} EfLapGoal;

const char *ef_lap_goal_name (EfLapGoal goal); /* "least-effort", "least-stock", "durable" */

typedef enum
{
  EF_LAP_LIMIT_WEAR,      /* wear that may stay on a face */
  EF_LAP_LIMIT_FLATNESS,  /* of a face */
  EF_LAP_LIMIT_STOCK,     /* of a face */
  EF_LAP_LIMIT_CLEARANCE_MIN, /* of a section, both gears */
  EF_LAP_LIMIT_CLEARANCE_MAX,
  EF_LAP_LIMIT_WIDTH,     /* difference of the gears of a section */
  EF_LAP_LIMIT_FURTHER    /* one of EfLapProblem.limits */
} EfLapLimitKind;

const char *ef_lap_limit_kind_name (EfLapLimitKind kind); /* "wear", "flatness", "stock", "clearance-min", … */

/* One limit out of a set that can't all be kept. */
typedef struct
{
  EfLapLimitKind kind;
  guint index;       /* of the face, section or further limit */
  char *target;      /* its id */
  double shortfall;  /* m: by how much this one alone would have to give way, all others of the problem being kept; where that isn't enough, the others of the set */
  gboolean restores; /* giving way by so much makes the whole problem solvable */
  char *sentence;
} EfLapConflict;

typedef struct
{
  gboolean feasible;
  EfLapGoal goal;
  guint n_faces, n_sections;
  double *removal;       /* m, one a face; NULL when infeasible */
  double (*clearance)[2]; /* m, one pair a section */
  double (*width)[2];
  double *depth;
  double effort, stock;  /* effort in the unit of weight x m; stock in m */
  double gap;            /* relative, between what was found and what was proved: 0 */
  /* Infeasible: a smallest set (no set of fewer limits contradicts itself), in plain sentences, the one to act on first. Leaving out any one of them solves the set. */
  GPtrArray *conflicts;  /* EfLapConflict * */
} EfLapPlan;

/* Fails as ef_lap_problem_check() does; a problem without a solution is no failure. Thread-safe. */
EfLapPlan *ef_lap_plan_solve (const EfLapProblem *problem, EfLapGoal goal, GError **error);
void ef_lap_plan_free (EfLapPlan *plan);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfLapPlan, ef_lap_plan_free)
/* The whole reason in one line: the conflicts' sentences. NULL when feasible. */
char *ef_lap_plan_reason (const EfLapPlan *plan);

/* Only whether there is a solution: a linear programme, for trying many. */
gboolean ef_lap_problem_solvable (const EfLapProblem *problem);
/* The same with these limits only, each as in EfLapConflict. */
gboolean ef_lap_problem_solvable_with (const EfLapProblem *problem, const EfLapConflict *const *kept, guint n_kept);

G_END_DECLS
