/* A film problem written out for another program to solve: see film_reference.py.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "flow/ef-gear-face.h"

/* The worked section of the computation specification: z 12/12, m 3, x 0.3; ports |x| < 5 mm, |y| > 6 mm. */
void film_problem_geometry (EfFlowGeometry *geometry);
/* A plate with debris grooves that run from delivery to suction, over an even film. @user_data: const double *depth. */
double film_problem_gap (double x, double y, gpointer user_data);
/* Solves it with SciPy: n_groups^2 conductances (free with g_free()), and the seconds its sparse solver took. Aborts the test on failure. */
double *film_problem_scipy (const EfFilmShape *shape, guint side, EfFilmGap gap, gpointer user_data, double *seconds_out, guint *cells_out);
