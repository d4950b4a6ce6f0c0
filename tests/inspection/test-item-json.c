/* Items as JSON: what goes out comes back equal to the last bit; what is malformed is refused with its place.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "random-inspection.h"

#include "inspection/ef-item-grid.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"

static EfItem *
parse (EfItemKind kind,
       const char *text,
       GError **error)
{
  g_autoptr (EfJsonContext) context = ef_json_parse (text, -1, "item.json", error);
  g_auto (EfJson) root = { 0 };
  EfItem *item;

  if (context == NULL)
    return NULL;
  root = ef_json_root (context);
  item = ef_item_from_json (kind, &root);
  if (item == NULL)
    ef_json_finish (context, error);

  return item;
}

static char *
write_item (const EfItem *item)
{
  g_autoptr (JsonNode) node = ef_item_to_json (item);

  return ef_json_to_text (node);
}

static void
test_round_trip (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (11);
  guint round, kind;

  for (round = 0; round < 400; round++)
    {
      g_autoptr (EfInspection) inspection = random_inspection (rand, 6);

      for (kind = 0; kind < EF_N_ITEM_KINDS; kind++)
        {
          g_autoptr (EfItem) item = random_item (rand, inspection, kind);
          g_autoptr (EfItem) back = NULL;
          g_autofree char *text = NULL;
          g_autofree char *again = NULL;
          g_autoptr (GError) error = NULL;

          if (item == NULL)
            continue;
          text = write_item (item);
          back = parse (kind, text, &error);
          g_assert_no_error (error);
          again = write_item (back);
          g_assert_cmpstr (again, ==, text);
          g_assert_true (ef_item_equal (item, back));
        }
    }
}

/* Every step of the grids goes to its file unit and back to the same bits; random steps over the whole range. */
static void
test_grids_exact (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (12);
  guint i;

  for (i = 0; i < 200000; i++)
    {
      double pressure = g_rand_int_range (rand, 0, 100000000);
      double temperature = ((gint64) g_rand_int_range (rand, 0, 1000) * 1000000 + g_rand_int_range (rand, 0, 1000000)) / 1e6;
      double speed = ((gint64) g_rand_int_range (rand, 0, 600000) * 1000000 + g_rand_int_range (rand, 0, 1000000)) / 6e7;

      g_assert_cmpfloat (ef_pressure_from_bar (ef_pressure_to_bar (pressure)), ==, pressure);
      g_assert_cmpfloat (ef_temperature_from_celsius (ef_temperature_to_celsius (temperature)), ==, temperature);
      g_assert_cmpfloat (ef_speed_from_rpm (ef_speed_to_rpm (speed)), ==, speed);
      g_assert_cmpfloat (ef_speed_on_grid (speed), ==, speed);
      g_assert_cmpfloat (ef_flow_from_lpm (ef_flow_to_lpm (speed / 1000)), ==, ef_flow_on_grid (speed / 1000));
    }
  /* Definitions: 1 bar = 1e5 Pa, 0 °C = 273.15 K, 60 rev/min = 1 rev/s. */
  g_assert_cmpfloat (ef_pressure_to_bar (80000), ==, 0.8);
  g_assert_cmpfloat (ef_temperature_to_celsius (273.15 + 80), ==, 80);
  g_assert_cmpfloat (ef_speed_to_rpm (10), ==, 600);
  g_assert_true (isnan (ef_speed_to_rpm (NAN)));
  g_assert_true (isnan (ef_pressure_from_bar (NAN)));
  g_assert_false (signbit (ef_pressure_to_bar (-0.0)));
}

static void
test_readable (void)
{
  g_autoptr (EfItem) item = (EfItem *) ef_mark_new ("separator/side-a", EF_MARK_GROOVE, EF_SHAPE_LINE, 0.0008);
  EfMark *mark = (EfMark *) item;
  g_autofree char *text = NULL;

  ef_mark_add_node (mark, 0.0101, -0.002);
  ef_mark_add_node (mark, 0.0153, 0.004);
  ef_mark_set_depth (mark, 4e-5, EF_UNIT_UM, NULL);
  text = write_item (item);
  g_assert_nonnull (strstr (text, "\"size_mm\": 0.8"));
  g_assert_nonnull (strstr (text, "10.1"));
  g_assert_nonnull (strstr (text, "\"depth_mm\": 0.04,"));
  g_assert_nonnull (strstr (text, "\"unit\": \"um\""));
  g_assert_null (strstr (text, "00000"));
  g_assert_null (strstr (text, "note"));
}

