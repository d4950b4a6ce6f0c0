/* The store's tables and how older ones become the present ones.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-sql.h"

G_BEGIN_DECLS

#define EF_STORE_APPLICATION_ID 0x45664374 /* "EfCt" */

gint64 ef_store_schema_version (void); /* the present one */
/* Refuses what is no store of ours or is newer (EF_ERROR_NEWER_FORMAT) before anything is written. */
gboolean ef_store_schema_check (const EfSql *sql, GError **error);
/* From the version found to @target (0: the present one), each step in a transaction of its own. Needs the SQL function ef_fold(). */
gboolean ef_store_schema_migrate (const EfSql *sql, gint64 target, GError **error);
/* Case-folded, composed text for searching; free with g_free(). */
char *ef_store_fold (const char *text);
gboolean ef_store_schema_add_functions (const EfSql *sql, GError **error);

G_END_DECLS
