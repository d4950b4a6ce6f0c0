/* Readings and form by name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-calc.h"

#include "../inspection/ef-inspection.h"
#include "../metrology/ef-bore.h"
#include "../metrology/ef-flatness.h"
#include "../metrology/ef-roundness.h"

#include <math.h>
#include <string.h>

#define MOST_READINGS 100000
#define DEGREE (G_PI / 180)

/* Derived values */

static JsonObject *
derived_to_json (const EfDerived *derived)
{
  JsonObject *object = json_object_new ();
  JsonArray *ids = json_array_new ();

  json_object_set_string_member (object, "quantity", derived->quantity);
  json_object_set_string_member (object, "target", derived->target);
  if (derived->place != NULL)
    json_object_set_string_member (object, "place", derived->place);
  ef_json_put (object, "value_mm", derived->value * 1e3);
  ef_json_put (object, "uncertainty_mm", derived->uncertainty * 1e3);
  if (!isnan (derived->direction))
    ef_json_put (object, "direction_deg", derived->direction / DEGREE);
  json_object_set_string_member (object, "how", derived->how);
  for (guint i = 0; i < derived->reading_ids->len; i++)
    json_array_add_string_element (ids, g_ptr_array_index (derived->reading_ids, i));
  json_object_set_array_member (object, "readings", ids);
  return object;
}

/* A sheet that stands in the input, or one of those shipped, by its id. */
static EfPumpSheet *
read_sheet (const EfJson *input,
            GError **error)
{
  g_auto (EfJson) member = ef_json_optional (input, "sheet");
  g_autofree char *text = NULL;

  if (member.node != NULL && JSON_NODE_HOLDS_VALUE (member.node))
    {
      g_autofree char *id = ef_json_string (input, "sheet");
      g_autofree char *file = NULL;
      g_autofree char *path = NULL;

      if (!ef_json_finish (input->context, error))
        return NULL;
      if (strchr (id, '/') != NULL || *id == '.')
        {
          ef_json_fail (&member, EF_ERROR_INVALID, "expected the id of a pump sheet, found “%s”", id);
          ef_json_finish (input->context, error);
          return NULL;
        }
      file = g_strconcat (id, ".json", NULL);
      path = ef_data_path ("pump-sheets", file, NULL);
      return ef_pump_sheet_load (path, error);
    }

  g_clear_pointer (&member.path, g_free);
  member = ef_json_object (input, "sheet");
  if (!ef_json_finish (input->context, error))
    return NULL;
  text = json_to_string (member.node, FALSE);
  return ef_pump_sheet_parse (text, "sheet", error);
}

static GPtrArray *
read_items (const EfJson *input,
            const char *member,
            EfItemKind kind)
{
  g_auto (EfJson) array = ef_json_array (input, member, 0, MOST_READINGS);
  GPtrArray *items = g_ptr_array_new_with_free_func (ef_item_unref);

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) one = ef_json_element (&array, i);
      EfItem *item = ef_item_from_json (kind, &one);

      if (item == NULL)
        break;
      g_ptr_array_add (items, item);
    }
  return items;
}

static gboolean
check_readings (const EfJson *input,
                const EfPumpSheet *sheet,
                GPtrArray *readings,
                GPtrArray *gauges)
{
  g_autoptr (GError) error = NULL;

  for (guint i = 0; i < readings->len && error == NULL; i++)
    ef_reading_check (g_ptr_array_index (readings, i), sheet, &error);
  for (guint i = 0; i < gauges->len && error == NULL; i++)
    ef_gauge_check (g_ptr_array_index (gauges, i), &error);
  if (error != NULL)
    ef_json_fail (input, (EfError) error->code, "%s", error->message);
  return error == NULL;
}

