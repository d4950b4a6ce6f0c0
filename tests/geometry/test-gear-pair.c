/* Gear pairs: every number of the table of check values, refusals with their reasons, nasty input.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "geometry/ef-gear-pair.h"

#include <math.h>
#include <string.h>

#include "base/ef-error.h"
#include "check-values.h"
#include "fixed-random.h"
#include "../isolate.h"

#define DEG (G_PI / 180.0)

static void
assert_near (double value,
             double expected,
             double relative)
{
  g_assert_cmpfloat_with_epsilon (value, expected, relative * fabs (expected) + 1e-14);
}

/* z 12/12, m 3, 20 deg, x 0.3/0.3, a 37.70, b 25, da 43.2 mm: worked case 1 of the computation specification. */
static const EfGearPairInput w1_input = {
  .teeth = { 12, 12 },
  .module = 3e-3,
  .pressure_angle = 20.0 * DEG,
  .shift = { 0.3, 0.3 },
  .tip_radius = { 21.6e-3, 21.6e-3 },
  .centre_distance = 37.7e-3,
  .face_width = 25e-3,
};

static void
row_pair (const char *inputs,
          EfGearPair *pair)
{
  g_autoptr (GError) error = NULL;
  double z = check_input (inputs, "z", 20.0);
  double x = check_input (inputs, "x", 0.0);
  EfGearPairInput in = {
    .teeth = { (int) check_input (inputs, "z1", z), (int) check_input (inputs, "z2", z) },
    .module = 1e-3 * check_input (inputs, "m", 3.0),
    .pressure_angle = DEG * check_input (inputs, "alpha", 20.0),
    .shift = { check_input (inputs, "x1", x), check_input (inputs, "x2", x) },
    .face_width = 20e-3,
  };

  ef_gear_pair_standard (&in, &error);
  g_assert_no_error (error);
  if (strstr (inputs, "a=a0+") != NULL)
    in.centre_distance += 1e-3 * g_ascii_strtod (strstr (inputs, "a=a0+") + 5, NULL);
  ef_gear_pair_compute (&in, pair, &error);
  g_assert_no_error (error);
}

