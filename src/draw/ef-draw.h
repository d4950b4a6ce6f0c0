/* Pictures: faces, the exploded pump, plots, report pages. Cairo and Pango only; the same code draws screen, report and files.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../assess/ef-assessment.h"

#include <cairo.h>

G_BEGIN_DECLS

/* Colours and sizes; ef_draw_style_* give whole sets, so nothing is coloured on its own. */
typedef struct
{
  gboolean dark, high_contrast;
  double text_size;   /* points or px, in the target's units */
  double line_scale;  /* 1 for screen px, 0.75 for PDF points */
  const char *font;   /* family */
  gboolean print;     /* on paper: white ground, no tints that swallow ink */
} EfDrawStyle;
void ef_draw_style_screen (EfDrawStyle *style, gboolean dark, gboolean high_contrast);
void ef_draw_style_print (EfDrawStyle *style);

/* Depth 0 … max to colour, rgb 0 … 1: a helix of constant chroma in CIELAB with lightness and hue linear in @share, so that
 * equal steps look equally large, also to colour-blind eyes and in black and white (see ef-draw-colour.c). */
void ef_draw_depth_colour (double share, gboolean dark, double rgb[3]);
/* The top of the colour scale for a face whose deepest wear is @deepest (m): rounded up to a number that reads well. */
double ef_draw_depth_scale (double deepest);
/* The deepest covered cell of a map, m; 0 for NULL. */
double ef_draw_depth_deepest (const EfDepthMap *map);
/* Colour, icon glyph and word of a verdict are always shown together. */
void ef_draw_verdict_colour (EfVerdictWord word, const EfDrawStyle *style, double rgb[3]);
void ef_draw_verdict_glyph (cairo_t *cr, EfVerdictWord word, const EfDrawStyle *style, double x, double y, double size);

/* The view of a face: chart point (u, v) appears at x = x0 + scale u, y = y0 - scale v. */
typedef struct
{
  double x0, y0, scale; /* target units a metre */
} EfFaceView;
void ef_face_view_fit (EfFaceView *view, const EfFaceChart *chart, double width, double height, double margin);
void ef_face_view_to_screen (const EfFaceView *view, double u, double v, double *x, double *y);
void ef_face_view_to_chart (const EfFaceView *view, double x, double y, double *u, double *v);

typedef struct
{
  gboolean grid, labels, depth_colours, contours, mark_numbers, bands;
  const char *selected; /* mark id; NULL */
  double max_depth;     /* of the colour scale, m; 0: the map's */
  gboolean over_photo;  /* ground: lines and labels only, the material being a photo */
} EfFaceLayers;

/* Layers bottom to top, each callable alone so that a canvas can cache them: ground (material, ports, lines, labels, sides, rotation arrow;
 * it leaves the paper around the material unpainted: ef_draw_paper), depth map, marks (line style and hatch by kind, number), one mark. @clip: x y w h in target units, or NULL. */
void ef_draw_paper (cairo_t *cr, const EfDrawStyle *style);
void ef_draw_face_ground (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart, const EfFaceLayers *layers);
/* The ground's labels alone (layers->labels): where something else was painted over them, such as the face under a lamp. */
void ef_draw_face_labels (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart);
void ef_draw_face_depth (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart, const EfDepthMap *map, const EfFaceLayers *layers);
void ef_draw_mark (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfMark *mark, gboolean selected, gboolean number);
void ef_draw_face_marks (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, const EfFaceChart *chart, EfMark *const *marks, guint n_marks, const EfFaceLayers *layers, const double clip[4]);
void ef_draw_scale_bar (cairo_t *cr, const EfDrawStyle *style, const EfFaceView *view, double x, double y, double max_width);
void ef_draw_depth_legend (cairo_t *cr, const EfDrawStyle *style, double max_depth, double x, double y, double width, double height);
/* The glyph of a mark kind as on buttons and in legends. */
void ef_draw_mark_glyph (cairo_t *cr, const EfDrawStyle *style, EfMarkKind kind, double x, double y, double width, double height);
/* A whole face picture with legend, scale bar and numbered marks, filling width x height. */
void ef_draw_face_picture (cairo_t *cr, const EfDrawStyle *style, const EfFaceChart *chart, const EfAssessment *assessment, double width, double height);

