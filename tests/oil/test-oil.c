/* Oil: the published examples, the tables of the standards, laws, and nasty input.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "oil/ef-oil.h"

#include <glib/gstdio.h>

#include "check-values.h"
#include "fixed-random.h"
#include "../isolate.h"

#define MM2_S 1e-6

static void
check_index_row (const CheckRow *row)
{
  EfViscosityIndex index;
  g_autoptr (GError) error = NULL;

  ef_oil_viscosity_index (MM2_S * check_input (row->inputs, "nu40", NAN), MM2_S * check_input (row->inputs, "nu100", NAN), &index, &error);
  g_assert_no_error (error);
  if (g_str_equal (row->quantity, "L"))
    check_near (row, index.l / MM2_S);
  else if (g_str_equal (row->quantity, "H"))
    check_near (row, index.h / MM2_S);
  else if (g_str_equal (row->quantity, "N"))
    check_near (row, index.n);
  else if (g_str_equal (row->quantity, "VI"))
    check_near (row, index.value);
  else if (g_str_equal (row->quantity, "VI_reported"))
    check_near (row, index.reported);
  else if (row->text[1] == '\0')
    g_assert_cmpint (index.procedure, ==, row->text[0]);
  else
    g_assert_cmpstr (row->text, ==, "A or B (VI=100)");
}

static void
check_line_row (const CheckRow *row)
{
  double zero = check_input (row->inputs, "T0", 273.15);
  const double temperature[2] = { zero + check_input (row->inputs, "t1", NAN), zero + check_input (row->inputs, "t2", NAN) };
  const double nu[2] = { MM2_S * check_input (row->inputs, "nu1", NAN), MM2_S * check_input (row->inputs, "nu2", NAN) };
  g_autoptr (GError) error = NULL;
  EfOil oil;

  if (check_input (row->inputs, "c", 0.7) == 0.7)
    ef_oil_init (&oil, temperature, nu, 870.0, &error);
  else
    ef_oil_init_din (&oil, temperature, nu, 870.0, &error);
  g_assert_no_error (error);
  if (g_str_equal (row->quantity, "A"))
    check_near (row, oil.a);
  else if (g_str_equal (row->quantity, "B"))
    check_near (row, oil.b);
  else
    {
      g_assert_true (g_str_has_prefix (row->quantity, "nu("));
      check_near (row, ef_oil_kinematic (&oil, zero + g_ascii_strtod (row->quantity + 3, NULL), NULL) / MM2_S);
    }
}

static double last_z;

static void
check_row (const CheckRow *row)
{
  if (g_str_has_prefix (row->inputs, "nu40="))
    check_index_row (row);
  else if (g_str_has_prefix (row->inputs, "t1="))
    check_line_row (row);
  else if (g_str_has_prefix (row->quantity, "Z="))
    {
      last_z = ef_oil_d341_z (check_input (row->inputs, "nu", NAN));
      check_near (row, last_z);
    }
  else if (g_str_has_prefix (row->quantity, "nu back from Z"))
    check_near (row, ef_oil_d341_from_z (last_z));
  else if (g_str_equal (row->quantity, "mu=nu*rho"))
    {
      /* At 15 C the density is the given one, so the viscosity there must be set by the line: nu at 15 C. */
      const double temperature[2] = { 288.15, 373.15 };
      const double nu[2] = { check_input (row->inputs, "nu", NAN), 3e-6 };
      EfOil oil;

      g_assert_true (ef_oil_init (&oil, temperature, nu, check_input (row->inputs, "rho", NAN), NULL));
      check_near (row, ef_oil_dynamic (&oil, 288.15, NULL));
    }
  else
    {
      g_test_message ("%s %s", row->name, row->quantity);
      g_assert_not_reached ();
    }
}

static void
test_table (void)
{
  g_assert_cmpuint (check_table ("oil-viscosity.csv", check_row), ==, 81);
}

