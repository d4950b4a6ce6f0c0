/* Photos' files under a seal: what verification says when their bytes were changed or taken away.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "sealed-file.h"
#include "../inspection/random-inspection.h"

#include <glib/gstdio.h>
#include <string.h>

#include "../isolate.h"

/* A job with one photo whose bytes lie in the store and one whose don't. */
static void
set_up (Fixture *self,
        gconstpointer data)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (5);
  g_autoptr (EfInspection) inspection = random_inspection (rand, 0);
  g_autoptr (EfItem) kept = NULL;
  g_autoptr (EfItem) missing = NULL;
  g_autoptr (GError) error = NULL;

  fixture_open (self, "the photo's bytes", "IMG 7.jpg");
  kept = &ef_photo_new (self->digest, "IMG 7.jpg", "image/jpeg", 40, 30)->item;
  missing = &ef_photo_new (self->other, "IMG 8.jpg", "image/jpeg", 40, 30)->item;
  g_assert_true (ef_inspection_swap (inspection, NULL, kept, &error));
  g_assert_true (ef_inspection_swap (inspection, NULL, missing, &error));
  fixture_add (self, inspection);
}

static void
test_holds (Fixture *self,
            gconstpointer data)
{
  g_autoptr (EfVerification) verification = NULL;
  g_autoptr (EfVerification) of_file = NULL;
  g_autofree char *file = g_strconcat (self->path, ".json", NULL);
  g_autoptr (GError) error = NULL;
  const EfVerifyFinding *missing;

  seal_small (self->store, self->job, "clerk", "looked through", self->key);
  verification = verify_store (self->path);
  assert_holds (verification);
  g_assert_null (finding_of (verification, "photo IMG 7.jpg: file"));
  missing = finding_of (verification, "photo IMG 8.jpg: file");
  g_assert_nonnull (missing);
  g_assert_cmpint (missing->level, ==, EF_VERIFY_NOTE);
  g_assert_nonnull (strstr (missing->sentence, "doesn't have it"));

  g_assert_true (ef_seal_export_file (self->store, self->job, file, &error));
  of_file = ef_verify_file (file, NULL, NULL, &error);
  g_assert_no_error (error);
  assert_holds (of_file);
  g_remove (file);
}

static void
test_tampered (Fixture *self,
               gconstpointer data)
{
  static const struct
  {
    const char *text, *says;
  } ways[] = {
    { DROP "UPDATE file_piece SET body = CAST ('the photo''s bytez' AS BLOB)", "aren't those that were sealed" },
    { DROP "DELETE FROM file_piece", "aren't those that were sealed" },
    { DROP "DELETE FROM file_piece; DELETE FROM file", "was in the store when the job was sealed and was removed" },
    /* Other bytes with a digest that fits them. */
    { DROP "UPDATE file SET digest = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad', size = 3; UPDATE file_piece SET body = CAST ('abc' AS BLOB)",
      "was removed" },
  };
  const char *way = ways[GPOINTER_TO_UINT (data)].text;
  g_autoptr (EfVerification) verification = NULL;
  const EfVerifyFinding *finding;

  seal_small (self->store, self->job, "clerk", "looked through", self->key);
  change_by_hand (self->path, way);
  verification = verify_store (self->path);
  g_assert_false (verification->holds);
  finding = finding_of (verification, "photo IMG 7.jpg: file");
  g_assert_nonnull (finding);
  g_assert_cmpint (finding->level, ==, EF_VERIFY_BROKEN);
  g_assert_cmpint (finding->seal, ==, 1 + 1); /* after the key's entry */
  g_assert_nonnull (strstr (finding->sentence, ways[GPOINTER_TO_UINT (data)].says));
}

/* The photo's own fields are the job's, so the seal's. */
static void
test_item (Fixture *self,
           gconstpointer data)
{
  g_autoptr (EfVerification) verification = NULL;
  g_autofree char *text = NULL;

  seal_small (self->store, self->job, "clerk", "looked through", self->key);
  change_by_hand (self->path, "UPDATE item SET body = replace (body, '40', '41') WHERE kind = 'photo' AND body LIKE '%IMG 7%'");
  verification = verify_store (self->path);
  g_assert_false (verification->holds);
  text = ef_verification_to_text (verification);
  if (strstr (text, "photo") == NULL)
    g_error ("expected the photo in: %s", text);
}

static void
test_damaged_before (Fixture *self,
                     gconstpointer data)
{
  g_autoptr (JsonNode) results = small_results ("rework");
  const EfSealInput input = { .role = "clerk", .results = results, .rules = "7", .decision = "guard band at 95 %" };
  g_autoptr (EfVerification) verification = NULL;
  g_autoptr (GError) error = NULL;

  change_by_hand (self->path, DROP "UPDATE file_piece SET body = x'00'");
  g_assert_cmpint (ef_seal_job (self->store, self->job, &input, self->key, &error), <=, 0);
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  g_assert_nonnull (strstr (error->message, "IMG 7.jpg"));
  /* Not sealed: told, as a note. */
  verification = verify_store (self->path);
  g_assert_nonnull (finding_of (verification, "photo IMG 7.jpg: file"));
  g_assert_cmpint (finding_of (verification, "photo IMG 7.jpg: file")->level, ==, EF_VERIFY_NOTE);
}

static void
test_list (Fixture *self,
           gconstpointer data)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) files = ef_store_job_files (self->store, self->job, &error);
  const EfFileRow *row;

  g_assert_no_error (error);
  g_assert_cmpuint (files->len, ==, 2);
  row = files->pdata[0];
  g_assert_cmpstr (row->digest, ==, self->digest);
  g_assert_cmpint (row->size, ==, 17);
  row = files->pdata[1];
  g_assert_cmpstr (row->digest, ==, self->other);
  g_assert_cmpstr (row->name, ==, "IMG 8.jpg");
  g_assert_cmpint (row->size, ==, -1);
}

/* A file that is shown again later stays where it was first. */
static void
test_list_once (Fixture *self,
                gconstpointer data)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfDocument) document = ef_store_open_document (self->store, self->job, &error);
  g_autoptr (EfItem) again = &ef_photo_new (self->digest, "IMG 7 again.jpg", "image/jpeg", 40, 30)->item;
  g_autoptr (GPtrArray) files = NULL;

  g_assert_no_error (error);
  g_assert_true (ef_document_add (document, "Photo", again, &error));
  files = ef_store_job_files (self->store, self->job, &error);
  g_assert_no_error (error);
  g_assert_cmpuint (files->len, ==, 2);
  g_assert_cmpstr (((EfFileRow *) files->pdata[0])->digest, ==, self->digest);
  g_assert_cmpstr (((EfFileRow *) files->pdata[0])->name, ==, "IMG 7.jpg");
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
#define ADD(path, data, function) g_test_add (path, Fixture, data, set_up, function, tear_down)
  ADD ("/photo-seal/holds", NULL, test_holds);
  ADD ("/photo-seal/changed", GUINT_TO_POINTER (0), test_tampered);
  ADD ("/photo-seal/cut", GUINT_TO_POINTER (1), test_tampered);
  ADD ("/photo-seal/removed", GUINT_TO_POINTER (2), test_tampered);
  ADD ("/photo-seal/replaced", GUINT_TO_POINTER (3), test_tampered);
  ADD ("/photo-seal/item", NULL, test_item);
  ADD ("/photo-seal/damaged-before", NULL, test_damaged_before);
  ADD ("/photo-seal/list", NULL, test_list);
  ADD ("/photo-seal/list-once", NULL, test_list_once);

  return g_test_run ();
}
