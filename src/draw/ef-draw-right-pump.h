/* Pump models compared under a demand.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../assess/ef-right-pump.h"
#include "ef-draw.h"

G_BEGIN_DECLS

/* Hot-idle pressure at the bearings over speed, or over multiples of the demand, of each pump that goes on the same mounting, with what is wanted. */
void ef_draw_right_pump (cairo_t *cr, const EfDrawStyle *style, const EfRightPump *result, gboolean over_speed, double width, double height);

G_END_DECLS
