/* Every computation by name: its example runs, twice the same, and bad input is refused with the place.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "calc/ef-calc.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"

static void
test_examples (void)
{
  guint n;
  const EfCalc *const *all = ef_calc_all (&n);

  g_assert_cmpuint (n, >=, 9);
  for (guint i = 0; i < n; i++)
    {
      g_autoptr (GError) error = NULL;
      g_autoptr (JsonNode) first = ef_calc_run (all[i]->name, all[i]->example, &error);
      g_autoptr (JsonNode) second = NULL;
      g_autofree char *text = NULL;
      g_autofree char *again = NULL;

      g_test_message ("%s", all[i]->name);
      g_assert_no_error (error);
      second = ef_calc_run (all[i]->name, all[i]->example, &error);
      g_assert_no_error (error);
      text = ef_json_to_text (first);
      again = ef_json_to_text (second);
      g_assert_cmpstr (text, ==, again);
      /* NaN and infinity would show as null. */
      g_assert_null (strstr (text, "null"));
      g_assert_cmpuint (strlen (text), >, 10);

      g_assert_true (ef_calc_find (all[i]->name) == all[i]);
      g_assert_cmpuint (strlen (all[i]->summary), >, 10);
      g_assert_cmpuint (strlen (all[i]->input), >, 10);
      g_assert_cmpuint (strlen (all[i]->output), >, 3);
      g_assert_cmpuint (strlen (all[i]->source), >, 3);
      for (guint k = 0; k < i; k++)
        g_assert_cmpstr (all[i]->name, !=, all[k]->name);
    }
}

/* Each member of each example, taken away, of the wrong kind, or misspelled: an answer or an error, never a crash, and
 * an unknown member is always an error. */
static void
test_mutations (void)
{
  static const char *const wrong[] = { "null", "\"x\"", "-1", "0", "1e300", "[]", "{}", "true", "[[]]", "[null, 1]", "123456789012" };
  guint n;
  const EfCalc *const *all = ef_calc_all (&n);
  guint errors = 0;

  for (guint i = 0; i < n; i++)
    {
      g_autoptr (EfJsonContext) context = ef_json_parse (all[i]->example, -1, "example", NULL);
      g_auto (EfJson) root = ef_json_root (context);
      JsonObject *object = json_node_get_object (root.node);
      g_autoptr (GList) members = json_object_get_members (object);
      g_autofree char *misspelled = NULL;
      g_autoptr (GError) error = NULL;

      misspelled = g_strconcat ("{\"zz\": 1, ", strchr (all[i]->example, '{') + 1, NULL);
      g_assert_null (ef_calc_run (all[i]->name, misspelled, &error));
      g_assert_nonnull (error);
      for (GList *l = members; l != NULL; l = l->next)
        for (guint w = 0; w <= G_N_ELEMENTS (wrong); w++)
          {
            g_autoptr (GError) failure = NULL;
            g_autoptr (JsonNode) copy = json_node_copy (root.node);
            g_autoptr (JsonNode) result = NULL;
            g_autoptr (JsonObject) changed = json_object_new ();
            g_autofree char *text = NULL;

            for (GList *k = members; k != NULL; k = k->next)
              if (k != l)
                json_object_set_member (changed, k->data, json_node_copy (json_object_get_member (object, k->data)));
              else if (w < G_N_ELEMENTS (wrong))
                json_object_set_member (changed, k->data, json_from_string (wrong[w], NULL));
            json_node_set_object (copy, changed);
            text = ef_json_to_text (copy);
            result = ef_calc_run (all[i]->name, text, &failure);
            g_assert_true ((result != NULL) == (failure == NULL));
            if (failure != NULL)
              {
                g_assert_true (failure->domain == EF_ERROR);
                g_assert_cmpuint (strlen (failure->message), >, 8);
                errors++;
              }
          }
    }
  g_assert_cmpuint (errors, >, 100);
}

