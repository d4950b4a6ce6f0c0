/* Kept samples of stores of every version, written by the code of their time: each is brought up to date, and all that was put into it is there.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * write-sample.c says what is in them and how they were made. Facts that are looked for are constructed.
 */
#include "../inspection/random-inspection.h"

#include "record/ef-backup.h"
#include "record/ef-store-files.h"
#include "record/ef-store-gauges.h"
#include "record/ef-store-lessons.h"
#include "record/ef-store-private.h"
#include "record/ef-store-roles.h"
#include "record/ef-store-schema.h"
#include "record/ef-store-shelf.h"
#include "record/ef-store-standing.h"

#include <glib/gstdio.h>
#include <string.h>
#include "../isolate.h"
#include "open-store.h"
#include "sealed-store.h"
#include "samples.h"

typedef struct
{
  char *folder;
  char *path;
} Fixture;

static void
set_up (Fixture *self,
        gconstpointer version)
{
  self->folder = g_dir_make_tmp ("samples-XXXXXX", NULL);
  self->path = g_build_filename (self->folder, "jobs.endfloat", NULL);
  unpack_sample (GPOINTER_TO_INT (version), self->path);
}

static void
tear_down (Fixture *self,
           gconstpointer unused)
{
  isolated_remove (self->folder);
  g_free (self->folder);
  g_free (self->path);
}

static gint64
find_job (EfStore *store,
          const char *number)
{
  g_autoptr (GError) error = NULL;
  gint64 job;

  g_assert_true (ef_store_exists (store, number, &job, &error));
  g_assert_cmpint (job, >, 0);

  return job;
}

/* Present state and history of one that was edited as write-sample.c does. */
static void
check_edited (EfStore *store,
              const char *number)
{
  static const char *const notes[] = { "first note", "second note, of a periwinkle on the strainer", "third note" };
  gint64 job = find_job (store, number);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) now = ef_store_load (store, job, &error);
  g_autoptr (GPtrArray) history = ef_store_history (store, job, &error);
  g_autoptr (EfInspection) replayed = NULL;
  guint i, first = 0;

  g_assert_no_error (error);
  g_assert_cmpstr (ef_inspection_header (now)->note, ==, notes[1]);
  g_assert_cmpuint (now->items[EF_ITEM_MARK]->len, >, 0);
  g_assert_cmpuint (now->items[EF_ITEM_READING]->len, >, 0);
  g_assert_cmpuint (history->len, >=, 5);
  while (first < history->len && !g_str_equal (((EfHistoryRow *) history->pdata[first])->label, "Note"))
    first++;
  for (i = 0; i < G_N_ELEMENTS (notes); i++)
    {
      g_autoptr (EfInspection) then = ef_store_load_at (store, job, ((EfHistoryRow *) history->pdata[first + i])->seq, &error);

      g_assert_no_error (error);
      g_assert_cmpstr (ef_inspection_header (then)->note, ==, notes[i]);
    }
  replayed = ef_store_load_at (store, job, ((EfHistoryRow *) history->pdata[history->len - 1])->seq, &error);
  g_assert_no_error (error);
  assert_same_inspection (now, replayed);
}

static void
check_search (EfStore *store)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) written = ef_store_jobs (store, &(EfJobQuery) { .text = "periwinkle s-1", .verdict = "rework" }, &error);
  g_autoptr (GPtrArray) model = ef_store_jobs (store, &(EfJobQuery) { .text = "s-1", .model = "TG-3" }, &error);

  g_assert_no_error (error);
  g_assert_cmpuint (written->len, ==, 1);
  g_assert_cmpstr (((EfJobRow *) written->pdata[0])->number, ==, "S-1");
  g_assert_cmpuint (((EfJobRow *) written->pdata[0])->n_marks, >, 0);
  g_assert_cmpuint (model->len, ==, 1);
}

