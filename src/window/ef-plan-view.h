/* The lapping plan: what comes off which face and why, end clearance before and after, the alternatives to choose from, or why it can't be done.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_PLAN_VIEW (ef_plan_view_get_type ())
G_DECLARE_FINAL_TYPE (EfPlanView, ef_plan_view, EF, PLAN_VIEW, GtkBox)

GtkWidget *ef_plan_view_new (EfSession *session);
/* The table as text, a line a face; for tests. Free with g_free(). */
char *ef_plan_view_text (EfPlanView *self);
/* Makes "recommended", "cheapest", "least-stock", "durable" or "sealing" the job's plan, as its button does. */
void ef_plan_view_choose (EfPlanView *self, const char *option);

G_END_DECLS
