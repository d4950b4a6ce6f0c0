/* From an assessment to the few lines of it that statistics are made of.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../assess/ef-assessment.h"
#include "../record/ef-store-outcome.h"

G_BEGIN_DECLS

/* Kinds of mark by part with the worst verdict they led to; rules that found something wrong on parts, pairs and sections; cold end clearances as found;
 * running hours; whether and when rework was recorded. Of the assessment only findings and verdict are looked at. */
EfOutcome *ef_outcome_of (const EfAssessment *assessment);

typedef void (*EfOutcomeProgress) (guint done, guint all, gpointer user_data);
/* Works out every job of the store that has no up-to-date outcome, newest first, at most @limit (0: all). A job that can't be assessed is passed over and
 * counted in @failed_out (or NULL). What is done stays done when it's cancelled (EF_ERROR_CANCELLED). A store handle of its own is opened for @path, so that
 * any thread may do it. Returns how many were worked out; -1 on error. */
int ef_outcomes_fill (const char *path, guint limit, EfOutcomeProgress progress, gpointer user_data, guint *failed_out, GCancellable *cancellable, GError **error);
/* Keeps what was assessed, where the one that is kept is stale. Attempts at lessons have no outcome. */
gboolean ef_outcome_keep (EfStore *store, gint64 job, const EfAssessment *assessment, GError **error);

G_END_DECLS
