/* Taking over what can be read of a damaged store, row by row.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-salvage.h"
#include "ef-sql.h"
#include "ef-store.h"

G_BEGIN_DECLS

typedef struct
{
  const EfSql *from, *to; /* the damaged one, only read; a new one with the same tables */
  GPtrArray *losses;      /* char * */
  GHashTable *orphans;    /* ids (gint64 *) of jobs whose own row couldn't be read: a stand-in holds what belongs to them */
  EfSalvageProgress progress;
  gpointer user_data;
  GCancellable *cancellable;
} EfSalvageRows;

/* Every table of @to but what is worked out anew. FALSE only where @to can't be written or it's cancelled; what couldn't be read is among the losses. */
gboolean ef_salvage_rows (const EfSalvageRows *rows, GError **error);

/* The row of an orphan, of what @from's indices and @to's items, history and seals say. FALSE: not enough of it can be read, and the stand-in is still there. @told_out: a sentence for the report, either way. */
gboolean ef_salvage_job_row (const EfSql *from, EfStore *to, gint64 job, char **told_out);
/* The job as it was last sealed; NULL where there's no seal that can be read. @verdict_out may be NULL. */
EfInspection *ef_salvage_sealed (EfStore *store, gint64 job, gint64 *seal_out, char **verdict_out);

G_END_DECLS
