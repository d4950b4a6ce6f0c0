/* How sure a reason is, and which way things point: two small pictures.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-draw-text.h"

G_BEGIN_DECLS

/* Whether the reason has a value, an uncertainty and a limit to draw. */
gboolean ef_draw_sure_can (const EfReason *reason);
double ef_draw_sure_height (const EfDrawStyle *style);
/* The value with its expanded uncertainty above a bar: plain where the limit is kept for sure, hatched where the guard band leaves it
 * open, dark where it's passed for sure; the limit as a line through it. Zones carry their words, so no colour is needed. */
void ef_draw_sure (cairo_t *cr, const EfDrawStyle *style, const EfReason *reason, const EfDecisionRule *decision, double width, double height);
/* The same as a sentence, for those who can't see it. */
char *ef_draw_sure_words (const EfReason *reason, const EfDecisionRule *decision);

/* Direction found, a full arrow in the sector of its expanded uncertainty, and the load, a dashed one. Psi as in a pump sheet, away
 * from the mate to the right for the driven gear; double arrows where a direction counts modulo half a turn. */
void ef_draw_cross (cairo_t *cr, const EfDrawStyle *style, const EfCross *cross, double size);

G_END_DECLS
