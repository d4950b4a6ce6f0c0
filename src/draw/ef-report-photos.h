/* Photos for reports.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gdk-pixbuf/gdk-pixbuf.h>
#include "../inspection/ef-inspection.h"
#include "../record/ef-store.h"

G_BEGIN_DECLS

/* Keeps a photo's pixels, turned as it says, made small enough for a report, under its digest: reports drawn from now on show it. From any thread. A job's photos that weren't handed
 * over are named with their digest, and said not to be at hand. */
void ef_report_keep_photo (const EfPhoto *photo, GdkPixbuf *turned);
/* How many of the job's photos no report can show yet. From any thread. */
guint ef_report_photos_missing (const EfInspection *inspection);
/* The same for all photos of a job that aren't at hand, read from its store. Those that can't be read stay as they were; @trouble (or NULL) gets a line for each, but for one whose file the store never
 * had, which the page itself says. In a worker. */
void ef_report_take_photos (EfStore *store, const EfInspection *inspection, GCancellable *cancellable, GString *trouble);

G_END_DECLS
