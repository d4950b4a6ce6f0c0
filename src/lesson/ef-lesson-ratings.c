/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-lesson-ratings.h"

#include "../assess/ef-assessment.h"

/* Worst word first, then as the verdict has them. */
static const EfReason *
worst_reason (const EfVerdict *verdict)
{
  const EfReason *worst = verdict->reasons->len > 0 ? verdict->reasons->pdata[0] : NULL;

  for (guint i = 0; i < verdict->children->len; i++)
    {
      const EfReason *one = worst_reason (verdict->children->pdata[i]);

      if (one != NULL && (worst == NULL || one->word > worst->word))
        worst = one;
    }

  return worst;
}

static const char *
rule_of (const EfVerdict *root,
         const char *part)
{
  g_autofree char *id = g_strdup_printf ("part:%s", part);
  const EfVerdict *verdict = ef_verdict_find (root, id);
  const EfReason *reason = verdict != NULL ? worst_reason (verdict) : NULL;

  return reason != NULL ? reason->rule : NULL;
}

static const char *
decided (const EfAttempt *attempt,
         const char *part)
{
  g_autofree char *id = g_strdup_printf ("part:%s", part);
  const EfOverride *decision = ef_inspection_find (attempt->inspection, EF_ITEM_OVERRIDE, id);

  return decision != NULL ? decision->verdict : NULL;
}

static gboolean
has_later (const GPtrArray *attempts,
           guint i)
{
  const EfAttempt *one = attempts->pdata[i];

  for (guint k = i + 1; k < attempts->len; k++)
    if (g_strcmp0 (((EfAttempt *) attempts->pdata[k])->apprentice, one->apprentice) == 0)
      return TRUE;

  return FALSE;
}

EfRatingTable *
ef_lesson_ratings (const EfLesson *lesson,
                   const GPtrArray *attempts,
                   GError **error)
{
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (error);
  g_autoptr (EfAssessment) assessment = rules != NULL ? ef_assess_in_detail (lesson->reference, rules, NULL, EF_DETAIL_COARSE, NULL, error) : NULL;
  EfRatingTable *table;
  const char *order[EF_N_VERDICTS + 1] = { NULL };

  if (assessment == NULL)
    return NULL;
  for (int i = 0; i < EF_N_VERDICTS; i++)
    order[i] = ef_verdict_name (i);
  table = ef_rating_table_new (order);
  for (guint p = 0; p < lesson->verdicts->len; p++)
    {
      const EfLessonVerdict *verdict = lesson->verdicts->pdata[p];
      const char *rule = rule_of (assessment->verdict, verdict->part);

      ef_rating_table_add (table, verdict->part, "reference", ef_verdict_name (verdict->verdict), rule);
      for (guint i = 0; i < attempts->len; i++)
        {
          const EfAttempt *attempt = attempts->pdata[i];
          const char *word = has_later (attempts, i) ? NULL : decided (attempt, verdict->part);

          if (word != NULL)
            ef_rating_table_add (table, verdict->part, attempt->apprentice, word, rule);
        }
    }

  return table;
}
