/* The application: one store, its windows, what the command line asks of them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../record/ef-store.h"

G_BEGIN_DECLS

#define EF_TYPE_APPLICATION (ef_application_get_type ())
G_DECLARE_FINAL_TYPE (EfApplication, ef_application, EF, APPLICATION, AdwApplication)

/* @store_path: NULL for the usual place. */
EfApplication *ef_application_new (const char *store_path);
/* Borrowed; NULL and the reason when the store can't be opened. */
EfStore *ef_application_store (EfApplication *self, const char **reason_out);
/* Closes what is open and opens another file; FALSE and the reason as in ef_application_store() on failure. */
gboolean ef_application_use_store (EfApplication *self, const char *path);

G_END_DECLS
