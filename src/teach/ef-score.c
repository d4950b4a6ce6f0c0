/* Scores.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-score.h"

#include <math.h>

#define KIND_WEIGHT 0.4
#define PLACE_WEIGHT 0.2
#define SIZE_WEIGHT 0.1
#define DEPTH_WEIGHT 0.3
#define NOTHING_LEFT 4.0 /* a depth off by so many tolerances is worth nothing */

static void
mark_score_free (EfMarkScore *score)
{
  g_free (score->sentence);
  g_free (score);
}

void
ef_marks_score_free (EfMarksScore *score)
{
  if (score == NULL)
    return;
  g_ptr_array_unref (score->marks);
  g_free (score);
}

/* 1 within the tolerance, falling to 0 at NOTHING_LEFT tolerances. */
static double
depth_share (const EfMark *reference,
             const EfMark *attempt,
             const EfScoreTolerance *tolerance,
             double *error_out)
{
  double right = ef_mark_deepest (reference), said = ef_mark_deepest (attempt);
  double allowed = fmax (tolerance->depth, tolerance->depth_share * right);

  *error_out = NAN;
  if (isnan (right))
    return 1;
  if (isnan (said))
    return 0;
  *error_out = said - right;
  if (fabs (*error_out) <= allowed)
    return 1;

  return fmax (0, (NOTHING_LEFT * allowed - fabs (*error_out)) / ((NOTHING_LEFT - 1) * allowed));
}

/* 1 within the tolerance, falling to 0 as the one gets ever smaller than the other. */
static double
size_share (const EfMark *reference,
            const EfMark *attempt,
            const EfScoreTolerance *tolerance)
{
  double right = ef_mark_area (reference), said = ef_mark_area (attempt);
  double larger = fmax (right, said), asked = 1 - tolerance->size_share;

  return larger > 0 && asked > 0 ? fmin (1, fmin (right, said) / larger / asked) : 1;
}

static double
weight_of (const EfMark *mark,
           const EfVerdict *verdict)
{
  static const double weights[EF_N_VERDICTS] = { [EF_VERDICT_USE] = 1, [EF_VERDICT_MEASURE] = 2, [EF_VERDICT_REWORK] = 2, [EF_VERDICT_SCRAP] = 3 };
  g_autofree char *id = g_strconcat ("mark:", mark->item.id, NULL);
  const EfVerdict *node = verdict != NULL ? ef_verdict_find (verdict, id) : NULL;

  return node != NULL ? weights[node->word] : 1;
}

static char *
lower (const char *label)
{
  return g_ascii_strdown (label, -1);
}

static char *
say_pair (const EfMark *reference,
          const EfMark *attempt,
          const EfMarkScore *score)
{
  g_autofree char *right = lower (ef_mark_kind_label (reference->kind));
  g_autofree char *said = lower (ef_mark_kind_label (attempt->kind));
  GString *text = g_string_new (NULL);

  if (score->pair.same_kind)
    g_string_append_printf (text, "Mark %d, %s: found.", reference->number, right);
  else
    g_string_append_printf (text, "Mark %d, %s: marked as %s.", reference->number, right, said);
  if (score->place < 1)
    g_string_append_printf (text, " Its place agrees to %.0f %%.", 100 * score->place);
  if (score->size < 1)
    g_string_append_printf (text, " It's drawn too %s.", ef_mark_area (attempt) > ef_mark_area (reference) ? "large" : "small");
  if (score->depth < 1 && isnan (score->depth_error))
    g_string_append (text, " Its depth wasn't taken.");
  else if (score->depth < 1)
    g_string_append_printf (text, " Its depth is %.3f mm too %s.", fabs (score->depth_error) * 1e3, score->depth_error > 0 ? "deep" : "shallow");

  return g_string_free (text, FALSE);
}

static char *
say_single (const EfMark *mark,
            gboolean missed)
{
  g_autofree char *kind = lower (ef_mark_kind_label (mark->kind));

  return missed ? g_strdup_printf ("Mark %d, %s on %s: missed.", mark->number, kind, mark->face_id)
                : g_strdup_printf ("Marked on %s, but not there: %s.", mark->face_id, kind);
}

static void
weigh_pair (EfMarkScore *score,
            const EfMark *right,
            const EfMark *said,
            double overlap,
            const EfScoreTolerance *tolerance)
{
  score->kind = right->kind == said->kind ? 1 : 0;
  score->place = overlap;
  score->size = size_share (right, said, tolerance);
  score->depth = depth_share (right, said, tolerance, &score->depth_error);
  score->score = KIND_WEIGHT * score->kind + PLACE_WEIGHT * score->place + SIZE_WEIGHT * score->size + DEPTH_WEIGHT * score->depth;
}

typedef struct
{
  const EfVerdict *verdict;
  const EfScoreTolerance *tolerance;
} Weighing;

/* Matched so that the score is the best that the two lists allow: then neither their order nor a closer mark can lessen it. */
static double
pair_worth (const EfMark *reference,
            const EfMark *attempt,
            double overlap,
            gpointer data)
{
  const Weighing *weighing = data;
  EfMarkScore score;

  weigh_pair (&score, reference, attempt, overlap, weighing->tolerance);

  return weight_of (reference, weighing->verdict) * score.score;
}

