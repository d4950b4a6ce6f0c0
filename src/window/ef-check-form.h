/* The check list: pickup tube, pins, studs and whatever else has no chart.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_CHECK_FORM (ef_check_form_get_type ())
G_DECLARE_FINAL_TYPE (EfCheckForm, ef_check_form, EF, CHECK_FORM, GtkBox)

GtkWidget *ef_check_form_new (EfSession *session);

G_END_DECLS
