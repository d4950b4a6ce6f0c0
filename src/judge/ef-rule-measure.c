/* Checks on what was measured: clearances, bores, what is still missing.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>

#include "ef-rule.h"

#define OK_OVER_BEYOND (EF_OUTCOME_BIT (EF_OUTCOME_OK) | EF_OUTCOME_BIT (EF_OUTCOME_OVER) | EF_OUTCOME_BIT (EF_OUTCOME_BEYOND))

static const char *const no_params[] = { NULL };
static const char *const limit_params[] = { "limit_mm", "rework_limit_mm", NULL };
static const char *const range_params[] = { "least_mm", "limit_mm", "rework_limit_mm", NULL };

/* Derived values know their target by the id of a section or a part. */
static const char *
target_of (const EfRuleCase *c)
{
  return c->rule->level == EF_LEVEL_PART && c->part != NULL ? c->part->id : c->section->id;
}

static gboolean
is_asked (const EfRuleCase *c,
          const EfDerived *derived)
{
  return g_strcmp0 (derived->quantity, c->rule->quantity) == 0 && g_strcmp0 (derived->target, target_of (c)) == 0;
}

static char *
place_text (const EfRuleCase *c,
            const EfDerived *derived)
{
  if (derived->place == NULL)
    return g_strdup ("");
  if (c->rule->level == EF_LEVEL_PART)
    return g_strdup_printf (", %s", derived->place);

  return g_strdup_printf (" at the %s gear", derived->place);
}

/* A bore by its face id, anything else by its section or part. */
static char *
target_id (const EfRuleCase *c,
           const EfDerived *derived)
{
  if (derived->place == NULL || c->rule->level != EF_LEVEL_PART || c->part->kind == EF_PART_SHAFT)
    return g_strdup (derived->target);

  return g_strdup_printf ("%s/%s-%s", derived->target, c->part->kind == EF_PART_HOUSING ? "bore" : "hole", derived->place);
}

static void
say_derived (const EfRuleCase *c,
             const EfDerived *derived,
             gboolean bushing_decides)
{
  EfQuestion question;
  g_autofree char *place = place_text (c, derived);
  g_autofree char *target = target_id (c, derived);

  ef_rule_question (c, &question);
  ef_rule_take_derived (c, derived, &question);
  if (bushing_decides && !c->part->bushable)
    question.beyond = question.limit;
  ef_rule_say (c, ef_rule_decide (c, &question), &question, derived->reading_ids,
               "place", place, "how", derived->how, "target", target, NULL);
}

/* Where a value was had in several ways, the one that counts. */
static void
run_derived (const EfRuleCase *c,
             gboolean bushing_decides)
{
  GPtrArray *derived = c->findings->derived;

  for (guint i = 0; i < derived->len; i++)
    {
      const EfDerived *one = derived->pdata[i];

      if (is_asked (c, one) && ef_derived_find (derived, one->quantity, one->target, one->place) == one)
        say_derived (c, one, bushing_decides);
    }
}

static void
check_clearance (const EfRuleCase *c)
{
  run_derived (c, FALSE);
}

static void
check_bore (const EfRuleCase *c)
{
  run_derived (c, TRUE);
}

/* How much a journal has lost against the sheet's diameter. */
static void
check_journal_wear (const EfRuleCase *c)
{
  for (guint i = 0; i < c->part->journals->len; i++)
    {
      const EfCylinder *journal = &g_array_index (c->part->journals, EfCylinder, i);
      const EfDerived *derived = ef_derived_find (c->findings->derived, "journal-diameter", c->part->id, journal->id);
      g_autofree char *place = NULL;
      EfQuestion question;

      if (derived == NULL)
        continue;
      ef_rule_question (c, &question);
      ef_rule_take_derived (c, derived, &question);
      question.value = MAX (journal->diameter - derived->value, 0.0);
      place = place_text (c, derived);
      ef_rule_say (c, ef_rule_decide (c, &question), &question, derived->reading_ids, "place", place, "how", derived->how, NULL);
    }
}

static void
check_required (const EfRuleCase *c)
{
  for (guint i = 0; i < c->findings->derived->len; i++)
    if (is_asked (c, c->findings->derived->pdata[i]))
      return;

  ef_rule_say (c, EF_OUTCOME_UNKNOWN, NULL, NULL, NULL);
}

const EfCheckFunction ef_checks_measure[] = {
  { "clearance", "a measured value of the section, pair or part; least_mm, limit_mm, rework_limit_mm",
    OK_OVER_BEYOND | EF_OUTCOME_BIT (EF_OUTCOME_UNDER), range_params, TRUE, check_clearance },
  { "wear", "a measured value that has no lower limit; limit_mm, rework_limit_mm",
    OK_OVER_BEYOND, limit_params, TRUE, check_clearance },
  { "bore-fit", "a measured play of a shaft in its bore; beyond where the part may not be bushed; least_mm, limit_mm, rework_limit_mm",
    OK_OVER_BEYOND | EF_OUTCOME_BIT (EF_OUTCOME_UNDER), range_params, TRUE, check_bore },
  { "bore", "a measured value of a shaft bore; beyond where the part may not be bushed; limit_mm, rework_limit_mm",
    OK_OVER_BEYOND, limit_params, TRUE, check_bore },
  { "journal-wear", "the sheet's diameter of a journal less the measured mean; limit_mm, rework_limit_mm",
    OK_OVER_BEYOND, limit_params, TRUE, check_journal_wear },
  { "required", "that the quantity was measured at all",
    EF_OUTCOME_BIT (EF_OUTCOME_UNKNOWN), no_params, TRUE, check_required },
  { NULL }
};
