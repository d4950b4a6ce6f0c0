/* Something flat to zoom, pan and choose places on: a photo, or a face, with numbered places.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Content coordinates are its own, x to the right, y downwards; the pane shows x0 + scale x, y0 + scale y. By pointer: a press chooses, a drag moves, the wheel zooms. By
 * keyboard: arrows move a cross (with Shift farther, with Ctrl a px at a time), Enter chooses, + − 0 zoom.
 * Signal "picked" (double x, double y).
 */
#pragma once

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_PHOTO_PANE (ef_photo_pane_get_type ())
G_DECLARE_FINAL_TYPE (EfPhotoPane, ef_photo_pane, EF, PHOTO_PANE, GtkWidget)

typedef struct
{
  double scale, x0, y0;
  int width, height; /* px */
} EfPhotoPaneView;

typedef void (*EfPhotoPaneDraw) (cairo_t *cr, const EfPhotoPaneView *view, gpointer user_data);
/* Moves the place to something near, within @reach; returns its name (borrowed) or NULL. */
typedef const char *(*EfPhotoPaneSnap) (double reach, double *x, double *y, gpointer user_data);

GtkWidget *ef_photo_pane_new (const char *label);
/* Bounds of what there is to see; shown whole. */
void ef_photo_pane_set_content (EfPhotoPane *self, double x0, double y0, double x1, double y1, EfPhotoPaneDraw draw, EfPhotoPaneSnap snap, gpointer user_data);
/* Numbered from 1; the last one without its partner yet where @pending. Copied. */
void ef_photo_pane_set_points (EfPhotoPane *self, const double *xy, guint n, gboolean pending);
void ef_photo_pane_to_widget (EfPhotoPane *self, double x, double y, double *widget_x, double *widget_y);
void ef_photo_pane_fit (EfPhotoPane *self);
void ef_photo_pane_zoom_at (EfPhotoPane *self, double factor, double widget_x, double widget_y);

G_END_DECLS
