/* Rows and columns of the lapping programme.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether anything at all is possible doesn't depend on what touching a face costs, so everything about contradictions is linear.
 */
#include "ef-lap-model.h"

#include <math.h>

#define UM 1e6
#define FAR_UM 1e7 /* more than any removal */

static void
quiet (void)
{
  glp_term_out (GLP_OFF);
}

/* The solver's environment belongs to the thread. */
void
ef_lap_model_free (EfLapModel *model)
{
  if (model == NULL)
    return;
  glp_delete_prob (model->glp);
  g_array_unref (model->rules);
  g_free (model);
  glp_free_env ();
}

EfLapRule *
ef_lap_model_rule (const EfLapModel *model,
                   guint rule)
{
  return &g_array_index (model->rules, EfLapRule, rule);
}

static void
set_row (EfLapModel *model,
         const EfLapRule *rule,
         int side,
         gboolean keep)
{
  if (rule->rows[side] == 0)
    return;
  glp_set_row_bnds (model->glp, rule->rows[side], keep ? rule->types[side] : GLP_FR, rule->bounds[side], rule->bounds[side]);
}

void
ef_lap_model_keep (EfLapModel *model,
                   guint rule,
                   gboolean keep)
{
  for (int side = 0; side < 2; side++)
    set_row (model, ef_lap_model_rule (model, rule), side, keep);
}

/* A row over dense coefficients, from index 1. */
static void
add_side (EfLapModel *model,
          EfLapRule *rule,
          int type,
          double bound,
          const double *dense)
{
  g_autofree int *index = g_new (int, model->n_faces + 1);
  g_autofree double *value = g_new (double, model->n_faces + 1);
  int side = rule->rows[0] == 0 ? 0 : 1;
  int n = 0;

  for (int i = 1; i <= model->n_faces; i++)
    if (dense[i] != 0.0)
      {
        index[++n] = i;
        value[n] = dense[i];
      }
  rule->rows[side] = glp_add_rows (model->glp, 1);
  rule->types[side] = type;
  rule->bounds[side] = bound;
  glp_set_mat_row (model->glp, rule->rows[side], n, index, value);
  set_row (model, rule, side, TRUE);
}

static void
add_rule (EfLapModel *model,
          EfLapRule *rule)
{
  if (rule->rows[0] != 0)
    g_array_append_val (model->rules, *rule);
}

static void
add_single (EfLapModel *model,
            EfLapLimitKind kind,
            guint face,
            int type,
            double bound)
{
  g_autofree double *dense = g_new0 (double, model->n_faces + 1);
  EfLapRule rule = { .kind = kind, .index = face };

  dense[face + 1] = 1.0;
  add_side (model, &rule, type, bound, dense);
  add_rule (model, &rule);
}

/* The end clearance's change with the removals. */
static void
fill_clearance (const EfLapSection *section,
                int gear,
                double *dense)
{
  for (guint k = 0; k < section->effects->len; k++)
    {
      const EfLapTerm *term = &g_array_index (section->effects, EfLapTerm, k);

      dense[term->face + 1] += term->effect;
    }
  for (int end = 0; end < 2; end++)
    if (section->ends[gear][end] >= 0)
      dense[section->ends[gear][end] + 1] += 1.0;
}

static void
add_clearance (EfLapModel *model,
               guint index,
               EfLapLimitKind kind)
{
  const EfLapSection *section = ef_lap_problem_section (model->problem, index);
  EfLapRule rule = { .kind = kind, .index = index };
  double window[2];
  gboolean least = kind == EF_LAP_LIMIT_CLEARANCE_MIN;

  ef_lap_section_window (section, &window[0], &window[1]);
  for (int gear = 0; gear < 2; gear++)
    {
      g_autofree double *dense = g_new0 (double, model->n_faces + 1);
      double bound = (window[least ? 0 : 1] - (section->depth - section->width[gear])) * UM;

      if (!isfinite (bound))
        continue;
      fill_clearance (section, gear, dense);
      add_side (model, &rule, least ? GLP_LO : GLP_UP, bound, dense);
    }
  add_rule (model, &rule);
}

/* b_0 - g_0 - (b_1 - g_1) in [-allowed, allowed]. */
static void
add_width (EfLapModel *model,
           guint index)
{
  const EfLapSection *section = ef_lap_problem_section (model->problem, index);
  g_autofree double *dense = g_new0 (double, model->n_faces + 1);
  EfLapRule rule = { .kind = EF_LAP_LIMIT_WIDTH, .index = index };
  double found = section->width[0] - section->width[1];

  if (!isfinite (section->width_allowed))
    return;
  for (int i = 0; i < 4; i++)
    if (section->ends[i / 2][i % 2] >= 0)
      dense[section->ends[i / 2][i % 2] + 1] = i / 2 == 0 ? -1.0 : 1.0;
  add_side (model, &rule, GLP_UP, (section->width_allowed - found) * UM, dense);
  add_side (model, &rule, GLP_LO, (-section->width_allowed - found) * UM, dense);
  add_rule (model, &rule);
}

