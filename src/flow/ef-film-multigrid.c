/* Conjugate gradients with a geometric multigrid preconditioner.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each grid is a dense square with a rim of zeros, so that a smoothing sweep has no branches: cells that aren't film have no
 * links and an inverse diagonal of 0. A coarser grid merges 2 x 2 cells; its links are two fine ones side by side over twice the way. The
 * V-cycle smooths red-black before and black-red after, which keeps it symmetric, as conjugate gradients need.
 */
#include "ef-film-private.h"

#include <math.h>
#include <string.h>

#define COARSEST 4

typedef struct
{
  guint side, stride;
  gsize size;
  double *right, *up, *border; /* links to the next cell, and the sum of those to fixed pressures */
  double *diagonal, *inverse;
  double *x, *b, *r;
} Grid;

struct _EfMultigrid
{
  const EfFilmDomain *domain;
  guint n_grids;
  Grid *grids;
  gsize *place; /* of each unknown on the finest grid */
  double *r, *z, *p, *q;
};

static void
grid_init (Grid *grid,
           guint side)
{
  grid->side = side;
  grid->stride = side + 2;
  grid->size = (gsize) grid->stride * grid->stride;
  grid->right = g_new0 (double, grid->size);
  grid->up = g_new0 (double, grid->size);
  grid->border = g_new0 (double, grid->size);
  grid->diagonal = g_new0 (double, grid->size);
  grid->inverse = g_new0 (double, grid->size);
  grid->x = g_new0 (double, grid->size);
  grid->b = g_new0 (double, grid->size);
  grid->r = g_new0 (double, grid->size);
}

static void
grid_clear (Grid *grid)
{
  g_free (grid->right);
  g_free (grid->up);
  g_free (grid->border);
  g_free (grid->diagonal);
  g_free (grid->inverse);
  g_free (grid->x);
  g_free (grid->b);
  g_free (grid->r);
}

static gsize
grid_at (const Grid *grid,
         guint i,
         guint j)
{
  return (gsize) (j + 1) * grid->stride + i + 1;
}

static void
grid_finish (Grid *grid)
{
  for (guint j = 0; j < grid->side; j++)
    for (guint i = 0; i < grid->side; i++)
      {
        gsize k = grid_at (grid, i, j);
        double sum = grid->border[k] + grid->right[k] + grid->right[k - 1] + grid->up[k] + grid->up[k - grid->stride];

        grid->diagonal[k] = sum;
        grid->inverse[k] = sum > 0.0 ? 1.0 / sum : 0.0;
      }
}

static void
grid_coarsen (const Grid *fine,
              Grid *coarse)
{
  memset (coarse->right, 0, coarse->size * sizeof (double));
  memset (coarse->up, 0, coarse->size * sizeof (double));
  memset (coarse->border, 0, coarse->size * sizeof (double));
  for (guint j = 0; j < fine->side; j++)
    for (guint i = 0; i < fine->side; i++)
      {
        gsize k = grid_at (fine, i, j);
        gsize to = grid_at (coarse, i / 2, j / 2);

        coarse->border[to] += fine->border[k];
        if (i % 2 == 1)
          coarse->right[to] += 0.5 * fine->right[k];
        if (j % 2 == 1)
          coarse->up[to] += 0.5 * fine->up[k];
      }
  grid_finish (coarse);
}

EfMultigrid *
ef_multigrid_new (const EfFilmDomain *domain)
{
  EfMultigrid *self = g_new0 (EfMultigrid, 1);
  guint side = domain->side;
  guint n = 1;

  for (guint s = side; s > COARSEST; s = (s + 1) / 2)
    n++;
  self->domain = domain;
  self->n_grids = n;
  self->grids = g_new0 (Grid, n);
  for (guint k = 0; k < n; k++, side = (side + 1) / 2)
    grid_init (&self->grids[k], side);
  self->place = g_new (gsize, domain->n);
  for (guint i = 0; i < domain->n; i++)
    self->place[i] = grid_at (&self->grids[0], domain->column[i], domain->row[i]);
  self->r = g_new0 (double, self->grids[0].size);
  self->z = g_new0 (double, self->grids[0].size);
  self->p = g_new0 (double, self->grids[0].size);
  self->q = g_new0 (double, self->grids[0].size);

  return self;
}

void
ef_multigrid_free (EfMultigrid *self)
{
  if (self == NULL)
    return;
  for (guint k = 0; k < self->n_grids; k++)
    grid_clear (&self->grids[k]);
  g_free (self->grids);
  g_free (self->place);
  g_free (self->r);
  g_free (self->z);
  g_free (self->p);
  g_free (self->q);
  g_free (self);
}

void
ef_multigrid_set_links (EfMultigrid *self,
                        const EfFilmLinks *links)
{
  Grid *grid = &self->grids[0];

  memset (grid->right, 0, grid->size * sizeof (double));
  memset (grid->up, 0, grid->size * sizeof (double));
  memset (grid->border, 0, grid->size * sizeof (double));
  for (guint k = 0; k < self->domain->inner->len; k++)
    {
      const EfInnerLink *link = &g_array_index (self->domain->inner, EfInnerLink, k);

      (link->way == EF_WAY_RIGHT ? grid->right : grid->up)[self->place[link->a]] = links->inner[k];
    }
  for (guint k = 0; k < self->domain->border->len; k++)
    grid->border[self->place[g_array_index (self->domain->border, EfBorderLink, k).cell]] += links->border[k];
  grid_finish (grid);
  for (guint k = 1; k < self->n_grids; k++)
    grid_coarsen (&self->grids[k - 1], &self->grids[k]);
}

