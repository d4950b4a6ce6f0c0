/* Kappas: published tables, and standard errors against drawing tables at random.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * tests/data/agreement: fleiss1971.csv is the table of Fleiss (1971), published kappa 0.430; Cohen (1960), kappa 0.492, from memory; the
 * others widely reproduced or constructed, as said beside each in expected.csv.
 */
#include "../check-values.h"
#include "../fixed-random.h"
#include "metrology/ef-agreement.h"
#include "../isolate.h"

/* "[[88, 14], [10, 40]]" */
static guint
read_table (const char *text,
            double *table)
{
  guint n = 0;

  for (const char *p = text; *p != '\0';)
    if (g_ascii_isdigit (*p))
      {
        char *end;

        table[n++] = g_ascii_strtod (p, &end);
        p = end;
      }
    else
      p++;

  return (guint) lround (sqrt (n));
}

static guint
read_counts (const char *file,
             double *counts,
             guint *n_items_out)
{
  g_autofree char *path = g_build_filename ("agreement", file, NULL);
  g_auto (GStrv) lines = check_lines (path);
  guint n_categories = 0, n = 0;

  for (guint i = 0; lines[i] != NULL; i++)
    {
      g_auto (GStrv) fields = g_strsplit (lines[i], ",", -1);

      n_categories = g_strv_length (fields) - 1;
      for (guint j = 0; j < n_categories; j++)
        counts[n++] = g_ascii_strtod (fields[j + 1], NULL);
      *n_items_out = i + 1;
    }

  return n_categories;
}

static guint rows_done;

static void
check_two (const CheckRow *row)
{
  double table[EF_AGREEMENT_MOST];
  guint n = read_table (row->inputs, table);
  EfAgreementWeight weight = strstr (row->quantity, "linear") != NULL ? EF_WEIGHT_LINEAR : strstr (row->quantity, "quadratic") != NULL ? EF_WEIGHT_QUADRATIC : EF_WEIGHT_NONE;
  EfKappa kappa;

  g_assert_true (ef_kappa_two (table, n, weight, &kappa, NULL));
  if (g_str_equal (row->quantity, "p_o"))
    check_near (row, kappa.observed);
  else if (g_str_equal (row->quantity, "p_e"))
    check_near (row, kappa.expected);
  else
    check_near (row, kappa.kappa);
}

static void
check_many (const CheckRow *row)
{
  double counts[512];
  guint n_items = 0, n = read_counts (row->inputs, counts, &n_items);
  EfKappaMany kappa;
  const char *last = row->quantity + strlen (row->quantity) - 1;

  g_assert_true (ef_kappa_many (counts, n_items, n, &kappa, NULL));
  if (g_str_equal (row->quantity, "Pbar"))
    check_near (row, kappa.all.observed);
  else if (g_str_equal (row->quantity, "Pe"))
    check_near (row, kappa.all.expected);
  else if (g_str_equal (row->quantity, "kappa"))
    check_near (row, kappa.all.kappa);
  else if (g_str_equal (row->quantity, "se0"))
    check_near (row, kappa.all.u_chance);
  else if (g_str_equal (row->quantity, "z=kappa/se0"))
    check_near (row, kappa.all.kappa / kappa.all.u_chance);
  else if (g_str_has_prefix (row->quantity, "p_"))
    check_near (row, kappa.share[*last - '1']);
  else if (g_str_has_prefix (row->quantity, "kappa_category_"))
    check_near (row, kappa.kappa[*last - '1']);
  else
    g_error ("%s: no check for “%s”", row->name, row->quantity);
}

static void
check_row (const CheckRow *row)
{
  if (g_str_has_prefix (row->inputs, "grr_"))
    return;
  if (row->inputs[0] == '[')
    check_two (row);
  else
    check_many (row);
  rows_done++;
}

static void
test_published (void)
{
  check_table ("agreement/expected.csv", check_row);
  g_assert_cmpuint (rows_done, ==, 37);
}

static guint
draw_cell (GRand *random,
           const double *p,
           guint n)
{
  double left = g_rand_double (random);

  for (guint i = 0; i + 1 < n; i++)
    if ((left -= p[i]) < 0)
      return i;

  return n - 1;
}

/* The stated standard error of kappa is the scatter of kappas of tables drawn from the same chances. 3,000 tables: 2 % of scatter of
 * its own; 6 % allowed. */
static void
test_error_by_drawing (void)
{
  enum { N = 3, TOTAL = 400, TABLES = 3000 };
  static const double p[N * N] = { 0.34, 0.05, 0.01, 0.06, 0.20, 0.04, 0.01, 0.05, 0.24 };
  GRand *random = fixed_random ();

  for (EfAgreementWeight weight = EF_WEIGHT_NONE; weight <= EF_WEIGHT_QUADRATIC; weight++)
    {
      double sum = 0, square = 0, exact[N * N];
      EfKappa kappa;

      for (guint i = 0; i < N * N; i++)
        exact[i] = p[i] * TOTAL;
      for (guint i = 0; i < TABLES; i++)
        {
          double table[N * N] = { 0 };

          for (guint j = 0; j < TOTAL; j++)
            table[draw_cell (random, p, N * N)]++;
          g_assert_true (ef_kappa_two (table, N, weight, &kappa, NULL));
          sum += kappa.kappa / TABLES;
          square += kappa.kappa * kappa.kappa / TABLES;
        }
      g_assert_true (ef_kappa_two (exact, N, weight, &kappa, NULL));
      g_assert_cmpfloat (fabs (kappa.u / sqrt (square - sum * sum) - 1), <, 0.06);
      g_assert_cmpfloat (fabs (sum - kappa.kappa), <, 0.01);
    }
}

