/* A job's photos read in a worker, so that its report shows them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-session.h"

G_BEGIN_DECLS

/* Reads those of @assessment's photos that no report can show yet. Those that can't be read stay away: the page says so. Never fails but by being cancelled; the callback finds out by
 * ef_report_pictures_finish() whether there is any photo more to show. */
void ef_report_pictures_take (EfSession *session, EfAssessment *assessment, GCancellable *cancellable, GAsyncReadyCallback done, gpointer user_data);
gboolean ef_report_pictures_finish (GAsyncResult *result);
/* The same, answering events until it's done. */
void ef_report_pictures_wait (EfSession *session, EfAssessment *assessment);

G_END_DECLS
