/* What a person types becomes SI and comes back as it was.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/ef-units.h"

#include <math.h>

#include "base/ef-error.h"
#include "fixed-random.h"
#include "../isolate.h"

static void
test_parse (void)
{
  static const struct
  {
    const char *text;
    EfUnit default_unit;
    double si;
    EfUnit unit;
  } cases[] = {
    { "0.04 mm", EF_UNIT_MM, 4e-5, EF_UNIT_MM },
    { "0,04", EF_UNIT_MM, 4e-5, EF_UNIT_MM },
    { ",5", EF_UNIT_MM, 5e-4, EF_UNIT_MM },
    { "5.", EF_UNIT_MM, 5e-3, EF_UNIT_MM },
    { "1.5 thou", EF_UNIT_MM, 38.1e-6, EF_UNIT_THOU }, /* 1 in = 25.4 mm exactly */
    { "1.5mil", EF_UNIT_MM, 38.1e-6, EF_UNIT_THOU },
    { "40 um", EF_UNIT_MM, 4e-5, EF_UNIT_UM },
    { "40 \xc2\xb5m", EF_UNIT_MM, 4e-5, EF_UNIT_UM }, /* U+00B5 */
    { "40 \xce\xbcm", EF_UNIT_MM, 4e-5, EF_UNIT_UM }, /* U+03BC */
    { "40\xce\xbc", EF_UNIT_MM, 4e-5, EF_UNIT_UM },
    { "40 micron", EF_UNIT_MM, 4e-5, EF_UNIT_UM },
    { "  +\t2.5  MM ", EF_UNIT_UM, 2.5e-3, EF_UNIT_MM },
    { "- 3 um", EF_UNIT_MM, -3e-6, EF_UNIT_UM },
    { "\xe2\x88\x92"
      "3 um",
      EF_UNIT_MM, -3e-6, EF_UNIT_UM },               /* U+2212 */
    { "3\xc2\xa0um", EF_UNIT_MM, 3e-6, EF_UNIT_UM }, /* no-break space */
    { "1\"", EF_UNIT_MM, 0.0254, EF_UNIT_INCH },
    { "0.5 in", EF_UNIT_MM, 0.0127, EF_UNIT_INCH },
    { "1e-3 m", EF_UNIT_MM, 1e-3, EF_UNIT_M },
    { "1,000", EF_UNIT_MM, 1e-3, EF_UNIT_MM }, /* a comma is a decimal mark */
    { "0.0000004", EF_UNIT_MM, 0.0, EF_UNIT_MM },
    { "0.0000006", EF_UNIT_MM, 1e-9, EF_UNIT_MM },
    { "4 bar", EF_UNIT_PA, 4e5, EF_UNIT_BAR },
    { "1 psi", EF_UNIT_BAR, 6894.757293168361, EF_UNIT_PSI }, /* 0.45359237 * 9.80665 / 0.0254^2 */
    { "100", EF_UNIT_CELSIUS, 373.15, EF_UNIT_CELSIUS },
    { "100 °C", EF_UNIT_K, 373.15, EF_UNIT_CELSIUS },
    { "373.15 K", EF_UNIT_CELSIUS, 373.15, EF_UNIT_K },
    { "25 L/min", EF_UNIT_M3S, 25e-3 / 60.0, EF_UNIT_LPM },
    { "3000", EF_UNIT_RPM, 100.0 * G_PI, EF_UNIT_RPM },
    { "3000 1/min", EF_UNIT_RPM, 100.0 * G_PI, EF_UNIT_RPM },
    { "0.3", EF_UNIT_NONE, 0.3, EF_UNIT_NONE },
  };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autoptr (GError) error = NULL;
      EfUnit unit = EF_UNIT_NONE;
      double si = NAN;

      g_test_message ("%s", cases[i].text);
      g_assert_true (ef_parse_quantity (cases[i].text, cases[i].default_unit, &si, &unit, &error));
      g_assert_no_error (error);
      g_assert_cmpfloat_with_epsilon (si, cases[i].si, 4e-16 * fabs (cases[i].si) + 1e-300);
      g_assert_cmpint (unit, ==, cases[i].unit);
    }
}

