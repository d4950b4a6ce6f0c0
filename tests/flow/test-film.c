/* The film solver against closed forms, its own second method, and laws it must keep.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "flow/ef-film.h"
#include "flow/ef-slot.h"
#include "base/ef-error.h"

#include <math.h>
#include "../isolate.h"

#define MICRO 1e-6

/* A ring of inner and outer radius; group 0 outside, 1 inside. Slightly off the grid's middle, as real faces are. */
static EfFilmDomain *
annulus_domain (double inner,
                double outer,
                guint n)
{
  EfFilmShape shape = { 0 };
  EfFilmRing hole = { 0 };
  EfFilmDomain *domain;
  g_autoptr (GError) error = NULL;

  shape.outer.ring = ef_ring_circle (0.0, 0.0, outer, 5760);
  shape.outer.all = 0;
  hole.ring = ef_ring_circle (0.0, 0.0, inner, 5760);
  hole.all = 1;
  shape.n_holes = 1;
  shape.holes = &hole;
  shape.n_groups = 2;
  shape.x0 = shape.y0 = -outer;
  shape.size = 2.0 * outer;
  domain = ef_film_domain_new (&shape, n, &error);
  g_assert_no_error (error);
  ef_ring_clear (&shape.outer.ring);
  ef_ring_clear (&hole.ring);

  return domain;
}

static double
conductance (EfFilmDomain *domain,
             const EfFilmLinks *links,
             EfFilmMethod method)
{
  g_autoptr (EfFilmSolver) solver = ef_film_solver_new (domain, method);
  g_autoptr (GError) error = NULL;
  EfFilmCheck check = { .want_residual = TRUE };
  double c[4];

  g_assert_true (ef_film_solve (solver, links, NULL, c, NULL, &check, NULL, &error));
  g_assert_no_error (error);
  g_assert_cmpfloat (check.imbalance, <, 1e-9);
  g_assert_cmpfloat (check.residual, <, 1e-9);
  g_assert_cmpfloat_with_epsilon (c[1], c[2], 1e-9 * fabs (c[1]));

  return -c[1];
}

static double
condensed_conductance (EfFilmDomain *domain,
                       const EfFilmLinks *links)
{
  g_autoptr (EfFilmSolver) solver = ef_film_solver_new (domain, EF_FILM_CONDENSE);
  EfFilmCheck check = { 0 };
  double c[4];

  g_assert_true (ef_film_solve (solver, links, NULL, c, NULL, &check, NULL, NULL));
  g_assert_cmpfloat (check.imbalance, <, 1e-9);
  g_assert_true (c[1] == c[2]);

  return -c[1];
}

/* W2(a): h 40 um, 9 / 15.15 mm, 4 bar, 0.010 Pa s: 0.154433 L/min, 1e-4 at 128 cells, second order. Closed form. */
static void
test_annulus (void)
{
  const guint sides[] = { 64, 128, 256, 512 };
  double errors[G_N_ELEMENTS (sides)];
  double exact;

  g_assert_true (ef_annulus_flow (40 * MICRO, 9e-3, 15.15e-3, 4e5, 0.010, &exact, NULL));
  g_assert_cmpfloat_with_epsilon (exact * 6e4, 0.154433, 1e-6);
  for (gsize k = 0; k < G_N_ELEMENTS (sides); k++)
    {
      g_autoptr (EfFilmDomain) domain = annulus_domain (9e-3, 15.15e-3, sides[k]);
      g_autoptr (EfFilmLinks) links = ef_film_links_new_uniform (domain, 40 * MICRO, NULL);
      double q = conductance (domain, links, EF_FILM_CHOLMOD) * 4e5 / 0.010;

      errors[k] = q / exact - 1.0;
      g_test_message ("annulus, %u cells: relative error %.3g", sides[k], errors[k]);
    }
  g_test_message ("observed order from 64 to 512 cells: %.2f", log2 (fabs (errors[0] / errors[3])) / 3.0);
  g_assert_cmpfloat (fabs (errors[1]), <, 1e-4);
  g_assert_cmpfloat (log2 (fabs (errors[0] / errors[3])) / 3.0, >, 1.7);
}

