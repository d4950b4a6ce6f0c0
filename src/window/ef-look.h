/* The look that drawn widgets share: colours of the theme, size of the text.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../draw/ef-draw.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

/* The least side of anything that is pressed, px. */
#define EF_TARGET 44

/* Light, dark or high contrast as the desktop says, with text as large as the desktop says. */
void ef_look_style (EfDrawStyle *style);
/* Text size of the desktop against the usual one: 1, 1.25, 2 … */
double ef_look_text_scale (void);
/* A named colour of the theme ("accent_color", "view_bg_color"); a grey if there is none of that name. */
void ef_look_colour (GtkWidget *widget, const char *name, GdkRGBA *colour_out);
/* Redraws @widget whenever the theme or the size of text changes, for as long as the widget lives. */
void ef_look_follow (GtkWidget *widget);
/* Scrolls @scrolled sideways, as soon as it has its size, so that its descendant @child is in sight. */
void ef_look_reveal (GtkWidget *child, GtkScrolledWindow *scrolled);
/* Text on a rounded ground, its lower left corner near (x, y) but kept inside width x height. */
void ef_look_tag (GtkWidget *widget, GtkSnapshot *snapshot, const char *text, double x, double y, double width, double height);

G_END_DECLS
