/* Lapping rates: the table, and that what is learned is right and as uncertain as it says.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "rework/ef-lap-rate.h"

#include <math.h>
#include <string.h>
#include <glib/gstdio.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit.h>

#include "../isolate.h"

#define UM 1e-6

static EfLapTable *
shipped (void)
{
  g_autoptr (GError) error = NULL;
  EfLapTable *table = ef_lap_table_default (&error);

  g_assert_no_error (error);

  return table;
}

/* Standard normal by the polar method. */
static double
normal (GRand *random)
{
  double u, v, s;

  do
    {
      u = g_rand_double_range (random, -1.0, 1.0);
      v = g_rand_double_range (random, -1.0, 1.0);
      s = u * u + v * v;
    }
  while (s >= 1.0 || s <= 0.0);

  return u * sqrt (-2.0 * log (s) / s);
}

static void
test_table (void)
{
  g_autoptr (EfLapTable) table = shipped ();
  const EfLapMaterial *material = ef_lap_table_material (table, "aluminium-alloy");
  static const char *const materials[] = { "aluminium-alloy", "magnesium-alloy", "cast-iron", "steel", "bronze" };
  /* Common practice, no source: 6, 2.5 and 1 um by a pass, damage 12 and 5 um. */
  static const double removal[] = { 6.0, 2.5, 1.0 }, damage[] = { 12.0, 5.0, 0.0 };
  EfLapRates prior;
  double planned[EF_LAP_MOST_GRITS], u[EF_LAP_MOST_GRITS];

  g_assert_cmpuint (table->n_grits, ==, 3);
  g_assert_cmpint (ef_lap_table_grit (table, "medium"), ==, 1);
  g_assert_cmpint (ef_lap_table_grit (table, "sandstone"), ==, -1);
  g_assert_true (ef_lap_rates_prior (table, "aluminium-alloy", &prior, NULL));
  ef_lap_plan_removal (table, "aluminium-alloy", NULL, planned, u);
  for (guint g = 0; g < 3; g++)
    {
      g_assert_cmpfloat_with_epsilon (material->removal[g], removal[g] * UM, 1e-15);
      g_assert_cmpfloat_with_epsilon (table->grit[g].damage, damage[g] * UM, 1e-15);
      g_assert_cmpfloat_with_epsilon (ef_lap_rates_u (&prior, g), 0.5 * removal[g] * UM, 1e-15);
      g_assert_cmpfloat (planned[g], ==, prior.removal[g]);
      g_assert_cmpfloat_with_epsilon (u[g], ef_lap_rates_u (&prior, g), 1e-18);
      g_assert_cmpuint (prior.observations[g], ==, 0);
    }
  /* Mean grains of ISO 6344 (FEPA) P400, P800, P1200: from a secondary chart, 1.5 and 1 um. */
  g_assert_cmpfloat_with_epsilon (table->grit[0].grain, 35.0 * UM, 1.5 * UM);
  g_assert_cmpfloat_with_epsilon (table->grit[1].grain, 21.8 * UM, 1.0 * UM);
  g_assert_cmpfloat_with_epsilon (table->grit[2].grain, 15.3 * UM, 1.0 * UM);
  for (guint i = 0; i < G_N_ELEMENTS (materials); i++)
    g_assert_nonnull (ef_lap_table_material (table, materials[i]));
  g_assert_false (ef_lap_rates_prior (table, "granite", &prior, NULL));
}

/* Preston (1927), dz/dt = K p v; coefficients are illustrative, constructed: 1e-6 relative. */
static void
test_preston (void)
{
  g_autoptr (EfLapTable) table = shipped ();
  const EfLapMaterial *material = &table->material[0];

  g_assert_cmpfloat_with_epsilon (ef_lap_preston_removal (1e-12, 20000, 0.25, 60), 0.3 * UM, 0.3e-12);
  g_assert_cmpfloat_with_epsilon (ef_lap_preston_removal (5e-13, 8000, 0.4, 300), 0.48 * UM, 0.48e-12);
  /* The table's coefficient gives back the removal by a standard pass, whatever its speed. */
  g_assert_cmpfloat_with_epsilon (ef_lap_preston_removal (ef_lap_table_preston (table, material, 1), table->pressure, 0.4, table->stroke / 0.4),
                                  material->removal[1], 1e-18);
}

