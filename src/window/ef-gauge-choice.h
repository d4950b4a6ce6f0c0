/* Choosing one of the job's gauges, or adding one.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_GAUGE_CHOICE (ef_gauge_choice_get_type ())
G_DECLARE_FINAL_TYPE (EfGaugeChoice, ef_gauge_choice, EF, GAUGE_CHOICE, GtkBox)

GtkWidget *ef_gauge_choice_new (EfSession *session);
const char *ef_gauge_choice_get (EfGaugeChoice *self); /* gauge id; NULL none */
void ef_gauge_choice_set (EfGaugeChoice *self, const char *gauge_id);

G_END_DECLS
