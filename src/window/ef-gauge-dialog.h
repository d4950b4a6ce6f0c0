/* The form of one gauge.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-form-window.h"
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_GAUGE_DIALOG (ef_gauge_dialog_get_type ())
G_DECLARE_FINAL_TYPE (EfGaugeDialog, ef_gauge_dialog, EF, GAUGE_DIALOG, EfFormWindow)

/* @gauge NULL: a new one. Signal "saved" (const char *id). */
EfGaugeDialog *ef_gauge_dialog_show (GtkWidget *parent, EfSession *session, const EfGauge *gauge);

G_END_DECLS
