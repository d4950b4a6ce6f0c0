/* One text for one JSON value, so that its digest says whether anything in it was changed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * JSON Canonicalization Scheme, RFC 8785: no white space; members by the UTF-16 code units of their names; strings with the fewest
 * escapes; numbers as ECMAScript writes a double (ECMA-262, Number::toString): the fewest digits that read back to it.
 */
#pragma once

#include <json-glib/json-glib.h>
#include "ef-error.h"

G_BEGIN_DECLS

/* UTF-8, no newline at the end; free with g_free(). EF_ERROR_RANGE names the place of a number that isn't finite or of a whole number that no
 * double holds exactly (two such numbers would have one text); EF_ERROR_PARSE that of text that isn't UTF-8. */
char *ef_json_canonical (JsonNode *node, GError **error);
/* @value must be finite. -0 is written "0". */
char *ef_json_canonical_number (double value);
/* Less than, equal to or greater than 0: the order of member names. */
int ef_json_canonical_order (const char *a, const char *b);
/* SHA-256 (FIPS 180-4) as 64 small hexadecimal digits; @length -1: up to the NUL. Free with g_free(). */
char *ef_sha256 (const char *data, gssize length);

G_END_DECLS
