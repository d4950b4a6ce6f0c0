/* The face of a part to look at and mark on.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shows the session's face; its selection is the session's. Coordinates x, y are px of the widget, u, v metres on the chart.
 * Each gesture ends in one change through ef_session_apply(). The gestures' handlers are public, so that a test, a stylus
 * and a pointer go the same way.
 *
 * Properties: "tool" (string: select, point, line, area, ruler), "kind" (string: a mark kind's name), "grid", "snap", "photo" (whether a photo is wanted under the face, ef-photo-bar.h), "pressure", "lamp"
 * (boolean; the last two: the oil pressure at hot idle over faces that meet the gears' ends, the face under a lamp that also the right button moves; notified
 * too when the lamp moves), "read-out", "hint" (string, read only), "zoom" (double, 1: the whole face, read only).
 * Signals: "mark-drawn" (const char *id): a new mark is there and selected, its depth comes next. "new-mark": asked for by key.
 * "edit-mark": the selected mark's fields are asked for.
 * Actions: face.tool, face.kind, face.grid, face.snap, face.pressure, face.photo, face.lamp, face.move-lamp, face.zoom-in, face.zoom-out, face.fit, face.delete, face.finish,
 * face.cancel, face.backspace, face.next-mark, face.previous-mark, face.nudge, face.pan, face.new-mark, face.edit-mark, face.mate,
 * face.teeth, face.add-node.
 */
#pragma once

#include "../assess/ef-flow-field.h"
#include "../draw/ef-draw-photo.h"
#include "ef-session.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

typedef enum
{
  EF_TOOL_SELECT,
  EF_TOOL_POINT,
  EF_TOOL_LINE,
  EF_TOOL_AREA,
  EF_TOOL_RULER,
  EF_N_TOOLS
} EfTool;

typedef enum
{
  EF_TOUCH_POINTER, /* mouse */
  EF_TOUCH_FINGER,
  EF_TOUCH_PEN
} EfTouch;

#define EF_TYPE_FACE_CANVAS (ef_face_canvas_get_type ())
G_DECLARE_FINAL_TYPE (EfFaceCanvas, ef_face_canvas, EF, FACE_CANVAS, GtkWidget)

GtkWidget *ef_face_canvas_new (EfSession *session);
const char *ef_tool_name (EfTool tool);

EfTool ef_face_canvas_tool (EfFaceCanvas *self);
void ef_face_canvas_set_tool (EfFaceCanvas *self, EfTool tool);
EfMarkKind ef_face_canvas_kind (EfFaceCanvas *self); /* of the next mark */
void ef_face_canvas_set_kind (EfFaceCanvas *self, EfMarkKind kind);
double ef_face_canvas_new_size (EfFaceCanvas *self, EfMarkShape shape); /* diameter or width of the next mark, m */
void ef_face_canvas_set_new_size (EfFaceCanvas *self, EfMarkShape shape, double size);
EfFaceChart *ef_face_canvas_chart (EfFaceCanvas *self); /* borrowed; NULL: no face */
const EfMark *ef_face_canvas_selected (EfFaceCanvas *self); /* borrowed; NULL: none */
int ef_face_canvas_node (EfFaceCanvas *self);                /* the active node of the selected mark; -1 none */
void ef_face_canvas_set_node (EfFaceCanvas *self, int node);
double ef_face_canvas_grid_step (EfFaceCanvas *self); /* m, at the present zoom */

void ef_face_canvas_to_widget (EfFaceCanvas *self, double u, double v, double *x, double *y);
void ef_face_canvas_to_chart (EfFaceCanvas *self, double x, double y, double *u, double *v);
void ef_face_canvas_zoom_at (EfFaceCanvas *self, double factor, double x, double y); /* what is under (x, y) stays there */
void ef_face_canvas_pan_by (EfFaceCanvas *self, double dx, double dy);
void ef_face_canvas_fit (EfFaceCanvas *self);
double ef_face_canvas_zoom (EfFaceCanvas *self);

/* @n_press 2: a double press. */
void ef_face_canvas_press (EfFaceCanvas *self, double x, double y, int n_press, EfTouch touch);
void ef_face_canvas_drag_to (EfFaceCanvas *self, double x, double y);
void ef_face_canvas_release (EfFaceCanvas *self, double x, double y);
void ef_face_canvas_hover (EfFaceCanvas *self, double x, double y);
void ef_face_canvas_leave (EfFaceCanvas *self);
void ef_face_canvas_finish (EfFaceCanvas *self); /* ends a line or an area of several clicks */
gboolean ef_face_canvas_cancel (EfFaceCanvas *self); /* one step back; FALSE when there was nothing to leave */
void ef_face_canvas_nudge (EfFaceCanvas *self, int dx, int dy, gboolean fine);
void ef_face_canvas_delete (EfFaceCanvas *self);
gboolean ef_face_canvas_step_mark (EfFaceCanvas *self, int step); /* FALSE past the first or last */

/* The pressure that is drawn; borrowed, NULL: none. Settled: it's that of the present assessment. */
EfFlowField *ef_face_canvas_field (EfFaceCanvas *self);
gboolean ef_face_canvas_pressure_settled (EfFaceCanvas *self);

/* Where the lamp stands: rad, anticlockwise from the chart's +u, and above the face. */
void ef_face_canvas_lamp_place (EfFaceCanvas *self, double *azimuth, double *elevation);
void ef_face_canvas_move_lamp (EfFaceCanvas *self, double azimuth, double elevation);
gboolean ef_face_canvas_lamp_settled (EfFaceCanvas *self); /* the scene is that of the present face, the lamp at rest */
/* Lays a photo under lines and marks, or (a picture of NULL) none; takes a reference of its own. Colours of depth are left out meanwhile. */
void ef_face_canvas_set_photo (EfFaceCanvas *self, const EfLaidPhoto *photo);

/* Waits until the picture is that of the present marks and zoom; for tests and measurements. */
void ef_face_canvas_settle (EfFaceCanvas *self);

G_END_DECLS
