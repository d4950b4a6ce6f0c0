/* Readings: forms in bench order beside a picture of where the gauge goes.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_READINGS_PAGE (ef_readings_page_get_type ())
G_DECLARE_FINAL_TYPE (EfReadingsPage, ef_readings_page, EF, READINGS_PAGE, GtkBox)

EfReadingsPage *ef_readings_page_new (EfSession *session);
/* Puts the cursor into the first field of the shown form. */
void ef_readings_page_focus (EfReadingsPage *self);
/* Shows the form of a section or part, "checks" or "gauges"; FALSE when there is none. */
gboolean ef_readings_page_show (EfReadingsPage *self, const char *form_id);

G_END_DECLS
