/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-cli-inspection.h"
#include "ef-cli.h"
#include "../record/ef-exchange.h"
#include "../record/ef-store-work.h"

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

gint64
ef_cli_find_job (EfStore *store,
                 const char *number,
                 GError **error)
{
  gint64 job;

  if (!ef_store_exists (store, number, &job, error))
    return 0;
  if (job == 0)
    g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected job %s, found none", ef_store_path (store), number);

  return job;
}

EfAssessment *
ef_cli_assess_job (EfStore *store,
                   gint64 job,
                   const char *rules,
                   GError **error)
{
  g_autoptr (EfInspection) inspection = ef_store_load (store, job, error);
  g_autoptr (EfRuleSet) rule_set = NULL;
  g_autoptr (EfAssessCache) cache = NULL;
  EfLapTable *table;

  if (inspection == NULL)
    return NULL;
  rule_set = rules != NULL ? ef_rule_set_load (rules, error) : ef_rule_set_default (error);
  table = rule_set != NULL ? ef_store_lap_table (store, job, error) : NULL;
  if (table == NULL)
    return NULL;
  cache = ef_assess_cache_new ();
  ef_assess_cache_take_lapping (cache, table);

  return ef_assess (inspection, rule_set, cache, NULL, error);
}
