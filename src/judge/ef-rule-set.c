/* Reading the rule set from its file, strictly.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <string.h>

#include "../base/ef-json.h"
#include "ef-rule.h"

#define RULES_FORMAT "endfloat-rules"
#define ALL_BITS 0xffffffffu

static const char *const outcome_names[] = { "ok", "over", "beyond", "under", "found", "unknown", "coarse", NULL };
static const char *const level_names[] = { "mark", "part", "pair", "section", "pump", NULL };
static const char *const verdict_names[] = { "use-again", "measure-again", "rework", "scrap", NULL };

const EfCheckFunction *
ef_check_function_find (const char *name)
{
  static const EfCheckFunction *const groups[] = { ef_checks_gear, ef_checks_housing, ef_checks_plate, ef_checks_measure, ef_checks_list };

  for (guint g = 0; name != NULL && g < G_N_ELEMENTS (groups); g++)
    for (const EfCheckFunction *check = groups[g]; check->name != NULL; check++)
      if (g_str_equal (check->name, name))
        return check;

  return NULL;
}

/* Every {placeholder} must be one we can fill. */
static void
check_template (const EfJson *json,
                const char *template)
{
  const char *p = template;

  while (p != NULL && (p = strpbrk (p, "{}")) != NULL)
    {
      const char *end = *p == '{' ? strchr (p, '}') : NULL;
      g_autofree char *name = NULL;

      if (end == NULL)
        {
          ef_json_fail (json, EF_ERROR_PARSE, "expected a closed {placeholder}, found \"%s\"", template);
          return;
        }
      name = g_strndup (p + 1, end - p - 1);
      if (!ef_rule_placeholder_known (name))
        {
          ef_json_fail (json, EF_ERROR_INVALID, "expected a known placeholder, found \"{%s}\"", name);
          return;
        }
      p = end + 1;
    }
}

static void
read_wording (const EfJson *parent,
              const char *member,
              EfWording *wording)
{
  static const char *const members[] = { "verdict", "sentence", "advice", "action", NULL };
  g_auto (EfJson) json = ef_json_object (parent, member);

  ef_json_only (&json, members);
  wording->given = TRUE;
  wording->word = ef_json_choice (&json, "verdict", verdict_names);
  wording->sentence = ef_json_string (&json, "sentence");
  wording->advice = ef_json_string_or (&json, "advice", NULL);
  if (ef_json_has (&json, "action"))
    wording->action = ef_reason_actions[ef_json_choice (&json, "action", ef_reason_actions)];
  if (wording->sentence != NULL && *wording->sentence == '\0')
    ef_json_fail (&json, EF_ERROR_INVALID, "expected a sentence, found an empty text");
  check_template (&json, wording->sentence);
  check_template (&json, wording->advice);
}

static void
clear_wordings (EfWording *wordings)
{
  for (guint i = 0; i < EF_N_OUTCOMES; i++)
    {
      g_free (wordings[i].sentence);
      g_free (wordings[i].advice);
    }
}

static const char *
part_name (guint i)
{
  return i < EF_N_PART_KINDS ? ef_part_kind_name (i) : NULL;
}

static const char *
face_name (guint i)
{
  return i < EF_N_FACE_KINDS ? ef_rule_face_kind_name (i) : NULL;
}

static const char *
kind_name (guint i)
{
  return i < EF_N_MARK_KINDS ? ef_mark_kind_name (i) : NULL;
}

static const char *
state_name (guint i)
{
  return i <= EF_CHECK_MISSING ? ef_check_state_name (i) : NULL;
}

/* A list of names as a mask of their places; all bits where the list is missing. */
static guint
read_mask (const EfJson *parent,
           const char *member,
           const char *(*name_of) (guint))
{
  g_auto (EfJson) list = { 0 };
  guint mask = 0;

  if (!ef_json_has (parent, member))
    return ALL_BITS;

  list = ef_json_array (parent, member, 1, 32);
  for (guint k = 0; k < ef_json_length (&list); k++)
    {
      g_auto (EfJson) element = ef_json_element (&list, k);
      g_autofree char *text = ef_json_value_string (&element);
      guint i = 0;

      if (text == NULL)
        continue;
      while (name_of (i) != NULL && !g_str_equal (name_of (i), text))
        i++;
      if (name_of (i) == NULL)
        ef_json_fail (&element, EF_ERROR_INVALID, "expected a known name, found \"%s\"", text);
      else
        mask |= 1u << i;
    }

  return mask;
}

