/* The film solve against SciPy's sparse solver, and a re-solve after an edit against the first solve, in one run.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "../flow/film-problem.h"

#include <glib/gstdio.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

typedef struct
{
  double first, again, local; /* s: with the analysis; with it kept and all grooves changed; with one groove changed */
} Times;

/* Of this thread alone, as film_bench.py takes its process's: what other programs do on the machine counts as little as can be. */
static double
now (void)
{
  struct timespec spec;

  clock_gettime (CLOCK_THREAD_CPUTIME_ID, &spec);

  return (double) spec.tv_sec + 1e-9 * (double) spec.tv_nsec;
}

/* One short groove on a tooth, beside the others: a local edit. */
static double
one_more_groove (double x,
                 double y,
                 gpointer user_data)
{
  const double *depths = user_data;
  double cube = film_problem_gap (x, y, user_data);
  double h = 35e-6 + depths[1];

  return fabs (x - 12e-3) < 0.3e-3 && fabs (y) < 2e-3 ? MAX (cube, h * h * h) : cube;
}

static gboolean
beside_groove (double x,
               double y,
               double half,
               gpointer user_data)
{
  return fabs (x - 12e-3) > 0.3e-3 + half || fabs (y) > 2e-3 + half;
}

static Times
time_ours (EfFilmDomain *domain,
           EfFilmMethod method,
           double *depth)
{
  guint n_groups = ef_film_domain_n_groups (domain);
  g_autofree double *c = g_new (double, n_groups * n_groups);
  g_autofree gboolean *wanted = g_new0 (gboolean, n_groups);
  Times times = { 0.0, INFINITY, INFINITY };
  double start = now ();
  g_autoptr (EfFilmSolver) solver = ef_film_solver_new (domain, method);
  g_autoptr (EfFilmLinks) links = ef_film_links_new (domain, film_problem_gap, NULL, depth, EF_FILM_ROWS, NULL);

  for (guint g = 0; g < n_groups; g++)
    wanted[g] = g != EF_GROUP_SUCTION && g != EF_GROUP_BORE;
  g_assert_true (ef_film_solve (solver, links, wanted, c, NULL, NULL, NULL, NULL));
  times.first = now () - start;
  for (int k = 0; k < 3; k++)
    {
      g_autoptr (EfFilmLinks) edited = NULL;

      *depth += 2e-6;
      start = now ();
      edited = ef_film_links_new (domain, film_problem_gap, NULL, depth, EF_FILM_ROWS, NULL);
      g_assert_true (ef_film_solve (solver, edited, wanted, c, NULL, NULL, NULL, NULL));
      times.again = MIN (times.again, now () - start);
    }
  g_clear_pointer (&links, ef_film_links_free);
  links = ef_film_links_new (domain, one_more_groove, NULL, depth, EF_FILM_ROWS, NULL);
  g_assert_true (ef_film_solve (solver, links, wanted, c, NULL, NULL, NULL, NULL));
  for (int k = 0; k < 3; k++)
    {
      depth[1] += 2e-6;
      start = now ();
      g_assert_true (ef_film_links_update (domain, links, one_more_groove, NULL, beside_groove, depth, EF_FILM_ROWS, NULL));
      g_assert_true (ef_film_solve (solver, links, wanted, c, NULL, NULL, NULL, NULL));
      times.local = MIN (times.local, now () - start);
    }

  return times;
}

