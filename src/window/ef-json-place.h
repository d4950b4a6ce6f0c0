/* Where in a JSON text the value with a given path stands.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

/* @path as in messages: "$.sections[0].module_mm". Gives the bytes of the value, or of the nearest value above it that
 * is there (a missing member shows its object). FALSE when the text can't be followed that far. */
gboolean ef_json_place (const char *text, const char *path, gsize *start_out, gsize *end_out);
/* The path or line that a message "file: $.path: …" or "file: line 12: …" speaks of: path_out is NULL or owned by the
 * caller, line_out is 0 or counts from 1. */
void ef_json_message_place (const char *message, char **path_out, guint *line_out);

G_END_DECLS