/* In the unit of the row. */
static double
row_value (const char *name,
           const char *inputs,
           const char *quantity)
{
  EfGearPair pair;
  double m;
  double m_mm;
  double k_theory;
  double pin = 1e-3 * check_input (inputs, "dp", 0.0);
  double ratio;
  double eta;
  int gear = g_str_has_suffix (quantity, "2") ? 1 : 0;
  int k;

  if (g_str_has_prefix (name, "inverse involute"))
    return ef_involute_inverse (check_input (inputs, "inv", 0.0), NULL) / DEG;

  row_pair (inputs, &pair);
  m = pair.in.module;
  m_mm = 1e3 * m;
  k = ef_gear_span_teeth (&pair, 0, &k_theory);
  ratio = pin / (2.0 * pair.base_radius[0]);
  eta = 0.5 * G_PI / pair.in.teeth[0] - ef_involute (pair.in.pressure_angle) - 2.0 * pair.in.shift[0] * tan (pair.in.pressure_angle) / pair.in.teeth[0];

  const struct
  {
    const char *quantity;
    double value;
  } values[] = {
    { "inv_a", ef_involute (pair.in.pressure_angle) },
    { "inv_aw", ef_involute (pair.working_angle) },
    { "aw", pair.working_angle / DEG },
    { "y", pair.in.centre_distance / m - 0.5 * (pair.in.teeth[0] + pair.in.teeth[1]) },
    { "a", 1e3 * pair.in.centre_distance },
    { "k", g_str_has_prefix (name, "span") ? k : pair.in.centre_distance / m - 0.5 * (pair.in.teeth[0] + pair.in.teeth[1]) - pair.in.shift[0] - pair.in.shift[1] },
    { "d", m_mm * pair.in.teeth[gear] },
    { "db", 2e3 * pair.base_radius[gear] },
    { "dw", 2e3 * pair.working_radius[gear] },
    { "ha", 1e3 * pair.in.tip_radius[gear] - 0.5 * m_mm * pair.in.teeth[gear] },
    { "da", 2e3 * pair.in.tip_radius[gear] },
    { "df", 2e3 * pair.in.root_radius[gear] },
    { "s", 1e3 * ef_gear_thickness (&pair, gear, 0.5 * m * pair.in.teeth[gear]) },
    { "sa", 1e3 * pair.tip_thickness[gear] },
    { "alpha_a", acos (pair.base_radius[gear] / pair.in.tip_radius[gear]) / DEG },
    { "pb", 1e3 * pair.base_pitch },
    { "eps", pair.contact_ratio },
    { "c", 1e3 * pair.tip_root_clearance[0] },
    { "k_theoretical", k_theory },
    { "W_k", 1e3 * ef_gear_span (&pair, 0, k) },
    { "contact diameter sqrt(db^2+W^2)", 1e3 * hypot (2.0 * pair.base_radius[0], ef_gear_span (&pair, 0, k)) },
    { "W_(k+1)-W_k = pb", 1e3 * (ef_gear_span (&pair, 0, k + 1) - ef_gear_span (&pair, 0, k)) },
    { "eta", eta },
    { "dp_ideal", 1e3 * ef_gear_ideal_pin (&pair, 0) },
    { "inv_phi", ratio - eta },
    { "phi", ef_involute_inverse (fmax (ratio - eta, 0.0), NULL) / DEG },
    { "M", pin > 0.0 ? 1e3 * ef_gear_over_pins (&pair, 0, pin, NULL) : 0.0 },
    { "jwt circumferential backlash at working circle", 1e3 * pair.backlash },
    { "jbn=jwt cos(aw)", 1e3 * pair.backlash * cos (pair.working_angle) },
  };
  g_autofree char *key = g_strdup (quantity);

  if (g_str_has_prefix (key, "x_min"))
    return pair.undercut_limit[0];
  if ((g_str_has_suffix (key, "1") || g_str_has_suffix (key, "2")) && strlen (key) <= 8)
    key[strlen (key) - 1] = '\0';
  if (g_str_equal (key, "alpha_a"))
    return values[14].value;
  for (guint i = 0; i < G_N_ELEMENTS (values); i++)
    if (g_str_equal (values[i].quantity, key))
      return values[i].value;
  g_test_message ("no value for “%s” of %s", quantity, name);
  g_assert_not_reached ();
}

static void
check_row (const CheckRow *row)
{
  check_near (row, row_value (row->name, row->inputs, row->quantity));
}

static void
test_table (void)
{
  g_assert_cmpuint (check_table ("gear-geometry.csv", check_row), ==, 166);
}

static void
test_w1 (void)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) warnings = NULL;
  EfGearPair pair;

  g_assert_true (ef_gear_pair_solve (&w1_input, &pair, &error));
  g_assert_no_error (error);
  /* Worked case 1 of the computation specification, recomputed there; 1e-5, backlash and areas 1e-4. */
  assert_near (pair.working_angle / DEG, 26.19210, 1e-5);
  assert_near (1e3 * pair.base_pitch, 8.856394, 1e-5);
  assert_near (pair.contact_ratio, 1.154762, 1e-5);
  assert_near (1e6 * pair.backlash, 124.296, 1e-4);
  assert_near (1e3 * pair.tip_thickness[0], 1.770968, 1e-5);
  assert_near (1e3 * pair.in.root_radius[1], 15.15, 1e-12);
  g_assert_cmpint (pair.warnings, ==, 0);
  g_assert_cmpfloat (pair.usable_contact_ratio, ==, pair.contact_ratio);
  warnings = ef_gear_pair_warnings (&pair);
  g_assert_cmpuint (warnings->len, ==, 0);
  /* The start of contact lies on the drawn involute. */
  g_assert_cmpfloat (pair.form_radius[0], <=, pair.active_radius[0]);
  /* One tooth space with radial feet and sharp root corners. */
  pair.fillet_radius[0] = 0.0;
  assert_near (1e6 * ef_gear_space_area (&pair, 0), 32.79777, 1e-5);
}

