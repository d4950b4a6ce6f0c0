/* The backups there are of the store: when, how big, how many jobs, sound or not, what putting one back would take back; and doing it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each is looked through in a worker, newest first. Putting one back closes the store in all windows, keeps it beside under a name with the time,
 * and opens what was put in its place. What can still be read of a damaged store is taken out from here too.
 */
#pragma once

#include "ef-window.h"

G_BEGIN_DECLS

#define EF_TYPE_BACKUPS_WINDOW (ef_backups_window_get_type ())
G_DECLARE_FINAL_TYPE (EfBackupsWindow, ef_backups_window, EF, BACKUPS_WINDOW, AdwWindow)

EfBackupsWindow *ef_backups_window_show (EfWindow *over);
gboolean ef_backups_window_busy (EfBackupsWindow *self); /* something runs in a worker */
/* Without asking. */
void ef_backups_window_restore (EfBackupsWindow *self, const char *backup_path);
/* Into exchange files. */
void ef_backups_window_salvage (EfBackupsWindow *self, const char *folder);
/* Into a new store, where there is none. */
void ef_backups_window_salvage_store (EfBackupsWindow *self, const char *path);

G_END_DECLS
