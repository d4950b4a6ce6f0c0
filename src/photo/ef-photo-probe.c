/* What a photo file is, from its headers alone.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-photo-file.h"

#include <libexif/exif-data.h>
#include <string.h>

typedef struct
{
  const guint8 *data;
  gsize length;
  const char *name;
} File;

static gboolean
broken (const File *file,
        GError **error)
{
  g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected a whole photo, found a file that is cut short or damaged; copy it from the camera again", file->name);

  return FALSE;
}

static guint32
big_endian (const guint8 *bytes,
            guint n)
{
  guint32 value = 0;

  for (guint i = 0; i < n; i++)
    value = value << 8 | bytes[i];

  return value;
}

/* Chunks from the first to the last: length, type, data, check sum. */
static gboolean
probe_png (const File *file,
           EfPhotoProbe *out,
           GError **error)
{
  gsize at = 8;
  guint32 size[2] = { 0 };

  for (;;)
    {
      guint32 length;
      const guint8 *type;

      if (file->length - at < 12)
        return broken (file, error);
      length = big_endian (file->data + at, 4);
      type = file->data + at + 4;
      if (length > G_MAXINT32 || file->length - at - 12 < length)
        return broken (file, error);
      if ((at == 8) != (memcmp (type, "IHDR", 4) == 0) || (at == 8 && length != 13))
        return broken (file, error);
      if (at == 8)
        {
          size[0] = big_endian (type + 4, 4);
          size[1] = big_endian (type + 8, 4);
        }
      if (memcmp (type, "acTL", 4) == 0)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected a photo, found a moving picture", file->name);
          return FALSE;
        }
      if (memcmp (type, "IEND", 4) == 0)
        break;
      at += 12 + length;
    }
  out->width = (int) MIN (size[0], G_MAXINT32);
  out->height = (int) MIN (size[1], G_MAXINT32);

  return TRUE;
}

/* "2026:03:09 10:15:00" */
static void
read_taken (ExifData *exif,
            EfPhotoProbe *out)
{
  ExifEntry *entry = exif_content_get_entry (exif->ifd[EXIF_IFD_EXIF], EXIF_TAG_DATE_TIME_ORIGINAL);
  g_autoptr (GTimeZone) utc = g_time_zone_new_utc ();
  g_autoptr (GDateTime) time = NULL;
  char text[20] = "";

  if (entry == NULL || entry->format != EXIF_FORMAT_ASCII || entry->size < 19 || entry->data == NULL)
    return;
  memcpy (text, entry->data, 19);
  if (text[4] != ':' || text[7] != ':' || text[10] != ' ')
    return;
  text[4] = text[7] = '-';
  text[10] = 'T';
  time = g_date_time_new_from_iso8601 (text, utc);
  if (time != NULL)
    g_strlcpy (out->taken, text, sizeof out->taken);
}

static void
read_exif (const guint8 *data,
           gsize length,
           EfPhotoProbe *out)
{
  ExifData *exif = exif_data_new ();
  ExifEntry *entry;

  exif_data_unset_option (exif, EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
  exif_data_load_data (exif, data, (unsigned int) length);
  entry = exif_content_get_entry (exif->ifd[EXIF_IFD_0], EXIF_TAG_ORIENTATION);
  if (entry != NULL && entry->format == EXIF_FORMAT_SHORT && entry->size >= 2 && entry->data != NULL)
    out->orientation = exif_get_short (entry->data, exif_data_get_byte_order (exif));
  if (out->orientation < 1 || out->orientation > 8)
    out->orientation = 1;
  read_taken (exif, out);
  exif_data_unref (exif);
}

/* A start of frame; the others in that row of markers are tables. */
static gboolean
is_frame (guint8 marker)
{
  return marker >= 0xc0 && marker <= 0xcf && marker != 0xc4 && marker != 0xc8 && marker != 0xcc;
}

/* An end of image after the start of scan at @at; there are small pictures with ends of their own before it. */
static gboolean
has_end (const File *file,
         gsize at)
{
  for (gsize i = file->length - 1; i > at; i--)
    if (file->data[i] == 0xd9 && file->data[i - 1] == 0xff)
      return TRUE;

  return FALSE;
}

/* Markers with their lengths up to the first start of scan. */
static gboolean
probe_jpeg (const File *file,
            EfPhotoProbe *out,
            GError **error)
{
  gsize at = 2;

  while (file->length - at >= 4)
    {
      guint8 marker = file->data[at + 1];
      guint32 length;

      if (file->data[at] != 0xff)
        return broken (file, error);
      if (marker == 0xff)
        {
          at++; /* fill */
          continue;
        }
      if (marker == 0x01 || (marker >= 0xd0 && marker <= 0xd7))
        {
          at += 2;
          continue;
        }
      length = big_endian (file->data + at + 2, 2);
      if (length < 2 || file->length - at - 2 < length)
        return broken (file, error);
      if (marker == 0xda)
        return (out->width > 0 && has_end (file, at)) || broken (file, error);
      if (is_frame (marker) && length >= 8)
        {
          out->height = (int) big_endian (file->data + at + 5, 2);
          out->width = (int) big_endian (file->data + at + 7, 2);
        }
      if (marker == 0xe1 && length > 8 && memcmp (file->data + at + 4, "Exif\0", 6) == 0)
        read_exif (file->data + at + 4, length - 2, out);
      at += 2 + length;
    }

  return broken (file, error);
}

static gboolean
check_size (const File *file,
            const EfPhotoProbe *probe,
            GError **error)
{
  if (probe->width < 1 || probe->height < 1)
    return broken (file, error);
  if (probe->width <= EF_PHOTO_MOST_SIDE && probe->height <= EF_PHOTO_MOST_SIDE && (gint64) probe->width * probe->height <= EF_PHOTO_MOST_PIXELS)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected at most %d million px and sides of at most %d px, found %d x %d px; make it smaller and try again",
               file->name, EF_PHOTO_MOST_PIXELS / 1000000, EF_PHOTO_MOST_SIDE, probe->width, probe->height);

  return FALSE;
}

gboolean
ef_photo_probe (GBytes *bytes,
                const char *name,
                EfPhotoProbe *out,
                GError **error)
{
  File file = { .name = name };
  gboolean png;

  g_return_val_if_fail (bytes != NULL && name != NULL && out != NULL, FALSE);
  *out = (EfPhotoProbe){ .orientation = 1 };
  file.data = g_bytes_get_data (bytes, &file.length);
  out->type = ef_file_type_of_bytes (file.data, file.length);
  png = g_str_equal (out->type, "image/png");
  if (!png && !g_str_equal (out->type, "image/jpeg"))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected a JPEG or PNG photo, found another kind of file, whatever its name says", name);
      return FALSE;
    }
  if (!(png ? probe_png (&file, out, error) : probe_jpeg (&file, out, error)) || !check_size (&file, out, error))
    return FALSE;
  if (out->orientation >= 5)
    {
      int width = out->width;

      out->width = out->height;
      out->height = width;
    }

  return TRUE;
}
