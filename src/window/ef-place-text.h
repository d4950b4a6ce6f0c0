/* Places on a face as typed: "12.5, -3" or "12,5 -3 mm; 14 2", with units and comma decimals.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../wear/ef-mark.h"

G_BEGIN_DECLS

/* One place: two lengths, a bare number in @unit. Between them a comma and a space, a space, or a lone comma; a comma
 * between digits is a decimal one as long as two numbers remain. Fails with EF_ERROR_PARSE. */
gboolean ef_parse_place (const char *text, EfUnit unit, double *u_out, double *v_out, GError **error);
/* Several, parted by semicolons or new lines: EfMarkNode. NULL on failure; the message says which place it is about. */
GArray *ef_parse_places (const char *text, EfUnit unit, GError **error);
/* "12.5, -3 mm": reads back to the same. */
char *ef_format_place (double u, double v, EfUnit unit);
/* A length with as many decimals as it needs to read back to the same: "0.04 mm". */
char *ef_format_exact (double metres, EfUnit unit);

G_END_DECLS
