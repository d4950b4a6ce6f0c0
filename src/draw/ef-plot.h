/* What every plot is made of: a frame with axes that tick at round numbers, lines, areas, bars, limits, labels.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers along the axes are in the units the axis title names; the caller converts.
 */
#pragma once

#include "ef-draw-text.h"

G_BEGIN_DECLS

typedef struct
{
  double min, max;
  double step;        /* between ticks; set by ef_plot_axis_nice */
  const char *title;  /* with its unit: "depth, mm"; NULL none */
  gboolean reversed;  /* x: grows to the left; y: grows downwards */
} EfPlotAxis;

typedef struct
{
  double x, y, width, height; /* the inside of the frame, target units */
  EfPlotAxis ax, ay;
} EfPlot;

/* 1, 2 or 5 times a power of ten so that range / step <= most. */
double ef_nice_step (double range, guint most);
/* Widens [min, max] to whole steps and sets the step. */
void ef_plot_axis_nice (EfPlotAxis *axis, guint most_ticks);
/* Lays out inside the box @x @y @width @height, leaving room for tick labels and titles. */
void ef_plot_init (EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, const EfPlotAxis *ax, const EfPlotAxis *ay, double x, double y, double width, double height);
void ef_plot_map (const EfPlot *plot, double px, double py, double *x, double *y);
/* Grid, frame, tick labels, titles. */
void ef_plot_frame (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style);
/* A line through n points; gaps where a number isn't finite. @dash 0: full. */
void ef_plot_line (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, const double *px, const double *py, guint n, const double rgb[3], double width, double dash);
/* The area between the line and py = @base. */
void ef_plot_area (const EfPlot *plot, cairo_t *cr, const double *px, const double *py, guint n, double base, const double rgb[3], double alpha);
/* A bar from base to py, centred at px, @share of one x unit wide. */
void ef_plot_bar (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, double px, double base, double py, double share, const double rgb[3]);
/* A limit: a dashed line across with its words at the end. */
void ef_plot_limit (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, gboolean across_x, double value, const char *text, const double rgb[3]);
void ef_plot_label (const EfPlot *plot, cairo_t *cr, const EfDrawStyle *style, double px, double py, const char *text, double align_x, double align_y);

G_END_DECLS
