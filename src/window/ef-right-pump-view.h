/* Which pump model suits the demand.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_RIGHT_PUMP_VIEW (ef_right_pump_view_get_type ())
G_DECLARE_FINAL_TYPE (EfRightPumpView, ef_right_pump_view, EF, RIGHT_PUMP_VIEW, GtkBox)

GtkWidget *ef_right_pump_view_new (EfSession *session);

G_END_DECLS
