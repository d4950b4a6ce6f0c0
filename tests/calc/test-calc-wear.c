/* Marks, maps and readings by name: the numbers that come out.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "calc/ef-calc.h"

#include <math.h>
#include <string.h>

#define assert_near(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) - (expected)), <=, (tolerance))

static JsonObject *
run (const char *name,
     const char *input,
     JsonNode **node)
{
  g_autoptr (GError) error = NULL;

  *node = ef_calc_run (name, input, &error);
  g_assert_no_error (error);
  return json_node_get_object (*node);
}

static void
assert_fails (const char *name,
              const char *input,
              const char *words)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (JsonNode) node = ef_calc_run (name, input, &error);

  g_assert_null (node);
  g_assert_nonnull (error);
  if (strstr (error->message, words) == NULL)
    g_error ("“%s” isn't in “%s”", words, error->message);
}

#define NUMBER(object, member) json_object_get_double_member (object, member)

/* Groove of the example: 16 mm long, 1.5 wide, 20 to 60 um along it. Constructed. */
static void
test_mark (void)
{
  g_autoptr (JsonNode) node = NULL;
  JsonObject *result = run ("mark-depth", ef_calc_find ("mark-depth")->example, &node);

  assert_near (NUMBER (result, "depth_mm"), 0.04, 1e-12);
  assert_near (NUMBER (result, "deepest_mm"), 0.06, 1e-12);
  assert_near (NUMBER (result, "distance_mm"), 0, 0);
  assert_near (NUMBER (result, "length_mm"), 16, 1e-12);
  assert_near (NUMBER (result, "area_mm2"), 16 * 1.5 + G_PI / 4 * 2.25, 1e-9);
}

static void
test_map (void)
{
  g_autoptr (JsonNode) node = NULL;
  g_autoptr (JsonNode) curve = NULL;
  double area = 16 * 1.5 + G_PI / 4 * 2.25;
  JsonObject *result = run ("depth-map", ef_calc_find ("depth-map")->example, &node);
  JsonArray *rows;

  assert_near (NUMBER (result, "material_area_mm2"), 200, 1e-3);
  assert_near (NUMBER (result, "worn_area_mm2"), area, 1e-3);
  assert_near (NUMBER (result, "worn_share"), area / 200, 1e-5);
  assert_near (NUMBER (result, "volume_mm3"), area * 0.04, 1e-3);
  assert_near (NUMBER (result, "deepest_mm"), 0.06, 1e-8);
  g_assert_cmpint (json_object_get_int_member (result, "cells_u"), ==, 200);

  result = run ("bearing-area", ef_calc_find ("bearing-area")->example, &curve);
  rows = json_object_get_array_member (result, "curve");
  assert_near (NUMBER (json_array_get_object_element (rows, 0), "share"), 1 - area / 200, 1e-5);
  /* At 30 um: a quarter of the straight part and the half disc at the shallow end. */
  assert_near (NUMBER (json_array_get_object_element (rows, 1), "share"), 1 - (0.75 * 24 + G_PI / 8 * 2.25) / 200, 0.1 * 1.5 / 200);
  assert_near (NUMBER (json_array_get_object_element (rows, 2), "share"), 1, 1e-9);
}

static void
test_list (void)
{
  g_autoptr (JsonNode) node = NULL;
  JsonObject *result = run ("bearing-area", "{\"at_mm\": [0, 0.02], \"depths_mm\": [0, 0.01, 0.02, 0.03], \"areas_mm2\": [4, 3, 2, 1]}", &node);
  JsonArray *rows = json_object_get_array_member (result, "curve");

  assert_near (NUMBER (json_array_get_object_element (rows, 0), "share"), 0.4, 1e-15);
  assert_near (NUMBER (json_array_get_object_element (rows, 1), "share"), 0.9, 1e-15);
}

static void
test_derive (void)
{
  g_autoptr (JsonNode) node = NULL;
  JsonObject *result = run ("derive", ef_calc_find ("derive")->example, &node);
  JsonArray *rows = json_object_get_array_member (result, "derived");

  for (guint i = 0; i < json_array_get_length (rows); i++)
    {
      JsonObject *row = json_array_get_object_element (rows, i);

      if (!g_str_equal (json_object_get_string_member (row, "quantity"), "end-clearance"))
        continue;
      assert_near (NUMBER (row, "value_mm"), 0.11, 1e-12);
      assert_near (NUMBER (row, "uncertainty_mm"), 0.001 * sqrt (13 + 2.0 / 12), 1e-12);
      return;
    }
  g_assert_not_reached ();
}

/* Mean 18.04, 10 um of cos 2 (t - 30 deg) in the diameter. Constructed. */
static void
test_bore (void)
{
  g_autoptr (JsonNode) node = NULL;
  JsonObject *result = run ("bore-from-diameters", ef_calc_find ("bore-from-diameters")->example, &node);

  assert_near (NUMBER (result, "mean_diameter_mm"), 18.04, 1e-12);
  assert_near (NUMBER (result, "elongation_mm"), 0.02, 1e-12);
  assert_near (NUMBER (result, "amplitude_mm"), 0.005, 1e-12);
  assert_near (NUMBER (result, "direction_deg"), 30, 1e-9);
  assert_near (NUMBER (result, "u_elongation_mm"), 0.004 * sqrt (1.0 / 3), 1e-12);
}

static void
test_messages (void)
{
  assert_fails ("depth-map", "{\"outline_mm\": [[0, 0], [1, 0]], \"marks\": []}", "outline_mm");
  assert_fails ("depth-map", "{\"outline_mm\": [[0, 0], [1, 0], [2, 0]], \"marks\": []}", "bounds");
  assert_fails ("depth-map", "{\"outline_mm\": [[0, 0], [1, 0], [1, 1]], \"marks\": [{\"id\": \"a\"}]}", "marks[0]");
  assert_fails ("bearing-area", "{\"at_mm\": [0], \"depths_mm\": [0, 1], \"areas_mm2\": [1]}", "as many");
  assert_fails ("derive", "{\"sheet\": \"../secret\", \"readings\": []}", "id of a pump sheet");
  assert_fails ("derive", "{\"sheet\": \"rc-4\", \"readings\": [{\"id\": \"r\", \"quantity\": \"backlash\", \"target\": \"nowhere\", \"value_mm\": 0.2}]}", "target");
  assert_fails ("bore-from-diameters", "{\"diameters\": [{\"angle_deg\": 0, \"diameter_mm\": 18}]}", "5 directions");
}

int
main (int argc,
      char **argv)
{
  g_test_init (&argc, &argv, NULL);

  g_test_add_func ("/calc/mark-depth", test_mark);
  g_test_add_func ("/calc/depth-map", test_map);
  g_test_add_func ("/calc/bearing-area-of-a-list", test_list);
  g_test_add_func ("/calc/derive", test_derive);
  g_test_add_func ("/calc/bore-from-diameters", test_bore);
  g_test_add_func ("/calc/messages", test_messages);

  return g_test_run ();
}
