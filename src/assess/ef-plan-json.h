/* The lapping plan in the results file.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "../base/ef-json.h"
#include "../rework/ef-lap-work.h"
#include "ef-land.h"

G_BEGIN_DECLS

/* Member "plan" of the results file: whether lapping is wanted and feasible, conflicts, options, the faces' land. Lengths in mm. @land: EfFaceLand *, @derived: EfDerived *. */
JsonNode *ef_lap_work_to_json (const EfLapWork *work, GPtrArray *land, GPtrArray *derived);

G_END_DECLS
