/* The jobs that were withdrawn: when, by whom and why; and back into use with a reason.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../record/ef-store.h"

G_BEGIN_DECLS

#define EF_TYPE_WITHDRAWN_WINDOW (ef_withdrawn_window_get_type ())
G_DECLARE_FINAL_TYPE (EfWithdrawnWindow, ef_withdrawn_window, EF, WITHDRAWN_WINDOW, AdwWindow)

/* @store must outlive it. Signal "reinstated". */
EfWithdrawnWindow *ef_withdrawn_window_show (GtkWidget *parent, EfStore *store);

G_END_DECLS
