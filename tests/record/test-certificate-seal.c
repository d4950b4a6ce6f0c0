/* Certificates of gauges under a seal: that the form names them, and what verification says when their bytes were changed or taken away.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "sealed-file.h"
#include "../inspection/random-inspection.h"

#include <glib/gstdio.h>
#include <string.h>

#include "record/ef-disclosure.h"
#include "record/ef-exchange.h"
#include "record/ef-missing-files.h"
#include "record/ef-seal-private.h"
#include "record/ef-store-gauges.h"
#include "../isolate.h"

#define KEPT "gauge Depth micrometer D-7: certificate 114.pdf: file"
#define ELSEWHERE "gauge Depth micrometer D-7: certificate 115.pdf: file"

static EfItem *
gauge_with (const char *digest,
            const char *other)
{
  EfGauge *gauge = ef_gauge_default (EF_GAUGE_DEPTH);

  g_free (gauge->item.id);
  gauge->item.id = g_strdup ("d7");
  g_free (gauge->name);
  gauge->name = g_strdup ("Depth micrometer D-7");
  gauge->certificates = ef_certificates_add (NULL, ef_certificate_new (digest, "114.pdf", "application/pdf"));
  gauge->certificates = ef_certificates_add (gauge->certificates, ef_certificate_new (other, "115.pdf", "application/pdf"));

  return &gauge->item;
}

/* A job with a gauge that has one certificate whose bytes lie in the store and one whose don't. */
static void
set_up (Fixture *self,
        gconstpointer data)
{
  g_autoptr (EfInspection) inspection = NULL;
  g_autofree char *path = ef_data_path ("demo", "job-3-tg-3.json", NULL);
  g_autoptr (EfItem) gauge = NULL;
  g_autoptr (GError) error = NULL;

  fixture_open (self, "the certificate", "114.pdf");
  inspection = ef_exchange_load (path, &error);
  g_assert_no_error (error);
  gauge = gauge_with (self->digest, self->other);
  g_assert_true (ef_inspection_swap (inspection, NULL, gauge, &error));
  fixture_add (self, inspection);
}

/* The form of the job's seal. */
static JsonNode *
sealed_form (Fixture *self)
{
  g_autoptr (sqlite3_stmt) row = ef_sql_query (&self->store->sql, NULL, "SELECT form FROM seal WHERE job = ?", "i", self->job);
  g_autofree char *text = NULL;
  JsonNode *form;

  g_assert_true (ef_sql_step (&self->store->sql, row, NULL, NULL));
  text = ef_seal_unpack (sqlite3_column_blob (row, 0), (gsize) sqlite3_column_bytes (row, 0), NULL);
  form = json_from_string (text, NULL);
  g_assert_nonnull (form);

  return form;
}

static void
test_holds (Fixture *self,
            gconstpointer data)
{
  g_autoptr (EfVerification) verification = NULL;
  g_autoptr (EfVerification) of_file = NULL;
  g_autofree char *file = g_strconcat (self->path, ".json", NULL);
  g_autoptr (JsonNode) form = NULL;
  g_autofree char *part = NULL;
  g_autofree char *expected = NULL;
  g_autoptr (GError) error = NULL;
  const EfVerifyFinding *missing;

  seal_small (self->store, self->job, "clerk", "looked through", self->key);
  form = sealed_form (self);
  part = json_to_string (json_object_get_member (json_node_get_object (form), "certificates"), FALSE);
  expected = strcmp (self->digest, self->other) < 0 ? g_strdup_printf ("[\"%s\",\"%s\",\"kept:%s\"]", self->digest, self->other, self->digest)
                                                    : g_strdup_printf ("[\"%s\",\"%s\",\"kept:%s\"]", self->other, self->digest, self->digest);
  g_assert_cmpstr (part, ==, expected);
  verification = verify_store (self->path);
  assert_holds (verification);
  g_assert_null (finding_of (verification, KEPT));
  missing = finding_of (verification, ELSEWHERE);
  g_assert_nonnull (missing);
  g_assert_cmpint (missing->level, ==, EF_VERIFY_NOTE);
  g_assert_nonnull (strstr (missing->sentence, "doesn't have it"));

  g_assert_true (ef_seal_export_file (self->store, self->job, file, &error));
  of_file = ef_verify_file (file, NULL, NULL, &error);
  g_assert_no_error (error);
  assert_holds (of_file);
  g_remove (file);
}

