/* The nodes of the selected mark as numbers: x, y and the depth read there, each to be typed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-face-canvas.h"

G_BEGIN_DECLS

#define EF_TYPE_NODE_TABLE (ef_node_table_get_type ())
G_DECLARE_FINAL_TYPE (EfNodeTable, ef_node_table, EF, NODE_TABLE, GtkWidget)

GtkWidget *ef_node_table_new (EfSession *session, EfFaceCanvas *canvas);
/* Shows @mark, or nothing for NULL. Texts that could not be read stay, with their message, while the mark is the same. */
void ef_node_table_show (EfNodeTable *self, const EfMark *mark);
/* The entries of a row, for tests: column 0 x, 1 y, 2 depth. NULL where there is none. */
GtkEntry *ef_node_table_entry (EfNodeTable *self, guint row, guint column);
const char *ef_node_table_message (EfNodeTable *self, guint row);

G_END_DECLS
