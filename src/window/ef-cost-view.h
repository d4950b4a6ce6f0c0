/* What the rework costs, against a new pump, by the shop's own rates.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_COST_VIEW (ef_cost_view_get_type ())
G_DECLARE_FINAL_TYPE (EfCostView, ef_cost_view, EF, COST_VIEW, GtkBox)

GtkWidget *ef_cost_view_new (EfSession *session);

G_END_DECLS
