/* One field of the Readings page: an entry for the next reading, and those that were taken there.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-bench-plan.h"
#include "ef-field.h"
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_READING_FIELD (ef_reading_field_get_type ())
G_DECLARE_FINAL_TYPE (EfReadingField, ef_reading_field, EF, READING_FIELD, GtkBox)

/* @slot is borrowed and must outlive the widget. Signals: "kept" (gboolean move_on) after a reading was kept by Enter or
 * Ctrl+Enter; "entered" when the focus comes. */
GtkWidget *ef_reading_field_new (EfSession *session, const EfSlot *slot);
const EfSlot *ef_reading_field_slot (EfReadingField *self);
EfField *ef_reading_field_field (EfReadingField *self);
/* Unit of a bare number, gauge (may be NULL) and part temperature (K, NAN; infinite: one was typed that can't be read, so nothing is kept) of what is
 * typed from now on. */
void ef_reading_field_set_defaults (EfReadingField *self, EfUnit unit, const char *gauge_id, double temperature);
void ef_reading_field_refresh (EfReadingField *self);

G_END_DECLS