static const struct
{
  EfItemKind kind;
  const char *text;
  const char *words; /* of the message */
} malformed[] = {
  { EF_ITEM_MARK, "[]", "$: expected an object" },
  { EF_ITEM_MARK, "{}", "$.id: expected a text, found nothing" },
  { EF_ITEM_MARK, "{\"id\":\"a\",\"face\":\"p/f\",\"kind\":\"dent\",\"shape\":\"point\",\"nodes_mm\":[[0,0]]}", "$.kind: expected one of" },
  { EF_ITEM_MARK, "{\"id\":\"a\",\"face\":\"p/f\",\"kind\":\"lip\",\"shape\":\"point\",\"nodes_mm\":[[0]]}", "$.nodes_mm[0]: expected two numbers" },
  { EF_ITEM_MARK, "{\"id\":\"a\",\"face\":\"p/f\",\"kind\":\"lip\",\"shape\":\"point\",\"nodes_mm\":[[0,\"x\"]]}", "$.nodes_mm[0][1]: expected a number" },
  { EF_ITEM_MARK, "{\"id\":\"a\",\"face\":\"p/f\",\"kind\":\"lip\",\"shape\":\"point\",\"nodes_mm\":{}}", "$.nodes_mm: expected an array" },
  { EF_ITEM_MARK, "{\"id\":\"a\",\"face\":\"p/f\",\"kind\":\"lip\",\"shape\":\"point\",\"nodes_mm\":[[0,1e9]]}", "$.nodes_mm[0][1]: expected a number from" },
  { EF_ITEM_MARK, "{\"id\":\"a\",\"face\":\"p/f\",\"kind\":\"lip\",\"shape\":\"point\",\"nodes_mm\":[[0,0]],\"depth\":1}", "$.depth: expected a member out of" },
  { EF_ITEM_MARK, "{\"id\":\"a\",\"face\":\"p/f\",\"kind\":\"lip\",\"shape\":\"point\",\"nodes_mm\":[[0,0]],\"depths\":[{\"at_mm\":[0,0]}]}", "$.depths[0].depth_mm: expected a number" },
  { EF_ITEM_MARK, "{\"id\":\"a\",\"face\":\"p/f\",\"kind\":\"lip\",\"shape\":\"point\",\"nodes_mm\":[[0,0]],\"depths\":[{\"at_mm\":[0,0],\"depth_mm\":1,\"unit\":\"ell\"}]}", "$.depths[0]: unit: expected a unit" },
  { EF_ITEM_MARK, "{\"id\":\"a\",\"face\":\"p/f\",\"kind\":\"lip\",\"shape\":\"point\",\"nodes_mm\":[[0,0]],\"number\":1.5}", "$.number: expected a whole number" },
  { EF_ITEM_MARK, "{\"id\":\"a\",\"face\":\"p/f\",\"kind\":\"lip\",\"shape\":\"point\",\"nodes_mm\":[[0,0]],\"photos\":[1]}", "$.photos[0]: expected a text" },
  { EF_ITEM_READING, "{\"id\":\"r\",\"quantity\":\"weight\",\"target\":\"p\",\"value_mm\":1}", "$.quantity: expected one of" },
  { EF_ITEM_READING, "{\"id\":\"r\",\"quantity\":\"backlash\",\"target\":\"p\"}", "$.value_mm: expected a number" },
  { EF_ITEM_GAUGE, "{\"id\":\"g\",\"kind\":\"feeler-blades\",\"uncertainty_mm\":0.01}", "$.resolution_mm: expected a number" },
  { EF_ITEM_CHECK, "{\"id\":\"c\",\"state\":\"fine\"}", "$.state: expected one of" },
  { EF_ITEM_OVERRIDE, "{\"id\":\"pump\",\"verdict\":\"scrap\"}", "$.reason: expected a text" },
  { EF_ITEM_TICK, "{\"id\":\"t\",\"note\":null}", "$.note: expected a text, found null" },
  { EF_ITEM_WORK, "{\"id\":\"w\"}", "$.face: expected a text" },
  { EF_ITEM_WORK, "{\"id\":\"w\",\"face\":\"p/f\",\"passes\":[{\"grit\":\"fine\",\"count\":1},{\"grit\":\"fine\",\"count\":2}]}", "$.passes[1]: expected each grit once" },
  { EF_ITEM_WORK, "{\"id\":\"w\",\"face\":\"p/f\",\"passes\":[{\"grit\":\"fine\"}]}", "$.passes[0].count: expected a number" },
  { EF_ITEM_WORK, "{\"id\":\"w\",\"face\":\"p/f\",\"removed\":1}", "$.removed: expected a member out of" },
  { EF_ITEM_DEMAND, "{\"id\":\"demand\",\"hotter_k\":\"10\"}", "$.hotter_k: expected a number" },
  { EF_ITEM_COST, "{\"id\":\"cost\",\"minutes\":{\"tea\":10}}", "$.minutes.tea: expected a member out of" },
  { EF_ITEM_PHOTO, "{\"id\":\"p\"}", "$.file: expected a text" },
  { EF_ITEM_PHOTO, "{\"id\":\"p\",\"file\":\"x\",\"name\":\"a.png\",\"type\":\"image/png\",\"size_px\":[10,10],\"bytes\":\"\"}", "$.bytes: expected a member out of" },
  { EF_ITEM_PHOTO, "{\"id\":\"p\",\"file\":\"x\",\"name\":\"a.png\",\"type\":\"image/png\",\"size_px\":[10,10],\"turns\":4}", "$.turns: expected a whole number from 0 to 3" },
  { EF_ITEM_PHOTO, "{\"id\":\"p\",\"file\":\"x\",\"name\":\"a.png\",\"type\":\"image/png\",\"size_px\":[10,10],\"registration\":{\"model\":\"spline\",\"pairs\":[]}}", "$.registration.model: expected one of" },
  { EF_ITEM_PHOTO, "{\"id\":\"p\",\"file\":\"x\",\"name\":\"a.png\",\"type\":\"image/png\",\"size_px\":[10,10],\"registration\":{\"model\":\"affine\",\"pairs\":[{\"photo_px\":[1,2]}]}}", "$.registration.pairs[0].face_mm: expected an array" },
  { EF_ITEM_PHOTO, "{\"id\":\"p\",\"file\":\"x\",\"name\":\"a.png\",\"type\":\"image/png\",\"size_px\":[10,10],\"registration\":{\"model\":\"affine\",\"pairs\":[{\"photo_px\":[1],\"face_mm\":[0,0]}]}}", "$.registration.pairs[0].photo_px: expected" },
  { EF_ITEM_PHOTO, "{\"id\":\"p\",\"file\":\"x\",\"name\":\"a.svg\",\"type\":\"image/svg+xml\",\"size_px\":[10,10]}", "$.type: expected one of" },
  { EF_ITEM_PHOTO, "{\"id\":\"p\",\"file\":\"x\",\"name\":\"a.png\",\"type\":\"image/png\",\"size_px\":[10.5,10]}", "size_px: expected whole numbers" },
  { EF_ITEM_HEADER, "{\"number\":7}", "$.number: expected a text, found 7" },
  { EF_ITEM_HEADER, "{\"found_pressure_bar\":-1}", "$.found_pressure_bar: expected a number from 0" },
};

static void
test_malformed (void)
{
  guint i;

  for (i = 0; i < G_N_ELEMENTS (malformed); i++)
    {
      g_autoptr (GError) error = NULL;
      EfItem *item = parse (malformed[i].kind, malformed[i].text, &error);

      g_assert_null (item);
      g_assert_true (error != NULL && error->domain == EF_ERROR);
      g_assert_true (g_str_has_prefix (error->message, "item.json: "));
      if (strstr (error->message, malformed[i].words) == NULL)
        g_error ("expected \"%s\" in \"%s\"", malformed[i].words, error->message);
    }
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/item-json/round-trip", test_round_trip);
  g_test_add_func ("/item-json/grids-are-exact", test_grids_exact);
  g_test_add_func ("/item-json/readable", test_readable);
  g_test_add_func ("/item-json/malformed", test_malformed);

  return g_test_run ();
}
