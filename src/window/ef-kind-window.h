/* "What is this?": a kind of wear in plain words with a drawn example.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../wear/ef-mark.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define EF_TYPE_KIND_WINDOW (ef_kind_window_get_type ())
G_DECLARE_FINAL_TYPE (EfKindWindow, ef_kind_window, EF, KIND_WINDOW, AdwWindow)

/* Shown over @parent (may be NULL); left and right, or the buttons, go to the other kinds, Escape closes. */
EfKindWindow *ef_kind_window_show (GtkWindow *parent, EfMarkKind kind);
EfMarkKind ef_kind_window_kind (EfKindWindow *self);

G_END_DECLS
