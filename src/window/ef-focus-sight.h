/* Keeping what has the keyboard in sight when the page around it grows.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gtk/gtk.h>

G_BEGIN_DECLS

/* When what @scrolled holds changes its height, so that an answer that comes in pushes the cursor out of sight, it scrolls after it. A user who had
 * scrolled the cursor away is left where he is. For a scrolled window around a viewport; lasts as long as @scrolled. */
void ef_keep_focus_in_sight (GtkScrolledWindow *scrolled);

G_END_DECLS
