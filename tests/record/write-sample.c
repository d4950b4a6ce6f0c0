/* Writes the kept sample of a store: write-sample OUT.endfloat.gz, of the present version.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Who adds a step to the store's tables runs this once and commits what it writes; test-samples then migrates it for ever after. It says what each
 * version newly keeps within "#if", so that it could be compiled against the code of each version: the samples up to 9 were written by the
 * code that brought the version (1: by that of 2, with its rows put into a store stopped after the first step). What it puts in is what test-samples looks for.
 */
#include "record/ef-exchange.h"
#include "record/ef-store.h"
#ifndef SAMPLE_VERSION
#define SAMPLE_VERSION G_MAXINT
#endif
#if SAMPLE_VERSION >= 4
#include "record/ef-store-gauges.h"
#endif
#if SAMPLE_VERSION >= 5
#include "sealed-store.h"
#include "record/ef-store-standing.h"
#endif
#if SAMPLE_VERSION >= 6
#include "record/ef-store-shelf.h"
#endif
#if SAMPLE_VERSION >= 7
#include "record/ef-store-files.h"
#endif
#if SAMPLE_VERSION >= 8
#include "record/ef-store-roles.h"
#endif
#if SAMPLE_VERSION >= 9
#include "record/ef-store-lessons.h"
#endif

#include <glib/gstdio.h>
#include <gio/gio.h>
#include <string.h>

/* The demo's gearbox pump under another number. */
static gint64
add_job (EfStore *store,
         const char *demo,
         const char *number)
{
  g_autofree char *text = NULL;
  g_autofree char *numbered = NULL;
  g_auto (GStrv) parts = NULL;
  g_autoptr (EfInspection) inspection = NULL;
  g_autoptr (GError) error = NULL;
  gint64 job;

  g_assert_true (g_file_get_contents (demo, &text, NULL, NULL));
  parts = g_strsplit (text, "J-0421", -1);
  numbered = g_strjoinv (number, parts);
  inspection = ef_exchange_parse (numbered, -1, demo, &error);
  g_assert_no_error (error);
  job = ef_store_add (store, inspection, &error);
  g_assert_no_error (error);

  return job;
}

static void
write_note (EfDocument *document,
            const char *note)
{
  const EfJobHeader *before = ef_inspection_header (ef_document_inspection (document));
  g_autoptr (EfItem) after = ef_item_copy (before);
  g_autoptr (GError) error = NULL;

  g_free (((EfJobHeader *) after)->note);
  ((EfJobHeader *) after)->note = g_strdup (note);
  ef_document_replace (document, "Note", (gpointer) before, after, &error);
  g_assert_no_error (error);
}

/* Three notes, the last taken back. */
static void
edit (EfStore *store,
      gint64 job)
{
  g_autoptr (GError) error = NULL;
  EfDocument *document = ef_store_open_document (store, job, &error);

  g_assert_no_error (error);
  write_note (document, "first note");
  write_note (document, "second note, of a periwinkle on the strainer");
  write_note (document, "third note");
  g_assert_true (ef_document_undo (document, &error));
  g_object_unref (document);
}

static void
fill (EfStore *store,
      const char *demo)
{
  g_autoptr (GError) error = NULL;
  gint64 first = add_job (store, demo, "S-1");

  edit (store, first);
  ef_store_set_verdict (store, first, "rework", &error);
  g_assert_no_error (error);
#if SAMPLE_VERSION >= 4
  ef_store_seed_gauges (store, &error);
  g_assert_no_error (error);
#endif
#if SAMPLE_VERSION >= 5
  {
    gint64 second = add_job (store, demo, "S-2");
    gint64 third = add_job (store, demo, "S-3");
    g_autoptr (EfSealKey) key = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);

    g_assert_no_error (error);
    edit (store, second);
    seal_small (store, second, "clerk", "sealed and left", key);
    seal_small (store, third, "clerk", "sealed, and opened again", key);
    ef_store_open_revision (store, third, "clerk", "a reading was wrong", &error);
    g_assert_no_error (error);
    edit (store, third);
    ef_store_withdraw (store, third, "clerk", "entered twice", &error);
    g_assert_no_error (error);
  }