typedef struct
{
  double h, depth, half_angle, ring_inner, ring_outer;
} Groove;

static double
sector_groove (double x,
               double y,
               gpointer data)
{
  const Groove *groove = data;
  double h = groove->h + (fabs (atan2 (y, x) - 0.3) < groove->half_angle ? groove->depth : 0.0);

  return h * h * h;
}

static double
ring_groove (double x,
             double y,
             gpointer data)
{
  const Groove *groove = data;
  double r = hypot (x, y);
  double h = groove->h + (r > groove->ring_inner && r < groove->ring_outer ? groove->depth : 0.0);

  return h * h * h;
}

static double
grooved_error (EfFilmGap gap,
               Groove *groove,
               guint n,
               EfFilmMean mean,
               double exact)
{
  g_autoptr (EfFilmDomain) domain = annulus_domain (9e-3, 15.15e-3, n);
  g_autoptr (EfFilmLinks) links = ef_film_links_new (domain, gap, NULL, groove, mean, NULL);

  return conductance (domain, links, EF_FILM_CHOLMOD) * 4e5 / 0.010 / exact - 1.0;
}

/* Grooves along and across the flow: closed forms (sector: parallel, ring: series of annuli; the ring's 1.1089 is W2's). */
static void
test_grooves (void)
{
  Groove groove = { 40 * MICRO, 80 * MICRO, 0.10, 11.0e-3, 11.6e-3 };
  const double radii[] = { 9e-3, 11.0e-3, 11.6e-3, 15.15e-3 };
  const double gaps[] = { 40 * MICRO, 120 * MICRO, 40 * MICRO };
  double plain, along, across;

  g_assert_true (ef_annulus_flow (40 * MICRO, 9e-3, 15.15e-3, 4e5, 0.010, &plain, NULL));
  g_assert_true (ef_grooved_annulus_flow (40 * MICRO, 9e-3, 15.15e-3, 0.20, 80 * MICRO, 4e5, 0.010, &along, NULL));
  g_assert_true (ef_series_annuli_flow (3, radii, gaps, 4e5, 0.010, &across, NULL));
  g_assert_cmpfloat_with_epsilon (across / plain, 1.1089, 5e-5);
  for (guint n = 64; n <= 512; n *= 2)
    {
      double rows_along = grooved_error (sector_groove, &groove, n, EF_FILM_ROWS, along);
      double rows_across = grooved_error (ring_groove, &groove, n, EF_FILM_ROWS, across);
      double mean_along = grooved_error (sector_groove, &groove, n, EF_FILM_AREA_MEAN, along);
      double mean_across = grooved_error (ring_groove, &groove, n, EF_FILM_AREA_MEAN, across);

      g_test_message ("%u cells: groove along the flow: rows %+.3f %%, area mean %+.3f %%; across: rows %+.3f %%, area mean %+.3f %%",
                      n, 100 * rows_along, 100 * mean_along, 100 * rows_across, 100 * mean_across);
      if (n < 512)
        continue;
      g_assert_cmpfloat (fabs (rows_along), <, 0.01);
      g_assert_cmpfloat (fabs (rows_across), <, 0.015);
      g_assert_cmpfloat (fabs (mean_along), <, 0.01);
      g_assert_cmpfloat (fabs (mean_across), <, 0.015);
    }
}

static void
test_methods_agree (void)
{
  Groove groove = { 40 * MICRO, 80 * MICRO, 0.10, 11.0e-3, 11.6e-3 };

  for (guint n = 33; n <= 256; n = n * 3 / 2)
    {
      g_autoptr (EfFilmDomain) domain = annulus_domain (9e-3, 15.15e-3, n);
      g_autoptr (EfFilmLinks) links = ef_film_links_new (domain, sector_groove, NULL, &groove, EF_FILM_ROWS, NULL);
      double direct = conductance (domain, links, EF_FILM_CHOLMOD);
      double iterated = conductance (domain, links, EF_FILM_MULTIGRID);

      double condensed = condensed_conductance (domain, links);

      g_assert_cmpfloat_with_epsilon (iterated / direct, 1.0, 1e-9);
      g_assert_cmpfloat_with_epsilon (condensed / direct, 1.0, 1e-9);
    }
}

