/* Files that a job names and the store doesn't have: what an exchange file brings along is only their digests.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-store.h"

G_BEGIN_DECLS

/* "J-0412: 2 of 3 photos and 1 certificate of a gauge aren't in this store: IMG 7.jpg, IMG 8.jpg, 114.pdf", at most EF_MISSING_NAMES of them by name. NULL without an error where
 * nothing is missing. */
#define EF_MISSING_NAMES 8
char *ef_store_missing_files (EfStore *store, gint64 job, GError **error);

G_END_DECLS
