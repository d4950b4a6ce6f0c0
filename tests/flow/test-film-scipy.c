/* A gear end's film against an independent assembly and solve: NumPy and SciPy (Debian's python3-scipy).
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "film-problem.h"

#include <math.h>

static void
compare (int gear,
         guint side)
{
  EfFlowGeometry geometry;
  EfMesh mesh;
  g_auto (EfFilmShape) shape = { 0 };
  g_autoptr (EfFilmDomain) domain = NULL;
  g_autoptr (EfFilmLinks) links = NULL;
  g_autofree double *ours = NULL;
  g_autofree double *theirs = NULL;
  g_autoptr (GError) error = NULL;
  double depth = 80e-6;
  double largest = 0.0;
  double worst[3] = { 0.0 };
  guint cells;

  film_problem_geometry (&geometry);
  g_assert_true (ef_mesh_at (&geometry.pair, geometry.suction_angle, geometry.delivery_angle, 0.9e-3, &mesh, NULL));
  shape = ef_gear_face_shape (&geometry, &mesh, gear, 0);
  domain = ef_film_domain_new (&shape, side, &error);
  g_assert_no_error (error);
  links = ef_film_links_new (domain, film_problem_gap, NULL, &depth, EF_FILM_ROWS, NULL);
  ours = g_new (double, shape.n_groups * shape.n_groups);
  theirs = film_problem_scipy (&shape, side, film_problem_gap, &depth, NULL, &cells);
  g_assert_cmpuint (ef_film_domain_n_cells (domain), ==, cells);
  for (guint k = 0; k < shape.n_groups * shape.n_groups; k++)
    largest = MAX (largest, fabs (theirs[k]));
  for (int method = EF_FILM_CHOLMOD; method <= EF_FILM_CONDENSE; method++)
    {
      g_autoptr (EfFilmSolver) solver = ef_film_solver_new (domain, method);

      g_assert_true (ef_film_solve (solver, links, NULL, ours, NULL, NULL, NULL, &error));
      g_assert_no_error (error);
      for (guint k = 0; k < shape.n_groups * shape.n_groups; k++)
        worst[method] = MAX (worst[method], fabs (ours[k] - theirs[k]) / largest);
      g_assert_cmpfloat (worst[method], <, 1e-8);
    }
  g_test_message ("%s gear, %u cells to the side, %u unknowns: worst difference, of the largest conductance: CHOLMOD %.2g, multigrid %.2g, condensation %.2g",
                  gear == 0 ? "drive" : "driven", side, cells, worst[0], worst[1], worst[2]);
  ef_flow_geometry_clear (&geometry);
}

static void
test_against_scipy (void)
{
  compare (0, 48);
  compare (1, 48);
  compare (0, 96);
}

int
main (int argc,
      char **argv)
{
  g_test_init (&argc, &argv, NULL);
  g_test_add_func ("/flow/film/equals-scipy", test_against_scipy);

  return g_test_run ();
}
