/* What the verbs that work on an inspection share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "../assess/ef-assessment.h"
#include "../record/ef-store.h"

G_BEGIN_DECLS

/* Loads an exchange file and assesses it with the rule set at @rules (NULL: the one shipped). */
EfAssessment *ef_cli_assess_file (const char *path, const char *rules, GError **error);
/* Id of the job with that number; 0 and EF_ERROR_NOT_FOUND where there is none. */
gint64 ef_cli_find_job (EfStore *store, const char *number, GError **error);
/* The same of a job, by what the store's other jobs have taught about lapping, as the window does it. */
EfAssessment *ef_cli_assess_job (EfStore *store, gint64 job, const char *rules, GError **error);

G_END_DECLS
