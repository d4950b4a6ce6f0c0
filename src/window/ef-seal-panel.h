/* Signing off and sealing a job, and what comes after: its state, a new revision, withdrawing, verifying.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_SEAL_PANEL (ef_seal_panel_get_type ())
G_DECLARE_FINAL_TYPE (EfSealPanel, ef_seal_panel, EF, SEAL_PANEL, GtkBox)

GtkWidget *ef_seal_panel_new (EfSession *session);
gboolean ef_seal_panel_busy (EfSealPanel *self); /* a sealing is under way */

G_END_DECLS
