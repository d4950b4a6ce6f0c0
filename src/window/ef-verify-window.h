/* Verifying a store or a sealed file: asked for a public key, worked out with progress, and what holds and what doesn't.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>

G_BEGIN_DECLS

#define EF_TYPE_VERIFY_WINDOW (ef_verify_window_get_type ())
G_DECLARE_FINAL_TYPE (EfVerifyWindow, ef_verify_window, EF, VERIFY_WINDOW, AdwWindow)

/* Begins at once. */
EfVerifyWindow *ef_verify_window_show (GtkWidget *parent, const char *path);
/* Another file in the same window; nothing while one is under way. */
void ef_verify_window_verify (EfVerifyWindow *self, const char *path);
gboolean ef_verify_window_busy (EfVerifyWindow *self);

G_END_DECLS
