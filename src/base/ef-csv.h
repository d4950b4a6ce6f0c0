/* Comma-separated values as in RFC 4180: lines end with CR LF; a field with a comma, a quote or a line break stands in quotes, its quotes doubled.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * UTF-8, decimal point. Written a line at a time:
 *   ef_csv_text (csv, "J-0412"); ef_csv_number (csv, 0.08); ef_csv_end (csv);
 */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

/* NULL: an empty field. Text that a spreadsheet would take for a formula (begins with = + - @, a tab or a carriage return, and is no number) gets an apostrophe
 * before it: common practice against injected formulas, no source. */
void ef_csv_text (GString *csv, const char *text);
void ef_csv_number (GString *csv, double number); /* 15 significant digits at most; NAN: an empty field */
void ef_csv_integer (GString *csv, gint64 number);
void ef_csv_end (GString *csv); /* of the line */
void ef_csv_head (GString *csv, ...) G_GNUC_NULL_TERMINATED; /* a line of texts */

G_END_DECLS