/* A job whose gauges have no certificates is sealed as before: five parts, and none of them the new one. */
static void
test_none (Fixture *self,
           gconstpointer data)
{
  g_autofree char *path = ef_data_path ("demo", "job-1-hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) plain = ef_exchange_load (path, &error);
  g_autoptr (EfVerification) verification = NULL;
  g_autoptr (JsonNode) form = NULL;

  self->job = ef_store_add (self->store, plain, &error);
  g_assert_no_error (error);
  seal_small (self->store, self->job, "clerk", "looked through", self->key);
  form = sealed_form (self);
  g_assert_cmpuint (json_object_get_size (json_node_get_object (form)), ==, 5);
  g_assert_false (json_object_has_member (json_node_get_object (form), "certificates"));
  verification = verify_store (self->path);
  assert_holds (verification);
}

static void
test_tampered (Fixture *self,
               gconstpointer data)
{
  static const struct
  {
    const char *text, *says;
  } ways[] = {
    { DROP "UPDATE file_piece SET body = CAST ('the certificatf' AS BLOB)", "aren't those that were sealed" },
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
  finding = finding_of (verification, KEPT);
  g_assert_nonnull (finding);
  g_assert_cmpint (finding->level, ==, EF_VERIFY_BROKEN);
  g_assert_cmpint (finding->seal, ==, 1 + 1); /* after the key's entry */
  g_assert_nonnull (strstr (finding->sentence, ways[GPOINTER_TO_UINT (data)].says));
}

/* Which certificates a gauge has is the job's, so the seal's: another digest, one taken off, all taken off, one added. */
static void
test_item (Fixture *self,
           gconstpointer data)
{
  static const char *const ways[] = {
    "UPDATE item SET body = json_set (body, '$.certificates[0].file', '" EF_SEAL_NOTHING "') WHERE kind = 'gauge' AND id = 'd7'",
    "UPDATE item SET body = json_remove (body, '$.certificates[1]') WHERE kind = 'gauge' AND id = 'd7'",
    "UPDATE item SET body = json_remove (body, '$.certificates') WHERE kind = 'gauge' AND id = 'd7'",
    "UPDATE item SET body = json_set (body, '$.certificates[0].name', '116.pdf') WHERE kind = 'gauge' AND id = 'd7'",
    "UPDATE item SET body = json_insert (body, '$.certificates[#]', json ('{\"file\":\"" EF_SEAL_NOTHING "\",\"name\":\"x\",\"type\":\"image/png\"}'))"
    " WHERE kind = 'gauge' AND id = 'd7'",
    /* No list at all, and no JSON: nothing breaks down over it. */
    "UPDATE item SET body = json_set (body, '$.certificates', 7) WHERE kind = 'gauge' AND id = 'd7'",
    "UPDATE item SET body = json_set (body, '$.certificates', json ('[7, \"x\", {}]')) WHERE kind = 'gauge' AND id = 'd7'",
    "UPDATE item SET body = substr (body, 2) WHERE kind = 'gauge' AND id = 'd7'",
  };

  seal_small (self->store, self->job, "clerk", "looked through", self->key);
  for (guint i = 0; i < G_N_ELEMENTS (ways); i++)
    {
      g_autoptr (EfVerification) verification = NULL;
      g_autofree char *text = NULL;
      g_autofree char *copy = g_strdup_printf ("CREATE TABLE IF NOT EXISTS as_was AS SELECT * FROM item; %s", ways[i]);

      change_by_hand (self->path, copy);
      verification = verify_store (self->path);
      g_assert_false (verification->holds);
      text = ef_verification_to_text (verification);
      if (strstr (text, "Depth micrometer D-7") == NULL && strstr (text, "gauge d7") == NULL)
        g_error ("%u: expected the gauge in: %s", i, text);
      change_by_hand (self->path, "DELETE FROM item; INSERT INTO item SELECT * FROM as_was");
    }
  {
    g_autoptr (EfVerification) again = verify_store (self->path);

    assert_holds (again);
  }
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
  g_assert_nonnull (strstr (error->message, "114.pdf"));
  /* Not sealed: told, as a note. */
  verification = verify_store (self->path);
  g_assert_nonnull (finding_of (verification, KEPT));
  g_assert_cmpint (finding_of (verification, KEPT)->level, ==, EF_VERIFY_NOTE);
}

/* The shop's own gauge, which no seal covers: a note without a job. */
static void
test_of_shop (Fixture *self,
              gconstpointer data)
{
  g_autoptr (EfItem) gauge = gauge_with (self->digest, self->digest);
  g_autoptr (EfVerification) verification = NULL;
  const EfVerifyFinding *finding = NULL;
  g_autoptr (GError) error = NULL;

  g_free (((EfGauge *) gauge)->name);
  ((EfGauge *) gauge)->name = g_strdup ("On the wall");
  g_ptr_array_set_size (((EfGauge *) gauge)->certificates, 1);
  g_assert_true (ef_store_put_gauge (self->store, (EfGauge *) gauge, 0, "", "", &error));
  g_assert_no_error (error);
  change_by_hand (self->path, DROP "UPDATE file_piece SET body = x'00'");
  verification = verify_store (self->path);
  finding = finding_of (verification, "gauge On the wall: certificate 114.pdf: file");
  g_assert_nonnull (finding);
  g_assert_cmpint (finding->level, ==, EF_VERIFY_NOTE);
  g_assert_null (finding->job);
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
  g_assert_cmpint (row->size, ==, 15);
  row = files->pdata[1];
  g_assert_cmpstr (row->name, ==, "115.pdf");
  g_assert_cmpint (row->size, ==, -1);
}

static char *
missing_after_import (const char *text)
{
  g_autofree char *path = g_build_filename (g_get_user_data_dir (), "elsewhere.endfloat", NULL);
  g_autofree char *file = g_build_filename (g_get_user_data_dir (), "elsewhere.json", NULL);
  g_autoptr (GError) error = NULL;
  EfStore *store = ef_store_open (path, &error);
  char *words;
  gint64 job;

  g_assert_true (g_file_set_contents (file, text, -1, NULL));
  job = ef_seal_import (store, file, &error);
  g_assert_no_error (error);
  words = ef_store_missing_files (store, job, &error);
  g_assert_no_error (error);
  ef_store_close (store);
  remove_store (path);
  g_remove (file);

  return words;
}

/* What an import tells: how many of what, and which. */
static void
test_missing (Fixture *self,
              gconstpointer data)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) inspection = ef_store_load (self->store, self->job, &error);
  g_autoptr (EfInspection) plain = NULL;
  g_autofree char *here = ef_store_missing_files (self->store, self->job, &error);
  g_autofree char *demo = ef_data_path ("demo", "job-1-hl-24.json", NULL);
  g_autofree char *text = NULL;
  g_autofree char *without = NULL;
  g_autofree char *words = NULL;
  g_autofree char *none = NULL;
  g_autofree char *many = NULL;
  g_autofree char *with_many = NULL;

  g_assert_cmpstr (here, ==, "J-0421: 1 of 2 certificates of gauges isn't in this store: 115.pdf");
  text = ef_exchange_write (inspection);
  words = missing_after_import (text);
  g_assert_cmpstr (words, ==, "J-0421: 2 certificates of gauges aren't in this store: 114.pdf, 115.pdf");
  plain = ef_exchange_load (demo, &error);
  without = ef_exchange_write (plain);
  none = missing_after_import (without);
  g_assert_null (none);
  /* Photos too, two of them of one file, and more than are named. */
  for (guint i = 0; i < 10; i++)
    {
      g_autofree char *name = g_strdup_printf ("IMG %u.jpg", i);
      g_autofree char *digest = g_compute_checksum_for_string (G_CHECKSUM_SHA256, i == 1 ? "IMG 0.jpg" : name, -1);
      g_autoptr (EfItem) photo = &ef_photo_new (digest, name, "image/jpeg", 40, 30)->item;

      g_assert_true (ef_inspection_swap (inspection, NULL, photo, &error));
    }
  with_many = ef_exchange_write (inspection);
  many = missing_after_import (with_many);
  g_assert_cmpstr (many, ==, "J-0421: 9 photos and 2 certificates of gauges aren't in this store: IMG 0.jpg, IMG 2.jpg, IMG 3.jpg, IMG 4.jpg, IMG 5.jpg, "
                             "IMG 6.jpg, IMG 7.jpg, IMG 8.jpg and 3 more");
}