static void
test_parse_angle (void)
{
  static const struct
  {
    const char *text;
    double degrees;
  } cases[] = { { "12.5 deg", 12.5 }, { "12,5°", 12.5 }, { "-90", -90.0 }, { "0.2 rad", 0.2 * 180.0 / G_PI }, { "1e-9", 1e-9 } };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      double radians = NAN;

      g_assert_true (ef_parse_angle (cases[i].text, EF_UNIT_DEG, &radians, NULL, NULL));
      g_assert_cmpfloat_with_epsilon (radians * 180.0 / G_PI, cases[i].degrees, 0.5e-9);
    }
}

static void
test_bad (void)
{
  static const struct
  {
    const char *text;
    EfUnit default_unit;
    const char *reason;
  } cases[] = {
    { "", EF_UNIT_MM, "there is no number" },
    { "   ", EF_UNIT_MM, "there is no number" },
    { "mm", EF_UNIT_MM, "there is no number" },
    { "-", EF_UNIT_MM, "there is no number" },
    { ".", EF_UNIT_MM, "there is no number" },
    { "--3", EF_UNIT_MM, "there is no number" },
    { "nan", EF_UNIT_MM, "there is no number" },
    { "inf mm", EF_UNIT_MM, "there is no number" },
    { "1.000,5", EF_UNIT_MM, "more than one decimal mark; thousands are written without a separator" },
    { "1,2,3 mm", EF_UNIT_MM, "more than one decimal mark; thousands are written without a separator" },
    { "1 000", EF_UNIT_MM, "there is a space inside the number" },
    { "3 feet", EF_UNIT_MM, "that unit isn't known" },
    { "3 mm mm", EF_UNIT_MM, "that unit isn't known" },
    { "0x10", EF_UNIT_MM, "that unit isn't known" },
    { "3e", EF_UNIT_MM, "that unit isn't known" },
    { "3 bar", EF_UNIT_MM, "that unit measures something else" },
    { "3 mm", EF_UNIT_DEG, "that unit measures something else" },
    { "3 mm", EF_UNIT_NONE, "that unit measures something else" },
    { "1e999", EF_UNIT_MM, "the number is too large" },
    { "1e300", EF_UNIT_MM, "the number is too large" },
    { "1e18", EF_UNIT_DEG, "the number is too large" },
    { "-300 °C", EF_UNIT_K, "it is below absolute zero" },
    { "\xff", EF_UNIT_MM, "it is no text" },
    { NULL, EF_UNIT_MM, "it is no text" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autoptr (GError) error = NULL;
      double si;

      g_assert_false (ef_parse_quantity (cases[i].text, cases[i].default_unit, &si, NULL, &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_PARSE);
      g_test_message ("%s", error->message);
      g_assert_true (g_str_has_prefix (error->message, "expected a value such as "));
      g_assert_true (g_str_has_suffix (error->message, cases[i].reason));
    }
}

static void
test_grid (void)
{
  for (guint i = 0; i < 100000; i++)
    {
      gint64 nanometres = (gint64) fixed_double (-1e12, 1e12);
      gint64 nanodegrees = (gint64) fixed_double (-720e9, 720e9);
      double metres = (double) nanometres / 1e9;
      double radians = ef_angle_from_deg ((double) nanodegrees / 1e9);
      g_autofree char *text = NULL;
      double read = NAN;

      g_assert_cmpfloat (ef_length_on_grid (metres), ==, metres);
      g_assert_cmpfloat (ef_length_from_mm (ef_length_to_mm (metres)), ==, metres);
      g_assert_cmpfloat (ef_length_to_mm (metres), ==, (double) nanometres / 1e6);
      g_assert_cmpfloat (ef_angle_on_grid (radians), ==, radians);
      g_assert_cmpfloat (ef_angle_from_deg (ef_angle_to_deg (radians)), ==, radians);
      g_assert_cmpfloat (ef_angle_to_deg (radians), ==, (double) nanodegrees / 1e9);
      if (i % 10 != 0)
        continue;
      text = ef_format_quantity (metres, EF_UNIT_MM, 6);
      g_assert_true (ef_parse_length (text, EF_UNIT_INCH, &read, NULL, NULL));
      g_assert_cmpfloat (read, ==, metres);
    }

  /* Any double lands within half a step. */
  for (guint i = 0; i < 10000; i++)
    {
      double metres = fixed_double (-1.0, 1.0);

      g_assert_cmpfloat (fabs (ef_length_on_grid (metres) - metres), <=, 0.5000001e-9);
    }
  g_assert_true (isnan (ef_length_on_grid (NAN)));
}

static void
test_names (void)
{
  for (EfUnit unit = EF_UNIT_M; unit <= EF_UNIT_RPM; unit++)
    {
      EfUnit back = EF_UNIT_NONE;

      g_assert_true (ef_unit_from_name (ef_unit_name (unit), &back));
      g_assert_cmpint (back, ==, unit);
      g_assert_true (ef_unit_from_name (ef_unit_symbol (unit), &back));
      g_assert_cmpint (back, ==, unit);
      for (double value = 0.5; value < 1000.0; value *= 3.0)
        g_assert_cmpfloat_with_epsilon (ef_unit_from_si (unit, ef_unit_to_si (unit, value)), value, 1e-12 * 373.0);
    }
  g_assert_false (ef_unit_from_name ("", &(EfUnit){ 0 }));
  g_assert_false (ef_unit_from_name (NULL, &(EfUnit){ 0 }));
  g_assert_false (ef_unit_from_name ("furlong", &(EfUnit){ 0 }));
  g_assert_cmpstr (ef_unit_symbol (EF_UNIT_UM), ==, "\xc2\xb5m");
}

static void
test_format (void)
{
  static const struct
  {
    double si;
    EfUnit unit;
    int decimals;
    const char *text;
  } cases[] = {
    { 4e-5, EF_UNIT_MM, -1, "0.040 mm" },
    { 4e-5, EF_UNIT_UM, 0, "40 µm" },
    { 38.1e-6, EF_UNIT_THOU, -1, "1.50 thou" },
    { 0.0254, EF_UNIT_INCH, -1, "1.0000 in" },
    { -1e-9, EF_UNIT_MM, -1, "0.000 mm" },
    { -1e-3, EF_UNIT_MM, -1, "-1.000 mm" },
    { 0.0625e-3, EF_UNIT_MM, 4, "0.0625 mm" },
    { 373.15, EF_UNIT_CELSIUS, -1, "100.0 °C" },
    { G_PI / 2.0, EF_UNIT_DEG, -1, "90.0°" },
    { 4e5, EF_UNIT_BAR, -1, "4.00 bar" },
    { 0.5, EF_UNIT_NONE, 2, "0.50" },
    { NAN, EF_UNIT_MM, -1, "— mm" },
    { INFINITY, EF_UNIT_BAR, -1, "— bar" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autofree char *text = ef_format_quantity (cases[i].si, cases[i].unit, cases[i].decimals);

      g_assert_cmpstr (text, ==, cases[i].text);
    }
  g_free (ef_format_quantity (1e300, EF_UNIT_UM, 17));
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/base/units/parse", test_parse);
  g_test_add_func ("/base/units/parse-angle", test_parse_angle);
  g_test_add_func ("/base/units/bad", test_bad);
  g_test_add_func ("/base/units/grid", test_grid);
  g_test_add_func ("/base/units/names", test_names);
  g_test_add_func ("/base/units/format", test_format);

  return g_test_run ();
}
