/* A photo file's pixels, and taking one into the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-photo-file.h"
#include "ef-file-read.h"

#include <string.h>

#define STEP 65536 /* bytes between looks at the cancellable */

typedef struct
{
  int width, height; /* expected, as in the file */
  int most_side;
  gboolean refused;
} Decode;

/* The decoder's own idea of the size is to be ours; scaled down here, a JPEG is never unfolded in full. */
static void
size_prepared_cb (GdkPixbufLoader *loader,
                  int width,
                  int height,
                  gpointer user_data)
{
  Decode *decode = user_data;
  int longer = MAX (width, height);

  if (width != decode->width || height != decode->height)
    {
      decode->refused = TRUE;
      gdk_pixbuf_loader_set_size (loader, 1, 1);
    }
  else if (decode->most_side > 0 && longer > decode->most_side)
    gdk_pixbuf_loader_set_size (loader, (int) MAX (1, (gint64) width * decode->most_side / longer), (int) MAX (1, (gint64) height * decode->most_side / longer));
}

static gboolean
feed (GdkPixbufLoader *loader,
      GBytes *bytes,
      const Decode *decode,
      GCancellable *cancellable,
      GError **error)
{
  gsize length;
  const guint8 *data = g_bytes_get_data (bytes, &length);

  for (gsize at = 0; at < length; at += STEP)
    if (g_cancellable_set_error_if_cancelled (cancellable, error) || !gdk_pixbuf_loader_write (loader, data + at, MIN (STEP, length - at), error)
        || decode->refused)
      return FALSE;

  return TRUE;
}

/* EXIF 2.3, 4.6.4 A: where row 0 and column 0 of the file lie. */
static GdkPixbuf *
make_upright (GdkPixbuf *pixbuf,
              int orientation)
{
  static const struct
  {
    GdkPixbufRotation rotation;
    int flip; /* 0 none, 1 left and right, 2 up and down */
  } ways[9] = {
    { GDK_PIXBUF_ROTATE_NONE, 0 }, { GDK_PIXBUF_ROTATE_NONE, 0 }, { GDK_PIXBUF_ROTATE_NONE, 1 }, { GDK_PIXBUF_ROTATE_UPSIDEDOWN, 0 },
    { GDK_PIXBUF_ROTATE_NONE, 2 }, { GDK_PIXBUF_ROTATE_CLOCKWISE, 1 }, { GDK_PIXBUF_ROTATE_CLOCKWISE, 0 }, { GDK_PIXBUF_ROTATE_CLOCKWISE, 2 },
    { GDK_PIXBUF_ROTATE_COUNTERCLOCKWISE, 0 },
  };
  g_autoptr (GdkPixbuf) turned = NULL;

  if (orientation <= 1)
    return g_object_ref (pixbuf);
  turned = gdk_pixbuf_rotate_simple (pixbuf, ways[orientation].rotation);
  if (turned == NULL || ways[orientation].flip == 0)
    return g_steal_pointer (&turned);

  return gdk_pixbuf_flip (turned, ways[orientation].flip == 1);
}

static void
set_decode_error (const char *name,
                  const GError *local,
                  GError **error)
{
  if (g_error_matches (local, G_IO_ERROR, G_IO_ERROR_CANCELLED))
    g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, "%s: reading the photo was stopped", name);
  else
    g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected a photo, found pixels that can't be read (%s)", name,
                 local != NULL ? local->message : "its headers contradict one another");
}

GdkPixbuf *
ef_photo_decode (GBytes *bytes,
                 const char *name,
                 int most_side,
                 GCancellable *cancellable,
                 GError **error)
{
  g_autoptr (GdkPixbufLoader) loader = NULL;
  g_autoptr (GError) local = NULL;
  g_autoptr (GdkPixbuf) upright = NULL;
  EfPhotoProbe probe;
  Decode decode = { .most_side = most_side };
  GdkPixbuf *pixbuf = NULL;
  gboolean fed;

  if (!ef_photo_probe (bytes, name, &probe, error))
    return NULL;
  decode.width = probe.orientation >= 5 ? probe.height : probe.width;
  decode.height = probe.orientation >= 5 ? probe.width : probe.height;
  loader = gdk_pixbuf_loader_new_with_mime_type (probe.type, &local);
  if (loader != NULL)
    {
      g_signal_connect (loader, "size-prepared", G_CALLBACK (size_prepared_cb), &decode);
      fed = feed (loader, bytes, &decode, cancellable, &local);
      /* It's to be closed whatever happened; the first trouble is what counts. */
      if (gdk_pixbuf_loader_close (loader, local != NULL ? NULL : &local) && fed)
        pixbuf = gdk_pixbuf_loader_get_pixbuf (loader);
    }
  if (pixbuf != NULL && !decode.refused)
    upright = make_upright (pixbuf, probe.orientation);
  if (upright == NULL)
    set_decode_error (name, local, error);

  return g_steal_pointer (&upright);
}

GdkPixbuf *
ef_photo_load (EfStore *store,
               const EfPhoto *photo,
               int most_side,
               gboolean turned,
               GCancellable *cancellable,
               GError **error)
{
  static const GdkPixbufRotation rotations[4] = { GDK_PIXBUF_ROTATE_NONE, GDK_PIXBUF_ROTATE_CLOCKWISE, GDK_PIXBUF_ROTATE_UPSIDEDOWN,
                                                  GDK_PIXBUF_ROTATE_COUNTERCLOCKWISE };
  g_autoptr (GBytes) bytes = ef_store_read_file (store, photo->file, cancellable, error);
  g_autoptr (GdkPixbuf) pixbuf = bytes != NULL ? ef_photo_decode (bytes, photo->name, most_side, cancellable, error) : NULL;

  if (pixbuf == NULL || !turned || photo->turns == 0)
    return g_steal_pointer (&pixbuf);

  return gdk_pixbuf_rotate_simple (pixbuf, rotations[photo->turns & 3]);
}

/* Decoded once, small, so that nothing gets into the store that can't be shown. */
EfPhoto *
ef_photo_take_in_bytes (EfStore *store,
                        GBytes *bytes,
                        const char *name,
                        GCancellable *cancellable,
                        GError **error)
{
  g_autoptr (GInputStream) stream = g_memory_input_stream_new_from_bytes (bytes);
  g_autoptr (GdkPixbuf) trial = NULL;
  g_autofree char *digest = NULL;
  EfPhotoProbe probe;
  EfPhoto *photo;

  if (!ef_file_name_check (name, error) || !ef_photo_probe (bytes, name, &probe, error))
    return NULL;
  trial = ef_photo_decode (bytes, name, 256, cancellable, error);
  digest = trial != NULL ? ef_store_add_file (store, stream, name, cancellable, error) : NULL;
  if (digest == NULL)
    return NULL;
  photo = ef_photo_new (digest, name, probe.type, probe.width, probe.height);
  photo->taken = *probe.taken != '\0' ? g_strdup (probe.taken) : NULL;

  return photo;
}

EfPhoto *
ef_photo_take_in (EfStore *store,
                  GFile *file,
                  GCancellable *cancellable,
                  GError **error)
{
  g_autofree char *name = g_file_get_basename (file);
  g_autoptr (GBytes) bytes = NULL;

  g_return_val_if_fail (store != NULL && G_IS_FILE (file), NULL);
  if (!ef_file_name_check (name != NULL ? name : "", error))
    return NULL;
  bytes = ef_file_read_limited (file, name, "a photo", cancellable, error);

  return bytes != NULL ? ef_photo_take_in_bytes (store, bytes, name, cancellable, error) : NULL;
}
