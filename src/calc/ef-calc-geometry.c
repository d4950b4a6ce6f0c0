/* Computations by name: units, involutes, gear pairs, outlines, flats.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-calc-gear.h"

#include <float.h>
#include <math.h>

#include "../base/ef-units.h"

#define DEG (G_PI / 180.0)

static void
set_two (JsonObject *object,
         const char *name,
         const double values[2],
         double scale)
{
  JsonArray *array = json_array_new ();

  json_array_add_double_element (array, scale * values[0]);
  json_array_add_double_element (array, scale * values[1]);
  json_object_set_array_member (object, name, array);
}

/* Gear pairs, read in one form by every computation that needs one */

static void
read_two (const EfJson *input,
          const char *member,
          double min,
          double max,
          double scale,
          double out[2])
{
  g_auto (EfJson) list = ef_json_array (input, member, 2, 2);

  for (guint i = 0; i < 2 && i < ef_json_length (&list); i++)
    {
      g_auto (EfJson) element = ef_json_element (&list, i);

      out[i] = scale * ef_json_value (&element, min, max);
    }
}

static void
read_teeth (const EfJson *input,
            int teeth[2])
{
  g_auto (EfJson) list = ef_json_array (input, "teeth", 2, 2);

  for (guint i = 0; i < 2 && i < ef_json_length (&list); i++)
    {
      g_auto (EfJson) element = ef_json_element (&list, i);

      teeth[i] = (int) ef_json_integer (&element, NULL, 4, 200);
    }
}

gboolean
ef_calc_read_gear_pair (const EfJson *input,
                        EfGearPairInput *in,
                        GError **error)
{
  *in = (EfGearPairInput){ .face_width = 20e-3 };
  read_teeth (input, in->teeth);
  in->module = 1e-3 * ef_json_number (input, "module_mm", DBL_MIN, 100.0);
  in->pressure_angle = DEG * ef_json_number_or (input, "pressure_angle_deg", 10.0, 35.0, 20.0);
  if (ef_json_has (input, "shift"))
    read_two (input, "shift", -2.0, 2.0, 1.0, in->shift);
  if (ef_json_has (input, "root_diameter_mm"))
    read_two (input, "root_diameter_mm", DBL_MIN, 1e4, 0.5e-3, in->root_radius);
  in->face_width = 1e-3 * ef_json_number_or (input, "face_width_mm", DBL_MIN, 1e4, 20.0);
  if (!ef_json_finish (input->context, error))
    return FALSE;

  if (!ef_json_has (input, "centre_distance_mm") || !ef_json_has (input, "tip_diameter_mm"))
    if (!ef_gear_pair_standard (in, error))
      return FALSE;
  if (ef_json_has (input, "centre_distance_mm"))
    in->centre_distance = 1e-3 * ef_json_number (input, "centre_distance_mm", DBL_MIN, 1e4);
  if (ef_json_has (input, "tip_diameter_mm"))
    read_two (input, "tip_diameter_mm", DBL_MIN, 1e4, 0.5e-3, in->tip_radius);

  return ef_json_finish (input->context, error);
}

