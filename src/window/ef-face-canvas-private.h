/* What the parts of the canvas share: state, and who does what.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 *   ef-face-canvas.c         the widget: properties, actions and keys, following the session
 *   ef-face-canvas-view.c    zoom, pan, the cached picture, drawing
 *   ef-face-canvas-stroke.c  tools: from press, drag and release to a change
 *   ef-face-canvas-pressure.c  the oil pressure over the face
 *   ef-face-canvas-lamp.c    the face under a lamp
 *   ef-face-canvas-input.c   gestures: mouse, finger, pen, wheel
 */
#pragma once

#include "ef-face-canvas.h"
#include "ef-face-index.h"
#include "ef-face-layer.h"

#include "../assess/ef-flow-field.h"

G_BEGIN_DECLS

/* What a press has begun. */
typedef enum
{
  EF_STROKE_NONE,
  EF_STROKE_VIEW,  /* pans */
  EF_STROKE_MARK,  /* moves the selected mark */
  EF_STROKE_NODE,  /* moves self->node of the live mark */
  EF_STROKE_SIZE,  /* diameter or width of the live mark */
  EF_STROKE_POINT, /* a new point */
  EF_STROKE_LINE,  /* one more node of a line, or a whole line */
  EF_STROKE_AREA,  /* one more node of an area, or a freehand area */
  EF_STROKE_RULER
} EfStroke;

typedef enum { EF_HIT_NONE, EF_HIT_NODE, EF_HIT_PLUS, EF_HIT_SIZE, EF_HIT_BODY } EfHit;

/* A face made ready to be lit. */
typedef struct _EfCanvasScene EfCanvasScene;

struct _EfFaceCanvas
{
  GtkWidget parent_instance;

  EfSession *session;
  GSignalGroup *session_signals;

  /* The face as it is now. */
  char *face_id;
  EfFaceChart *chart;
  GPtrArray *marks; /* EfMark *, owned */
  EfMark *selected; /* one of marks, or NULL */
  EfFaceIndex *index;
  EfDepthMap *map;
  double map_deepest; /* m */

  /* Zoom and place. */
  EfFaceView view;
  double fit_scale;
  gboolean fitted;
  int width, height;

  /* The cached picture. */
  cairo_surface_t *picture;
  GdkTexture *texture; /* of the same pixels, for renderers that draw with a graphics card */
  EfFaceView texture_view;
  double texture_width, texture_height;
  guint64 content, texture_content; /* grow with each change of what is shown */
  double told_zoom; /* zoom that was last notified */
  double cost;                      /* s the last picture took */
  GCancellable *drawing;            /* NULL: none under way */
  guint draw_timeout;
  gint64 content_time;

  /* The oil pressure over the face. */
  gboolean pressure;     /* wanted */
  EfFlowField *field;    /* shown; NULL: none yet */
  GHashTable *fields;    /* face id -> EfFlowField *, of the latest assessment */
  GCancellable *solving; /* NULL: none under way */
  char *no_field;        /* why there is none */

  /* The lamp. */
  gboolean lamp;
  double lamp_azimuth, lamp_elevation; /* rad, on the chart */
  EfCanvasScene *scene;   /* NULL: none yet */
  GCancellable *lighting; /* NULL: none is being made */
  guint lamp_rest;        /* the lamp moves */
  gboolean photo_wanted;
  EfLaidPhoto photo; /* under the lines; a picture of NULL: none */

  /* Tools. */
  EfTool tool;
  EfMarkKind kind;
  double size[EF_N_SHAPES];
  gboolean grid, snap, space;
  char *read_out, *hint;

  /* The stroke under way. */
  EfStroke stroke;
  EfTouch touch;
  gboolean moved;
  double press_x, press_y, last_x, last_y;
  double press_u, press_v;
  GArray *path;     /* EfMarkNode: a new line or area, the ruler */
  gboolean placing; /* between the clicks of a line or area */
  EfMarkShape placing_shape;
  double hover_u, hover_v;
  gboolean hovering;
  double hover_x, hover_y;
  EfMark *live; /* copy of the selected mark as it would become */
  int node;
  const char *snapped; /* name of what the pointer snapped to; borrowed from the chart */
  double snap_u, snap_v;
  gboolean ruler_set;

  /* Gestures. */
  double zoom_last, zoom_x, zoom_y;
  gint64 click_time;
  double click_x, click_y;
  GtkGesture *drag;
};

/* view */
void ef_face_canvas_content_changed (EfFaceCanvas *self);
void ef_face_canvas_view_changed (EfFaceCanvas *self);
/* Pans no further than it must. */
void ef_face_canvas_reveal (EfFaceCanvas *self, const EfMark *mark);
void ef_face_canvas_resized (EfFaceCanvas *self, int width, int height);
void ef_face_canvas_draw (EfFaceCanvas *self, GtkSnapshot *snapshot);
void ef_face_canvas_drop_picture (EfFaceCanvas *self);

/* pressure */
void ef_face_canvas_follow_pressure (EfFaceCanvas *self);
void ef_face_canvas_drop_pressure (EfFaceCanvas *self);
void ef_face_canvas_draw_pressure_legend (EfFaceCanvas *self, GtkSnapshot *snapshot, const EfDrawStyle *style);

/* lamp */
void ef_face_canvas_follow_lamp (EfFaceCanvas *self);
void ef_face_canvas_drop_lamp (EfFaceCanvas *self);
void ef_face_canvas_light_job (EfFaceCanvas *self, EfFaceLayerJob *job);
/* As a place of the canvas: its middle is straight above the face, the edge lies on it. */
void ef_face_canvas_lamp_at (EfFaceCanvas *self, double x, double y);
void ef_face_canvas_lamp_notify (EfFaceCanvas *self);

/* stroke */
EfHit ef_face_canvas_hit (EfFaceCanvas *self, double x, double y, int *index_out, double *u_out, double *v_out);
gboolean ef_face_canvas_size_handle (EfFaceCanvas *self, const EfMark *mark, double *x, double *y, double *anchor_x, double *anchor_y);
void ef_face_canvas_drop_stroke (EfFaceCanvas *self);
void ef_face_canvas_update_read_out (EfFaceCanvas *self);
double ef_face_canvas_plus_length (void);

/* input */
void ef_face_canvas_add_gestures (EfFaceCanvas *self);

/* widget */
void ef_face_canvas_set_read_out (EfFaceCanvas *self, char *text); /* takes it */
void ef_face_canvas_set_hint (EfFaceCanvas *self, const char *text);
void ef_face_canvas_describe (EfFaceCanvas *self);
void ef_face_canvas_zoom_notify (EfFaceCanvas *self);
void ef_face_canvas_emit_drawn (EfFaceCanvas *self, const char *id);
/* One undoable step; @before or @after may be NULL. */
gboolean ef_face_canvas_apply (EfFaceCanvas *self, const char *label, EfMark *before, EfMark *after);

G_END_DECLS
