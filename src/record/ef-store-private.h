/* What the files of the store share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-sql.h"
#include "ef-store.h"

G_BEGIN_DECLS

struct _EfStore
{
  EfSql sql;
  char *path;
  GHashTable *sheets; /* row id -> EfPumpSheet *: jobs of one pump share it */
};

char *ef_store_now (void); /* UTC, ISO 8601 */
/* Pump sheets. */
gint64 ef_store_keep_sheet (EfStore *store, const EfPumpSheet *sheet, GError **error); /* row id; 0 on error */
EfPumpSheet *ef_store_job_sheet (EfStore *store, gint64 job, GError **error);          /* a reference */
/* Items as JSON, and back with messages that say where they stood. */
char *ef_store_item_text (const EfItem *item);
EfItem *ef_store_item_parse (EfStore *store, gint64 job, EfItemKind kind, const char *id, const char *text, GError **error);
/* History. */
char *ef_store_edits_text (const EfChange *change);
gboolean ef_store_add_history (EfStore *store, gint64 job, const char *time, const char *label, const char *edits, GError **error);
/* The job's row in the list from its header; @time is when it changed. */
gboolean ef_store_update_row (EfStore *store, gint64 job, const EfJobHeader *header, const char *time, GError **error);
/* What the list and the search know of its items; @changed_out (or NULL): 0 where there's no such job. */
gboolean ef_store_update_findings (EfStore *store, gint64 job, const char *time, int *changed_out, GError **error);

G_END_DECLS
