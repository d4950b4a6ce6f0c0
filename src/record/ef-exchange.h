/* The exchange file: pump sheet + header + marks + readings + decisions as one JSON document.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Schema: data/schemas/inspection.schema.json. A round trip loses nothing.
 */
#pragma once

#include "../inspection/ef-inspection.h"

G_BEGIN_DECLS

#define EF_EXCHANGE_FORMAT "endfloat-inspection"
#define EF_EXCHANGE_VERSION 1

EfInspection *ef_exchange_load (const char *path, GError **error);
EfInspection *ef_exchange_parse (const char *text, gssize length, const char *file, GError **error);
char *ef_exchange_write (const EfInspection *inspection); /* text */
gboolean ef_exchange_save (const EfInspection *inspection, const char *path, GError **error); /* atomic */

G_END_DECLS
