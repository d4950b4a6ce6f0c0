/* The sealing key: look at it, keep it elsewhere, another passphrase, a new key, and back from what was kept.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each is done in a worker with a store handle of its own, by the same functions as "endfloat seal".
 */
#pragma once

#include <adwaita.h>
#include "../record/ef-store.h"

G_BEGIN_DECLS

#define EF_TYPE_KEY_WINDOW (ef_key_window_get_type ())
G_DECLARE_FINAL_TYPE (EfKeyWindow, ef_key_window, EF, KEY_WINDOW, AdwWindow)

/* @store must outlive it. */
EfKeyWindow *ef_key_window_show (GtkWidget *parent, EfStore *store);
gboolean ef_key_window_busy (EfKeyWindow *self);
/* As after choosing a file. */
void ef_key_window_export (EfKeyWindow *self, const char *path);
void ef_key_window_restore (EfKeyWindow *self, const char *path);

G_END_DECLS
