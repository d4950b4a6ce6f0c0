/* What any fair score of an attempt must do, drawn at random, and what the flow solve says of it. Constructed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "lesson-fixture.h"

#include "../fixed-random.h"
#include "../isolate.h"
#include "lesson/ef-lesson-score.h"

#include <math.h>
#include <string.h>

#define MM 1e-3
#define ROUNDS 8

static void
decide (EfInspection *attempt,
        const char *part,
        EfVerdictWord word)
{
  g_autofree char *id = g_strconcat ("part:", part, NULL);
  EfOverride *override = ef_item_new (&ef_override_class, id);
  EfOverride *before = ef_inspection_find (attempt, EF_ITEM_OVERRIDE, id);
  g_autoptr (GError) error = NULL;

  override->verdict = g_strdup (ef_verdict_name (word));
  override->reason = g_strdup ("Seen so.");
  ef_inspection_swap (attempt, (EfItem *) before, &override->item, &error);
  g_assert_no_error (error);
  ef_item_unref (override);
}

/* The reference's marks with ids of their own, its readings, and its verdicts as decisions. */
static EfInspection *
perfect (const EfLesson *lesson)
{
  EfInspection *attempt = ef_inspection_copy (lesson->reference);

  for (guint i = 0; i < lesson->verdicts->len; i++)
    {
      const EfLessonVerdict *verdict = lesson->verdicts->pdata[i];

      decide (attempt, verdict->part, verdict->verdict);
    }

  return attempt;
}

static void
change_marks (EfInspection *attempt,
              void (*change) (EfMark *mark, gpointer data),
              gpointer data)
{
  GPtrArray *marks = attempt->items[EF_ITEM_MARK];

  for (guint i = 0; i < marks->len; i++)
    {
      EfMark *copy = ef_item_copy (marks->pdata[i]);

      change (copy, data);
      ef_item_unref (marks->pdata[i]);
      marks->pdata[i] = copy;
    }
}

static double
score_of (const EfLesson *lesson,
          const EfInspection *attempt)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLessonScore) score = ef_lesson_score_alone (lesson, attempt, NULL, &error);

  g_assert_no_error (error);
  g_assert_cmpfloat (score->score, >=, 0);
  g_assert_cmpfloat (score->score, <=, 1 + 1e-12);

  return score->score;
}

static EfLesson *
lesson_to_measure (void)
{
  EfLesson *lesson = fixture_lesson ();
  const char *const faces[] = { "separator/side-a", "pressure-housing/floor", "pressure-housing/wall-drive", NULL };

  ef_lesson_set_faces (lesson, faces, EF_VERDICT_USE);
  fixture_measure (lesson, "pocket-depth", "face-width");

  return lesson;
}

static void
test_perfect (void)
{
  g_autoptr (EfLesson) lesson = lesson_to_measure ();
  g_autoptr (EfInspection) attempt = perfect (lesson);

  g_assert_cmpfloat (fabs (score_of (lesson, attempt) - 1), <, 1e-12);
}

static void
test_empty (void)
{
  g_autoptr (EfLesson) lesson = lesson_to_measure ();
  g_autoptr (EfLessonSheet) sheet = ef_lesson_sheet_new (lesson, NULL, NULL);

  g_assert_cmpfloat (score_of (lesson, sheet->bench), ==, 0);
}

static void
swap_places (GPtrArray *list,
             GRand *random)
{
  for (guint i = list->len; i > 1; i--)
    {
      guint j = (guint) g_rand_int_range (random, 0, (gint32) i);
      gpointer kept = list->pdata[i - 1];

      list->pdata[i - 1] = list->pdata[j];
      list->pdata[j] = kept;
    }
}

static void
disturb (EfMark *mark,
         gpointer data)
{
  GRand *random = data;

  ef_mark_translate (mark, g_rand_double_range (random, -4, 4) * MM, g_rand_double_range (random, -4, 4) * MM);
  if (g_rand_double (random) < 0.3)
    mark->kind = (EfMarkKind) g_rand_int_range (random, 0, EF_N_MARK_KINDS);
}

