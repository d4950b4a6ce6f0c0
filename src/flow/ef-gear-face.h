/* The film on one gear end in plan: the gear's outline with what each piece of it borders on, less bore and ports.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "ef-section-flow.h"

G_BEGIN_DECLS

/* In the gear's wall frame, the teeth standing as in @mesh. Groups as in ef-mesh.h. Clear with ef_film_shape_clear(). */
EfFilmShape ef_gear_face_shape (const EfFlowGeometry *geometry, const EfMesh *mesh, int gear, int end);

G_END_DECLS
