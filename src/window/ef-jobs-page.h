/* The list of jobs: search, filters, sorting by column, export.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../record/ef-store.h"

G_BEGIN_DECLS

#define EF_TYPE_JOBS_PAGE (ef_jobs_page_get_type ())
G_DECLARE_FINAL_TYPE (EfJobsPage, ef_jobs_page, EF, JOBS_PAGE, GtkBox)

void ef_jobs_page_set_store (EfJobsPage *self, EfStore *store); /* borrowed */
void ef_jobs_page_refresh (EfJobsPage *self);
void ef_jobs_page_search (EfJobsPage *self);
/* Writes the jobs shown as CSV, and tells in the window what became of it. */
void ef_jobs_page_export (EfJobsPage *self, const char *path);
/* The rows as shown, of EfJobObject; borrowed. */
GListModel *ef_jobs_page_rows (EfJobsPage *self);

G_END_DECLS
