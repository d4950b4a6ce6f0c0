/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli-inspection.h"
#include "ef-cli.h"
#include "../record/ef-exchange.h"

EfAssessment *
ef_cli_assess_file (const char *path,
                    const char *rules,
                    GError **error)
{
  g_autoptr (EfInspection) inspection = ef_cli_can_read (path, error) ? ef_exchange_load (path, error) : NULL;
  g_autoptr (EfRuleSet) rule_set = NULL;

  if (inspection == NULL)
    return NULL;
  rule_set = rules != NULL ? ef_rule_set_load (rules, error) : ef_rule_set_default (error);
  if (rule_set == NULL)
    return NULL;

  return ef_assess (inspection, rule_set, NULL, NULL, error);
}
