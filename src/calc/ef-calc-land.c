/* Worn land weighed by what it costs in leakage, by name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-calc-inspection.h"
#include "ef-calc.h"

#include "../assess/ef-assessment.h"

#include <math.h>

#define UM 1e-6
#define POINTS 11

static JsonArray *
curve_to_json (const EfFaceLand *land)
{
  JsonArray *rows = json_array_new ();

  for (int i = 0; i < POINTS; i++)
    {
      double depth = land->area.deepest * i / (POINTS - 1);
      JsonObject *row = json_object_new ();

      ef_json_put (row, "depth_um", depth / UM);
      ef_json_put (row, "area_share", ef_land_share (&land->area, depth));
      ef_json_put (row, "sealing_share", ef_land_share (ef_face_land_curve (land), depth));
      json_array_add_object_element (rows, row);
    }

  return rows;
}

static JsonNode *
land_to_json (const EfFaceLand *land,
              double flatness,
              double share)
{
  const EfCleanTarget target = { .goal = EF_CLEAN_TO_SHARE, .share = share };
  JsonObject *out = json_object_new ();

  json_object_set_string_member (out, "face", land->face_id);
  json_object_set_string_member (out, "weighed_by", land->by_leakage ? "leakage" : "area");
  json_object_set_string_member (out, "rests_on", land->rests_on);
  ef_json_put (out, "flatness_um", flatness / UM);
  ef_json_put (out, "stock_needed_um", ef_stock_needed (ef_face_land_curve (land), flatness, &target) / UM);
  ef_json_put (out, "stock_needed_by_area_um", ef_stock_needed (&land->area, flatness, &target) / UM);
  json_object_set_array_member (out, "curve", curve_to_json (land));

  return ef_json_object_node (out);
}

static JsonNode *
run_sealing_land (const EfJson *input,
                  GError **error)
{
  static const char *const members[] = { "inspection", "demo", "face", "share", NULL };
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (EfRuleSet) rules = NULL;
  g_autoptr (EfAssessment) assessment = NULL;
  g_autofree char *face = NULL;
  const EfFaceLand *land;
  const EfDerived *flatness;
  double share;

  ef_json_only (input, members);
  face = ef_json_string (input, "face");
  share = ef_json_number_or (input, "share", 0.0, 1.0, EF_SEALING_SHARE);
  inspection = ef_calc_read_inspection (input, error);
  rules = inspection != NULL ? ef_rule_set_default (error) : NULL;
  assessment = rules != NULL ? ef_assess_in_detail (inspection, rules, NULL, EF_DETAIL_COARSE, NULL, error) : NULL;
  if (assessment == NULL)
    return NULL;
  land = ef_face_land_find (assessment->land, face);
  if (land == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "face: expected a plane face with wear of known depth, found \"%s\"", face);
      return NULL;
    }
  flatness = ef_derived_find (assessment->findings.derived, "flatness", face, NULL);

  return land_to_json (land, flatness != NULL ? fmax (flatness->value, 0.0) : 0.0, share);
}

const EfCalc ef_calc_land[] = {
  {
      "sealing-land",
      "How much of a worn face's land seals, weighed by what each place costs in leakage, and the stock until enough of it does again",
      "inspection: a whole inspection as in its file; or\n"
      "demo: name of a demo job that comes with the program\n"
      "face: a plane face with wear, such as separator/side-a\n"
      "share: of the land to be restored, 0 … 1, default 0.95",
      "weighed_by: leakage where the gears' ends run on the face and the film can be worked out, else area; rests_on: in words\n"
      "flatness_um: as measured, 0 where it isn't; stock_needed_um, and stock_needed_by_area_um without the weights\n"
      "curve: share of the land no deeper than depth_um, by area and weighed",
      "{\"demo\": \"job-1-hl-24\", \"face\": \"separator/side-a\"}",
      "material ratio: ISO 21920-2; weights: docs/lapping.md, |grad p|^2 of the film as new",
      run_sealing_land,
  },
  { NULL },
};
