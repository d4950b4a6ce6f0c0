/* What the files of the film solver share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "ef-film.h"

G_BEGIN_DECLS

/* The way from a cell's centre: right, up, left, down. */
typedef enum { EF_WAY_RIGHT, EF_WAY_UP, EF_WAY_LEFT, EF_WAY_DOWN, EF_N_WAYS } EfWay;

typedef struct
{
  int a, b; /* unknowns, a < b */
  EfWay way; /* from a to b: right or up */
} EfInnerLink;

typedef struct
{
  int cell;
  int group;
  EfWay way;
  double share; /* distance to the border / cell, 0.001 … 1 */
} EfBorderLink;

struct _EfFilmDomain
{
  guint side;
  double x0, y0, cell;
  int *index;  /* side x side, -1: none */
  guint n;     /* unknowns */
  guint *column, *row; /* of each unknown */
  GArray *inner;  /* EfInnerLink, sorted by a */
  GArray *border; /* EfBorderLink */
  guint n_groups;
  struct _EfCondenseTree *tree; /* made when first needed; (atomic) */
  gint ref_count;
};

struct _EfFilmLinks
{
  double *inner;  /* h^3 / 12, one an inner link */
  double *border; /* h^3 / 12 / share */
};

/* Multigrid's own part: grids by merging 2 x 2 cells, the coarse links being sums. */
typedef struct _EfMultigrid EfMultigrid;
EfMultigrid *ef_multigrid_new (const EfFilmDomain *domain);
void ef_multigrid_free (EfMultigrid *grids);
void ef_multigrid_set_links (EfMultigrid *grids, const EfFilmLinks *links);
/* Conjugate gradients preconditioned by one V-cycle. @x: start and result. Returns iterations, or -1. */
int ef_multigrid_solve (EfMultigrid *grids, const double *rhs, double *x, double tolerance, guint most, double *residual_out, GCancellable *cancellable);

/* Condensation: where a domain is cut, found once, and the matrices of one film. */
typedef struct _EfCondenseTree EfCondenseTree;
EfCondenseTree *ef_condense_tree_new (const EfFilmDomain *domain);
void ef_condense_tree_free (EfCondenseTree *tree);
typedef struct _EfCondense EfCondense;
EfCondense *ef_condense_new (const EfFilmDomain *domain, const EfCondenseTree *tree);
void ef_condense_free (EfCondense *self);
/* All of @c, n_groups x n_groups. @pieces_out: how many pieces held something new. */
gboolean ef_condense_solve (EfCondense *self, const EfFilmLinks *links, double *c, guint *pieces_out, GError **error);

G_END_DECLS
