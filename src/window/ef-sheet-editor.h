/* Editing a pump sheet as text, with what is wrong said at its place.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../record/ef-store.h"

G_BEGIN_DECLS

#define EF_TYPE_SHEET_EDITOR (ef_sheet_editor_get_type ())
G_DECLARE_FINAL_TYPE (EfSheetEditor, ef_sheet_editor, EF, SHEET_EDITOR, AdwWindow)

/* A shipped sheet is edited as a copy with an id of its own. Signal "saved" (const char *id). */
EfSheetEditor *ef_sheet_editor_show (GtkWindow *parent, EfStore *store, const EfPumpSheet *sheet, gboolean own);
/* The sheet's text with the id replaced by one that no other sheet has; for tests too. */
char *ef_sheet_copy_text (const EfPumpSheet *sheet, EfStore *store);

G_END_DECLS
