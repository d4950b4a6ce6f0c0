/* Taking over what can be read of a damaged store, row by row.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-salvage.h"
#include "ef-sql.h"

G_BEGIN_DECLS

typedef struct
{
  const EfSql *from, *to; /* the damaged one, only read; a new one with the same tables */
  GPtrArray *losses;      /* char * */
  GHashTable *orphans;    /* ids (gint64 *) of jobs whose rows were refused because the job's own couldn't be read */
  EfSalvageProgress progress;
  gpointer user_data;
  GCancellable *cancellable;
} EfSalvageRows;

/* Every table of @to but what is worked out anew. FALSE only where @to can't be written or it's cancelled; what couldn't be read is among the losses. */
gboolean ef_salvage_rows (const EfSalvageRows *rows, GError **error);

G_END_DECLS
