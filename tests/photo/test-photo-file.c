/* Photo files: good ones upright with their time, hostile ones refused in words.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <glib/gstdio.h>
#include <sys/stat.h>

#include "photo/ef-photo-file.h"
#include "../isolate.h"
#include "../record/open-store.h"
#include "photo-bytes.h"

/* As made, where a row and column of the file lie after each EXIF orientation (EXIF 2.3, 4.6.4 A): the corner of row 0, column 0. */
static void
test_orientations (void)
{
  static const struct
  {
    int x, y; /* 0 left, top; 1 right, bottom */
    gboolean turned;
  } corner[9] = { { 0 }, { 0, 0, FALSE }, { 1, 0, FALSE }, { 1, 1, FALSE }, { 0, 1, FALSE }, { 0, 0, TRUE }, { 1, 0, TRUE }, { 1, 1, TRUE }, { 0, 1, TRUE } };
  g_autoptr (GdkPixbuf) pixels = photo_pixels (48, 32);

  for (int orientation = 1; orientation <= 8; orientation++)
    {
      g_autoptr (GByteArray) jpeg = photo_encode (pixels, "jpeg");
      g_autoptr (GBytes) bytes = NULL;
      g_autoptr (GdkPixbuf) upright = NULL;
      g_autoptr (GError) error = NULL;
      EfPhotoProbe probe;
      const guint8 *p;
      int width, height;

      photo_add_exif (jpeg, orientation, "2026:03:09 10:15:00");
      bytes = g_bytes_new (jpeg->data, jpeg->len);
      g_assert_true (ef_photo_probe (bytes, "a.jpg", &probe, &error));
      g_assert_no_error (error);
      g_assert_cmpstr (probe.type, ==, "image/jpeg");
      g_assert_cmpint (probe.orientation, ==, orientation);
      g_assert_cmpstr (probe.taken, ==, "2026-03-09T10:15:00");
      g_assert_cmpint (probe.width, ==, corner[orientation].turned ? 32 : 48);
      upright = ef_photo_decode (bytes, "a.jpg", 0, NULL, &error);
      g_assert_no_error (error);
      width = gdk_pixbuf_get_width (upright);
      height = gdk_pixbuf_get_height (upright);
      g_assert_cmpint (width, ==, probe.width);
      g_assert_cmpint (height, ==, probe.height);
      p = gdk_pixbuf_get_pixels (upright) + (corner[orientation].y ? height - 1 : 0) * gdk_pixbuf_get_rowstride (upright)
          + (corner[orientation].x ? width - 1 : 0) * gdk_pixbuf_get_n_channels (upright);
      /* Row 0, column 0 has neither red nor green. */
      g_assert_cmpint (p[0], <, 40);
      g_assert_cmpint (p[1], <, 40);
      /* The next corner to the right in the file is red, and not green. */
      p = corner[orientation].turned
            ? gdk_pixbuf_get_pixels (upright) + (corner[orientation].y ? 0 : height - 1) * gdk_pixbuf_get_rowstride (upright)
                + (corner[orientation].x ? width - 1 : 0) * gdk_pixbuf_get_n_channels (upright)
            : gdk_pixbuf_get_pixels (upright) + (corner[orientation].y ? height - 1 : 0) * gdk_pixbuf_get_rowstride (upright)
                + (corner[orientation].x ? 0 : width - 1) * gdk_pixbuf_get_n_channels (upright);
      g_assert_cmpint (p[0], >, 215);
      g_assert_cmpint (p[1], <, 40);
    }
}

static void
test_times (void)
{
  static const char *const bad[] = { "0000:00:00 00:00:00", "2026:02:30 10:00:00", "    :  :     :  :  ", "2026-03-09 10:15:00", "", "2026:03:09 25:15:00" };
  g_autoptr (GdkPixbuf) pixels = photo_pixels (8, 8);

  for (guint i = 0; i < G_N_ELEMENTS (bad); i++)
    {
      g_autoptr (GByteArray) jpeg = photo_encode (pixels, "jpeg");
      g_autoptr (GBytes) bytes = NULL;
      EfPhotoProbe probe;

      photo_add_exif (jpeg, 1, bad[i]);
      bytes = g_bytes_new (jpeg->data, jpeg->len);
      g_assert_true (ef_photo_probe (bytes, "a.jpg", &probe, NULL));
      g_assert_cmpstr (probe.taken, ==, "");
    }
}

