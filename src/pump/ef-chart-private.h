/* What the files that build and map charts share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-face-chart.h"

G_BEGIN_DECLS

#define EF_CHART_CIRCLE_POINTS 240

/* Builders: fill everything but the ids. Each fails when the face makes no sense or GEOS refuses. */
gboolean ef_chart_build_plan (EfFaceChart *chart, const EfPart *part, GError **error);
gboolean ef_chart_build_unrolled (EfFaceChart *chart, const EfPart *part, GError **error);
gboolean ef_chart_build_gear (EfFaceChart *chart, const EfPart *part, GError **error);

/* Things on a chart; rings and regions are taken. */
void ef_chart_add_line (EfFaceChart *chart, EfLineKind kind, const char *name, gboolean closed, EfRing path);
void ef_chart_add_segment (EfFaceChart *chart, EfLineKind kind, const char *name, double u0, double v0, double u1, double v1);
void ef_chart_add_band (EfFaceChart *chart, const char *name, EfRegion *region);
void ef_chart_add_label (EfFaceChart *chart, const char *role, double u, double v, const char *text);
void ef_chart_snap_point (EfFaceChart *chart, const char *name, double u, double v);
void ef_chart_snap_circle (EfFaceChart *chart, const char *name, double u, double v, double radius);
void ef_chart_snap_ray (EfFaceChart *chart, const char *name, double u, double v, double angle, double length);
void ef_chart_snap_line (EfFaceChart *chart, const char *name, double u, double v, double u2, double v2);
/* Rays every 15 degrees round a centre. */
void ef_chart_snap_rays (EfFaceChart *chart, double u, double v, double length);
/* Turns everything built so far over about the v axis. */
void ef_chart_mirror (EfFaceChart *chart);
void ef_chart_take_solid (EfFaceChart *chart, EfRegion *solid); /* and its bounds */

/* Anticlockwise from (u0, v0). */
EfRing ef_chart_rectangle (double u0, double v0, double u1, double v1);
/* Of one ring, which it takes. */
EfRegion *ef_chart_region (EfRing ring);
/* @region less @ring (copied); takes @region. */
EfRegion *ef_chart_cut (EfRegion *region, const EfRing *ring, GError **error);
void ef_chart_inner_point (const EfRing *ring, double *u, double *v);

/* Angle the gear or shaft on @axis stands at, rad. */
double ef_chart_turn (const EfPumpSheet *sheet, const EfSection *section, int axis);
/* Strip of a place on a chart with strips, 0 … n - 1. */
int ef_chart_strip (const EfFaceChart *chart, double u);

G_END_DECLS