#endif
#if SAMPLE_VERSION >= 6
  {
    g_autofree char *folder = g_path_get_dirname (demo);
    g_autofree char *path = g_build_filename (folder, "..", "shelf", "demo.json", NULL);
    g_autoptr (GPtrArray) parts = ef_shelf_load (path, &error);

    g_assert_no_error (error);
    ef_store_shelf_put (store, parts, "clerk", NULL, &error);
    g_assert_no_error (error);
  }
#endif
#if SAMPLE_VERSION >= 7
  {
    g_autoptr (GInputStream) stream = g_memory_input_stream_new_from_data ("kept for the sample\n", -1, NULL);
    g_autofree char *digest = ef_store_add_file (store, stream, "sample.txt", NULL, &error);

    g_assert_no_error (error);
  }
#endif
#if SAMPLE_VERSION >= 8
  {
    const EfWho nobody_yet = { "", NULL };

    ef_store_add_role (store, "owner 1", EF_ROLE_OWNER, &nobody_yet, &error);
    g_assert_no_error (error);
  }
#endif
#if SAMPLE_VERSION >= 11
  {
    g_autoptr (GInputStream) stream = g_memory_input_stream_new_from_data ("%PDF-1.4 of the sample\n%%EOF\n", -1, NULL);
    g_autofree char *digest = ef_store_add_file (store, stream, "certificate 114.pdf", NULL, &error);
    g_autoptr (EfItem) gauge = (EfItem *) ef_gauge_default (EF_GAUGE_DEPTH);
    EfDocument *document = ef_store_open_document (store, first, &error);

    g_assert_no_error (error);
    g_free (gauge->id);
    gauge->id = g_strdup ("with-certificate");
    ((EfGauge *) gauge)->certificates = ef_certificates_add (NULL, ef_certificate_new (digest, "certificate 114.pdf", "application/pdf"));
    ef_store_put_gauge (store, (EfGauge *) gauge, 0, "clerk", "", &error);
    ef_document_replace (document, "Use gauge", NULL, gauge, &error);
    g_assert_no_error (error);
    g_object_unref (document);
  }
#endif
#if SAMPLE_VERSION >= 9
  {
    char name[] = "first-lesson", digest[] = "6b86b273ff34fce19d6b804eff5a3f5747ada4eaa22f1d49c01e52ddb7875b4b";
    char title[] = "First lesson", pump[] = "TG-3", role[] = "trainer 1", label[] = "Made", body[] = "{}";
    const EfLessonRow lesson = { .name = name, .digest = digest, .title = title, .pump = pump, .role = role, .label = label, .whole = TRUE, .body = body };

    ef_store_put_lesson (store, &lesson, &error);
    g_assert_no_error (error);
  }
#endif
}

static void
pack (const char *path,
      const char *out)
{
  g_autoptr (GZlibCompressor) compressor = g_zlib_compressor_new (G_ZLIB_COMPRESSOR_FORMAT_GZIP, 9);
  g_autoptr (GFile) file = g_file_new_for_path (out);
  g_autoptr (GError) error = NULL;
  g_autoptr (GFileOutputStream) written = g_file_replace (file, NULL, FALSE, G_FILE_CREATE_NONE, NULL, &error);
  g_autoptr (GOutputStream) packed = NULL;
  g_autofree char *bytes = NULL;
  gsize length;

  g_assert_no_error (error);
  packed = g_converter_output_stream_new (G_OUTPUT_STREAM (written), G_CONVERTER (compressor));
  g_assert_true (g_file_get_contents (path, &bytes, &length, NULL));
  g_assert_true (g_output_stream_write_all (packed, bytes, length, NULL, NULL, &error));
  g_assert_true (g_output_stream_close (packed, NULL, &error));
}

int
main (int argc,
      char **argv)
{
  const char *data = g_getenv ("ENDFLOAT_DATADIR");
  g_autofree char *folder = g_dir_make_tmp ("sample-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "store.endfloat", NULL);
  g_autofree char *demo = g_build_filename (data != NULL ? data : ".", "demo", "job-3-tg-3.json", NULL);
  g_autoptr (GError) error = NULL;
  EfStore *store;

  if (argc != 2 || data == NULL)
    {
      g_printerr ("Usage: ENDFLOAT_DATADIR=data write-sample OUT.endfloat.gz\n");
      return 2;
    }
  store = ef_store_open (path, &error);
  g_assert_no_error (error);
  fill (store, demo);
  ef_store_close (store); /* the last one to close empties the log into the file */
  pack (path, argv[1]);
  g_remove (path);
  g_rmdir (folder);

  return 0;
}