/* Random passes, and what comes off at the true rates. */
static EfLapObservation
observe (GRand *random,
         const EfLapTable *table,
         const double *truth,
         double noise,
         double pressure)
{
  EfLapObservation one = { .pressure = pressure, .stroke = NAN, .u = noise };
  const EfLapMaterial *material = ef_lap_table_material (table, "aluminium-alloy");
  double expected = 0.0, sum = 0.0, work = isnan (pressure) ? 1.0 : pressure / table->pressure;

  for (guint g = 0; g < table->n_grits; g++)
    {
      one.passes[g] = g_rand_int_range (random, g == 0 ? 1 : 0, 12);
      sum += work * one.passes[g] * truth[g];
      expected += work * one.passes[g] * material->removal[g];
    }
  one.removal = sum + noise * normal (random) + table->scatter * expected * normal (random);

  return one;
}

/* Weighted least squares all at once, with the prior as three more equations. */
static void
solve_at_once (const EfLapTable *table,
               const EfLapObservation *observations,
               guint n,
               double forgetting,
               double x_out[3],
               double u_out[3])
{
  const EfLapMaterial *material = ef_lap_table_material (table, "aluminium-alloy");
  gsl_matrix *a = gsl_matrix_calloc (n + 3, 3), *covariance = gsl_matrix_alloc (3, 3);
  gsl_vector *y = gsl_vector_alloc (n + 3), *w = gsl_vector_alloc (n + 3), *x = gsl_vector_alloc (3);
  gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc (n + 3, 3);
  double chi2;

  for (guint g = 0; g < 3; g++)
    {
      double u = table->uncertainty * material->removal[g] / UM;

      gsl_matrix_set (a, g, g, 1.0);
      gsl_vector_set (y, g, material->removal[g] / UM);
      gsl_vector_set (w, g, pow (forgetting, n) / (u * u));
    }
  for (guint i = 0; i < n; i++)
    {
      double stretch = (isnan (observations[i].pressure) ? 1.0 : observations[i].pressure / table->pressure)
                       * (isnan (observations[i].stroke) ? 1.0 : observations[i].stroke / table->stroke);
      double expected = 0.0, variance;

      for (guint g = 0; g < 3; g++)
        {
          gsl_matrix_set (a, i + 3, g, stretch * observations[i].passes[g]);
          expected += stretch * observations[i].passes[g] * material->removal[g] / UM;
        }
      variance = pow (observations[i].u / UM, 2) + pow (table->scatter * expected, 2);
      gsl_vector_set (y, i + 3, observations[i].removal / UM);
      gsl_vector_set (w, i + 3, pow (forgetting, n - 1 - i) / variance);
    }
  g_assert_cmpint (gsl_multifit_wlinear (a, w, y, x, covariance, &chi2, work), ==, GSL_SUCCESS);
  for (guint g = 0; g < 3; g++)
    {
      x_out[g] = UM * gsl_vector_get (x, g);
      u_out[g] = UM * sqrt (gsl_matrix_get (covariance, g, g));
    }
  gsl_multifit_linear_free (work);
  gsl_matrix_free (a);
  gsl_matrix_free (covariance);
  gsl_vector_free (x);
  gsl_vector_free (y);
  gsl_vector_free (w);
}

