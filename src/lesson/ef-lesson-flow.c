/* What an attempt would have meant in oil pressure.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Two questions, each answered by the flow solve on the reference's pump. What pressure do the attempt's marks (and readings, where some were asked) explain, all else
 * being the reference's? And with what pressure does the pump go back as it was decided: parts to scrap are replaced by new ones; parts to rework are lapped as the
 * reference's plan has it, or until their marks are gone where it has none; all others stay as they are. The end clearance comes right only where every part that the plan
 * laps in the section is reworked or replaced.
 */
#include "ef-lesson-private.h"
#include "ef-lesson-score-private.h"
#include "ef-lesson-sheet.h"

#include "../assess/ef-assess-cache.h"
#include "../assess/ef-flow-input.h"

#include <math.h>
#include <string.h>

static double
idle_pressure (const EfFlowResult *flow,
               EfPumpState state)
{
  return flow != NULL && flow->state[state].known ? flow->state[state].idle.pressure : NAN;
}

/* What the readings asked for say, by the attempt where it has any of that quantity, target and place. */
static gboolean
attempt_has (const EfInspection *attempt,
             const EfReading *like)
{
  const GPtrArray *readings = attempt->items[EF_ITEM_READING];

  for (guint i = 0; i < readings->len; i++)
    {
      const EfReading *reading = readings->pdata[i];

      if (!reading->after && reading->quantity == like->quantity && g_strcmp0 (reading->target, like->target) == 0 && g_strcmp0 (reading->place, like->place) == 0)
        return TRUE;
    }

  return FALSE;
}

static GPtrArray *
mixed_readings (const EfLessonFlow *flow)
{
  GPtrArray *mixed = g_ptr_array_new_with_free_func (ef_item_unref);
  const GPtrArray *theirs = flow->lesson->reference->items[EF_ITEM_READING];
  const GPtrArray *own = flow->attempt->items[EF_ITEM_READING];
  g_autoptr (GHashTable) ids = g_hash_table_new (g_str_hash, g_str_equal);

  for (guint i = 0; i < theirs->len; i++)
    {
      const EfReading *reading = theirs->pdata[i];
      gboolean asked = g_strv_contains ((const char *const *) flow->lesson->terms.measure, ef_quantity_name (reading->quantity));

      if (asked && attempt_has (flow->attempt, reading))
        continue;
      g_ptr_array_add (mixed, ef_item_ref (theirs->pdata[i]));
      g_hash_table_add (ids, reading->item.id);
    }
  for (guint i = 0; i < own->len; i++)
    {
      const EfReading *reading = own->pdata[i];

      if (!g_hash_table_contains (ids, reading->item.id)
          && g_strv_contains ((const char *const *) flow->lesson->terms.measure, ef_quantity_name (reading->quantity)))
        g_ptr_array_add (mixed, ef_item_ref (own->pdata[i]));
    }

  return mixed;
}

/* The attempt's marks on the given faces, the reference's on all others. */
static GPtrArray *
mixed_marks (const EfLessonFlow *flow)
{
  const EfLessonTerms *terms = &flow->lesson->terms;
  GPtrArray *mixed = ef_lesson_marks_of (terms, flow->attempt);
  const GPtrArray *theirs = flow->lesson->reference->items[EF_ITEM_MARK];
  g_autoptr (GHashTable) ids = g_hash_table_new (g_str_hash, g_str_equal);

  for (guint i = 0; i < mixed->len; i++)
    g_hash_table_add (ids, ((EfItem *) mixed->pdata[i])->id);
  for (guint i = 0; i < theirs->len; i++)
    if (!g_strv_contains ((const char *const *) terms->faces, ((EfMark *) theirs->pdata[i])->face_id) && !g_hash_table_contains (ids, ((EfItem *) theirs->pdata[i])->id))
      g_ptr_array_add (mixed, ef_item_ref (theirs->pdata[i]));

  return mixed;
}

static GPtrArray *
all_gauges (const EfLessonFlow *flow)
{
  GPtrArray *gauges = g_ptr_array_new_with_free_func (ef_item_unref);
  const GPtrArray *theirs = flow->lesson->reference->items[EF_ITEM_GAUGE], *own = flow->attempt->items[EF_ITEM_GAUGE];

  for (guint i = 0; i < theirs->len; i++)
    g_ptr_array_add (gauges, ef_item_ref (theirs->pdata[i]));
  for (guint i = 0; i < own->len; i++)
    if (ef_inspection_find (flow->lesson->reference, EF_ITEM_GAUGE, ((EfItem *) own->pdata[i])->id) == NULL)
      g_ptr_array_add (gauges, ef_item_ref (own->pdata[i]));

  return gauges;
}

