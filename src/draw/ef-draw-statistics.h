/* The three plots of the shop's statistics, and what stands under each in plain words.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-draw.h"
#include "../stats/ef-statistics.h"

G_BEGIN_DECLS

typedef enum { EF_STATISTICS_WEAR, EF_STATISTICS_CLEARANCE, EF_STATISTICS_REWORK, EF_N_STATISTICS } EfStatisticsPlot;

const char *ef_statistics_plot_name (EfStatisticsPlot plot);  /* "wear", "clearance", "rework" */
const char *ef_statistics_plot_title (EfStatisticsPlot plot); /* translated */
/* Whether there is anything to draw. */
gboolean ef_statistics_has (const EfStatistics *statistics, EfStatisticsPlot plot);
/* What wears out: the commonest findings as bars with their intervals. End clearance: a point a job, a line with its band a section. Rework: the share that holds
 * over months, with its band and a tick where a pump was last heard of. Says so where there is nothing. */
void ef_draw_statistics (cairo_t *cr, const EfDrawStyle *style, const EfStatistics *statistics, EfStatisticsPlot plot, double width, double height);
/* Rows that the first plot shows: the height it wants grows with them. */
guint ef_statistics_wear_rows (const EfStatistics *statistics);
/* The sentences under a plot: what it says, how many jobs it rests on, how sure it is. Translated; free with g_free(). */
char *ef_statistics_words (const EfStatistics *statistics, EfStatisticsPlot plot);
/* "Separator plate: groove". Translated; free with g_free(). */
char *ef_statistics_wear_label (const EfWearCount *count, gboolean with_model);
char *ef_statistics_csv (const EfStatistics *statistics, EfStatisticsPlot plot);
/* By the ending, .png or .svg; size in px. */
gboolean ef_picture_write_statistics (const EfStatistics *statistics, EfStatisticsPlot plot, const char *path, double width, double height, GError **error);

G_END_DECLS
