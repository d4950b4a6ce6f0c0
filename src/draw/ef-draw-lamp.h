/* A face as it looks under a lamp: a shaded picture of its surface.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The lamp is far away, the eye straight above the chart. Each cell is lit by Lambert's law and by Ward's anisotropic highlight (Ward, SIGGRAPH 1992;
 * formula from memory) about the lay of the machining, which is what makes brushed metal flare across its lay. Then the eye adapts: brightness is told
 * against that of the unworn face under the same lamp, so a low lamp isn't dark and shows what is shallow, as on the bench. A slope s towards the lamp
 * of elevation e is brighter by 1 + s / tan e (Lambert), one across it not at all.
 */
#pragma once

#include "ef-draw.h"
#include "../wear/ef-surface.h"

G_BEGIN_DECLS

#define EF_LAMP_LOWEST (3.0 * G_PI / 180.0)

/* How a material takes light. */
typedef struct
{
  double diffuse, specular;
  double along, across; /* Ward's alpha: roughness along and across the lay */
  double lay;           /* rms slope that the lay itself has across; 0: a polished face */
  double tint[3];       /* 0 … 1 */
} EfMetal;
/* Of a pump sheet's material; an unknown one looks like steel. */
void ef_metal_of (const char *material, EfMetal *metal);

/* A surface made ready to be lit again and again; immutable, thread-safe. */
typedef struct _EfLampScene EfLampScene;
/* @shrink: so many cells to a side become one, 1 for all detail. */
EfLampScene *ef_lamp_scene_new (const EfSurface *surface, const EfMetal *metal, guint shrink);
EfLampScene *ef_lamp_scene_ref (EfLampScene *self);
void ef_lamp_scene_unref (EfLampScene *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfLampScene, ef_lamp_scene_unref)

/* @azimuth: rad, where the lamp stands on the chart, anticlockwise from +u; @elevation above the face, brought to EF_LAMP_LOWEST … 90 degrees. An
 * ARGB image, one px a cell, first row at the top (greatest v), clear where there's no metal. */
cairo_surface_t *ef_lamp_scene_light (const EfLampScene *self, double azimuth, double elevation);
/* u0, v0, u1, v1 of such an image, m. */
void ef_lamp_scene_bounds (const EfLampScene *self, double bounds[4]);

/* An image of @bounds on a chart, as @view has it. */
void ef_draw_chart_image (cairo_t *cr, const EfFaceView *view, cairo_surface_t *image, const double bounds[4]);
/* A whole picture: the lit face, scale bar, and where the lamp stands. */
void ef_draw_lamp_picture (cairo_t *cr, const EfDrawStyle *style, const EfFaceChart *chart, const EfLampScene *scene, double azimuth, double elevation, double width, double height);
/* The same as a file; by the ending, .png or .svg. The metal is that of the face's part. */
gboolean ef_picture_write_lamp (const EfFaceChart *chart, const EfSurface *surface, double azimuth, double elevation, const char *path, double width, double height, GError **error);
/* A small dial that shows where the lamp stands: a ring about (@x, @y), the lamp on it, nearer the middle the higher it is. */
void ef_draw_lamp_dial (cairo_t *cr, const EfDrawStyle *style, double x, double y, double radius, double azimuth, double elevation);

G_END_DECLS
