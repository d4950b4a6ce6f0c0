/* The exploded pump to press: each part tinted by its verdict, a press opens its faces.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each part is a child of its own, so that Tab, arrows and a screen reader reach it.
 */
#pragma once

#include "ef-session.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_EXPLODED_VIEW (ef_exploded_view_get_type ())
G_DECLARE_FINAL_TYPE (EfExplodedView, ef_exploded_view, EF, EXPLODED_VIEW, GtkWidget)

/* Signal "opened": by the user; the keyboard may go to the face. */
GtkWidget *ef_exploded_view_new (EfSession *session);
/* As a press at (x, y) would: the part and its first face, or the one with marks, are selected. FALSE where no part is. */
gboolean ef_exploded_view_press (EfExplodedView *self, double x, double y);
/* Middle of a part's place in the widget; FALSE if it isn't shown. */
gboolean ef_exploded_view_place (EfExplodedView *self, const char *part_id, double *x, double *y);
/* Selects the part and the face of it that has most to say; shared with the row of parts. */
void ef_open_part (EfSession *session, const char *part_id);

G_END_DECLS
