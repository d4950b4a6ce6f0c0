/* Bench view: one step at a time over the whole screen, in letters to be read at arm's length.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_BENCH_VIEW (ef_bench_view_get_type ())
G_DECLARE_FINAL_TYPE (EfBenchView, ef_bench_view, EF, BENCH_VIEW, AdwWindow)

/* Opens over @parent's window at the first step that isn't done. NULL, with a message, while there are no steps. */
EfBenchView *ef_bench_view_show (GtkWidget *parent, EfSession *session);
/* The shown step: 0 … */
guint ef_bench_view_step (EfBenchView *self);

G_END_DECLS
