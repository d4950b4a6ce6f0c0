/* A text as a QR code (ISO/IEC 18004), drawn as shapes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <cairo.h>
#include <glib.h>

G_BEGIN_DECLS

/* Black on white whatever the style, with the quiet zone of four modules inside the square of @size; error correction level M. FALSE for a
 * text that no code holds (more than 2,331 bytes); nothing is drawn then. */
gboolean ef_draw_qr (cairo_t *cr, const char *text, double size);

G_END_DECLS
