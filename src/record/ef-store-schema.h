/* The store's tables and how older ones become the present ones.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gio/gio.h>
#include "ef-sql.h"

G_BEGIN_DECLS

#define EF_STORE_APPLICATION_ID 0x45664374 /* "EfCt" */

/* What an item's row keeps beside its body, for finding: the kind of a mark; what a person wrote in it. SQL over the names of the
 * item's kind and body. Used by steps too: change them only together with a new step that fills the columns again, and keep what earlier steps use
 * under a name of its own. */
#define EF_SQL_ITEM_TAG(kind, body) "CASE " kind " WHEN 'mark' THEN json_extract (" body ", '$.kind') END"
#define EF_SQL_ITEM_WORDS(body)                               \
  "nullif (coalesce (json_extract (" body ", '$.note') || char (10), '')" \
  " || coalesce (json_extract (" body ", '$.complaint') || char (10), '')" \
  " || coalesce (json_extract (" body ", '$.oil') || char (10), '')" \
  " || coalesce (json_extract (" body ", '$.shelf') || char (10), '')" \
  " || coalesce (json_extract (" body ", '$.from_job') || char (10), '')" \
  " || coalesce (json_extract (" body ", '$.reason'), ''), '')"
/* Of a row of the job table: its kinds of mark as ",groove,lip,"; the list's own fields that are searched; all text that is searched, with the
 * findings in words. */
#define EF_SQL_JOB_FINDINGS                                                                        \
  "coalesce ((SELECT ',' || group_concat (DISTINCT tag) || ',' FROM item WHERE item.job = job.id" \
  " AND tag IS NOT NULL), '')"
#define EF_SQL_JOB_SEARCH "ef_plain (number || char (10) || pump || char (10) || model || char (10) || serial || char (10) || customer)"
#define EF_SQL_JOB_TEXT                                                                               \
  "job.search || char (10) || ef_plain (coalesce ((SELECT group_concat (words, char (10)) FROM (SELECT words FROM item" \
  " WHERE item.job = job.id AND words IS NOT NULL ORDER BY item.rowid)), '')) || char (10) || replace (job.findings, '-', ' ')" \
  " || coalesce ((SELECT group_concat (replace (finding, '-', ' '), ',') FROM (SELECT DISTINCT finding FROM outcome_finding" \
  " WHERE outcome_finding.job = job.id AND source = 'rule' ORDER BY finding)), '')"

/* As step 3 had them; stores from before the step that EF_STORE_PLAIN_VERSION names have them still. */
#define EF_SQL_ITEM_WORDS_3(body)                               \
  "nullif (coalesce (json_extract (" body ", '$.note') || char (10), '')" \
  " || coalesce (json_extract (" body ", '$.complaint') || char (10), '')" \
  " || coalesce (json_extract (" body ", '$.reason'), ''), '')"
#define EF_SQL_JOB_SEARCH_3 "ef_fold (number || char (10) || pump || char (10) || model || char (10) || serial || char (10) || customer)"
#define EF_SQL_JOB_TEXT_3                                                                               \
  "job.search || char (10) || ef_fold (coalesce ((SELECT group_concat (words, char (10)) FROM (SELECT words FROM item" \
  " WHERE item.job = job.id AND words IS NOT NULL ORDER BY item.rowid)), ''))"
#define EF_STORE_PLAIN_VERSION 10

gint64 ef_store_schema_version (void); /* the present one */
/* Refuses what is no store of ours or is newer (EF_ERROR_NEWER_FORMAT) before anything is written. */
gboolean ef_store_schema_check (const EfSql *sql, GError **error);
/* From the version found to @target (0: the present one), all steps in one transaction: all or none. Needs the SQL functions. */
gboolean ef_store_schema_migrate (const EfSql *sql, gint64 target, GError **error);
typedef struct
{
  void (*progress) (double share, gpointer user_data); /* 0 … 1, by steps; NULL none */
  gpointer user_data;
  GCancellable *cancellable; /* EF_ERROR_CANCELLED, within a step too; NULL none */
} EfSchemaWatch;
gboolean ef_store_schema_migrate_watched (const EfSql *sql, gint64 target, const EfSchemaWatch *watch, GError **error);
/* Whether it has the tables, columns, indices and triggers of @version (EF_ERROR_CORRUPT names what is missing); what it has besides doesn't matter. */
gboolean ef_store_schema_compare (const EfSql *sql, gint64 version, GError **error);
/* Case-folded, composed text for searching; free with g_free(). */
char *ef_store_fold (const char *text);
/* The same without accents: "Änne" becomes "anne". */
char *ef_store_plain (const char *text);
/* ef_fold() and ef_plain() of SQL. */
gboolean ef_store_schema_add_functions (const EfSql *sql, GError **error);

G_END_DECLS