static void
test_png_and_scaled (void)
{
  static const char *const types[] = { "png", "jpeg" };

  for (guint i = 0; i < G_N_ELEMENTS (types); i++)
    {
      g_autoptr (GdkPixbuf) pixels = photo_pixels (800, 600);
      g_autoptr (GByteArray) file = photo_encode (pixels, types[i]);
      g_autoptr (GBytes) bytes = g_bytes_new (file->data, file->len);
      g_autoptr (GdkPixbuf) small = NULL;
      g_autoptr (GError) error = NULL;
      EfPhotoProbe probe;

      g_assert_true (ef_photo_probe (bytes, "a", &probe, &error));
      g_assert_cmpint (probe.width, ==, 800);
      g_assert_cmpint (probe.height, ==, 600);
      g_assert_cmpint (probe.orientation, ==, 1);
      small = ef_photo_decode (bytes, "a", 200, NULL, &error);
      g_assert_no_error (error);
      g_assert_cmpint (gdk_pixbuf_get_width (small), ==, 200);
      g_assert_cmpint (gdk_pixbuf_get_height (small), ==, 150);
    }
}

static void
expect (const GByteArray *file,
        const char *name,
        EfError code,
        const char *says)
{
  g_autoptr (GBytes) bytes = g_bytes_new (file->data, file->len);
  g_autoptr (GdkPixbuf) pixbuf = NULL;
  g_autoptr (GError) error = NULL;

  pixbuf = ef_photo_decode (bytes, name, 256, NULL, &error);
  if (pixbuf != NULL)
    g_error ("%s: expected it to be refused", name);
  g_assert_error (error, EF_ERROR, (int) code);
  if (!g_str_has_prefix (error->message, name) || strstr (error->message, says) == NULL)
    g_error ("expected \"%s\" in \"%s\"", says, error->message);
}

static void
test_hostile (void)
{
  g_autoptr (GdkPixbuf) pixels = photo_pixels (64, 48);
  g_autoptr (GByteArray) png = photo_encode (pixels, "png");
  g_autoptr (GByteArray) jpeg = photo_encode (pixels, "jpeg");
  g_autoptr (GByteArray) bomb = photo_png_of_size (30000, 30000, FALSE);
  g_autoptr (GByteArray) wide = photo_png_of_size (0x7fffffff, 1, FALSE);
  g_autoptr (GByteArray) wider = photo_png_of_size (0xffffffff, 0xffffffff, FALSE);
  g_autoptr (GByteArray) nothing = photo_png_of_size (0, 10, FALSE);
  g_autoptr (GByteArray) moving = photo_png_of_size (64, 48, TRUE);
  g_autoptr (GByteArray) hollow = photo_png_of_size (4000, 3000, FALSE);
  g_autoptr (GByteArray) svg = g_byte_array_new ();
  g_autoptr (GByteArray) gif = g_byte_array_new ();
  g_autoptr (GByteArray) empty = g_byte_array_new ();
  g_autoptr (GByteArray) lying = photo_encode (pixels, "jpeg");

  g_assert_cmpuint (bomb->len, <, 100);
  expect (bomb, "bomb.png", EF_ERROR_RANGE, "found 30000 x 30000 px");
  expect (wide, "wide.png", EF_ERROR_RANGE, "sides of at most 30000 px, found 2147483647 x 1");
  expect (wider, "wider.png", EF_ERROR_RANGE, "expected at most 64 million px");
  expect (nothing, "nothing.png", EF_ERROR_PARSE, "cut short or damaged");
  expect (moving, "moving.png", EF_ERROR_INVALID, "a moving picture");
  /* Headers and check sums that are right with no rows behind them: the decoder takes it for an empty picture of that size; no more than that. */
  {
    g_autoptr (GBytes) bytes = g_bytes_new (hollow->data, hollow->len);
    g_autoptr (GdkPixbuf) pixbuf = ef_photo_decode (bytes, "hollow.png", 256, NULL, NULL);

    g_assert_true (pixbuf == NULL || gdk_pixbuf_get_width (pixbuf) == 256);
  }
  g_byte_array_append (svg, (const guint8 *) "<svg xmlns='http://www.w3.org/2000/svg' width='1e9' height='1e9'/>", 66);
  expect (svg, "photo.png", EF_ERROR_INVALID, "found another kind of file, whatever its name says");
  g_byte_array_append (gif, (const guint8 *) "GIF89a\x01\x00\x01\x00\x00\x00\x00;", 14);
  expect (gif, "photo.jpg", EF_ERROR_INVALID, "another kind of file");
  expect (empty, "empty.jpg", EF_ERROR_INVALID, "another kind of file");

  /* A PNG called .jpg is a PNG. */
  {
    g_autoptr (GBytes) bytes = g_bytes_new (png->data, png->len);
    EfPhotoProbe probe;

    g_assert_true (ef_photo_probe (bytes, "photo.jpg", &probe, NULL));
    g_assert_cmpstr (probe.type, ==, "image/png");
  }
  /* Cut anywhere, each is refused. */
  for (guint length = 1; length < png->len; length += 1 + length / 7)
    {
      g_autoptr (GByteArray) cut = g_byte_array_new ();

      g_byte_array_append (cut, png->data, length);
      expect (cut, "cut.png", length < 8 ? EF_ERROR_INVALID : EF_ERROR_PARSE, "expected a");
    }
  for (guint length = 1; length + 1 < jpeg->len; length += 1 + length / 7)
    {
      g_autoptr (GByteArray) cut = g_byte_array_new ();

      g_byte_array_append (cut, jpeg->data, length);
      expect (cut, "cut.jpg", length < 3 ? EF_ERROR_INVALID : EF_ERROR_PARSE, "expected a");
    }
  /* A JPEG that claims another size than its scan has is read within the size it claims, or refused. */
  for (guint i = 0; i + 9 < lying->len; i++)
    if (lying->data[i] == 0xff && lying->data[i + 1] == 0xc0)
      {
        lying->data[i + 5] = 0xff;
        lying->data[i + 7] = 0xff;
        break;
      }
  expect (lying, "lying.jpg", EF_ERROR_RANGE, "sides of at most 30000 px");
}