/* A patch of another gap that wanders: for edits. */
typedef struct
{
  double x, y, half, depth;
} Patch;

static double
patched (double x,
         double y,
         gpointer data)
{
  const Patch *patches = data;
  double h = 40 * MICRO;

  for (int k = 0; k < 2; k++)
    if (fabs (x - patches[k].x) < patches[k].half && fabs (y - patches[k].y) < patches[k].half)
      h = 40 * MICRO + patches[k].depth;

  return h * h * h;
}

/* The second patch is all that changes: what it covered and what it covers. */
static Patch before_edit;

static gboolean
outside_patches (double x,
                 double y,
                 double half,
                 gpointer data)
{
  const Patch *now = (const Patch *) data + 1;
  const Patch *each[] = { now, &before_edit };

  for (int k = 0; k < 2; k++)
    if (fabs (x - each[k]->x) < each[k]->half + half && fabs (y - each[k]->y) < each[k]->half + half)
      return FALSE;

  return TRUE;
}

/* Edits one after another: links brought up to date are those made anew, and the condensed parts that are kept give what CHOLMOD gives from scratch. */
static void
test_condense (void)
{
  g_autoptr (EfFilmDomain) domain = annulus_domain (9e-3, 15.15e-3, 160);
  Patch patches[2] = { { 10e-3, 3e-3, 1e-3, 50 * MICRO }, { -11e-3, 2e-3, 1e-3, 20 * MICRO } };
  g_autoptr (EfFilmLinks) links = ef_film_links_new (domain, patched, NULL, patches, EF_FILM_ROWS, NULL);
  g_autoptr (EfFilmSolver) condensed = ef_film_solver_new (domain, EF_FILM_CONDENSE);
  EfFilmCheck first = { 0 };
  double c[4], expected[4];

  g_assert_true (ef_film_solve (condensed, links, NULL, c, NULL, &first, NULL, NULL));
  for (int round = 0; round < 20; round++)
    {
      g_autoptr (EfFilmLinks) fresh = NULL;
      g_autoptr (EfFilmSolver) direct = ef_film_solver_new (domain, EF_FILM_CHOLMOD);
      g_autoptr (EfFilmSystem) updated = NULL;
      g_autoptr (EfFilmSystem) anew = NULL;
      EfFilmCheck check = { 0 };

      before_edit = patches[1];
      patches[1] = (Patch) { 12e-3 * cos (round), 12e-3 * sin (round), 0.2e-3 + 0.1e-3 * round, (5 + 7 * round) * MICRO };
      g_assert_true (ef_film_links_update (domain, links, patched, NULL, outside_patches, patches, EF_FILM_ROWS, NULL));
      fresh = ef_film_links_new (domain, patched, NULL, patches, EF_FILM_ROWS, NULL);
      updated = ef_film_system (domain, links);
      anew = ef_film_system (domain, fresh);
      g_assert_cmpmem (updated->value, updated->n_entries * sizeof (double), anew->value, anew->n_entries * sizeof (double));
      g_assert_cmpmem (updated->boundary_value, updated->n_boundary * sizeof (double), anew->boundary_value, anew->n_boundary * sizeof (double));
      g_assert_true (ef_film_solve (condensed, links, NULL, c, NULL, &check, NULL, NULL));
      g_assert_true (ef_film_solve (direct, fresh, NULL, expected, NULL, NULL, NULL, NULL));
      for (int k = 0; k < 4; k++)
        g_assert_cmpfloat (fabs (c[k] / expected[k] - 1.0), <, 1e-10);
      g_assert_cmpfloat (check.imbalance, <, 1e-10);
      g_assert_cmpuint (check.iterations, <, first.iterations / 2);
      if (round == 0)
        g_test_message ("condensation: %u parts, %u worked out again after an edit", first.iterations, check.iterations);
    }
}

