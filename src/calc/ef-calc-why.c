/* Computations by name: why a verdict was given.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-calc-inspection.h"
#include "ef-calc.h"

#include "../assess/ef-why.h"

static void
add_reason (JsonBuilder *builder,
            const EfAssessment *assessment,
            const EfVerdict *node,
            const EfReason *reason)
{
  g_autoptr (GPtrArray) chain = ef_why_chain (assessment, node, reason);
  g_autofree char *line = ef_why_line (chain);

  json_builder_begin_object (builder);
  json_builder_set_member_name (builder, "verdict");
  json_builder_add_string_value (builder, ef_verdict_name (reason->word));
  json_builder_set_member_name (builder, "sentence");
  json_builder_add_string_value (builder, reason->sentence);
  json_builder_set_member_name (builder, "line");
  json_builder_add_string_value (builder, line);
  json_builder_set_member_name (builder, "chain");
  ef_why_add_json (builder, chain);
  json_builder_end_object (builder);
}

static JsonNode *
result_of (const EfAssessment *assessment,
           const EfVerdict *node)
{
  g_autoptr (JsonBuilder) builder = json_builder_new ();

  json_builder_begin_object (builder);
  json_builder_set_member_name (builder, "title");
  json_builder_add_string_value (builder, node->title);
  json_builder_set_member_name (builder, "verdict");
  json_builder_add_string_value (builder, ef_verdict_name (node->word));
  json_builder_set_member_name (builder, "reasons");
  json_builder_begin_array (builder);
  for (guint i = 0; i < node->reasons->len; i++)
    add_reason (builder, assessment, node, node->reasons->pdata[i]);
  json_builder_end_array (builder);
  json_builder_end_object (builder);

  return json_builder_get_root (builder);
}

static JsonNode *
run_why (const EfJson *input,
         GError **error)
{
  static const char *const members[] = { "inspection", "demo", "node", NULL };
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (EfRuleSet) rules = NULL;
  g_autoptr (EfAssessment) assessment = NULL;
  g_autofree char *id = NULL;
  const EfVerdict *node;

  ef_json_only (input, members);
  id = ef_json_string_or (input, "node", "pump");
  inspection = ef_calc_read_inspection (input, error);
  rules = inspection != NULL ? ef_rule_set_default (error) : NULL;
  if (rules == NULL)
    return NULL;
  assessment = ef_assess_in_detail (inspection, rules, NULL, EF_DETAIL_COARSE, NULL, error);
  if (assessment == NULL)
    return NULL;
  node = ef_verdict_find (assessment->verdict, id);
  if (node == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "input: node: expected a verdict such as part:separator, found \"%s\"", id);
      return NULL;
    }

  return result_of (assessment, node);
}

const EfCalc ef_calc_why[] = {
  {
      "why",
      "Why a verdict was given: from its rule and limit down to each reading and its gauge",
      "inspection: a whole inspection as in its file; or\n"
      "demo: name of a demo job that comes with the program\n"
      "node: which verdict: \"pump\" (default), \"section:ID\", \"pair:ID\", \"part:ID\", \"mark:ID\"",
      "title, verdict: of the node\n"
      "reasons: worst first, each with verdict, sentence, line (the chain in brief) and chain: array of objects with\n"
      "  link: \"verdict\", \"rule\", \"limit\", \"decision\", \"value\", \"mark\", \"reading\", \"gauge\" or \"more\"\n"
      "  title, text, ref (what it leads to), warning (a default limit, an overdue gauge, no gauge)",
      "{\"demo\": \"job-4-hl-27\", \"node\": \"pump\"}",
      "rules of data/rules; ISO 14253-1 and JCGM 106 for the decision",
      run_why,
  },
  { NULL },
};
