/* A small table of texts for reading: a grid with a heading row.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gtk/gtk.h>

G_BEGIN_DECLS

/* Column titles, NULL-terminated. */
GtkWidget *ef_table_new (const char *first_title, ...) G_GNUC_NULL_TERMINATED;
/* Texts of one row, NULL-terminated; a row shorter than the table leaves the rest empty. */
void ef_table_row (GtkWidget *table, const char *first_text, ...) G_GNUC_NULL_TERMINATED;

G_END_DECLS
