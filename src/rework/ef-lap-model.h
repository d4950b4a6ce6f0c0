/* The lapping problem as a programme for the solver: lengths in um, one row or two for each limit.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include <glpk.h>

#include "ef-lap-plan.h"

G_BEGIN_DECLS

/* One limit with its rows. Rows that aren't kept are free. */
typedef struct
{
  EfLapLimitKind kind;
  guint index;
  int rows[2];      /* 0: none */
  int types[2];     /* GLP_LO or GLP_UP */
  double bounds[2]; /* um */
} EfLapRule;

typedef struct
{
  const EfLapProblem *problem;
  glp_prob *glp;
  GArray *rules;     /* EfLapRule */
  int n_faces;       /* columns 1 … n_faces are the removals */
  int touched;       /* column before the first binary; 0: there are none */
} EfLapModel;

/* All limits kept, no binaries yet. Borrows @problem, which has passed ef_lap_problem_check(). To be used and freed in the thread that made it. */
EfLapModel *ef_lap_model_new (const EfLapProblem *problem);
void ef_lap_model_free (EfLapModel *model); /* frees this thread's solver environment as well */
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfLapModel, ef_lap_model_free)
/* Keeps the rule (0 …), or lets it go: its rows are free then. */
void ef_lap_model_keep (EfLapModel *model, guint rule, gboolean keep);
/* Whether removals exist for the rules now kept. */
gboolean ef_lap_model_solvable (EfLapModel *model);
/* Least that the rule would have to give way for the other kept rules to hold, m; NAN: giving way isn't enough. */
double ef_lap_model_shortfall (EfLapModel *model, guint rule);
EfLapRule *ef_lap_model_rule (const EfLapModel *model, guint rule);
/* Makes the binaries. */
void ef_lap_model_add_touched (EfLapModel *model);

/* A smallest contradicting set. The model must not be solvable. */
GPtrArray *ef_lap_conflicts_find (EfLapModel *model);

G_END_DECLS
