/* The film between groups: assemble, solve once a group, read the flows.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-film-private.h"

#include "../base/ef-error.h"

#include <math.h>
#include <string.h>
#include <suitesparse/cholmod.h>

#define TOLERANCE 1e-12
#define IMBALANCE 1e-8

struct _EfFilmSolver
{
  EfFilmDomain *domain;
  EfFilmMethod method;
  /* CHOLMOD: the pattern and its analysis are kept. */
  cholmod_common common;
  cholmod_sparse *matrix;
  cholmod_factor *factor;
  gsize *entry_of_link; /* where each inner link stands in the matrix */
  gsize *entry_of_diagonal;
  /* Multigrid: the grids and the last field of each group. */
  EfMultigrid *grids;
  double *last;
  /* Condensation: the matrices of the pieces. */
  EfCondense *condense;
};

static void
build_pattern (EfFilmSolver *self)
{
  const EfFilmDomain *domain = self->domain;
  gsize entry = 0;
  guint k = 0;
  int *starts, *rows;

  self->matrix = cholmod_allocate_sparse (domain->n, domain->n, domain->n + domain->inner->len, TRUE, TRUE, -1, CHOLMOD_REAL, &self->common);
  self->entry_of_link = g_new (gsize, MAX (domain->inner->len, 1));
  self->entry_of_diagonal = g_new (gsize, domain->n);
  starts = self->matrix->p;
  rows = self->matrix->i;
  for (guint column = 0; column < domain->n; column++)
    {
      starts[column] = (int) entry;
      self->entry_of_diagonal[column] = entry;
      rows[entry++] = (int) column;
      for (; k < domain->inner->len && g_array_index (domain->inner, EfInnerLink, k).a == (int) column; k++)
        {
          self->entry_of_link[k] = entry;
          rows[entry++] = g_array_index (domain->inner, EfInnerLink, k).b;
        }
    }
  starts[domain->n] = (int) entry;
}

static void
fill_matrix (EfFilmSolver *self,
             const EfFilmLinks *links)
{
  const EfFilmDomain *domain = self->domain;
  double *values = self->matrix->x;

  memset (values, 0, self->matrix->nzmax * sizeof (double));
  for (guint k = 0; k < domain->inner->len; k++)
    {
      const EfInnerLink *link = &g_array_index (domain->inner, EfInnerLink, k);

      values[self->entry_of_link[k]] = -links->inner[k];
      values[self->entry_of_diagonal[link->a]] += links->inner[k];
      values[self->entry_of_diagonal[link->b]] += links->inner[k];
    }
  for (guint k = 0; k < domain->border->len; k++)
    values[self->entry_of_diagonal[g_array_index (domain->border, EfBorderLink, k).cell]] += links->border[k];
}

/* One for all solvers of the domain, whichever thread comes first. */
static const EfCondenseTree *
domain_tree (EfFilmDomain *domain)
{
  if (g_atomic_pointer_get (&domain->tree) == NULL)
    {
      EfCondenseTree *tree = ef_condense_tree_new (domain);

      if (!g_atomic_pointer_compare_and_exchange (&domain->tree, NULL, tree))
        ef_condense_tree_free (tree);
    }

  return g_atomic_pointer_get (&domain->tree);
}

EfFilmSolver *
ef_film_solver_new (EfFilmDomain *domain,
                    EfFilmMethod method)
{
  EfFilmSolver *self = g_new0 (EfFilmSolver, 1);

  self->domain = ef_film_domain_ref (domain);
  self->method = method;
  if (method == EF_FILM_MULTIGRID)
    {
      self->grids = ef_multigrid_new (domain);
      self->last = g_new0 (double, (gsize) domain->n * domain->n_groups);
      return self;
    }
  if (method == EF_FILM_CONDENSE)
    {
      self->condense = ef_condense_new (domain, domain_tree (domain));
      return self;
    }
  cholmod_start (&self->common);
  self->common.print = 0;
  self->common.nmethods = 1;
  self->common.method[0].ordering = CHOLMOD_AMD;
  self->common.supernodal = CHOLMOD_SIMPLICIAL;
  build_pattern (self);
  self->factor = cholmod_analyze (self->matrix, &self->common);

  return self;
}

