/* Marks, decisions and readings, counted together.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-lesson-score-private.h"

#include "ef-lesson-sheet.h"

#include <math.h>

#define MARKS_WEIGHT 5.0
#define DECISIONS_WEIGHT 4.0
#define READINGS_WEIGHT 1.0
#define READING_ALLOWED 1.5 /* expanded uncertainties that a reading may be off */
#define READING_NOTHING 4.0 /* off by so many, it's worth nothing */
#define LEAST_U 1e-6        /* m: a gauge whose uncertainty isn't known */

static void
mark_row_free (gpointer data)
{
  EfLessonMark *row = data;

  g_clear_pointer ((EfItem **) &row->reference, ef_item_unref);
  g_clear_pointer ((EfItem **) &row->attempt, ef_item_unref);
  g_free (row->note);
  g_free (row);
}

static void
decision_free (gpointer data)
{
  EfLessonDecision *decision = data;

  g_free (decision->part);
  g_free (decision->title);
  g_free (decision->sentence);
  g_free (decision->reason);
  g_free (decision->note);
  g_free (decision);
}

static void
reading_free (gpointer data)
{
  EfLessonReading *reading = data;

  g_free (reading->target);
  g_free (reading->place);
  g_free (reading->sentence);
  g_free (reading);
}

void
ef_lesson_score_free (EfLessonScore *score)
{
  if (score == NULL)
    return;

  g_ptr_array_unref (score->mark_rows);
  ef_marks_score_free (score->marks);
  g_ptr_array_unref (score->decisions);
  g_ptr_array_unref (score->readings);
  g_ptr_array_unref (score->remarks);
  g_free (score->pressure_found_text);
  g_free (score->pressure_decided_text);
  g_free (score);
}

/* Marks */

/* Of the gauge behind the mark's deepest depth, m; NAN. */
static double
gauge_uncertainty (const EfMark *mark,
                   const EfInspection *inspection)
{
  const EfMarkDepth *deepest = NULL;
  const EfGauge *gauge;

  for (guint i = 0; i < mark->depths->len; i++)
    {
      const EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);

      if (deepest == NULL || depth->depth > deepest->depth)
        deepest = depth;
    }
  gauge = deepest != NULL && deepest->gauge_id != NULL ? ef_inspection_find (inspection, EF_ITEM_GAUGE, deepest->gauge_id) : NULL;

  return gauge != NULL && gauge->uncertainty > 0 ? gauge->uncertainty : NAN;
}

static void
count_kind (EfLessonKind *kinds,
            const EfLessonMark *row)
{
  EfLessonKind *kind = &kinds[row->reference != NULL ? row->reference->kind : row->attempt->kind];

  if (row->reference == NULL)
    {
      kind->wrongly_seen++;
      return;
    }
  kind->reference++;
  if (row->attempt == NULL)
    kind->missed++;
  else if (row->score->pair.same_kind)
    kind->found++;
  else
    kind->wrong_kind++;
}

/* Sentences of single marks name the face by its id; people know it by its name. */
static void
name_face (EfMarkScore *score,
           const EfMark *mark,
           const EfPumpSheet *sheet)
{
  g_autofree char *title = ef_lesson_face_title (sheet, mark->face_id);
  g_autoptr (GString) sentence = g_string_new (score->sentence);

  g_string_replace (sentence, mark->face_id, title, 1);
  g_free (score->sentence);
  score->sentence = g_strdup (sentence->str);
}

static gboolean
add_mark_rows (EfLessonScore *score,
               const EfLesson *lesson,
               const GPtrArray *reference,
               const GPtrArray *attempt,
               const EfInspection *inspection,
               GError **error)
{
  for (guint i = 0; i < score->marks->marks->len; i++)
    {
      EfLessonMark *row = g_new0 (EfLessonMark, 1);

      g_ptr_array_add (score->mark_rows, row);
      row->score = score->marks->marks->pdata[i];
      row->common = row->depth_error_in_u = NAN;
      if (row->score->pair.reference >= 0)
        {
          row->reference = ef_item_ref (reference->pdata[row->score->pair.reference]);
          row->note = g_strdup (ef_lesson_note (lesson, row->reference->item.id));
        }
      if (row->score->pair.attempt >= 0)
        row->attempt = ef_item_ref (attempt->pdata[row->score->pair.attempt]);
      count_kind (score->kinds, row);
      if (row->reference == NULL || row->attempt == NULL)
        {
          name_face (score->marks->marks->pdata[i], row->reference != NULL ? row->reference : row->attempt, lesson->reference->sheet);
          continue;
        }
      if (!ef_mark_common (row->reference, row->attempt, &row->common, error))
        return FALSE;
      row->depth_error_in_u = row->score->depth_error / gauge_uncertainty (row->attempt, inspection);
    }

  return TRUE;
}

