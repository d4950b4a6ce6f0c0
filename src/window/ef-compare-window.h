/* Two states of a job beside each other: the list of what differs, and the faces that do.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../inspection/ef-inspection.h"

G_BEGIN_DECLS

#define EF_TYPE_COMPARE_WINDOW (ef_compare_window_get_type ())
G_DECLARE_FINAL_TYPE (EfCompareWindow, ef_compare_window, EF, COMPARE_WINDOW, AdwWindow)

/* Takes both; the titles say which states they are. */
EfCompareWindow *ef_compare_window_show (GtkWidget *parent, EfInspection *before, const char *before_title, EfInspection *after, const char *after_title);

G_END_DECLS
