/* The lapping plan in the results file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>

#include "ef-plan-json.h"

/* In whole nanometres, like all lengths that are written. */
static double
mm (double metres)
{
  return isfinite (metres) ? rint (metres * 1e9) / 1e6 : metres;
}

static JsonObject *
face_out (const EfLapOption *option,
          const EfLapWork *work,
          guint i)
{
  const EfLapFace *face = ef_lap_problem_face (option->problem, i);
  JsonObject *out = json_object_new ();
  JsonArray *passes = json_array_new ();

  json_object_set_string_member (out, "face", face->id);
  ef_json_put (out, "removal_mm", mm (option->removal[i]));
  ef_json_put (out, "least_mm", mm (ef_lap_face_least (face)));
  ef_json_put (out, "stock_mm", mm (face->stock));
  for (guint k = 0; option->passes != NULL && option->passes->feasible && k < option->grits[i].n; k++)
    if (option->passes->counts[i][k] > 0)
      {
        JsonObject *one = json_object_new ();

        json_object_set_string_member (one, "paper", k < work->table->n_grits ? work->table->grit[k].paper : "");
        json_object_set_int_member (one, "passes", option->passes->counts[i][k]);
        ef_json_put (one, "removal_mm", mm (option->passes->counts[i][k] * option->grits[i].removal[k]));
        json_array_add_object_element (passes, one);
      }
  json_object_set_array_member (out, "passes", passes);

  return out;
}

static JsonObject *
section_out (const EfLapOption *option,
             guint i)
{
  const EfLapSection *section = ef_lap_problem_section (option->problem, i);
  JsonObject *out = json_object_new ();
  JsonArray *clearances = json_array_new ();
  double least, most;

  ef_lap_section_window (section, &least, &most);
  json_object_set_string_member (out, "section", section->id);
  for (int gear = 0; gear < 2; gear++)
    json_array_add_double_element (clearances, mm (ef_lap_section_clearance (section, option->removal, gear)));
  json_object_set_array_member (out, "end_clearance_mm", clearances);
  ef_json_put (out, "window_min_mm", mm (least));
  ef_json_put (out, "window_max_mm", mm (most));

  return out;
}

static JsonObject *
option_out (const EfLapOption *option,
            const EfLapWork *work)
{
  JsonObject *out = json_object_new ();
  JsonArray *faces = json_array_new ();
  JsonArray *sections = json_array_new ();

  json_object_set_string_member (out, "id", option->id);
  json_object_set_string_member (out, "label", option->label);
  json_object_set_string_member (out, "level", ef_lap_level_name (option->level));
  for (guint i = 0; i < option->plan->n_faces; i++)
    if (option->removal[i] > 1e-9)
      json_array_add_object_element (faces, face_out (option, work, i));
  for (guint i = 0; i < option->plan->n_sections; i++)
    if (!isinf (ef_lap_problem_section (option->problem, i)->clearance_min))
      json_array_add_object_element (sections, section_out (option, i));
  json_object_set_array_member (out, "faces", faces);
  json_object_set_array_member (out, "sections", sections);
  ef_json_put (out, "effort", rint (option->plan->effort * 1e9) / 1e3);
  ef_json_put (out, "stock_mm", mm (ef_lap_problem_stock (option->problem, option->removal)));
  json_object_set_boolean_member (out, "whole_passes", option->passes != NULL && option->passes->feasible);

  return out;
}

static JsonArray *
conflicts_out (const EfLapWork *work)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; work->conflicts != NULL && i < work->conflicts->len; i++)
    {
      const EfLapConflict *conflict = work->conflicts->pdata[i];
      JsonObject *one = json_object_new ();

      json_object_set_string_member (one, "limit", ef_lap_limit_kind_name (conflict->kind));
      json_object_set_string_member (one, "target", conflict->target);
      ef_json_put (one, "shortfall_mm", mm (conflict->shortfall));
      json_object_set_string_member (one, "sentence", conflict->sentence);
      json_array_add_object_element (array, one);
    }

  return array;
}

static double
removal_of (const EfLapWork *work,
            const char *face_id)
{
  int at = work->chosen != NULL ? ef_lap_problem_find_face (work->chosen->problem, face_id) : -1;

  return at >= 0 && work->chosen->removal != NULL ? work->chosen->removal[at] : 0.0;
}

/* Shares of 1, in millionths. */
static double
share (double value)
{
  return isfinite (value) ? rint (value * 1e6) / 1e6 : value;
}

static JsonArray *
land_out (const EfLapWork *work,
          GPtrArray *land,
          GPtrArray *derived)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; land != NULL && i < land->len; i++)
    {
      const EfFaceLand *face = land->pdata[i];
      const EfDerived *measured = ef_derived_find (derived, "flatness", face->face_id, NULL);
      double flatness = measured != NULL ? fmax (measured->value, 0.0) : 0.0, removal = removal_of (work, face->face_id);
      JsonObject *one = json_object_new ();

      json_object_set_string_member (one, "face", face->face_id);
      json_object_set_string_member (one, "weighed_by", face->by_leakage ? "leakage" : "area");
      json_object_set_string_member (one, "rests_on", face->rests_on);
      ef_json_put (one, "area_found", share (ef_land_restored (&face->area, flatness, 0.0)));
      ef_json_put (one, "area_after", share (ef_land_restored (&face->area, flatness, removal)));
      ef_json_put (one, "sealing_found", share (ef_face_land_restored (face, flatness, 0.0)));
      ef_json_put (one, "sealing_after", share (ef_face_land_restored (face, flatness, removal)));
      ef_json_put (one, "target", EF_SEALING_SHARE);
      ef_json_put (one, "stock_needed_mm", mm (ef_face_land_needed (face, flatness)));
      json_array_add_object_element (array, one);
    }

  return array;
}

JsonNode *
ef_lap_work_to_json (const EfLapWork *work,
                     GPtrArray *land,
                     GPtrArray *derived)
{
  JsonObject *out = json_object_new ();
  JsonArray *options = json_array_new ();

  json_object_set_boolean_member (out, "wanted", work->wanted);
  json_object_set_boolean_member (out, "feasible", work->feasible);
  if (work->reason != NULL)
    json_object_set_string_member (out, "reason", work->reason);
  else
    json_object_set_null_member (out, "reason");
  json_object_set_array_member (out, "conflicts", conflicts_out (work));
  for (guint i = 0; i < work->options->len; i++)
    json_array_add_object_element (options, option_out (work->options->pdata[i], work));
  json_object_set_array_member (out, "options", options);
  json_object_set_array_member (out, "land", land_out (work, land, derived));
  json_object_set_int_member (out, "rates_learned_from", work->table->learned);

  return ef_json_object_node (out);
}
