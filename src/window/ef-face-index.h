/* A grid over a face that finds the mark under a finger without asking each one.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../wear/ef-mark.h"

G_BEGIN_DECLS

typedef struct _EfFaceIndex EfFaceIndex;

/* @marks: EfMark *; references are taken. */
EfFaceIndex *ef_face_index_new (GPtrArray *marks);
void ef_face_index_free (EfFaceIndex *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfFaceIndex, ef_face_index_free)

/* The mark at (u, v), or the nearest within @reach metres; where several lie under the place the smallest, so that a dent
 * inside a scored area can be had. NULL if none. */
EfMark *ef_face_index_pick (EfFaceIndex *self, double u, double v, double reach);
/* Marks whose bounds meet the rectangle u0 v0 u1 v1, in order of making: EfMark *, borrowed; free the array. */
GPtrArray *ef_face_index_within (EfFaceIndex *self, const double rect[4]);

G_END_DECLS
