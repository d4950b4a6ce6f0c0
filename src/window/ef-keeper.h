/* The backups that make themselves while the program runs: some time after its start, now and then, after many changes, and when it's closed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * In a worker, as the settings say (on or off, where). A failure is told once, and again only after one that went well.
 */
#pragma once

#include <gio/gio.h>

G_BEGIN_DECLS

#define EF_TYPE_KEEPER (ef_keeper_get_type ())
G_DECLARE_FINAL_TYPE (EfKeeper, ef_keeper, EF, KEEPER, GObject)

/* Signals: "message" (const char *text) for a toast; "made" after a backup was made; "damaged" (const char *reason) where the store was found so. */
EfKeeper *ef_keeper_new (void);
/* The store that is kept from now on; NULL: none. It's looked through at once, and a backup made where one is due. What runs is stopped. */
void ef_keeper_set_store (EfKeeper *self, const char *path);
/* Makes one now where one is due. */
void ef_keeper_look (EfKeeper *self);
/* What is new since the newest backup goes into one more; @callback when that is done, or failed, or there was nothing. */
void ef_keeper_close_async (EfKeeper *self, GAsyncReadyCallback callback, gpointer user_data);
/* After ef_keeper_set_store (NULL): @callback when nothing of it holds the store open any more. */
void ef_keeper_rest_async (EfKeeper *self, GAsyncReadyCallback callback, gpointer user_data);
gboolean ef_keeper_busy (EfKeeper *self);
/* Why the last one failed; NULL when it went well or none was tried. */
const char *ef_keeper_failure (EfKeeper *self);

G_END_DECLS