static void
test_w2 (void)
{
  EfOil oil;
  EfOilFlags flags;

  /* Worked case 2 of the computation specification: nu 95 at 40, 14 at 100 C, rho15 870; 1e-4. */
  g_assert_true (ef_oil_init_40_100 (&oil, 95e-6, 14e-6, 870.0, NULL));
  g_assert_cmpfloat_with_epsilon (ef_oil_dynamic (&oil, 373.15, &flags), 0.0115071, 1e-4 * 0.0115071);
  g_assert_cmpint (flags, ==, 0);
  g_assert_cmpfloat_with_epsilon (ef_oil_dynamic (&oil, 393.15, &flags), 0.0074867, 1e-4 * 0.0074867);
  g_assert_cmpint (flags, ==, EF_OIL_EXTRAPOLATED);
  g_assert_cmpfloat (ef_oil_density (&oil, 288.15), ==, 870.0);
  ef_oil_kinematic (&oil, 313.15, &flags);
  g_assert_cmpint (flags, ==, 0);
  ef_oil_kinematic (&oil, 312.0, &flags);
  g_assert_cmpint (flags, ==, EF_OIL_EXTRAPOLATED);
  ef_oil_kinematic (&oil, 600.0, &flags);
  g_assert_cmpint (flags, ==, EF_OIL_EXTRAPOLATED | EF_OIL_THIN);
}

static void
test_laws (void)
{
  for (guint i = 0; i < 2000; i++)
    {
      double nu40 = MM2_S * pow (10.0, fixed_double (0.9, 3.0));
      double nu100 = MM2_S * (2.0 + (sqrt (nu40 / MM2_S) - 2.0) * fixed_double (0.2, 1.0));
      g_autoptr (GError) error = NULL;
      EfOil oil;
      EfOil other;
      EfViscosityIndex index;
      double last = INFINITY;
      const double temperature[2] = { 373.15, 313.15 };
      const double nu[2] = { nu100, nu40 };

      ef_oil_init_40_100 (&oil, nu40, nu100, 880.0, &error);
      g_assert_no_error (error);
      /* The line goes through both points, in either order. */
      g_assert_cmpfloat_with_epsilon (ef_oil_kinematic (&oil, 313.15, NULL), nu40, 1e-9 * nu40);
      g_assert_cmpfloat_with_epsilon (ef_oil_kinematic (&oil, 373.15, NULL), nu100, 2e-4 * nu100);
      g_assert_true (ef_oil_init (&other, temperature, nu, 880.0, NULL));
      g_assert_cmpfloat (other.a, ==, oil.a);
      /* It falls all the way. */
      for (double t = 233.15; t < 473.15; t += 10.0)
        {
          double value = ef_oil_kinematic (&oil, t, NULL);

          g_assert_cmpfloat (value, <, last);
          g_assert_cmpfloat (value, >, 0.0);
          last = value;
        }
      /* Index and back, both ways. */
      if (!ef_oil_viscosity_index (nu40, nu100, &index, NULL))
        continue;
      g_assert_cmpfloat_with_epsilon (ef_oil_nu40_from_index (nu100, index.value, NULL), nu40, 1e-9 * nu40);
      g_assert_cmpfloat_with_epsilon (ef_oil_nu100_from_index (nu40, index.value, NULL), nu100, 1e-9 * nu100);
    }
}

static void
test_halves_to_even (void)
{
  EfViscosityIndex index;

  /* At Y = 7.8, L 95.43 and H 57.31: U that makes VI 90.5 and 91.5 (but for the last digit, so a hair to the safe side). */
  g_assert_true (ef_oil_viscosity_index (MM2_S * (95.43 - 0.90499999 * (95.43 - 57.31)), 7.8e-6, &index, NULL));
  g_assert_cmpint (index.reported, ==, 90);
  g_assert_true (ef_oil_viscosity_index (MM2_S * (95.43 - 0.90500001 * (95.43 - 57.31)), 7.8e-6, &index, NULL));
  g_assert_cmpint (index.reported, ==, 91);
}

static EfOilGrades *
load_grades (void)
{
  g_autofree char *path = g_build_filename (g_getenv ("ENDFLOAT_DATADIR"), "oil", "grades.json", NULL);
  g_autoptr (GError) error = NULL;
  EfOilGrades *grades = ef_oil_grades_load (path, &error);

  g_assert_no_error (error);

  return grades;
}