/* Bytes changed at random: never anything but an error or a picture of the size that was said. */
static void
test_mutations (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (12);
  g_autoptr (GdkPixbuf) pixels = photo_pixels (40, 30);
  guint read = 0;

  for (guint k = 0; k < 3000; k++)
    {
      g_autoptr (GByteArray) file = photo_encode (pixels, k % 2 ? "png" : "jpeg");
      g_autoptr (GBytes) bytes = NULL;
      g_autoptr (GdkPixbuf) pixbuf = NULL;
      g_autoptr (GError) error = NULL;
      EfPhotoProbe probe;
      guint changes = (guint) g_rand_int_range (rand, 1, 8);

      if (k % 2 == 0)
        photo_add_exif (file, 6, "2026:03:09 10:15:00");
      for (guint i = 0; i < changes; i++)
        file->data[g_rand_int_range (rand, 0, (int) (g_rand_boolean (rand) ? MIN (file->len, 200) : file->len))] = (guint8) g_rand_int (rand);
      bytes = g_bytes_new (file->data, file->len);
      pixbuf = ef_photo_decode (bytes, "mutant", 64, NULL, &error);
      if (pixbuf == NULL)
        {
          g_assert_true (error != NULL && error->domain == EF_ERROR);
          g_assert_true (g_utf8_validate (error->message, -1, NULL));
          continue;
        }
      read++;
      g_assert_true (ef_photo_probe (bytes, "mutant", &probe, NULL));
      if (MAX (probe.width, probe.height) <= 64)
        g_assert_cmpint (gdk_pixbuf_get_width (pixbuf), ==, probe.width);
      g_assert_cmpint (MAX (gdk_pixbuf_get_width (pixbuf), gdk_pixbuf_get_height (pixbuf)), <=, 64);
    }
  g_assert_cmpuint (read, >, 100);
}

static EfPhoto *
take_in (EfStore *store,
         const char *folder,
         const char *name,
         const GByteArray *bytes,
         GError **error)
{
  g_autofree char *path = g_build_filename (folder, name, NULL);
  g_autoptr (GFile) file = g_file_new_for_path (path);

  if (bytes != NULL)
    g_assert_true (g_file_set_contents (path, (const char *) bytes->data, bytes->len, NULL));

  return ef_photo_take_in (store, file, NULL, error);
}

