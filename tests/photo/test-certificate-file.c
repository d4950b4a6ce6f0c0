/* Certificates of gauges taken into the store: what is taken, what is refused, and that the bytes stay those that came.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "photo/ef-certificate-file.h"
#include "photo-bytes.h"
#include "certificate-bytes.h"

#include <glib/gstdio.h>
#include "../isolate.h"

static EfStore *store;

static GBytes *
encoded (const char *type)
{
  g_autoptr (GdkPixbuf) pixels = photo_pixels (64, 48);

  return g_byte_array_free_to_bytes (photo_encode (pixels, type));
}

static void
test_taken (void)
{
  g_autoptr (GBytes) pdf = certificate_pdf ("certificate 114");
  g_autoptr (GBytes) jpeg = encoded ("jpeg");
  g_autoptr (GBytes) png = encoded ("png");
  GBytes *const kinds[] = { pdf, jpeg, png };
  /* A name says nothing. */
  static const char *const names[] = { "certificate 114.jpg", "scan.pdf", "scan" };

  for (guint i = 0; i < G_N_ELEMENTS (kinds); i++)
    {
      g_autoptr (GError) error = NULL;
      g_autoptr (EfCertificate) certificate = ef_certificate_take_in_bytes (store, kinds[i], names[i], NULL, &error);
      g_autoptr (GBytes) back = NULL;
      g_autofree char *digest = g_compute_checksum_for_bytes (G_CHECKSUM_SHA256, kinds[i]);

      g_assert_no_error (error);
      g_assert_cmpstr (certificate->type, ==, ef_certificate_types[i]);
      g_assert_cmpstr (certificate->name, ==, names[i]);
      g_assert_cmpstr (certificate->file, ==, digest);
      back = ef_store_read_file (store, digest, NULL, &error);
      g_assert_no_error (error);
      g_assert_true (g_bytes_equal (back, kinds[i]));
    }
  g_assert_cmpstr (ef_certificate_ending ("application/pdf"), ==, ".pdf");
  g_assert_cmpstr (ef_certificate_ending ("image/png"), ==, ".png");
  g_assert_cmpstr (ef_certificate_ending ("text/html"), ==, "");
}

/* The store is as large as before. */
static void
refused (GBytes *bytes,
         const char *name,
         int code,
         const char *says)
{
  g_autoptr (GError) error = NULL;
  gint64 before = ef_store_files_size (store, NULL);
  g_autoptr (EfCertificate) certificate = ef_certificate_take_in_bytes (store, bytes, name, NULL, &error);

  g_assert_null (certificate);
  g_assert_error (error, EF_ERROR, code);
  if (strstr (error->message, says) == NULL)
    g_error ("expected \"%s\" in: %s", says, error->message);
  g_assert_cmpint (ef_store_files_size (store, NULL), ==, before);
}

static void
test_refused (void)
{
  g_autoptr (GBytes) pdf = certificate_pdf ("cut");
  g_autoptr (GBytes) jpeg = encoded ("jpeg");
  g_autoptr (GBytes) cut_pdf = g_bytes_new_from_bytes (pdf, 0, g_bytes_get_size (pdf) - 30);
  g_autoptr (GBytes) cut_jpeg = g_bytes_new_from_bytes (jpeg, 0, g_bytes_get_size (jpeg) / 2);
  g_autoptr (GBytes) page = g_bytes_new_static ("<html>certificate 114</html>", 28);
  g_autoptr (GBytes) zip = g_bytes_new_static ("PK\x03\x04 and so on", 14);
  g_autoptr (GBytes) nothing = g_bytes_new_static ("", 0);
  g_autoptr (GByteArray) bomb = photo_png_of_size (30000, 30000, FALSE);
  g_autoptr (GBytes) unfolding = g_bytes_new (bomb->data, bomb->len);

  refused (cut_pdf, "a.pdf", EF_ERROR_PARSE, "a.pdf: expected a whole PDF, found one that is cut short");
  refused (cut_jpeg, "a.jpg", EF_ERROR_PARSE, "cut short");
  refused (page, "a.pdf", EF_ERROR_INVALID, "expected a certificate as PDF, JPEG or PNG, found another kind of file");
  refused (zip, "a.pdf", EF_ERROR_INVALID, "found another kind of file");
  refused (nothing, "a.pdf", EF_ERROR_INVALID, "found another kind of file");
  refused (unfolding, "a.png", EF_ERROR_RANGE, "64 million px");
  refused (pdf, "../a.pdf", EF_ERROR_INVALID, "no slashes");
}

/* By way of a file: a folder, one that is too large, and a good one. */
static void
test_from_disk (void)
{
  g_autofree char *folder = g_build_filename (g_get_user_data_dir (), "certificates", NULL);
  g_autofree char *path = g_build_filename (folder, "large.pdf", NULL);
  g_autoptr (GFile) as_file = g_file_new_for_path (folder);
  g_autoptr (GFile) large = g_file_new_for_path (path);
  g_autoptr (GBytes) pdf = certificate_pdf ("from disk");
  g_autoptr (EfCertificate) taken = NULL;
  g_autoptr (GError) error = NULL;

  g_assert_cmpint (g_mkdir_with_parents (folder, 0700), ==, 0);
  g_assert_null (ef_certificate_take_in (store, as_file, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "expected a certificate, found a folder or device"));
  g_clear_error (&error);
  g_assert_true (g_file_set_contents (path, g_bytes_get_data (pdf, NULL), (gssize) g_bytes_get_size (pdf), NULL));
  taken = ef_certificate_take_in (store, large, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpstr (taken->name, ==, "large.pdf");
  g_assert_cmpint (truncate (path, EF_STORE_FILE_LIMIT + 1), ==, 0);
  g_assert_null (ef_certificate_take_in (store, large, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_assert_nonnull (strstr (error->message, "large.pdf: expected a certificate of at most 40 MB, found more"));
}

int
main (int argc,
      char **argv)
{
  g_autofree char *path = NULL;
  int code;

  isolated_test_init (&argc, &argv);
  path = g_build_filename (g_get_user_data_dir (), "certificates.endfloat", NULL);
  store = ef_store_open (path, NULL);
  g_assert_nonnull (store);
  g_test_add_func ("/certificate-file/taken", test_taken);
  g_test_add_func ("/certificate-file/refused", test_refused);
  g_test_add_func ("/certificate-file/from-disk", test_from_disk);
  code = g_test_run ();
  ef_store_close (store);

  return code;
}