void
ef_film_solver_free (EfFilmSolver *self)
{
  if (self == NULL)
    return;
  if (self->method == EF_FILM_CHOLMOD)
    {
      cholmod_free_factor (&self->factor, &self->common);
      cholmod_free_sparse (&self->matrix, &self->common);
      cholmod_finish (&self->common);
    }
  ef_multigrid_free (self->grids);
  ef_condense_free (self->condense);
  g_free (self->last);
  g_free (self->entry_of_link);
  g_free (self->entry_of_diagonal);
  ef_film_domain_unref (self->domain);
  g_free (self);
}

/* rhs of unit pressure in a group. */
static void
fill_rhs (const EfFilmDomain *domain,
          const EfFilmLinks *links,
          guint group,
          double *rhs)
{
  memset (rhs, 0, domain->n * sizeof (double));
  for (guint k = 0; k < domain->border->len; k++)
    {
      const EfBorderLink *link = &g_array_index (domain->border, EfBorderLink, k);

      if (link->group == (int) group)
        rhs[link->cell] += links->border[k];
    }
}

static gboolean
solve_cholmod (EfFilmSolver *self,
               const EfFilmLinks *links,
               const guint *groups,
               guint n_wanted,
               double *fields,
               GError **error)
{
  guint n = self->domain->n;
  cholmod_dense *rhs;
  cholmod_dense *solution;

  fill_matrix (self, links);
  if (self->factor == NULL || !cholmod_factorize (self->matrix, self->factor, &self->common) || self->common.status != CHOLMOD_OK)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "film: the factorisation failed (status %d)", self->common.status);
      return FALSE;
    }
  rhs = cholmod_allocate_dense (n, n_wanted, n, CHOLMOD_REAL, &self->common);
  for (guint k = 0; k < n_wanted; k++)
    fill_rhs (self->domain, links, groups[k], (double *) rhs->x + (gsize) k * n);
  solution = cholmod_solve (CHOLMOD_A, self->factor, rhs, &self->common);
  cholmod_free_dense (&rhs, &self->common);
  if (solution == NULL)
    {
      g_set_error_literal (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "film: the solve failed");
      return FALSE;
    }
  memcpy (fields, solution->x, (gsize) n * n_wanted * sizeof (double));
  cholmod_free_dense (&solution, &self->common);

  return TRUE;
}

static gboolean
solve_multigrid (EfFilmSolver *self,
                 const EfFilmLinks *links,
                 const guint *groups,
                 guint n_wanted,
                 double *fields,
                 EfFilmCheck *check,
                 GCancellable *cancellable,
                 GError **error)
{
  guint n = self->domain->n;
  g_autofree double *rhs = g_new (double, n);

  ef_multigrid_set_links (self->grids, links);
  for (guint k = 0; k < n_wanted; k++)
    {
      double *last = self->last + (gsize) groups[k] * n;
      double residual;
      int iterations;

      fill_rhs (self->domain, links, groups[k], rhs);
      iterations = ef_multigrid_solve (self->grids, rhs, last, TOLERANCE, 500, &residual, cancellable);
      if (iterations < 0 && g_cancellable_is_cancelled (cancellable))
        {
          g_set_error_literal (error, EF_ERROR, EF_ERROR_CANCELLED, "film: cancelled");
          return FALSE;
        }
      if (iterations < 0)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "film: the multigrid solve stopped at a residual of %.3g", residual);
          return FALSE;
        }
      check->iterations += iterations;
      memcpy (fields + (gsize) k * n, last, n * sizeof (double));
    }

  return TRUE;
}

