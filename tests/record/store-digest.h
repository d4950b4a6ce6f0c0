/* What a store keeps row by row, as digests: whether anything in it changed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "record/ef-store-private.h"

static const char *const store_tables[] = { "sheet", "job", "item", "change", "gauge", "gauge_change", "seal", "seal_key", "seal_import", "shelf", "shelf_change",
                                            "file", "file_piece", "role", "role_change", "lesson", "attempt" };

/* Of all its rows, SHA-256. */
static inline char *
store_table_digest (EfStore *store,
                    const char *table)
{
  g_autofree char *text = g_strdup_printf ("SELECT rowid, * FROM \"%s\" ORDER BY rowid", table);
  g_autoptr (sqlite3_stmt) rows = ef_sql_query (&store->sql, NULL, text, "");
  g_autoptr (GChecksum) sum = g_checksum_new (G_CHECKSUM_SHA256);
  gboolean row = TRUE;

  while (ef_sql_step (&store->sql, rows, &row, NULL) && row)
    for (int i = 0; i < sqlite3_column_count (rows); i++)
      {
        const void *value = sqlite3_column_blob (rows, i);

        g_checksum_update (sum, value != NULL ? value : (const void *) "-", value != NULL ? sqlite3_column_bytes (rows, i) : 1);
        g_checksum_update (sum, (const guchar *) "|", 1);
      }
  g_assert_false (row);

  return g_strdup (g_checksum_get_string (sum));
}
