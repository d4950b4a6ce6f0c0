/* Setting another verdict by hand, with the reason that it needs.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-form-window.h"
#include "ef-session.h"

G_BEGIN_DECLS

#define EF_TYPE_OVERRIDE_DIALOG (ef_override_dialog_get_type ())
G_DECLARE_FINAL_TYPE (EfOverrideDialog, ef_override_dialog, EF, OVERRIDE_DIALOG, EfFormWindow)

EfOverrideDialog *ef_override_dialog_show (GtkWidget *parent, EfSession *session, const EfVerdict *verdict);
/* Takes the override of a subject back: the computed verdict holds again. */
void ef_override_remove (EfSession *session, const char *subject_id, const char *title);

G_END_DECLS