/* One half sweep over the cells with (i + j) % 2 == colour. */
static void
smooth (Grid *grid,
        guint colour)
{
  const gsize stride = grid->stride;

  for (guint j = 0; j < grid->side; j++)
    {
      gsize first = grid_at (grid, (j + colour) % 2, j);
      gsize end = grid_at (grid, grid->side, j);

      for (gsize k = first; k < end; k += 2)
        grid->x[k] = grid->inverse[k] *
                     (grid->b[k] + grid->right[k] * grid->x[k + 1] + grid->right[k - 1] * grid->x[k - 1] +
                      grid->up[k] * grid->x[k + stride] + grid->up[k - stride] * grid->x[k - stride]);
    }
}

/* y = A x on a grid. */
static void
apply (const Grid *grid,
       const double *x,
       double *y)
{
  const gsize stride = grid->stride;

  for (guint j = 0; j < grid->side; j++)
    {
      gsize first = grid_at (grid, 0, j);
      gsize end = grid_at (grid, grid->side, j);

      for (gsize k = first; k < end; k++)
        y[k] = grid->diagonal[k] * x[k] - grid->right[k] * x[k + 1] - grid->right[k - 1] * x[k - 1] -
               grid->up[k] * x[k + stride] - grid->up[k - stride] * x[k - stride];
    }
}

static void
restrict_residual (Grid *fine,
                   Grid *coarse)
{
  apply (fine, fine->x, fine->r);
  memset (coarse->b, 0, coarse->size * sizeof (double));
  for (guint j = 0; j < fine->side; j++)
    {
      gsize k = grid_at (fine, 0, j);
      gsize to = grid_at (coarse, 0, j / 2);

      for (guint i = 0; i < fine->side; i++, k++)
        coarse->b[to + i / 2] += fine->inverse[k] > 0.0 ? fine->b[k] - fine->r[k] : 0.0;
    }
}

static void
add_correction (Grid *fine,
                const Grid *coarse)
{
  for (guint j = 0; j < fine->side; j++)
    {
      gsize k = grid_at (fine, 0, j);
      gsize from = grid_at (coarse, 0, j / 2);

      for (guint i = 0; i < fine->side; i++, k++)
        fine->x[k] += fine->inverse[k] > 0.0 ? coarse->x[from + i / 2] : 0.0;
    }
}

static void
cycle (EfMultigrid *self,
       guint level)
{
  Grid *grid = &self->grids[level];

  memset (grid->x, 0, grid->size * sizeof (double));
  if (level + 1 == self->n_grids)
    {
      for (int k = 0; k < 8; k++)
        {
          smooth (grid, 0);
          smooth (grid, 1);
        }
      for (int k = 0; k < 8; k++)
        {
          smooth (grid, 1);
          smooth (grid, 0);
        }
      return;
    }
  smooth (grid, 0);
  smooth (grid, 1);
  restrict_residual (grid, &self->grids[level + 1]);
  cycle (self, level + 1);
  add_correction (grid, &self->grids[level + 1]);
  smooth (grid, 1);
  smooth (grid, 0);
}

static double
dot (const double *a,
     const double *b,
     gsize n)
{
  double sum = 0.0;

  for (gsize k = 0; k < n; k++)
    sum += a[k] * b[k];

  return sum;
}

static void
precondition (EfMultigrid *self)
{
  Grid *grid = &self->grids[0];

  memcpy (grid->b, self->r, grid->size * sizeof (double));
  cycle (self, 0);
  memcpy (self->z, grid->x, grid->size * sizeof (double));
}

int
ef_multigrid_solve (EfMultigrid *self,
                    const double *rhs,
                    double *x,
                    double tolerance,
                    guint most,
                    double *residual_out,
                    GCancellable *cancellable)
{
  Grid *grid = &self->grids[0];
  gsize size = grid->size;
  g_autofree double *solution = g_new0 (double, size);
  double norm = 0.0;
  double rho = 0.0;
  guint iteration;

  memset (self->p, 0, size * sizeof (double));
  for (guint i = 0; i < self->domain->n; i++)
    {
      solution[self->place[i]] = x[i];
      norm += rhs[i] * rhs[i];
    }
  norm = sqrt (norm);
  memset (self->r, 0, size * sizeof (double));
  apply (grid, solution, self->q);
  for (guint i = 0; i < self->domain->n; i++)
    self->r[self->place[i]] = rhs[i] - self->q[self->place[i]];

  *residual_out = 0.0;
  if (norm == 0.0)
    {
      memset (x, 0, self->domain->n * sizeof (double));
      return 0;
    }
  for (iteration = 0; iteration < most; iteration++)
    {
      double next, alpha;

      *residual_out = sqrt (dot (self->r, self->r, size)) / norm;
      if (*residual_out <= tolerance)
        break;
      if (g_cancellable_is_cancelled (cancellable))
        return -1;
      precondition (self);
      next = dot (self->r, self->z, size);
      for (gsize k = 0; k < size; k++)
        self->p[k] = self->z[k] + (iteration > 0 ? next / rho : 0.0) * self->p[k];
      rho = next;
      apply (grid, self->p, self->q);
      alpha = rho / dot (self->p, self->q, size);
      for (gsize k = 0; k < size; k++)
        {
          solution[k] += alpha * self->p[k];
          self->r[k] -= alpha * self->q[k];
        }
    }
  for (guint i = 0; i < self->domain->n; i++)
    x[i] = solution[self->place[i]];

  return *residual_out <= tolerance ? (int) iteration : -1;
}