static JsonNode *
run_derive (const EfJson *input,
            GError **error)
{
  static const char *const members[] = { "sheet", "readings", "gauges", NULL };
  g_autoptr (EfPumpSheet) sheet = NULL;
  g_autoptr (GPtrArray) readings = NULL;
  g_autoptr (GPtrArray) gauges = NULL;
  g_autoptr (GPtrArray) derived = NULL;
  JsonObject *result;
  JsonArray *rows;

  ef_json_only (input, members);
  sheet = read_sheet (input, error);
  if (sheet == NULL)
    return NULL;
  readings = read_items (input, "readings", EF_ITEM_READING);
  gauges = ef_json_has (input, "gauges") ? read_items (input, "gauges", EF_ITEM_GAUGE) : g_ptr_array_new ();
  if (!ef_json_finish (input->context, error))
    return NULL;
  if (!check_readings (input, sheet, readings, gauges))
    {
      ef_json_finish (input->context, error);
      return NULL;
    }

  derived = ef_derive (sheet, (EfReading *const *) readings->pdata, readings->len, (EfGauge *const *) gauges->pdata, gauges->len);
  result = json_object_new ();
  rows = json_array_new ();
  for (guint i = 0; i < derived->len; i++)
    json_array_add_object_element (rows, derived_to_json (g_ptr_array_index (derived, i)));
  json_object_set_array_member (result, "derived", rows);
  return ef_json_object_node (result);
}

/* Flatness */

/* Rows of @columns numbers in mm, as metres. */
static double *
read_points (const EfJson *input,
             guint columns,
             guint *n_out)
{
  g_auto (EfJson) rows = ef_json_array (input, "points_mm", 1, MOST_READINGS);
  double *numbers;

  *n_out = ef_json_length (&rows);
  numbers = g_new0 (double, columns * (gsize) *n_out + 1);
  for (guint i = 0; i < *n_out; i++)
    {
      g_auto (EfJson) row = ef_json_element (&rows, i);

      if (ef_json_length (&row) != columns)
        ef_json_fail (&row, EF_ERROR_PARSE, "expected %u numbers", columns);
      for (guint k = 0; k < columns && k < ef_json_length (&row); k++)
        {
          g_auto (EfJson) number = ef_json_element (&row, k);

          numbers[columns * i + k] = ef_json_value (&number, -1e5, 1e5) * 1e-3;
        }
    }
  return numbers;
}

static void
put_indices (JsonObject *object,
             const char *member,
             const guint *indices,
             guint n)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < n; i++)
    json_array_add_int_element (array, indices[i]);
  json_object_set_array_member (object, member, array);
}

static void
put_plane (JsonObject *object,
           const EfPlane *plane)
{
  ef_json_put (object, "slope_x", plane->slope_x);
  ef_json_put (object, "slope_y", plane->slope_y);
  ef_json_put (object, "height_at_origin_mm", ef_plane_at (plane, 0, 0) * 1e3);
}

static JsonObject *
zone_to_json (const EfFlatnessZone *zone)
{
  JsonObject *object = json_object_new ();

  ef_json_put (object, "zone_mm", zone->zone * 1e3);
  put_plane (object, &zone->plane);
  put_indices (object, "high_points", zone->high, zone->n_high);
  put_indices (object, "low_points", zone->low, zone->n_low);
  return object;
}

static JsonObject *
flatness_to_json (const EfFlatness *flatness)
{
  JsonObject *object = json_object_new ();

  ef_json_put (object, "flatness_mm", flatness->flatness * 1e3);
  ef_json_put (object, "rms_mm", flatness->rms * 1e3);
  put_plane (object, &flatness->plane);
  put_indices (object, "high_points", &flatness->peak_point, 1);
  put_indices (object, "low_points", &flatness->valley_point, 1);
  return object;
}

