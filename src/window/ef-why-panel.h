/* Why: the chain of one reason, from the verdict down to the gauge.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-session.h"
#include "../assess/ef-why.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_WHY_PANEL (ef_why_panel_get_type ())
G_DECLARE_FINAL_TYPE (EfWhyPanel, ef_why_panel, EF, WHY_PANEL, GtkBox)

/* Signals: "follow" (const char *ref) when a link is pressed, "close" for the button and Esc. */
GtkWidget *ef_why_panel_new (EfSession *session);
void ef_why_panel_show (EfWhyPanel *self, const EfAssessment *assessment, const EfVerdict *node, const EfReason *reason);

G_END_DECLS