static EfInspection *
put_together (const EfInspection *like,
              GPtrArray *gauges,
              GPtrArray *marks,
              GPtrArray *readings,
              GError **error)
{
  g_autoptr (EfInspection) mixed = ef_inspection_new (like->sheet, NULL);
  g_autoptr (GPtrArray) headers = g_ptr_array_new_with_free_func (ef_item_unref);

  g_ptr_array_add (headers, ef_item_ref ((gpointer) ef_inspection_header (like)));
  if (!ef_inspection_fill (mixed, EF_ITEM_HEADER, headers, error) || !ef_inspection_fill (mixed, EF_ITEM_GAUGE, gauges, error)
      || !ef_inspection_fill (mixed, EF_ITEM_MARK, marks, error) || !ef_inspection_fill (mixed, EF_ITEM_READING, readings, error))
    return NULL;

  return g_steal_pointer (&mixed);
}

static gboolean
found_pressure (const EfLessonFlow *flow,
                double *pressure_out,
                GError **error)
{
  g_autoptr (GPtrArray) gauges = all_gauges (flow);
  g_autoptr (GPtrArray) marks = mixed_marks (flow);
  g_autoptr (GPtrArray) readings = mixed_readings (flow);
  g_autoptr (EfInspection) mixed = put_together (flow->lesson->reference, gauges, marks, readings, error);
  g_autoptr (EfAssessment) assessment = mixed != NULL ? ef_assess_in_detail (mixed, flow->rules, flow->cache, EF_DETAIL_FINE, flow->cancellable, error) : NULL;

  if (assessment == NULL)
    return FALSE;
  *pressure_out = idle_pressure (assessment->flow, EF_STATE_FOUND);

  return TRUE;
}

/* Decisions carried out */

typedef EfVerdictWord (*WordOf) (const EfLessonFlow *flow, const EfLessonVerdict *verdict);

static EfVerdictWord
word_right (const EfLessonFlow *flow,
            const EfLessonVerdict *verdict)
{
  return verdict->verdict;
}

static EfVerdictWord
word_said (const EfLessonFlow *flow,
           const EfLessonVerdict *verdict)
{
  EfVerdictWord word;

  return ef_lesson_decided (flow->attempt, verdict->part, &word, NULL) ? word : EF_VERDICT_MEASURE;
}

/* Parts that the lesson doesn't ask about are treated as the reference's plan treats them. */
static gboolean
word_of_part (const EfLessonFlow *flow,
              WordOf word_of,
              const char *part,
              EfVerdictWord *word_out)
{
  const EfLessonVerdict *verdict = ef_lesson_verdict (flow->lesson, part);

  if (verdict != NULL)
    *word_out = word_of (flow, verdict);

  return verdict != NULL;
}

static gboolean
is_replaced (const EfLessonFlow *flow,
             WordOf word_of,
             const char *part)
{
  EfVerdictWord word;

  return word_of_part (flow, word_of, part, &word) && word == EF_VERDICT_SCRAP;
}

/* A reading that is of a part that isn't there any more. */
static gboolean
reading_gone (const EfLessonFlow *flow,
              WordOf word_of,
              const EfReading *reading)
{
  const EfPumpSheet *sheet = flow->lesson->reference->sheet;
  g_autofree char *part = ef_lesson_part_of (reading->target);

  if (ef_pump_sheet_part (sheet, part) != NULL)
    return is_replaced (flow, word_of, part);
  for (guint i = 0; i < sheet->sections->len; i++)
    {
      const EfSection *section = sheet->sections->pdata[i];
      int gear = g_strcmp0 (reading->place, "driven") == 0;

      if (!g_str_equal (section->id, reading->target))
        continue;
      if (is_replaced (flow, word_of, section->pocket_part))
        return TRUE;
      if (reading->quantity != EF_READ_POCKET_DEPTH && is_replaced (flow, word_of, section->gear_part[gear]))
        return TRUE;
    }

  return FALSE;
}

static EfInspection *
without_replaced (const EfLessonFlow *flow,
                  WordOf word_of,
                  GError **error)
{
  const EfInspection *reference = flow->lesson->reference;
  g_autoptr (GPtrArray) marks = g_ptr_array_new_with_free_func (ef_item_unref);
  g_autoptr (GPtrArray) readings = g_ptr_array_new_with_free_func (ef_item_unref);

  for (guint i = 0; i < reference->items[EF_ITEM_MARK]->len; i++)
    {
      EfMark *mark = reference->items[EF_ITEM_MARK]->pdata[i];
      g_autofree char *part = ef_lesson_part_of (mark->face_id);

      if (!is_replaced (flow, word_of, part))
        g_ptr_array_add (marks, ef_item_ref (mark));
    }
  for (guint i = 0; i < reference->items[EF_ITEM_READING]->len; i++)
    {
      EfReading *reading = reference->items[EF_ITEM_READING]->pdata[i];

      if (!reading->after && !reading_gone (flow, word_of, reading))
        g_ptr_array_add (readings, ef_item_ref (reading));
    }

  return put_together (reference, reference->items[EF_ITEM_GAUGE], marks, readings, error);
}

