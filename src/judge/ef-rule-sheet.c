/* The shared rules together with those a pump sheet brings along.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>

#include "../base/ef-json-canonical.h"
#include "ef-rule.h"

#define DIGEST_SHOWN 8

/* The sheet's text of them is an object with the one member "rules", so that messages have the path they have in the sheet. */
static GPtrArray *
rules_of_sheet (const EfPumpSheet *sheet,
                GError **error)
{
  g_autoptr (EfJsonContext) context = ef_json_parse (sheet->rules, -1, sheet->file, error);
  g_autoptr (GPtrArray) rules = NULL;
  g_auto (EfJson) root = { 0 };

  if (context == NULL)
    return NULL;
  root = ef_json_root (context);
  rules = ef_rules_read (&root, 0);
  if (!ef_json_finish (context, error))
    return NULL;

  return g_steal_pointer (&rules);
}

gboolean
ef_rule_set_check_sheet (const EfPumpSheet *sheet,
                         GError **error)
{
  g_autoptr (GPtrArray) rules = NULL;

  if (sheet->rules == NULL)
    return TRUE;
  rules = rules_of_sheet (sheet, error);

  return rules != NULL;
}

static void
copy_wording (EfWording *to,
              const EfWording *from)
{
  *to = *from;
  to->sentence = g_strdup (from->sentence);
  to->advice = g_strdup (from->advice);
}

/* All but the rules. */
static EfRuleSet *
copy_frame (const EfRuleSet *base)
{
  EfRuleSet *set = g_new (EfRuleSet, 1);

  *set = *base;
  set->ref_count = 1;
  set->base = ef_rule_set_ref (base);
  set->sheet_rules = NULL;
  set->file = g_strdup (base->file);
  set->version = NULL;
  set->rules = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_rule_unref);
  for (guint i = 0; i < EF_N_OUTCOMES; i++)
    copy_wording (&set->common[i], &base->common[i]);
  set->notes.probability = g_strdup (base->notes.probability);
  set->notes.no_gauge = g_strdup (base->notes.no_gauge);
  set->notes.overdue = g_strdup (base->notes.overdue);
  set->notes.doubt = g_strdup (base->notes.doubt);
  set->notes.repeats = g_strdup (base->notes.repeats);

  return set;
}

char *
ef_rule_set_version_with (const char *version,
                          const EfPumpSheet *sheet)
{
  g_autofree char *digest = NULL;

  if (sheet->rules == NULL)
    return g_strdup (version);
  digest = ef_sha256 (sheet->rules, -1);

  return g_strdup_printf ("%s + %s rules %.*s", version, sheet->id, DIGEST_SHOWN, digest);
}

double
ef_rule_set_limit (const EfRuleSet *rules,
                   const char *quantity,
                   const char **source_out)
{
  for (guint i = 0; i < rules->rules->len; i++)
    {
      const EfRule *rule = rules->rules->pdata[i];
      const double *limit = g_hash_table_lookup (rule->params, "limit_mm");

      if (limit == NULL || rule->level == EF_LEVEL_MARK || g_strcmp0 (rule->quantity, quantity) != 0)
        continue;
      if (source_out != NULL)
        *source_out = rule->source;
      return *limit;
    }

  return NAN;
}

/* Takes @rule, which isn't shared yet. */
static void
put_rule (GPtrArray *rules,
          EfRule *rule)
{
  rule->of_sheet = TRUE;
  for (guint i = 0; i < rules->len; i++)
    {
      EfRule *shared = rules->pdata[i];

      if (!g_str_equal (shared->id, rule->id))
        continue;
      rule->index = shared->index;
      ef_rule_unref (shared);
      rules->pdata[i] = rule;
      return;
    }
  rule->index = rules->len;
  g_ptr_array_add (rules, rule);
}

EfRuleSet *
ef_rule_set_for_sheet (const EfRuleSet *rules,
                       const EfPumpSheet *sheet,
                       GError **error)
{
  const EfRuleSet *base;
  g_autoptr (GPtrArray) own = NULL;
  EfRuleSet *set;

  g_return_val_if_fail (rules != NULL && sheet != NULL, NULL);
  base = rules->base != NULL ? rules->base : rules;
  if (g_strcmp0 (rules->sheet_rules, sheet->rules) == 0)
    return ef_rule_set_ref (rules);
  if (sheet->rules == NULL)
    return ef_rule_set_ref (base);
  own = rules_of_sheet (sheet, error);
  if (own == NULL)
    return NULL;

  set = copy_frame (base);
  set->decision = rules->decision;
  set->sheet_rules = g_strdup (sheet->rules);
  set->version = ef_rule_set_version_with (base->version, sheet);
  for (guint i = 0; i < base->rules->len; i++)
    g_ptr_array_add (set->rules, ef_rule_ref (base->rules->pdata[i]));
  for (guint i = 0; i < own->len; i++)
    put_rule (set->rules, ef_rule_ref (own->pdata[i]));

  return set;
}