/* Of the shop's gauge and of the job's copy, and its file. */
static void
check_certificate (EfStore *store)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (EfInspection) job = ef_store_load (store, find_job (store, "S-1"), &error);
  const EfGauge *own = ef_inspection_find (job, EF_ITEM_GAUGE, "with-certificate");
  g_autoptr (GPtrArray) shop = ef_store_gauges (store, TRUE, &error);
  const EfCertificate *certificate;
  g_autoptr (GBytes) bytes = NULL;

  g_assert_no_error (error);
  g_assert_nonnull (own);
  g_assert_cmpuint (ef_certificates_length (own->certificates), ==, 1);
  certificate = own->certificates->pdata[0];
  g_assert_cmpstr (certificate->name, ==, "certificate 114.pdf");
  g_assert_true (ef_item_equal (own, ((const EfShopGauge *) shop->pdata[shop->len - 1])->gauge));
  bytes = ef_store_read_file (store, certificate->file, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpmem (g_bytes_get_data (bytes, NULL), g_bytes_get_size (bytes), "%PDF-1.4 of the sample\n%%EOF\n", 30 - 1);
}

/* What each version newly keeps. */
static void
check_kept (EfStore *store,
            gint64 version)
{
  g_autoptr (GError) error = NULL;

  g_assert_cmpint (ef_store_count (store, NULL, NULL), ==, version >= 5 ? 3 : 1);
  if (version >= 4)
    {
      g_autoptr (GPtrArray) gauges = ef_store_gauges (store, TRUE, &error);

      g_assert_no_error (error);
      g_assert_cmpuint (gauges->len, >, 3);
    }
  if (version >= 5)
    {
      EfStanding standing;

      check_edited (store, "S-2");
      check_edited (store, "S-3");
      g_assert_true (ef_store_standing (store, find_job (store, "S-2"), &standing, &error));
      g_assert_true (standing.sealed > 0 && !standing.withdrawn);
      g_assert_true (ef_store_standing (store, find_job (store, "S-3"), &standing, &error));
      g_assert_true (standing.sealed == 0 && standing.withdrawn && standing.revision == 2);
    }
  if (version >= 6)
    g_assert_cmpint (ef_store_shelf_count (store, NULL, NULL), >, 2);
  if (version >= 7)
    {
      g_autofree char *digest = g_compute_checksum_for_string (G_CHECKSUM_SHA256, "kept for the sample\n", -1);
      g_autoptr (GBytes) bytes = ef_store_read_file (store, digest, NULL, &error);

      g_assert_no_error (error);
      g_assert_cmpmem (g_bytes_get_data (bytes, NULL), g_bytes_get_size (bytes), "kept for the sample\n", 20);
    }
  if (version >= 8)
    {
      g_autoptr (EfRole) role = ef_store_role (store, "owner 1", &error);

      g_assert_no_error (error);
      g_assert_cmpint (role->kind, ==, EF_ROLE_OWNER);
    }
  if (version >= 9)
    {
      EfLessonRow *lesson = ef_store_lesson (store, "first-lesson", &error);

      g_assert_no_error (error);
      g_assert_cmpstr (lesson->title, ==, "First lesson");
      ef_lesson_row_free (lesson);
    }
  if (version >= 11)
    check_certificate (store);
}

static void
test_up_to_date (Fixture *self,
                 gconstpointer version_pointer)
{
  gint64 version = GPOINTER_TO_INT (version_pointer);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = NULL;
  gint64 found;

  g_assert_cmpuint (version, <=, ef_store_schema_version ());
  {
    g_autoptr (EfStore) as_it_was = ef_store_open_to_read (self->path, &error);

    g_assert_no_error (error);
    g_assert_true (ef_sql_integer (&as_it_was->sql, 0, &found, &error, "PRAGMA user_version", ""));
    g_assert_cmpint (found, ==, version);
    g_assert_true (ef_store_schema_compare (&as_it_was->sql, version, &error));
  }

  store = ef_store_open (self->path, &error);
  g_assert_no_error (error);
  g_assert_true (ef_sql_integer (&store->sql, 0, &found, &error, "PRAGMA user_version", ""));
  g_assert_cmpint (found, ==, ef_store_schema_version ());
  g_assert_true (ef_store_schema_compare (&store->sql, found, &error));
  g_assert_true (ef_store_check (store, &error));
  g_assert_no_error (error);
  check_edited (store, "S-1");
  check_search (store);
  check_kept (store, version);
}