static void
set_stock (GHashTable *stock,
           const char *face,
           double off)
{
  double *kept = g_new (double, 1);

  *kept = off;
  g_hash_table_insert (stock, g_strdup (face), kept);
}

/* What comes off each face, and whether all that the plan laps is dealt with. */
static GHashTable *
stock_decided (const EfLessonFlow *flow,
               WordOf word_of,
               const EfFindings *findings,
               gboolean *whole_out)
{
  g_autoptr (GHashTable) plan = ef_after_stock (flow->lesson->reference, flow->reference->steps);
  GHashTable *stock = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  g_auto (GStrv) faces = ef_face_ids (flow->lesson->reference->sheet);

  *whole_out = TRUE;
  for (guint i = 0; faces[i] != NULL; i++)
    {
      const double *planned = plan != NULL ? g_hash_table_lookup (plan, faces[i]) : NULL;
      const EfDepthMap *map = g_hash_table_lookup (findings->maps, faces[i]);
      g_autofree char *part = ef_lesson_part_of (faces[i]);
      EfVerdictWord word = EF_VERDICT_REWORK;
      gboolean asked = word_of_part (flow, word_of, part, &word);

      if (word == EF_VERDICT_REWORK && planned != NULL)
        set_stock (stock, faces[i], *planned);
      else if (word == EF_VERDICT_REWORK && asked && map != NULL)
        set_stock (stock, faces[i], map->deepest);
      else if (planned != NULL && *planned > 0 && word != EF_VERDICT_SCRAP)
        *whole_out = FALSE;
    }

  return stock;
}

static gboolean
delivered_pressure (const EfLessonFlow *flow,
                    WordOf word_of,
                    double *pressure_out,
                    GError **error)
{
  g_autoptr (EfInspection) pump = without_replaced (flow, word_of, error);
  g_autoptr (EfAssessment) assessment = pump != NULL ? ef_assess_in_detail (pump, flow->rules, flow->cache, EF_DETAIL_COARSE, flow->cancellable, error) : NULL;
  const EfSection *section = ef_flow_section (flow->lesson->reference->sheet);
  g_autoptr (GHashTable) stock = NULL;
  g_autoptr (EfFlowResult) result = NULL;
  double after[2] = { NAN, NAN };
  gboolean whole;

  *pressure_out = NAN;
  if (assessment == NULL)
    return FALSE;
  stock = stock_decided (flow, word_of, &assessment->findings, &whole);
  if (section != NULL && whole)
    ef_assessment_clearance_after (flow->reference, section, after);
  result = ef_flow_result_new (&assessment->findings, stock, after, EF_DETAIL_FINE, ef_assess_cache_flow (flow->cache), flow->cancellable, error);
  if (result == NULL)
    return FALSE;
  *pressure_out = idle_pressure (result, EF_STATE_REWORKED);

  return TRUE;
}

static void
say_pressures (EfLessonScore *score)
{
  if (!isnan (score->pressure_reference) && !isnan (score->pressure_attempt))
    score->pressure_found_text
        = g_strdup_printf ("By your marking the pump would hold %.2f bar at hot idle; by the reference's it holds %.2f bar (as new %.2f bar).",
                           score->pressure_attempt * 1e-5, score->pressure_reference * 1e-5, score->pressure_new * 1e-5);
  if (!isnan (score->pressure_right) && !isnan (score->pressure_decided))
    score->pressure_decided_text
        = g_strdup_printf ("As you decided, it would have gone back with %.2f bar at hot idle; by the reference's decisions with %.2f bar.",
                           score->pressure_decided * 1e-5, score->pressure_right * 1e-5);
}

void
ef_lesson_flow_tell (const EfLessonFlow *flow,
                     double share)
{
  if (flow->progress != NULL)
    flow->progress (share, flow->user_data);
}

gboolean
ef_lesson_flow (const EfLessonFlow *flow,
                EfLessonScore *score,
                GError **error)
{
  score->pressure_new = idle_pressure (flow->reference->flow, EF_STATE_NEW);
  score->pressure_reference = idle_pressure (flow->reference->flow, EF_STATE_FOUND);
  if (!found_pressure (flow, &score->pressure_attempt, error))
    return FALSE;
  ef_lesson_flow_tell (flow, 0.6);
  if (!delivered_pressure (flow, word_right, &score->pressure_right, error))
    return FALSE;
  ef_lesson_flow_tell (flow, 0.8);
  if (!delivered_pressure (flow, word_said, &score->pressure_decided, error))
    return FALSE;
  ef_lesson_flow_tell (flow, 1);
  say_pressures (score);

  return TRUE;
}