static double
unit_of_param (const char *name)
{
  if (g_str_has_suffix (name, "_mm"))
    return 1e-3;
  if (g_str_has_suffix (name, "_um"))
    return 1e-6;
  if (g_str_has_suffix (name, "_mm2"))
    return 1e-6;
  if (g_str_has_suffix (name, "_deg"))
    return G_PI / 180.0;

  return 1.0;
}

static void
read_params (const EfJson *parent,
             EfRule *rule)
{
  g_auto (EfJson) params = { 0 };

  if (!ef_json_has (parent, "params"))
    return;

  params = ef_json_object (parent, "params");
  ef_json_only (&params, rule->check->params);
  for (guint i = 0; rule->check->params[i] != NULL; i++)
    {
      const char *name = rule->check->params[i];
      double *value;

      if (!ef_json_has (&params, name))
        continue;
      value = g_new (double, 1);
      *value = ef_json_number (&params, name, 0.0, g_str_has_suffix (name, "_share") ? 1.0 : 1e6) * unit_of_param (name);
      g_hash_table_insert (rule->params, g_strdup (name), value);
    }
}

static void
read_outcomes (const EfJson *parent,
               EfRule *rule)
{
  g_auto (EfJson) outcomes = ef_json_object (parent, "outcomes");
  const char *allowed[EF_N_OUTCOMES + 1] = { NULL };
  guint n = 0;

  for (guint i = 0; i < EF_N_OUTCOMES; i++)
    if ((rule->check->outcomes & EF_OUTCOME_BIT (i)) != 0 || i == EF_OUTCOME_UNKNOWN || i == EF_OUTCOME_COARSE)
      allowed[n++] = outcome_names[i];
  ef_json_only (&outcomes, allowed);

  /* A required one that's missing is reported by ef_json_object(). */
  for (guint i = 0; i < EF_N_OUTCOMES; i++)
    if ((rule->check->outcomes & EF_OUTCOME_BIT (i)) != 0 || ef_json_has (&outcomes, outcome_names[i]))
      read_wording (&outcomes, outcome_names[i], &rule->wording[i]);
}

/* A verdict may not get better as the wear grows. */
static void
check_order (const EfJson *json,
             const EfRule *rule)
{
  static const EfOutcome worse[] = { EF_OUTCOME_OK, EF_OUTCOME_OVER, EF_OUTCOME_BEYOND };

  for (guint i = 1; i < G_N_ELEMENTS (worse); i++)
    {
      const EfWording *less = &rule->wording[worse[i - 1]];
      const EfWording *more = &rule->wording[worse[i]];

      if (less->given && more->given && less->word > more->word)
        ef_json_fail (json, EF_ERROR_INVALID, "outcomes: expected \"%s\" to be no better than \"%s\", found \"%s\" and \"%s\"",
                      outcome_names[worse[i]], outcome_names[worse[i - 1]],
                      ef_verdict_name (more->word), ef_verdict_name (less->word));
    }
}

static void
read_applies (const EfJson *parent,
              EfRule *rule)
{
  static const char *const members[] = { "parts", "faces", "kinds", "states", NULL };
  g_auto (EfJson) applies = { 0 };

  if (!ef_json_has (parent, "applies"))
    return;

  applies = ef_json_object (parent, "applies");
  ef_json_only (&applies, members);
  rule->parts = read_mask (&applies, "parts", part_name);
  rule->faces = read_mask (&applies, "faces", face_name);
  rule->kinds = read_mask (&applies, "kinds", kind_name);
  rule->states = read_mask (&applies, "states", state_name);
}

EfRule *
ef_rule_ref (EfRule *rule)
{
  g_atomic_int_inc (&rule->ref_count);

  return rule;
}

void
ef_rule_unref (EfRule *rule)
{
  if (!g_atomic_int_dec_and_test (&rule->ref_count))
    return;

  g_free (rule->id);
  g_hash_table_unref (rule->params);
  g_free (rule->quantity);
  clear_wordings (rule->wording);
  g_free (rule->source);
  g_free (rule);
}