/* Recursive and all at once are the same: 1e-10 relative. */
static void
test_batch (void)
{
  static const double truth[] = { 7.0 * UM, 2.2 * UM, 0.9 * UM };
  static const double forgettings[] = { 1.0, 0.97, 0.8 };
  g_autoptr (EfLapTable) table = shipped ();
  g_autoptr (GRand) random = g_rand_new_with_seed (11);

  for (guint run = 0; run < 60; run++)
    {
      EfLapObservation observations[40];
      guint n = (guint) g_rand_int_range (random, 1, 40);
      double forgetting = forgettings[run % 3];
      g_auto (EfLapLearned) learned = { 0 };
      g_autoptr (GError) error = NULL;
      double x[3], u[3];

      for (guint i = 0; i < n; i++)
        {
          observations[i] = observe (random, table, truth, 2 * UM, i % 3 == 0 ? 14e3 : NAN);
          if (i % 4 == 1)
            observations[i].stroke = 5.0;
        }
      g_assert_true (ef_lap_learn (table, "aluminium-alloy", observations, n, forgetting, &learned, &error));
      g_assert_no_error (error);
      for (guint i = 0; i < n; i++)
        if (learned.doubtful[i])
          n = 0;
      if (n == 0)
        continue;
      solve_at_once (table, observations, n, forgetting, x, u);
      for (guint g = 0; g < 3; g++)
        {
          g_assert_cmpfloat_with_epsilon (learned.rates.removal[g], x[g], 1e-10 * truth[g]);
          g_assert_cmpfloat_with_epsilon (ef_lap_rates_u (&learned.rates, g), u[g], 1e-10 * u[g]);
        }
    }
}

/* Over many shops whose true rates differ as the table says they may, the error in stated uncertainties is a standard normal one: mean 0 and
 * spread 1 within four of their own standard deviations, 95 % within 1.96. */
static void
test_coverage (void)
{
  enum { RUNS = 6000, N = 12 };
  g_autoptr (EfLapTable) table = shipped ();
  const EfLapMaterial *material = ef_lap_table_material (table, "aluminium-alloy");
  double sum[3] = { 0.0 }, squares[3] = { 0.0 };
  guint within = 0, doubtful = 0;

  for (guint run = 0; run < RUNS; run++)
    {
      g_autoptr (GRand) random = g_rand_new_with_seed (1000 + run);
      g_auto (EfLapLearned) learned = { 0 };
      EfLapObservation observations[N];
      double truth[3];

      for (guint g = 0; g < 3; g++)
        truth[g] = material->removal[g] * (1.0 + table->uncertainty * normal (random));
      for (guint i = 0; i < N; i++)
        observations[i] = observe (random, table, truth, 3 * UM, NAN);
      g_assert_true (ef_lap_learn (table, "aluminium-alloy", observations, N, 1.0, &learned, NULL));
      for (guint i = 0; i < N; i++)
        doubtful += learned.doubtful[i];
      for (guint g = 0; g < 3; g++)
        {
          double z = (learned.rates.removal[g] - truth[g]) / ef_lap_rates_u (&learned.rates, g);

          sum[g] += z;
          squares[g] += z * z;
          within += fabs (z) <= 1.96;
        }
    }
  for (guint g = 0; g < 3; g++)
    {
      g_test_message ("grit %u: mean %.3f, spread %.3f", g, sum[g] / RUNS, sqrt (squares[g] / RUNS));
      g_assert_cmpfloat (fabs (sum[g] / RUNS), <, 4.0 / sqrt (RUNS));
      g_assert_cmpfloat (fabs (sqrt (squares[g] / RUNS) - 1.0), <, 4.0 / sqrt (2.0 * RUNS));
    }
  g_assert_cmpfloat (fabs (within / (3.0 * RUNS) - 0.95), <, 0.015);
  /* Beyond 3.5: 4.7e-4 of a normal distribution. */
  g_assert_cmpfloat (doubtful / (double) (RUNS * N), <, 1.5e-3);
}