/* Flows out of each group for one field, by the links to it. */
static void
read_flows (const EfFilmDomain *domain,
            const EfFilmLinks *links,
            guint group,
            const double *field,
            double *flows)
{
  for (guint g = 0; g < domain->n_groups; g++)
    flows[g] = 0.0;
  for (guint k = 0; k < domain->border->len; k++)
    {
      const EfBorderLink *link = &g_array_index (domain->border, EfBorderLink, k);

      flows[link->group] += links->border[k] * ((link->group == (int) group ? 1.0 : 0.0) - field[link->cell]);
    }
}

static double
field_residual (const EfFilmDomain *domain,
                const EfFilmLinks *links,
                guint group,
                const double *field)
{
  g_autofree double *r = g_new (double, domain->n);
  double norm = 0.0, sum = 0.0;

  fill_rhs (domain, links, group, r);
  for (guint i = 0; i < domain->n; i++)
    norm += r[i] * r[i];
  for (guint k = 0; k < domain->border->len; k++)
    {
      int cell = g_array_index (domain->border, EfBorderLink, k).cell;

      r[cell] -= links->border[k] * field[cell];
    }
  for (guint k = 0; k < domain->inner->len; k++)
    {
      const EfInnerLink *link = &g_array_index (domain->inner, EfInnerLink, k);
      double flow = links->inner[k] * (field[link->a] - field[link->b]);

      r[link->a] -= flow;
      r[link->b] += flow;
    }
  for (guint i = 0; i < domain->n; i++)
    sum += r[i] * r[i];

  return norm > 0.0 ? sqrt (sum / norm) : 0.0;
}

static void
fill_conductances (const EfFilmDomain *domain,
                   const EfFilmLinks *links,
                   const guint *groups,
                   guint n_wanted,
                   const double *fields,
                   double *c,
                   EfFilmCheck *check)
{
  guint n_groups = domain->n_groups;
  g_autofree double *flows = g_new (double, n_groups);

  for (guint k = 0; k < n_groups * n_groups; k++)
    c[k] = NAN;
  for (guint k = 0; k < n_wanted; k++)
    {
      const double *field = fields + (gsize) k * domain->n;
      double sum = 0.0;
      double largest = 0.0;

      read_flows (domain, links, groups[k], field, flows);
      for (guint g = 0; g < n_groups; g++)
        {
          c[groups[k] * n_groups + g] = flows[g];
          c[g * n_groups + groups[k]] = flows[g];
          sum += flows[g];
          largest = MAX (largest, fabs (flows[g]));
        }
      if (largest > 0.0)
        check->imbalance = MAX (check->imbalance, fabs (sum) / largest);
      if (check->want_residual)
        check->residual = MAX (check->residual, field_residual (domain, links, groups[k], field));
    }
}

/* Flows of all groups at once, without a field. */
static gboolean
solve_condense (EfFilmSolver *self,
                const EfFilmLinks *links,
                double *c,
                EfFilmCheck *check,
                GError **error)
{
  guint n = self->domain->n_groups;

  check->residual = NAN;
  if (!ef_condense_solve (self->condense, links, c, &check->iterations, error))
    return FALSE;
  for (guint g = 0; g < n; g++)
    {
      double sum = 0.0, largest = 0.0;

      for (guint h = 0; h < n; h++)
        {
          sum += c[g * n + h];
          largest = MAX (largest, fabs (c[g * n + h]));
        }
      if (largest > 0.0)
        check->imbalance = MAX (check->imbalance, fabs (sum) / largest);
    }

  return TRUE;
}

static gboolean
check_balance (const EfFilmCheck *check,
               GError **error)
{
  if (check->imbalance <= IMBALANCE)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "film: flow in and flow out differ by %.3g of the largest", check->imbalance);

  return FALSE;
}

