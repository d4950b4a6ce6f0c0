/* Rings and regions as Cairo paths.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-draw-ink.h"

G_BEGIN_DECLS

/* Appended to the current path, from the chart (m) to the target. @closed FALSE: an open line. */
void ef_path_ring (cairo_t *cr, const EfFaceView *view, const EfRing *ring, gboolean closed);
void ef_path_region (cairo_t *cr, const EfFaceView *view, const EfRegion *region); /* fill with the even-odd rule */

G_END_DECLS
