/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-bore.h"

#include <math.h>

#define SAME_DIRECTION (G_PI / 180e3)

double
ef_angle_modulo_pi (double angle)
{
  double t = fmod (angle, G_PI);

  if (t < 0)
    t += G_PI;
  return t >= G_PI ? 0 : t;
}

static int
compare_doubles (gconstpointer a,
                 gconstpointer b)
{
  double left = *(const double *) a;
  double right = *(const double *) b;

  return left < right ? -1 : left > right;
}

static guint
count_directions (const double *angles,
                  guint n)
{
  g_autofree double *sorted = g_new (double, MAX (n, 1));
  guint count = n > 0 ? 1 : 0;

  for (guint i = 0; i < n; i++)
    sorted[i] = ef_angle_modulo_pi (angles[i]);
  qsort (sorted, n, sizeof (double), compare_doubles);
  for (guint i = 1; i < n; i++)
    if (sorted[i] - sorted[i - 1] > SAME_DIRECTION)
      count++;
  if (count > 1 && sorted[0] + G_PI - sorted[n - 1] <= SAME_DIRECTION)
    count--;

  return count;
}

static gboolean
check_diameters (const double *angles,
                 const double *diameters,
                 const double *u,
                 guint n,
                 GError **error)
{
  guint directions;

  for (guint i = 0; i < n; i++)
    {
      if (!(fabs (angles[i]) <= 1e3))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "diameters[%u]: angle: expected a number, found %g", i, angles[i]);
          return FALSE;
        }
      if (!(diameters[i] > 0 && diameters[i] <= 10))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "diameters[%u]: diameter: expected a length above 0 and up to 10 m, found %g m",
                       i, diameters[i]);
          return FALSE;
        }
      if (u != NULL && !(u[i] >= 0 && u[i] <= 1))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "diameters[%u]: uncertainty: expected 0 or more, found %g m", i, u[i]);
          return FALSE;
        }
    }

  directions = count_directions (angles, n);
  if (directions < EF_BORE_MIN_DIRECTIONS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "diameters: expected at least %d directions, found %u", EF_BORE_MIN_DIRECTIONS, directions);
      return FALSE;
    }

  return TRUE;
}

/* Inverse of a symmetric positive definite 3x3 matrix by cofactors; FALSE when it's singular to working precision. */
static gboolean
invert (const double m[3][3],
        double inverse[3][3])
{
  double determinant = 0;

  for (int i = 0; i < 3; i++)
    for (int j = 0; j < 3; j++)
      {
        int a = (i + 1) % 3, b = (i + 2) % 3, c = (j + 1) % 3, d = (j + 2) % 3;

        inverse[j][i] = m[a][c] * m[b][d] - m[a][d] * m[b][c];
      }
  for (int j = 0; j < 3; j++)
    determinant += m[0][j] * inverse[j][0];
  if (!(determinant > 1e-12 * m[0][0] * m[0][0] * m[0][0]))
    return FALSE;

  for (int i = 0; i < 3; i++)
    for (int j = 0; j < 3; j++)
      inverse[i][j] /= determinant;
  return TRUE;
}

gboolean
ef_bore_from_diameters (const double *angles,
                        const double *diameters,
                        const double *u,
                        guint n,
                        EfBoreShape *shape,
                        GError **error)
{
  double normal[3][3] = { { 0 } };
  double inverse[3][3];
  double right[3] = { 0 };
  double fit[3] = { 0 };
  double u2[3] = { 0 };
  double squares = 0, amplitude;
  double d0, u2_pp = 0, u2_direction = 0;

  if (!check_diameters (angles, diameters, u, n, error))
    return FALSE;

  d0 = diameters[0];
  for (guint i = 0; i < n; i++)
    {
      const double row[3] = { 1, cos (2 * angles[i]), sin (2 * angles[i]) };

      for (int j = 0; j < 3; j++)
        {
          right[j] += row[j] * (diameters[i] - d0);
          for (int k = 0; k < 3; k++)
            normal[j][k] += row[j] * row[k];
        }
    }
  if (!invert (normal, inverse))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "diameters: expected directions spread over the half turn, found them too close together");
      return FALSE;
    }
  for (int j = 0; j < 3; j++)
    for (int k = 0; k < 3; k++)
      fit[j] += inverse[j][k] * right[k];

  amplitude = hypot (fit[1], fit[2]);
  for (guint i = 0; i < n; i++)
    {
      const double row[3] = { 1, cos (2 * angles[i]), sin (2 * angles[i]) };
      double e = diameters[i] - d0 - fit[0] - fit[1] * row[1] - fit[2] * row[2];
      double gain[3];
      double along, across;

      squares += e * e;
      for (int j = 0; j < 3; j++)
        gain[j] = inverse[j][0] * row[0] + inverse[j][1] * row[1] + inverse[j][2] * row[2];
      along = amplitude > 0 ? (fit[1] * gain[1] + fit[2] * gain[2]) / amplitude : hypot (gain[1], gain[2]);
      across = amplitude > 0 ? (fit[1] * gain[2] - fit[2] * gain[1]) / (amplitude * amplitude) / 2 : 0;
      u2[0] += u != NULL ? gain[0] * gain[0] * u[i] * u[i] : 0;
      u2_pp += u != NULL ? 4 * along * along * u[i] * u[i] : 0;
      u2_direction += u != NULL ? across * across * u[i] * u[i] : 0;
    }

  *shape = (EfBoreShape){
    .mean = d0 + fit[0],
    .amplitude = amplitude / 2,
    .elongation = 2 * amplitude,
    .direction = amplitude > 0 ? ef_angle_modulo_pi (atan2 (fit[2], fit[1]) / 2) : NAN,
    .residual = sqrt (squares / n),
    .u_mean = u != NULL ? sqrt (u2[0]) : NAN,
    .u_elongation = u != NULL ? sqrt (u2_pp) : NAN,
    .u_direction = u == NULL ? NAN : amplitude > 0 ? sqrt (u2_direction) : INFINITY,
  };
  return TRUE;
}