static JsonNode *
run_gear_pair (const EfJson *input,
               GError **error)
{
  static const char *const members[] = { EF_CALC_GEAR_MEMBERS, "pin_diameter_mm", "check", NULL };
  EfGearPairInput in;
  EfGearPair pair;
  g_autoptr (JsonObject) out = NULL;
  g_autoptr (GPtrArray) warnings = NULL;
  JsonArray *list;
  double pin = 0.0;
  double span[2];
  double over_pins[2];
  double ideal[2];
  double areas[2];
  gboolean check;
  gboolean ok;

  ef_json_only (input, members);
  if (ef_json_has (input, "pin_diameter_mm"))
    pin = 1e-3 * ef_json_number (input, "pin_diameter_mm", DBL_MIN, 1e3);
  check = ef_json_boolean_or (input, "check", TRUE);
  if (!ef_calc_read_gear_pair (input, &in, error))
    return NULL;
  ok = check ? ef_gear_pair_solve (&in, &pair, error) : ef_gear_pair_compute (&in, &pair, error);
  if (!ok)
    return NULL;

  out = json_object_new ();
  json_object_set_double_member (out, "centre_distance_mm", 1e3 * pair.in.centre_distance);
  set_two (out, "tip_diameter_mm", pair.in.tip_radius, 2e3);
  set_two (out, "root_diameter_mm", pair.in.root_radius, 2e3);
  set_two (out, "base_diameter_mm", pair.base_radius, 2e3);
  set_two (out, "working_diameter_mm", pair.working_radius, 2e3);
  json_object_set_double_member (out, "working_angle_deg", pair.working_angle / DEG);
  json_object_set_double_member (out, "base_pitch_mm", 1e3 * pair.base_pitch);
  json_object_set_double_member (out, "length_of_contact_mm", 1e3 * pair.length_of_contact);
  json_object_set_double_member (out, "contact_ratio", pair.contact_ratio);
  json_object_set_double_member (out, "usable_contact_ratio", pair.usable_contact_ratio);
  json_object_set_double_member (out, "backlash_mm", 1e3 * pair.backlash);
  set_two (out, "tip_thickness_mm", pair.tip_thickness, 1e3);
  set_two (out, "tip_root_clearance_mm", pair.tip_root_clearance, 1e3);
  set_two (out, "active_diameter_mm", pair.active_radius, 2e3);
  set_two (out, "form_diameter_mm", pair.form_radius, 2e3);
  set_two (out, "fillet_radius_mm", pair.fillet_radius, 1e3);
  set_two (out, "undercut_limit", pair.undercut_limit, 1.0);
  set_two (out, "undercut_diameter_mm", pair.undercut_radius, 2e3);
  list = json_array_new ();
  for (int i = 0; i < 2; i++)
    {
      int k = ef_gear_span_teeth (&pair, i, NULL);

      json_array_add_int_element (list, k);
      span[i] = ef_gear_span (&pair, i, k);
      ideal[i] = ef_gear_ideal_pin (&pair, i);
      areas[i] = ef_gear_space_area (&pair, i);
    }
  json_object_set_array_member (out, "span_teeth", list);
  set_two (out, "span_mm", span, 1e3);
  set_two (out, "ideal_pin_diameter_mm", ideal, 1e3);
  set_two (out, "space_area_mm2", areas, 1e6);
  if (pin > 0.0)
    {
      for (int i = 0; i < 2; i++)
        {
          over_pins[i] = ef_gear_over_pins (&pair, i, pin, error);
          if (!isfinite (over_pins[i]))
            return NULL;
        }
      set_two (out, "over_pins_mm", over_pins, 1e3);
    }
  warnings = ef_gear_pair_warnings (&pair);
  list = json_array_new ();
  for (guint i = 0; i < warnings->len; i++)
    json_array_add_string_element (list, g_ptr_array_index (warnings, i));
  json_object_set_array_member (out, "warnings", list);

  return ef_json_object_node (g_steal_pointer (&out));
}

static JsonArray *
ring_in_mm (const EfRing *ring)
{
  JsonArray *array = json_array_sized_new (2 * ring->n);

  for (guint i = 0; i < 2 * ring->n; i++)
    json_array_add_double_element (array, 1e3 * ring->xy[i]);

  return array;
}

