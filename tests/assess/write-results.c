/* Writes the results of the exchange files named, one JSON text each, ended by a NUL, and of the first once more with a demand: for the schema test.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <stdio.h>

#include "assess/ef-assessment.h"
#include "rework/ef-cost.h"
#include "record/ef-exchange.h"

static EfInspection *
load (const char *path,
      gboolean demanding,
      GError **error)
{
  EfInspection *inspection = ef_exchange_load (path, error);
  g_autoptr (EfItem) demand = (EfItem *) ef_demand_new ();

  ((EfDemand *) demand)->cooler_flow = 8.0 / 60e3;
  ((EfDemand *) demand)->cooler_drop = 0.4e5;
  if (inspection == NULL || !demanding || ef_inspection_swap (inspection, NULL, demand, error))
    return inspection;
  ef_inspection_free (inspection);

  return NULL;
}

int
main (int argc,
      char **argv)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfRuleSet) rules = ef_rule_set_default (&error);

  for (int i = 1; rules != NULL && i < argc + 1; i++)
    {
      g_autoptr (EfInspection) inspection = load (argv[i < argc ? i : 1], i == argc, &error);
      g_autoptr (EfAssessment) assessment = inspection != NULL ? ef_assess (inspection, rules, NULL, NULL, &error) : NULL;
      g_autoptr (JsonNode) node = NULL;
      g_autofree char *text = NULL;

      if (assessment == NULL)
        break;
      node = ef_assessment_to_json (assessment);
      text = ef_json_to_text (node);
      fputs (text, stdout);
      fputc ('\0', stdout);
    }
  if (error != NULL)
    g_printerr ("%s\n", error->message);

  return error != NULL ? 1 : 0;
}
