/* The card of a part on the shelf: sizes, faces with their wear, where it came from, what can be done with it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../record/ef-store-shelf.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_SHELF_CARD (ef_shelf_card_get_type ())
G_DECLARE_FINAL_TYPE (EfShelfCard, ef_shelf_card, EF, SHELF_CARD, GtkBox)

GtkWidget *ef_shelf_card_new (void);
/* @part NULL: nothing is chosen. @sheet NULL: its pump sheet isn't known, so there are no pictures. */
void ef_shelf_card_set (EfShelfCard *self, EfStore *store, EfShelfPart *part, EfPumpSheet *sheet);
/* Signals: "moved" after a move; "open-job" (const char *number). */

G_END_DECLS
