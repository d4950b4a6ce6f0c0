/* Asking for what a move on the shelf needs: a reason, a job's number; or which job's parts to put there.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../record/ef-store-shelf.h"
#include "ef-form-window.h"

G_BEGIN_DECLS

#define EF_TYPE_SHELF_DIALOG (ef_shelf_dialog_get_type ())
G_DECLARE_FINAL_TYPE (EfShelfDialog, ef_shelf_dialog, EF, SHELF_DIALOG, EfFormWindow)

/* Emits "moved" when the part and its mates have been moved. */
EfShelfDialog *ef_shelf_dialog_move (GtkWidget *parent, EfStore *store, const EfShelfPart *part, EfShelfMove move);
/* Puts what is worth keeping of a job's pump on the shelf; emits "moved". */
EfShelfDialog *ef_shelf_dialog_put (GtkWidget *parent, EfStore *store, const char *job_number);

G_END_DECLS
