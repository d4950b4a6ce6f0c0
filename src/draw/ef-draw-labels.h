/* The words of a face's own labels: where they stand.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-draw-text.h"

G_BEGIN_DECLS

/* Takes the places where ef_draw_face_labels() writes; not of tooth numbers, nor of words that are large against the face. */
void ef_face_labels_block (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart, EfOccupied *occupied);

G_END_DECLS
