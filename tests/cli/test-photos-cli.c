/* endfloat photos: attach, list, save, look, and what is refused, on the built program.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <gio/gio.h>
#include <json-glib/json-glib.h>
#include <string.h>

#include "record/ef-exchange.h"
#include "record/ef-store-roles.h"
#include "../isolate.h"
#include "../photo/photo-bytes.h"

#define assert_in(text, part) \
  G_STMT_START { \
    if (strstr ((text), (part)) == NULL) \
      g_error ("\"%s\" isn't in: %s", (part), (text)); \
  } G_STMT_END

static char *store_path, *good, *bomb;

/* The exit code; output and errors together. */
static int
run (char **text_out,
     const char *words)
{
  g_autofree char *line = g_strdup_printf ("'%s' photos %s", g_getenv ("ENDFLOAT_PROGRAM"), words);
  const char *const argv[] = { "sh", "-c", line, NULL };
  g_autoptr (GSubprocess) process = g_subprocess_newv (argv, G_SUBPROCESS_FLAGS_STDOUT_PIPE | G_SUBPROCESS_FLAGS_STDERR_MERGE, NULL);

  g_assert_true (g_subprocess_communicate_utf8 (process, NULL, NULL, text_out, NULL, NULL));

  return g_subprocess_get_exit_status (process);
}

