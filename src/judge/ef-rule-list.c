/* Checks on the check list, and those that look at the tree as far as it's grown.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-rule.h"

#define FOUND EF_OUTCOME_BIT (EF_OUTCOME_FOUND)

static const char *const no_params[] = { NULL };

static void
check_state (const EfRuleCase *c)
{
  const EfCheck *check = ef_inspection_find (c->findings->inspection, EF_ITEM_CHECK, c->part->id);
  EfCheckState state = check != NULL ? check->state : EF_CHECK_UNSEEN;
  g_autofree char *look = NULL;

  if ((c->rule->states & (1u << state)) == 0)
    return;
  look = c->part->check != NULL ? g_strdup (c->part->check) : g_strdup ("Look at it");
  ef_rule_say (c, EF_OUTCOME_FOUND, NULL, NULL,
               "state", ef_check_state_name (state),
               "note", check != NULL && check->note != NULL ? check->note : "",
               "how", look,
               NULL);
}

static void
check_found (const EfRuleCase *c)
{
  ef_rule_say (c, EF_OUTCOME_FOUND, NULL, NULL, NULL);
}

static void
check_no_marks (const EfRuleCase *c)
{
  if (c->part->kind < EF_PART_PICKUP && c->node->children->len == 0)
    ef_rule_say (c, EF_OUTCOME_FOUND, NULL, NULL, NULL);
}

static void
check_sound (const EfRuleCase *c)
{
  for (guint i = 0; i < c->node->children->len; i++)
    if (((const EfVerdict *) c->node->children->pdata[i])->word != EF_VERDICT_USE)
      return;
  for (guint i = 0; i < c->reasons->len; i++)
    if (((const EfReason *) c->reasons->pdata[i])->word != EF_VERDICT_USE)
      return;

  ef_rule_say (c, EF_OUTCOME_FOUND, NULL, NULL, NULL);
}

/* Names of the parts below @node that aren't scrap, and how many are. */
static guint
list_sound (const EfVerdict *node,
            GPtrArray *names)
{
  guint scrap = 0;

  for (guint i = 0; i < node->children->len; i++)
    {
      const EfVerdict *child = node->children->pdata[i];

      if (child->level != EF_LEVEL_PART)
        scrap += list_sound (child, names);
      else if (child->word == EF_VERDICT_SCRAP)
        scrap++;
      else
        g_ptr_array_add (names, ef_rule_lower (child->title));
    }

  return scrap;
}

static void
check_worth_keeping (const EfRuleCase *c)
{
  g_autoptr (GPtrArray) names = g_ptr_array_new_with_free_func (g_free);
  g_autofree char *list = NULL;

  if (list_sound (c->node, names) == 0 || names->len == 0)
    return;
  g_ptr_array_add (names, NULL);
  list = g_strjoinv (", ", (char **) names->pdata);
  ef_rule_say (c, EF_OUTCOME_FOUND, NULL, NULL, "parts", list, NULL);
}

const EfCheckFunction ef_checks_list[] = {
  { "check-state", "state of a check-list part, narrowed by applies.states", FOUND, no_params, FALSE, check_state },
  { "no-marks", "a part on which nothing was marked", FOUND, no_params, FALSE, check_no_marks },
  { "sound", "that nothing below is worse than use again", FOUND, no_params, FALSE, check_sound },
  { "mate-condemned", "put to a gear whose mate is scrap", FOUND, no_params, FALSE, check_found },
  { "mate-undecided", "put to a gear whose mate may yet be scrap", FOUND, no_params, FALSE, check_found },
  { "worth-keeping", "parts that aren't scrap when others are", FOUND, no_params, FALSE, check_worth_keeping },
  { NULL }
};
