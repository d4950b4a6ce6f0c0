/* One pump sheet for reading: picture, gears, parts, limits with their sources, rated points, cautions.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../pump/ef-pump-sheet.h"

G_BEGIN_DECLS

#define EF_TYPE_SHEET_VIEW (ef_sheet_view_get_type ())
G_DECLARE_FINAL_TYPE (EfSheetView, ef_sheet_view, EF, SHEET_VIEW, GtkBox)

/* Takes a reference. Signal "edit": the button was pressed. */
void ef_sheet_view_set (EfSheetView *self, EfPumpSheet *sheet, gboolean own);

G_END_DECLS
