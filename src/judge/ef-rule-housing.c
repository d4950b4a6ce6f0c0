/* Checks on housings, and those that any part shares: presence, depth, lips by side, damaged bores.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <string.h>

#include "ef-rule.h"

#define OK_OVER_BEYOND (EF_OUTCOME_BIT (EF_OUTCOME_OK) | EF_OUTCOME_BIT (EF_OUTCOME_OVER) | EF_OUTCOME_BIT (EF_OUTCOME_BEYOND))

static const char *const no_params[] = { NULL };
static const char *const limit_params[] = { "limit_mm", "rework_limit_mm", NULL };
static const char *const single_limit[] = { "limit_mm", NULL };

static void
check_presence (const EfRuleCase *c)
{
  ef_rule_say (c, EF_OUTCOME_FOUND, NULL, NULL, NULL);
}

static void
check_depth (const EfRuleCase *c)
{
  EfQuestion question;
  EfOutcome outcome;

  ef_rule_question (c, &question);
  outcome = ef_rule_decide_depths (c, &question);
  ef_rule_say (c, outcome, &question, NULL, NULL);
}

/* A bore that may not be bushed has nothing between its limit and scrap. */
static void
check_bore_damage (const EfRuleCase *c)
{
  EfQuestion question;
  EfOutcome outcome;

  ef_rule_question (c, &question);
  if (!c->part->bushable)
    question.beyond = question.limit;
  outcome = ef_rule_decide_depths (c, &question);
  ef_rule_say (c, outcome, &question, NULL, NULL);
}

/* The marked part's own bore on this axis. */
static const char *
own_bore (const EfPart *part,
          int axis)
{
  for (guint k = 0; k < part->bores->len; k++)
    {
      const EfCylinder *bore = &g_array_index (part->bores, EfCylinder, k);

      if (bore->axis == axis)
        return bore->id;
    }

  return NULL;
}

/* Where the section's shaft on this axis runs: in the marked part itself, else where its first journal does. */
static const EfPart *
part_with_bore (const EfRuleCase *c,
                int axis,
                const char **bore_out)
{
  const EfPumpSheet *sheet = c->findings->inspection->sheet;

  *bore_out = own_bore (c->part, axis);
  if (*bore_out != NULL)
    return c->part;

  for (guint i = 0; i < sheet->parts->len; i++)
    {
      const EfPart *shaft = sheet->parts->pdata[i];

      for (guint k = 0; shaft->kind == EF_PART_SHAFT && k < shaft->journals->len; k++)
        {
          const EfCylinder *journal = &g_array_index (shaft->journals, EfCylinder, k);
          const char *slash = journal->runs_in != NULL ? strchr (journal->runs_in, '/') : NULL;
          g_autofree char *id = slash != NULL ? g_strndup (journal->runs_in, slash - journal->runs_in) : NULL;
          const EfPart *part = id != NULL ? ef_pump_sheet_part (sheet, id) : NULL;

          if (journal->axis != axis || part == NULL)
            continue;
          *bore_out = own_bore (part, axis);
          if (*bore_out != NULL)
            return part;
        }
    }

  return NULL;
}

static gboolean
bore_measured (const EfRuleCase *c,
               const EfPart *part,
               const char *bore)
{
  for (guint i = 0; i < c->findings->derived->len; i++)
    {
      const EfDerived *derived = c->findings->derived->pdata[i];

      if (g_str_has_prefix (derived->quantity, "bore-") && g_str_equal (derived->target, part->id)
          && g_strcmp0 (derived->place, bore) == 0)
        return TRUE;
    }

  return FALSE;
}

/* Whether any node of a mark on a pocket wall lies on the suction side (psi < 0). */
static gboolean
on_suction_side (const EfRuleCase *c,
                 int *gear_out)
{
  for (guint i = 0; i < c->mark->nodes->len; i++)
    {
      const EfMarkNode *node = &g_array_index (c->mark->nodes, EfMarkNode, i);
      EfChartPlace place;

      ef_face_chart_place (c->chart, node->u, node->v, &place);
      *gear_out = c->chart->gear >= 0 ? c->chart->gear : place.gear;
      if (place.angle < 0.0)
        return TRUE;
    }

  return FALSE;
}

static void
check_lip_side (const EfRuleCase *c)
{
  const char *bore = NULL;
  const EfPart *part;
  g_autofree char *where = NULL;
  g_autofree char *name = NULL;
  int gear = -1;

  if (c->chart == NULL || !on_suction_side (c, &gear))
    return;
  part = part_with_bore (c, gear, &bore);
  if (part == NULL)
    return;
  name = ef_rule_lower (part->name);
  where = g_strdup_printf ("the %s shaft bore of the %s", gear == 1 ? "driven" : "drive", name);
  ef_rule_say (c, bore_measured (c, part, bore) ? EF_OUTCOME_OK : EF_OUTCOME_FOUND, NULL, NULL, "bore", where, NULL);
}

const EfCheckFunction ef_checks_housing[] = {
  { "presence", "that there is such a mark at all",
    EF_OUTCOME_BIT (EF_OUTCOME_FOUND), no_params, FALSE, check_presence },
  { "depth", "deepest reading of the mark; limit_mm, rework_limit_mm",
    OK_OVER_BEYOND, limit_params, FALSE, check_depth },
  { "bore-damage", "deepest reading of a mark in a bore; beyond where the part may not be bushed; limit_mm",
    OK_OVER_BEYOND, single_limit, FALSE, check_bore_damage },
  { "lip-side", "a lip on the suction side: found while that side's bore isn't measured, ok after",
    EF_OUTCOME_BIT (EF_OUTCOME_OK) | EF_OUTCOME_BIT (EF_OUTCOME_FOUND), no_params, FALSE, check_lip_side },
  { NULL }
};
