/* What differs between two states of one face, as one picture: the marks that differ, and how much deeper or shallower each place became.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-draw.h"
#include "../record/ef-compare.h"

G_BEGIN_DECLS

typedef struct
{
  EfFaceChart *chart;        /* of the later state; both are drawn on it */
  GPtrArray *before, *after; /* EfMark *, the inspections' own: marks of this face that differ, as they were and as they are */
  guint n_removed, n_added, n_changed, n_same; /* marks of this face; one that went to another face counts as removed here */
  EfDepthMap *grid;          /* the later state's: its cells are those of @change */
  float *change;             /* [grid->nu * grid->nv], m: wear spread over the cell, later less earlier; > 0 is deeper now */
  double greatest;           /* largest |change|, m */
  double volume;             /* of all cells, m3; > 0: more worn away now */
} EfFaceDifference;

/* @differences: ef_compare() of the two. Both inspections must outlive it. Marks without a depth are drawn, but change no depth. Fails as ef_face_chart_new()
 * and ef_depth_map_new() do, EF_ERROR_CANCELLED included. */
EfFaceDifference *ef_face_difference_new (const EfInspection *before, const EfInspection *after, GPtrArray *differences, const char *face_id,
                                          GCancellable *cancellable, GError **error);
void ef_face_difference_free (EfFaceDifference *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfFaceDifference, ef_face_difference_free)

/* Ids of the faces on which a mark differs, in the order of @differences: char *. */
GPtrArray *ef_face_difference_faces (const EfInspection *before, const EfInspection *after, GPtrArray *differences);
/* "1 mark removed; 26 the same. 1.32 mm³ less worn away." */
char *ef_face_difference_words (const EfFaceDifference *self);
/* The face with what differs, its numbers as +4 (added), −3 (removed) or 5 (changed), a colour scale and a scale bar, filling width x height. */
void ef_draw_face_difference (cairo_t *cr, const EfDrawStyle *style, const EfFaceDifference *self, double width, double height);
/* The colour of a change of @share of the greatest, -1 … 1: blue where it is shallower now, brown where it is deeper. */
void ef_draw_change_colour (double share, gboolean dark, double rgb[3]);
/* As a file, under a heading with the face's name; errors as ef_picture_write_face(). */
gboolean ef_picture_write_difference (const EfFaceDifference *self, const char *path, double width, double height, GError **error);

G_END_DECLS