static void
test_accepts (void)
{
  /* The table's pairs must be taken though their backlash is zero but for rounding of a to 1e-8 mm. */
  static const EfGearPairInput pairs[] = {
    { { 12, 24 }, 3e-3, 20.0 * DEG, { 0.6, 0.36 }, { 22.41986972e-3, 39.69986972e-3 }, { 0, 0 }, 56.49986972e-3, 20e-3 },
    { { 12, 12 }, 2.5e-3, 20.0 * DEG, { 0.3, 0.3 }, { 18.06063367e-3, 18.06063367e-3 }, { 0, 0 }, 31.31063367e-3, 20e-3 },
    { { 11, 11 }, 4e-3, 20.0 * DEG, { 0.5, 0.5 }, { 27.25907144e-3, 27.25907144e-3 }, { 0, 0 }, 47.25907144e-3, 20e-3 },
    { { 20, 20 }, 2e-3, 20.0 * DEG, { 0.0, 0.0 }, { 22e-3, 22e-3 }, { 0, 0 }, 40e-3, 20e-3 },
    { { 40, 60 }, 2e-3, 20.0 * DEG, { 0.0, 0.0 }, { 42e-3, 62e-3 }, { 0, 0 }, 100e-3, 20e-3 },
  };

  for (guint i = 0; i < G_N_ELEMENTS (pairs); i++)
    {
      g_autoptr (GError) error = NULL;
      EfGearPair pair;

      ef_gear_pair_solve (&pairs[i], &pair, &error);
      g_assert_no_error (error);
      g_assert_cmpfloat (fabs (pair.backlash), <, 1e-9);
      for (int gear = 0; gear < 2; gear++)
        {
          g_assert_cmpfloat (pair.fillet_radius[gear], >, 0.1 * pair.in.module);
          g_assert_cmpfloat (pair.form_radius[gear], <=, pair.active_radius[gear] + 1e-9);
        }
    }
}

static void
test_undercut_warns (void)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) warnings = NULL;
  EfGearPairInput in = { { 15, 30 }, 3e-3, 20.0 * DEG, { 0.0, 0.0 }, { 0, 0 }, { 0, 0 }, 0, 20e-3 };
  EfGearPair pair;

  /* z 15, x 0: least shift 1 - 7.5 sin^2 20 deg = 0.12267, so lightly undercut, which common practice still accepts. */
  g_assert_true (ef_gear_pair_standard (&in, &error));
  in.tip_radius[1] = 47.5e-3;
  in.centre_distance += 0.1e-3;
  ef_gear_pair_solve (&in, &pair, &error);
  g_assert_no_error (error);
  assert_near (pair.undercut_limit[0], 0.12267, 1e-4);
  g_assert_cmpint (pair.warnings, ==, EF_GEAR_WARNING_UNDERCUT_0);
  g_assert_cmpfloat (pair.undercut_radius[0], >, pair.base_radius[0]);
  g_assert_cmpfloat (pair.undercut_radius[0], <, pair.base_radius[0] + 0.2 * pair.in.module);
  g_assert_cmpfloat (pair.undercut_radius[1], ==, 0.0);
  warnings = ef_gear_pair_warnings (&pair);
  g_assert_cmpuint (warnings->len, ==, 1);
  g_assert_true (g_str_has_prefix (g_ptr_array_index (warnings, 0), "shift[0]: 0 is below 0.1227, so the teeth are undercut"));
}

