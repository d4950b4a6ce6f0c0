/* From an inspection to what the flow solve takes: geometry, gaps, oil, demand.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-flow-gap.h"
#include "ef-flow-result.h"

G_BEGIN_DECLS

/* The section that makes the pressure; NULL if the pump has none. */
const EfSection *ef_flow_section (const EfPumpSheet *sheet);
/* Ports turned into the canonical frame; which gear end each is cut into. Clear with ef_flow_geometry_clear(). */
EfFlowGeometry ef_flow_geometry (const EfFindings *findings, const EfSection *section);
/* @stock, @clearance_after: as in ef-flow-result.h; used for EF_STATE_REWORKED. Notes what it took from the sheet for want of readings.
 * @worn may be NULL: maps are then made anew. */
EfFlowGaps ef_flow_gaps (const EfFindings *findings, const EfSection *section, EfPumpState state, GHashTable *stock, const double clearance_after[2], EfWornMaps *worn, GPtrArray *assumptions);
/* The largest clearance (diametral, m) of the gear's shaft in the bores of its housing; NULL where it isn't measured. */
const EfDerived *ef_flow_bore_clearance (const EfFindings *findings, const EfSection *section, int gear);
/* Dynamic viscosity of the job's oil, Pa s. */
gboolean ef_flow_viscosity (const EfInspection *inspection, double temperature, double *mu_out, GPtrArray *assumptions, GError **error);
/* Adds a sentence once. */
void ef_flow_assume (GPtrArray *assumptions, const char *format, ...) G_GNUC_PRINTF (2, 3);

G_END_DECLS
