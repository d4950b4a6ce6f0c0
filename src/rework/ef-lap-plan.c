/* Solves the lapping programme, goal by goal.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * First with the binaries by branch and bound; then once more as a linear programme with the faces fixed that turned out touched, so that the solver's tolerance
 * on whole numbers leaves no trace in the removals.
 */
#include "ef-lap-model.h"

#include <math.h>

#define UM 1e6
#define TIE 1e-6 /* um: by so much a later goal may not worsen an earlier one */
#define NOISE 1e-12 /* m */

static const char *const goal_names[] = { "least-effort", "least-stock", "durable" };

const char *
ef_lap_goal_name (EfLapGoal goal)
{
  return goal < EF_N_LAP_GOALS ? goal_names[goal] : "least-effort";
}

void
ef_lap_plan_free (EfLapPlan *plan)
{
  if (plan == NULL)
    return;
  g_free (plan->removal);
  g_free (plan->clearance);
  g_free (plan->width);
  g_free (plan->depth);
  g_clear_pointer (&plan->conflicts, g_ptr_array_unref);
  g_free (plan);
}

char *
ef_lap_plan_reason (const EfLapPlan *plan)
{
  GString *text;

  if (plan->feasible)
    return NULL;
  text = g_string_new (NULL);
  for (guint i = 0; i < plan->conflicts->len; i++)
    g_string_append_printf (text, "%s%s", i > 0 ? " " : "", ((EfLapConflict *) plan->conflicts->pdata[i])->sentence);

  return g_string_free (text, FALSE);
}

typedef enum { OBJECTIVE_EFFORT, OBJECTIVE_STOCK, OBJECTIVE_CLEARANCE } Objective;

static const Objective objectives[EF_N_LAP_GOALS][3] = {
  { OBJECTIVE_EFFORT, OBJECTIVE_STOCK, OBJECTIVE_CLEARANCE },
  { OBJECTIVE_STOCK, OBJECTIVE_EFFORT, OBJECTIVE_CLEARANCE },
  { OBJECTIVE_CLEARANCE, OBJECTIVE_EFFORT, OBJECTIVE_STOCK },
};

static void
fill_clearance (const EfLapProblem *problem,
                double *cost)
{
  for (guint i = 0; i < problem->sections->len; i++)
    {
      const EfLapSection *section = ef_lap_problem_section (problem, i);

      if (!isfinite (section->clearance_min) || section->left_alone)
        continue;
      for (guint k = 0; k < section->effects->len; k++)
        cost[g_array_index (section->effects, EfLapTerm, k).face + 1] += 2.0 * g_array_index (section->effects, EfLapTerm, k).effect;
      for (int k = 0; k < 4; k++)
        if (section->ends[k / 2][k % 2] >= 0)
          cost[section->ends[k / 2][k % 2] + 1] += 1.0;
    }
}

static double *
costs (const EfLapModel *model,
       Objective objective)
{
  double *cost = g_new0 (double, glp_get_num_cols (model->glp) + 1);

  for (int i = 1; i <= model->n_faces; i++)
    {
      const EfLapFace *face = ef_lap_problem_face (model->problem, (guint) i - 1);

      cost[i] = objective == OBJECTIVE_EFFORT ? face->weight : objective == OBJECTIVE_STOCK ? 1.0 : 0.0;
      if (objective == OBJECTIVE_EFFORT && model->touched > 0)
        cost[model->touched + i] = face->setup * UM;
    }
  if (objective == OBJECTIVE_CLEARANCE)
    fill_clearance (model->problem, cost);

  return cost;
}

static gboolean
is_integer (const EfLapModel *model)
{
  return model->touched > 0;
}

static gboolean
optimise (EfLapModel *model,
          gboolean whole,
          double *value_out)
{
  glp_iocp whole_parameters;
  glp_smcp parameters;

  if (!whole)
    {
      glp_init_smcp (&parameters);
      parameters.msg_lev = GLP_MSG_OFF;
      parameters.tol_bnd = 1e-9;
      glp_std_basis (model->glp);
      if (glp_simplex (model->glp, &parameters) != 0 || glp_get_status (model->glp) != GLP_OPT)
        return FALSE;
      *value_out = glp_get_obj_val (model->glp);
      return TRUE;
    }
  glp_init_iocp (&whole_parameters);
  whole_parameters.msg_lev = GLP_MSG_OFF;
  whole_parameters.presolve = GLP_ON;
  whole_parameters.mip_gap = 0.0;
  whole_parameters.tol_int = 1e-7;
  if (glp_intopt (model->glp, &whole_parameters) != 0 || glp_mip_status (model->glp) != GLP_OPT)
    return FALSE;
  *value_out = glp_mip_obj_val (model->glp);

  return TRUE;
}

/* A later goal keeps what an earlier one has reached. */
static int
hold (EfLapModel *model,
      const double *cost,
      double value)
{
  int n = glp_get_num_cols (model->glp);
  g_autofree int *index = g_new (int, n + 1);
  g_autofree double *coefficient = g_new (double, n + 1);
  int row = glp_add_rows (model->glp, 1);
  int length = 0;

  for (int i = 1; i <= n; i++)
    if (cost[i] != 0.0)
      {
        index[++length] = i;
        coefficient[length] = cost[i];
      }
  glp_set_mat_row (model->glp, row, length, index, coefficient);
  glp_set_row_bnds (model->glp, row, GLP_UP, 0.0, value + TIE + fabs (value) * 1e-10);

  return row;
}

