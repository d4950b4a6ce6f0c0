/* The exchange file: pump sheet + header + marks + readings + decisions as one JSON document.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Schema: data/schemas/inspection.schema.json. A round trip loses nothing but a seal, which is passed over here: ef-seal.h and
 * ef-verify.h deal with it.
 */
#pragma once

#include "../inspection/ef-inspection.h"

G_BEGIN_DECLS

#define EF_EXCHANGE_FORMAT "endfloat-inspection"
#define EF_EXCHANGE_VERSION 1

/* From a file, or from text (@length -1: until NUL; @file for messages only). Fails as ef_json_parse(), and with "file: path: expected …" for what isn't an exchange file or
 * doesn't fit its own pump sheet. */
EfInspection *ef_exchange_load (const char *path, GError **error);
EfInspection *ef_exchange_parse (const char *text, gssize length, const char *file, GError **error);
char *ef_exchange_write (const EfInspection *inspection); /* text */
gboolean ef_exchange_save (const EfInspection *inspection, const char *path, GError **error); /* atomic */
gboolean ef_exchange_save_text (const char *text, const char *path, GError **error); /* atomic */
/* The lists of items in the order they are written: "gauges", "marks" …; NULL after the last. */
const char *ef_exchange_list (guint i, EfItemKind *kind_out);

G_END_DECLS
