/* A score as JSON: for the command line and the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-lesson-score.h"

#include <math.h>

static void
put_text (JsonObject *object,
          const char *member,
          const char *text)
{
  if (text != NULL)
    json_object_set_string_member (object, member, text);
}

static void
put_known (JsonObject *object,
           const char *member,
           double value)
{
  if (isfinite (value))
    ef_json_put (object, member, value);
}

static JsonArray *
marks_to_json (const EfLessonScore *score)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < score->mark_rows->len; i++)
    {
      const EfLessonMark *row = score->mark_rows->pdata[i];
      JsonObject *one = json_object_new ();

      if (row->reference != NULL)
        put_text (one, "reference", row->reference->item.id);
      if (row->attempt != NULL)
        put_text (one, "attempt", row->attempt->item.id);
      put_text (one, "kind", ef_mark_kind_name (row->reference != NULL ? row->reference->kind : row->attempt->kind));
      put_text (one, "face", row->reference != NULL ? row->reference->face_id : row->attempt->face_id);
      ef_json_put (one, "score", row->score->score);
      ef_json_put (one, "weight", row->score->weight);
      put_known (one, "common_area", row->common);
      if (isfinite (row->score->depth_error))
        ef_json_put (one, "depth_error_mm", row->score->depth_error * 1e3);
      put_known (one, "depth_error_in_u", row->depth_error_in_u);
      put_text (one, "sentence", row->score->sentence);
      put_text (one, "note", row->note);
      json_array_add_object_element (array, one);
    }

  return array;
}

static JsonArray *
kinds_to_json (const EfLessonScore *score)
{
  JsonArray *array = json_array_new ();

  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    {
      const EfLessonKind *counts = &score->kinds[kind];
      JsonObject *one;

      if (counts->reference + counts->wrongly_seen == 0)
        continue;
      one = json_object_new ();
      put_text (one, "kind", ef_mark_kind_name (kind));
      json_object_set_int_member (one, "reference", counts->reference);
      json_object_set_int_member (one, "found", counts->found);
      json_object_set_int_member (one, "wrong_kind", counts->wrong_kind);
      json_object_set_int_member (one, "missed", counts->missed);
      json_object_set_int_member (one, "false", counts->wrongly_seen);
      json_array_add_object_element (array, one);
    }

  return array;
}

static JsonArray *
decisions_to_json (const EfLessonScore *score)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < score->decisions->len; i++)
    {
      const EfLessonDecision *decision = score->decisions->pdata[i];
      JsonObject *one = json_object_new ();

      put_text (one, "part", decision->part);
      put_text (one, "reference", ef_verdict_name (decision->right));
      if (decision->decided)
        put_text (one, "attempt", ef_verdict_name (decision->said));
      ef_json_put (one, "cost", decision->cost);
      json_object_set_boolean_member (one, "agrees", decision->agrees);
      put_text (one, "sentence", decision->sentence);
      put_text (one, "reason", decision->reason);
      put_text (one, "note", decision->note);
      json_array_add_object_element (array, one);
    }

  return array;
}

static JsonArray *
readings_to_json (const EfLessonScore *score)
{
  JsonArray *array = json_array_new ();

  for (guint i = 0; i < score->readings->len; i++)
    {
      const EfLessonReading *row = score->readings->pdata[i];
      JsonObject *one = json_object_new ();

      put_text (one, "quantity", ef_quantity_name (row->quantity));
      put_text (one, "target", row->target);
      put_text (one, "place", row->place);
      json_object_set_int_member (one, "asked", row->asked);
      json_object_set_int_member (one, "taken", row->taken);
      if (isfinite (row->error))
        ef_json_put (one, "error_mm", row->error * 1e3);
      put_known (one, "error_in_u", row->error_in_u);
      ef_json_put (one, "score", row->score);
      put_text (one, "sentence", row->sentence);
      json_array_add_object_element (array, one);
    }

  return array;
}

static JsonObject *
pressure_to_json (const EfLessonScore *score)
{
  JsonObject *object = json_object_new ();

  put_known (object, "as_new_bar", score->pressure_new * 1e-5);
  put_known (object, "found_by_reference_bar", score->pressure_reference * 1e-5);
  put_known (object, "found_by_attempt_bar", score->pressure_attempt * 1e-5);
  put_known (object, "delivered_by_reference_bar", score->pressure_right * 1e-5);
  put_known (object, "delivered_by_attempt_bar", score->pressure_decided * 1e-5);
  put_text (object, "found", score->pressure_found_text);
  put_text (object, "delivered", score->pressure_decided_text);

  return object;
}

JsonNode *
ef_lesson_score_to_json (const EfLessonScore *score)
{
  JsonObject *object = json_object_new ();
  JsonArray *remarks = json_array_new ();

  for (guint i = 0; i < score->remarks->len; i++)
    json_array_add_string_element (remarks, score->remarks->pdata[i]);
  ef_json_put (object, "score", score->score);
  ef_json_put (object, "marks_score", score->marks->score);
  ef_json_put (object, "decisions_score", score->decisions_score);
  put_known (object, "readings_score", score->readings_score);
  json_object_set_int_member (object, "found", score->marks->n_found);
  json_object_set_int_member (object, "wrong_kind", score->marks->n_wrong_kind);
  json_object_set_int_member (object, "missed", score->marks->n_missed);
  json_object_set_int_member (object, "false", score->marks->n_false);
  json_object_set_array_member (object, "kinds", kinds_to_json (score));
  json_object_set_array_member (object, "marks", marks_to_json (score));
  json_object_set_array_member (object, "decisions", decisions_to_json (score));
  json_object_set_array_member (object, "readings", readings_to_json (score));
  json_object_set_object_member (object, "pressure", pressure_to_json (score));
  json_object_set_array_member (object, "remarks", remarks);

  return ef_json_object_node (object);
}
