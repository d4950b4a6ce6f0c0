/* Works out, one after another in the background, the verdicts that the jobs list lacks.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A job that is opened gets its verdict from its session; those that were only imported get it here, the newest first.
 */
#pragma once

#include <gio/gio.h>
#include "../record/ef-store.h"

G_BEGIN_DECLS

#define EF_TYPE_VERDICT_FILLER (ef_verdict_filler_get_type ())
G_DECLARE_FINAL_TYPE (EfVerdictFiller, ef_verdict_filler, EF, VERDICT_FILLER, GObject)

/* Signal "filled": another job has its verdict. */
EfVerdictFiller *ef_verdict_filler_new (void);
/* Stops what runs; @store is borrowed, NULL: none. */
void ef_verdict_filler_set_store (EfVerdictFiller *self, EfStore *store);
/* Begins, unless it runs already. To be called whenever jobs were added. */
void ef_verdict_filler_start (EfVerdictFiller *self);
/* While held nothing new is begun: somebody waits for something else. */
void ef_verdict_filler_hold (EfVerdictFiller *self, gboolean held);
gboolean ef_verdict_filler_busy (EfVerdictFiller *self);

G_END_DECLS
