/* endfloat photos: attach, list, save, look, and what is refused, on the built program.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <gio/gio.h>

#include "record/ef-store-roles.h"
#include "../isolate.h"
#include "../photo/photo-bytes.h"
#include "cli-run.h"

static char *store_path, *good, *bomb;

static void
set_up (void)
{
  g_autoptr (GdkPixbuf) pixels = photo_pixels (64, 48);
  g_autoptr (GByteArray) jpeg = photo_encode (pixels, "jpeg");
  g_autoptr (GByteArray) png = photo_png_of_size (30000, 30000, FALSE);

  store_path = store_with_demo ();
  good = g_build_filename (g_get_user_data_dir (), "IMG 1.jpg", NULL);
  bomb = g_build_filename (g_get_user_data_dir (), "bomb.png", NULL);
  photo_add_exif (jpeg, 6, "2026:03:09 10:15:00");
  g_assert_true (g_file_set_contents (good, (const char *) jpeg->data, jpeg->len, NULL));
  g_assert_true (g_file_set_contents (bomb, (const char *) png->data, png->len, NULL));
}

static void
test_photos (void)
{
  g_autofree char *saved = g_build_filename (g_get_user_data_dir (), "saved.jpg", NULL);
  g_autofree char *digest = NULL;
  char *text = NULL;

  g_assert_cmpint (run (&text, "photos attach -s '%s' -n J-0412 --shows separator/side-a '%s'", store_path, good), ==, 0);
  assert_in (text, "  IMG 1.jpg");
  digest = g_strndup (text, 64);
  g_free (text);

  g_assert_cmpint (run (&text, "photos list -s '%s' -n J-0412", store_path), ==, 0);
  assert_in (text, digest);
  assert_in (text, "\"size_px\": [48, 64]");
  assert_in (text, "\"taken\": \"2026-03-09T10:15:00\"");
  assert_in (text, "\"shows\": \"separator/side-a\"");
  assert_in (text, "\"sound\": true");
  g_free (text);

  assert_code (0, "photos save -s '%s' %s -o '%s'", store_path, digest, saved);
  assert_same_file (good, saved);
}

/* Newest first: role and label, as "bench 2: Attach photos". */
static char *
last_row (void)
{
  g_autoptr (EfStore) store = ef_store_open (store_path, NULL);
  g_autoptr (GPtrArray) rows = ef_store_history (store, 1, NULL);
  const EfHistoryRow *row = rows->pdata[rows->len - 1];

  return g_strdup_printf ("%s: %s", row->role, row->label);
}

static char *
attach_as (const char *path,
           const char *role)
{
  char *text = NULL;

  g_assert_cmpint (run (&text, "photos attach -s '%s' -n J-0412 '%s' -r '%s'", store_path, path, role), ==, 0);
  text[64] = '\0'; /* the digest */

  return text;
}

#define assert_last_row(text) \
  G_STMT_START { \
    g_autofree char *row_ = last_row (); \
    g_assert_cmpstr (row_, ==, (text)); \
  } G_STMT_END

/* The history names who attached and who took out; where the shop has roles, one of them and nobody else. */
static void
test_role (void)
{
  g_autofree char *digest = attach_as (good, "apprentice 7");
  g_autofree char *again = NULL;

  assert_last_row ("apprentice 7: Attach photos");
  {
    g_autoptr (EfStore) store = ef_store_open (store_path, NULL);

    g_assert_true (ef_store_add_role (store, "owner", EF_ROLE_OWNER, &(EfWho){ "", NULL }, NULL));
    g_assert_true (ef_store_add_role (store, "bench 2", EF_ROLE_BENCH, &(EfWho){ "owner", NULL }, NULL));
  }
  assert_says (1, "role: expected one of the shop's (owner, bench 2), found “apprentice 7”", "photos attach -s '%s' -n J-0412 '%s' -r 'apprentice 7'", store_path, good);
  assert_says (1, "found none", "photos attach -s '%s' -n J-0412 '%s'", store_path, good);
  again = attach_as (good, "bench 2");
  assert_last_row ("bench 2: Attach photos");

  /* Out by the digest: one that names one photo. */
  assert_says (1, "0000: expected the digest of a photo of the job, found none", "photos take-out -s '%s' -n J-0412 -r 'bench 2' 0000", store_path);
  assert_says (1, "found several", "photos take-out -s '%s' -n J-0412 -r 'bench 2' %s", store_path, digest);
}

static void
test_take_out (void)
{
  g_autofree char *alone = g_build_filename (g_get_user_data_dir (), "IMG 2.jpg", NULL);
  g_autoptr (GdkPixbuf) pixels = photo_pixels (32, 24);
  g_autoptr (GByteArray) jpeg = photo_encode (pixels, "jpeg");
  g_autofree char *digest = NULL;
  g_autofree char *list = NULL;

  g_assert_true (g_file_set_contents (alone, (const char *) jpeg->data, jpeg->len, NULL));
  digest = attach_as (alone, "bench 2");
  assert_code (0, "photos take-out -s '%s' -n J-0412 -r 'bench 2' %.12s", store_path, digest);
  assert_last_row ("bench 2: Take photos out");
  g_assert_cmpint (run (&list, "photos list -s '%s' -n J-0412", store_path), ==, 0);
  g_assert_null (strstr (list, digest));
  /* The file stays. */
  assert_code (0, "photos save -s '%s' %s -o '%s.again'", store_path, digest, alone);
}

/* None of a list with one that is refused; the job stays as it was. */
static void
test_refused (void)
{
  g_autofree char *before = NULL;
  g_autofree char *after = NULL;

  g_assert_cmpint (run (&before, "photos list -s '%s' -n J-0412", store_path), ==, 0);
  assert_says (1, "bomb.png: expected at most 64 million px", "photos attach -s '%s' -n J-0412 '%s' '%s'", store_path, good, bomb);
  g_assert_cmpint (run (&after, "photos list -s '%s' -n J-0412", store_path), ==, 0);
  g_assert_cmpstr (after, ==, before);
  assert_says (1, "expected job J-9999, found none", "photos attach -s '%s' -n J-9999 '%s'", store_path, good);
  assert_says (1, "expected --store and --job", "photos list");
  assert_code (2, "photos paint");
}

static void
test_look (void)
{
  assert_says (0, "IMG 1.jpg: image/jpeg, 48 x 64 px, EXIF orientation 6, taken 2026-03-09T10:15:00", "photos look '%s'", good);
  assert_says (1, "bomb.png: expected at most 64 million px", "photos look '%s'", bomb);
}

int
main (int argc,
      char **argv)
{
  int code;

  isolated_test_init (&argc, &argv);
  set_up ();
  g_test_add_func ("/cli/photos", test_photos);
  g_test_add_func ("/cli/photos-refused", test_refused);
  g_test_add_func ("/cli/photos-look", test_look);
  g_test_add_func ("/cli/photos-role", test_role);
  g_test_add_func ("/cli/photos-take-out", test_take_out);
  code = g_test_run ();
  g_free (store_path);
  g_free (good);
  g_free (bomb);

  return code;
}
