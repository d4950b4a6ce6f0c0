/* The shelf: parts kept from scrapped pumps, in a list beside the card of the chosen one.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../record/ef-store.h"

G_BEGIN_DECLS

#define EF_TYPE_SHELF_PAGE (ef_shelf_page_get_type ())
G_DECLARE_FINAL_TYPE (EfShelfPage, ef_shelf_page, EF, SHELF_PAGE, GtkBox)

void ef_shelf_page_set_store (EfShelfPage *self, EfStore *store); /* borrowed; NULL none */
void ef_shelf_page_refresh (EfShelfPage *self);
void ef_shelf_page_search (EfShelfPage *self);      /* gives the search field the keyboard */
GListModel *ef_shelf_page_rows (EfShelfPage *self); /* EfShelfObject, as shown */
/* As the choice and the two fields do: parts with a size of @quantity (ef_part_size_quantities; NULL any) from @least to @most as typed, in mm; NULL open. */
void ef_shelf_page_filter_size (EfShelfPage *self, const char *quantity, const char *least, const char *most);
void ef_shelf_page_choose (EfShelfPage *self, const char *code);

G_END_DECLS