static void
test_order (void)
{
  g_autoptr (EfLesson) lesson = lesson_to_measure ();
  GRand *random = fixed_random ();

  for (guint round = 0; round < ROUNDS; round++)
    {
      g_autoptr (EfInspection) attempt = perfect (lesson);
      double before;

      change_marks (attempt, disturb, random);
      before = score_of (lesson, attempt);
      swap_places (attempt->items[EF_ITEM_MARK], random);
      swap_places (attempt->items[EF_ITEM_READING], random);
      swap_places (attempt->items[EF_ITEM_OVERRIDE], random);
      g_assert_cmpfloat (fabs (score_of (lesson, attempt) - before), <, 1e-9);
    }
}

static void
shift (EfMark *mark,
       gpointer data)
{
  const double *by = data;

  ef_mark_translate (mark, by[0], by[1]);
}

static void
test_shift (void)
{
  g_autoptr (EfLesson) lesson = lesson_to_measure ();
  GRand *random = fixed_random ();

  for (guint round = 0; round < ROUNDS; round++)
    {
      g_autoptr (EfInspection) attempt = perfect (lesson);
      double angle = g_rand_double_range (random, 0, 2 * G_PI), length = g_rand_double_range (random, 0, 0.95) * lesson->terms.tolerance.place;
      double by[] = { length * cos (angle), length * sin (angle) };

      change_marks (attempt, shift, by);
      g_assert_cmpfloat (fabs (score_of (lesson, attempt) - 1), <, 1e-9);
    }
}

static void
scale_depths (EfMark *mark,
              gpointer data)
{
  for (guint i = 0; i < mark->depths->len; i++)
    g_array_index (mark->depths, EfMarkDepth, i).depth *= *(double *) data;
}

static void
scale_size (EfMark *mark,
            gpointer data)
{
  mark->size *= *(double *) data;
}

/* Further off in place, depth, size, a reading, or what a decision costs: never better. */
static void
test_monotone (void)
{
  g_autoptr (EfLesson) lesson = lesson_to_measure ();
  double last[4] = { 1, 1, 1, 1 };

  for (guint step = 0; step <= 10; step++)
    {
      double by[] = { step * 0.7 * MM, step * 0.4 * MM }, factor = 1 + 0.2 * step, wider = 1 + 0.4 * step;
      g_autoptr (EfInspection) moved = perfect (lesson);
      g_autoptr (EfInspection) deeper = perfect (lesson);
      g_autoptr (EfInspection) larger = perfect (lesson);
      g_autoptr (EfInspection) misread = perfect (lesson);
      const EfInspection *all[] = { moved, deeper, larger, misread };

      change_marks (moved, shift, by);
      change_marks (deeper, scale_depths, &factor);
      change_marks (larger, scale_size, &wider);
      for (guint i = 0; i < misread->items[EF_ITEM_READING]->len; i++)
        {
          EfReading *copy = ef_item_copy (misread->items[EF_ITEM_READING]->pdata[i]);

          copy->value += step * 3e-6;
          ef_item_unref (misread->items[EF_ITEM_READING]->pdata[i]);
          misread->items[EF_ITEM_READING]->pdata[i] = copy;
        }
      for (guint k = 0; k < G_N_ELEMENTS (all); k++)
        {
          double score = score_of (lesson, all[k]);

          g_assert_cmpfloat (score, <=, last[k] + 1e-6); /* what nearness may decide */
          last[k] = score;
        }
    }
  for (guint k = 0; k < G_N_ELEMENTS (last); k++)
    g_assert_cmpfloat (last[k], <, 0.99);
}