static EfRule *
read_rule (const EfJson *json,
           guint index)
{
  static const char *const members[] = { "id", "level", "check", "quantity", "applies", "params", "outcomes", "source", NULL };
  g_autofree char *check = NULL;
  EfRule *rule = g_new0 (EfRule, 1);

  rule->ref_count = 1;
  rule->index = index;
  rule->parts = rule->faces = rule->kinds = rule->states = ALL_BITS;
  rule->params = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  ef_json_only (json, members);
  rule->id = ef_json_string (json, "id");
  rule->level = ef_json_choice (json, "level", level_names);
  rule->quantity = ef_json_string_or (json, "quantity", NULL);
  rule->source = ef_json_string (json, "source");
  check = ef_json_string (json, "check");
  rule->check = ef_check_function_find (check);
  if (rule->check == NULL)
    {
      ef_json_fail (json, EF_ERROR_NOT_FOUND, "check: expected the name of a check function, found \"%s\"", check != NULL ? check : "");
      return rule;
    }
  if (rule->check->needs_quantity && rule->quantity == NULL)
    ef_json_fail (json, EF_ERROR_INVALID, "quantity: expected the name of a quantity for check \"%s\", found nothing", check);
  read_applies (json, rule);
  read_params (json, rule);
  read_outcomes (json, rule);
  check_order (json, rule);

  return rule;
}

GPtrArray *
ef_rules_read (const EfJson *root,
               guint least)
{
  g_auto (EfJson) list = ef_json_array (root, "rules", least, 1000);
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);
  GPtrArray *rules = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_rule_unref);

  for (guint i = 0; i < ef_json_length (&list); i++)
    {
      g_auto (EfJson) json = ef_json_element (&list, i);
      EfRule *rule = read_rule (&json, i);

      g_ptr_array_add (rules, rule);
      if (rule->id != NULL && !g_hash_table_add (seen, rule->id))
        ef_json_fail (&json, EF_ERROR_INVALID, "id: expected an id of its own, found \"%s\" a second time", rule->id);
    }

  return rules;
}

static void
read_gauges (const EfJson *root,
             EfRuleSet *set)
{
  g_auto (EfJson) json = ef_json_object (root, "gauge_default_uncertainty_mm");
  const char *names[EF_N_GAUGE_KINDS + 1] = { NULL };

  for (guint i = 0; i < EF_N_GAUGE_KINDS; i++)
    names[i] = ef_gauge_kind_name (i);
  ef_json_only (&json, names);
  for (guint i = 0; i < EF_N_GAUGE_KINDS; i++)
    set->gauge_default[i] = ef_json_number (&json, names[i], 0.0, 10.0) * 1e-3;
}

static void
read_decision (const EfJson *root,
               EfRuleSet *set)
{
  static const char *const members[] = { "rule", "coverage", NULL };
  g_auto (EfJson) json = ef_json_object (root, "decision");

  ef_json_only (&json, members);
  set->decision.kind = (EfDecisionKind) ef_json_choice (&json, "rule", ef_decision_rule_names);
  set->decision.coverage = ef_json_number (&json, "coverage", 0.5, 0.9999);
}

static void
read_no_gauge (const EfJson *root,
               EfRuleSet *set)
{
  static const char *const members[] = { "depth_mm", "reading_mm", "drawn_mm", "drawn_share", NULL };
  g_auto (EfJson) json = ef_json_object (root, "no_gauge_uncertainty");

  ef_json_only (&json, members);
  set->no_gauge_depth = ef_json_number (&json, "depth_mm", 1e-6, 10.0) * 1e-3;
  set->no_gauge_reading = ef_json_number (&json, "reading_mm", 1e-6, 10.0) * 1e-3;
  set->drawn_length = ef_json_number (&json, "drawn_mm", 1e-6, 10.0) * 1e-3;
  set->drawn_share = ef_json_number (&json, "drawn_share", 1e-6, 1.0);
}

static char *
read_note (const EfJson *json,
           const char *member)
{
  char *note = ef_json_string (json, member);

  check_template (json, note);

  return note;
}