static void
test_unknown (void)
{
  g_autoptr (GError) error = NULL;

  g_assert_null (ef_calc_find ("no-such"));
  g_assert_null (ef_calc_find (NULL));
  g_assert_null (ef_calc_run ("no-such", "{}", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_assert_true (g_str_has_prefix (error->message, "computation: expected one of convert, "));
  g_assert_true (g_str_has_suffix (error->message, "found “no-such”"));
}

static void
test_messages (void)
{
  static const struct
  {
    const char *name;
    const char *json;
    EfError code;
    const char *message;
  } cases[] = {
    { "involute", "{", EF_ERROR_PARSE, "input: line 1: expected a member name in double quotes, found the end of the text" },
    { "involute", "[]", EF_ERROR_INVALID, "input: $: expected an object" },
    { "involute", "{}", EF_ERROR_INVALID, "input: $: expected one of angle_deg and inv, found neither" },
    { "involute", "{\"inv\": -1}", EF_ERROR_RANGE, "input: $.inv: expected a number from 0 to 1000000, found -1" },
    { "involute", "{\"inv\": 1, \"x\": 1}", EF_ERROR_INVALID, "input: $.x: expected a member out of \"angle_deg\", \"inv\", found another" },
    { "gear-pair", "{\"teeth\": [12], \"module_mm\": 3}", EF_ERROR_RANGE, "input: $.teeth: expected an array of 2, found an array of 1" },
    { "gear-pair", "{\"teeth\": [12, 3], \"module_mm\": 3}", EF_ERROR_RANGE, "input: $.teeth[1]: expected a whole number from 4 to 200, found 3" },
    { "flat-spot", "{\"base_diameter_mm\": 30, \"diameter_mm\": 29, \"width_mm\": 1}", EF_ERROR_GEOMETRY, "radius: expected above the base radius of 15 mm, found 14.5 mm: there is no involute there" },
    { "convert", "{\"text\": \"3 bar\", \"to\": \"mm\"}", EF_ERROR_PARSE,
      "input: $.text: expected a value such as 0.04 mm, 40 µm or 1.5 thou, found “3 bar”: that unit measures something else" },
    { "outline-area", "{\"a_mm\": [[0, 0, 1]]}", EF_ERROR_INVALID, "input: $.a_mm[0]: expected pairs of x and y, found 3 numbers" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autoptr (GError) error = NULL;

      g_assert_null (ef_calc_run (cases[i].name, cases[i].json, &error));
      g_assert_error (error, EF_ERROR, (int) cases[i].code);
      g_assert_cmpstr (error->message, ==, cases[i].message);
    }
}

static double
number (JsonNode *node,
        const char *member)
{
  JsonNode *value = json_object_get_member (json_node_get_object (node), member);

  g_assert_nonnull (value);
  if (JSON_NODE_HOLDS_ARRAY (value))
    value = json_array_get_element (json_node_get_array (value), 0);

  return json_node_get_double (value);
}

static void
test_values (void)
{
  static const struct
  {
    const char *name;
    const char *json; /* NULL: the example */
    const char *member;
    double value;
    double tolerance;
  } cases[] = {
    { "convert", NULL, "value", 38.1, 1e-12 }, /* 1.5 thou, 25.4 um each */
    { "involute", NULL, "angle_deg", 20.0, 1e-9 },
    { "gear-pair", NULL, "contact_ratio", 1.154762, 1e-6 },                                                                   /* worked case 1 of the computation specification */
    { "gear-pair", NULL, "backlash_mm", 0.124296, 1e-6 },                                                                     /* the same */
    { "gear-pair", "{\"teeth\": [20, 20], \"module_mm\": 2}", "span_mm", 15.320879, 1e-6 },                                   /* published worked example, 15.321 */
    { "gear-pair", "{\"teeth\": [12, 24], \"module_mm\": 3, \"shift\": [0.6, 0.36]}", "centre_distance_mm", 56.49987, 1e-5 }, /* published handbook table, 56.4999 */
    { "oil", NULL, "dynamic_mPa_s", 7.4867, 7.5e-4 },                                                                         /* worked case 2 of the computation specification */
    { "oil", "{\"grade\": \"ISO VG 46\", \"temperature_C\": 40}", "kinematic_mm2_s", 46.0, 1e-9 },                            /* ISO 3448 */
    { "viscosity-index", NULL, "value", 156.4235, 1e-3 },                                                                     /* ASTM D2270, procedure B, example 1: 156 */
    { "displacement", NULL, "volume_cm3", 16.446424, 1e-6 },                                                                  /* worked case 1 */
    { "displacement", NULL, "volume_by_areas_cm3", 16.446424, 1e-5 },
    { "displacement", "{\"teeth\": [10, 10], \"module_mm\": 3, \"face_width_mm\": 20, \"check\": false}", "volume_cm3", 11.61932997, 1e-8 }, /* constructed; recomputed by polygons */
    { "outline-area", NULL, "union_mm2", 191.0 + 300.0 - 50.0, 1e-9 },                                                                       /* by hand */
    { "outline-area", NULL, "intersection_mm2", 50.0, 1e-9 },
    { "flat-spot", "{\"base_diameter_mm\": 24, \"diameter_mm\": 26, \"width_mm\": 8}", "depth_mm", 2.0, 1e-12 }, /* 3, 4, 5 */
    { "scale-risk", NULL, "u_um", 3.611555528, 1e-8 }, /* by hand: square root of 3.6^2 + 1/12 */
    { "scale-risk", NULL, "guard_band_um", 5.940480210, 1e-7 }, /* that times 1.644853627, the normal distribution's one-sided 95 % */
    { "scale-risk", NULL, "guard_band_every_fall_um", 6.421473057, 1e-7 }, /* 3.6 times that, and half a step */
    { "scale-risk", NULL, "promised", 0.05, 1e-9 },
  };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autoptr (GError) error = NULL;
      const char *json = cases[i].json != NULL ? cases[i].json : ef_calc_find (cases[i].name)->example;
      g_autoptr (JsonNode) result = ef_calc_run (cases[i].name, json, &error);

      g_assert_no_error (error);
      g_assert_cmpfloat_with_epsilon (number (result, cases[i].member), cases[i].value, cases[i].tolerance);
    }
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/calc/examples", test_examples);
  g_test_add_func ("/calc/mutations", test_mutations);
  g_test_add_func ("/calc/unknown", test_unknown);
  g_test_add_func ("/calc/messages", test_messages);
  g_test_add_func ("/calc/values", test_values);

  return g_test_run ();
}
