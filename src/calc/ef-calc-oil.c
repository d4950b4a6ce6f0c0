/* Computations by name: oil at temperature, viscosity index, displacement.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-calc-gear.h"

#include <float.h>
#include <math.h>

#include "../flow/ef-displacement.h"
#include "../oil/ef-oil.h"
#include "../pump/ef-pump-sheet.h"

#define MM2_S 1e-6
#define ZERO_CELSIUS 273.15

/* From two points, a grade, or one viscosity and an index. */
static gboolean
read_oil (const EfJson *input,
          EfOil *oil,
          char **source,
          GError **error)
{
  gboolean has_grade = ef_json_has (input, "grade");
  gboolean has_nu = ef_json_has (input, "nu40_mm2_s");
  double density = ef_json_number_or (input, "density15_kg_m3", 500.0, 1500.0, 870.0);

  if (has_grade == has_nu)
    {
      ef_json_fail (input, EF_ERROR_INVALID, "expected either grade, or nu40_mm2_s and nu100_mm2_s, found %s", has_grade ? "both" : "neither");
      ef_json_finish (input->context, error);
      return FALSE;
    }
  if (has_nu)
    {
      double nu40 = MM2_S * ef_json_number (input, "nu40_mm2_s", DBL_MIN, 1e7);
      double nu100 = MM2_S * ef_json_number (input, "nu100_mm2_s", DBL_MIN, 1e7);

      *source = g_strdup ("given");

      return ef_json_finish (input->context, error) && ef_oil_init_40_100 (oil, nu40, nu100, density, error);
    }

  {
    g_autofree char *name = ef_json_string (input, "grade");
    g_autofree char *path = ef_data_path ("oil", "grades.json", NULL);
    g_autoptr (EfOilGrades) grades = NULL;
    const EfOilGrade *grade;

    if (!ef_json_finish (input->context, error))
      return FALSE;
    grades = ef_oil_grades_load (path, error);
    grade = grades != NULL ? ef_oil_grades_find (grades, name, error) : NULL;
    if (grade == NULL)
      return FALSE;
    *source = g_strdup_printf ("%s: %s", grade->name, grade->source);
    if (!ef_json_has (input, "density15_kg_m3"))
      density = grade->density15;

    return ef_oil_init_40_100 (oil, grade->nu40, grade->nu100, density, error);
  }
}

static JsonNode *
run_oil (const EfJson *input,
         GError **error)
{
  static const char *const members[] = { "grade", "nu40_mm2_s", "nu100_mm2_s", "density15_kg_m3", "temperature_C", NULL };
  g_autofree char *source = NULL;
  JsonObject *out;
  EfOilFlags flags;
  EfOil oil;
  double temperature;

  ef_json_only (input, members);
  temperature = ZERO_CELSIUS + ef_json_number (input, "temperature_C", -100.0, 400.0);
  if (!read_oil (input, &oil, &source, error))
    return NULL;

  out = json_object_new ();
  json_object_set_double_member (out, "kinematic_mm2_s", ef_oil_kinematic (&oil, temperature, &flags) / MM2_S);
  json_object_set_double_member (out, "density_kg_m3", ef_oil_density (&oil, temperature));
  json_object_set_double_member (out, "dynamic_mPa_s", 1e3 * ef_oil_dynamic (&oil, temperature, NULL));
  json_object_set_boolean_member (out, "extrapolated", (flags & EF_OIL_EXTRAPOLATED) != 0);
  json_object_set_boolean_member (out, "below_2_mm2_s", (flags & EF_OIL_THIN) != 0);
  json_object_set_double_member (out, "nu40_mm2_s", oil.nu[0] / MM2_S);
  json_object_set_double_member (out, "nu100_mm2_s", oil.nu[1] / MM2_S);
  json_object_set_double_member (out, "A", oil.a);
  json_object_set_double_member (out, "B", oil.b);
  json_object_set_string_member (out, "oil_source", source);
  json_object_set_string_member (out, "not_modelled", "thinning by shear (multigrade oils lose 10 to 30 % at high shear), fuel in the oil, air in the oil");

  return ef_json_object_node (out);
}

static JsonNode *
run_viscosity_index (const EfJson *input,
                     GError **error)
{
  static const char *const members[] = { "nu40_mm2_s", "nu100_mm2_s", NULL };
  char procedure[2] = { 0 };
  EfViscosityIndex index;
  JsonObject *out;
  double nu40;
  double nu100;

  ef_json_only (input, members);
  nu40 = MM2_S * ef_json_number (input, "nu40_mm2_s", DBL_MIN, 1e7);
  nu100 = MM2_S * ef_json_number (input, "nu100_mm2_s", DBL_MIN, 1e7);
  if (!ef_json_finish (input->context, error) || !ef_oil_viscosity_index (nu40, nu100, &index, error))
    return NULL;

  out = json_object_new ();
  procedure[0] = index.procedure;
  json_object_set_int_member (out, "reported", index.reported);
  json_object_set_double_member (out, "value", index.value);
  json_object_set_string_member (out, "procedure", procedure);
  json_object_set_double_member (out, "L_mm2_s", index.l / MM2_S);
  json_object_set_double_member (out, "H_mm2_s", index.h / MM2_S);
  if (isfinite (index.n))
    json_object_set_double_member (out, "N", index.n);

  return ef_json_object_node (out);
}

