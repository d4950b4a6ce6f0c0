/* The lamp's dial over the face: where the lamp stands, and how to move it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Seen from above: the ring's edge is a lamp that lies on the face, its middle one straight above. Drag it, or with the focus on it: left and right turn
 * it round the face, up and down raise and lower it; the wheel does as up and down. Shown while the canvas's "lamp" is on.
 */
#pragma once

#include "ef-face-canvas.h"

G_BEGIN_DECLS

#define EF_TYPE_LAMP_VIEW (ef_lamp_view_get_type ())
G_DECLARE_FINAL_TYPE (EfLampView, ef_lamp_view, EF, LAMP_VIEW, GtkWidget)

GtkWidget *ef_lamp_view_new (EfFaceCanvas *canvas);
/* "Lamp at 9 o'clock, 15° above the face"; free with g_free(). */
char *ef_lamp_view_words (EfLampView *self);

G_END_DECLS