/* The rack's corner only just reaches the base tangent point at the limit, so undercut grows from nothing there. */
static void
test_undercut_continuous (void)
{
  double last = 0.0;

  for (double x = 0.29; x > 0.0; x -= 0.01)
    {
      EfGearPairInput in = w1_input;
      EfGearPair pair;

      in.shift[0] = x;
      g_assert_true (ef_gear_pair_compute (&in, &pair, NULL));
      g_assert_cmpfloat (pair.undercut_radius[0], >, pair.base_radius[0]);
      g_assert_cmpfloat (pair.undercut_radius[0], >, last);
      if (x > 0.285)
        g_assert_cmpfloat (pair.undercut_radius[0] - pair.base_radius[0], <, 0.01e-3);
      last = pair.undercut_radius[0];
    }
}

/* Whether a rack tooth (flank through the pitch point at roll angle 0, corner h below the pitch line) ever covers the point of
 * the flank at radius @rho: by rolling it through small steps. */
static gboolean
rolled_over (double r,
             double alpha,
             double h,
             double rho)
{
  double base = r * cos (alpha);
  double flank = ef_involute (alpha) - ef_involute (acos (base / rho));

  for (double phi = -1.0; phi < 0.1; phi += 1e-6)
    {
      double x = rho * sin (flank + phi);
      double y = rho * cos (flank + phi);

      if (y > r - h && x - r * phi > (r - y) * tan (alpha) + 1e-12)
        return TRUE;
    }

  return FALSE;
}

static void
test_undercut_rolled (void)
{
  static const struct
  {
    int z;
    double x;
  } cases[] = { { 15, 0.0 }, { 12, 0.1 }, { 10, 0.0 }, { 8, 0.3 } };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      EfGearPairInput in = { { cases[i].z, 40 }, 3e-3, 20.0 * DEG, { cases[i].x, 0.0 }, { 0, 0 }, { 0, 0 }, 0, 20e-3 };
      EfGearPair pair;
      double r = 1.5e-3 * cases[i].z;
      double h = 3e-3 * (1.0 - cases[i].x);

      g_assert_true (ef_gear_pair_standard (&in, NULL));
      g_assert_true (ef_gear_pair_compute (&in, &pair, NULL));
      g_assert_cmpfloat (pair.undercut_radius[0], >, pair.base_radius[0]);
      g_test_message ("z %d, x %g: up to %.6g mm, base %.6g mm", cases[i].z, cases[i].x, 1e3 * pair.undercut_radius[0], 1e3 * pair.base_radius[0]);
      g_assert_true (rolled_over (r, in.pressure_angle, h, pair.base_radius[0] + 0.9 * (pair.undercut_radius[0] - pair.base_radius[0])));
      g_assert_false (rolled_over (r, in.pressure_angle, h, pair.base_radius[0] + 1.01 * (pair.undercut_radius[0] - pair.base_radius[0])));
    }
}

static void
check_refusal (const EfGearPairInput *in,
               EfError code,
               const char *field,
               const char *reason)
{
  g_autoptr (GError) error = NULL;
  EfGearPair pair;

  g_assert_false (ef_gear_pair_solve (in, &pair, &error));
  g_test_message ("%s", error->message);
  g_assert_error (error, EF_ERROR, (int) code);
  g_assert_true (g_str_has_prefix (error->message, field));
  g_assert_nonnull (strstr (error->message, reason));
}

