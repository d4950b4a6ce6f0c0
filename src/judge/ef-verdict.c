/* The verdict tree: its words, its nodes, and the order of reasons.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>

#include "ef-rule.h"

static const struct
{
  const char *name;
  const char *label;
} words[EF_N_VERDICTS] = {
  [EF_VERDICT_USE] = { "use-again", "Use again" },
  [EF_VERDICT_MEASURE] = { "measure-again", "Measure again" },
  [EF_VERDICT_REWORK] = { "rework", "Rework" },
  [EF_VERDICT_SCRAP] = { "scrap", "Scrap" },
};

const char *const ef_reason_actions[] = {
  "lap", "restore-clearance", "open-clearance", "narrow-gear", "bush", "ream", "polish", "stone", "replace", "reset-pickup", "find-worn", "dress", NULL
};

const char *
ef_verdict_name (EfVerdictWord word)
{
  return (guint) word < EF_N_VERDICTS ? words[word].name : "unknown";
}

const char *
ef_verdict_label (EfVerdictWord word)
{
  return (guint) word < EF_N_VERDICTS ? words[word].label : "Unknown";
}

gboolean
ef_verdict_from_name (const char *name,
                      EfVerdictWord *word_out)
{
  for (guint i = 0; name != NULL && i < EF_N_VERDICTS; i++)
    if (g_str_equal (name, words[i].name))
      {
        *word_out = i;
        return TRUE;
      }

  return FALSE;
}

/* Takes @sentence. */
EfReason *
ef_reason_new (EfVerdictWord word,
               const char *rule,
               char *sentence)
{
  EfReason *reason = g_new0 (EfReason, 1);

  reason->word = word;
  reason->rule = g_strdup (rule);
  reason->sentence = sentence;
  reason->value = NAN;
  reason->limit = NAN;
  reason->uncertainty = NAN;
  reason->probability = NAN;
  reason->least = reason->wear = reason->beyond = NAN;
  reason->unit = EF_UNIT_NONE;
  reason->refs = g_ptr_array_new_with_free_func (g_free);

  return reason;
}

EfReason *
ef_reason_copy (const EfReason *reason)
{
  EfReason *copy = ef_reason_new (reason->word, reason->rule, g_strdup (reason->sentence));

  copy->value = reason->value;
  copy->limit = reason->limit;
  copy->uncertainty = reason->uncertainty;
  copy->probability = reason->probability;
  copy->may_scrap = reason->may_scrap;
  copy->unit = reason->unit;
  copy->source = g_strdup (reason->source);
  copy->advice = g_strdup (reason->advice);
  copy->action = g_strdup (reason->action);
  copy->target = g_strdup (reason->target);
  copy->n_own = reason->n_own;
  copy->summary = reason->summary;
  copy->how = g_strdup (reason->how);
  copy->least = reason->least;
  copy->wear = reason->wear;
  copy->beyond = reason->beyond;
  copy->limit_assumed = reason->limit_assumed;
  copy->u_assumed = reason->u_assumed;
  for (guint i = 0; i < reason->refs->len; i++)
    g_ptr_array_add (copy->refs, g_strdup (reason->refs->pdata[i]));

  return copy;
}

void
ef_reason_free (EfReason *reason)
{
  if (reason == NULL)
    return;

  g_free (reason->rule);
  g_free (reason->sentence);
  g_free (reason->source);
  g_free (reason->advice);
  g_free (reason->action);
  g_free (reason->target);
  g_free (reason->how);
  g_ptr_array_unref (reason->refs);
  g_free (reason);
}

/* How far past its limit, as a share of it; for what may be used again how near to it. Without a number: first where it
 * says that all is well, or condemns for what was seen; last where it only follows from something else or is soon done. */
static double
reason_weight (const EfReason *reason)
{
  double past;

  if (isnan (reason->value) || isnan (reason->limit) || reason->limit <= 0.0)
    return reason->word == EF_VERDICT_USE || (reason->word == EF_VERDICT_SCRAP && reason->refs->len > 0) ? INFINITY : -INFINITY;
  past = (reason->value - reason->limit) / reason->limit;

  return reason->word == EF_VERDICT_USE ? past : fabs (past);
}

static int
compare_reasons (gconstpointer a,
                 gconstpointer b)
{
  const EfReason *left = *(EfReason *const *) a;
  const EfReason *right = *(EfReason *const *) b;
  double weight_left = reason_weight (left);
  double weight_right = reason_weight (right);
  int order;

  if (left->word != right->word)
    return left->word > right->word ? -1 : 1;
  if (weight_left != weight_right)
    return weight_left > weight_right ? -1 : 1;
  order = g_strcmp0 (left->rule, right->rule);

  return order != 0 ? order : g_strcmp0 (left->sentence, right->sentence);
}

/* Worst first; within a word the furthest past its limit first. The order depends on what the reasons say only. */
void
ef_reasons_rank (GPtrArray *reasons)
{
  g_ptr_array_sort (reasons, compare_reasons);
}

/* Takes @id and @title. */
EfVerdict *
ef_verdict_new (EfLevel level,
                char *id,
                char *title)
{
  EfVerdict *verdict = g_new0 (EfVerdict, 1);

  verdict->level = level;
  verdict->id = id;
  verdict->title = title;
  verdict->reasons = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_reason_free);
  verdict->children = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_verdict_free);

  return verdict;
}

void
ef_verdict_free (EfVerdict *verdict)
{
  if (verdict == NULL)
    return;

  g_free (verdict->id);
  g_free (verdict->title);
  g_ptr_array_unref (verdict->reasons);
  g_ptr_array_unref (verdict->children);
  g_free (verdict);
}

EfBar *
ef_bar_new (const char *target,
            const char *face_id,
            const char *reason)
{
  EfBar *bar = g_new0 (EfBar, 1);

  bar->target = g_strdup (target);
  bar->face_id = g_strdup (face_id);
  bar->reason = g_strdup (reason);

  return bar;
}

void
ef_bar_free (EfBar *bar)
{
  if (bar == NULL)
    return;

  g_free (bar->target);
  g_free (bar->face_id);
  g_free (bar->reason);
  g_free (bar);
}

const EfVerdict *
ef_verdict_find (const EfVerdict *root,
                 const char *id)
{
  if (root == NULL || id == NULL)
    return NULL;
  if (g_str_equal (root->id, id))
    return root;

  for (guint i = 0; i < root->children->len; i++)
    {
      const EfVerdict *found = ef_verdict_find (root->children->pdata[i], id);

      if (found != NULL)
        return found;
    }

  return NULL;
}