static JsonNode *
run_gear_outline (const EfJson *input,
                  GError **error)
{
  static const char *const members[] = { EF_CALC_GEAR_MEMBERS, "points_per_flank", "drive_angle_deg", "rotation", NULL };
  static const char *const ways[] = { "anticlockwise", "clockwise", NULL };
  EfGearPairInput in;
  EfGearPair pair;
  g_autoptr (JsonObject) out = NULL;
  guint points;
  double angle[2];
  double areas[2];
  double closed[2];
  int rotation = 1;

  ef_json_only (input, members);
  points = (guint) ef_json_integer_or (input, "points_per_flank", 8, 2000, 24);
  angle[0] = DEG * ef_json_number_or (input, "drive_angle_deg", -3600.0, 3600.0, 0.0);
  if (ef_json_has (input, "rotation"))
    rotation = ef_json_choice (input, "rotation", ways) == 0 ? 1 : -1;
  if (!ef_calc_read_gear_pair (input, &in, error) || !ef_gear_pair_solve (&in, &pair, error))
    return NULL;

  angle[1] = ef_gear_pair_mesh_angle (&pair, angle[0], rotation);
  out = json_object_new ();
  set_two (out, "angle_deg", angle, 1.0 / DEG);
  for (int gear = 0; gear < 2; gear++)
    {
      EfRing ring = ef_gear_outline (&pair, gear, points);
      double tip = pair.in.tip_radius[gear];

      areas[gear] = ef_ring_area (&ring);
      closed[gear] = G_PI * tip * tip - pair.in.teeth[gear] * ef_gear_space_area (&pair, gear);
      for (guint i = 0; i < ring.n; i++)
        {
          double x = ring.xy[2 * i];
          double y = ring.xy[2 * i + 1];

          ring.xy[2 * i] = x * cos (angle[gear]) - y * sin (angle[gear]) + (gear == 0 ? -0.5 : 0.5) * pair.in.centre_distance;
          ring.xy[2 * i + 1] = x * sin (angle[gear]) + y * cos (angle[gear]);
        }
      json_object_set_array_member (out, gear == 0 ? "drive_xy_mm" : "driven_xy_mm", ring_in_mm (&ring));
      ef_ring_clear (&ring);
    }
  set_two (out, "polygon_area_mm2", areas, 1e6);
  set_two (out, "closed_form_area_mm2", closed, 1e6);

  return ef_json_object_node (g_steal_pointer (&out));
}

/* Areas */

static EfRegion *
read_region (const EfJson *input,
             const char *member)
{
  g_auto (EfJson) rings = ef_json_array (input, member, 0, 1000);
  EfRegion *region = ef_region_new ();

  for (guint i = 0; i < ef_json_length (&rings); i++)
    {
      g_auto (EfJson) points = ef_json_element (&rings, i);
      guint n = ef_json_length (&points);
      EfRing ring;

      if (n % 2 != 0)
        {
          ef_json_fail (&points, EF_ERROR_INVALID, "expected pairs of x and y, found %u numbers", n);
          break;
        }
      ring = ef_ring_new (n / 2, NULL);
      for (guint k = 0; k < n; k++)
        {
          g_auto (EfJson) value = ef_json_element (&points, k);

          ring.xy[k] = 1e-3 * ef_json_value (&value, -1e6, 1e6);
        }
      ef_region_take (region, ring);
    }

  return region;
}

static JsonNode *
run_outline_area (const EfJson *input,
                  GError **error)
{
  static const char *const members[] = { "a_mm", "b_mm", NULL };
  static const char *const names[] = { "union_mm2", "intersection_mm2", "difference_mm2" };
  g_autoptr (EfRegion) a = NULL;
  g_autoptr (EfRegion) b = NULL;
  g_autoptr (JsonObject) out = NULL;

  ef_json_only (input, members);
  a = read_region (input, "a_mm");
  b = ef_json_has (input, "b_mm") ? read_region (input, "b_mm") : NULL;
  if (!ef_json_finish (input->context, error))
    return NULL;

  out = json_object_new ();
  json_object_set_double_member (out, "a_mm2", 1e6 * ef_region_area (a));
  if (b != NULL)
    {
      json_object_set_double_member (out, "b_mm2", 1e6 * ef_region_area (b));
      for (guint op = 0; op < G_N_ELEMENTS (names); op++)
        {
          g_autoptr (EfRegion) result = ef_region_combine (a, b, (EfRegionOp) op, error);

          if (result == NULL)
            return NULL;
          json_object_set_double_member (out, names[op], 1e6 * ef_region_area (result));
        }
    }

  return ef_json_object_node (g_steal_pointer (&out));
}

/* Flats, involutes, units */

