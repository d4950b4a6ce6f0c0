/* A photo laid onto a face: transforms that are known, least squares by other ways, sets of pairs that determine nothing.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "geometry/ef-registration.h"

#include <complex.h>
#undef I
#include <math.h>

#include "isolate.h"

/* A camera's view of a plane, made here: px from metres by a matrix whose last row isn't 0 0 1 in the projective case. */
static const double views[EF_N_REGISTRATION_MODELS][9] = {
  { 18000, 4000, 1900, 4000, -18000, 1500, 0, 0, 1 },
  { 17000, 3000, 1900, 5500, -14000, 1500, 0, 0, 1 },
  { 21000, 3100, 1900, 4000, -16000, 1500, 1.9, -2.3, 1 },
};

static void
see (EfRegistrationModel model,
     double u,
     double v,
     double *x,
     double *y)
{
  const double *m = views[model];
  double w = m[6] * u + m[7] * v + m[8];

  *x = (m[0] * u + m[1] * v + m[2]) / w;
  *y = (m[3] * u + m[4] * v + m[5]) / w;
}

static void
make_pairs (GRand *rand,
            EfRegistrationModel model,
            double noise_px,
            EfRegistrationPair *pairs,
            guint n)
{
  static const double corners[4][2] = { { -0.04, -0.03 }, { 0.045, -0.028 }, { 0.042, 0.031 }, { -0.041, 0.029 } };

  for (guint i = 0; i < n; i++)
    {
      pairs[i].u = i < 4 ? corners[i][0] : g_rand_double_range (rand, -0.045, 0.045);
      pairs[i].v = i < 4 ? corners[i][1] : g_rand_double_range (rand, -0.03, 0.03);
      see (model, pairs[i].u, pairs[i].v, &pairs[i].x, &pairs[i].y);
      pairs[i].x += noise_px * g_rand_double_range (rand, -1, 1);
      pairs[i].y += noise_px * g_rand_double_range (rand, -1, 1);
    }
}

/* Constructed: what was seen through a known matrix comes back through the fit, everywhere, whatever the number of pairs. */
static void
test_known (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (1);

  for (guint model = 0; model < EF_N_REGISTRATION_MODELS; model++)
    for (guint n = ef_registration_least_pairs (model); n < 12; n++)
      {
        g_auto (EfRegistration) fit = { 0 };
        g_autoptr (GError) error = NULL;
        EfRegistrationPair pairs[12];

        make_pairs (rand, model, 0, pairs, n);
        g_assert_true (ef_registration_fit (model, pairs, n, &fit, &error));
        g_assert_no_error (error);
        g_assert_cmpfloat (fit.rms, <, 1e-12);
        g_assert_cmpuint (fit.freedom, ==, 2 * n - (4 + 2 * model));
        g_assert_true (isnan (fit.sigma) == (fit.freedom == 0));
        g_assert_true (isnan (ef_registration_uncertainty (&fit, 100, 100)) == (fit.freedom == 0));
        g_assert_false (fit.mirrored);
        for (guint i = 0; i < 20; i++)
          {
            double u = g_rand_double_range (rand, -0.06, 0.06), v = g_rand_double_range (rand, -0.05, 0.05), x, y, bu, bv, bx, by;

            see (model, u, v, &x, &y);
            g_assert_true (ef_registration_to_face (&fit, x, y, &bu, &bv));
            g_assert_cmpfloat (hypot (bu - u, bv - v), <, 1e-11);
            g_assert_true (ef_registration_to_photo (&fit, u, v, &bx, &by));
            g_assert_cmpfloat (hypot (bx - x, by - y), <, 1e-6);
          }
      }
}

