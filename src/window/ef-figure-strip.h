/* The figures that follow from the map, always in view: as new, as found, after rework, with limit; and the verdict.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Those of the shown face come first, then its end clearance and the pump's own, then the rest.
 */
#pragma once

#include "ef-session.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_FIGURE_STRIP (ef_figure_strip_get_type ())
G_DECLARE_FINAL_TYPE (EfFigureStrip, ef_figure_strip, EF, FIGURE_STRIP, GtkWidget)

GtkWidget *ef_figure_strip_new (EfSession *session);
guint ef_figure_strip_length (EfFigureStrip *self);
/* All that a figure's cell says in one line, for tests and screen readers. */
const char *ef_figure_strip_text (EfFigureStrip *self, guint i);
int ef_figure_strip_pump_verdict (EfFigureStrip *self); /* EfVerdictWord or EF_VERDICT_UNKNOWN */
int ef_figure_strip_part_verdict (EfFigureStrip *self);

G_END_DECLS
