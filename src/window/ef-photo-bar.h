/* Which of the face's photos lies under it, and how strongly it shows.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-face-canvas.h"

G_BEGIN_DECLS

#define EF_TYPE_PHOTO_BAR (ef_photo_bar_get_type ())
G_DECLARE_FINAL_TYPE (EfPhotoBar, ef_photo_bar, EF, PHOTO_BAR, GtkBox)

/* Property "active" (boolean): shown, with the photo on @canvas. */
GtkWidget *ef_photo_bar_new (EfSession *session, EfFaceCanvas *canvas);
/* TRUE when the photo that was asked for is on the canvas, or none is; for tests. */
gboolean ef_photo_bar_settled (EfPhotoBar *self);

G_END_DECLS