static void
set_up (void)
{
  g_autofree char *demo = ef_data_path ("demo", "job-1-hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) inspection = ef_exchange_load (demo, &error);
  g_autoptr (EfStore) store = NULL;
  g_autoptr (GdkPixbuf) pixels = photo_pixels (64, 48);
  g_autoptr (GByteArray) jpeg = photo_encode (pixels, "jpeg");
  g_autoptr (GByteArray) png = photo_png_of_size (30000, 30000, FALSE);

  g_assert_no_error (error);
  store_path = g_build_filename (g_get_user_data_dir (), "store.endfloat", NULL);
  good = g_build_filename (g_get_user_data_dir (), "IMG 1.jpg", NULL);
  bomb = g_build_filename (g_get_user_data_dir (), "bomb.png", NULL);
  store = ef_store_open (store_path, &error);
  g_assert_cmpint (ef_store_add (store, inspection, &error), >, 0);
  photo_add_exif (jpeg, 6, "2026:03:09 10:15:00");
  g_assert_true (g_file_set_contents (good, (const char *) jpeg->data, jpeg->len, NULL));
  g_assert_true (g_file_set_contents (bomb, (const char *) png->data, png->len, NULL));
}

static void
test_photos (void)
{
  g_autofree char *saved = g_build_filename (g_get_user_data_dir (), "saved.jpg", NULL);
  g_autofree char *before = NULL;
  g_autofree char *after = NULL;
  g_autofree char *words = NULL;
  g_autofree char *digest = NULL;
  char *text = NULL;
  gsize length[2];

  words = g_strdup_printf ("attach -s '%s' -n J-0412 --shows separator/side-a '%s'", store_path, good);
  g_assert_cmpint (run (&text, words), ==, 0);
  assert_in (text, "  IMG 1.jpg");
  digest = g_strndup (text, 64);
  g_free (text);

  g_free (words);
  words = g_strdup_printf ("list -s '%s' -n J-0412", store_path);
  g_assert_cmpint (run (&text, words), ==, 0);
  assert_in (text, digest);
  assert_in (text, "\"size_px\": [48, 64]");
  assert_in (text, "\"taken\": \"2026-03-09T10:15:00\"");
  assert_in (text, "\"shows\": \"separator/side-a\"");
  assert_in (text, "\"sound\": true");
  g_free (text);

  g_free (words);
  words = g_strdup_printf ("save -s '%s' %s -o '%s'", store_path, digest, saved);
  g_assert_cmpint (run (&text, words), ==, 0);
  g_free (text);
  g_assert_true (g_file_get_contents (good, &before, &length[0], NULL));
  g_assert_true (g_file_get_contents (saved, &after, &length[1], NULL));
  g_assert_cmpmem (before, length[0], after, length[1]);
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

/* The history names who attached and who took out; where the shop has roles, one of them and nobody else. */
static void
test_role (void)
{
  g_autofree char *attach = g_strdup_printf ("attach -s '%s' -n J-0412 '%s'", store_path, good);
  g_autofree char *as_typed = g_strconcat (attach, " -r 'apprentice 7'", NULL);
  g_autofree char *as_bench = g_strconcat (attach, " -r 'bench 2'", NULL);
  g_autofree char *list = g_strdup_printf ("list -s '%s' -n J-0412", store_path);
  g_autofree char *out = g_strdup_printf ("take-out -s '%s' -n J-0412 -r 'bench 2' ", store_path);
  g_autofree char *out_none = g_strconcat (out, "0000", NULL);
  g_autofree char *out_several = NULL;
  g_autofree char *digest = NULL;
  g_autofree char *row = NULL;
  char *text = NULL;

  g_assert_cmpint (run (&text, as_typed), ==, 0);
  digest = g_strndup (text, 64);
  g_free (text);
  row = last_row ();
  g_assert_cmpstr (row, ==, "apprentice 7: Attach photos");

  {
    g_autoptr (EfStore) store = ef_store_open (store_path, NULL);

    g_assert_true (ef_store_add_role (store, "owner", EF_ROLE_OWNER, &(EfWho){ "", NULL }, NULL));
    g_assert_true (ef_store_add_role (store, "bench 2", EF_ROLE_BENCH, &(EfWho){ "owner", NULL }, NULL));
  }
  g_assert_cmpint (run (&text, as_typed), !=, 0);
  assert_in (text, "role: expected one of the shop's (owner, bench 2), found “apprentice 7”");
  g_free (text);
  g_assert_cmpint (run (&text, attach), !=, 0);
  assert_in (text, "found none");
  g_free (text);
  g_assert_cmpint (run (&text, as_bench), ==, 0);
  g_free (text);
  g_clear_pointer (&row, g_free);
  row = last_row ();
  g_assert_cmpstr (row, ==, "bench 2: Attach photos");

  /* Out by the digest: one that names one photo. */
  g_assert_cmpint (run (&text, out_none), !=, 0);
  assert_in (text, "0000: expected the digest of a photo of the job, found none");
  g_free (text);
  out_several = g_strconcat (out, digest, NULL);
  g_assert_cmpint (run (&text, out_several), !=, 0);
  assert_in (text, "found several");
  g_free (text);
}

static void
test_take_out (void)
{
  g_autofree char *alone = g_build_filename (g_get_user_data_dir (), "IMG 2.jpg", NULL);
  g_autoptr (GdkPixbuf) pixels = photo_pixels (32, 24);
  g_autoptr (GByteArray) jpeg = photo_encode (pixels, "jpeg");
  g_autofree char *attach = g_strdup_printf ("attach -s '%s' -n J-0412 -r 'bench 2' '%s'", store_path, alone);
  g_autofree char *list = g_strdup_printf ("list -s '%s' -n J-0412", store_path);
  g_autofree char *out = NULL;
  g_autofree char *save = NULL;
  g_autofree char *digest = NULL;
  g_autofree char *row = NULL;
  char *text = NULL;

  g_assert_true (g_file_set_contents (alone, (const char *) jpeg->data, jpeg->len, NULL));
  g_assert_cmpint (run (&text, attach), ==, 0);
  digest = g_strndup (text, 64);
  g_free (text);
  out = g_strdup_printf ("take-out -s '%s' -n J-0412 -r 'bench 2' %.12s", store_path, digest);
  g_assert_cmpint (run (&text, out), ==, 0);
  g_free (text);
  row = last_row ();
  g_assert_cmpstr (row, ==, "bench 2: Take photos out");
  g_assert_cmpint (run (&text, list), ==, 0);
  g_assert_null (strstr (text, digest));
  g_free (text);
  /* The file stays. */
  save = g_strdup_printf ("save -s '%s' %s -o '%s.again'", store_path, digest, alone);
  g_assert_cmpint (run (&text, save), ==, 0);
  g_free (text);
}

/* None of a list with one that is refused; the job stays as it was. */
static void
test_refused (void)
{
  g_autofree char *words = g_strdup_printf ("attach -s '%s' -n J-0412 '%s' '%s'", store_path, good, bomb);
  g_autofree char *list = g_strdup_printf ("list -s '%s' -n J-0412", store_path);
  char *text = NULL, *before = NULL;

  g_assert_cmpint (run (&before, list), ==, 0);
  g_assert_cmpint (run (&text, words), ==, 1);
  assert_in (text, "bomb.png: expected at most 64 million px");
  g_free (text);
  g_assert_cmpint (run (&text, list), ==, 0);
  g_assert_cmpstr (text, ==, before);
  g_free (text);
  g_free (before);
  g_free (words);
  words = g_strdup_printf ("attach -s '%s' -n J-9999 '%s'", store_path, good);
  g_assert_cmpint (run (&text, words), ==, 1);
  assert_in (text, "expected job J-9999, found none");
  g_free (text);
  g_assert_cmpint (run (&text, "list"), ==, 1);
  assert_in (text, "expected --store and --job");
  g_free (text);
  g_assert_cmpint (run (&text, "paint"), ==, 2);
  g_free (text);
}

static void
test_look (void)
{
  g_autofree char *words = g_strdup_printf ("look '%s'", good);
  char *text = NULL;

  g_assert_cmpint (run (&text, words), ==, 0);
  assert_in (text, "IMG 1.jpg: image/jpeg, 48 x 64 px, EXIF orientation 6, taken 2026-03-09T10:15:00");
  g_free (text);
  g_free (words);
  words = g_strdup_printf ("look '%s'", bomb);
  g_assert_cmpint (run (&text, words), ==, 1);
  assert_in (text, "bomb.png: expected at most 64 million px");
  g_free (text);
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
