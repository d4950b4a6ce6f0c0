/* The form of one gauge.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-form-window.h"
#include "ef-session.h"
#include "../record/ef-store-gauges.h"

G_BEGIN_DECLS

#define EF_TYPE_GAUGE_DIALOG (ef_gauge_dialog_get_type ())
G_DECLARE_FINAL_TYPE (EfGaugeDialog, ef_gauge_dialog, EF, GAUGE_DIALOG, EfFormWindow)

/* A gauge of the job; @gauge NULL: a new one, which may go into the shop's list too. Signal "saved" (const char *id). */
EfGaugeDialog *ef_gauge_dialog_show (GtkWidget *parent, EfSession *session, const EfGauge *gauge);
/* A gauge of the shop's list; the jobs that have it keep their copies as they are. */
EfGaugeDialog *ef_gauge_dialog_show_shop (GtkWidget *parent, EfStore *store, const EfShopGauge *gauge);
/* Begins a new gauge with what is usual for this kind. */
void ef_gauge_dialog_suggest (EfGaugeDialog *self, EfGaugeKind kind);

G_END_DECLS
