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
/* Looks at the shop's list again; done by itself when the choice is shown and at each change of the job. */
void ef_gauge_choice_refresh (EfGaugeChoice *self);
void ef_gauge_choice_set (EfGaugeChoice *self, const char *gauge_id);
/* The kind that a gauge to be added most likely is of. */
void ef_gauge_choice_suggest (EfGaugeChoice *self, EfGaugeKind kind);
/* TRUE once somebody has chosen here, "no gauge" included. */
gboolean ef_gauge_choice_said (EfGaugeChoice *self);
/* Opens the list, as a press on it does. Signal "picked" once a gauge, or none, has been chosen. */
void ef_gauge_choice_open (EfGaugeChoice *self);

G_END_DECLS