static JsonNode *
run_flat_spot (const EfJson *input,
               GError **error)
{
  static const char *const members[] = { "base_diameter_mm", "diameter_mm", "width_mm", "depth_mm", NULL };
  gboolean has_width = ef_json_has (input, "width_mm");
  JsonObject *out;
  double base;
  double radius;
  double width = 0.0;
  double depth = 0.0;
  gboolean ok;

  ef_json_only (input, members);
  base = 0.5e-3 * ef_json_number (input, "base_diameter_mm", DBL_MIN, 1e4);
  radius = 0.5e-3 * ef_json_number (input, "diameter_mm", DBL_MIN, 1e4);
  if (has_width == ef_json_has (input, "depth_mm"))
    ef_json_fail (input, EF_ERROR_INVALID, "expected one of width_mm and depth_mm, found %s", has_width ? "both" : "neither");
  else if (has_width)
    width = 1e-3 * ef_json_number (input, "width_mm", 0.0, 1e4);
  else
    depth = 1e-3 * ef_json_number (input, "depth_mm", 0.0, 1e4);
  if (!ef_json_finish (input->context, error))
    return NULL;
  ok = has_width ? ef_flat_spot_depth (base, radius, width, &depth, error) : ef_flat_spot_width (base, radius, depth, &width, error);
  if (!ok)
    return NULL;

  out = json_object_new ();
  json_object_set_double_member (out, "curvature_radius_mm", 1e3 * sqrt ((radius - base) * (radius + base)));
  json_object_set_double_member (out, "width_mm", 1e3 * width);
  json_object_set_double_member (out, "depth_mm", 1e3 * depth);

  return ef_json_object_node (out);
}

static JsonNode *
run_involute (const EfJson *input,
              GError **error)
{
  static const char *const members[] = { "angle_deg", "inv", NULL };
  gboolean has_angle = ef_json_has (input, "angle_deg");
  JsonObject *out;
  double angle = 0.0;
  double inv = 0.0;

  ef_json_only (input, members);
  if (has_angle == ef_json_has (input, "inv"))
    ef_json_fail (input, EF_ERROR_INVALID, "expected one of angle_deg and inv, found %s", has_angle ? "both" : "neither");
  else if (has_angle)
    angle = DEG * ef_json_number (input, "angle_deg", -89.0, 89.0);
  else
    inv = ef_json_number (input, "inv", 0.0, 1e6);
  if (!ef_json_finish (input->context, error))
    return NULL;
  if (has_angle)
    inv = ef_involute (angle);
  else
    {
      angle = ef_involute_inverse (inv, error);
      if (!isfinite (angle))
        return NULL;
    }

  out = json_object_new ();
  json_object_set_double_member (out, "angle_deg", angle / DEG);
  json_object_set_double_member (out, "inv", inv);

  return ef_json_object_node (out);
}

static JsonNode *
run_convert (const EfJson *input,
             GError **error)
{
  static const char *const members[] = { "text", "to", NULL };
  g_autofree char *text = NULL;
  g_autofree char *to = NULL;
  g_autofree char *shown = NULL;
  EfUnit unit = EF_UNIT_NONE;
  EfUnit typed = EF_UNIT_NONE;
  JsonObject *out;
  double si;

  ef_json_only (input, members);
  text = ef_json_string (input, "text");
  to = ef_json_string (input, "to");
  if (!ef_json_finish (input->context, error))
    return NULL;
  if (!ef_unit_from_name (to, &unit))
    {
      ef_json_fail (input, EF_ERROR_INVALID, "to: expected a unit such as mm, um, in, thou, deg, bar, psi, C, L/min, rpm, found “%s”", to);
      ef_json_finish (input->context, error);
      return NULL;
    }
  if (!ef_parse_quantity (text, unit, &si, &typed, error))
    {
      g_prefix_error (error, "input: $.text: ");
      return NULL;
    }

  shown = ef_format_quantity (si, unit, -1);
  out = json_object_new ();
  json_object_set_double_member (out, "si", si);
  json_object_set_double_member (out, "value", ef_unit_from_si (unit, si));
  json_object_set_string_member (out, "unit", ef_unit_name (unit));
  json_object_set_string_member (out, "typed_unit", ef_unit_name (typed));
  json_object_set_string_member (out, "text", shown);

  return ef_json_object_node (out);
}

