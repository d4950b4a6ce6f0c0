/* One form of the Readings page: the groups of a section or part.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-bench-plan.h"
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_READING_FORM (ef_reading_form_get_type ())
G_DECLARE_FINAL_TYPE (EfReadingForm, ef_reading_form, EF, READING_FORM, GtkBox)

/* @form is borrowed and must outlive the widget; directions are added to it. Signals: "slot-entered" (group, slot as
 * pointers); "finished" when Enter is pressed in the last field. */
GtkWidget *ef_reading_form_new (EfSession *session, EfBenchForm *form);
EfBenchForm *ef_reading_form_form (EfReadingForm *self);
void ef_reading_form_focus_first (EfReadingForm *self);
/* The temperature as typed; "" none. */
const char *ef_reading_form_temperature (EfReadingForm *self);
void ef_reading_form_set_temperature (EfReadingForm *self, const char *text);

G_END_DECLS
