/* Rows of the list of jobs as CSV, JSON and a table.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-store.h"

G_BEGIN_DECLS

/* @rows: EfJobRow *. Pressures in bar; what isn't known is left empty. Free with g_free(). */
char *ef_jobs_to_csv (GPtrArray *rows);
/* @n_found: how many fit, of which @rows may be a part. */
char *ef_jobs_to_json (GPtrArray *rows, guint n_found);
char *ef_jobs_to_table (GPtrArray *rows); /* for reading */
/* "sealed (3)", "sealed elsewhere", "withdrawn", "open". Free with g_free(). */
char *ef_job_standing_text (const EfJobRow *row);

G_END_DECLS
