/* What a place of a face costs in leakage once it is worn: the weights of the land where gears' ends and plates seal.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A film's leakage at given pressures is (1 / mu dp) times the integral of h^3 |grad p|^2 / 12 over it: the power that is lost, Reynolds' equation being linear and
 * self-adjoint. What it gains when h^3 grows at a place is therefore, to first order, in the ratio of |grad p|^2 there, with the field as it was before. So the
 * weights are |grad (p / dp)|^2, in 1/m2, of the pump as new at hot idle: even films, half of the end clearance at each end. A groove between delivery
 * and suction weighs, one within a space or under a port doesn't. Plates stand still while the teeth pass: the mean over the mesh positions. A gear's end turns: the
 * mean over those and over all of its teeth.
 */
#pragma once

#include "../wear/ef-depth-map.h"
#include "ef-flow-result.h"

G_BEGIN_DECLS

typedef struct _EfFlowWeights EfFlowWeights;

/* From the flow cache where sheet and oil are those of last time. Fails with EF_ERROR_NOT_FOUND or EF_ERROR_RANGE where there is nothing to solve
 * for (no pressure section, no hot idle in the sheet …), saying why, and with EF_ERROR_CANCELLED. */
EfFlowWeights *ef_flow_weights_new (const EfFindings *findings, EfFlowCache *cache, GCancellable *cancellable, GError **error);
EfFlowWeights *ef_flow_weights_ref (EfFlowWeights *self);
void ef_flow_weights_unref (EfFlowWeights *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfFlowWeights, ef_flow_weights_unref)

/* Whether the face has a film of the pressure section. */
gboolean ef_flow_weights_has (const EfFlowWeights *self, const char *face_id);
/* One a cell of @map, which is of @chart; free with g_free(). NULL where the face has no film. */
double *ef_flow_weights_on (const EfFlowWeights *self, const EfFaceChart *chart, const EfDepthMap *map);

G_END_DECLS