/* The part isn't withheld where nothing of it is left out, and a change of it is found. */
static void
test_disclosed (Fixture *self,
                gconstpointer data)
{
  const char *const members[] = { "customer", NULL };
  g_autofree char *file = g_strconcat (self->path, ".json", NULL);
  g_autofree char *sealed = NULL;
  g_autofree char *text = NULL;
  g_autoptr (GString) changed = NULL;
  g_autoptr (EfVerification) verification = NULL;
  g_autoptr (EfVerification) broken = NULL;
  g_autoptr (GError) error = NULL;

  seal_small (self->store, self->job, "clerk", "looked through", self->key);
  g_assert_true (ef_seal_export_file (self->store, self->job, file, &error));
  g_assert_true (g_file_get_contents (file, &sealed, NULL, NULL));
  g_remove (file);
  text = ef_disclosure_write (sealed, "disclosure.json", members, &error);
  g_assert_no_error (error);
  verification = ef_verify_text (text, strlen (text), "d", NULL, &error);
  g_assert_no_error (error);
  assert_holds (verification);
  changed = g_string_new (text);
  g_assert_cmpuint (g_string_replace (changed, self->other, EF_SEAL_NOTHING, 0), >, 0);
  broken = ef_verify_text (changed->str, changed->len, "d", NULL, &error);
  g_assert_false (broken->holds);
  g_assert_nonnull (finding_of (broken, "part certificates"));
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
#define ADD(path, data, function) g_test_add (path, Fixture, data, set_up, function, tear_down)
  ADD ("/certificate-seal/holds", NULL, test_holds);
  ADD ("/certificate-seal/none", NULL, test_none);
  ADD ("/certificate-seal/changed", GUINT_TO_POINTER (0), test_tampered);
  ADD ("/certificate-seal/cut", GUINT_TO_POINTER (1), test_tampered);
  ADD ("/certificate-seal/removed", GUINT_TO_POINTER (2), test_tampered);
  ADD ("/certificate-seal/replaced", GUINT_TO_POINTER (3), test_tampered);
  ADD ("/certificate-seal/item", NULL, test_item);
  ADD ("/certificate-seal/damaged-before", NULL, test_damaged_before);
  ADD ("/certificate-seal/of-shop", NULL, test_of_shop);
  ADD ("/certificate-seal/list", NULL, test_list);
  ADD ("/certificate-seal/missing", NULL, test_missing);
  ADD ("/certificate-seal/disclosed", NULL, test_disclosed);

  return g_test_run ();
}
