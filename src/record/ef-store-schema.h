/* The store's tables and how older ones become the present ones.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-sql.h"

G_BEGIN_DECLS

#define EF_STORE_APPLICATION_ID 0x45664374 /* "EfCt" */

/* What an item's row keeps beside its body, for finding: the kind of a mark; what a person wrote in it. SQL over the names of the
 * item's kind and body. Used by step 3 too: change them only together with a new step that fills the columns again. */
#define EF_SQL_ITEM_TAG(kind, body) "CASE " kind " WHEN 'mark' THEN json_extract (" body ", '$.kind') END"
#define EF_SQL_ITEM_WORDS(body)                               \
  "nullif (coalesce (json_extract (" body ", '$.note') || char (10), '')" \
  " || coalesce (json_extract (" body ", '$.complaint') || char (10), '')" \
  " || coalesce (json_extract (" body ", '$.reason'), ''), '')"
/* Of a row of the job table: its kinds of mark as ",groove,lip,"; all text that is searched. */
#define EF_SQL_JOB_FINDINGS                                                                        \
  "coalesce ((SELECT ',' || group_concat (DISTINCT tag) || ',' FROM item WHERE item.job = job.id" \
  " AND tag IS NOT NULL), '')"
#define EF_SQL_JOB_TEXT                                                                               \
  "job.search || char (10) || ef_fold (coalesce ((SELECT group_concat (words, char (10)) FROM (SELECT words FROM item" \
  " WHERE item.job = job.id AND words IS NOT NULL ORDER BY item.rowid)), ''))"

gint64 ef_store_schema_version (void); /* the present one */
/* Refuses what is no store of ours or is newer (EF_ERROR_NEWER_FORMAT) before anything is written. */
gboolean ef_store_schema_check (const EfSql *sql, GError **error);
/* From the version found to @target (0: the present one), each step in a transaction of its own. Needs the SQL function ef_fold(). */
gboolean ef_store_schema_migrate (const EfSql *sql, gint64 target, GError **error);
/* Case-folded, composed text for searching; free with g_free(). */
char *ef_store_fold (const char *text);
gboolean ef_store_schema_add_functions (const EfSql *sql, GError **error);

G_END_DECLS