static void
test_refusals (void)
{
  EfGearPairInput in = w1_input;
  EfGearPair pair;

  in.shift[1] = 0.95;
  in.centre_distance = 40e-3;
  in.tip_radius[1] = 24e-3;
  check_refusal (&in, EF_ERROR_GEOMETRY, "tip_radius[1]: expected a tip thickness of at least 0.2 m = 0.6 mm, found", "the teeth are pointed");
  in = w1_input;
  in.centre_distance = 37.5e-3;
  check_refusal (&in, EF_ERROR_GEOMETRY, "centre_distance: expected a backlash of at least 0, found", "the teeth jam");
  in = w1_input;
  in.root_radius[0] = 16.2e-3;
  check_refusal (&in, EF_ERROR_GEOMETRY, "tip_radius[1]: expected clear of the root circle of the mate, found 0.1 mm of overlap", "tip and root interfere");
  in = w1_input;
  in.tip_radius[0] = in.tip_radius[1] = 20.5e-3;
  check_refusal (&in, EF_ERROR_GEOMETRY, "centre_distance: expected a contact ratio of at least 1, found", "lets go before");
  /* Ten teeth without shift (constructed): the tips reach past the base tangent points. */
  in = (EfGearPairInput){ { 10, 10 }, 3e-3, 20.0 * DEG, { 0.0, 0.0 }, { 18e-3, 18e-3 }, { 0, 0 }, 30e-3, 20e-3 };
  check_refusal (&in, EF_ERROR_GEOMETRY, "tip_radius[1]: expected at most", "below the base circle of the mate");
  /* Strongly undercut, tips turned down to what the involute of the mate could take were it there. */
  in = (EfGearPairInput){ { 8, 40 }, 3e-3, 20.0 * DEG, { -0.2, 0.2 }, { 0, 0 }, { 0, 0 }, 0, 20e-3 };
  g_assert_true (ef_gear_pair_standard (&in, NULL));
  g_assert_true (ef_gear_pair_compute (&in, &pair, NULL));
  in.tip_radius[1] = hypot (pair.base_radius[1], in.centre_distance * sin (pair.working_angle)) - 1e-6;
  check_refusal (&in, EF_ERROR_GEOMETRY, "shift[0]: expected", "undercut takes the flank up to");
  in = w1_input;
  in.teeth[0] = 30;
  in.shift[0] = 2.0;
  in.tip_radius[0] = 48e-3;
  in.root_radius[0] = 42.5e-3;
  in.centre_distance = 66e-3;
  check_refusal (&in, EF_ERROR_GEOMETRY, "shift[0]: expected teeth with a space between them at the root circle of 42.5 mm", "grown together");
  in = w1_input;
  in.tip_radius[0] = 16.9e-3;
  check_refusal (&in, EF_ERROR_GEOMETRY, "tip_radius[0]: expected above the base radius of 16.9145 mm", "found 16.9 mm");
  in = w1_input;
  in.root_radius[1] = 22e-3;
  check_refusal (&in, EF_ERROR_GEOMETRY, "root_radius[1]: expected below the tip radius of 21.6 mm", "found 22 mm");
  in = w1_input;
  in.centre_distance = 33e-3;
  check_refusal (&in, EF_ERROR_GEOMETRY, "centre_distance: expected above 33.8289 mm", "where the base circles touch");
  in = w1_input;
  in.teeth[0] = 3;
  check_refusal (&in, EF_ERROR_RANGE, "teeth[0]: expected from 4 to 200", "found 3");
  in = w1_input;
  in.module = -3e-3;
  check_refusal (&in, EF_ERROR_RANGE, "module: expected from 0.1 to 100 mm", "found -3");
}