/* Raters who guess by fixed chances: kappa about 0, and within its error of chance. */
static void
test_chance (void)
{
  enum { ITEMS = 60, RATERS = 4, CATEGORIES = 3, ROUNDS = 500 };
  static const double p[CATEGORIES] = { 0.5, 0.3, 0.2 };
  GRand *random = fixed_random ();
  double square = 0, errors = 0, jackknives = 0;

  for (guint round = 0; round < ROUNDS; round++)
    {
      double counts[ITEMS * CATEGORIES] = { 0 };
      EfKappaMany kappa;

      for (guint i = 0; i < ITEMS; i++)
        for (guint r = 0; r < RATERS; r++)
          counts[i * CATEGORIES + draw_cell (random, p, CATEGORIES)]++;
      g_assert_true (ef_kappa_many (counts, ITEMS, CATEGORIES, &kappa, NULL));
      square += pow (kappa.all.kappa, 2) / ROUNDS;
      errors += pow (kappa.all.u_chance, 2) / ROUNDS;
      jackknives += pow (kappa.all.u, 2) / ROUNDS;
    }
  g_assert_cmpfloat (fabs (sqrt (square / errors) - 1), <, 0.12);
  g_assert_cmpfloat (fabs (sqrt (jackknives / square) - 1), <, 0.15);
}

/* Two raters who don't know of each other: the scatter of kappa is its error of chance, with every weight. */
static void
test_chance_of_two (void)
{
  enum { N = 3, TOTAL = 300, TABLES = 3000 };
  static const double first[N] = { 0.5, 0.3, 0.2 }, second[N] = { 0.3, 0.3, 0.4 };
  GRand *random = fixed_random ();

  for (EfAgreementWeight weight = EF_WEIGHT_NONE; weight <= EF_WEIGHT_QUADRATIC; weight++)
    {
      double square = 0, errors = 0;

      for (guint i = 0; i < TABLES; i++)
        {
          double table[N * N] = { 0 };
          EfKappa kappa;

          for (guint j = 0; j < TOTAL; j++)
            {
              guint row = draw_cell (random, first, N);

              table[row * N + draw_cell (random, second, N)]++;
            }
          g_assert_true (ef_kappa_two (table, N, weight, &kappa, NULL));
          square += pow (kappa.kappa, 2) / TABLES;
          errors += pow (kappa.u_chance, 2) / TABLES;
        }
      g_assert_cmpfloat (fabs (sqrt (square / errors) - 1), <, 0.06);
    }
}

static void
test_laws (void)
{
  static const double perfect[] = { 5, 0, 0, 0, 7, 0, 0, 0, 3 };
  static const double table[] = { 34, 3, 1, 4, 21, 5, 0, 3, 29 };
  double turned[9];
  EfKappa a, b;

  for (EfAgreementWeight weight = EF_WEIGHT_NONE; weight <= EF_WEIGHT_QUADRATIC; weight++)
    {
      g_assert_true (ef_kappa_two (perfect, 3, weight, &a, NULL));
      g_assert_cmpfloat (a.kappa, ==, 1);
      g_assert_cmpfloat (a.u, <, 1e-9);
      /* Which rater is first doesn't matter. */
      for (guint i = 0; i < 9; i++)
        turned[i] = table[(i % 3) * 3 + i / 3];
      g_assert_true (ef_kappa_two (table, 3, weight, &a, NULL));
      g_assert_true (ef_kappa_two (turned, 3, weight, &b, NULL));
      g_assert_cmpfloat (fabs (a.kappa - b.kappa), <, 1e-14);
      g_assert_cmpfloat (fabs (a.u - b.u), <, 1e-14);
      g_assert_cmpfloat (a.low, <, a.kappa);
      g_assert_cmpfloat (a.high, >, a.kappa);
      g_assert_cmpfloat (a.p, <, 1e-6);
    }
}

static void
test_refused (void)
{
  static const double one_sided[] = { 9, 0, 0, 0 };
  static const double uneven[] = { 3, 0, 1, 1 };
  static const double negative[] = { 3, -1, 1, 1 };
  EfKappa kappa;
  EfKappaMany many;
  g_autoptr (GError) error = NULL;

  /* Both always say the same word: chance explains it all. */
  g_assert_true (ef_kappa_two (one_sided, 2, EF_WEIGHT_NONE, &kappa, NULL));
  g_assert_true (isnan (kappa.kappa) && isnan (kappa.low));
  g_assert_false (ef_kappa_many (uneven, 2, 2, &many, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "item 2"));
  g_clear_error (&error);
  g_assert_false (ef_kappa_two (negative, 2, EF_WEIGHT_NONE, &kappa, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_false (ef_kappa_two (negative, 1, EF_WEIGHT_NONE, &kappa, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/agreement/published", test_published);
  g_test_add_func ("/agreement/error-by-drawing", test_error_by_drawing);
  g_test_add_func ("/agreement/chance", test_chance);
  g_test_add_func ("/agreement/chance-of-two", test_chance_of_two);
  g_test_add_func ("/agreement/laws", test_laws);
  g_test_add_func ("/agreement/refused", test_refused);

  return g_test_run ();
}