/* What is known shrinks with each observation, and the rate learned leaves the table's behind. */
static void
test_learns (void)
{
  static const double truth[] = { 9.0 * UM, 3.5 * UM, 0.7 * UM };
  g_autoptr (EfLapTable) table = shipped ();
  g_autoptr (GRand) random = g_rand_new_with_seed (5);
  EfLapObservation observations[200];
  double last[3] = { INFINITY, INFINITY, INFINITY }, planned[EF_LAP_MOST_GRITS];
  g_auto (EfLapLearned) all = { 0 };

  for (guint i = 0; i < 200; i++)
    observations[i] = observe (random, table, truth, 2 * UM, NAN);
  for (guint n = 0; n <= 200; n += 50)
    {
      g_auto (EfLapLearned) learned = { 0 };

      g_assert_true (ef_lap_learn (table, "aluminium-alloy", observations, n, 1.0, &learned, NULL));
      for (guint g = 0; g < 3; g++)
        {
          g_assert_cmpfloat (ef_lap_rates_u (&learned.rates, g), <, last[g]);
          last[g] = ef_lap_rates_u (&learned.rates, g);
        }
    }
  g_assert_true (ef_lap_learn (table, "aluminium-alloy", observations, 200, 1.0, &all, NULL));
  ef_lap_plan_removal (table, "aluminium-alloy", &all.rates, planned, NULL);
  for (guint g = 0; g < 3; g++)
    {
      g_assert_cmpfloat (fabs (all.rates.removal[g] - truth[g]), <, 3.0 * ef_lap_rates_u (&all.rates, g));
      g_assert_cmpfloat (planned[g], ==, all.rates.removal[g]);
    }
  g_assert_cmpfloat (ef_lap_rates_u (&all.rates, 0), <, 0.3 * UM);
}

/* One wrong reading is named, wherever it comes, and the rest is as if it had never been. */
static void
test_doubtful (void)
{
  static const double truth[] = { 6.5 * UM, 2.4 * UM, 1.1 * UM };
  g_autoptr (EfLapTable) table = shipped ();

  for (guint wrong = 0; wrong < 12; wrong++)
    {
      g_autoptr (GRand) random = g_rand_new_with_seed (77 + wrong);
      g_auto (EfLapLearned) learned = { 0 };
      g_auto (EfLapLearned) without = { 0 };
      EfLapObservation observations[12], right[12];
      guint n = 0;

      for (guint i = 0; i < 12; i++)
        {
          observations[i] = observe (random, table, truth, 2 * UM, NAN);
          if (i == wrong)
            observations[i].removal += 100 * UM; /* a whole turn of the dial's small hand */
          else
            right[n++] = observations[i];
        }
      g_assert_true (ef_lap_learn (table, "aluminium-alloy", observations, 12, 1.0, &learned, NULL));
      g_assert_true (ef_lap_learn (table, "aluminium-alloy", right, 11, 1.0, &without, NULL));
      for (guint i = 0; i < 12; i++)
        g_assert_cmpint (learned.doubtful[i], ==, i == wrong);
      g_assert_cmpfloat (learned.score[wrong], >, EF_LAP_DOUBTFUL);
      for (guint g = 0; g < 3; g++)
        {
          g_assert_cmpfloat_with_epsilon (learned.rates.removal[g], without.rates.removal[g], 1e-10 * truth[g]);
          g_assert_cmpuint (learned.rates.observations[g], ==, without.rates.observations[g]);
        }
    }
}

/* With forgetting, a new abrasive's rate is followed; without, the mean of both is kept. */
static void
test_forgetting (void)
{
  static const double old[] = { 6.0 * UM, 2.5 * UM, 1.0 * UM }, new[] = { 7.5 * UM, 2.5 * UM, 1.0 * UM };
  g_autoptr (EfLapTable) table = shipped ();
  g_autoptr (GRand) random = g_rand_new_with_seed (3);
  g_auto (EfLapLearned) keeps = { 0 };
  g_auto (EfLapLearned) forgets = { 0 };
  EfLapObservation observations[80];

  for (guint i = 0; i < 80; i++)
    observations[i] = observe (random, table, i < 40 ? old : new, 2 * UM, NAN);
  g_assert_true (ef_lap_learn (table, "aluminium-alloy", observations, 80, 1.0, &keeps, NULL));
  g_assert_true (ef_lap_learn (table, "aluminium-alloy", observations, 80, 0.9, &forgets, NULL));
  g_assert_cmpfloat (fabs (forgets.rates.removal[0] - new[0]), <, fabs (keeps.rates.removal[0] - new[0]));
  g_assert_cmpfloat (fabs (forgets.rates.removal[0] - new[0]), <, 3 * ef_lap_rates_u (&forgets.rates, 0));
  g_assert_cmpfloat (ef_lap_rates_u (&forgets.rates, 0), >, ef_lap_rates_u (&keeps.rates, 0));
}

