/* Marks and depth maps by name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-calc.h"

#include "../inspection/ef-inspection.h"
#include "../wear/ef-depth-map.h"

#include <math.h>

#define MOST_MARKS 20000
#define MOST_POINTS 100000

static void
free_band (gpointer data)
{
  EfChartBand *band = data;

  g_free (band->name);
  ef_region_free (band->region);
  g_free (band);
}

/* A face by its outline, all that a depth map asks of a chart. */
typedef struct
{
  EfFaceChart chart;
  GPtrArray *marks; /* EfMark * */
  double cell;
} Face;

static void
face_clear (Face *face)
{
  g_free (face->chart.id);
  g_clear_pointer (&face->chart.solid, ef_region_free);
  g_clear_pointer (&face->chart.bands, g_ptr_array_unref);
  g_clear_pointer (&face->marks, g_ptr_array_unref);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Face, face_clear)

/* Two numbers in mm, as metres. */
static void
read_place (const EfJson *json,
            double place[2])
{
  for (guint k = 0; k < 2; k++)
    {
      g_auto (EfJson) number = ef_json_element (json, k);

      place[k] = ef_json_value (&number, -2000, 2000) * 1e-3;
    }
}

/* Array of places as a ring. */
static void
read_ring (const EfJson *array,
           EfRegion *region)
{
  guint n = ef_json_length (array);
  g_autofree double *xy = g_new0 (double, 2 * n + 2);

  if (array->node != NULL && n < 3)
    ef_json_fail (array, EF_ERROR_INVALID, "expected at least 3 places, found %u", n);
  for (guint i = 0; i < n; i++)
    {
      g_auto (EfJson) pair = ef_json_element (array, i);

      if (ef_json_length (&pair) != 2)
        ef_json_fail (&pair, EF_ERROR_PARSE, "expected a place as two numbers");
      read_place (&pair, xy + 2 * i);
    }
  if (n >= 3)
    ef_region_take (region, ef_ring_new (n, xy));
}

static EfMark *
read_mark (const EfJson *json)
{
  EfMark *mark = (EfMark *) (gpointer) ef_item_from_json (EF_ITEM_MARK, json);
  g_autoptr (GError) error = NULL;

  if (mark != NULL && !ef_mark_check (mark, &error))
    {
      ef_json_fail (json, (EfError) error->code, "%s", error->message);
      g_clear_pointer (&mark, ef_item_unref);
    }
  return mark;
}

static void
read_bands (const EfJson *input,
            Face *face)
{
  g_auto (EfJson) bands = ef_json_optional (input, "bands");

  for (guint i = 0; bands.node != NULL && i < ef_json_length (&bands); i++)
    {
      g_auto (EfJson) one = ef_json_element (&bands, i);
      g_auto (EfJson) outline = ef_json_array (&one, "outline_mm", 3, MOST_POINTS);
      EfChartBand *band = g_new0 (EfChartBand, 1);

      band->name = ef_json_string (&one, "name");
      band->region = ef_region_new ();
      read_ring (&outline, band->region);
      g_ptr_array_add (face->chart.bands, band);
    }
}

static gboolean
read_face (const EfJson *input,
           Face *face,
           GError **error)
{
  g_auto (EfJson) outline = ef_json_array (input, "outline_mm", 3, MOST_POINTS);
  g_auto (EfJson) holes = ef_json_optional (input, "holes_mm");
  g_auto (EfJson) marks = ef_json_array (input, "marks", 0, MOST_MARKS);
  double bounds[4];

  face->chart.solid = ef_region_new ();
  face->chart.bands = g_ptr_array_new_with_free_func (free_band);
  face->chart.wraps = ef_json_boolean_or (input, "wraps", FALSE);
  face->marks = g_ptr_array_new_with_free_func (ef_item_unref);
  face->cell = ef_json_number_or (input, "cell_mm", 1e-3, 10, 0) * 1e-3;
  read_ring (&outline, face->chart.solid);
  for (guint i = 0; holes.node != NULL && i < ef_json_length (&holes); i++)
    {
      g_auto (EfJson) hole = ef_json_element (&holes, i);

      read_ring (&hole, face->chart.solid);
    }
  read_bands (input, face);
  for (guint i = 0; i < ef_json_length (&marks); i++)
    {
      g_auto (EfJson) one = ef_json_element (&marks, i);
      EfMark *mark = read_mark (&one);

      if (mark == NULL)
        break;
      /* All marks are of this one face, whatever they call it. */
      g_free (mark->face_id);
      mark->face_id = g_strdup ("face");
      g_ptr_array_add (face->marks, mark);
    }
  if (!ef_json_finish (input->context, error))
    return FALSE;

  ef_region_bounds (face->chart.solid, bounds);
  face->chart.id = g_strdup ("face");
  face->chart.u0 = bounds[0];
  face->chart.v0 = bounds[1];
  face->chart.u1 = bounds[2];
  face->chart.v1 = bounds[3];
  return TRUE;
}