static JsonNode *
run_flatness (const EfJson *input,
              GError **error)
{
  static const char *const members[] = { "points_mm", NULL };
  guint n;
  g_autofree double *xyz = read_points (input, 3, &n);
  EfFlatness squares, squares_normal;
  EfFlatnessZone zone, zone_normal;
  JsonObject *result;

  ef_json_only (input, members);
  if (!ef_json_finish (input->context, error)
      || !ef_flatness_least_squares (xyz, n, &squares, error)
      || !ef_flatness_least_squares_normal (xyz, n, &squares_normal, error)
      || !ef_flatness_minimum_zone (xyz, n, &zone, error)
      || !ef_flatness_minimum_zone_normal (xyz, n, &zone_normal, error))
    return NULL;

  result = json_object_new ();
  json_object_set_object_member (result, "minimum_zone", zone_to_json (&zone_normal));
  json_object_set_object_member (result, "least_squares", flatness_to_json (&squares_normal));
  json_object_set_object_member (result, "minimum_zone_along_z", zone_to_json (&zone));
  json_object_set_object_member (result, "least_squares_along_z", flatness_to_json (&squares));
  return ef_json_object_node (result);
}

/* Roundness */

static void
put_circle (JsonObject *result,
            const char *member,
            const EfCircleFit *fit)
{
  JsonObject *object = json_object_new ();

  ef_json_put (object, "roundness_mm", fit->roundness * 1e3);
  ef_json_put (object, "x_mm", fit->x * 1e3);
  ef_json_put (object, "y_mm", fit->y * 1e3);
  ef_json_put (object, "radius_mm", fit->radius * 1e3);
  put_indices (object, "outer_points", fit->out, fit->n_out);
  put_indices (object, "inner_points", fit->in, fit->n_in);
  json_object_set_object_member (result, member, object);
}

static JsonNode *
run_roundness (const EfJson *input,
               GError **error)
{
  static const char *const members[] = { "points_mm", NULL };
  guint n;
  g_autofree double *xy = read_points (input, 2, &n);
  EfCircleFit squares, zone, circumscribed, inscribed;
  EfHarmonic harmonic;
  JsonObject *result;

  ef_json_only (input, members);
  if (!ef_json_finish (input->context, error)
      || !ef_roundness_least_squares (xy, n, &squares, error)
      || !ef_roundness_minimum_zone (xy, n, &zone, error)
      || !ef_roundness_circumscribed (xy, n, &circumscribed, error)
      || !ef_roundness_inscribed (xy, n, &inscribed, error))
    return NULL;

  result = json_object_new ();
  put_circle (result, "minimum_zone", &zone);
  put_circle (result, "least_squares", &squares);
  put_circle (result, "minimum_circumscribed", &circumscribed);
  put_circle (result, "maximum_inscribed", &inscribed);
  if (ef_roundness_second_harmonic (xy, n, &harmonic, NULL))
    {
      ef_json_put (result, "second_harmonic_mm", harmonic.amplitude * 1e3);
      ef_json_put (result, "second_harmonic_deg", harmonic.direction / DEGREE);
    }
  return ef_json_object_node (result);
}

/* A bore from diameters */

static JsonNode *
run_bore (const EfJson *input,
          GError **error)
{
  static const char *const members[] = { "diameters", "uncertainty_mm", NULL };
  static const char *const row_members[] = { "angle_deg", "diameter_mm", NULL };
  g_auto (EfJson) rows = ef_json_array (input, "diameters", 1, MOST_READINGS);
  double uncertainty = ef_json_number_or (input, "uncertainty_mm", 0, 10, NAN) * 1e-3;
  guint n = ef_json_length (&rows);
  g_autofree double *numbers = g_new0 (double, 3 * n + 1);
  EfBoreShape shape;
  JsonObject *result;

  ef_json_only (input, members);
  for (guint i = 0; i < n; i++)
    {
      g_auto (EfJson) row = ef_json_element (&rows, i);

      ef_json_only (&row, row_members);
      numbers[i] = ef_json_number (&row, "angle_deg", -36000, 36000) * DEGREE;
      numbers[n + i] = ef_json_number (&row, "diameter_mm", 1e-3, 10000) * 1e-3;
      numbers[2 * n + i] = uncertainty;
    }
  if (!ef_json_finish (input->context, error)
      || !ef_bore_from_diameters (numbers, numbers + n, isnan (uncertainty) ? NULL : numbers + 2 * n, n, &shape, error))
    return NULL;

  result = json_object_new ();
  ef_json_put (result, "mean_diameter_mm", shape.mean * 1e3);
  ef_json_put (result, "amplitude_mm", shape.amplitude * 1e3);
  ef_json_put (result, "elongation_mm", shape.elongation * 1e3);
  ef_json_put (result, "direction_deg", shape.direction / DEGREE);
  ef_json_put (result, "residual_mm", shape.residual * 1e3);
  ef_json_put (result, "u_mean_mm", shape.u_mean * 1e3);
  ef_json_put (result, "u_elongation_mm", shape.u_elongation * 1e3);
  ef_json_put (result, "u_direction_deg", shape.u_direction / DEGREE);
  return ef_json_object_node (result);
}