/* With fields asked for, by whichever way: the same. */
static void
test_condense_fields (void)
{
  g_autoptr (EfFilmDomain) domain = annulus_domain (9e-3, 15.15e-3, 48);
  g_autoptr (EfFilmLinks) links = ef_film_links_new_uniform (domain, 40 * MICRO, NULL);
  g_autoptr (EfFilmSolver) condensed = ef_film_solver_new (domain, EF_FILM_CONDENSE);
  guint n = ef_film_domain_n_cells (domain);
  g_autofree double *fields = g_new (double, 2 * n);
  double c[4], with[4];

  g_assert_true (ef_film_solve (condensed, links, NULL, c, NULL, NULL, NULL, NULL));
  g_assert_true (ef_film_solve (condensed, links, NULL, with, fields, NULL, NULL, NULL));
  g_assert_cmpfloat_with_epsilon (c[1] / with[1], 1.0, 1e-10);
  for (guint i = 0; i < n; i++)
    g_assert_cmpfloat_with_epsilon (fields[i] + fields[n + i], 1.0, 1e-9);
}

static void
test_warm_start (void)
{
  Groove groove = { 40 * MICRO, 80 * MICRO, 0.10, 11.0e-3, 11.6e-3 };
  g_autoptr (EfFilmDomain) domain = annulus_domain (9e-3, 15.15e-3, 256);
  g_autoptr (EfFilmLinks) before = ef_film_links_new (domain, sector_groove, NULL, &groove, EF_FILM_ROWS, NULL);
  g_autoptr (EfFilmSolver) solver = ef_film_solver_new (domain, EF_FILM_MULTIGRID);
  g_autoptr (EfFilmLinks) after = NULL;
  EfFilmCheck cold = { 0 };
  EfFilmCheck warm = { 0 };
  double c[4];

  g_assert_true (ef_film_solve (solver, before, NULL, c, NULL, &cold, NULL, NULL));
  groove.depth = 82 * MICRO;
  after = ef_film_links_new (domain, sector_groove, NULL, &groove, EF_FILM_ROWS, NULL);
  g_assert_true (ef_film_solve (solver, after, NULL, c, NULL, &warm, NULL, NULL));
  g_test_message ("multigrid iterations for 2 fields: cold %u, after a small edit %u", cold.iterations, warm.iterations);
  g_assert_cmpuint (warm.iterations, <, cold.iterations);
  g_assert_cmpuint (cold.iterations, <, 80);
}

static void
test_cubic_in_gap (void)
{
  g_autoptr (EfFilmDomain) domain = annulus_domain (9e-3, 15.15e-3, 64);
  g_autoptr (EfFilmLinks) once = ef_film_links_new_uniform (domain, 40 * MICRO, NULL);
  g_autoptr (EfFilmLinks) twice = ef_film_links_new_uniform (domain, 80 * MICRO, NULL);

  g_assert_cmpfloat_with_epsilon (conductance (domain, twice, EF_FILM_CHOLMOD) / conductance (domain, once, EF_FILM_CHOLMOD), 8.0, 1e-9);
}

static double
no_gap (double x,
        double y,
        gpointer data)
{
  return x > 0.0 ? 0.0 : 1e-15;
}

static void
test_refusals (void)
{
  g_autoptr (EfFilmDomain) domain = annulus_domain (9e-3, 15.15e-3, 32);
  g_autoptr (GError) error = NULL;
  EfFilmShape shape = { 0 };

  g_assert_null (ef_film_links_new_uniform (domain, 0.0, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_clear_error (&error);
  g_assert_null (ef_film_links_new (domain, no_gap, NULL, NULL, EF_FILM_ROWS, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_clear_error (&error);
  g_assert_null (ef_film_domain_new (&shape, 32, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/flow/film/annulus-second-order", test_annulus);
  g_test_add_func ("/flow/film/grooves-along-and-across", test_grooves);
  g_test_add_func ("/flow/film/methods-agree", test_methods_agree);
  g_test_add_func ("/flow/film/condensation-after-edits", test_condense);
  g_test_add_func ("/flow/film/condensation-with-fields", test_condense_fields);
  g_test_add_func ("/flow/film/warm-start", test_warm_start);
  g_test_add_func ("/flow/film/cubic-in-gap", test_cubic_in_gap);
  g_test_add_func ("/flow/film/refusals", test_refusals);

  return g_test_run ();
}
