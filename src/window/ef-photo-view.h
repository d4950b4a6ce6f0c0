/* The job's photos: attached, looked at, turned, said what they show, laid on faces.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files dropped on it and pictures pasted (Ctrl+V) are attached too.
 */
#pragma once

#include "ef-session.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_PHOTO_VIEW (ef_photo_view_get_type ())
G_DECLARE_FINAL_TYPE (EfPhotoView, ef_photo_view, EF, PHOTO_VIEW, GtkBox)

GtkWidget *ef_photo_view_new (EfSession *session);
/* TRUE when every photo has its small picture, or a sentence why not; for tests. */
gboolean ef_photo_view_settled (EfPhotoView *self);

G_END_DECLS