/* The square's corners to any quadrilateral in closed form (Heckbert 1989, Fundamentals of Texture Mapping and Image Warping, 2.2.3; from memory). */
static void
test_square_to_quadrilateral (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (2);

  for (guint k = 0; k < 50; k++)
    {
      const double sx[4] = { 0, 1, 1, 0 }, sy[4] = { 0, 0, 1, 1 };
      double px[4], py[4], dx1, dx2, dy1, dy2, sx_, sy_, det, g, h;
      EfRegistrationPair pairs[4];
      g_auto (EfRegistration) fit = { 0 };
      g_autoptr (GError) error = NULL;

      for (guint i = 0; i < 4; i++)
        {
          px[i] = sx[i] + g_rand_double_range (rand, -0.2, 0.2);
          py[i] = sy[i] + g_rand_double_range (rand, -0.2, 0.2);
          pairs[i] = (EfRegistrationPair){ sx[i], sy[i], px[i], py[i] };
        }
      dx1 = px[1] - px[2];
      dx2 = px[3] - px[2];
      dy1 = py[1] - py[2];
      dy2 = py[3] - py[2];
      sx_ = px[0] - px[1] + px[2] - px[3];
      sy_ = py[0] - py[1] + py[2] - py[3];
      det = dx1 * dy2 - dx2 * dy1;
      g = (sx_ * dy2 - dx2 * sy_) / det;
      h = (dx1 * sy_ - sx_ * dy1) / det;
      g_assert_true (ef_registration_fit (EF_REGISTRATION_PROJECTIVE, pairs, 4, &fit, &error));
      /* y of the square goes down as in photos, so that this is a mirror image. */
      g_assert_true (fit.mirrored);
      for (guint i = 0; i < 9; i++)
        {
          double x = (i % 3) / 2.0, y = (i / 3) / 2.0, w = g * x + h * y + 1, u, v;

          g_assert_true (ef_registration_to_face (&fit, x, y, &u, &v));
          g_assert_cmpfloat (fabs (u - ((px[1] - px[0] + g * px[1]) * x + (px[3] - px[0] + h * px[3]) * y + px[0]) / w), <, 1e-9);
          g_assert_cmpfloat (fabs (v - ((py[1] - py[0] + g * py[1]) * x + (py[3] - py[0] + h * py[3]) * y + py[0]) / w), <, 1e-9);
        }
    }
}

/* A similarity is q = a p + b in complex numbers, and its least squares solution a = sum (conj (p - mean) (q - mean)) / sum |p - mean|^2 (the plane
 * Helmert transform of surveying, from memory). */
static void
test_similarity (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (3);

  for (guint n = 2; n < 10; n++)
    {
      EfRegistrationPair pairs[10];
      g_auto (EfRegistration) fit = { 0 };
      g_autoptr (GError) error = NULL;
      double complex p[10], q[10], mp = 0, mq = 0, above = 0, a;
      double below = 0, sum = 0;

      make_pairs (rand, EF_REGISTRATION_PROJECTIVE, 3, pairs, n);
      g_assert_true (ef_registration_fit (EF_REGISTRATION_SIMILARITY, pairs, n, &fit, &error));
      for (guint i = 0; i < n; i++)
        {
          p[i] = CMPLX (pairs[i].x, -pairs[i].y);
          q[i] = CMPLX (pairs[i].u, pairs[i].v);
          mp += p[i] / n;
          mq += q[i] / n;
        }
      for (guint i = 0; i < n; i++)
        {
          above += conj (p[i] - mp) * (q[i] - mq);
          below += creal (p[i] - mp) * creal (p[i] - mp) + cimag (p[i] - mp) * cimag (p[i] - mp);
        }
      a = above / below;
      for (guint i = 0; i < n; i++)
        {
          double complex place = a * (p[i] - mp) + mq;
          double u, v;

          ef_registration_to_face (&fit, pairs[i].x, pairs[i].y, &u, &v);
          g_assert_cmpfloat (cabs (place - CMPLX (u, v)), <, 1e-13);
          g_assert_cmpfloat (fabs (cabs (place - q[i]) - fit.residual[i]), <, 1e-13);
          sum += fit.residual[i] * fit.residual[i];
        }
      g_assert_cmpfloat (fabs (sqrt (sum / n) - fit.rms), <, 1e-15);
      if (n > 2)
        g_assert_cmpfloat (fabs (sqrt (sum / (2.0 * n - 4)) - fit.sigma), <, 1e-15);
    }
}

