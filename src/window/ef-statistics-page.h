/* Statistics of the shop's own jobs: filters, three plots with their sentences, export; jobs that aren't worked out yet are, in the background.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <adwaita.h>
#include "../draw/ef-draw-statistics.h"

G_BEGIN_DECLS

#define EF_TYPE_STATISTICS_PAGE (ef_statistics_page_get_type ())
G_DECLARE_FINAL_TYPE (EfStatisticsPage, ef_statistics_page, EF, STATISTICS_PAGE, GtkBox)

void ef_statistics_page_set_store (EfStatisticsPage *self, EfStore *store); /* borrowed; NULL none */
/* Reads them anew where the page is in sight, otherwise when it comes into sight. */
void ef_statistics_page_refresh (EfStatisticsPage *self);
gboolean ef_statistics_page_busy (EfStatisticsPage *self);
/* What is shown; NULL before anything was read. */
const EfStatistics *ef_statistics_page_statistics (EfStatisticsPage *self);
/* The plot's data as CSV, and the plot as PNG or SVG by the ending; tells in the window what became of it. */
void ef_statistics_page_export (EfStatisticsPage *self, EfStatisticsPlot plot, const char *path);

G_END_DECLS
