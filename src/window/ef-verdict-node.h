/* A node of the verdict tree as an object that list views can hold.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gio/gio.h>
#include "../assess/ef-assessment.h"

G_BEGIN_DECLS

#define EF_TYPE_VERDICT_NODE (ef_verdict_node_get_type ())
G_DECLARE_FINAL_TYPE (EfVerdictNode, ef_verdict_node, EF, VERDICT_NODE, GObject)

/* Holds a reference to the assessment, of which @verdict is a part. */
EfVerdictNode *ef_verdict_node_new (EfAssessment *assessment, const EfVerdict *verdict);
const EfVerdict *ef_verdict_node_verdict (EfVerdictNode *self);
/* The children as a list model of EfVerdictNode; NULL when there are none. */
GListModel *ef_verdict_node_children (EfVerdictNode *self);

G_END_DECLS
