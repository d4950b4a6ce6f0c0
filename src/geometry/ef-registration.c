/* Fitting a photo onto a face, and going from one to the other.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All is done in normalised coordinates: both point sets about their centres, with a mean distance of the square root of 2 (Hartley 1997), y of the photo
 * turned upwards. Parameters: similarity a, b, c, d in u = a x - b y + c, v = b x + a y + d; affine and projective h1 … h8 by rows, the last one 1.
 */
#include "ef-registration-private.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <math.h>
#include <string.h>

#define MOST_STEPS 200
#define SMALLEST_W 1e-6 /* nearer to the horizon than this, in normalised coordinates, a place can't be told */

static const char *const names[] = { "similarity", "affine", "projective" };

const char *
ef_registration_model_name (EfRegistrationModel model)
{
  g_return_val_if_fail ((guint) model < EF_N_REGISTRATION_MODELS, NULL);

  return names[model];
}

gboolean
ef_registration_model_from_name (const char *name,
                                 EfRegistrationModel *out)
{
  for (guint i = 0; i < EF_N_REGISTRATION_MODELS; i++)
    if (g_strcmp0 (name, names[i]) == 0)
      {
        *out = i;
        return TRUE;
      }

  return FALSE;
}

guint
ef_registration_least_pairs (EfRegistrationModel model)
{
  return 2 + (guint) model;
}

/* Scale, and the place that becomes 0, 0. */
static void
normalise (const EfRegistrationPair *pairs,
           guint n,
           gboolean photo,
           double norm[3])
{
  double x = 0, y = 0, distance = 0;

  for (guint i = 0; i < n; i++)
    {
      x += (photo ? pairs[i].x : pairs[i].u) / n;
      y += (photo ? pairs[i].y : pairs[i].v) / n;
    }
  for (guint i = 0; i < n; i++)
    distance += hypot ((photo ? pairs[i].x : pairs[i].u) - x, (photo ? pairs[i].y : pairs[i].v) - y) / n;
  norm[0] = G_SQRT2 / distance;
  norm[1] = x;
  norm[2] = y;
}

static void
to_normal (const EfRegistration *self,
           double x,
           double y,
           double *nx,
           double *ny)
{
  *nx = self->photo_norm[0] * (x - self->photo_norm[1]);
  *ny = -self->photo_norm[0] * (y - self->photo_norm[2]);
}

/* The pairs in normalised coordinates. */
static EfRegistrationPair *
normal_pairs (const EfRegistration *self,
              const EfRegistrationPair *pairs)
{
  EfRegistrationPair *out = g_new (EfRegistrationPair, self->n);

  for (guint i = 0; i < self->n; i++)
    {
      to_normal (self, pairs[i].x, pairs[i].y, &out[i].x, &out[i].y);
      out[i].u = self->face_norm[0] * (pairs[i].u - self->face_norm[1]);
      out[i].v = self->face_norm[0] * (pairs[i].v - self->face_norm[2]);
    }

  return out;
}

/* Where the parameters take (x, y), all normalised, and how that changes with them: 2 rows of n_parameters. @jacobian may be NULL. */
static void
evaluate (EfRegistrationModel model,
          const double *h,
          double x,
          double y,
          double place[2],
          double *jacobian)
{
  double w = 1;

  if (model == EF_REGISTRATION_SIMILARITY)
    {
      const double rows[8] = { x, -y, 1, 0, y, x, 0, 1 };

      place[0] = h[0] * x - h[1] * y + h[2];
      place[1] = h[1] * x + h[0] * y + h[3];
      if (jacobian != NULL)
        memcpy (jacobian, rows, sizeof rows);
      return;
    }
  if (model == EF_REGISTRATION_PROJECTIVE)
    w = h[6] * x + h[7] * y + 1;
  place[0] = (h[0] * x + h[1] * y + h[2]) / w;
  place[1] = (h[3] * x + h[4] * y + h[5]) / w;
  if (jacobian == NULL)
    return;
  for (guint r = 0; r < 2; r++)
    {
      double *row = jacobian + r * (model == EF_REGISTRATION_PROJECTIVE ? 8 : 6);

      memset (row, 0, (model == EF_REGISTRATION_PROJECTIVE ? 8 : 6) * sizeof (double));
      row[3 * r] = x / w;
      row[3 * r + 1] = y / w;
      row[3 * r + 2] = 1 / w;
      if (model == EF_REGISTRATION_PROJECTIVE)
        {
          row[6] = -x * place[r] / w;
          row[7] = -y * place[r] / w;
        }
    }
}

