/* The window: the start pages, or one job.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-application.h"
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_WINDOW (ef_window_get_type ())
G_DECLARE_FINAL_TYPE (EfWindow, ef_window, EF, WINDOW, AdwApplicationWindow)

EfWindow *ef_window_new (EfApplication *application);
EfStore *ef_window_store (EfWindow *self);     /* borrowed; NULL when it can't be opened */
EfSession *ef_window_session (EfWindow *self); /* borrowed; NULL while no job is open */
void ef_window_toast (EfWindow *self, const char *text);
void ef_window_open_job (EfWindow *self, gint64 job);
/* An attempt at a lesson: to go on with, or its result once it is handed in. */
void ef_window_open_attempt (EfWindow *self, gint64 job);
void ef_window_show_start (EfWindow *self);
/* After the application has opened another store, or failed to. */
void ef_window_refresh_store (EfWindow *self);
void ef_window_show_upgrade (EfWindow *self); /* how far the store is brought up to date, where it is */
/* Before it closes the store: nothing of it stays open, nor any other window over this one but that of the backups. */
void ef_window_release_store (EfWindow *self);
/* The line at the foot that says whether the store is damaged or can't be written. */
void ef_window_refresh_notice (EfWindow *self);
/* Puts the demo jobs that are missing into the store and opens the first. */
void ef_window_open_demo (EfWindow *self);
/* Reads exchange files in a worker, adds each as a job and opens the last. A file that can't be read is told by name. */
void ef_window_import (EfWindow *self, GFile **files, guint n_files);
/* Shows the page of the open job: "map", "readings", "verdict", "rework", "record". */
void ef_window_show_page (EfWindow *self, const char *page);
/* Shows the form of the Readings page that this reading belongs to. */
void ef_window_show_reading (EfWindow *self, const EfReading *reading);

/* A row at the foot of the window while something takes long. @cancellable may be NULL: then there is no Cancel. */
void ef_window_begin_work (EfWindow *self, const char *text, GCancellable *cancellable);
void ef_window_end_work (EfWindow *self);
gboolean ef_window_working (EfWindow *self); /* an import is under way, which writes to the store */

/* The window a widget is in; NULL while it's in none. */
EfWindow *ef_window_of (GtkWidget *widget);

G_END_DECLS