/* The exploded pump on its axis, front at the left. Hit areas are returned for pressing: ef_exploded_hit. */
typedef struct _EfExploded EfExploded;
EfExploded *ef_exploded_new (const EfPumpSheet *sheet, double width, double height);
void ef_exploded_free (EfExploded *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfExploded, ef_exploded_free)
/* @verdict may be NULL (nothing known); @selected: part id or NULL; @focus: part with keyboard focus or NULL. */
void ef_exploded_draw (EfExploded *self, cairo_t *cr, const EfDrawStyle *style, const EfVerdict *verdict, const char *selected, const char *focus);
const char *ef_exploded_hit (EfExploded *self, double x, double y); /* part id or NULL */
guint ef_exploded_n_parts (EfExploded *self);
const char *ef_exploded_part (EfExploded *self, guint i, double box[4]); /* in reading order */

/* Bearing-area curve: depth down, share right. */
void ef_draw_bearing_area (cairo_t *cr, const EfDrawStyle *style, const EfDepthMap *map, double width, double height);
/* Readings page: where the gauge goes for this quantity. */
void ef_draw_gauge_sketch (cairo_t *cr, const EfDrawStyle *style, const EfPumpSheet *sheet, EfQuantity quantity, const char *target, const char *place, double width, double height);

typedef enum { EF_PAPER_A4, EF_PAPER_LETTER } EfPaper;
/* Report: pump, job, verdict table, each marked face, readings, steps, cautions, sign-off, seal. Same bytes for the same input and @created (ISO time).
 * @seal (ef-report-seal.h) NULL: not sealed, which the report says. */
typedef struct _EfReportSeal EfReportSeal;
gboolean ef_report_write_pdf (const EfAssessment *assessment, const EfReportSeal *seal, const char *path, EfPaper paper, const char *created, GError **error);
/* The same as bytes; @path is for messages only. */
GBytes *ef_report_make_pdf (const EfAssessment *assessment, const EfReportSeal *seal, const char *path, EfPaper paper, const char *created, GError **error);
/* Page by page for printing: number of pages; then draw each. */
guint ef_report_n_pages (const EfAssessment *assessment, const EfReportSeal *seal, EfPaper paper);
void ef_report_draw_page (const EfAssessment *assessment, const EfReportSeal *seal, EfPaper paper, guint page, cairo_t *cr);
/* File pictures: by the ending, .png or .svg; size in px. */
gboolean ef_picture_write_face (const EfAssessment *assessment, const char *face_id, const char *path, double width, double height, GError **error);
/* The pictures of ef-draw-flow.h, each under a title. */
typedef enum { EF_FLOW_PICTURE_DELIVERY, EF_FLOW_PICTURE_IDLE_PRESSURE, EF_FLOW_PICTURE_SHARES, EF_N_FLOW_PICTURES } EfFlowPicture;
const char *ef_flow_picture_name (EfFlowPicture picture); /* "delivery", "idle-pressure", "shares" */
gboolean ef_picture_write_flow (const EfAssessment *assessment, EfFlowPicture picture, const char *path, double width, double height, GError **error);
/* The oil pressure over a face at hot idle as found; see ef-flow-field.h for which faces have one. */
gboolean ef_picture_write_pressure (const EfAssessment *assessment, const char *face_id, const char *path, double width, double height, GError **error);
/* The lapping plan (ef-draw-plan.h): end clearance before and after, each in its window. Fails with EF_ERROR_NOT_FOUND where no end clearance is known. */
gboolean ef_picture_write_plan (const EfAssessment *assessment, const char *path, double width, double height, GError **error);
/* What lapping leaves of one face's wear: its curve. Fails with EF_ERROR_NOT_FOUND for a face that the plan doesn't lap or that has no wear of known depth. */
gboolean ef_picture_write_plan_curve (const EfAssessment *assessment, const char *face_id, const char *path, double width, double height, GError **error);
gboolean ef_picture_write_exploded (const EfAssessment *assessment, const char *path, double width, double height, GError **error);

G_END_DECLS
