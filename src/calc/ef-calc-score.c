/* Scoring an attempt by name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-calc.h"

#include "../inspection/ef-inspection.h"
#include "../teach/ef-score.h"

#include <math.h>

#define MOST_MARKS 2000

static GPtrArray *
read_marks (const EfJson *input,
            const char *member)
{
  g_auto (EfJson) list = ef_json_array (input, member, 0, MOST_MARKS);
  GPtrArray *marks = g_ptr_array_new_with_free_func (ef_item_unref);

  for (guint i = 0; i < ef_json_length (&list); i++)
    {
      g_auto (EfJson) one = ef_json_element (&list, i);
      EfItem *mark = ef_item_from_json (EF_ITEM_MARK, &one);

      if (mark == NULL)
        break;
      g_ptr_array_add (marks, mark);
    }

  return marks;
}

static JsonArray *
marks_to_json (const EfMarksScore *score,
               const GPtrArray *reference,
               const GPtrArray *attempt)
{
  JsonArray *list = json_array_new ();

  for (guint i = 0; i < score->marks->len; i++)
    {
      const EfMarkScore *one = score->marks->pdata[i];
      JsonObject *object = json_object_new ();

      if (one->pair.reference >= 0)
        json_object_set_string_member (object, "reference", ((EfItem *) reference->pdata[one->pair.reference])->id);
      if (one->pair.attempt >= 0)
        json_object_set_string_member (object, "attempt", ((EfItem *) attempt->pdata[one->pair.attempt])->id);
      ef_json_put (object, "score", one->score);
      ef_json_put (object, "weight", one->weight);
      if (one->pair.reference >= 0 && one->pair.attempt >= 0)
        {
          ef_json_put (object, "kind", one->kind);
          ef_json_put (object, "place", one->place);
          ef_json_put (object, "size", one->size);
          ef_json_put (object, "depth", one->depth);
        }
      if (isfinite (one->depth_error))
        ef_json_put (object, "depth_error_mm", one->depth_error * 1e3);
      json_object_set_string_member (object, "sentence", one->sentence);
      json_array_add_object_element (list, object);
    }

  return list;
}

static JsonNode *
run_scoring (const EfJson *input,
             GError **error)
{
  static const char *const members[] = { "reference", "attempt", "place_mm", "depth_mm", "depth_share", "least_overlap", "size_share", NULL };
  EfScoreTolerance tolerance = EF_SCORE_TOLERANCE_DEFAULT;
  g_autoptr (GPtrArray) reference = read_marks (input, "reference");
  g_autoptr (GPtrArray) attempt = read_marks (input, "attempt");
  g_autoptr (EfMarksScore) score = NULL;
  JsonObject *result;

  ef_json_only (input, members);
  tolerance.place = ef_json_number_or (input, "place_mm", 0.01, 100, tolerance.place * 1e3) * 1e-3;
  tolerance.depth = ef_json_number_or (input, "depth_mm", 0.0001, 10, tolerance.depth * 1e3) * 1e-3;
  tolerance.depth_share = ef_json_number_or (input, "depth_share", 0, 1, tolerance.depth_share);
  tolerance.least = ef_json_number_or (input, "least_overlap", 0, 1, tolerance.least);
  tolerance.size_share = ef_json_number_or (input, "size_share", 0, 1, tolerance.size_share);
  if (!ef_json_finish (input->context, error))
    return NULL;
  score = ef_score_marks (reference, attempt, NULL, &tolerance, error);
  if (score == NULL)
    return NULL;

  result = json_object_new ();
  ef_json_put (result, "score", score->score);
  json_object_set_int_member (result, "found", score->n_found);
  json_object_set_int_member (result, "wrong_kind", score->n_wrong_kind);
  json_object_set_int_member (result, "missed", score->n_missed);
  json_object_set_int_member (result, "false", score->n_false);
  json_object_set_array_member (result, "marks", marks_to_json (score, reference, attempt));

  return ef_json_object_node (result);
}

const EfCalc ef_calc_score[] = {
  {
    .name = "scoring",
    .summary = "An apprentice's marks against the reference: found, missed, false, of the wrong kind, and by how much",
    .input = "reference, attempt: arrays of marks as in the exchange file\n"
             "place_mm, depth_mm, depth_share, least_overlap, size_share: tolerances; 2, 0.01, 0.2, 0.25, 0.5 where not given",
    .output = "score (0 to 1), found, wrong_kind, missed, false, marks with a sentence each",
    .example = "{\"reference\": [{\"id\": \"a\", \"number\": 1, \"face\": \"separator/side-a\", \"kind\": \"groove\", \"shape\": \"line\", \"size_mm\": 1, "
               "\"nodes_mm\": [[0, 0], [10, 0]], \"depths\": [{\"at_mm\": [0, 0], \"depth_mm\": 0.09, \"unit\": \"mm\"}]}], "
               "\"attempt\": [{\"id\": \"b\", \"face\": \"separator/side-a\", \"kind\": \"scoring\", \"shape\": \"line\", \"size_mm\": 1, "
               "\"nodes_mm\": [[1, 1], [10, 1]], \"depths\": [{\"at_mm\": [1, 1], \"depth_mm\": 0.12, \"unit\": \"mm\"}]}]}",
    .source = "assignment problem (GLPK); areas by GEOS; weights the program's own, no source",
    .run = run_scoring,
  },
  { 0 },
};