/* Decisions */

static double
worst_cost (EfVerdictWord right)
{
  double worst = 0;

  for (int word = 0; word < EF_N_VERDICTS; word++)
    worst = fmax (worst, ef_score_verdict_cost (right, word));

  return worst;
}

static char *
say_decision (const EfLessonDecision *decision)
{
  g_autofree char *right = g_ascii_strdown (ef_verdict_label (decision->right), -1);
  g_autofree char *said = g_ascii_strdown (ef_verdict_label (decision->said), -1);

  if (!decision->decided)
    return g_strdup_printf ("%s: nothing was decided; the reference says %s.", decision->title, right);
  if (decision->right == decision->said)
    return g_strdup_printf ("%s: %s, as in the reference.", decision->title, said);
  if (decision->agrees)
    return g_strdup_printf ("%s: %s where the reference says %s, which this lesson accepts.", decision->title, said, right);
  if (decision->right == EF_VERDICT_SCRAP)
    return g_strdup_printf ("%s: %s where the reference says scrap: a worn-out part would have %s.", decision->title, said,
                            decision->said == EF_VERDICT_USE ? "gone back into the pump" : "been worked on for nothing");
  if (decision->said == EF_VERDICT_SCRAP)
    return g_strdup_printf ("%s: scrap where the reference says %s: a part that is still good for something would have been thrown away.", decision->title, right);
  if (decision->said == EF_VERDICT_MEASURE)
    return g_strdup_printf ("%s: measure again, though the readings are enough to say %s.", decision->title, right);

  return g_strdup_printf ("%s: %s where the reference says %s.", decision->title, said, right);
}

gboolean
ef_lesson_decided (const EfInspection *attempt,
                   const char *part,
                   EfVerdictWord *word_out,
                   const char **reason_out)
{
  g_autofree char *id = g_strconcat ("part:", part, NULL);
  const EfOverride *override = ef_inspection_find (attempt, EF_ITEM_OVERRIDE, id);

  if (override == NULL || !ef_verdict_from_name (override->verdict, word_out))
    return FALSE;
  if (reason_out != NULL)
    *reason_out = override->reason;

  return TRUE;
}

static void
add_decisions (EfLessonScore *score,
               const EfLesson *lesson,
               const EfInspection *attempt)
{
  double costs = 0, worst = 0;

  for (guint i = 0; i < lesson->verdicts->len; i++)
    {
      const EfLessonVerdict *verdict = lesson->verdicts->pdata[i];
      const EfPart *part = ef_pump_sheet_part (lesson->reference->sheet, verdict->part);
      EfLessonDecision *decision = g_new0 (EfLessonDecision, 1);
      const char *reason = NULL;

      decision->part = g_strdup (verdict->part);
      decision->title = g_strdup (part != NULL ? part->name : verdict->part);
      decision->right = verdict->verdict;
      decision->worst = worst_cost (verdict->verdict);
      decision->decided = ef_lesson_decided (attempt, verdict->part, &decision->said, &reason);
      decision->cost = decision->decided ? ef_score_verdict_cost (decision->right, decision->said) : decision->worst;
      decision->agrees = decision->decided && decision->cost <= lesson->terms.verdict_tolerance;
      if (decision->agrees)
        decision->cost = 0;
      decision->reason = g_strdup (reason);
      decision->note = g_strdup (verdict->note);
      decision->sentence = say_decision (decision);
      costs += decision->cost;
      worst += decision->worst;
      g_ptr_array_add (score->decisions, decision);
    }
  score->decisions_score = worst > 0 ? 1 - costs / worst : 1;
}

/* Readings */

