/* What stands there before a job is opened: the jobs, the pump sheets.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../record/ef-store.h"

G_BEGIN_DECLS

#define EF_TYPE_START_PAGE (ef_start_page_get_type ())
G_DECLARE_FINAL_TYPE (EfStartPage, ef_start_page, EF, START_PAGE, GtkBox)

/* @store is borrowed and must outlive the page or be replaced; NULL: none. */
void ef_start_page_set_store (EfStartPage *self, EfStore *store);
void ef_start_page_refresh (EfStartPage *self);
/* Verdicts have come in from the background: what shows none stays as it is, under a pointer that is about to press. */
void ef_start_page_refresh_verdicts (EfStartPage *self);
void ef_start_page_search (EfStartPage *self);

G_END_DECLS
