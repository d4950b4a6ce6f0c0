/* Withdrawn, sealed or open.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-standing.h"
#include "ef-store-private.h"

#include <string.h>

gboolean
ef_store_standing (EfStore *store,
                   gint64 job,
                   EfStanding *standing,
                   GError **error)
{
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL && standing != NULL, FALSE);
  statement = ef_sql_query (&store->sql, error, "SELECT withdrawn, sealed, revision FROM job WHERE id = ?", "i", job);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return FALSE;
  if (!row)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected job %" G_GINT64_FORMAT ", found none", store->sql.name, job);
      return FALSE;
    }
  standing->withdrawn = sqlite3_column_int (statement, 0) != 0;
  standing->sealed = sqlite3_column_int64 (statement, 1);
  standing->revision = (guint) sqlite3_column_int64 (statement, 2);

  return TRUE;
}

gboolean
ef_store_check_open (EfStore *store,
                     gint64 job,
                     GError **error)
{
  EfStanding standing;
  gint64 handed_in;

  if (!ef_store_standing (store, job, &standing, error)
      || !ef_sql_integer (&store->sql, 0, &handed_in, error, "SELECT handed_in <> '' FROM attempt WHERE job = ?", "i", job))
    return FALSE;
  if (handed_in != 0)
    g_set_error (error, EF_ERROR, EF_ERROR_INVALID,
                 "%s: attempt %" G_GINT64_FORMAT ": expected one that is under way, found it handed in; start another", store->sql.name, job);
  else if (standing.withdrawn)
    g_set_error (error, EF_ERROR, EF_ERROR_INVALID,
                 "%s: job %" G_GINT64_FORMAT ": expected a job in use, found it withdrawn; reinstate it first", store->sql.name, job);
  else if (standing.sealed != 0)
    g_set_error (error, EF_ERROR, EF_ERROR_INVALID,
                 "%s: job %" G_GINT64_FORMAT ": expected an open job, found it sealed; open a revision that says why first", store->sql.name, job);

  return handed_in == 0 && !standing.withdrawn && standing.sealed == 0;
}

static gboolean
has_words (const char *text)
{
  g_autofree char *copy = g_strdup (text != NULL ? text : "");

  return g_utf8_validate (copy, -1, NULL) && *g_strstrip (copy) != '\0';
}

/* One row of history and one statement that changes the job's row, which must hit it: where it doesn't, the job is so already. */
static gboolean
change_standing (EfStore *store,
                 gint64 job,
                 const EfHistoryEntry *entry,
                 const char *statement,
                 const char *expected,
                 GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autofree char *time = ef_store_now ();
  EfHistoryEntry timed = *entry;
  EfStanding standing;
  int changed;

  timed.time = time;
  if (!has_words (entry->reason))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: reason: expected some words, found none", store->sql.name);
      return FALSE;
    }
  if (!ef_transaction_begin (&transaction, &store->sql, error)
      || !ef_store_standing (store, job, &standing, error)
      || !ef_sql_run (&store->sql, &changed, error, statement, "si", time, job))
    return FALSE;
  if (changed == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: job %" G_GINT64_FORMAT ": %s", store->sql.name, job, expected);
      return FALSE;
    }

  return ef_store_add_entry (store, job, &timed, NULL, error) && ef_transaction_commit (&transaction, error);
}

gboolean
ef_store_withdraw (EfStore *store,
                   gint64 job,
                   const char *role,
                   const char *reason,
                   GError **error)
{
  const EfHistoryEntry entry = { .label = "Job withdrawn", .action = "withdraw", .role = role, .reason = reason };

  g_return_val_if_fail (store != NULL, FALSE);

  return change_standing (store, job, &entry, "UPDATE job SET withdrawn = 1, changed = ? WHERE id = ? AND withdrawn = 0",
                          "expected a job in use, found it withdrawn already", error);
}

gboolean
ef_store_reinstate (EfStore *store,
                    gint64 job,
                    const char *role,
                    const char *reason,
                    GError **error)
{
  const EfHistoryEntry entry = { .label = "Job reinstated", .action = "reinstate", .role = role, .reason = reason };

  g_return_val_if_fail (store != NULL, FALSE);

  return change_standing (store, job, &entry, "UPDATE job SET withdrawn = 0, changed = ? WHERE id = ? AND withdrawn = 1",
                          "expected a withdrawn job, found it in use", error);
}

gboolean
ef_store_open_revision (EfStore *store,
                        gint64 job,
                        const char *role,
                        const char *reason,
                        GError **error)
{
  const EfHistoryEntry entry = { .label = "Revision opened", .action = "revise", .role = role, .reason = reason };

  g_return_val_if_fail (store != NULL, FALSE);

  return change_standing (store, job, &entry,
                          "UPDATE job SET sealed = 0, revision = revision + 1, changed = ? WHERE id = ? AND sealed <> 0 AND withdrawn = 0",
                          "expected a sealed job that isn't withdrawn, found none", error);
}

void
ef_withdrawal_free (EfWithdrawal *withdrawal)
{
  if (withdrawal == NULL)
    return;
  g_free (withdrawal->time);
  g_free (withdrawal->role);
  g_free (withdrawal->reason);
  g_free (withdrawal);
}

EfWithdrawal *
ef_store_withdrawal (EfStore *store,
                     gint64 job,
                     GError **error)
{
  g_autoptr (sqlite3_stmt) statement = NULL;
  EfWithdrawal *withdrawal;
  gboolean row;

  g_return_val_if_fail (store != NULL, NULL);
  statement = ef_sql_query (&store->sql, error, "SELECT time, role, reason FROM change WHERE job = ? AND action = 'withdraw' ORDER BY seq DESC LIMIT 1", "i", job);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  if (!row)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected job %" G_GINT64_FORMAT " to have been withdrawn, found that it never was", store->sql.name, job);
      return NULL;
    }
  withdrawal = g_new0 (EfWithdrawal, 1);
  withdrawal->time = ef_sql_column_text (statement, 0);
  withdrawal->role = ef_sql_column_text (statement, 1);
  withdrawal->reason = ef_sql_column_text (statement, 2);

  return withdrawal;
}