gboolean
ef_film_solve (EfFilmSolver *self,
               const EfFilmLinks *links,
               const gboolean *wanted,
               double *c,
               double *fields,
               EfFilmCheck *check_out,
               GCancellable *cancellable,
               GError **error)
{
  const EfFilmDomain *domain = self->domain;
  g_autofree guint *groups = g_new (guint, domain->n_groups);
  g_autofree double *solved = NULL;
  EfFilmCheck check = { .want_residual = check_out != NULL && check_out->want_residual };
  guint n_wanted = 0;
  gboolean ok;

  if (self->method == EF_FILM_CONDENSE && fields != NULL)
    {
      g_autoptr (EfFilmSolver) direct = ef_film_solver_new (self->domain, EF_FILM_CHOLMOD);

      return ef_film_solve (direct, links, wanted, c, fields, check_out, cancellable, error);
    }
  if (self->method == EF_FILM_CONDENSE)
    {
      ok = solve_condense (self, links, c, &check, error);
      if (check_out != NULL)
        *check_out = check;
      return ok && check_balance (&check, error);
    }
  for (guint g = 0; g < domain->n_groups; g++)
    if (wanted == NULL || wanted[g])
      groups[n_wanted++] = g;
  solved = g_new (double, (gsize) domain->n * MAX (n_wanted, 1));
  if (self->method == EF_FILM_MULTIGRID)
    ok = solve_multigrid (self, links, groups, n_wanted, solved, &check, cancellable, error);
  else
    ok = solve_cholmod (self, links, groups, n_wanted, solved, error);
  if (!ok)
    return FALSE;

  fill_conductances (domain, links, groups, n_wanted, solved, c, &check);
  for (guint k = 0; fields != NULL && k < n_wanted; k++)
    memcpy (fields + (gsize) groups[k] * domain->n, solved + (gsize) k * domain->n, domain->n * sizeof (double));
  if (!check.want_residual)
    check.residual = NAN;
  if (check_out != NULL)
    *check_out = check;

  return check_balance (&check, error);
}

EfFilmSystem *
ef_film_system (const EfFilmDomain *domain,
                const EfFilmLinks *links)
{
  EfFilmSystem *system = g_new0 (EfFilmSystem, 1);
  guint n_inner = domain->inner->len;

  system->n = domain->n;
  system->n_entries = domain->n + n_inner;
  system->row = g_new (int, system->n_entries);
  system->col = g_new (int, system->n_entries);
  system->value = g_new0 (double, system->n_entries);
  for (guint i = 0; i < domain->n; i++)
    system->row[i] = system->col[i] = (int) i;
  for (guint k = 0; k < n_inner; k++)
    {
      const EfInnerLink *link = &g_array_index (domain->inner, EfInnerLink, k);

      system->row[domain->n + k] = link->b;
      system->col[domain->n + k] = link->a;
      system->value[domain->n + k] = -links->inner[k];
      system->value[link->a] += links->inner[k];
      system->value[link->b] += links->inner[k];
    }
  system->n_boundary = domain->border->len;
  system->boundary_cell = g_new (int, MAX (system->n_boundary, 1));
  system->boundary_group = g_new (int, MAX (system->n_boundary, 1));
  system->boundary_value = g_memdup2 (links->border, MAX (system->n_boundary, 1) * sizeof (double));
  for (guint k = 0; k < system->n_boundary; k++)
    {
      const EfBorderLink *link = &g_array_index (domain->border, EfBorderLink, k);

      system->boundary_cell[k] = link->cell;
      system->boundary_group[k] = link->group;
      system->value[link->cell] += links->border[k];
    }

  return system;
}

void
ef_film_system_free (EfFilmSystem *system)
{
  if (system == NULL)
    return;
  g_free (system->row);
  g_free (system->col);
  g_free (system->value);
  g_free (system->boundary_cell);
  g_free (system->boundary_group);
  g_free (system->boundary_value);
  g_free (system);
}