static void
test_nasty (void)
{
  static const double values[] = { NAN, INFINITY, -INFINITY, -1.0, 0.0, 1e-300, 1e300, -0.0 };
  double *fields[10];
  EfGearPairInput in;
  EfGearPair pair;

  for (guint v = 0; v < G_N_ELEMENTS (values); v++)
    for (guint f = 0; f < G_N_ELEMENTS (fields); f++)
      {
        g_autoptr (GError) error = NULL;
        gboolean ok;

        in = w1_input;
        fields[0] = &in.module;
        fields[1] = &in.pressure_angle;
        fields[2] = &in.shift[0];
        fields[3] = &in.shift[1];
        fields[4] = &in.tip_radius[0];
        fields[5] = &in.tip_radius[1];
        fields[6] = &in.root_radius[0];
        fields[7] = &in.root_radius[1];
        fields[8] = &in.centre_distance;
        fields[9] = &in.face_width;
        *fields[f] = values[v];
        ok = ef_gear_pair_solve (&in, &pair, &error);
        g_assert_true (ok == (error == NULL));
        if (!isfinite (values[v]))
          g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
      }

  /* Random input: an answer that holds together or an error, never NaN. */
  for (guint i = 0; i < 3000; i++)
    {
      g_autoptr (GError) error = NULL;

      in.teeth[0] = fixed_int (4, 30);
      in.teeth[1] = fixed_int (4, 30);
      in.module = fixed_double (0.5e-3, 6e-3);
      in.pressure_angle = fixed_double (12.0, 32.0) * DEG;
      in.shift[0] = fixed_double (-1.0, 1.2);
      in.shift[1] = fixed_double (-1.0, 1.2);
      in.root_radius[0] = in.root_radius[1] = 0.0;
      in.face_width = 20e-3;
      if (!ef_gear_pair_standard (&in, &error))
        continue;
      in.centre_distance += fixed_double (-1e-4, 3e-4);
      if (!ef_gear_pair_solve (&in, &pair, &error))
        {
          g_assert_nonnull (error);
          continue;
        }
      g_assert_cmpfloat (pair.contact_ratio, >=, 1.0);
      g_assert_cmpfloat (pair.usable_contact_ratio, <=, pair.contact_ratio + 1e-12);
      g_assert_cmpfloat (pair.backlash, >=, -1e-9);
      for (int gear = 0; gear < 2; gear++)
        {
          g_assert_true (isfinite (pair.form_radius[gear]) && isfinite (pair.fillet_radius[gear]));
          g_assert_cmpfloat (ef_gear_space_area (&pair, gear), >, 0.0);
        }
    }
}

static void
test_involute (void)
{
  g_autoptr (GError) error = NULL;

  for (double angle = 1e-6; angle < 1.5; angle *= 1.03)
    {
      assert_near (ef_involute_inverse (ef_involute (angle), NULL), angle, 1e-13);
      g_assert_cmpfloat (ef_involute (-angle), ==, -ef_involute (angle));
    }
  /* The series and the difference meet without a step. */
  assert_near (ef_involute (0.02 - 1e-12), tan (0.02 - 1e-12) - (0.02 - 1e-12), 1e-12);
  g_assert_cmpfloat (ef_involute_inverse (0.0, NULL), ==, 0.0);
  g_assert_cmpfloat (ef_involute_inverse (1e6, NULL), <, 0.5 * G_PI);
  g_assert_true (isnan (ef_involute_inverse (-1e-3, &error)));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_true (isnan (ef_involute_inverse (NAN, &error)));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
}

static void
test_pins_refused (void)
{
  g_autoptr (GError) error = NULL;
  EfGearPair pair;

  g_assert_true (ef_gear_pair_solve (&w1_input, &pair, NULL));
  g_assert_true (isnan (ef_gear_over_pins (&pair, 0, 2e-3, &error)));
  g_assert_error (error, EF_ERROR, EF_ERROR_GEOMETRY);
  g_assert_nonnull (strstr (error->message, "falls to the root"));
  g_clear_error (&error);
  g_assert_true (isnan (ef_gear_over_pins (&pair, 0, 25e-3, &error)));
  g_assert_error (error, EF_ERROR, EF_ERROR_GEOMETRY);
  g_assert_nonnull (strstr (error->message, "rests on the tips"));
  g_clear_error (&error);
  g_assert_true (isnan (ef_gear_over_pins (&pair, 0, NAN, &error)));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/geometry/gear-pair/table", test_table);
  g_test_add_func ("/geometry/gear-pair/w1", test_w1);
  g_test_add_func ("/geometry/gear-pair/accepts", test_accepts);
  g_test_add_func ("/geometry/gear-pair/undercut-warns", test_undercut_warns);
  g_test_add_func ("/geometry/gear-pair/undercut-continuous", test_undercut_continuous);
  g_test_add_func ("/geometry/gear-pair/undercut-rolled", test_undercut_rolled);
  g_test_add_func ("/geometry/gear-pair/refusals", test_refusals);
  g_test_add_func ("/geometry/gear-pair/nasty", test_nasty);
  g_test_add_func ("/geometry/gear-pair/involute", test_involute);
  g_test_add_func ("/geometry/gear-pair/pins-refused", test_pins_refused);

  return g_test_run ();
}