static void
add_further (EfLapModel *model,
             guint index)
{
  const EfLapLimit *limit = ef_lap_problem_limit (model->problem, index);
  g_autofree double *dense = g_new0 (double, model->n_faces + 1);
  EfLapRule rule = { .kind = EF_LAP_LIMIT_FURTHER, .index = index };

  for (guint k = 0; k < limit->terms->len; k++)
    dense[g_array_index (limit->terms, EfLapTerm, k).face + 1] += g_array_index (limit->terms, EfLapTerm, k).effect;
  if (isfinite (limit->max))
    add_side (model, &rule, GLP_UP, limit->max * UM, dense);
  if (isfinite (limit->min))
    add_side (model, &rule, GLP_LO, limit->min * UM, dense);
  add_rule (model, &rule);
}

/* The order is the one in which limits are named where the choice is free: what the bench can do least about comes first. */
static void
add_rules (EfLapModel *model)
{
  const EfLapProblem *problem = model->problem;

  for (guint i = 0; i < problem->faces->len; i++)
    add_single (model, EF_LAP_LIMIT_STOCK, i, GLP_UP, ef_lap_problem_face (problem, i)->stock * UM);
  for (guint i = 0; i < problem->sections->len; i++)
    {
      add_clearance (model, i, EF_LAP_LIMIT_CLEARANCE_MIN);
      add_clearance (model, i, EF_LAP_LIMIT_CLEARANCE_MAX);
      add_width (model, i);
    }
  for (guint i = 0; i < problem->limits->len; i++)
    add_further (model, i);
  for (guint i = 0; i < problem->faces->len; i++)
    {
      const EfLapFace *face = ef_lap_problem_face (problem, i);

      if (face->needed > face->residual)
        add_single (model, EF_LAP_LIMIT_WEAR, i, GLP_LO, (face->needed - face->residual) * UM);
      if (face->flatness > face->flatness_allowed)
        add_single (model, EF_LAP_LIMIT_FLATNESS, i, GLP_LO, (face->flatness - face->flatness_allowed) * UM);
    }
}

EfLapModel *
ef_lap_model_new (const EfLapProblem *problem)
{
  EfLapModel *model = g_new0 (EfLapModel, 1);

  quiet ();
  model->problem = problem;
  model->glp = glp_create_prob ();
  model->rules = g_array_new (FALSE, TRUE, sizeof (EfLapRule));
  model->n_faces = (int) problem->faces->len;
  glp_set_obj_dir (model->glp, GLP_MIN);
  if (model->n_faces > 0)
    glp_add_cols (model->glp, model->n_faces);
  for (int i = 1; i <= model->n_faces; i++)
    glp_set_col_bnds (model->glp, i, GLP_DB, 0.0, FAR_UM);
  add_rules (model);

  return model;
}

void
ef_lap_model_add_touched (EfLapModel *model)
{
  for (guint i = 0; i < (guint) model->n_faces; i++)
    {
      const EfLapFace *face = ef_lap_problem_face (model->problem, i);
      int column = glp_add_cols (model->glp, 1);
      int row = glp_add_rows (model->glp, 1);
      int index[3] = { 0, (int) i + 1, column };
      double value[3] = { 0.0, 1.0, -face->stock * UM };

      if (model->touched == 0)
        model->touched = column - 1;
      glp_set_col_kind (model->glp, column, GLP_BV);
      glp_set_mat_row (model->glp, row, 2, index, value);
      glp_set_row_bnds (model->glp, row, GLP_UP, 0.0, 0.0);
    }
}

static gboolean
run_simplex (glp_prob *glp)
{
  glp_smcp parameters;

  glp_init_smcp (&parameters);
  parameters.msg_lev = GLP_MSG_OFF;
  parameters.meth = GLP_DUALP;
  parameters.tol_bnd = 1e-9;
  if (glp_simplex (glp, &parameters) != 0)
    {
      glp_std_basis (glp);
      if (glp_simplex (glp, &parameters) != 0)
        return FALSE;
    }

  return glp_get_status (glp) == GLP_OPT;
}

gboolean
ef_lap_model_solvable (EfLapModel *model)
{
  for (int i = 0; i <= glp_get_num_cols (model->glp); i++)
    glp_set_obj_coef (model->glp, i, 0.0);

  return run_simplex (model->glp);
}

double
ef_lap_model_shortfall (EfLapModel *model,
                        guint index)
{
  const EfLapRule *rule = ef_lap_model_rule (model, index);
  int row[3] = { 0 };
  double value[3] = { 0.0 };
  double least = NAN;
  int column, n = 0;

  for (int side = 0; side < 2; side++)
    if (rule->rows[side] != 0)
      {
        row[++n] = rule->rows[side];
        value[n] = rule->types[side] == GLP_LO ? 1.0 : -1.0;
      }
  for (int i = 0; i <= glp_get_num_cols (model->glp); i++)
    glp_set_obj_coef (model->glp, i, 0.0);
  column = glp_add_cols (model->glp, 1);
  glp_set_col_bnds (model->glp, column, GLP_DB, 0.0, FAR_UM);
  glp_set_mat_col (model->glp, column, n, row, value);
  glp_set_obj_coef (model->glp, column, 1.0);
  if (run_simplex (model->glp))
    least = glp_get_obj_val (model->glp) / UM;
  row[1] = column;
  glp_std_basis (model->glp);
  glp_del_cols (model->glp, 1, row);

  return least;
}
