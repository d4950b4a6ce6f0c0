/* The oil film between two flat faces: the two-dimensional Reynolds equation on a grid of square cells.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 *   div (h^3 / 12 grad p) = 0        flow is that divided by mu                              [Reynolds 1886]
 *
 * Conservative cell-centred finite volumes. A cell is film when its centre is. Where a grid line from a cell's centre meets a
 * region of fixed pressure before the next centre, the true distance to it counts (never below 0.001 cell). Regions of
 * fixed pressure are numbered groups. The domain holds the geometry alone; gaps come with each solve, so that the
 * symbolic analysis serves as long as only gaps change.
 */
#pragma once

#include <gio/gio.h>
#include "../geometry/ef-polygon.h"

G_BEGIN_DECLS

#define EF_FILM_NO_FLUX (-1)

/* A closed outline whose pieces (from point i to i + 1) border on groups. @group has one entry a piece, or is NULL when @all holds
 * for the whole ring. */
typedef struct
{
  EfRing ring;
  int *group;
  int all;
} EfFilmRing;

/* The film is what lies inside @outer and outside every hole. Rings may cross each other. */
typedef struct
{
  EfFilmRing outer;
  guint n_holes;
  EfFilmRing *holes;
  guint n_groups;
  double x0, y0, size; /* the square that the grid covers, m */
} EfFilmShape;
void ef_film_shape_clear (EfFilmShape *shape); /* frees rings and groups */
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (EfFilmShape, ef_film_shape_clear)

typedef struct _EfFilmDomain EfFilmDomain;

/* @n cells to the side. Fails when there's no film or no fixed pressure. */
EfFilmDomain *ef_film_domain_new (const EfFilmShape *shape, guint n, GError **error);
EfFilmDomain *ef_film_domain_ref (EfFilmDomain *domain);
void ef_film_domain_unref (EfFilmDomain *domain);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfFilmDomain, ef_film_domain_unref)

guint ef_film_domain_n_cells (const EfFilmDomain *domain); /* unknowns */
guint ef_film_domain_n_groups (const EfFilmDomain *domain); /* regions of fixed pressure */
guint ef_film_domain_side (const EfFilmDomain *domain); /* cells to the side */
double ef_film_domain_cell (const EfFilmDomain *domain); /* m */
/* Index of the unknown at column i, row j; -1 where there's no film. */
int ef_film_domain_index (const EfFilmDomain *domain, guint i, guint j);
void ef_film_domain_place (const EfFilmDomain *domain, guint cell, double *x, double *y); /* its centre */

/* How the gap within a cell is brought to one number a direction.
 * AREA_MEAN: mean of h^3. Right for a groove along the flow, high across it.
 * ROWS: sub-cell rows side by side, each the sub-cells in series. Right along and across; a little low for slanting grooves. */
typedef enum { EF_FILM_AREA_MEAN, EF_FILM_ROWS } EfFilmMean;

/* h^3 at a place (m3): what a gap function returns, so that it may average over what it knows to be finer still. */
typedef double (*EfFilmGap) (double x, double y, gpointer user_data);
/* TRUE and h^3 in @cube_out where the gap is the same all over the square of @half to each side: saves the samples there. */
typedef gboolean (*EfFilmEven) (double x, double y, double half, gpointer user_data, double *cube_out);

/* The mobilities of one gap: h^3 on each link, from 4 x 4 samples a cell. */
typedef struct _EfFilmLinks EfFilmLinks;
EfFilmLinks *ef_film_links_new (const EfFilmDomain *domain, EfFilmGap gap, EfFilmEven even, gpointer user_data, EfFilmMean mean, GError **error); /* @even may be NULL */
/* TRUE where the gap of the square is what it was when the links were made. */
typedef gboolean (*EfFilmSame) (double x, double y, double half, gpointer user_data);
/* Samples again only where @same doesn't hold. After an error the links are good for nothing but ef_film_links_free(). */
gboolean ef_film_links_update (const EfFilmDomain *domain, EfFilmLinks *links, EfFilmGap gap, EfFilmEven even, EfFilmSame same, gpointer user_data, EfFilmMean mean, GError **error);
EfFilmLinks *ef_film_links_new_uniform (const EfFilmDomain *domain, double h, GError **error);
void ef_film_links_free (EfFilmLinks *links);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfFilmLinks, ef_film_links_free)

/* CONDENSE: keeps the condensed matrices of parts of the face, so that a local edit costs what the parts it touches cost; where fields are asked for it
 * goes by CHOLMOD. The others solve for fields. */
typedef enum { EF_FILM_CHOLMOD, EF_FILM_MULTIGRID, EF_FILM_CONDENSE } EfFilmMethod;

/* A solver keeps what can be kept for one domain: CHOLMOD's analysis, the grids and the last fields, or the condensed parts. One thread at a time. */
typedef struct _EfFilmSolver EfFilmSolver;
EfFilmSolver *ef_film_solver_new (EfFilmDomain *domain, EfFilmMethod method);
void ef_film_solver_free (EfFilmSolver *solver);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfFilmSolver, ef_film_solver_free)

typedef struct
{
  gboolean want_residual; /* in: have it worked out, which costs about a tenth of the solve */
  double residual; /* worst relative residual of the fields; NAN when not wanted */
  double imbalance; /* |sum of flows| / largest flow, worst over the fields */
  guint iterations; /* multigrid: summed over the fields; condensation: parts worked out again */
} EfFilmCheck;

/* Conductances between groups, m3 (flow = conductance dp / mu): @c is n_groups x n_groups, symmetric, rows sum to 0; c[g][h] for g != h
 * is minus the flow from g to h for unit pressure in g. Only groups for which @wanted is TRUE are solved for; the others' mutual entries
 * stay NAN (NULL: all; condensation always gives all). @fields, if not NULL, receives one field of n_cells a wanted group (n_groups x n_cells; unit pressure in
 * that group). Fails with EF_ERROR_NOT_CONVERGED when the flows don't balance to 1e-8. */
gboolean ef_film_solve (EfFilmSolver *solver, const EfFilmLinks *links, const gboolean *wanted, double *c, double *fields, EfFilmCheck *check, GCancellable *cancellable, GError **error);

/* The assembled system, for checks by other programs: lower triangle with diagonal as n entries, and the links to groups. */
typedef struct
{
  guint n, n_entries, n_boundary;
  int *row, *col;
  double *value;
  int *boundary_cell, *boundary_group;
  double *boundary_value;
} EfFilmSystem;
EfFilmSystem *ef_film_system (const EfFilmDomain *domain, const EfFilmLinks *links);
void ef_film_system_free (EfFilmSystem *system);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfFilmSystem, ef_film_system_free)

G_END_DECLS
