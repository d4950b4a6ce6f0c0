/* Photo files made by the tests: good ones with EXIF, and bad ones of every sort.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include <string.h>
#include <gdk-pixbuf/gdk-pixbuf.h>

/* Each px has a colour of its own corner: red grows to the right, green downwards. */
static inline GdkPixbuf *
photo_pixels (int width,
              int height)
{
  GdkPixbuf *pixbuf = gdk_pixbuf_new (GDK_COLORSPACE_RGB, FALSE, 8, width, height);
  guint8 *pixels = gdk_pixbuf_get_pixels (pixbuf);
  int stride = gdk_pixbuf_get_rowstride (pixbuf);

  for (int y = 0; y < height; y++)
    for (int x = 0; x < width; x++)
      {
        pixels[y * stride + 3 * x] = (guint8) (255 * x / MAX (width - 1, 1));
        pixels[y * stride + 3 * x + 1] = (guint8) (255 * y / MAX (height - 1, 1));
        pixels[y * stride + 3 * x + 2] = 80;
      }

  return pixbuf;
}

static inline GByteArray *
photo_encode (GdkPixbuf *pixbuf,
              const char *type)
{
  g_autoptr (GError) error = NULL;
  char *buffer = NULL;
  gsize length = 0;
  GByteArray *bytes;

  g_assert_true (gdk_pixbuf_save_to_buffer (pixbuf, &buffer, &length, type, &error, NULL));
  g_assert_no_error (error);
  bytes = g_byte_array_new_take ((guint8 *) buffer, length);

  return bytes;
}

/* An Exif segment in little-endian TIFF (EXIF 2.3, 4.5): orientation in IFD 0, DateTimeOriginal in the Exif IFD. */
static inline void
photo_add_exif (GByteArray *jpeg,
                int orientation,
                const char *taken)
{
  guint8 segment[] = {
    0xff, 0xe1, 0, 0, 'E', 'x', 'i', 'f', 0, 0, 'I', 'I', 42, 0, 8, 0, 0, 0,
    2, 0,                                               /* IFD 0 at 8: two entries */
    0x12, 0x01, 3, 0, 1, 0, 0, 0, (guint8) orientation, 0, 0, 0,
    0x69, 0x87, 4, 0, 1, 0, 0, 0, 38, 0, 0, 0,          /* the Exif IFD at 38 */
    0, 0, 0, 0,
    1, 0,                                               /* one entry */
    0x03, 0x90, 2, 0, 20, 0, 0, 0, 56, 0, 0, 0,         /* twenty characters at 56 */
    0, 0, 0, 0,
    0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0
  };
  g_autoptr (GByteArray) rest = g_byte_array_new ();

  segment[3] = sizeof segment - 2;
  memcpy (segment + sizeof segment - 20, taken, MIN (strlen (taken), 19));
  g_byte_array_append (rest, jpeg->data + 2, jpeg->len - 2);
  g_byte_array_set_size (jpeg, 2);
  g_byte_array_append (jpeg, segment, sizeof segment);
  g_byte_array_append (jpeg, rest->data, rest->len);
}

static inline guint32
photo_crc (const guint8 *bytes,
           gsize length)
{
  guint32 crc = 0xffffffff;

  for (gsize i = 0; i < length; i++)
    {
      crc ^= bytes[i];
      for (int k = 0; k < 8; k++)
        crc = crc & 1 ? 0xedb88320u ^ crc >> 1 : crc >> 1;
    }

  return ~crc;
}

static inline void
photo_png_chunk (GByteArray *png,
                 const char *type,
                 const void *data,
                 guint32 length)
{
  guint32 head = GUINT32_TO_BE (length), crc;
  guint start = png->len + 4;

  g_byte_array_append (png, (const guint8 *) &head, 4);
  g_byte_array_append (png, (const guint8 *) type, 4);
  if (length > 0)
    g_byte_array_append (png, data, length);
  crc = GUINT32_TO_BE (photo_crc (png->data + start, png->len - start));
  g_byte_array_append (png, (const guint8 *) &crc, 4);
}

/* Headers that are right for any size, and hardly any pixels behind them. */
static inline GByteArray *
photo_png_of_size (guint32 width,
                   guint32 height,
                   gboolean moving)
{
  GByteArray *png = g_byte_array_new ();
  guint32 header[4] = { GUINT32_TO_BE (width), GUINT32_TO_BE (height), GUINT32_TO_BE (0x08020000u), 0 };
  static const guint8 zlib_nothing[] = { 0x78, 0x9c, 0x03, 0x00, 0x00, 0x00, 0x00, 0x01 };
  static const guint8 control[8] = { 0, 0, 0, 2, 0, 0, 0, 0 };

  g_byte_array_append (png, (const guint8 *) "\x89PNG\r\n\x1a\n", 8);
  photo_png_chunk (png, "IHDR", header, 13);
  if (moving)
    photo_png_chunk (png, "acTL", control, 8);
  photo_png_chunk (png, "IDAT", zlib_nothing, sizeof zlib_nothing);
  photo_png_chunk (png, "IEND", NULL, 0);

  return png;
}
