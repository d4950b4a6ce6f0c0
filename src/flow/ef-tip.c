/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-tip.h"
#include "ef-mesh.h"

#include <gsl/gsl_linalg.h>
#include <math.h>

static gboolean
check_conditions (guint n,
                  const EfTipGap *gaps,
                  const EfTipConditions *conditions,
                  GError **error)
{
  if (n < 1 || n > EF_MESH_MOST_TEETH)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "tip gaps: expected 1 to %d, found %u", EF_MESH_MOST_TEETH, n);
      return FALSE;
    }
  if (!(conditions->width > 0.0) || !(conditions->thickness > 0.0) || !(conditions->mu > 0.0) || !isfinite (conditions->speed))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE,
                   "tip gaps: expected face width, tip thickness and viscosity above 0, found %g m, %g m, %g Pa s",
                   conditions->width, conditions->thickness, conditions->mu);
      return FALSE;
    }
  for (guint i = 0; i < n; i++)
    if (!(gaps[i].gap > 0.0) || !(gaps[i].cube > 0.0) || !isfinite (gaps[i].cube))
      {
        g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "tip gap %u: expected more than 0, found %g m", i + 1, gaps[i].gap);
        return FALSE;
      }

  return TRUE;
}

static double
conductance (const EfTipGap *gap,
             const EfTipConditions *conditions)
{
  return conditions->width * gap->cube / (12.0 * conditions->mu * conditions->thickness);
}

static double
drag (const EfTipGap *gap,
      const EfTipConditions *conditions)
{
  return conditions->width * conditions->speed * gap->gap / 2.0;
}

gboolean
ef_tip_series (guint n,
               const EfTipGap *gaps,
               const EfTipConditions *conditions,
               double dp,
               double *steps,
               double *pressure_out,
               double *net_out,
               GError **error)
{
  double resistance = 0.0;
  double dragged = 0.0;

  if (!check_conditions (n, gaps, conditions, error))
    return FALSE;
  for (guint i = 0; i < n; i++)
    {
      resistance += 1.0 / conductance (&gaps[i], conditions);
      dragged += drag (&gaps[i], conditions) / conductance (&gaps[i], conditions);
    }
  *pressure_out = dp / resistance;
  *net_out = (dp - dragged) / resistance;
  for (guint i = 0; steps != NULL && i < n; i++)
    steps[i] = (*net_out + drag (&gaps[i], conditions)) / conductance (&gaps[i], conditions);

  return TRUE;
}

/* Flow balance of each sealed space: films to all groups, the gap below (towards suction) and the one above. */
static void
assemble (guint n,
          const EfTipGap *gaps,
          const EfTipConditions *conditions,
          const double *film,
          double dp,
          gsl_matrix *matrix,
          gsl_vector *rhs)
{
  guint n_groups = n - 1 + EF_GROUP_SPACE;

  for (guint s = 0; s < n - 1; s++)
    {
      const double *row = film + (EF_GROUP_SPACE + s) * n_groups;
      double below = conductance (&gaps[s], conditions);
      double above = conductance (&gaps[s + 1], conditions);
      double b = drag (&gaps[s], conditions) - drag (&gaps[s + 1], conditions);

      for (guint t = 0; t < n - 1; t++)
        gsl_matrix_set (matrix, s, t, row[EF_GROUP_SPACE + t] / conditions->mu);
      gsl_matrix_set (matrix, s, s, gsl_matrix_get (matrix, s, s) + below + above);
      if (s > 0)
        gsl_matrix_set (matrix, s, s - 1, gsl_matrix_get (matrix, s, s - 1) - below);
      if (s + 2 < n)
        gsl_matrix_set (matrix, s, s + 1, gsl_matrix_get (matrix, s, s + 1) - above);
      else
        b += above * dp;
      b -= row[EF_GROUP_DELIVERY] / conditions->mu * dp;
      gsl_vector_set (rhs, s, b);
    }
}

static void
read_network (guint n,
              const EfTipGap *gaps,
              const EfTipConditions *conditions,
              const double *film,
              double dp,
              EfTipNetwork *out)
{
  guint n_groups = n - 1 + EF_GROUP_SPACE;
  const double *delivery = film + EF_GROUP_DELIVERY * n_groups;
  double last = n > 1 ? out->spaces[n - 2] : 0.0;

  out->film = delivery[EF_GROUP_DELIVERY] * dp / conditions->mu;
  out->to_bore = -delivery[EF_GROUP_BORE] * dp / conditions->mu;
  for (guint s = 0; s + 1 < n; s++)
    {
      out->film += delivery[EF_GROUP_SPACE + s] * out->spaces[s] / conditions->mu;
      out->to_bore -= film[(EF_GROUP_SPACE + s) * n_groups + EF_GROUP_BORE] * out->spaces[s] / conditions->mu;
    }
  out->loss = out->film + conductance (&gaps[n - 1], conditions) * (dp - last) - drag (&gaps[n - 1], conditions);
}

gboolean
ef_tip_network (guint n,
                const EfTipGap *gaps,
                const EfTipConditions *conditions,
                const double *film,
                double dp,
                EfTipNetwork *out,
                GError **error)
{
  if (!check_conditions (n, gaps, conditions, error))
    return FALSE;
  if (n > 1)
    {
      gsl_matrix *matrix = gsl_matrix_calloc (n - 1, n - 1);
      gsl_vector *rhs = gsl_vector_calloc (n - 1);
      int status;

      assemble (n, gaps, conditions, film, dp, matrix, rhs);
      status = gsl_linalg_HH_svx (matrix, rhs);
      for (guint s = 0; s + 1 < n; s++)
        out->spaces[s] = gsl_vector_get (rhs, s);
      gsl_matrix_free (matrix);
      gsl_vector_free (rhs);
      if (status != 0 || !isfinite (out->spaces[0]))
        {
          g_set_error_literal (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "tooth spaces: the pressures can't be solved for");
          return FALSE;
        }
    }
  read_network (n, gaps, conditions, film, dp, out);

  return TRUE;
}
