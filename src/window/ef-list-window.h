/* The frame of windows that keep a list of the shop's: a header bar, a column that scrolls, messages at the foot.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>

G_BEGIN_DECLS

/* Puts @column, at most @column_width px wide, and into the header bar @start (NULL: nothing) into @window, which becomes modal. Returns where its messages go,
 * owned by the window. */
AdwToastOverlay *ef_list_window_dress (AdwWindow *window, const char *title, GtkWidget *column, int column_width, GtkWidget *start, int width, int height);

G_END_DECLS
