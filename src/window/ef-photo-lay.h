/* Laying a photo onto the face that it shows: pairs of places, and how well they fit.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-photo-pane.h"
#include "ef-session.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define EF_TYPE_PHOTO_LAY (ef_photo_lay_get_type ())
G_DECLARE_FINAL_TYPE (EfPhotoLay, ef_photo_lay, EF, PHOTO_LAY, AdwWindow)

/* For the photo with that id, which shows a face. Keep is one undoable step. */
void ef_photo_lay_show (GtkWidget *parent, EfSession *session, const char *photo_id);

/* For tests. */
EfPhotoPane *ef_photo_lay_photo_pane (EfPhotoLay *self);
EfPhotoPane *ef_photo_lay_face_pane (EfPhotoLay *self);
gboolean ef_photo_lay_loaded (EfPhotoLay *self);

G_END_DECLS
