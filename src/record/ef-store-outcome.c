/* Writing outcomes, and finding the jobs that want one.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-outcome.h"
#include "ef-store-private.h"

#include <math.h>

#define LAST_ROW "(SELECT coalesce (max (seq), 0) FROM change WHERE change.job = job.id)"
#define FORM_TEXT G_STRINGIFY (EF_OUTCOME_FORM)

static void
finding_free (gpointer data)
{
  EfOutcomeFinding *finding = data;

  g_free (finding->subject);
  g_free (finding->title);
  g_free (finding->finding);
  g_free (finding->word);
  g_free (finding);
}

static void
clearance_free (gpointer data)
{
  EfOutcomeClearance *clearance = data;

  g_free (clearance->section);
  g_free (clearance->gear);
  g_free (clearance->title);
  g_free (clearance);
}

EfOutcome *
ef_outcome_new (const char *rules)
{
  EfOutcome *outcome = g_new0 (EfOutcome, 1);

  outcome->rules = g_strdup (rules);
  outcome->hours = NAN;
  outcome->findings = g_ptr_array_new_with_free_func (finding_free);
  outcome->clearances = g_ptr_array_new_with_free_func (clearance_free);

  return outcome;
}

void
ef_outcome_free (EfOutcome *outcome)
{
  if (outcome == NULL)
    return;

  g_free (outcome->rules);
  g_free (outcome->reworked_day);
  g_ptr_array_unref (outcome->findings);
  g_ptr_array_unref (outcome->clearances);
  g_free (outcome);
}

EfOutcomeFinding *
ef_outcome_finding (EfOutcome *outcome,
                    const char *subject,
                    const char *title,
                    gboolean mark,
                    const char *finding)
{
  EfOutcomeFinding *added;

  for (guint i = 0; i < outcome->findings->len; i++)
    {
      EfOutcomeFinding *there = outcome->findings->pdata[i];

      if (there->mark == mark && g_str_equal (there->subject, subject) && g_str_equal (there->finding, finding))
        return there;
    }
  added = g_new0 (EfOutcomeFinding, 1);
  added->subject = g_strdup (subject);
  added->title = g_strdup (title);
  added->mark = mark;
  added->finding = g_strdup (finding);
  g_ptr_array_add (outcome->findings, added);

  return added;
}

void
ef_outcome_clearance (EfOutcome *outcome,
                      const char *section,
                      const char *gear,
                      const char *title,
                      double as_new,
                      double found)
{
  EfOutcomeClearance *clearance = g_new0 (EfOutcomeClearance, 1);

  clearance->section = g_strdup (section);
  clearance->gear = g_strdup (gear);
  clearance->title = g_strdup (title);
  clearance->as_new = as_new;
  clearance->found = found;
  g_ptr_array_add (outcome->clearances, clearance);
}

gint64
ef_store_last_row (EfStore *store,
                   gint64 job,
                   GError **error)
{
  gint64 row;

  g_return_val_if_fail (store != NULL, 0);

  return ef_sql_integer (&store->sql, 0, &row, error, "SELECT max (seq) FROM change WHERE job = ?", "i", job) ? row : 0;
}

static gboolean
write_lists (EfStore *store,
             gint64 job,
             const EfOutcome *outcome,
             GError **error)
{
  for (guint i = 0; i < outcome->findings->len; i++)
    {
      const EfOutcomeFinding *finding = outcome->findings->pdata[i];

      if (!ef_sql_run (&store->sql, NULL, error,
                       "INSERT INTO outcome_finding (job, subject, source, finding, title, word, n) VALUES (?, ?, ?, ?, ?, ?, ?)", "isssssi",
                       job, finding->subject, finding->mark ? "mark" : "rule", finding->finding, finding->title != NULL ? finding->title : "",
                       finding->word != NULL ? finding->word : "use-again", (gint64) finding->n))
        return FALSE;
    }
  for (guint i = 0; i < outcome->clearances->len; i++)
    {
      const EfOutcomeClearance *clearance = outcome->clearances->pdata[i];

      if (isfinite (clearance->found)
          && !ef_sql_run (&store->sql, NULL, error,
                          "INSERT INTO outcome_clearance (job, section, gear, title, as_new, found) VALUES (?, ?, ?, ?, ?, ?)", "isssdd",
                          job, clearance->section, clearance->gear, clearance->title, clearance->as_new, clearance->found))
        return FALSE;
    }

  return TRUE;
}

gboolean
ef_store_set_outcome (EfStore *store,
                      gint64 job,
                      gint64 row,
                      const EfOutcome *outcome,
                      GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  int changed;

  g_return_val_if_fail (store != NULL && outcome != NULL, FALSE);
  if (!ef_transaction_begin (&transaction, &store->sql, error)
      || !ef_sql_run (&store->sql, NULL, error, "DELETE FROM outcome_finding WHERE job = ?", "i", job)
      || !ef_sql_run (&store->sql, NULL, error, "DELETE FROM outcome_clearance WHERE job = ?", "i", job)
      || !ef_sql_run (&store->sql, &changed, error,
                      "INSERT OR REPLACE INTO outcome (job, form, seq, rules, hours, reworked)"
                      " SELECT id, " FORM_TEXT ", ?2, ?3, ?4, CASE WHEN ?5 = 0 THEN '' ELSE coalesce (?6, day) END FROM job WHERE id = ?1 AND lesson = ''", "iisdis",
                      job, row, outcome->rules, outcome->hours, (gint64) outcome->reworked, outcome->reworked_day))
    return FALSE;
  if (changed == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected job %" G_GINT64_FORMAT ", found none", store->sql.name, job);
      return FALSE;
    }

  return write_lists (store, job, outcome, error)
         && ef_store_update_text (store, job, error)
         && ef_transaction_commit (&transaction, error);
}

GArray *
ef_store_stale_outcomes (EfStore *store,
                         guint limit,
                         GError **error)
{
  g_autoptr (GArray) ids = g_array_new (FALSE, FALSE, sizeof (gint64));
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL, NULL);
  statement = ef_sql_query (&store->sql, error,
                            "SELECT job.id FROM job LEFT JOIN outcome ON outcome.job = job.id WHERE withdrawn = 0 AND lesson = ''"
                            " AND (outcome.job IS NULL OR outcome.form <> " FORM_TEXT " OR outcome.seq < " LAST_ROW ")"
                            " ORDER BY job.day DESC, job.id DESC LIMIT ?",
                            "i", limit > 0 ? (gint64) limit : (gint64) -1);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  while (row)
    {
      gint64 id = sqlite3_column_int64 (statement, 0);

      g_array_append_val (ids, id);
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&ids);
}

gboolean
ef_store_outcome_stale (EfStore *store,
                        gint64 job,
                        const char *rules,
                        gboolean *stale_out,
                        GError **error)
{
  gint64 current;

  g_return_val_if_fail (store != NULL && rules != NULL && stale_out != NULL, FALSE);
  if (!ef_sql_integer (&store->sql, 0, &current, error,
                       "SELECT CASE WHEN lesson <> '' THEN 1 ELSE coalesce (outcome.form = " FORM_TEXT " AND outcome.rules = ? AND outcome.seq >= " LAST_ROW
                       ", 0) END FROM job LEFT JOIN outcome ON outcome.job = job.id WHERE job.id = ?", "si", rules, job))
    return FALSE;
  *stale_out = current == 0;

  return TRUE;
}
