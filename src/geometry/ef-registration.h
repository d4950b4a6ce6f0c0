/* A photo laid onto a face: the plane transform that brings points of the photo to their places on the face.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Photo: x to the right, y downwards, px. Face: u to the right, v upwards, m. Found by least squares over the distances on the face: the sum of their squares is
 * smallest among all transforms of the model. Similarity and affine are linear (QR; Björck 1996, 2.4); the projective one starts from the direct linear
 * transform in normalised coordinates (Hartley 1997; Hartley & Zisserman 2004, 4.1 and 4.4) and is refined by Levenberg and Marquardt's method
 * (GSL's multifit_nlinear).
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

typedef enum
{
  EF_REGISTRATION_SIMILARITY, /* turned, scaled, shifted: camera square to the face; 2 pairs or more */
  EF_REGISTRATION_AFFINE,     /* and sheared: camera far off and askew; 3 or more */
  EF_REGISTRATION_PROJECTIVE, /* any view of a flat face; 4 or more */
  EF_N_REGISTRATION_MODELS
} EfRegistrationModel;

#define EF_REGISTRATION_MOST_PAIRS 200

typedef struct
{
  double x, y; /* on the photo, px */
  double u, v; /* on the face, m */
} EfRegistrationPair;

typedef struct
{
  EfRegistrationModel model;
  guint n, n_parameters; /* pairs; unknowns of the model: 4, 6, 8 */
  double to_face[9];     /* homogeneous, by rows: w (u, v, 1) = to_face (x, y, 1); scaled so that w > 0 at the pairs */
  double to_photo[9];    /* its inverse */
  gboolean mirrored;     /* the photo shows the face as in a mirror: pairs were exchanged, or it's another face */
  double *residual;      /* of each pair, m on the face */
  double rms;            /* root of their mean square, m */
  double largest;        /* m */
  guint freedom;         /* 2 n - n_parameters; 0: the residual is zero whatever was clicked and says nothing */
  double sigma;          /* standard deviation of one coordinate of a pair about the fit, m; NAN where freedom is 0 */
  /* For the uncertainty of traced places. */
  double parameters[8], covariance[64]; /* in normalised coordinates, covariance for sigma 1, n_parameters x n_parameters */
  double photo_norm[3], face_norm[3];   /* scale, and the place that becomes 0, 0 */
} EfRegistration;

/* EF_ERROR_GEOMETRY: two pairs at one place, points on one line, or (projective) pairs that no view of a flat face can give; EF_ERROR_RANGE: too few or too many
 * pairs; EF_ERROR_INVALID: numbers that aren't finite; EF_ERROR_NOT_CONVERGED. The message counts pairs from 1. */
gboolean ef_registration_fit (EfRegistrationModel model, const EfRegistrationPair *pairs, guint n, EfRegistration *out, GError **error);
void ef_registration_clear (EfRegistration *self);
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (EfRegistration, ef_registration_clear)

/* FALSE (and NAN) where the place lies on or behind the horizon of the photo. */
gboolean ef_registration_to_face (const EfRegistration *self, double x, double y, double *u, double *v);
gboolean ef_registration_to_photo (const EfRegistration *self, double u, double v, double *x, double *y);
/* Standard uncertainty of one coordinate (m, root of the mean of both) of a place traced at (x, y) px: that of the transform there, from the residuals by the law
 * of propagation (JCGM 100:2008, 5.1), and that of clicking once, taken to be as good as the pairs. NAN where freedom is 0. It doesn't know of what the residuals don't show:
 * a face that isn't flat, a lens that bends lines beyond the pairs. */
double ef_registration_uncertainty (const EfRegistration *self, double x, double y);
/* The factor that makes it an interval of 95 % (Student's t; JCGM 100:2008, G.3.2); NAN where freedom is 0. */
double ef_registration_coverage (const EfRegistration *self);

/* 2, 3, 4. */
guint ef_registration_least_pairs (EfRegistrationModel model);
const char *ef_registration_model_name (EfRegistrationModel model); /* "similarity", "affine", "projective" */
/* FALSE for a name that is none of them. */
gboolean ef_registration_model_from_name (const char *name, EfRegistrationModel *out);

G_END_DECLS