static EfLessonReading *
reading_row (EfLessonScore *score,
             const EfLessonPlace *place)
{
  EfLessonReading *row;

  for (guint i = 0; i < score->readings->len; i++)
    {
      row = score->readings->pdata[i];
      if (row->quantity == place->quantity && g_strcmp0 (row->target, place->target) == 0 && g_strcmp0 (row->place, place->place) == 0)
        return row;
    }
  row = g_new0 (EfLessonReading, 1);
  row->quantity = place->quantity;
  row->target = g_strdup (place->target);
  row->place = g_strdup (place->place);
  row->error = row->error_in_u = NAN;
  g_ptr_array_add (score->readings, row);

  return row;
}

static double
reading_worth (double error_in_u)
{
  double off = fabs (error_in_u);

  return CLAMP ((READING_NOTHING - off) / (READING_NOTHING - READING_ALLOWED), 0, 1);
}

/* The mean of what was read there, against the truth. */
static void
add_place (EfLessonReading *row,
           const EfLessonTruth *truth,
           double sum,
           guint n,
           double uncertainty)
{
  double error;

  row->asked++;
  if (n == 0)
    return;
  error = sum / n - truth->value;
  row->taken++;
  if (isnan (row->error) || fabs (error) > fabs (row->error))
    {
      row->error = error;
      row->error_in_u = error / uncertainty;
    }
  row->score += reading_worth (error / uncertainty);
}

static char *
say_reading (const EfLessonReading *row,
             const EfPumpSheet *sheet)
{
  g_autofree char *target = ef_lesson_target_title (sheet, row->target);
  g_autofree char *what = g_strdup_printf ("%s, %s%s%s", ef_quantity_label (row->quantity), target,
                                           row->place != NULL ? " " : "", row->place != NULL ? row->place : "");

  if (row->taken == 0)
    return g_strdup_printf ("%s: not measured.", what);
  if (row->taken < row->asked)
    return g_strdup_printf ("%s: measured at %u of %u places; farthest off by %+.3f mm (%.1f of its gauge's uncertainty).", what, row->taken, row->asked,
                            row->error * 1e3, fabs (row->error_in_u));

  return g_strdup_printf ("%s: off by %+.3f mm at most (%.1f of its gauge's uncertainty).", what, row->error * 1e3, fabs (row->error_in_u));
}

typedef struct
{
  double sum, uncertainty;
  guint n;
} Taken;

static Taken *
taken_at (const GPtrArray *truth,
          const EfInspection *attempt)
{
  Taken *taken = g_new0 (Taken, truth->len + 1);
  const GPtrArray *readings = attempt->items[EF_ITEM_READING];

  for (guint i = 0; i < readings->len; i++)
    {
      const EfReading *reading = readings->pdata[i];
      int at = reading->after ? -1 : ef_lesson_truth_find (truth, reading);
      const EfGauge *gauge = reading->gauge_id != NULL ? ef_inspection_find (attempt, EF_ITEM_GAUGE, reading->gauge_id) : NULL;

      if (at < 0)
        continue;
      taken[at].sum += reading->value;
      taken[at].n++;
      taken[at].uncertainty = fmax (taken[at].uncertainty, gauge != NULL && gauge->uncertainty > 0 ? gauge->uncertainty : LEAST_U);
    }

  return taken;
}

static void
add_readings (EfLessonScore *score,
              const EfLesson *lesson,
              const EfInspection *attempt)
{
  g_autoptr (GPtrArray) truth = ef_lesson_truth (lesson);
  g_autofree Taken *taken = taken_at (truth, attempt);
  double sum = 0;

  for (guint i = 0; i < truth->len; i++)
    {
      const EfLessonTruth *one = truth->pdata[i];

      add_place (reading_row (score, &one->place), one, taken[i].sum, taken[i].n, taken[i].uncertainty);
    }
  for (guint i = 0; i < score->readings->len; i++)
    {
      EfLessonReading *row = score->readings->pdata[i];

      row->score /= row->asked;
      row->sentence = say_reading (row, lesson->reference->sheet);
      sum += row->score;
    }
  score->readings_score = score->readings->len > 0 ? sum / score->readings->len : NAN;
}