/* The same where it can't be written: a copy in memory is brought up to date, the file stays as it is and nothing can be changed. */
static void
test_read_only (Fixture *self,
                gconstpointer version_pointer)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *before = NULL;
  g_autofree char *after = NULL;
  gsize length, length_after;
  gint64 job;

  g_assert_true (g_file_get_contents (self->path, &before, &length, NULL));
  {
    g_autoptr (EfStore) store = ef_store_open_read_only (self->path, &error);
    g_autoptr (EfDocument) document = NULL;
    g_autoptr (EfItem) header = NULL;

    g_assert_no_error (error);
    g_assert_true (ef_store_read_only (store));
    check_edited (store, "S-1");
    check_search (store);
    check_kept (store, GPOINTER_TO_INT (version_pointer));
    job = find_job (store, "S-1");
    document = ef_store_open_document (store, job, &error);
    g_assert_no_error (error);
    header = ef_item_copy (ef_inspection_header (ef_document_inspection (document)));
    g_free (((EfJobHeader *) header)->note);
    ((EfJobHeader *) header)->note = g_strdup ("refused");
    g_assert_false (ef_document_replace (document, "Note", (gpointer) ef_inspection_header (ef_document_inspection (document)), header, &error));
    g_assert_error (error, EF_ERROR, EF_ERROR_IO);
    g_assert_nonnull (strstr (error->message, "can't be written"));
    g_assert_cmpstr (ef_inspection_header (ef_document_inspection (document))->note, !=, "refused");
  }
  g_assert_true (g_file_get_contents (self->path, &after, &length_after, NULL));
  g_assert_cmpmem (before, length, after, length_after);
}

static void
check_seals (const char *path,
             gint64 n_seals)
{
  g_autoptr (EfVerification) verification = verify_store (path);

  assert_holds (verification);
  g_assert_cmpint (verification->n_seals, ==, n_seals);
}

/* No false alarm: as it was, brought up to date, in a backup, put back, exported, imported elsewhere. */
static void
test_seals (Fixture *self,
            gconstpointer version_pointer)
{
  g_autofree char *backups = g_build_filename (self->folder, "backups", NULL);
  g_autofree char *restored = g_build_filename (self->folder, "restored.endfloat", NULL);
  g_autofree char *elsewhere = g_build_filename (self->folder, "elsewhere.endfloat", NULL);
  g_autofree char *file = g_build_filename (self->folder, "S-2.json", NULL);
  g_autofree char *backup = NULL;
  g_autoptr (GError) error = NULL;
  g_autoptr (EfVerification) exported = NULL;
  g_autoptr (EfStore) store = NULL;
  g_autoptr (EfStore) other = NULL;

  check_seals (self->path, 2);
  store = open_store (self->path);
  check_seals (self->path, 2);
  backup = ef_backup_make (store, backups, NULL, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  check_seals (backup, 2);
  g_assert_true (ef_backup_restore (backup, restored, NULL, NULL, NULL, NULL, NULL, &error));
  check_seals (restored, 2);
  g_assert_true (ef_seal_export_file (store, find_job (store, "S-2"), file, &error));
  exported = ef_verify_file (file, NULL, NULL, &error);
  g_assert_no_error (error);
  assert_holds (exported);
  other = open_store (elsewhere);
  g_assert_cmpint (ef_seal_import (other, file, &error), >, 0);
  g_assert_no_error (error);
  check_seals (elsewhere, 1);
}

static void
add (const char *what,
     gint64 version,
     void (*test) (Fixture *, gconstpointer))
{
  g_autofree char *name = g_strdup_printf ("/samples/%" G_GINT64_FORMAT "/%s", version, what);

  g_test_add (name, Fixture, GINT_TO_POINTER ((int) version), set_up, test, tear_down);
}

int
main (int argc,
      char **argv)
{
  gint64 version;

  isolated_test_init (&argc, &argv);
  /* Each version needs one: the fixture says how it's made. */
  for (version = 1; version <= ef_store_schema_version (); version++)
    {
      add ("up-to-date", version, test_up_to_date);
      add ("read-only", version, test_read_only);
      if (version >= 5)
        add ("seals", version, test_seals);
    }

  return g_test_run ();
}
