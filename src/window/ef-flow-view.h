/* What the pump delivers, on the verdict page: three states, the two plots, what each fault costs, what was taken for granted.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Follows the session; while a finer answer is on its way the last one that had curves stays, and is said to be old.
 */
#pragma once

#include "ef-session.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_FLOW_VIEW (ef_flow_view_get_type ())
G_DECLARE_FINAL_TYPE (EfFlowView, ef_flow_view, EF, FLOW_VIEW, GtkWidget)

GtkWidget *ef_flow_view_new (EfSession *session);
/* What stands in the table: "Hot-idle pressure: as new 1.40 bar, …", a line a row. Free with g_free(). */
char *ef_flow_view_text (EfFlowView *self);
/* What stands under "How sure the figures as found are". */
const char *ef_flow_view_sure (EfFlowView *self);

G_END_DECLS
