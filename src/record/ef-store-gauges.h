/* The shop's gauges: kept in the store, apart from the jobs.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A job that uses one takes a copy with the same id, as the gauge was that day, so that the job's file stands alone. Nothing is deleted: a
 * gauge no longer in use is retired with a reason. Every change adds a row of history.
 */
#pragma once

#include "ef-store.h"

G_BEGIN_DECLS

typedef struct
{
  EfGauge *gauge;
  gint64 version; /* counts up with each change: what a later change must name */
  char *retired;  /* why it isn't used any more; NULL in use */
} EfShopGauge;
void ef_shop_gauge_free (EfShopGauge *gauge);

/* EfShopGauge * in order of adding. */
GPtrArray *ef_store_gauges (EfStore *store, gboolean with_retired, GError **error);
/* Adds the gauge (@version 0) or replaces the one of its id. EF_ERROR_BUSY where it isn't at @version any more, since another window changed it;
 * EF_ERROR_INVALID naming the field where the gauge can't be (ef_gauge_check()) or the id is taken; EF_ERROR_NOT_FOUND where the store doesn't have the file of a
 * certificate that is newly attached. @role and @bench go into the history, which also names certificates that were attached and removed. */
gboolean ef_store_put_gauge (EfStore *store, const EfGauge *gauge, gint64 version, const char *role, const char *bench, GError **error);
/* @reason NULL: in use again. EF_ERROR_INVALID for an empty reason. */
gboolean ef_store_retire_gauge (EfStore *store, const char *id, gint64 version, const char *reason, const char *role, const char *bench, GError **error);
/* One usual gauge of each kind, marked as typical and without certificate, if the list has never held any. */
gboolean ef_store_seed_gauges (EfStore *store, GError **error);
/* EfHistoryRow *, oldest first. */
GPtrArray *ef_store_gauge_history (EfStore *store, const char *id, GError **error);

G_END_DECLS
