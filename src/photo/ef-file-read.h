/* Reading a file that is to be taken into the store: a regular one, of a size that the store takes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gio/gio.h>

G_BEGIN_DECLS

/* All of it. @name and @what ("a photo") are for messages. EF_ERROR_INVALID: a folder, a device, no bytes; EF_ERROR_RANGE: above EF_STORE_FILE_LIMIT, of which
 * hardly more is read; EF_ERROR_CANCELLED; EF_ERROR_IO. */
GBytes *ef_file_read_limited (GFile *file, const char *name, const char *what, GCancellable *cancellable, GError **error);

G_END_DECLS
