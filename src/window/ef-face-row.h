/* The faces of the shown part as small pictures in a row: press one to open it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-session.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define EF_TYPE_FACE_ROW (ef_face_row_get_type ())
G_DECLARE_FINAL_TYPE (EfFaceRow, ef_face_row, EF, FACE_ROW, GtkWidget)

/* Signal "opened": by the user; the keyboard may go to the face. */
GtkWidget *ef_face_row_new (EfSession *session);
guint ef_face_row_length (EfFaceRow *self);
GtkWidget *ef_face_row_button (EfFaceRow *self, guint i); /* borrowed */

G_END_DECLS
