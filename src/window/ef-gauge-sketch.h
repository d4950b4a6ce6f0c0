/* The picture beside a form: where the gauge goes for the field one is in.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-bench-plan.h"
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_GAUGE_SKETCH (ef_gauge_sketch_get_type ())
G_DECLARE_FINAL_TYPE (EfGaugeSketch, ef_gauge_sketch, EF, GAUGE_SKETCH, GtkBox)

GtkWidget *ef_gauge_sketch_new (EfSession *session);
/* @slot and @group are borrowed and must live as long as they're shown; NULL: nothing to show. */
void ef_gauge_sketch_show (EfGaugeSketch *self, const EfSlotGroup *group, const EfSlot *slot);

G_END_DECLS
