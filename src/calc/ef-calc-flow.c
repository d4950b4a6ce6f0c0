/* Computations by name: slots, films, tips, demand, thermal growth, a section's loss, a pump's state.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-calc-gear.h"

#include <float.h>
#include <math.h>

#include "../flow/ef-slot.h"
#include "../flow/ef-tip.h"
#include "../flow/ef-working-point.h"
#include "../pump/ef-pump-sheet.h"

#define DEG (G_PI / 180.0)
#define ZERO_CELSIUS 273.15
#define L_MIN 6e4 /* m3/s to L/min */
#define MOST_GAPS 64

static void
set_flow (JsonObject *object,
          double flow)
{
  json_object_set_double_member (object, "flow_l_min", flow * L_MIN);
  json_object_set_double_member (object, "flow_m3_s", flow);
}

static double
read_mm (const EfJson *input,
         const char *member)
{
  return 1e-3 * ef_json_number (input, member, DBL_MIN, 1e4);
}

static double
read_um (const EfJson *input,
         const char *member)
{
  return 1e-6 * ef_json_number (input, member, DBL_MIN, 1e5);
}

static double
read_pressure (const EfJson *input)
{
  return 1e5 * ef_json_number (input, "pressure_bar", -1e4, 1e4);
}

static double
read_viscosity (const EfJson *input)
{
  return 1e-3 * ef_json_number (input, "viscosity_mPa_s", DBL_MIN, 1e6);
}

/* As many numbers as the array has, at most @most; returns how many. */
static guint
read_list (const EfJson *input,
           const char *member,
           guint least,
           guint most,
           double max,
           double scale,
           double *out)
{
  g_auto (EfJson) list = ef_json_array (input, member, least, most);
  guint n = MIN (ef_json_length (&list), most);

  for (guint i = 0; i < n; i++)
    {
      g_auto (EfJson) element = ef_json_element (&list, i);

      out[i] = scale * ef_json_value (&element, DBL_MIN, max);
    }

  return n;
}

static JsonArray *
array_of (const double *values,
          guint n,
          double scale)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < n; i++)
    json_array_add_double_element (array, scale * values[i]);

  return array;
}

static JsonNode *
run_slot (const EfJson *input,
          GError **error)
{
  static const char *const members[] = { "width_mm", "gap_um", "length_mm", "pressure_bar", "viscosity_mPa_s", "wall_speed_m_s", NULL };
  double width, gap, length, dp, mu, speed, flow, still;
  JsonObject *out;

  ef_json_only (input, members);
  width = read_mm (input, "width_mm");
  gap = read_um (input, "gap_um");
  length = read_mm (input, "length_mm");
  dp = read_pressure (input);
  mu = read_viscosity (input);
  speed = ef_json_number_or (input, "wall_speed_m_s", -1e3, 1e3, 0.0);
  if (!ef_json_finish (input->context, error) || !ef_slot_flow (width, gap, length, dp, mu, speed, &flow, error) ||
      !ef_slot_flow (width, gap, length, dp, mu, 0.0, &still, error))
    return NULL;

  out = json_object_new ();
  set_flow (out, flow);
  json_object_set_double_member (out, "pressure_flow_l_min", still * L_MIN);
  json_object_set_double_member (out, "drag_flow_l_min", (flow - still) * L_MIN);

  return ef_json_object_node (out);
}

static JsonNode *
run_annulus (const EfJson *input,
             GError **error)
{
  static const char *const members[] = { "radii_mm", "gaps_um", "pressure_bar", "viscosity_mPa_s", "groove_angle_deg", "groove_depth_um", NULL };
  double radii[MOST_GAPS + 1], gaps[MOST_GAPS];
  double dp, mu, beta, depth, flow, ratio;
  gboolean grooved = ef_json_has (input, "groove_angle_deg") || ef_json_has (input, "groove_depth_um");
  guint n, n_radii;
  JsonObject *out;

  ef_json_only (input, members);
  n_radii = read_list (input, "radii_mm", 2, MOST_GAPS + 1, 1e4, 1e-3, radii);
  n = read_list (input, "gaps_um", 1, MOST_GAPS, 1e5, 1e-6, gaps);
  dp = read_pressure (input);
  mu = read_viscosity (input);
  beta = grooved ? DEG * ef_json_number (input, "groove_angle_deg", 0.0, 360.0) : 0.0;
  depth = grooved ? 1e-6 * ef_json_number (input, "groove_depth_um", 0.0, 1e5) : 0.0;
  if (n_radii != n + 1)
    ef_json_fail (input, EF_ERROR_INVALID, "expected one radius more than gaps, found %u radii and %u gaps", n_radii, n);
  if (grooved && n != 1)
    ef_json_fail (input, EF_ERROR_INVALID, "groove: expected with a single gap, found %u gaps", n);
  if (!ef_json_finish (input->context, error) || !ef_series_annuli_flow (n, radii, gaps, dp, mu, &flow, error))
    return NULL;
  ratio = 1.0;
  if (grooved)
    {
      double plain = flow;

      if (!ef_grooved_annulus_flow (gaps[0], radii[0], radii[1], beta, depth, dp, mu, &flow, error))
        return NULL;
      ratio = dp != 0.0 ? flow / plain : 1.0;
    }

  out = json_object_new ();
  set_flow (out, flow);
  json_object_set_double_member (out, "ratio_to_plain", ratio);

  return ef_json_object_node (out);
}

