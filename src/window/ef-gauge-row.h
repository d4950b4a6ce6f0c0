/* A gauge in a list: what it can tell apart, and how its check stands.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../metrology/ef-reading.h"

#include "../record/ef-store-gauges.h"

G_BEGIN_DECLS

/* "check overdue", "check due soon"; NULL where all is well. Translated. */
const char *ef_gauge_due_words (const EfGauge *gauge);
/* An AdwActionRow that can be pressed. */
GtkWidget *ef_gauge_row_new (const EfGauge *gauge);

/* What became of the shop's gauge since a job took its copy: "since rechecked: uncertainty now 0.006 mm", "since retired: dropped"; NULL: nothing.
 * @shop: EfShopGauge *, with those that are retired; NULL: no shop. Free with g_free(). */
char *ef_gauge_since_words (const GPtrArray *shop, const EfGauge *copy);

G_END_DECLS
