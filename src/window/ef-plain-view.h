/* What a view that scrolls is built of: a clamped column, cards in it, wrapped texts.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gtk/gtk.h>

G_BEGIN_DECLS

/* A scrolled column as the only child of @parent, at most @width wide; returns the column (a GtkBox). */
GtkWidget *ef_plain_view_new (GtkBox *parent, int width);
/* A card with a heading at the end of @column; returns the box inside. */
GtkWidget *ef_plain_card (GtkWidget *column, const char *title);
GtkWidget *ef_plain_text (const char *text, const char *css_class);
/* Fields side by side, as many as fit. */
GtkWidget *ef_plain_flow (GtkWidget *box);
void ef_plain_flow_add (GtkWidget *flow, GtkWidget *child);
void ef_plain_clear (GtkWidget *box);

G_END_DECLS
