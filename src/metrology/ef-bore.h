/* A bore or journal from diameters in several directions.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Model: d(t) = d0 + 2 A cos 2 (t - t2), least squares. Diameters tell the direction modulo pi only, and nothing of odd lobes.
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

#define EF_BORE_MIN_DIRECTIONS 5

typedef struct
{
  double mean;       /* d0, m */
  double amplitude;  /* A, radius amplitude of the second harmonic, m */
  double elongation; /* largest - smallest diameter of the model: 4 A, m */
  double direction;  /* t2, of the largest diameter, rad in [0, pi); NAN when A is 0 */
  double residual;   /* rms of what the model leaves, m */
  double u_mean, u_elongation; /* standard, m; first order */
  double u_direction;          /* rad; INFINITY when A is 0 */
} EfBoreShape;

/* @u: standard uncertainty of each diameter, independent; NULL: none known (results NAN). Fails with EF_ERROR_INVALID below 5
 * distinct directions (modulo pi, a thousandth of a degree apart at least). */
gboolean ef_bore_from_diameters (const double *angles, const double *diameters, const double *u, guint n, EfBoreShape *shape, GError **error);
/* Diameters at places along the axis: d(z) = d0 + slope (z - middle), least squares. */
typedef struct
{
  double slope;    /* m/m; above 0: wider at larger z */
  double taper;    /* slope x (largest z - smallest z), m */
  double mean;     /* of the line at the mean place, m */
  double residual; /* rms, m */
  double u_taper;  /* standard, m; NAN where no uncertainty was given */
} EfTaper;

/* @u as above. Fails with EF_ERROR_INVALID for fewer than 2 places along the axis that are a micrometre apart. */
gboolean ef_bore_taper (const double *places, const double *diameters, const double *u, guint n, EfTaper *taper, GError **error);
/* An angle brought to [0, pi). */
double ef_angle_modulo_pi (double angle);

G_END_DECLS