static EfDepthMap *
map_of_face (const Face *face,
             GError **error)
{
  return ef_depth_map_new (&face->chart, (EfMark *const *) face->marks->pdata, face->marks->len, face->cell, NULL, error);
}

static JsonNode *
run_mark_depth (const EfJson *input,
                GError **error)
{
  static const char *const members[] = { "mark", "at_mm", NULL };
  g_auto (EfJson) mark_json = ef_json_object (input, "mark");
  g_auto (EfJson) at = ef_json_array (input, "at_mm", 2, 2);
  g_autoptr (EfItem) item = NULL;
  JsonObject *result;
  const EfMark *mark;
  double place[2] = { 0 };

  ef_json_only (input, members);
  read_place (&at, place);
  item = (EfItem *) read_mark (&mark_json);
  if (!ef_json_finish (input->context, error))
    return NULL;

  mark = (const EfMark *) item;
  result = json_object_new ();
  ef_json_put (result, "depth_mm", ef_mark_depth_at (mark, place[0], place[1]) * 1e3);
  ef_json_put (result, "deepest_mm", ef_mark_deepest (mark) * 1e3);
  ef_json_put (result, "distance_mm", ef_mark_distance (mark, place[0], place[1]) * 1e3);
  ef_json_put (result, "length_mm", ef_mark_length (mark) * 1e3);
  ef_json_put (result, "area_mm2", ef_mark_area (mark) * 1e6);
  return ef_json_object_node (result);
}

static JsonObject *
wear_to_json (const EfFaceChart *chart,
              const EfFaceWear *wear)
{
  JsonObject *result = json_object_new ();
  JsonArray *bands = json_array_new ();
  JsonArray *place;

  ef_json_put (result, "material_area_mm2", wear->material_area * 1e6);
  ef_json_put (result, "worn_area_mm2", wear->worn_area * 1e6);
  ef_json_put (result, "worn_share", wear->worn_share);
  ef_json_put (result, "deepest_mm", wear->deepest * 1e3);
  if (!isnan (wear->deepest_u))
    {
      place = json_array_new ();
      json_array_add_double_element (place, wear->deepest_u * 1e3);
      json_array_add_double_element (place, wear->deepest_v * 1e3);
      json_object_set_array_member (result, "deepest_at_mm", place);
    }
  ef_json_put (result, "volume_mm3", wear->volume * 1e9);
  for (guint i = 0; i < wear->n_bands; i++)
    {
      const EfChartBand *band = g_ptr_array_index (chart->bands, i);
      JsonObject *one = json_object_new ();

      json_object_set_string_member (one, "name", band->name);
      ef_json_put (one, "intact_share", wear->band_intact[i]);
      json_array_add_object_element (bands, one);
    }
  json_object_set_array_member (result, "bands", bands);
  return result;
}

static JsonNode *
run_depth_map (const EfJson *input,
               GError **error)
{
  static const char *const members[] = { "outline_mm", "holes_mm", "bands", "wraps", "cell_mm", "marks", NULL };
  g_auto (Face) face = { 0 };
  g_autoptr (EfDepthMap) map = NULL;
  EfFaceWear wear;
  JsonObject *result;

  ef_json_only (input, members);
  if (!read_face (input, &face, error))
    return NULL;
  map = map_of_face (&face, error);
  if (map == NULL)
    return NULL;

  ef_face_wear_from_map (&face.chart, map, &wear);
  result = wear_to_json (&face.chart, &wear);
  json_object_set_int_member (result, "cells_u", map->nu);
  json_object_set_int_member (result, "cells_v", map->nv);
  ef_json_put (result, "cell_mm", map->cell * 1e3);
  ef_face_wear_clear (&wear);
  return ef_json_object_node (result);
}

static GArray *
read_numbers (const EfJson *input,
              const char *member,
              double low,
              double high)
{
  g_auto (EfJson) array = ef_json_array (input, member, 1, MOST_POINTS);
  GArray *numbers = g_array_new (FALSE, FALSE, sizeof (double));

  for (guint i = 0; i < ef_json_length (&array); i++)
    {
      g_auto (EfJson) number = ef_json_element (&array, i);
      double value = ef_json_value (&number, low, high);

      g_array_append_val (numbers, value);
    }
  return numbers;
}

#define NUMBERS(array) ((const double *) (gconstpointer) (array)->data)