static void
read_notes (const EfJson *root,
            EfRuleSet *set)
{
  static const char *const members[] = { "probability", "no_gauge", "overdue", "doubt", "repeats", NULL };
  g_auto (EfJson) json = ef_json_object (root, "notes");

  ef_json_only (&json, members);
  set->notes.probability = read_note (&json, "probability");
  set->notes.no_gauge = read_note (&json, "no_gauge");
  set->notes.overdue = read_note (&json, "overdue");
  set->notes.doubt = read_note (&json, "doubt");
  set->notes.repeats = read_note (&json, "repeats");
}

static EfRuleSet *
rule_set_from (EfJsonContext *context,
               const char *file,
               GError **error)
{
  static const char *const members[] = { "format", "version", "note", "decision", "gauge_default_uncertainty_mm", "no_gauge_uncertainty", "notes", "common", "rules", NULL };
  static const char *const formats[] = { RULES_FORMAT, NULL };
  static const char *const common[] = { "unknown", "coarse", NULL };
  g_autoptr (EfRuleSet) set = g_new0 (EfRuleSet, 1);
  g_auto (EfJson) root = ef_json_root (context);
  g_auto (EfJson) wordings = { 0 };
  g_autofree char *note = NULL;

  set->ref_count = 1;
  set->file = g_path_get_basename (file);
  ef_json_only (&root, members);
  ef_json_choice (&root, "format", formats);
  set->version = ef_json_string (&root, "version");
  note = ef_json_string_or (&root, "note", NULL);
  read_decision (&root, set);
  read_gauges (&root, set);
  read_no_gauge (&root, set);
  read_notes (&root, set);
  wordings = ef_json_object (&root, "common");
  ef_json_only (&wordings, common);
  read_wording (&wordings, "unknown", &set->common[EF_OUTCOME_UNKNOWN]);
  read_wording (&wordings, "coarse", &set->common[EF_OUTCOME_COARSE]);
  set->rules = ef_rules_read (&root, 1);
  if (!ef_json_finish (context, error))
    return NULL;

  return g_steal_pointer (&set);
}

EfRuleSet *
ef_rule_set_load (const char *path,
                  GError **error)
{
  g_autoptr (EfJsonContext) context = NULL;

  g_return_val_if_fail (path != NULL, NULL);
  context = ef_json_parse_file (path, error);

  return context != NULL ? rule_set_from (context, path, error) : NULL;
}

EfRuleSet *
ef_rule_set_parse (const char *json,
                   const char *file,
                   GError **error)
{
  g_autoptr (EfJsonContext) context = NULL;

  g_return_val_if_fail (json != NULL && file != NULL, NULL);
  context = ef_json_parse (json, -1, file, error);

  return context != NULL ? rule_set_from (context, file, error) : NULL;
}

EfRuleSet *
ef_rule_set_default (GError **error)
{
  g_autofree char *path = ef_data_path ("rules", "common-practice.json", NULL);

  return ef_rule_set_load (path, error);
}

EfRuleSet *
ef_rule_set_ref (const EfRuleSet *rules)
{
  EfRuleSet *set = (EfRuleSet *) rules;

  g_atomic_int_inc (&set->ref_count);

  return set;
}

void
ef_rule_set_free (EfRuleSet *rules)
{
  if (rules == NULL || !g_atomic_int_dec_and_test (&rules->ref_count))
    return;

  ef_rule_set_free (rules->base);
  g_free (rules->sheet_rules);
  g_free (rules->file);
  g_free (rules->version);
  g_clear_pointer (&rules->rules, g_ptr_array_unref);
  clear_wordings (rules->common);
  g_free (rules->notes.probability);
  g_free (rules->notes.no_gauge);
  g_free (rules->notes.overdue);
  g_free (rules->notes.doubt);
  g_free (rules->notes.repeats);
  g_free (rules);
}

const char *
ef_rule_set_version (const EfRuleSet *rules)
{
  return rules->version;
}

EfDecisionRule
ef_rule_set_decision (const EfRuleSet *rules)
{
  return rules->decision;
}

gboolean
ef_rule_set_use_decision (EfRuleSet *rules,
                          const EfDecisionRule *decision,
                          GError **error)
{
  if (!ef_decision_rule_check (decision, error))
    return FALSE;
  rules->decision = *decision;

  return TRUE;
}
