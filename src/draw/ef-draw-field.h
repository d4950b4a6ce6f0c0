/* The oil pressure over a face: a quiet fill, isobars with their values, and the force on each gear as an arrow.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../assess/ef-flow-field.h"
#include "ef-draw-text.h"

G_BEGIN_DECLS

/* The fill goes under depth and marks, the isobars over them. */
void ef_draw_field_fill (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFlowField *field);
void ef_draw_field_isobars (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFlowField *field);
/* From each gear's axis in the direction of the force, in newtons beside the point; longest for the largest. */
void ef_draw_field_loads (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFlowField *field);
/* Between isobars, Pa. */
double ef_draw_field_step (const EfFlowField *field);
/* The fill from 0 to the delivery pressure with its ticks, and in words at which speed and temperature. */
void ef_draw_field_legend (cairo_t *cr, const EfDrawStyle *style, const EfFlowField *field, double x, double y, double width, double height);
/* A whole picture of the face with its pressure, filling width x height. */
void ef_draw_field_picture (cairo_t *cr, const EfDrawStyle *style, const EfFaceChart *chart, const EfAssessment *assessment, const EfFlowField *field, double width, double height);

G_END_DECLS
