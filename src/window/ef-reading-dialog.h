/* The form of one reading that is there already: correct it, note the part's temperature, remove it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-form-window.h"
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_READING_DIALOG (ef_reading_dialog_get_type ())
G_DECLARE_FINAL_TYPE (EfReadingDialog, ef_reading_dialog, EF, READING_DIALOG, EfFormWindow)

EfReadingDialog *ef_reading_dialog_show (GtkWidget *parent, EfSession *session, const EfReading *reading, const char *title);

G_END_DECLS
