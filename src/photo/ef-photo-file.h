/* Photo files, safely: what they are by their content, and their pixels.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Only JPEG (ITU-T T.81) and PNG (ISO/IEC 15948), decided by the bytes and never by a name. The size is read from the file's own headers before anything is decoded, so a small
 * file that would unfold into more than EF_PHOTO_MOST_PIXELS is refused at once; so are files cut short and moving pictures. Nothing here belongs to the main thread: a large photo
 * takes a second.
 */
#pragma once

#include <gdk-pixbuf/gdk-pixbuf.h>
#include <gio/gio.h>
#include "../inspection/ef-photo.h"
#include "../record/ef-store-files.h"

G_BEGIN_DECLS

typedef struct
{
  const char *type;  /* "image/jpeg", "image/png" */
  int width, height; /* px, upright */
  int orientation;   /* 1 … 8 as EXIF 2.3 counts them; 1 where the file doesn't say */
  char taken[20];    /* EXIF DateTimeOriginal as "2026-03-09T10:15:00"; "" where the file doesn't say or says no time that exists */
} EfPhotoProbe;

/* @name is for messages. EF_ERROR_INVALID: another kind of file, a moving picture; EF_ERROR_PARSE: cut short or broken headers; EF_ERROR_RANGE: too large. */
gboolean ef_photo_probe (GBytes *bytes, const char *name, EfPhotoProbe *out, GError **error);
/* Upright pixels, no side longer than @most_side (0: as many as there are). Errors as ef_photo_probe(), and EF_ERROR_PARSE where the pixels can't be read,
 * EF_ERROR_CANCELLED. */
GdkPixbuf *ef_photo_decode (GBytes *bytes, const char *name, int most_side, GCancellable *cancellable, GError **error);
/* The same turned as the photo says. From the store, with its bytes checked. */
GdkPixbuf *ef_photo_load (EfStore *store, const EfPhoto *photo, int most_side, gboolean turned, GCancellable *cancellable, GError **error);

/* Reads, looks at and decodes the file, then adds it to the store: a new item that isn't part of a job yet, showing nothing in particular. Also refused: what isn't a regular
 * file, and what ef_store_add_file() refuses. */
EfPhoto *ef_photo_take_in (EfStore *store, GFile *file, GCancellable *cancellable, GError **error);
EfPhoto *ef_photo_take_in_bytes (EfStore *store, GBytes *bytes, const char *name, GCancellable *cancellable, GError **error);

G_END_DECLS
