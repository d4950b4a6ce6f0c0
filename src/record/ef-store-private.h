/* What the files of the store share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-permit.h"
#include "ef-sql.h"
#include "ef-store.h"

G_BEGIN_DECLS

struct _EfStore
{
  EfSql sql;
  char *path;
  GHashTable *sheets; /* digest -> EfPumpSheet *: jobs of one pump share it; a row id may be another sheet's after a rollback */
  char *role;         /* who is at work; NULL: the job's header says */
  EfPermit *permit;   /* what a role check has allowed and nothing has used yet; NULL */
  gboolean read_only;
  char *rules;        /* version of the rule set that goes into the history; NULL until it's needed */
};

extern const char *ef_store_fixed_time; /* for tests of a clock that is set back; NULL: the clock */
char *ef_store_now (void); /* UTC, ISO 8601 */
/* Pump sheets. */
gint64 ef_store_keep_sheet (EfStore *store, const EfPumpSheet *sheet, GError **error); /* row id; 0 on error */
EfPumpSheet *ef_store_job_sheet (EfStore *store, gint64 job, GError **error);          /* a reference */
/* Items as JSON, and back with messages that say where they stood. */
char *ef_store_item_text (const EfItem *item);
EfItem *ef_store_item_parse (EfStore *store, gint64 job, EfItemKind kind, const char *id, const char *text, GError **error);
/* ef_store_load() within a transaction. */
EfInspection *ef_store_load_inside (EfStore *store, gint64 job, GError **error);
/* ef_store_add() within a transaction. @label: of its row of history. */
gint64 ef_store_add_inside (EfStore *store, const EfInspection *inspection, const char *label, GError **error);
/* History. */
EfHistoryRow *ef_store_history_row (sqlite3_stmt *statement); /* seq, time, role, bench, program, label [, rules, action, reason, clock_back] */
char *ef_store_edits_text (const EfChange *change);
gboolean ef_store_add_history (EfStore *store, gint64 job, const char *time, const char *label, const char *edits, GError **error);
/* A row that is more than an edit. @edits NULL: none; @role NULL: the header's. @seq_out (or NULL) receives its number. */
typedef struct
{
  const char *time, *label, *edits, *role, *action, *reason;
} EfHistoryEntry;
gboolean ef_store_add_entry (EfStore *store, gint64 job, const EfHistoryEntry *entry, gint64 *seq_out, GError **error);
const char *ef_store_rules (EfStore *store);
/* FALSE (EF_ERROR_INVALID) for a job that is withdrawn or sealed. Within the transaction that is to change it. */
gboolean ef_store_check_open (EfStore *store, gint64 job, GError **error);
/* The job's row in the list from its header; @time is when it changed. */
gboolean ef_store_update_row (EfStore *store, gint64 job, const EfJobHeader *header, const char *time, GError **error);
/* What the list and the search know of its items; @changed_out (or NULL): 0 where there's no such job. */
gboolean ef_store_update_findings (EfStore *store, gint64 job, const char *time, int *changed_out, GError **error);
gboolean ef_store_update_text (EfStore *store, gint64 job, GError **error); /* that is searched */

/* Moves on the shelf what the change puts into the job or takes out of it. Inside the change's transaction. */
gboolean ef_store_shelf_follow (EfStore *store, gint64 job, const EfChange *change, const char *time, GError **error);

G_END_DECLS
