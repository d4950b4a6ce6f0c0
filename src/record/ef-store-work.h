/* What the shop's own records say about lapping: all jobs' work as observations.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../rework/ef-after.h"
#include "ef-store.h"

G_BEGIN_DECLS

typedef struct
{
  gint64 job;
  char *number;        /* of the job */
  char *material;
  EfWork *work;
  EfLapObservation observation;
} EfWorkRow;
void ef_work_row_free (EfWorkRow *row);

/* Every record of the store that can be learned from (see ef_after_observation()), oldest first: by its time, then the order of making. They are the jobs' own
 * items, so what is corrected or undone there is so here. @material NULL: all. EfWorkRow *. */
GPtrArray *ef_store_work (EfStore *store, const EfLapTable *table, const char *material, GError **error);
/* The rates learned from them. @rows: all of @material; scores in their order. */
gboolean ef_store_lap_rates (const EfLapTable *table, const char *material, GPtrArray *rows, EfLapLearned *out, GError **error);
/* The shipped table with the rates that the jobs of the store teach, all but @except: what a job's own plan took off isn't to change that plan. */
EfLapTable *ef_store_lap_table (EfStore *store, gint64 except, GError **error);

G_END_DECLS