static void
test_take_in (void)
{
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), "take.endfloat", NULL);
  g_autofree char *folder = g_build_filename (g_get_user_data_dir (), "camera", NULL);
  g_autoptr (EfStore) store = open_store (path);
  g_autoptr (GdkPixbuf) pixels = photo_pixels (400, 300);
  g_autoptr (GByteArray) jpeg = photo_encode (pixels, "jpeg");
  g_autoptr (GByteArray) bomb = photo_png_of_size (30000, 30000, FALSE);
  g_autoptr (GByteArray) nothing = g_byte_array_new ();
  g_autoptr (EfItem) item = NULL;
  g_autoptr (GdkPixbuf) shown = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *pipe = NULL;
  EfPhoto *photo;

  g_mkdir (folder, 0700);
  photo_add_exif (jpeg, 8, "2026:03:09 10:15:00");
  photo = take_in (store, folder, "IMG 0412.JPG", jpeg, &error);
  g_assert_no_error (error);
  item = &photo->item;
  g_assert_cmpstr (photo->name, ==, "IMG 0412.JPG");
  g_assert_cmpstr (photo->type, ==, "image/jpeg");
  g_assert_cmpstr (photo->taken, ==, "2026-03-09T10:15:00");
  g_assert_cmpint (photo->width, ==, 300);
  g_assert_cmpint (photo->height, ==, 400);
  photo->turns = 1;
  shown = ef_photo_load (store, photo, 100, TRUE, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpint (gdk_pixbuf_get_width (shown), ==, 100);
  g_assert_cmpint (gdk_pixbuf_get_height (shown), ==, 75);
  g_assert_cmpint (ef_store_files_size (store, NULL), ==, jpeg->len);

  /* Names, kinds and sizes that aren't taken, and nothing of them in the store. */
  g_assert_null (take_in (store, folder, "photo\xff.jpg", jpeg, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "text in UTF-8"));
  g_assert_true (g_utf8_validate (error->message, -1, NULL));
  g_clear_error (&error);
  g_assert_null (take_in (store, folder, "bomb.jpg", bomb, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_clear_error (&error);
  g_assert_null (take_in (store, folder, "nothing.jpg", nothing, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "0 bytes"));
  g_clear_error (&error);
  g_assert_null (take_in (store, g_get_user_data_dir (), "camera", NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "a folder or device"));
  g_clear_error (&error);
  /* A pipe would hold everything up for ever. */
  pipe = g_build_filename (folder, "pipe.jpg", NULL);
  g_assert_cmpint (mkfifo (pipe, 0600), ==, 0);
  g_assert_null (take_in (store, folder, "pipe.jpg", NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_null (take_in (store, folder, "gone.jpg", NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_IO);
  g_clear_error (&error);
  g_assert_cmpint (ef_store_files_size (store, NULL), ==, jpeg->len);
}

/* 50 MB of anything: noticed by its size, whatever it is. */
static void
test_too_long (void)
{
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), "long.endfloat", NULL);
  g_autofree char *name = g_build_filename (g_get_user_data_dir (), "long.png", NULL);
  g_autoptr (EfStore) store = open_store (path);
  g_autoptr (GFile) file = g_file_new_for_path (name);
  g_autoptr (GError) error = NULL;

  g_assert_true (g_file_set_contents (name, "\x89PNG\r\n\x1a\n", 8, NULL));
  g_assert_cmpint (truncate (name, 50000000), ==, 0);
  g_assert_null (ef_photo_take_in (store, file, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_assert_cmpstr (error->message, ==, "long.png: expected a photo of at most 40 MB, found more");
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/photo-file/orientations", test_orientations);
  g_test_add_func ("/photo-file/times", test_times);
  g_test_add_func ("/photo-file/png-and-scaled", test_png_and_scaled);
  g_test_add_func ("/photo-file/hostile", test_hostile);
  g_test_add_func ("/photo-file/mutations", test_mutations);
  g_test_add_func ("/photo-file/take-in", test_take_in);
  g_test_add_func ("/photo-file/too-long", test_too_long);

  return g_test_run ();
}