static void
write_system (EfFilmDomain *domain,
              double *depth,
              const char *triplet_file,
              const char *rhs_file,
              guint *n_rhs)
{
  g_autoptr (EfFilmLinks) links = ef_film_links_new (domain, film_problem_gap, NULL, depth, EF_FILM_ROWS, NULL);
  g_autoptr (EfFilmSystem) system = ef_film_system (domain, links);
  g_autofree double *triplets = g_new (double, 3 * system->n_entries);
  guint n_groups = ef_film_domain_n_groups (domain);
  g_autofree double *rhs = g_new0 (double, (gsize) system->n * n_groups);

  for (guint k = 0; k < system->n_entries; k++)
    {
      triplets[3 * k] = system->row[k];
      triplets[3 * k + 1] = system->col[k];
      triplets[3 * k + 2] = system->value[k];
    }
  /* As many right-hand sides as ours: all groups but suction and bore. */
  *n_rhs = n_groups - 2;
  for (guint k = 0; k < system->n_boundary; k++)
    {
      int group = system->boundary_group[k];

      if (group != EF_GROUP_SUCTION && group != EF_GROUP_BORE)
        rhs[(gsize) (group == EF_GROUP_DELIVERY ? 0 : group - 2) * system->n + system->boundary_cell[k]] += system->boundary_value[k];
    }
  g_assert_true (g_file_set_contents (triplet_file, (const char *) triplets, 3 * system->n_entries * sizeof (double), NULL));
  g_assert_true (g_file_set_contents (rhs_file, (const char *) rhs, (gsize) system->n * *n_rhs * sizeof (double), NULL));
}

static double
time_scipy (EfFilmDomain *domain,
            double *depth)
{
  g_autofree char *script = g_test_build_filename (G_TEST_DIST, "bench", "film_bench.py", NULL);
  g_autofree char *folder = g_dir_make_tmp ("film-XXXXXX", NULL);
  g_autofree char *triplets = g_build_filename (folder, "triplets", NULL);
  g_autofree char *rhs = g_build_filename (folder, "rhs", NULL);
  g_autofree char *n = g_strdup_printf ("%u", ef_film_domain_n_cells (domain));
  g_autofree char *m = NULL;
  g_autofree char *output = NULL;
  const char *argv[] = { "/usr/bin/python3", script, triplets, rhs, n, NULL, NULL };
  guint n_rhs;

  write_system (domain, depth, triplets, rhs, &n_rhs);
  m = g_strdup_printf ("%u", n_rhs);
  argv[5] = m;
  g_assert_true (g_spawn_sync (NULL, (char **) argv, NULL, G_SPAWN_DEFAULT, NULL, NULL, &output, NULL, NULL, NULL));
  g_unlink (triplets);
  g_unlink (rhs);
  g_rmdir (folder);

  return g_ascii_strtod (output, NULL);
}

int
main (int argc,
      char **argv)
{
  EfFlowGeometry geometry;
  EfMesh mesh;
  double previous = 0.0;

  g_test_init (&argc, &argv, NULL);
  film_problem_geometry (&geometry);
  g_assert_true (ef_mesh_at (&geometry.pair, geometry.suction_angle, geometry.delivery_angle, 0.9e-3, &mesh, NULL));
  printf ("One gear end, debris grooves: assembly and solve. Times as shares of SciPy's factor and solve alone, which is on a matrix made ready.\n"
          "first: with all that is kept later; all: every groove changed; one: one groove changed.\n");
  printf ("%6s %9s  %-23s  %-23s  %-23s  %11s %8s\n", "cells", "unknowns", "CHOLMOD first all one", "multigrid first all one", "condense first all one", "SciPy / one", "growth");
  for (guint side = 64; side <= 512; side *= 2)
    {
      g_auto (EfFilmShape) shape = ef_gear_face_shape (&geometry, &mesh, 0, 0);
      g_autoptr (EfFilmDomain) domain = ef_film_domain_new (&shape, side, NULL);
      double depth[2] = { 80e-6, 50e-6 };
      double scipy = time_scipy (domain, depth);

      printf ("%4u^2 %9u ", side, ef_film_domain_n_cells (domain));
      for (int method = EF_FILM_CHOLMOD; method <= EF_FILM_CONDENSE; method++)
        {
          Times times = time_ours (domain, method, depth);

          printf (" %7.4f %7.4f %7.4f ", times.first / scipy, times.again / scipy, times.local / scipy);
          if (method != EF_FILM_CONDENSE)
            continue;
          printf (" %10.0fx %7.1fx\n", scipy / times.local, previous > 0.0 ? times.local / previous : 1.0);
          previous = times.local;
        }
    }
  ef_flow_geometry_clear (&geometry);

  return 0;
}