static JsonNode *
run_journal_leak (const EfJson *input,
                  GError **error)
{
  static const char *const members[] = { "diameter_mm", "radial_clearance_um", "eccentricity", "length_mm", "pressure_bar", "viscosity_mPa_s", NULL };
  double diameter, gap, eccentricity, length, dp, mu, flow;
  JsonObject *out;

  ef_json_only (input, members);
  diameter = read_mm (input, "diameter_mm");
  gap = read_um (input, "radial_clearance_um");
  eccentricity = ef_json_number_or (input, "eccentricity", 0.0, 1.0, 0.0);
  length = read_mm (input, "length_mm");
  dp = read_pressure (input);
  mu = read_viscosity (input);
  if (!ef_json_finish (input->context, error) || !ef_journal_flow (diameter, gap, eccentricity, length, dp, mu, &flow, error))
    return NULL;

  out = json_object_new ();
  set_flow (out, flow);

  return ef_json_object_node (out);
}

static JsonNode *
run_tip_series (const EfJson *input,
                GError **error)
{
  static const char *const members[] = { "gaps_um", "face_width_mm", "tip_thickness_mm", "wall_speed_m_s", "pressure_bar", "viscosity_mPa_s", NULL };
  double h[MOST_GAPS], steps[MOST_GAPS];
  EfTipGap gaps[MOST_GAPS];
  EfTipConditions conditions;
  double dp, driven, net;
  JsonObject *out;
  guint n;

  ef_json_only (input, members);
  n = read_list (input, "gaps_um", 1, MOST_GAPS, 1e5, 1e-6, h);
  conditions.width = read_mm (input, "face_width_mm");
  conditions.thickness = read_mm (input, "tip_thickness_mm");
  conditions.speed = ef_json_number_or (input, "wall_speed_m_s", -1e3, 1e3, 0.0);
  conditions.mu = read_viscosity (input);
  dp = read_pressure (input);
  if (!ef_json_finish (input->context, error))
    return NULL;
  for (guint i = 0; i < n; i++)
    gaps[i] = (EfTipGap) { h[i] * h[i] * h[i], h[i] };
  if (!ef_tip_series (n, gaps, &conditions, dp, steps, &driven, &net, error))
    return NULL;

  out = json_object_new ();
  json_object_set_double_member (out, "pressure_flow_l_min", driven * L_MIN);
  json_object_set_double_member (out, "net_flow_l_min", net * L_MIN);
  json_object_set_array_member (out, "steps_bar", array_of (steps, n, 1e-5));

  return ef_json_object_node (out);
}

/* Where the pump's numbers are given as well: the pressure at which pump and engine agree. */
static void
add_pressure (const EfJson *input,
              double k,
              JsonObject *out)
{
  double volume = 1e-6 * ef_json_number (input, "displacement_cm3", DBL_MIN, 1e6);
  double speed = ef_json_number (input, "speed_rpm", 0.0, 1e6) / 60.0;
  double loss = ef_json_number_or (input, "loss_constant_m3", 0.0, 1.0, 0.0);
  double drag = ef_json_number_or (input, "drag_l_min", 0.0, 1e6, 0.0) / L_MIN;
  double mu = 1e-3 * ef_json_number (input, "hot_viscosity_mPa_s", DBL_MIN, 1e6);
  double relief = 1e5 * ef_json_number_or (input, "relief_bar", DBL_MIN, 1e4, 1e4);
  double pressure = mu * (volume * speed + drag) / (k + loss);

  json_object_set_double_member (out, "loss_to_demand", loss / k);
  json_object_set_boolean_member (out, "at_relief", pressure > relief);
  json_object_set_double_member (out, "working_pressure_bar", 1e-5 * MIN (pressure, relief));
}

