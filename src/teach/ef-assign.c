/* The assignment problem as a linear programme.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-mark-match.h"

#include <glpk.h>

#define TOLERANCE 1e-9 /* what a pair may be better without being noticed */

/* One constraint a row and a column: taken at most once. */
static void
add_constraints (glp_prob *problem,
                 guint n)
{
  glp_add_rows (problem, (int) n);
  for (guint i = 1; i <= n; i++)
    glp_set_row_bnds (problem, (int) i, GLP_UP, 0, 1);
}

static guint
add_pairs (glp_prob *problem,
           const double *worth,
           guint n_rows,
           guint n_columns,
           GArray *places)
{
  for (guint i = 0; i < n_rows; i++)
    for (guint j = 0; j < n_columns; j++)
      {
        int rows[] = { 0, (int) i + 1, (int) (n_rows + j) + 1 };
        double ones[] = { 0, 1, 1 };
        guint place = i * n_columns + j;
        int column;

        if (!(worth[place] > 0))
          continue;
        column = glp_add_cols (problem, 1);
        glp_set_col_bnds (problem, column, GLP_LO, 0, 0);
        glp_set_obj_coef (problem, column, worth[place]);
        glp_set_mat_col (problem, column, 2, rows, ones);
        g_array_append_val (places, place);
      }

  return places->len;
}

gboolean
ef_assign (const double *worth,
           guint n_rows,
           guint n_columns,
           int *row_of,
           GError **error)
{
  g_autoptr (GArray) places = g_array_new (FALSE, FALSE, sizeof (guint));
  glp_prob *problem;
  glp_smcp settings;
  guint n;
  int failed = 0;

  for (guint j = 0; j < n_columns; j++)
    row_of[j] = -1;
  if (n_rows == 0 || n_columns == 0)
    return TRUE;
  problem = glp_create_prob ();
  glp_init_smcp (&settings);
  settings.msg_lev = GLP_MSG_OFF;
  settings.tol_dj = TOLERANCE;
  glp_set_obj_dir (problem, GLP_MAX);
  add_constraints (problem, n_rows + n_columns);
  n = add_pairs (problem, worth, n_rows, n_columns, places);
  if (n > 0)
    failed = glp_simplex (problem, &settings) != 0 || glp_get_status (problem) != GLP_OPT;
  for (guint k = 0; k < n && !failed; k++)
    {
      guint place = g_array_index (places, guint, k);

      if (glp_get_col_prim (problem, (int) k + 1) > 0.5)
        row_of[place % n_columns] = (int) (place / n_columns);
    }
  glp_delete_prob (problem);
  if (!failed)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "assignment of %u to %u: no optimum found", n_columns, n_rows);

  return FALSE;
}