static void
test_iso_grades (void)
{
  g_autoptr (EfOilGrades) grades = load_grades ();
  g_auto (GStrv) lines = check_lines ("iso3448.csv");
  guint found = 0;

  for (guint i = 0; lines[i] != NULL; i++)
    {
      g_auto (GStrv) fields = check_split_line (lines[i]);
      g_autofree char *name = g_strconcat ("ISO VG ", fields[0], NULL);
      const EfOilGrade *grade = ef_oil_grades_find (grades, name, NULL);

      /* The thinnest three are no oils for a pump, and have no viscosity index. */
      if (atoi (fields[0]) < 7)
        {
          g_assert_null (grade);
          continue;
        }
      found++;
      g_assert_nonnull (grade);
      g_assert_cmpfloat_with_epsilon (grade->nu40 / MM2_S, g_ascii_strtod (fields[1], NULL), 1e-9);
      g_assert_cmpfloat_with_epsilon (grade->nu_min / MM2_S, g_ascii_strtod (fields[2], NULL), 1e-9);
      g_assert_cmpfloat_with_epsilon (grade->nu_max / MM2_S, g_ascii_strtod (fields[3], NULL), 1e-9);
      g_assert_cmpfloat (grade->at, ==, 313.15);
    }
  g_assert_cmpuint (found, ==, 17);
}

static void
test_sae_grades (void)
{
  g_autoptr (EfOilGrades) grades = load_grades ();
  g_auto (GStrv) lines = check_lines ("sae-j300.csv");
  guint compared = 0;

  for (guint i = 0; i < grades->grades->len; i++)
    {
      const EfOilGrade *grade = g_ptr_array_index (grades->grades, i);
      EfViscosityIndex index;
      EfOil oil;

      /* Every preset makes an oil, within its limits, with the index it names. */
      g_assert_true (ef_oil_init_40_100 (&oil, grade->nu40, grade->nu100, grade->density15, NULL));
      g_assert_cmpfloat (ef_oil_kinematic (&oil, grade->at, NULL), >=, grade->nu_min);
      g_assert_cmpfloat (ef_oil_kinematic (&oil, grade->at, NULL), <, grade->nu_max);
      g_assert_true (ef_oil_viscosity_index (grade->nu40, grade->nu100, &index, NULL));
      g_assert_cmpfloat_with_epsilon (index.value, grade->viscosity_index, 1e-6);
      g_assert_cmpuint (strlen (grade->source), >, 20);

      for (guint k = 0; lines[k] != NULL && g_str_has_prefix (grade->name, "SAE "); k++)
        {
          g_auto (GStrv) fields = check_split_line (lines[k]);
          const char *sae = grade->name + 4;
          const char *hot = strchr (sae, '-') != NULL ? strchr (sae, '-') + 1 : sae;
          g_auto (GStrv) applies = g_strsplit (fields[1], " ", -1);

          if (g_str_equal (fields[0], hot) && (*fields[1] == '\0' || g_strv_contains ((const char *const *) applies, sae)))
            {
              g_assert_cmpfloat_with_epsilon (grade->nu_min / MM2_S, g_ascii_strtod (fields[2], NULL), 1e-9);
              g_assert_cmpfloat_with_epsilon (grade->nu_max / MM2_S, g_ascii_strtod (fields[3], NULL), 1e-9);
              g_assert_cmpfloat_with_epsilon (1e3 * grade->hths_min, g_ascii_strtod (fields[4], NULL), 1e-9);
              compared++;
            }
          /* The winter letter has a least viscosity at 100 C of its own. */
          if (hot != sae && strlen (fields[0]) == (gsize) (hot - sae - 1) && g_str_has_prefix (sae, fields[0]))
            g_assert_cmpfloat (grade->nu100 / MM2_S, >=, g_ascii_strtod (fields[2], NULL));
        }
    }
  g_assert_cmpuint (compared, ==, 21);
}