/* Linear in the parameters: the Jacobian is the design matrix. */
static gboolean
fit_linear (EfRegistration *self,
            const EfRegistrationPair *pairs,
            GError **error)
{
  guint p = self->n_parameters;
  gsl_matrix *design = gsl_matrix_alloc (2 * self->n, p);
  gsl_vector *places = gsl_vector_alloc (2 * self->n);
  gsl_vector_view parameters = gsl_vector_view_array (self->parameters, p);
  gsl_matrix *covariance = gsl_matrix_alloc (p, p);
  gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc (2 * self->n, p);
  double chisq, unused[2];
  int code;

  for (guint i = 0; i < self->n; i++)
    {
      double jacobian[16];

      evaluate (self->model, self->parameters, pairs[i].x, pairs[i].y, unused, jacobian);
      for (guint r = 0; r < 2; r++)
        for (guint k = 0; k < p; k++)
          gsl_matrix_set (design, 2 * i + r, k, jacobian[r * p + k]);
      gsl_vector_set (places, 2 * i, pairs[i].u);
      gsl_vector_set (places, 2 * i + 1, pairs[i].v);
    }
  code = gsl_multifit_linear (design, places, &parameters.vector, covariance, &chisq, work);
  gsl_multifit_linear_free (work);
  gsl_matrix_free (covariance);
  gsl_matrix_free (design);
  gsl_vector_free (places);
  if (code != 0)
    g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "pairs: no transform was found");

  return code == 0;
}

/* The direct linear transform: the right singular vector of the smallest singular value. FALSE where its last number vanishes. */
static gboolean
start_projective (EfRegistration *self,
                  const EfRegistrationPair *pairs)
{
  /* A row of zeros more with four pairs, since the decomposition wants at least as many rows as columns. */
  gsl_matrix *a = gsl_matrix_calloc (MAX (2 * self->n, 9), 9);
  gsl_matrix *v = gsl_matrix_alloc (9, 9);
  gsl_vector *s = gsl_vector_alloc (9);
  gsl_vector *work = gsl_vector_alloc (9);
  double last;

  for (guint i = 0; i < self->n; i++)
    {
      double x = pairs[i].x, y = pairs[i].y, u = pairs[i].u, w = pairs[i].v;
      const double rows[2][9] = { { x, y, 1, 0, 0, 0, -u * x, -u * y, -u }, { 0, 0, 0, x, y, 1, -w * x, -w * y, -w } };

      for (guint r = 0; r < 2; r++)
        for (guint k = 0; k < 9; k++)
          gsl_matrix_set (a, 2 * i + r, k, rows[r][k]);
    }
  gsl_linalg_SV_decomp (a, v, s, work);
  last = gsl_matrix_get (v, 8, 8);
  for (guint k = 0; k < 8; k++)
    self->parameters[k] = gsl_matrix_get (v, k, 8) / last;
  gsl_matrix_free (a);
  gsl_matrix_free (v);
  gsl_vector_free (s);
  gsl_vector_free (work);

  return fabs (last) > 1e-9;
}

typedef struct
{
  const EfRegistrationPair *pairs;
  guint n;
} Fit;

static int
fit_f (const gsl_vector *h,
       void *data,
       gsl_vector *f)
{
  const Fit *fit = data;

  for (guint i = 0; i < fit->n; i++)
    {
      double place[2];

      evaluate (EF_REGISTRATION_PROJECTIVE, gsl_vector_const_ptr (h, 0), fit->pairs[i].x, fit->pairs[i].y, place, NULL);
      gsl_vector_set (f, 2 * i, place[0] - fit->pairs[i].u);
      gsl_vector_set (f, 2 * i + 1, place[1] - fit->pairs[i].v);
    }

  return GSL_SUCCESS;
}

static int
fit_df (const gsl_vector *h,
        void *data,
        gsl_matrix *j)
{
  const Fit *fit = data;

  for (guint i = 0; i < fit->n; i++)
    {
      double place[2], jacobian[16];

      evaluate (EF_REGISTRATION_PROJECTIVE, gsl_vector_const_ptr (h, 0), fit->pairs[i].x, fit->pairs[i].y, place, jacobian);
      for (guint r = 0; r < 2; r++)
        for (guint k = 0; k < 8; k++)
          gsl_matrix_set (j, 2 * i + r, k, jacobian[8 * r + k]);
    }

  return GSL_SUCCESS;
}