/* A decision by each word: dearer is never better; missing a scrapped part is worse than scrapping a good one. */
static void
test_decisions (void)
{
  g_autoptr (EfLesson) lesson = lesson_to_measure ();
  const char *part = ((EfLessonVerdict *) lesson->verdicts->pdata[0])->part;
  double score[EF_N_VERDICTS][EF_N_VERDICTS];

  for (int right = 0; right < EF_N_VERDICTS; right++)
    for (int said = 0; said < EF_N_VERDICTS; said++)
      {
        g_autoptr (EfInspection) attempt = NULL;

        ef_lesson_verdict (lesson, part)->verdict = (EfVerdictWord) right;
        attempt = perfect (lesson);
        decide (attempt, part, (EfVerdictWord) said);
        score[right][said] = score_of (lesson, attempt);
      }
  for (int right = 0; right < EF_N_VERDICTS; right++)
    for (int a = 0; a < EF_N_VERDICTS; a++)
      for (int b = 0; b < EF_N_VERDICTS; b++)
        if (ef_score_verdict_cost (right, a) < ef_score_verdict_cost (right, b))
          g_assert_cmpfloat (score[right][a], >, score[right][b]);
  g_assert_cmpfloat (score[EF_VERDICT_SCRAP][EF_VERDICT_USE], <, score[EF_VERDICT_USE][EF_VERDICT_SCRAP]);
}

/* With a verdict tolerance of 0.1 "measure again" passes for "use again", and no other. */
static void
test_verdict_tolerance (void)
{
  g_autoptr (EfLesson) lesson = lesson_to_measure ();
  const char *part = ((EfLessonVerdict *) lesson->verdicts->pdata[0])->part;
  g_autoptr (EfInspection) attempt = NULL;

  ef_lesson_verdict (lesson, part)->verdict = EF_VERDICT_USE;
  attempt = perfect (lesson);
  decide (attempt, part, EF_VERDICT_MEASURE);
  g_assert_cmpfloat (score_of (lesson, attempt), <, 1 - 1e-6);
  lesson->terms.verdict_tolerance = 0.1;
  g_assert_cmpfloat (fabs (score_of (lesson, attempt) - 1), <, 1e-12);
  decide (attempt, part, EF_VERDICT_REWORK);
  g_assert_cmpfloat (score_of (lesson, attempt), <, 1 - 1e-6);
}

static gboolean
says (const EfLessonScore *score,
      const char *words)
{
  for (guint i = 0; i < score->mark_rows->len; i++)
    if (strstr (((EfLessonMark *) score->mark_rows->pdata[i])->score->sentence, words) != NULL)
      return TRUE;

  return FALSE;
}

static void
test_explained (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autoptr (EfInspection) attempt = perfect (lesson);
  g_autoptr (EfLessonScore) score = NULL;
  EfMark *gone = g_ptr_array_index (attempt->items[EF_ITEM_MARK], 2);
  EfLessonKind counts;

  ef_lesson_set_note (lesson, "m003", "Joins delivery and suction.");
  g_assert_cmpstr (gone->item.id, ==, "m003");
  g_ptr_array_remove_index (attempt->items[EF_ITEM_MARK], 2);
  score = ef_lesson_score_alone (lesson, attempt, NULL, NULL);
  g_assert_cmpuint (score->marks->n_missed, ==, 1);
  counts = score->kinds[EF_MARK_GROOVE];
  g_assert_cmpuint (counts.missed, ==, 1);
  g_assert_cmpuint (counts.found + counts.missed, ==, counts.reference);
  g_assert_true (says (score, "Mark 3, groove on Separator plate, Side A (front): missed."));
  for (guint i = 0; i < score->mark_rows->len; i++)
    {
      const EfLessonMark *row = score->mark_rows->pdata[i];

      if (row->reference != NULL && g_str_equal (row->reference->item.id, "m003"))
        g_assert_cmpstr (row->note, ==, "Joins delivery and suction.");
      if (row->attempt != NULL)
        g_assert_cmpfloat (fabs (row->common - 1), <, 1e-9);
    }
}

static void
remove_faces (EfInspection *attempt)
{
  g_ptr_array_set_size (attempt->items[EF_ITEM_MARK], 0);
}

