/* What adding and reading the store's files share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-store-files.h"

G_BEGIN_DECLS

/* The file's row and its number (@id_out may be NULL). EF_ERROR_NOT_FOUND. */
EfFileRow *ef_store_file_find (EfStore *store, const char *digest, gint64 *id_out, GError **error);

G_END_DECLS
