/* The application: one store, its windows, what the command line asks of them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../record/ef-store.h"
#include "ef-keeper.h"

G_BEGIN_DECLS

#define EF_TYPE_APPLICATION (ef_application_get_type ())
G_DECLARE_FINAL_TYPE (EfApplication, ef_application, EF, APPLICATION, AdwApplication)

/* @store_path: NULL for the usual place. */
EfApplication *ef_application_new (const char *store_path);
/* Borrowed; NULL and the reason when the store can't be opened. */
EfStore *ef_application_store (EfApplication *self, const char **reason_out);
EfKeeper *ef_application_keeper (EfApplication *self); /* borrowed */
const char *ef_application_store_path (EfApplication *self); /* also of one that can't be opened */
/* Why the store is damaged, as far as it's known; NULL while nothing is. */
const char *ef_application_store_damage (EfApplication *self);
/* Closes the store in all windows, with what is open of it, until ef_application_use_store(). */
void ef_application_release_store (EfApplication *self);
/* Closes what is open and opens another file; FALSE and the reason as in ef_application_store() on failure. The windows show it. One of an earlier version is brought up
 * to date in a worker first: FALSE then too, and ef_application_upgrading() is TRUE until that is done, has failed or was stopped. */
gboolean ef_application_use_store (EfApplication *self, const char *path);
/* @share_out (or NULL): how far, 0 … 1. */
gboolean ef_application_upgrading (EfApplication *self, double *share_out);
/* The store is left as it was. */
void ef_application_stop_upgrade (EfApplication *self);
/* It failed since no backup can be made: going on without one is for who says so. */
gboolean ef_application_lacks_backup (EfApplication *self);
/* Whether it was stopped by whoever waited for it, so that the store isn't open. */
gboolean ef_application_upgrade_stopped (EfApplication *self);
void ef_application_upgrade_anyway (EfApplication *self);

G_END_DECLS
