/* The row at the top of a page that says what is still missing. Hidden when nothing is.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>

G_BEGIN_DECLS

#define EF_TYPE_MISSING_BAR (ef_missing_bar_get_type ())
G_DECLARE_FINAL_TYPE (EfMissingBar, ef_missing_bar, EF, MISSING_BAR, GtkBox)

GtkWidget *ef_missing_bar_new (void);
void ef_missing_bar_set (EfMissingBar *self, const char *sentence); /* NULL hides the bar */
/* From phrases as ef_missing_readings() gives them. */
void ef_missing_bar_take (EfMissingBar *self, GPtrArray *phrases);

G_END_DECLS
