/* Is this a PDF with one plain table of its objects? Asked before a library reads it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Packed tables and packed objects (ISO 32000-1, 7.5.7 and 7.5.8) are unpacked by whatever size they turn out to have as soon as a file is opened. With one
 * plain table and no reference to further ones there are none that can be reached.
 */
#pragma once

#include <glib.h>
#include "../base/ef-error.h"

G_BEGIN_DECLS

/* EF_ERROR_PARSE: not a PDF, encrypted, or saved anew by another program. EF_ERROR_CORRUPT: cut off or damaged. EF_ERROR_RANGE: too large. */
gboolean ef_pdf_check_shape (const char *data, gsize length, const char *name, GError **error);

G_END_DECLS
