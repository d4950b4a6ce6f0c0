/* What the files of the JSON reader share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "ef-json.h"

G_BEGIN_DECLS

/* Whether @text is one JSON value by RFC 8259, UTF-8, at most 64 levels deep, without duplicate members, with numbers
 * that fit and text without NUL. Fails with EF_ERROR_PARSE, "file: line N: expected …, found …". */
gboolean ef_json_scan (const char *text, gsize length, const char *file, GError **error);

G_END_DECLS
