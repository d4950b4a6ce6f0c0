/* What crosses parts: directions against the load, readings that others contradict.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../assess/ef-assessment.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_CROSS_LIST (ef_cross_list_get_type ())
G_DECLARE_FINAL_TYPE (EfCrossList, ef_cross_list, EF, CROSS_LIST, GtkBox)

/* Signal "follow" (const char *ref) when a mark or a reading is to be shown. Hidden while there is nothing to tell. */
GtkWidget *ef_cross_list_new (void);
void ef_cross_list_show (EfCrossList *self, EfAssessment *assessment);

G_END_DECLS