static JsonNode *
run_demand (const EfJson *input,
            GError **error)
{
  static const char *const members[] = { "flow_l_min", "pressure_bar", "viscosity_mPa_s", "displacement_cm3", "speed_rpm", "loss_constant_m3",
                                         "drag_l_min", "hot_viscosity_mPa_s", "relief_bar", NULL };
  g_autoptr (JsonObject) out = json_object_new ();
  double flow, pressure, mu, k;

  ef_json_only (input, members);
  flow = ef_json_number (input, "flow_l_min", DBL_MIN, 1e6) / L_MIN;
  pressure = 1e5 * ef_json_number (input, "pressure_bar", DBL_MIN, 1e4);
  mu = read_viscosity (input);
  if (!ef_json_finish (input->context, error) || !ef_demand_constant (flow, pressure, mu, &k, error))
    return NULL;
  json_object_set_double_member (out, "demand_constant_m3", k);
  if (ef_json_has (input, "displacement_cm3"))
    add_pressure (input, k, out);
  if (!ef_json_finish (input->context, error))
    return NULL;

  return ef_json_object_node (g_steal_pointer (&out));
}

/* Coefficient of expansion, 1/K: a number, or a material's. */
static double
read_expansion (const EfJson *input,
                const char *number,
                const char *material)
{
  g_autofree char *name = NULL;
  double alpha = 0.0;

  if (ef_json_has (input, number) == ef_json_has (input, material))
    {
      ef_json_fail (input, EF_ERROR_INVALID, "expected either %s or %s", number, material);
      return 0.0;
    }
  if (ef_json_has (input, number))
    return 1e-6 * ef_json_number (input, number, 0.0, 1e3);
  name = ef_json_string (input, material);
  if (name != NULL && !ef_material_expansion (name, &alpha))
    ef_json_fail (input, EF_ERROR_NOT_FOUND, "%s: expected one of aluminium-alloy, magnesium-alloy, cast-iron, steel, bronze, found “%s”", material, name);

  return alpha;
}

static JsonNode *
run_thermal_growth (const EfJson *input,
                    GError **error)
{
  static const char *const members[] = { "cold_mm", "housing_length_mm", "housing_material", "housing_expansion_um_m_K", "gear_length_mm", "gear_material",
                                         "gear_expansion_um_m_K", "temperature_C", NULL };
  double cold, housing, gear, alpha_housing, alpha_gear, temperature, hot;
  JsonObject *out;

  ef_json_only (input, members);
  cold = 1e-3 * ef_json_number (input, "cold_mm", -100.0, 100.0);
  housing = read_mm (input, "housing_length_mm");
  gear = read_mm (input, "gear_length_mm");
  alpha_housing = read_expansion (input, "housing_expansion_um_m_K", "housing_material");
  alpha_gear = read_expansion (input, "gear_expansion_um_m_K", "gear_material");
  temperature = ZERO_CELSIUS + ef_json_number (input, "temperature_C", -100.0, 400.0);
  if (!ef_json_finish (input->context, error))
    return NULL;
  hot = ef_hot_clearance (cold, housing, alpha_housing, gear, alpha_gear, temperature);

  out = json_object_new ();
  json_object_set_double_member (out, "hot_mm", hot * 1e3);
  json_object_set_double_member (out, "growth_um", (hot - cold) * 1e6);
  json_object_set_boolean_member (out, "seizes", !(hot > 0.0));

  return ef_json_object_node (out);
}

