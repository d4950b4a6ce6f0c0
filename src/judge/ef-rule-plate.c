/* Checks on faces that can be lapped: plates, covers, mating faces, gear ends.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>

#include "ef-rule.h"

#define OK_OVER_BEYOND (EF_OUTCOME_BIT (EF_OUTCOME_OK) | EF_OUTCOME_BIT (EF_OUTCOME_OVER) | EF_OUTCOME_BIT (EF_OUTCOME_BEYOND))

static const char *const limit_params[] = { "limit_mm", NULL };

/* What may be lapped off bounds rework, or the sheet's rework limit where that's less; a part that may not be lapped has neither. */
static double
lap_bound (const EfRuleCase *c,
           const EfQuestion *question)
{
  if (!c->part->lappable || isnan (c->part->lap_stock))
    return question->limit;

  return MAX (fmin (c->part->lap_stock, question->beyond), question->limit);
}

static void
check_lap_depth (const EfRuleCase *c)
{
  EfQuestion question;
  EfOutcome outcome;

  ef_rule_question (c, &question);
  question.beyond = lap_bound (c, &question);
  outcome = ef_rule_decide_depths (c, &question);
  ef_rule_say (c, outcome, &question, NULL, NULL);
}

static void
say_flatness (const EfRuleCase *c,
              const EfDerived *derived)
{
  const EfFaceChart *chart = g_hash_table_lookup (c->findings->charts, derived->target);
  g_autofree char *face = ef_rule_face_name (chart, derived->target);
  EfQuestion question;

  ef_rule_question (c, &question);
  question.beyond = lap_bound (c, &question);
  ef_rule_take_derived (c, derived, &question);
  ef_rule_say (c, ef_rule_decide (c, &question), &question, derived->reading_ids, "face", face, "target", derived->target, NULL);
}

static void
check_lap_flatness (const EfRuleCase *c)
{
  g_autofree char *prefix = g_strconcat (c->part->id, "/", NULL);

  for (guint i = 0; i < c->findings->derived->len; i++)
    {
      const EfDerived *derived = c->findings->derived->pdata[i];

      if (g_strcmp0 (derived->quantity, c->rule->quantity) == 0 && g_str_has_prefix (derived->target, prefix))
        say_flatness (c, derived);
    }
}

const EfCheckFunction ef_checks_plate[] = {
  { "lap-depth", "deepest reading of a mark on a lappable face; beyond where the part's stock is used up; limit_mm",
    OK_OVER_BEYOND, limit_params, FALSE, check_lap_depth },
  { "lap-flatness", "flatness of each face that was probed; beyond where the part's stock is used up; limit_mm",
    OK_OVER_BEYOND, limit_params, TRUE, check_lap_flatness },
  { NULL }
};