static gboolean
refine_projective (EfRegistration *self,
                   const EfRegistrationPair *pairs,
                   GError **error)
{
  Fit fit = { pairs, self->n };
  gsl_multifit_nlinear_fdf fdf = { .f = fit_f, .df = fit_df, .n = 2 * self->n, .p = 8, .params = &fit };
  gsl_multifit_nlinear_parameters options = gsl_multifit_nlinear_default_parameters ();
  gsl_multifit_nlinear_workspace *work = gsl_multifit_nlinear_alloc (gsl_multifit_nlinear_trust, &options, 2 * self->n, 8);
  gsl_vector_view start = gsl_vector_view_array (self->parameters, 8);
  gsl_vector_view kept;
  int code, info;

  gsl_multifit_nlinear_init (&start.vector, &fdf, work);
  code = gsl_multifit_nlinear_driver (MOST_STEPS, 1e-14, 1e-14, 0, NULL, NULL, &info, work);
  /* No progress any more is the end of what doubles can do. */
  if (code == GSL_ENOPROG)
    code = GSL_SUCCESS;
  kept = gsl_vector_view_array (self->parameters, 8);
  gsl_vector_memcpy (&kept.vector, gsl_multifit_nlinear_position (work));
  gsl_multifit_nlinear_free (work);
  if (code != GSL_SUCCESS)
    g_set_error (error, EF_ERROR, EF_ERROR_NOT_CONVERGED, "pairs: no projective transform was found in %d steps; look for a pair that was exchanged", MOST_STEPS);

  return code == GSL_SUCCESS;
}

static gboolean
refuse_order (guint pair,
              GError **error)
{
  g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY,
               "pairs: expected places in the same order round photo and face, found an order that no view of a flat face gives; look at pair %u", pair + 1);

  return FALSE;
}

/* All pairs lie on one side of the photo's horizon in any picture that a camera can take. */
static gboolean
check_horizon (const EfRegistration *self,
               const EfRegistrationPair *pairs,
               GError **error)
{
  const double *h = self->parameters;

  for (guint i = 0; i < self->n; i++)
    if (!(h[6] * pairs[i].x + h[7] * pairs[i].y + 1 > SMALLEST_W))
      return refuse_order (i, error);

  return TRUE;
}

static gboolean
fit_projective (EfRegistration *self,
                const EfRegistrationPair *pairs,
                GError **error)
{
  if (!start_projective (self, pairs))
    return refuse_order (0, error);

  return check_horizon (self, pairs, error) && refine_projective (self, pairs, error) && check_horizon (self, pairs, error);
}

/* The inverse of the normal equations' matrix, through R of the Jacobian's QR. */
static gboolean
find_covariance (EfRegistration *self,
                 const EfRegistrationPair *pairs,
                 GError **error)
{
  guint p = self->n_parameters;
  gsl_matrix *j = gsl_matrix_alloc (2 * self->n, p);
  gsl_matrix_view covariance = gsl_matrix_view_array (self->covariance, p, p);
  int code;

  for (guint i = 0; i < self->n; i++)
    {
      double place[2], jacobian[16];

      evaluate (self->model, self->parameters, pairs[i].x, pairs[i].y, place, jacobian);
      for (guint r = 0; r < 2; r++)
        for (guint k = 0; k < p; k++)
          gsl_matrix_set (j, 2 * i + r, k, jacobian[r * p + k]);
    }
  code = gsl_multifit_nlinear_covar (j, 0, &covariance.matrix);
  gsl_matrix_free (j);
  for (guint k = 0; k < p; k++)
    if (code != 0 || !isfinite (self->covariance[k * p + k]) || self->covariance[k * p + k] <= 0)
      {
        g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY, "pairs: they determine no transform that is %s", names[self->model]);
        return FALSE;
      }

  return TRUE;
}

static void
multiply (const double a[9],
          const double b[9],
          double out[9])
{
  double product[9];

  for (guint r = 0; r < 3; r++)
    for (guint c = 0; c < 3; c++)
      product[3 * r + c] = a[3 * r] * b[c] + a[3 * r + 1] * b[3 + c] + a[3 * r + 2] * b[6 + c];
  memcpy (out, product, sizeof product);
}

static double
determinant (const double a[9])
{
  return a[0] * (a[4] * a[8] - a[5] * a[7]) - a[1] * (a[3] * a[8] - a[5] * a[6]) + a[2] * (a[3] * a[7] - a[4] * a[6]);
}

/* By cofactors; any scale will do for homogeneous coordinates, this one keeps w as the reciprocal. */
static void
invert (const double a[9],
        double out[9])
{
  double d = determinant (a);
  const double cofactors[9] = { a[4] * a[8] - a[5] * a[7], a[2] * a[7] - a[1] * a[8], a[1] * a[5] - a[2] * a[4],
                                a[5] * a[6] - a[3] * a[8], a[0] * a[8] - a[2] * a[6], a[2] * a[3] - a[0] * a[5],
                                a[3] * a[7] - a[4] * a[6], a[1] * a[6] - a[0] * a[7], a[0] * a[4] - a[1] * a[3] };

  for (guint i = 0; i < 9; i++)
    out[i] = cofactors[i] / d;
}