static JsonNode *
shares_to_json (GArray *at,
                const EfDepthMap *map,
                GArray *depths,
                GArray *areas)
{
  JsonObject *result = json_object_new ();
  JsonArray *rows = json_array_new ();

  for (guint i = 0; i < at->len; i++)
    {
      double depth = g_array_index (at, double, i);
      JsonObject *row = json_object_new ();

      ef_json_put (row, "depth_mm", depth);
      ef_json_put (row, "share", map != NULL ? ef_bearing_area_share (map, depth * 1e-3)
                                     : ef_bearing_area_share_of (NUMBERS (depths), NUMBERS (areas), depths->len, depth));
      json_array_add_object_element (rows, row);
    }
  json_object_set_array_member (result, "curve", rows);
  return ef_json_object_node (result);
}

static JsonNode *
run_bearing_area (const EfJson *input,
                  GError **error)
{
  static const char *const members[] = { "at_mm", "depths_mm", "areas_mm2", "outline_mm", "holes_mm", "bands", "wraps", "cell_mm", "marks", NULL };
  g_autoptr (GArray) at = read_numbers (input, "at_mm", -100, 100);
  g_autoptr (GArray) depths = NULL;
  g_autoptr (GArray) areas = NULL;
  g_auto (Face) face = { 0 };
  g_autoptr (EfDepthMap) map = NULL;

  ef_json_only (input, members);
  if (!ef_json_has (input, "depths_mm"))
    {
      if (!read_face (input, &face, error))
        return NULL;
      map = map_of_face (&face, error);
      return map != NULL ? shares_to_json (at, map, NULL, NULL) : NULL;
    }

  depths = read_numbers (input, "depths_mm", -100, 100);
  areas = read_numbers (input, "areas_mm2", 0, 1e9);
  if (areas->len != depths->len)
    ef_json_fail (input, EF_ERROR_INVALID, "expected as many areas_mm2 as depths_mm, found %u and %u", areas->len, depths->len);
  if (!ef_json_finish (input->context, error))
    return NULL;
  return shares_to_json (at, NULL, depths, areas);
}

#define EXAMPLE_MARK "{\"id\": \"m1\", \"face\": \"separator/side-a\", \"kind\": \"groove\", \"shape\": \"line\", \"size_mm\": 1.5, " \
                     "\"nodes_mm\": [[2, 5], [18, 5]], \"depths\": [{\"at_mm\": [2, 5], \"depth_mm\": 0.02, \"unit\": \"mm\"}, " \
                     "{\"at_mm\": [18, 5], \"depth_mm\": 0.06, \"unit\": \"mm\"}]}"
#define EXAMPLE_FACE "\"outline_mm\": [[0, 0], [20, 0], [20, 10], [0, 10]], \"marks\": [" EXAMPLE_MARK "]"
#define FACE_INPUT "outline_mm: array of [u, v], mm, at least 3: the face's outline\n" \
                   "holes_mm: array of outlines, optional: even-odd with the outline\n" \
                   "wraps: boolean, optional: the right edge joins the left\n" \
                   "cell_mm: number, 0.001 to 10, optional: 0.1 if not given\n" \
                   "marks: array of marks as in an inspection file; face is ignored\n"

const EfCalc ef_calc_wear[] = {
  {
    .name = "mark-depth",
    .summary = "Depth of one mark at a place, its distance, length and area",
    .input = "mark: a mark as in an inspection file\n"
             "at_mm: [u, v], mm on the face",
    .output = "depth_mm: interpolated; null when no depth is known\n"
              "deepest_mm: deepest reading\n"
              "distance_mm: from the place to the mark's body, 0 inside\n"
              "length_mm: of the line, or longest extent\n"
              "area_mm2: covered",
    .example = "{\"mark\": " EXAMPLE_MARK ", \"at_mm\": [10, 5.3]}",
    .source = "Piecewise linear along lines, inverse square of the distance over points and areas (definition); areas by GEOS",
    .run = run_mark_depth,
  },
  {
    .name = "depth-map",
    .summary = "Worn area, share, deepest place, volume and intact bands of a face with marks",
    .input = FACE_INPUT "bands: array of {name, outline_mm}, optional: sealing bands",
    .output = "material_area_mm2, worn_area_mm2, worn_share, volume_mm3\n"
              "deepest_mm, deepest_at_mm: [u, v]\n"
              "bands: array of {name, intact_share}\n"
              "cells_u, cells_v, cell_mm: the raster",
    .example = "{" EXAMPLE_FACE "}",
    .source = "Coverage of cells in closed form; where marks overlap the deeper counts (definition)",
    .run = run_depth_map,
  },
  {
    .name = "bearing-area",
    .summary = "Bearing-area (material-ratio) curve of a face with marks, or of a list of depths",
    .input = "at_mm: array of depths, mm\n"
             "depths_mm, areas_mm2: arrays of equal length; or instead a face:\n" FACE_INPUT,
    .output = "curve: array of {depth_mm, share}: share of the area whose depth is at most that",
    .example = "{\"at_mm\": [0, 0.03, 0.06], " EXAMPLE_FACE "}",
    .source = "ISO 21920-2, definition of the material ratio",
    .run = run_bearing_area,
  },
  { 0 },
};
