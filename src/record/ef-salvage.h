/* What can still be read of a damaged store, taken out into exchange files or into a new store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Nothing is written to the store. A job whose present items can't be read is replayed from its history where that can. Sealed jobs come with
 * their seals where those can be read. A new store has more: every row of history, the chain of seals, gauges, shelf, files, roles and lessons.
 */
#pragma once

#include <gio/gio.h>
#include "ef-store.h"
#include "ef-verify.h"

G_BEGIN_DECLS

typedef struct
{
  gint64 n_jobs;     /* that there is a trace of */
  gint64 n_written;
  gint64 n_replayed; /* of those: from the history */
  GPtrArray *losses; /* char *: a job that couldn't be read and why; a seal that didn't come along; places of the list that can't be read */
  EfVerification *verification; /* of a new store: which seals hold in it; NULL of exchange files */
} EfSalvage;
void ef_salvage_free (EfSalvage *salvage);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfSalvage, ef_salvage_free)

typedef void (*EfSalvageProgress) (double share, gpointer user_data); /* 0 … 1 */

/* One file a job, "NUMBER.json" in @folder, which is made; files that are there are left, the new one gets another name ("NUMBER-2.json"). An error is only set where
 * nothing can be read at all, the folder can't be written, or it's cancelled. @progress may be NULL. */
EfSalvage *ef_salvage (const char *store_path, const char *folder, EfSalvageProgress progress, gpointer user_data,
                       GCancellable *cancellable, GError **error);

/* A new store at @path, where there must be none, and beside it "@path.report.txt" (ef_salvage_report()). Rows that can't be read are left out and told by table; a job whose items can't all
 * be read has them made again from its history where that is whole; one of which neither can be read is as it was sealed last, or isn't taken over. A job's own row is made again from what else tells of it
 * (ef-salvage-job.c). Seals are taken over as they are: @verification says which hold. An error is only set where nothing can be read at all, @path can't be written, or it's cancelled; then nothing is left at @path. Takes long: for a worker. */
EfSalvage *ef_salvage_store (const char *store_path, const char *path, EfSalvageProgress progress, gpointer user_data,
                             GCancellable *cancellable, GError **error);
/* What there is to say of it, in lines. Free with g_free(). */
char *ef_salvage_report (const EfSalvage *salvage);

G_END_DECLS