const EfCalc ef_calc_flow[] = {
  {
      "slot",
      "Laminar flow through a plane slot, one wall of which may move",
      "width_mm: across the flow\n"
      "gap_um\n"
      "length_mm: along the flow\n"
      "pressure_bar: drop along the length\n"
      "viscosity_mPa_s\n"
      "wall_speed_m_s: positive along the flow, default 0",
      "flow_l_min, flow_m3_s: both parts together\n"
      "pressure_flow_l_min: width gap^3 dp / (12 mu length)\n"
      "drag_flow_l_min: width gap U / 2",
      "{\"width_mm\": 20, \"gap_um\": 80, \"length_mm\": 1.5, \"pressure_bar\": 4, \"viscosity_mPa_s\": 12, \"wall_speed_m_s\": -1.5}",
      "plane Poiseuille and Couette flow, textbook",
      run_slot,
  },
  {
      "annulus",
      "Laminar flow between two flat discs from one radius to another, in rings of different gaps, or with a radial groove",
      "radii_mm: rising, one more than gaps\n"
      "gaps_um: one between each two radii\n"
      "pressure_bar, viscosity_mPa_s\n"
      "groove_angle_deg, groove_depth_um: a groove of that angle with radial sides, with a single gap only",
      "flow_l_min, flow_m3_s\n"
      "ratio_to_plain: with the groove to without",
      "{\"radii_mm\": [9, 15.15], \"gaps_um\": [40], \"pressure_bar\": 4, \"viscosity_mPa_s\": 10}",
      "radial Poiseuille flow between discs, textbook: pi h^3 dp / (6 mu ln (r2 / r1)); rings in series, groove in parallel",
      run_annulus,
  },
  {
      "journal-leak",
      "Laminar flow along the ring gap of a journal",
      "diameter_mm\n"
      "radial_clearance_um\n"
      "eccentricity: 0 (default) to 1, of the radial clearance\n"
      "length_mm, pressure_bar, viscosity_mPa_s",
      "flow_l_min, flow_m3_s",
      "{\"diameter_mm\": 14, \"radial_clearance_um\": 30, \"eccentricity\": 0.6, \"length_mm\": 20, \"pressure_bar\": 5, \"viscosity_mPa_s\": 20}",
      "thin annulus, textbook: pi D h^3 dp (1 + 1.5 e^2) / (12 mu l)",
      run_journal_leak,
  },
  {
      "tip-series",
      "Tooth tips in series along the pocket wall, without flow at their sides",
      "gaps_um: from suction to delivery\n"
      "face_width_mm, tip_thickness_mm\n"
      "wall_speed_m_s: of the tips, from suction to delivery, default 0\n"
      "pressure_bar: delivery above suction\n"
      "viscosity_mPa_s",
      "pressure_flow_l_min: driven by pressure alone\n"
      "net_flow_l_min: less the oil dragged along; positive from delivery to suction\n"
      "steps_bar: pressure across each gap",
      "{\"gaps_um\": [35, 39, 49, 62, 74, 82], \"face_width_mm\": 25, \"tip_thickness_mm\": 1.770968, \"wall_speed_m_s\": 6.785840, \"pressure_bar\": 4, \"viscosity_mPa_s\": 11.5071}",
      "slot flow and Couette flow in each gap, textbook",
      run_tip_series,
  },
  {
      "demand",
      "The engine's demand from one known point, and the pressure at which a pump meets it",
      "flow_l_min, pressure_bar, viscosity_mPa_s: the known point\n"
      "displacement_cm3: a turn; with it the pump's numbers:\n"
      "speed_rpm, hot_viscosity_mPa_s\n"
      "loss_constant_m3: L = mu q / dp, default 0\n"
      "drag_l_min: default 0\n"
      "relief_bar: default none",
      "demand_constant_m3: k in Q = k p / mu\n"
      "loss_to_demand: L / k\n"
      "working_pressure_bar: mu (V n + drag) / (k + L), at most the relief valve's\n"
      "at_relief",
      "{\"flow_l_min\": 25, \"pressure_bar\": 4, \"viscosity_mPa_s\": 11.5071, \"displacement_cm3\": 16.446424, \"speed_rpm\": 500, \"hot_viscosity_mPa_s\": 7.4867, \"loss_constant_m3\": 1.51e-13}",
      "resistance in proportion to viscosity: modelling assumption; balance of flows",
      run_demand,
  },
  {
      "thermal-growth",
      "A clearance between housing and gear when hot",
      "cold_mm: the clearance at 20 C\n"
      "housing_length_mm, gear_length_mm: pocket depth and face width, or pocket and tip radius\n"
      "housing_material, gear_material: aluminium-alloy, magnesium-alloy, cast-iron, steel, bronze; or\n"
      "housing_expansion_um_m_K, gear_expansion_um_m_K\n"
      "temperature_C",
      "hot_mm\n"
      "growth_um\n"
      "seizes: no clearance is left",
      "{\"cold_mm\": 0.07, \"housing_length_mm\": 30, \"housing_material\": \"aluminium-alloy\", \"gear_length_mm\": 30, \"gear_material\": \"steel\", \"temperature_C\": 120}",
      "linear expansion; the materials' coefficients are textbook figures, rounded, from memory",
      run_thermal_growth,
  },
  { NULL },
};