static JsonNode *
run_displacement (const EfJson *input,
                  GError **error)
{
  static const char *const members[] = { EF_CALC_GEAR_MEMBERS, "check", NULL };
  EfDisplacementAreas areas;
  EfDisplacement displacement;
  EfGearPairInput in;
  EfGearPair pair;
  JsonObject *out;
  gboolean check;
  gboolean ok;

  ef_json_only (input, members);
  check = ef_json_boolean_or (input, "check", TRUE);
  if (!ef_calc_read_gear_pair (input, &in, error))
    return NULL;
  ok = check ? ef_gear_pair_solve (&in, &pair, error) : ef_gear_pair_compute (&in, &pair, error);
  if (!ok || !ef_displacement_solve (&pair, &displacement, error))
    return NULL;

  out = json_object_new ();
  json_object_set_double_member (out, "volume_cm3", 1e6 * displacement.volume);
  json_object_set_double_member (out, "volume_integrated_cm3", 1e6 * displacement.volume_integrated);
  if (ef_displacement_by_areas (&pair, 400, &areas, NULL))
    {
      JsonArray *spaces = json_array_new ();

      json_object_set_double_member (out, "volume_by_areas_cm3", 1e6 * areas.volume);
      for (int gear = 0; gear < 2; gear++)
        json_array_add_double_element (spaces, 1e6 * areas.space_area[gear]);
      json_object_set_array_member (out, "space_area_mm2", spaces);
      json_object_set_double_member (out, "trap_area_mm2", 1e6 * areas.trap_area);
    }
  json_object_set_double_member (out, "volume_no_relief_cm3", 1e6 * displacement.volume_no_relief);
  json_object_set_double_member (out, "volume_simple_cm3", 1e6 * displacement.volume_simple);
  json_object_set_double_member (out, "ripple", displacement.ripple);
  json_object_set_double_member (out, "contact_ratio", pair.contact_ratio);
  json_object_set_double_member (out, "base_pitch_mm", 1e3 * pair.base_pitch);

  return ef_json_object_node (out);
}

const EfCalc ef_calc_oil[] = {
  {
      "oil",
      "Viscosity and density of an oil at a temperature",
      "grade: name such as \"SAE 30\", \"15W-40\", \"ISO VG 46\"; or\n"
      "nu40_mm2_s, nu100_mm2_s: kinematic viscosity at 40 and 100 C, mm2/s\n"
      "density15_kg_m3: at 15 C, default 870 or the grade's\n"
      "temperature_C: number, -100 to 400",
      "kinematic_mm2_s, dynamic_mPa_s, density_kg_m3\n"
      "extrapolated: outside 40 to 100 C\n"
      "below_2_mm2_s: thinner than the two-point line is good for\n"
      "A, B: log10 log10 (nu + 0.7) = A - B log10 T",
      "{\"nu40_mm2_s\": 95, \"nu100_mm2_s\": 14, \"density15_kg_m3\": 870, \"temperature_C\": 120}",
      "ASTM D341; density -0.00065 per K of that at 15 C: common practice, no source; grades ISO 3448 and SAE J300",
      run_oil,
  },
  {
      "viscosity-index",
      "Viscosity index of an oil",
      "nu40_mm2_s, nu100_mm2_s: kinematic viscosity at 40 and 100 C, mm2/s",
      "reported: whole number, exact halves to even\n"
      "value: unrounded\n"
      "procedure: \"A\" up to 100, \"B\" from there, with its exponent N\n"
      "L_mm2_s, H_mm2_s",
      "{\"nu40_mm2_s\": 22.83, \"nu100_mm2_s\": 5.05}",
      "ASTM D2270 / ISO 2909",
      run_viscosity_index,
  },
  {
      "displacement",
      "Displacement of a gear pair per turn of the drive gear, and its ripple",
      EF_CALC_GEAR_INPUT
      "\ncheck: true (default) refuses pairs that can't be made or can't run; false computes them all the same",
      "volume_cm3: with relief grooves that hand over symmetrically\n"
      "volume_integrated_cm3, volume_by_areas_cm3: the same by integration and from polygons\n"
      "space_area_mm2, trap_area_mm2: the polygons' areas\n"
      "volume_no_relief_cm3: trapped oil open to delivery until the leading contact ends\n"
      "volume_simple_cm3: shop formula without the base pitch term\n"
      "ripple: (largest - least) / mean",
      "{\"teeth\": [12, 12], \"module_mm\": 3, \"shift\": [0.3, 0.3], \"tip_diameter_mm\": [43.2, 43.2], \"centre_distance_mm\": 37.7, \"face_width_mm\": 25}",
      "what each gear sweeps between tip circle and contact, derived from first principles; for equal gears also in textbooks",
      run_displacement,
  },
  { NULL },
};