static JsonNode *
run_taper (const EfJson *input,
           GError **error)
{
  static const char *const members[] = { "diameters", "uncertainty_mm", NULL };
  static const char *const row_members[] = { "z_mm", "diameter_mm", NULL };
  g_auto (EfJson) rows = ef_json_array (input, "diameters", 1, MOST_READINGS);
  double uncertainty = ef_json_number_or (input, "uncertainty_mm", 0, 10, NAN) * 1e-3;
  guint n = ef_json_length (&rows);
  g_autofree double *numbers = g_new0 (double, 3 * n + 1);
  EfTaper taper;
  JsonObject *result;

  ef_json_only (input, members);
  for (guint i = 0; i < n; i++)
    {
      g_auto (EfJson) row = ef_json_element (&rows, i);

      ef_json_only (&row, row_members);
      numbers[i] = ef_json_number (&row, "z_mm", -10000, 10000) * 1e-3;
      numbers[n + i] = ef_json_number (&row, "diameter_mm", 1e-3, 10000) * 1e-3;
      numbers[2 * n + i] = uncertainty;
    }
  if (!ef_json_finish (input->context, error)
      || !ef_bore_taper (numbers, numbers + n, isnan (uncertainty) ? NULL : numbers + 2 * n, n, &taper, error))
    return NULL;

  result = json_object_new ();
  ef_json_put (result, "taper_mm", taper.taper * 1e3);
  ef_json_put (result, "slope", taper.slope);
  ef_json_put (result, "mean_diameter_mm", taper.mean * 1e3);
  ef_json_put (result, "residual_mm", taper.residual * 1e3);
  ef_json_put (result, "u_taper_mm", taper.u_taper * 1e3);
  return ef_json_object_node (result);
}