/* From normalised parameters to px and metres. */
static void
set_matrices (EfRegistration *self)
{
  const double *h = self->parameters;
  const double similar[9] = { h[0], -h[1], h[2], h[1], h[0], h[3], 0, 0, 1 };
  const double affine[9] = { h[0], h[1], h[2], h[3], h[4], h[5], 0, 0, 1 };
  const double projective[9] = { h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1 };
  const double *const middle[] = { similar, affine, projective };
  const double s = self->photo_norm[0], f = self->face_norm[0];
  const double photo[9] = { s, 0, -s * self->photo_norm[1], 0, -s, s * self->photo_norm[2], 0, 0, 1 };
  const double face[9] = { 1 / f, 0, self->face_norm[1], 0, 1 / f, self->face_norm[2], 0, 0, 1 };

  multiply (middle[self->model], photo, self->to_face);
  multiply (face, self->to_face, self->to_face);
  invert (self->to_face, self->to_photo);
  self->mirrored = determinant (middle[self->model]) < 0;
}

static void
set_residuals (EfRegistration *self,
               const EfRegistrationPair *pairs)
{
  double sum = 0;

  self->residual = g_new (double, self->n);
  for (guint i = 0; i < self->n; i++)
    {
      double place[2];

      evaluate (self->model, self->parameters, pairs[i].x, pairs[i].y, place, NULL);
      self->residual[i] = hypot (place[0] - pairs[i].u, place[1] - pairs[i].v) / self->face_norm[0];
      self->largest = MAX (self->largest, self->residual[i]);
      sum += self->residual[i] * self->residual[i];
    }
  self->rms = sqrt (sum / self->n);
  self->freedom = 2 * self->n - self->n_parameters;
  self->sigma = self->freedom > 0 ? sqrt (sum / self->freedom) : NAN;
}

gboolean
ef_registration_fit (EfRegistrationModel model,
                     const EfRegistrationPair *pairs,
                     guint n,
                     EfRegistration *out,
                     GError **error)
{
  g_auto (EfRegistration) self = { .model = model, .n = n, .n_parameters = 4 + 2 * (guint) model };
  g_autofree EfRegistrationPair *normal = NULL;

  g_return_val_if_fail ((guint) model < EF_N_REGISTRATION_MODELS && out != NULL, FALSE);
  if (!ef_registration_check_pairs (model, pairs, n, error))
    return FALSE;
  gsl_set_error_handler_off (); /* codes, never abort() */
  normalise (pairs, n, TRUE, self.photo_norm);
  normalise (pairs, n, FALSE, self.face_norm);
  normal = normal_pairs (&self, pairs);
  if (!(model == EF_REGISTRATION_PROJECTIVE ? fit_projective (&self, normal, error) : fit_linear (&self, normal, error))
      || !find_covariance (&self, normal, error))
    return FALSE;
  set_matrices (&self);
  set_residuals (&self, normal);
  *out = self;
  self.residual = NULL;

  return TRUE;
}

void
ef_registration_clear (EfRegistration *self)
{
  g_clear_pointer (&self->residual, g_free);
}

static gboolean
apply (const double m[9],
       double x,
       double y,
       double least,
       double *u,
       double *v)
{
  double w = m[6] * x + m[7] * y + m[8];

  if (!(w > least))
    {
      *u = *v = NAN;
      return FALSE;
    }
  *u = (m[0] * x + m[1] * y + m[2]) / w;
  *v = (m[3] * x + m[4] * y + m[5]) / w;

  return TRUE;
}

gboolean
ef_registration_to_face (const EfRegistration *self,
                         double x,
                         double y,
                         double *u,
                         double *v)
{
  return apply (self->to_face, x, y, SMALLEST_W, u, v);
}

gboolean
ef_registration_to_photo (const EfRegistration *self,
                          double u,
                          double v,
                          double *x,
                          double *y)
{
  return apply (self->to_photo, u, v, 0, x, y);
}

double
ef_registration_uncertainty (const EfRegistration *self,
                             double x,
                             double y)
{
  guint p = self->n_parameters;
  double place[2], jacobian[16], nx, ny, sum = 0;

  to_normal (self, x, y, &nx, &ny);
  evaluate (self->model, self->parameters, nx, ny, place, jacobian);
  for (guint r = 0; r < 2; r++)
    for (guint i = 0; i < p; i++)
      for (guint k = 0; k < p; k++)
        sum += jacobian[r * p + i] * self->covariance[i * p + k] * jacobian[r * p + k];

  return self->sigma * sqrt (1 + sum / 2);
}

double
ef_registration_coverage (const EfRegistration *self)
{
  return self->freedom > 0 ? gsl_cdf_tdist_Pinv (0.975, self->freedom) : NAN;
}