/* Affine by Cramer's rule on the normal equations, in long double. */
static void
test_affine (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (4);
  EfRegistrationPair pairs[7];
  g_auto (EfRegistration) fit = { 0 };
  g_autoptr (GError) error = NULL;
  long double n[3][3] = { { 0 } }, r[2][3] = { { 0 } }, d;

  make_pairs (rand, EF_REGISTRATION_PROJECTIVE, 3, pairs, 7);
  g_assert_true (ef_registration_fit (EF_REGISTRATION_AFFINE, pairs, 7, &fit, &error));
  for (guint i = 0; i < 7; i++)
    {
      const long double row[3] = { pairs[i].x - 1900, pairs[i].y - 1500, 1000 };

      for (guint a = 0; a < 3; a++)
        {
          for (guint b = 0; b < 3; b++)
            n[a][b] += row[a] * row[b];
          r[0][a] += row[a] * pairs[i].u;
          r[1][a] += row[a] * pairs[i].v;
        }
    }
#define DET(m) (m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) \
                + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]))
  d = DET (n);
  for (guint i = 0; i < 7; i++)
    {
      double place[2], got[2];

      for (guint c = 0; c < 2; c++)
        {
          const long double row[3] = { pairs[i].x - 1900, pairs[i].y - 1500, 1000 };
          long double sum = 0;

          for (guint k = 0; k < 3; k++)
            {
              long double m[3][3];

              for (guint a = 0; a < 3; a++)
                for (guint b = 0; b < 3; b++)
                  m[a][b] = b == k ? r[c][a] : n[a][b];
              sum += row[k] * DET (m) / d;
            }
          place[c] = (double) sum;
        }
      ef_registration_to_face (&fit, pairs[i].x, pairs[i].y, &got[0], &got[1]);
      g_assert_cmpfloat (hypot (got[0] - place[0], got[1] - place[1]), <, 1e-12);
    }
}

static double
sum_of (const double m[9],
        const EfRegistrationPair *pairs,
        guint n)
{
  double sum = 0;

  for (guint i = 0; i < n; i++)
    {
      double w = m[6] * pairs[i].x + m[7] * pairs[i].y + m[8];

      sum += pow ((m[0] * pairs[i].x + m[1] * pairs[i].y + m[2]) / w - pairs[i].u, 2) + pow ((m[3] * pairs[i].x + m[4] * pairs[i].y + m[5]) / w - pairs[i].v, 2);
    }

  return sum;
}

/* No small change of any number of the projective matrix makes the sum of squares smaller. */
static void
test_projective_least (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (5);

  for (guint k = 0; k < 20; k++)
    {
      EfRegistrationPair pairs[9];
      g_auto (EfRegistration) fit = { 0 };
      g_autoptr (GError) error = NULL;
      double best;

      make_pairs (rand, EF_REGISTRATION_PROJECTIVE, 8, pairs, 9);
      g_assert_true (ef_registration_fit (EF_REGISTRATION_PROJECTIVE, pairs, 9, &fit, &error));
      best = sum_of (fit.to_face, pairs, 9);
      g_assert_cmpfloat (fabs (sqrt (best / 9) - fit.rms), <, 1e-10);
      for (guint i = 0; i < 8; i++)
        for (int sign = -1; sign <= 1; sign += 2)
          for (double step = 1e-6; step < 1e-2; step *= 10)
            {
              double m[9];

              memcpy (m, fit.to_face, sizeof m);
              m[i] *= 1 + sign * step;
              g_assert_cmpfloat (sum_of (m, pairs, 9), >=, best * (1 - 1e-9));
            }
    }
}