const EfCalc ef_calc_geometry[] = {
  {
      "convert",
      "A quantity as a person types it, in another unit",
      "text: text such as \"1.5 thou\", \"40 um\", \"0,04\" (a bare number is in the unit of to)\n"
      "to: unit of the answer: m mm um in thou, rad deg, Pa bar psi, K C, m3/s L/min, rad/s rpm",
      "si: in m, rad, Pa, K, m3/s or rad/s; lengths on whole nanometres, angles on whole nanodegrees\n"
      "value: in the unit asked for\n"
      "unit, typed_unit: names\n"
      "text: as the program shows it",
      "{\"text\": \"1.5 thou\", \"to\": \"um\"}",
      "inch 25.4 mm, pound 0.45359237 kg, standard gravity 9.80665 m/s2: exact by definition",
      run_convert,
  },
  {
      "involute",
      "The involute function and its inverse",
      "angle_deg: number, within 89 deg; or\n"
      "inv: number, at least 0",
      "angle_deg, inv: both",
      "{\"inv\": 0.0149043838673}",
      "inv a = tan a - a (ISO 21771)",
      run_involute,
  },
  {
      "gear-pair",
      "An external spur gear pair and what can be measured on it",
      EF_CALC_GEAR_INPUT
      "\npin_diameter_mm: number, optional: gives the size over pins\n"
      "check: true (default) refuses pairs that can't be made or can't run; false computes them all the same",
      "diameters, angles, contact ratio, backlash, clearances, span, pins, area of one tooth space: mm, deg, mm2; [drive, driven]\n"
      "usable_contact_ratio: without the part of the flanks that undercut takes\n"
      "active_diameter_mm: where the tip of the mate ends contact\n"
      "form_diameter_mm, fillet_radius_mm: of the drawn root\n"
      "warnings: sentences",
      "{\"teeth\": [12, 12], \"module_mm\": 3, \"pressure_angle_deg\": 20, \"shift\": [0.3, 0.3], \"tip_diameter_mm\": [43.2, 43.2], "
      "\"centre_distance_mm\": 37.7, \"face_width_mm\": 25}",
      "ISO 21771, DIN 3960 (from memory); root fillet ISO 53 profile A (from memory); undercut by rolling the basic rack",
      run_gear_pair,
  },
  {
      "gear-outline",
      "Both outlines in mesh, as polygons",
      EF_CALC_GEAR_INPUT
      "\npoints_per_flank: whole number 8 to 2000, default 24\n"
      "drive_angle_deg: number, default 0\n"
      "rotation: \"anticlockwise\" (default) or \"clockwise\", of the drive gear",
      "angle_deg: of both gears\n"
      "drive_xy_mm, driven_xy_mm: x0, y0, x1, y1, …; drive axis at (-a/2, 0), driven at (+a/2, 0)\n"
      "polygon_area_mm2, closed_form_area_mm2: of each gear",
      "{\"teeth\": [12, 12], \"module_mm\": 3, \"shift\": [0.3, 0.3], \"tip_diameter_mm\": [43.2, 43.2], \"centre_distance_mm\": 37.7, \"points_per_flank\": 8}",
      "involute of ISO 21771; circular root fillet in place of the trochoid",
      run_gear_outline,
  },
  {
      "outline-area",
      "Areas of outlines and of their union, overlap and difference, by the even-odd rule",
      "a_mm: list of rings, each x0, y0, x1, y1, … in mm\n"
      "b_mm: the same, optional",
      "a_mm2, b_mm2, union_mm2, intersection_mm2, difference_mm2 (a without b)",
      "{\"a_mm\": [[0, 0, 20, 0, 20, 10, 0, 10], [5, 2, 8, 2, 8, 5, 5, 5]], \"b_mm\": [[10, 5, 30, 5, 30, 20, 10, 20]]}",
      "GEOS overlay operations",
      run_outline_area,
  },
  {
      "flat-spot",
      "Depth of a flat on a flank from its width, or width from depth",
      "base_diameter_mm: number, mm > 0\n"
      "diameter_mm: of the middle of the flat, mm, above the base diameter\n"
      "width_mm: across the flat, in the profile's direction; or\n"
      "depth_mm: below the involute",
      "curvature_radius_mm: of the involute there\n"
      "width_mm, depth_mm: both",
      "{\"base_diameter_mm\": 33.8289, \"diameter_mm\": 37.7, \"width_mm\": 1.2}",
      "radius of curvature sqrt (r^2 - rb^2) (ISO 21771); chord and sagitta",
      run_flat_spot,
  },
  { NULL },
};
