/* Work with photos off the main thread: taking files in, and their pixels.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A store belongs to one thread, so each piece of work opens the session's store once more.
 */
#pragma once

#include "../draw/ef-draw-photo.h"
#include "../photo/ef-photo-file.h"
#include "ef-session.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

/* Takes in @files (a list of GFile) and attaches them to the job in one undoable step; what is refused is told by the session's messages, each with its reason. @shows: a
 * face or part, or NULL; @mark_id: a mark that also gets their digests, or NULL. Photos that the job has already aren't attached twice. */
void ef_photo_attach (EfSession *session, GListModel *files, const char *shows, const char *mark_id);
void ef_photo_attach_bytes (EfSession *session, GBytes *bytes, const char *name, const char *shows, const char *mark_id);
/* Asks for files and attaches them. */
void ef_photo_attach_dialog (GtkWidget *widget, EfSession *session, const char *shows, const char *mark_id);
/* TRUE while files are being taken in; for tests and for telling it. */
gboolean ef_photo_attaching (EfSession *session);

/* The photo's pixels, no side longer than @most_side, turned as it says or upright. */
void ef_photo_pixels_async (EfSession *session, const EfPhoto *photo, int most_side, gboolean turned, GCancellable *cancellable,
                            GAsyncReadyCallback callback, gpointer user_data);
GdkPixbuf *ef_photo_pixels_finish (GAsyncResult *result, GError **error);
/* Upright, ready to be drawn on a face. */
void ef_photo_picture_async (EfSession *session, const EfPhoto *photo, GCancellable *cancellable, GAsyncReadyCallback callback, gpointer user_data);
EfPhotoPicture *ef_photo_picture_finish (GAsyncResult *result, GError **error);

/* Takes the photo out of the job, and its digest from the marks and checks that name it, in one undoable step. */
void ef_photo_remove (EfSession *session, const EfPhoto *photo);

G_END_DECLS