static EfMarkScore *
score_one (const EfMarkPair *pair,
           const GPtrArray *reference,
           const GPtrArray *attempt,
           const EfVerdict *verdict,
           const EfScoreTolerance *tolerance)
{
  const EfMark *right = pair->reference >= 0 ? g_ptr_array_index (reference, pair->reference) : NULL;
  const EfMark *said = pair->attempt >= 0 ? g_ptr_array_index (attempt, pair->attempt) : NULL;
  EfMarkScore *score = g_new0 (EfMarkScore, 1);

  score->pair = *pair;
  score->depth_error = NAN;
  score->weight = right != NULL ? weight_of (right, verdict) : 1;
  if (right == NULL || said == NULL)
    {
      score->sentence = say_single (right != NULL ? right : said, right != NULL);
      return score;
    }
  weigh_pair (score, right, said, pair->overlap, tolerance);
  score->sentence = say_pair (right, said, score);

  return score;
}

static void
count (EfMarksScore *score,
       const EfMarkPair *pair)
{
  if (pair->reference < 0)
    score->n_false++;
  else if (pair->attempt < 0)
    score->n_missed++;
  else if (pair->same_kind)
    score->n_found++;
  else
    score->n_wrong_kind++;
}

EfMarksScore *
ef_score_marks (const GPtrArray *reference,
                const GPtrArray *attempt,
                const EfVerdict *verdict,
                const EfScoreTolerance *tolerance,
                GError **error)
{
  Weighing weighing = { verdict, tolerance };
  g_autoptr (GArray) pairs = ef_marks_match_by ((EfMark *const *) reference->pdata, reference->len, (EfMark *const *) attempt->pdata, attempt->len,
                                                tolerance->place, tolerance->least, pair_worth, &weighing, error);
  EfMarksScore *score;
  double sum = 0, weights = 0;

  if (pairs == NULL)
    return NULL;

  score = g_new0 (EfMarksScore, 1);
  score->marks = g_ptr_array_new_with_free_func ((GDestroyNotify) mark_score_free);
  for (guint i = 0; i < pairs->len; i++)
    {
      const EfMarkPair *pair = &g_array_index (pairs, EfMarkPair, i);
      EfMarkScore *one = score_one (pair, reference, attempt, verdict, tolerance);

      g_ptr_array_add (score->marks, one);
      count (score, pair);
      sum += one->weight * one->score;
      weights += one->weight;
    }
  score->score = weights > 0 ? sum / weights : 1;

  return score;
}

double
ef_score_verdict_cost (EfVerdictWord reference,
                       EfVerdictWord attempt)
{
  static const double cost[EF_N_VERDICTS][EF_N_VERDICTS] = {
    [EF_VERDICT_USE] = { [EF_VERDICT_USE] = 0, [EF_VERDICT_MEASURE] = 0.1, [EF_VERDICT_REWORK] = 0.25, [EF_VERDICT_SCRAP] = 0.5 },
    [EF_VERDICT_MEASURE] = { [EF_VERDICT_USE] = 0.5, [EF_VERDICT_MEASURE] = 0, [EF_VERDICT_REWORK] = 0.25, [EF_VERDICT_SCRAP] = 0.4 },
    [EF_VERDICT_REWORK] = { [EF_VERDICT_USE] = 0.7, [EF_VERDICT_MEASURE] = 0.2, [EF_VERDICT_REWORK] = 0, [EF_VERDICT_SCRAP] = 0.35 },
    [EF_VERDICT_SCRAP] = { [EF_VERDICT_USE] = 1, [EF_VERDICT_MEASURE] = 0.3, [EF_VERDICT_REWORK] = 0.8, [EF_VERDICT_SCRAP] = 0 },
  };

  return cost[reference][attempt];
}

static double
most_cost (EfVerdictWord reference)
{
  double most = 0;

  for (int word = 0; word < EF_N_VERDICTS; word++)
    most = fmax (most, ef_score_verdict_cost (reference, word));

  return most;
}

static void
add_parts (const EfVerdict *node,
           const EfVerdict *attempt,
           EfVerdictsScore *score,
           double *cost_sum,
           double *most_sum)
{
  const EfVerdict *other = node->level == EF_LEVEL_PART ? ef_verdict_find (attempt, node->id) : NULL;

  for (guint i = 0; i < node->children->len; i++)
    add_parts (g_ptr_array_index (node->children, i), attempt, score, cost_sum, most_sum);
  if (other == NULL)
    return;

  score->n++;
  score->n_same += other->word == node->word;
  *cost_sum += ef_score_verdict_cost (node->word, other->word);
  *most_sum += most_cost (node->word);
  if (ef_score_verdict_cost (node->word, other->word) > score->worst_cost)
    {
      score->worst_cost = ef_score_verdict_cost (node->word, other->word);
      g_free (score->worst);
      score->worst = g_strdup (node->title);
    }
}

void
ef_score_verdicts (const EfVerdict *reference,
                   const EfVerdict *attempt,
                   EfVerdictsScore *score)
{
  double cost_sum = 0, most_sum = 0;

  *score = (EfVerdictsScore){ 0 };
  add_parts (reference, attempt, score, &cost_sum, &most_sum);
  score->score = most_sum > 0 ? 1 - cost_sum / most_sum : 1;
}

void
ef_verdicts_score_clear (EfVerdictsScore *score)
{
  g_clear_pointer (&score->worst, g_free);
}
