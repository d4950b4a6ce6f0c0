/* The pump sheets: looking one up, editing a copy.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../record/ef-store.h"

G_BEGIN_DECLS

#define EF_TYPE_SHEETS_PAGE (ef_sheets_page_get_type ())
G_DECLARE_FINAL_TYPE (EfSheetsPage, ef_sheets_page, EF, SHEETS_PAGE, GtkBox)

void ef_sheets_page_set_store (EfSheetsPage *self, EfStore *store); /* borrowed */

G_END_DECLS