static void
test_refuses (void)
{
  static const struct
  {
    EfLapObservation one;
    const char *field;
  } cases[] = {
    { { { 1 }, NAN, NAN, NAN, UM }, "removal" },
    { { { 1 }, NAN, NAN, 1.0, UM }, "removal" },
    { { { 1 }, NAN, NAN, UM, 0.0 }, "uncertainty" },
    { { { 1 }, NAN, NAN, UM, NAN }, "uncertainty" },
    { { { 0 }, NAN, NAN, UM, UM }, "passes" },
    { { { -1 }, NAN, NAN, UM, UM }, "passes" },
    { { { 1 }, -1.0, NAN, UM, UM }, "pressure" },
    { { { 1 }, NAN, 0.0, UM, UM }, "stroke" },
  };
  g_autoptr (EfLapTable) table = shipped ();

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_auto (EfLapLearned) learned = { 0 };
      g_autoptr (GError) error = NULL;

      g_assert_false (ef_lap_learn (table, "steel", &cases[i].one, 1, 1.0, &learned, &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
      g_assert_nonnull (strstr (error->message, cases[i].field));
    }
  for (guint i = 0; i < 3; i++)
    {
      const double forgettings[] = { 0.0, 1.1, NAN };
      g_auto (EfLapLearned) learned = { 0 };

      g_assert_false (ef_lap_learn (table, "steel", NULL, 0, forgettings[i], &learned, NULL));
    }
}

/* The table says where it's wrong. */
static void
test_bad_tables (void)
{
  static const char *const changes[][3] = {
    { "\"endfloat-lapping\"", "\"other\"", "format" },
    { "\"version\": 1", "\"version\": 2", "version" },
    { "[6, 2.5, 1]", "[6, 2.5]", "removal_um" },
    { "[6, 2.5, 1]", "[6, -2.5, 1]", "removal_um" },
    { "\"medium\"", "\"coarse\"", "grits[1]" },
    { "21.8", "48", "grits[1]" },
    { "\"steel\"", "\"bronze\"", "materials[4]" },
    { "\"stroke_m\": 6", "\"stroke_m\": 0", "stroke_m" },
    { "\"pass\"", "\"past\"", "pa" },
  };
  g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "rules", "lapping.json", NULL);
  g_autofree char *copy = g_build_filename (g_get_tmp_dir (), "lapping-bad.json", NULL);
  g_autofree char *text = NULL;

  g_assert_true (g_file_get_contents (path, &text, NULL, NULL));
  for (guint i = 0; i < G_N_ELEMENTS (changes); i++)
    {
      g_auto (GStrv) parts = g_strsplit (text, changes[i][0], 2);
      g_autofree char *changed = g_strjoinv (changes[i][1], parts);
      g_autoptr (EfLapTable) table = NULL;
      g_autoptr (GError) error = NULL;

      g_assert_cmpuint (g_strv_length (parts), ==, 2);
      g_assert_true (g_file_set_contents (copy, changed, -1, NULL));
      table = ef_lap_table_load (copy, &error);
      g_assert_null (table);
      g_assert_nonnull (strstr (error->message, changes[i][2]));
    }
  g_remove (copy);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  gsl_set_error_handler_off ();
  g_test_add_func ("/rework/lap-rate/table", test_table);
  g_test_add_func ("/rework/lap-rate/preston", test_preston);
  g_test_add_func ("/rework/lap-rate/as-all-at-once", test_batch);
  g_test_add_func ("/rework/lap-rate/coverage", test_coverage);
  g_test_add_func ("/rework/lap-rate/learns", test_learns);
  g_test_add_func ("/rework/lap-rate/doubtful", test_doubtful);
  g_test_add_func ("/rework/lap-rate/forgetting", test_forgetting);
  g_test_add_func ("/rework/lap-rate/refuses", test_refuses);
  g_test_add_func ("/rework/lap-rate/bad-tables", test_bad_tables);

  return g_test_run ();
}
