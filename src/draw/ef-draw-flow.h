/* What the pump delivers, in pictures: delivery against pressure, hot-idle pressure against end clearance, what each fault
 * costs, whether the pump is to blame.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The three states are told apart by line and marker as well as by colour. Each fills width x height from the origin; where what it
 * shows isn't known it says so in words. @assessment in full detail has it all; in coarser detail the curves are still missing.
 */
#pragma once

#include "ef-draw-text.h"

G_BEGIN_DECLS

/* "as new", "as found", "after rework" for people. */
const char *ef_draw_state_word (EfPumpState state);
void ef_draw_state_colour (EfPumpState state, const EfDrawStyle *style, double rgb[3]);
/* A state's marker: ring, full square, open diamond; @radius target units. */
void ef_draw_state_marker (cairo_t *cr, const EfDrawStyle *style, EfPumpState state, double x, double y, double radius);

/* Delivery against pressure at hot idle with the engine's demand and the points where both meet. */
void ef_draw_flow_delivery (cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, double width, double height);
/* Hot-idle pressure against cold end clearance, the other wear as found; limits and the three states marked. */
void ef_draw_flow_idle_pressure (cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, double width, double height);
/* What each clearance and face, and under it its marks, costs at hot idle: dearest first. What doesn't fit is counted in words. */
void ef_draw_flow_shares (cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, double width, double height);
/* The height at which all of them that are worth showing fit. */
double ef_draw_flow_shares_height (const EfDrawStyle *style, const EfAssessment *assessment, double width);
/* The pressure that a pump as new would have made at the complaint, cut into measured, lost by the pump, lost elsewhere. Draws nothing without a
 * complaint. */
void ef_draw_flow_blame (cairo_t *cr, const EfDrawStyle *style, const EfAssessment *assessment, double width, double height);
double ef_draw_flow_blame_height (const EfDrawStyle *style);

/* Whether the complaint was measured at the speed and temperature of hot idle, so that it belongs in the same plots. */
gboolean ef_draw_flow_complaint_at_idle (const EfAssessment *assessment);

G_END_DECLS