/* Goal after goal; the rows that hold them are taken out again. */
static gboolean
pursue (EfLapModel *model,
        const Objective *order,
        gboolean whole)
{
  int rows[4] = { 0 };
  int n = 0;
  gboolean done = TRUE;

  for (int stage = 0; stage < 3 && done; stage++)
    {
      g_autofree double *cost = costs (model, order[stage]);
      double value = 0.0;

      for (int i = 1; i <= glp_get_num_cols (model->glp); i++)
        glp_set_obj_coef (model->glp, i, cost[i]);
      done = optimise (model, whole, &value);
      if (done && stage < 2)
        {
          rows[n + 1] = hold (model, cost, value);
          n++;
        }
    }
  if (n > 0)
    glp_del_rows (model->glp, n, rows);

  return done;
}

static void
fix_touched (EfLapModel *model)
{
  for (int i = 1; i <= model->n_faces; i++)
    {
      double touched = glp_mip_col_val (model->glp, model->touched + i) > 0.5 ? 1.0 : 0.0;

      glp_set_col_bnds (model->glp, model->touched + i, GLP_FX, touched, touched);
    }
}

static void
fill_plan (const EfLapModel *model,
           EfLapPlan *plan)
{
  const EfLapProblem *problem = model->problem;

  for (guint i = 0; i < plan->n_faces; i++)
    {
      double removal = glp_get_col_prim (model->glp, (int) i + 1) / UM;

      plan->removal[i] = removal < NOISE ? 0.0 : removal;
    }
  for (guint i = 0; i < plan->n_sections; i++)
    {
      const EfLapSection *section = ef_lap_problem_section (problem, i);

      plan->depth[i] = ef_lap_section_depth (section, plan->removal);
      for (int gear = 0; gear < 2; gear++)
        {
          plan->width[i][gear] = ef_lap_section_width (section, plan->removal, gear);
          plan->clearance[i][gear] = ef_lap_section_clearance (section, plan->removal, gear);
        }
    }
  plan->effort = ef_lap_problem_effort (problem, plan->removal);
  plan->stock = ef_lap_problem_stock (problem, plan->removal);
}

static EfLapPlan *
plan_new (const EfLapProblem *problem,
          EfLapGoal goal)
{
  EfLapPlan *plan = g_new0 (EfLapPlan, 1);

  plan->goal = goal;
  plan->n_faces = problem->faces->len;
  plan->n_sections = problem->sections->len;

  return plan;
}

static gboolean
has_setup (const EfLapProblem *problem)
{
  for (guint i = 0; i < problem->faces->len; i++)
    if (ef_lap_problem_face (problem, i)->setup > 0.0)
      return TRUE;

  return FALSE;
}

static gboolean
solve_feasible (EfLapModel *model,
                EfLapPlan *plan,
                GError **error)
{
  plan->removal = g_new0 (double, plan->n_faces + 1);
  plan->clearance = g_malloc0_n (plan->n_sections + 1, sizeof *plan->clearance);
  plan->width = g_malloc0_n (plan->n_sections + 1, sizeof *plan->width);
  plan->depth = g_new0 (double, plan->n_sections + 1);
  if (plan->n_faces > 0)
    {
      if (has_setup (model->problem))
        ef_lap_model_add_touched (model);
      if (is_integer (model))
        {
          if (!pursue (model, objectives[plan->goal], TRUE))
            goto failed;
          fix_touched (model);
        }
      if (!pursue (model, objectives[plan->goal], FALSE))
        goto failed;
    }
  plan->feasible = TRUE;
  fill_plan (model, plan);

  return TRUE;

failed:
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "lapping plan: the solver stopped before it had proved an optimum");

  return FALSE;
}

EfLapPlan *
ef_lap_plan_solve (const EfLapProblem *problem,
                   EfLapGoal goal,
                   GError **error)
{
  g_autoptr (EfLapPlan) plan = NULL;
  g_autoptr (EfLapModel) model = NULL;

  if (!ef_lap_problem_check (problem, error))
    return NULL;
  plan = plan_new (problem, goal < EF_N_LAP_GOALS ? goal : EF_LAP_LEAST_EFFORT);
  model = ef_lap_model_new (problem);
  if (!ef_lap_model_solvable (model))
    plan->conflicts = ef_lap_conflicts_find (model);
  else if (!solve_feasible (model, plan, error))
    return NULL;

  return g_steal_pointer (&plan);
}

gboolean
ef_lap_problem_solvable (const EfLapProblem *problem)
{
  g_autoptr (EfLapModel) model = NULL;

  if (!ef_lap_problem_check (problem, NULL))
    return FALSE;
  model = ef_lap_model_new (problem);

  return ef_lap_model_solvable (model);
}

gboolean
ef_lap_problem_solvable_with (const EfLapProblem *problem,
                              const EfLapConflict *const *kept,
                              guint n_kept)
{
  g_autoptr (EfLapModel) model = NULL;

  if (!ef_lap_problem_check (problem, NULL))
    return FALSE;
  model = ef_lap_model_new (problem);
  for (guint i = 0; i < model->rules->len; i++)
    {
      const EfLapRule *rule = ef_lap_model_rule (model, i);
      gboolean keep = FALSE;

      for (guint k = 0; k < n_kept; k++)
        keep = keep || (kept[k]->kind == rule->kind && kept[k]->index == rule->index);
      ef_lap_model_keep (model, i, keep);
    }

  return ef_lap_model_solvable (model);
}
