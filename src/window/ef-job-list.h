/* The jobs that fit a query as a list model: only their ids are held, rows are read by pages as they come into view.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gio/gio.h>
#include "ef-job-object.h"

G_BEGIN_DECLS

#define EF_TYPE_JOB_LIST (ef_job_list_get_type ())
G_DECLARE_FINAL_TYPE (EfJobList, ef_job_list, EF, JOB_LIST, GObject)

EfJobList *ef_job_list_new (void);
/* What fits now replaces what was there. FALSE: nothing changed. @store is borrowed. */
gboolean ef_job_list_ask (EfJobList *self, EfStore *store, const EfJobQuery *query, GError **error);
void ef_job_list_clear (EfJobList *self); /* before the store goes */
guint ef_job_list_pages_read (EfJobList *self); /* since it's new: for tests */

G_END_DECLS
