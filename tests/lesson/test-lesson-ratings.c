/* What people made of a lesson's parts side by side. Constructed on the demo job.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "lesson-fixture.h"

#include "lesson/ef-lesson-ratings.h"
#include "../isolate.h"

#include <math.h>

static EfAttempt *
attempt_by (const EfLesson *lesson,
            const char *who,
            int wrong) /* which part is decided otherwise; -1 none */
{
  g_autoptr (EfInspection) inspection = ef_inspection_new (lesson->reference->sheet, "A-1");

  for (guint i = 0; i < lesson->verdicts->len; i++)
    {
      const EfLessonVerdict *verdict = lesson->verdicts->pdata[i];
      g_autofree char *id = g_strdup_printf ("part:%s", verdict->part);
      EfOverride *decision = ef_item_new (&ef_override_class, id);
      EfVerdictWord word = (int) i == wrong ? (verdict->verdict == EF_VERDICT_SCRAP ? EF_VERDICT_USE : EF_VERDICT_SCRAP) : verdict->verdict;
      g_autoptr (GError) error = NULL;

      decision->verdict = g_strdup (ef_verdict_name (word));
      decision->reason = g_strdup ("Seen so.");
      ef_inspection_swap (inspection, NULL, &decision->item, &error);
      g_assert_no_error (error);
      ef_item_unref (decision);
    }

  return ef_attempt_new ("digest", "title", who, "2026-03-16T08:00:00Z", "2026-03-16T09:00:00Z", inspection);
}

/* Two apprentices: one as the reference, one who differs on the first part; that part's rule is the one disagreed on. A second attempt takes the place of the first. */
static void
test_ratings (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autoptr (GPtrArray) attempts = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_attempt_free);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRatingTable) table = NULL;
  g_autoptr (EfRatingSummary) summary = NULL;
  const EfRuleDisagreement *worst;

  g_ptr_array_add (attempts, attempt_by (lesson, "apprentice 1", 1));
  g_ptr_array_add (attempts, attempt_by (lesson, "apprentice 2", 0));
  g_ptr_array_add (attempts, attempt_by (lesson, "apprentice 1", -1));
  table = ef_lesson_ratings (lesson, attempts, &error);
  g_assert_no_error (error);
  g_assert_cmpuint (table->items->len, ==, lesson->verdicts->len);
  g_assert_cmpuint (table->raters->len, ==, 3);
  g_assert_cmpstr (table->raters->pdata[0], ==, "reference");
  g_assert_cmpstr (table->categories->pdata[0], ==, "use-again");
  summary = ef_rating_summary_new (table, &error);
  g_assert_no_error (error);
  g_assert_true (summary->has_all);
  /* reference and apprentice 1 agree wholly, apprentice 2 with neither */
  g_assert_cmpstr (table->raters->pdata[1], ==, "apprentice 2");
  g_assert_cmpfloat (g_array_index (summary->pairs, EfRaterPair, 0).plain.kappa, <, 0.9);
  g_assert_cmpfloat (fabs (g_array_index (summary->pairs, EfRaterPair, 1).plain.kappa - 1.0), <, 1e-12);
  worst = &g_array_index (summary->rules, EfRuleDisagreement, 0);
  g_assert_cmpstr (worst->rule, ==, (char *) table->rules->pdata[0]);
  g_assert_cmpstr (worst->rule, !=, "");
  g_assert_cmpuint (worst->differ, ==, 2);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);

  g_test_add_func ("/lesson-ratings/ratings", test_ratings);

  return g_test_run ();
}
