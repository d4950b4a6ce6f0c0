/* A photo drawn where it lies on a face.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gdk-pixbuf/gdk-pixbuf.h>
#include "../geometry/ef-registration.h"
#include "ef-draw.h"

G_BEGIN_DECLS

/* Pixels at several sizes, each half of the one before; counted by reference and immutable, so that threads share it. */
typedef struct _EfPhotoPicture EfPhotoPicture;
/* @width, @height: of the photo itself, px, whose places the registration speaks of; the pixbuf may be smaller. */
EfPhotoPicture *ef_photo_picture_new (GdkPixbuf *upright, int width, int height);
EfPhotoPicture *ef_photo_picture_ref (EfPhotoPicture *picture);
void ef_photo_picture_unref (EfPhotoPicture *picture);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfPhotoPicture, ef_photo_picture_unref)

/* Where the photo goes on the target: what lies on it. NULL picture: nothing. */
typedef struct
{
  EfPhotoPicture *picture;
  double to_photo[9]; /* of EfRegistration */
  double opacity;     /* 0 … 1 */
} EfLaidPhoto;

/* Into x, y, width, height of the target, in target units; transparent where there is no photo. Bilinear between px, from the size that fits. */
void ef_draw_laid_photo (cairo_t *cr, const EfFaceView *view, const EfLaidPhoto *photo, double x, double y, double width, double height);

G_END_DECLS