/* The dearest mistake first. */
static void
add_remarks (EfLessonScore *score)
{
  const EfLessonDecision *dearest = NULL;

  for (guint i = 0; i < score->decisions->len; i++)
    {
      const EfLessonDecision *decision = score->decisions->pdata[i];

      if (decision->cost > 0 && (dearest == NULL || decision->cost > dearest->cost))
        dearest = decision;
    }
  if (dearest != NULL)
    g_ptr_array_add (score->remarks, g_strdup_printf ("The dearest mistake: %s", dearest->sentence));
  for (int kind = 0; kind < EF_N_MARK_KINDS; kind++)
    if (score->kinds[kind].missed > 0)
      {
        g_autofree char *name = g_ascii_strdown (ef_mark_kind_label (kind), -1);

        g_ptr_array_add (score->remarks, g_strdup_printf ("Look for %s again: %u of %u missed.", name, score->kinds[kind].missed, score->kinds[kind].reference));
      }
}

EfLessonScore *
ef_lesson_score_alone (const EfLesson *lesson,
                       const EfInspection *attempt,
                       const EfVerdict *verdict,
                       GError **error)
{
  g_autoptr (GPtrArray) reference = ef_lesson_marks (lesson);
  g_autoptr (GPtrArray) marks = ef_lesson_marks_of (&lesson->terms, attempt);
  g_autoptr (EfMarksScore) marks_score = ef_score_marks (reference, marks, verdict, &lesson->terms.tolerance, error);
  g_autoptr (EfLessonScore) score = NULL;
  double weights = MARKS_WEIGHT, sum;

  if (marks_score == NULL)
    return NULL;
  score = g_new0 (EfLessonScore, 1);
  score->mark_rows = g_ptr_array_new_with_free_func (mark_row_free);
  score->decisions = g_ptr_array_new_with_free_func (decision_free);
  score->readings = g_ptr_array_new_with_free_func (reading_free);
  score->remarks = g_ptr_array_new_with_free_func (g_free);
  score->pressure_new = score->pressure_reference = score->pressure_attempt = score->pressure_right = score->pressure_decided = NAN;
  score->marks = g_steal_pointer (&marks_score);
  if (!add_mark_rows (score, lesson, reference, marks, attempt, error))
    return NULL;
  add_decisions (score, lesson, attempt);
  add_readings (score, lesson, attempt);
  add_remarks (score);
  sum = MARKS_WEIGHT * score->marks->score;
  if (score->decisions->len > 0)
    {
      sum += DECISIONS_WEIGHT * score->decisions_score;
      weights += DECISIONS_WEIGHT;
    }
  if (!isnan (score->readings_score))
    {
      sum += READINGS_WEIGHT * score->readings_score;
      weights += READINGS_WEIGHT;
    }
  score->score = sum / weights;

  return g_steal_pointer (&score);
}

EfLessonScore *
ef_lesson_score (const EfLesson *lesson,
                 const EfInspection *attempt,
                 const EfRuleSet *rules,
                 EfAssessCache *cache,
                 GCancellable *cancellable,
                 GError **error)
{
  return ef_lesson_score_telling (lesson, attempt, rules, cache, NULL, NULL, cancellable, error);
}

EfLessonScore *
ef_lesson_score_telling (const EfLesson *lesson,
                         const EfInspection *attempt,
                         const EfRuleSet *rules,
                         EfAssessCache *cache,
                         EfLessonProgress progress,
                         gpointer user_data,
                         GCancellable *cancellable,
                         GError **error)
{
  g_autoptr (EfRuleSet) shipped = rules == NULL ? ef_rule_set_default (error) : NULL;
  const EfRuleSet *used = rules != NULL ? rules : shipped;
  g_autoptr (EfAssessCache) own = cache == NULL ? ef_assess_cache_new () : NULL;
  EfLessonFlow flow = { .lesson = lesson, .attempt = attempt, .rules = used, .cache = cache != NULL ? cache : own, .cancellable = cancellable, .progress = progress, .user_data = user_data };
  g_autoptr (EfAssessment) reference = used != NULL ? ef_assess_in_detail (lesson->reference, used, flow.cache, EF_DETAIL_FINE, cancellable, error) : NULL;
  g_autoptr (EfLessonScore) score = reference != NULL ? ef_lesson_score_alone (lesson, attempt, reference->verdict, error) : NULL;

  if (score == NULL)
    return NULL;
  flow.reference = reference;
  ef_lesson_flow_tell (&flow, 0.4);

  return ef_lesson_flow (&flow, score, error) ? g_steal_pointer (&score) : NULL;
}