/* The drive gear's face width (24.99 mm in the demo's file) as read @off expanded uncertainties of the micrometer (0.004 mm) too large. */
static double
worth_of_reading (const EfLesson *lesson,
                  double off,
                  gboolean after,
                  guint *taken_out)
{
  g_autoptr (EfLessonSheet) sheet = ef_lesson_sheet_new (lesson, NULL, NULL);
  EfReading *reading = ef_reading_new (EF_READ_FACE_WIDTH, "pressure-drive-gear", NULL, 24.99e-3 + off * 4e-6, EF_UNIT_MM, "mic");
  g_autoptr (EfItem) item = &reading->item;
  g_autoptr (EfLessonScore) score = NULL;
  g_autoptr (GError) error = NULL;
  double worth = NAN;

  reading->after = after;
  g_assert_true (ef_inspection_swap (sheet->bench, NULL, item, &error));
  score = ef_lesson_score_alone (lesson, sheet->bench, NULL, &error);
  g_assert_no_error (error);
  for (guint i = 0; i < score->readings->len; i++)
    {
      const EfLessonReading *row = score->readings->pdata[i];

      if (row->quantity != EF_READ_FACE_WIDTH || !g_str_equal (row->target, "pressure-drive-gear"))
        continue;
      worth = row->score;
      *taken_out = row->taken;
    }

  return worth;
}

/* Right within 1.5 U of the gauge, worth nothing from 4 U on, half way between half; what was read after the rework isn't of the pump as found. */
static void
test_readings (void)
{
  g_autoptr (EfLesson) lesson = lesson_to_measure ();
  guint taken = 0;

  g_assert_cmpfloat (fabs (worth_of_reading (lesson, 1.4, FALSE, &taken) - 1), <, 1e-9);
  g_assert_cmpuint (taken, ==, 1);
  g_assert_cmpfloat (fabs (worth_of_reading (lesson, -2.75, FALSE, &taken) - 0.5), <, 1e-6);
  g_assert_cmpfloat (worth_of_reading (lesson, 4.01, FALSE, &taken), ==, 0);
  g_assert_cmpuint (taken, ==, 1);
  g_assert_cmpfloat (worth_of_reading (lesson, 0, TRUE, &taken), ==, 0);
  g_assert_cmpuint (taken, ==, 0);
}

/* A perfect copy explains the same pressure; no marks at all explain less of what is lost; putting the pump back as it is delivers what it was found with, and the reference's
 * decisions more. */
static void
test_pressure (void)
{
  g_autoptr (EfLesson) lesson = fixture_lesson ();
  g_autoptr (EfInspection) copy = perfect (lesson);
  g_autoptr (EfInspection) blind = perfect (lesson);
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  g_autoptr (GError) error = NULL;
  g_autoptr (EfLessonScore) right = ef_lesson_score (lesson, copy, NULL, cache, NULL, &error);
  g_autoptr (EfLessonScore) wrong = NULL;

  g_assert_no_error (error);
  g_assert_cmpfloat (fabs (right->pressure_attempt / right->pressure_reference - 1), <, 1e-6);
  g_assert_cmpfloat (fabs (right->pressure_decided / right->pressure_right - 1), <, 1e-6);
  g_assert_cmpfloat (right->pressure_right, >, 1.1 * right->pressure_reference);
  g_assert_cmpfloat (right->pressure_new, >, right->pressure_reference);

  remove_faces (blind);
  for (guint i = 0; i < lesson->verdicts->len; i++)
    decide (blind, ((EfLessonVerdict *) lesson->verdicts->pdata[i])->part, EF_VERDICT_USE);
  wrong = ef_lesson_score (lesson, blind, NULL, cache, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpfloat (wrong->pressure_attempt, >, 1.02 * wrong->pressure_reference);
  g_assert_cmpfloat (fabs (wrong->pressure_decided / wrong->pressure_reference - 1), <, 5e-3);
  g_assert_cmpfloat (wrong->score, <, right->score);
  g_assert_nonnull (wrong->pressure_decided_text);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/lesson-score/perfect", test_perfect);
  g_test_add_func ("/lesson-score/empty", test_empty);
  g_test_add_func ("/lesson-score/order", test_order);
  g_test_add_func ("/lesson-score/shift-within-tolerance", test_shift);
  g_test_add_func ("/lesson-score/monotone", test_monotone);
  g_test_add_func ("/lesson-score/decisions", test_decisions);
  g_test_add_func ("/lesson-score/verdict-tolerance", test_verdict_tolerance);
  g_test_add_func ("/lesson-score/explained", test_explained);
  g_test_add_func ("/lesson-score/readings", test_readings);
  g_test_add_func ("/lesson-score/pressure", test_pressure);

  return g_test_run ();
}