const EfCalc ef_calc_metrology[] = {
  {
    .name = "derive",
    .summary = "Clearances, ovality, flatness and other values that follow from readings",
    .input = "sheet: a pump sheet, or the id of a shipped one such as \"hl-24\"\n"
             "readings: array of readings as in an inspection file\n"
             "gauges: array of gauges as in an inspection file, optional",
    .output = "derived: array of {quantity, target, place, value_mm, uncertainty_mm (standard; null when a gauge isn't known), "
              "direction_deg, how, readings}",
    .example = "{\"sheet\": \"rc-4\", \"gauges\": [{\"id\": \"depth\", \"kind\": \"depth-gauge\", \"name\": \"Depth micrometer\", "
               "\"resolution_mm\": 0.001, \"uncertainty_mm\": 0.006}, {\"id\": \"mic\", \"kind\": \"micrometer\", \"name\": \"Micrometer\", "
               "\"resolution_mm\": 0.001, \"uncertainty_mm\": 0.004}], \"readings\": ["
               "{\"id\": \"r1\", \"quantity\": \"pocket-depth\", \"target\": \"pressure\", \"place\": \"drive\", \"value_mm\": 28.11, \"unit\": \"mm\", \"gauge\": \"depth\"}, "
               "{\"id\": \"r2\", \"quantity\": \"face-width\", \"target\": \"drive-gear\", \"value_mm\": 28.0, \"unit\": \"mm\", \"gauge\": \"mic\"}]}",
    .source = "Differences and means; uncertainty JCGM 100 (GUM), first order",
    .run = run_derive,
  },
  {
    .name = "bore-from-diameters",
    .summary = "Mean diameter, ovality and its direction from diameters in five directions or more",
    .input = "diameters: array of {angle_deg, diameter_mm}, at least 5 directions modulo 180 degrees\n"
             "uncertainty_mm: standard uncertainty of each diameter, optional",
    .output = "mean_diameter_mm, amplitude_mm (of the radius), elongation_mm (largest less smallest diameter: four amplitudes)\n"
              "direction_deg: of the largest diameter, 0 to 180; null when round\n"
              "residual_mm: rms left by the fit\n"
              "u_mean_mm, u_elongation_mm, u_direction_deg: standard uncertainties, first order",
    .example = "{\"uncertainty_mm\": 0.002, \"diameters\": [{\"angle_deg\": 0, \"diameter_mm\": 18.045}, {\"angle_deg\": 30, \"diameter_mm\": 18.05}, "
               "{\"angle_deg\": 60, \"diameter_mm\": 18.045}, {\"angle_deg\": 90, \"diameter_mm\": 18.035}, {\"angle_deg\": 120, \"diameter_mm\": 18.03}, "
               "{\"angle_deg\": 150, \"diameter_mm\": 18.035}]}",
    .source = "d(t) = d0 + 2 A cos 2 (t - t2) by least squares; uncertainty JCGM 100 (GUM), first order",
    .run = run_bore,
  },
  {
    .name = "flatness",
    .summary = "Flatness of points on a face: minimum zone and least squares",
    .input = "points_mm: array of [x, y, z], at least 3 not in line",
    .output = "minimum_zone: {zone_mm, slope_x, slope_y, height_at_origin_mm (of the plane midway), high_points, low_points (indices of "
              "the points that carry it)}, distance square to the planes\n"
              "least_squares: {flatness_mm, rms_mm, slope_x, slope_y, height_at_origin_mm, high_points, low_points}, square to the plane\n"
              "minimum_zone_along_z, least_squares_along_z: the same with deviations along z",
    .example = "{\"points_mm\": [[0, 0, 0.01], [40, 0, -0.01], [40, 30, 0.012], [0, 30, -0.008], [20, 15, 0.003]]}",
    .source = "ISO 1101, ISO 12781-1 (minimum zone as a linear programme)",
    .run = run_flatness,
  },
  {
    .name = "roundness",
    .summary = "Roundness of points round a bore or journal by the four reference circles, and the second harmonic",
    .input = "points_mm: array of [x, y], at least 3, going round with no gap of half a turn",
    .output = "minimum_zone, least_squares, minimum_circumscribed, maximum_inscribed: {roundness_mm (RONt), x_mm, y_mm, radius_mm, "
              "outer_points, inner_points (indices of the points that fix it)}\n"
              "second_harmonic_mm: amplitude of the radius; second_harmonic_deg: direction of the largest; from 5 directions on",
    .example = "{\"points_mm\": [[9.01, 0], [6.36, 6.37], [0, 8.99], [-6.37, 6.36], [-9.012, 0], [-6.365, -6.366], [0, -8.992], [6.362, -6.363]]}",
    .source = "ISO 12181-1 (LSCI, MZCI, MCCI, MICI)",
    .run = run_roundness,
  },
  {
    .name = "taper",
    .summary = "Taper along a bore or journal from diameters at places along its axis",
    .input = "diameters: array of {z_mm, diameter_mm}, at least 2 places\n"
             "uncertainty_mm: standard uncertainty of each diameter, optional",
    .output = "taper_mm: over the length measured, above 0 when wider at larger z; slope\n"
              "mean_diameter_mm, residual_mm: rms left by the line\n"
              "u_taper_mm: standard uncertainty, first order",
    .example = "{\"uncertainty_mm\": 0.002, \"diameters\": [{\"z_mm\": 2, \"diameter_mm\": 18.03}, {\"z_mm\": 8, \"diameter_mm\": 18.036}, "
               "{\"z_mm\": 14, \"diameter_mm\": 18.042}]}",
    .source = "Straight line by least squares; uncertainty JCGM 100 (GUM), first order",
    .run = run_taper,
  },
  { 0 },
};
