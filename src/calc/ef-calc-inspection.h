/* An inspection as the input of a computation.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../base/ef-json.h"
#include "../inspection/ef-inspection.h"

G_BEGIN_DECLS

/* The member "inspection" as in its file, or "demo", the name of a demo job that comes with the program; one of them. */
EfInspection *ef_calc_read_inspection (const EfJson *input, GError **error);

G_END_DECLS
