/* Changes to the shape and the depths of a mark: on a copy, before it is handed to a command.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../wear/ef-mark.h"

G_BEGIN_DECLS

/* Nodes a shape can't do without. */
guint ef_mark_edit_least_nodes (EfMarkShape shape);
/* A depth read at a node goes with it. */
void ef_mark_edit_move_node (EfMark *mark, guint i, double u, double v);
void ef_mark_edit_insert_node (EfMark *mark, guint i, double u, double v); /* before node @i; i = number of nodes: at the end */
/* FALSE, changing nothing, when the shape would lose a node that it needs. A depth read there is dropped. */
gboolean ef_mark_edit_remove_node (EfMark *mark, guint i);
/* The depth read at a node; NULL if none. Borrowed. */
const EfMarkDepth *ef_mark_edit_node_depth (const EfMark *mark, guint i);
/* @depth NAN: none there. */
void ef_mark_edit_set_node_depth (EfMark *mark, guint i, double depth, EfUnit unit, const char *gauge_id);
/* Drops points of a freehand path (EfMarkNode) that lie within @tolerance of what remains. */
void ef_mark_edit_simplify (GArray *nodes, double tolerance);
/* Where a new node would go: the nearest place on the outline, and the index to insert it at. FALSE for points. */
gboolean ef_mark_edit_nearest_segment (const EfMark *mark, double u, double v, guint *index_out, double *u_out, double *v_out);

G_END_DECLS
