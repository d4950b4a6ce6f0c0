/* Tables of comma-separated values as the input of a computation: what ef-study-table.h reads, as the JSON that the computation takes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../base/ef-json.h"

G_BEGIN_DECLS

/* Each: NULL with a message that names @file, row and column, and what was expected. */
char *ef_calc_table_study (const char *text, const char *file, GError **error); /* gauge-study: part, appraiser, trial, value */
char *ef_calc_table_two (const char *text, const char *file, GError **error);   /* agreement: item, rater, category, of two people */
char *ef_calc_table_many (const char *text, const char *file, GError **error);  /* agreement-of-many: the same, everybody rating every item */
/* UTF-8 text of at most 8 MiB. */
char *ef_calc_table_load (const char *path, GError **error);

G_END_DECLS