/* The 95 % interval of a traced place holds the true place that often: 4,000 photos clicked with normal errors on the face side. Constructed. */
static void
test_uncertainty (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (6);

  for (guint model = 0; model < EF_N_REGISTRATION_MODELS; model++)
    {
      const double sigma = 1e-4;
      guint inside = 0, trials = 4000;

      for (guint t = 0; t < trials; t++)
        {
          EfRegistrationPair pairs[6];
          g_auto (EfRegistration) fit = { 0 };
          g_autoptr (GError) error = NULL;
          double x, y, u, v, reach, normal[13];

          for (guint i = 0; i < 13; i++)
            normal[i] = sqrt (-2 * log (1 - g_rand_double (rand))) * cos (2 * G_PI * g_rand_double (rand));
          make_pairs (rand, model, 0, pairs, 6);
          for (guint i = 0; i < 6; i++)
            {
              pairs[i].u += sigma * normal[2 * i];
              pairs[i].v += sigma * normal[2 * i + 1];
            }
          g_assert_true (ef_registration_fit (model, pairs, 6, &fit, &error));
          see (model, 0.02, 0.01, &x, &y);
          ef_registration_to_face (&fit, x, y, &u, &v);
          reach = ef_registration_coverage (&fit) * ef_registration_uncertainty (&fit, x, y);
          inside += fabs (u - 0.02 + sigma * normal[12]) <= reach;
        }
      g_assert_cmpfloat (inside / (double) trials, >, 0.94);
      g_assert_cmpfloat (inside / (double) trials, <, 0.96);
    }
}

/* t for 4 degrees of freedom, 95 % two-sided: 2.776 (JCGM 100:2008, table G.2: 2,78). */
static void
test_coverage_factor (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (7);
  EfRegistrationPair pairs[4];
  g_auto (EfRegistration) fit = { 0 };
  g_autoptr (GError) error = NULL;

  make_pairs (rand, EF_REGISTRATION_SIMILARITY, 1, pairs, 4);
  g_assert_true (ef_registration_fit (EF_REGISTRATION_SIMILARITY, pairs, 4, &fit, &error));
  g_assert_cmpfloat (fabs (ef_registration_coverage (&fit) - 2.776), <, 1e-3);
}