static void
test_grade_names (void)
{
  g_autoptr (EfOilGrades) grades = load_grades ();
  g_autoptr (GError) error = NULL;
  static const char *const same[] = { "SAE 15W-40", "15w40", "sae15w-40", "15W/40" };

  for (guint i = 0; i < G_N_ELEMENTS (same); i++)
    g_assert_cmpstr (ef_oil_grades_find (grades, same[i], NULL)->name, ==, "SAE 15W-40");
  g_assert_cmpstr (ef_oil_grades_find (grades, "vg 46", NULL)->name, ==, "ISO VG 46");
  g_assert_null (ef_oil_grades_find (grades, "castor", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_assert_true (g_str_has_prefix (error->message, "oil: expected one of ISO VG 7, "));
  g_clear_error (&error);
  g_assert_null (ef_oil_grades_find (grades, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
}

static void
test_grades_refused (void)
{
  static const struct
  {
    const char *text;
    const char *message;
  } cases[] = {
    { "{\"format\": \"endfloat-oil-grades\", \"version\": 1, \"grades\": []}", "$.grades: expected an array of 1 to 500, found an array of 0" },
    { "{\"format\": \"endfloat-oil-grades\", \"version\": 2, \"grades\": [{}]}", "$.version: expected a whole number from 1 to 1, found 2" },
    { "{\"format\": \"endfloat-oil-grades\", \"version\": 1, \"grades\": [{\"name\": \"X\", \"source\": \"none\", \"viscosity_index\": 95, \"density15_kg_m3\": 880}]}",
      "$.grades[0]: expected one of nu40_mm2_s and nu100_mm2_s, found neither" },
    { "{\"format\": \"endfloat-oil-grades\", \"version\": 1, \"grades\": [{\"name\": \"X\", \"source\": \"none\", \"viscosity_index\": 95, \"density15_kg_m3\": 880, "
      "\"nu40_mm2_s\": 46, \"nu40_min_mm2_s\": 47, \"nu40_max_mm2_s\": 50}]}",
      "$.grades[0].nu40_min_mm2_s: expected a number above 0 and at most 46" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autofree char *path = NULL;
      g_autoptr (GError) error = NULL;
      int fd = g_file_open_tmp ("grades-XXXXXX", &path, NULL);

      g_close (fd, NULL);
      g_file_set_contents (path, cases[i].text, -1, NULL);
      g_assert_null (ef_oil_grades_load (path, &error));
      g_assert_nonnull (error);
      g_test_message ("%s", error->message);
      g_assert_nonnull (strstr (error->message, cases[i].message));
      g_unlink (path);
    }
}

static void
test_refused (void)
{
  static const struct
  {
    double temperature[2];
    double nu[2];
    double density;
    EfError code;
    const char *prefix;
  } cases[] = {
    { { 313.15, 373.15 }, { 14e-6, 95e-6 }, 870.0, EF_ERROR_RANGE, "nu: expected to fall with temperature" },
    { { 313.15, 373.15 }, { 95e-6, 95e-6 }, 870.0, EF_ERROR_RANGE, "nu: expected to fall with temperature" },
    { { 313.15, 314.0 }, { 95e-6, 90e-6 }, 870.0, EF_ERROR_RANGE, "temperature: expected two points at least 5 K apart" },
    { { NAN, 373.15 }, { 95e-6, 14e-6 }, 870.0, EF_ERROR_INVALID, "temperature[0]: expected from -100 to 400 °C" },
    { { 40.0, 100.0 }, { 95e-6, 14e-6 }, 870.0, EF_ERROR_RANGE, "temperature[0]: expected from -100 to 400 °C" },
    { { 313.15, 373.15 }, { 95e-6, INFINITY }, 870.0, EF_ERROR_INVALID, "nu[1]: expected a kinematic viscosity" },
    { { 313.15, 373.15 }, { 95e-6, 0.0 }, 870.0, EF_ERROR_RANGE, "nu[1]: expected a kinematic viscosity" },
    { { 313.15, 373.15 }, { 95.0, 14.0 }, 870.0, EF_ERROR_RANGE, "nu[0]: expected a kinematic viscosity" },
    { { 313.15, 373.15 }, { 95e-6, 14e-6 }, 0.87, EF_ERROR_RANGE, "density15: expected from 500 to 1500 kg/m³" },
    { { 313.15, 373.15 }, { 95e-6, 14e-6 }, NAN, EF_ERROR_INVALID, "density15: expected from 500 to 1500 kg/m³" },
  };
  EfViscosityIndex index;
  EfOil oil;

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autoptr (GError) error = NULL;

      g_assert_false (ef_oil_init (&oil, cases[i].temperature, cases[i].nu, cases[i].density, &error));
      g_assert_error (error, EF_ERROR, (int) cases[i].code);
      g_test_message ("%s", error->message);
      g_assert_true (g_str_has_prefix (error->message, cases[i].prefix));
    }

  g_assert_true (ef_oil_init_40_100 (&oil, 95e-6, 14e-6, 870.0, NULL));
  g_assert_true (isnan (ef_oil_kinematic (&oil, NAN, NULL)));
  g_assert_true (isnan (ef_oil_kinematic (&oil, 100.0, NULL)));
  g_assert_true (isnan (ef_oil_dynamic (&oil, INFINITY, NULL)));

  {
    g_autoptr (GError) error = NULL;

    g_assert_false (ef_oil_viscosity_index (5e-6, 1.9e-6, &index, &error));
    g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
    g_clear_error (&error);
    g_assert_false (ef_oil_viscosity_index (5e-6, 6e-6, &index, &error));
    g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
    g_clear_error (&error);
    g_assert_false (ef_oil_viscosity_index (NAN, 6e-6, &index, &error));
    g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
    g_clear_error (&error);
    g_assert_true (isnan (ef_oil_nu100_from_index (2.2e-6, 95.0, &error)));
    g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
    g_clear_error (&error);
    g_assert_true (isnan (ef_oil_nu40_from_index (10e-6, NAN, &error)));
    g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  }
}

/* What is allowed is allowed to its very end, and no farther. */
static void
test_edges (void)
{
  const double widest[2] = { 173.15, 673.15 }, nu[2] = { 9e-1, 0.5e-6 }, colder[2] = { 173.14, 373.15 }, hotter[2] = { 313.15, 673.16 };
  const double apart[2] = { 320.0, 325.0 }, nearer[2] = { 320.0, 324.99 }, near_nu[2] = { 50e-6, 40e-6 };
  EfViscosityIndex index;
  EfOil oil;

  g_assert_true (ef_oil_init (&oil, widest, nu, 870.0, NULL));
  g_assert_true (isfinite (ef_oil_kinematic (&oil, 173.15, NULL)));
  g_assert_true (isfinite (ef_oil_kinematic (&oil, 673.15, NULL)));
  g_assert_true (isnan (ef_oil_kinematic (&oil, 173.14, NULL)));
  g_assert_true (isnan (ef_oil_kinematic (&oil, 673.16, NULL)));
  g_assert_false (ef_oil_init (&oil, colder, nu, 870.0, NULL));
  g_assert_false (ef_oil_init (&oil, hotter, nu, 870.0, NULL));
  g_assert_true (ef_oil_init (&oil, apart, near_nu, 500.0, NULL));
  g_assert_true (ef_oil_init (&oil, apart, near_nu, 1500.0, NULL));
  g_assert_false (ef_oil_init (&oil, apart, near_nu, 499.9, NULL));
  g_assert_false (ef_oil_init (&oil, nearer, near_nu, 870.0, NULL));
  /* The viscosity index is defined from 2 mm2/s at 100 degrees C on. */
  g_assert_true (ef_oil_viscosity_index (7e-6, 2e-6, &index, NULL));
  g_assert_false (ef_oil_viscosity_index (7e-6, 1.999e-6, &index, NULL));
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/oil/table", test_table);
  g_test_add_func ("/oil/w2", test_w2);
  g_test_add_func ("/oil/laws", test_laws);
  g_test_add_func ("/oil/index/halves", test_halves_to_even);
  g_test_add_func ("/oil/grades/iso", test_iso_grades);
  g_test_add_func ("/oil/grades/sae", test_sae_grades);
  g_test_add_func ("/oil/grades/names", test_grade_names);
  g_test_add_func ("/oil/grades/refused", test_grades_refused);
  g_test_add_func ("/oil/refused", test_refused);
  g_test_add_func ("/oil/edges", test_edges);

  return g_test_run ();
}
