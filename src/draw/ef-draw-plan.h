/* The lapping plan in pictures: end clearance before and after in its window, what lapping leaves of each face, how much of its stock a face gives.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Zones differ in shade and hatch, found and after in shape, so no colour is needed. Each fills width x height from the origin. @unit: of lengths.
 */
#pragma once

#include "ef-draw-text.h"
#include "ef-plan-words.h"

G_BEGIN_DECLS

/* EfPlanBar *, all on one scale. */
void ef_draw_plan_bars (cairo_t *cr, const EfDrawStyle *style, GPtrArray *bars, EfUnit unit, double width, double height);
double ef_draw_plan_bars_height (const EfDrawStyle *style, GPtrArray *bars, double width);
/* Material-ratio curve of the face with the depth that lapping surely reaches and that to which wear may be left. */
void ef_draw_plan_curve (cairo_t *cr, const EfDrawStyle *style, const EfDepthMap *map, const EfPlanRow *row, EfUnit unit, double width, double height);
/* "cleans up 93 % of the land's wear …": the curve's point in words. */
char *ef_draw_plan_curve_words (const EfDepthMap *map, const EfPlanRow *row, EfUnit unit);
/* Removal against the bound, with the least that must come off as a tick. */
void ef_draw_plan_share (cairo_t *cr, const EfDrawStyle *style, const EfPlanRow *row, double width, double height);

G_END_DECLS