static void
test_refused (void)
{
  static const struct
  {
    EfRegistrationModel model;
    guint n;
    EfRegistrationPair pairs[5];
    EfError code;
    const char *says;
  } cases[] = {
    { EF_REGISTRATION_PROJECTIVE, 3, { { 0, 0, 0, 0 }, { 100, 0, 1, 0 }, { 0, 100, 0, -1 } }, EF_ERROR_RANGE, "expected 4 to 200 for a transform that is projective, found 3" },
    { EF_REGISTRATION_SIMILARITY, 1, { { 0, 0, 0, 0 } }, EF_ERROR_RANGE, "found 1" },
    { EF_REGISTRATION_SIMILARITY, 2, { { 5, 5, 0, 0 }, { 5, 5, 1, 0 } }, EF_ERROR_GEOMETRY, "pairs 1 and 2: expected two places, found one on the photo" },
    { EF_REGISTRATION_AFFINE, 3, { { 0, 0, 0, 0 }, { 100, 0, 1, 0 }, { 0, 100, 1, 0 } }, EF_ERROR_GEOMETRY, "pairs 2 and 3: expected two places, found one on the face" },
    { EF_REGISTRATION_AFFINE, 3, { { 0, 0, 0, 0 }, { 100, 100, 1, 1 }, { 200, 200, 0, 2 } }, EF_ERROR_GEOMETRY, "all on one line on the photo" },
    { EF_REGISTRATION_AFFINE, 3, { { 0, 0, 0, 0 }, { 100, 100, 1, 1 }, { 200, 0, 2, 2 } }, EF_ERROR_GEOMETRY, "all on one line on the face" },
    { EF_REGISTRATION_PROJECTIVE, 4, { { 0, 0, 0, 0 }, { 100, 0, 1, 0 }, { 200, 0, 2, 0 }, { 0, 100, 0, -1 } }, EF_ERROR_GEOMETRY, "all but pair 4 on one line" },
    { EF_REGISTRATION_PROJECTIVE, 5, { { 0, 0, 0, 0 }, { 100, 0, 1, 0 }, { 50, 90, 1, 0.5 }, { 200, 0, 2, 0 }, { 300, 0, 3, 0 } }, EF_ERROR_GEOMETRY, "all but pair 3 on one line" },
    /* Two corners exchanged: a bow tie. */
    { EF_REGISTRATION_PROJECTIVE, 4, { { 0, 0, 0, 0 }, { 100, 0, 1, 0 }, { 100, 100, 0, -1 }, { 0, 100, 1, -1 } }, EF_ERROR_GEOMETRY, "order" },
    { EF_REGISTRATION_AFFINE, 3, { { NAN, 0, 0, 0 }, { 100, 0, 1, 0 }, { 0, 100, 0, 1 } }, EF_ERROR_INVALID, "pair 1" },
    { EF_REGISTRATION_AFFINE, 3, { { 0, 0, 0, 0 }, { 100, 0, 1, INFINITY }, { 0, 100, 0, 1 } }, EF_ERROR_INVALID, "pair 2" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_auto (EfRegistration) fit = { 0 };
      g_autoptr (GError) error = NULL;

      g_assert_false (ef_registration_fit (cases[i].model, cases[i].pairs, cases[i].n, &fit, &error));
      g_assert_error (error, EF_ERROR, (int) cases[i].code);
      if (strstr (error->message, cases[i].says) == NULL)
        g_error ("case %u: expected \"%s\" in \"%s\"", i, cases[i].says, error->message);
    }
}

/* A place beyond the horizon isn't on the face; a mirrored photo is told. */
static void
test_horizon (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (8);
  EfRegistrationPair pairs[5];
  g_auto (EfRegistration) fit = { 0 };
  g_autoptr (GError) error = NULL;
  double u, v, x, y;

  make_pairs (rand, EF_REGISTRATION_PROJECTIVE, 0, pairs, 5);
  g_assert_true (ef_registration_fit (EF_REGISTRATION_PROJECTIVE, pairs, 5, &fit, &error));
  /* 1.9 u - 2.3 v + 1 = 0 is where the camera stands. */
  g_assert_false (ef_registration_to_photo (&fit, -1, 0.5, &x, &y));
  g_assert_true (isnan (x) && isnan (y));
  g_assert_true (ef_registration_to_photo (&fit, 0.1, 0.1, &x, &y));
  g_assert_true (ef_registration_to_face (&fit, x, y, &u, &v));
  ef_registration_clear (&fit);
  for (guint i = 0; i < 5; i++)
    pairs[i].u = -pairs[i].u;
  g_assert_true (ef_registration_fit (EF_REGISTRATION_AFFINE, pairs, 5, &fit, &error));
  g_assert_true (fit.mirrored);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/registration/known-transforms", test_known);
  g_test_add_func ("/registration/square-to-quadrilateral", test_square_to_quadrilateral);
  g_test_add_func ("/registration/similarity-closed-form", test_similarity);
  g_test_add_func ("/registration/affine-normal-equations", test_affine);
  g_test_add_func ("/registration/projective-is-least", test_projective_least);
  g_test_add_func ("/registration/uncertainty-covers", test_uncertainty);
  g_test_add_func ("/registration/coverage-factor", test_coverage_factor);
  g_test_add_func ("/registration/refused", test_refused);
  g_test_add_func ("/registration/horizon", test_horizon);

  return g_test_run ();
}
