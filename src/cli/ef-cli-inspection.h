/* What the verbs that work on an inspection share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "../assess/ef-assessment.h"

G_BEGIN_DECLS

/* Loads an exchange file and assesses it with the rule set at @rules (NULL: the one shipped). */
EfAssessment *ef_cli_assess_file (const char *path, const char *rules, GError **error);

G_END_DECLS
