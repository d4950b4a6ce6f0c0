/* Scores that were worked out before.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What takes long is judging the reference and solving for its pressures. Both are in the kept JSON: each mark's weight, which is all that the matching takes from the
 * verdicts, and the pressures with their sentences. Marks, decisions and readings are compared anew, and must come to the score that was kept.
 */
#include "config.h"

#include "ef-lesson-score-private.h"
#include "../judge/ef-rule.h"
#include "../record/ef-exchange.h"

#include <math.h>

#define FORM 1 /* counted up when scoring changes within a version of the program */

char *
ef_lesson_score_key (const char *digest,
                     const EfInspection *attempt,
                     const EfRuleSet *rules,
                     GError **error)
{
  g_autoptr (EfRuleSet) shipped = rules == NULL ? ef_rule_set_default (error) : NULL;
  const EfRuleSet *used = rules != NULL ? rules : shipped;
  g_autofree char *inspection = used != NULL ? ef_exchange_write (attempt) : NULL;
  g_autofree char *text = inspection != NULL ? g_strdup_printf ("%d\n%s\n%s\n%s\n%s", FORM, EF_VERSION, ef_rule_set_version (used), digest, inspection) : NULL;

  return text != NULL ? g_compute_checksum_for_string (G_CHECKSUM_SHA256, text, -1) : NULL;
}

char *
ef_lesson_score_keep (const EfLessonScore *score,
                      const char *key)
{
  g_autoptr (JsonNode) node = ef_lesson_score_to_json (score);

  json_object_set_string_member (json_node_get_object (node), "key", key);

  return ef_json_to_text (node);
}

/* The marks' verdicts, as far as the weights tell them. */
static EfVerdict *
weights_of (const EfJson *root)
{
  EfVerdict *verdict = ef_verdict_new (EF_LEVEL_PUMP, g_strdup ("pump"), g_strdup (""));
  g_auto (EfJson) marks = ef_json_array (root, "marks", 0, G_MAXUINT);

  for (guint i = 0; i < ef_json_length (&marks); i++)
    {
      g_auto (EfJson) one = ef_json_element (&marks, i);
      g_autofree char *id = ef_json_string_or (&one, "reference", NULL);
      double weight = ef_json_number (&one, "weight", 1, 3);
      EfVerdict *mark;

      if (id == NULL)
        continue;
      mark = ef_verdict_new (EF_LEVEL_MARK, g_strconcat ("mark:", id, NULL), g_strdup (""));
      mark->word = weight > 2.5 ? EF_VERDICT_SCRAP : weight > 1.5 ? EF_VERDICT_REWORK : EF_VERDICT_USE;
      g_ptr_array_add (verdict->children, mark);
    }

  return verdict;
}

static double
pressure (const EfJson *json,
          const char *member)
{
  return ef_json_has (json, member) ? ef_json_number (json, member, -1e6, 1e6) * 1e5 : NAN;
}

static void
take_pressures (EfLessonScore *score,
                const EfJson *root)
{
  g_auto (EfJson) json = ef_json_object (root, "pressure");

  score->pressure_new = pressure (&json, "as_new_bar");
  score->pressure_reference = pressure (&json, "found_by_reference_bar");
  score->pressure_attempt = pressure (&json, "found_by_attempt_bar");
  score->pressure_right = pressure (&json, "delivered_by_reference_bar");
  score->pressure_decided = pressure (&json, "delivered_by_attempt_bar");
  score->pressure_found_text = ef_json_string_or (&json, "found", NULL);
  score->pressure_decided_text = ef_json_string_or (&json, "delivered", NULL);
}

EfLessonScore *
ef_lesson_score_again (const EfLesson *lesson,
                       const EfInspection *attempt,
                       const char *kept,
                       const char *key)
{
  g_autoptr (EfJsonContext) context = kept != NULL && *kept != '\0' ? ef_json_parse (kept, -1, "result", NULL) : NULL;
  g_auto (EfJson) root = { 0 };
  g_autofree char *of = NULL;
  g_autoptr (EfVerdict) weights = NULL;
  g_autoptr (EfLessonScore) score = NULL;
  double total;

  if (context == NULL)
    return NULL;
  root = ef_json_root (context);
  of = ef_json_string_or (&root, "key", NULL);
  if (!ef_json_finish (context, NULL) || g_strcmp0 (of, key) != 0)
    return NULL;
  weights = weights_of (&root);
  total = ef_json_number (&root, "score", 0, 1);
  score = ef_json_finish (context, NULL) ? ef_lesson_score_alone (lesson, attempt, weights, NULL) : NULL;
  if (score == NULL)
    return NULL;
  take_pressures (score, &root);

  return ef_json_finish (context, NULL) && fabs (score->score - total) < 1e-9 ? g_steal_pointer (&score) : NULL;
}
