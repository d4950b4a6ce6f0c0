/* Files in the store: streaming, once by content, limits, names, and bytes that were changed behind the program's back.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <gio/gio.h>
#include <glib/gstdio.h>
#include <string.h>

#include "record/ef-sql.h"
#include "record/ef-store-files.h"
#include "../isolate.h"
#include "open-store.h"

typedef struct
{
  char *path;
  EfStore *store;
} Fixture;

static void
set_up (Fixture *self,
        gconstpointer data)
{
  self->path = g_build_filename (g_get_user_data_dir (), "files.endfloat", NULL);
  self->store = open_store (self->path);
}

static void
tear_down (Fixture *self,
           gconstpointer data)
{
  ef_store_close (self->store);
  g_unlink (self->path);
  g_free (self->path);
}

/* Past the program, as somebody with a database browser would. */
static void
by_hand (Fixture *self,
         const char *text)
{
  sqlite3 *db;

  g_assert_cmpint (sqlite3_open_v2 (self->path, &db, SQLITE_OPEN_READWRITE, NULL), ==, SQLITE_OK);
  g_assert_cmpint (sqlite3_exec (db, text, NULL, NULL, NULL), ==, SQLITE_OK);
  sqlite3_close_v2 (db);
}

static gint64
number_by_hand (Fixture *self,
                const char *text)
{
  g_autoptr (sqlite3_stmt) statement = NULL;
  gint64 number;
  sqlite3 *db;

  g_assert_cmpint (sqlite3_open_v2 (self->path, &db, SQLITE_OPEN_READWRITE, NULL), ==, SQLITE_OK);
  g_assert_cmpint (sqlite3_prepare_v2 (db, text, -1, &statement, NULL), ==, SQLITE_OK);
  g_assert_cmpint (sqlite3_step (statement), ==, SQLITE_ROW);
  number = sqlite3_column_int64 (statement, 0);
  g_clear_pointer (&statement, sqlite3_finalize);
  sqlite3_close_v2 (db);

  return number;
}

static GBytes *
made_bytes (gsize length,
            guint32 seed)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (seed);
  guint8 *bytes = g_malloc (length);

  for (gsize i = 0; i < length; i++)
    bytes[i] = (guint8) g_rand_int (rand);

  return g_bytes_new_take (bytes, length);
}

static char *
add (Fixture *self,
     GBytes *bytes,
     const char *name,
     GError **error)
{
  g_autoptr (GInputStream) stream = g_memory_input_stream_new_from_bytes (bytes);

  return ef_store_add_file (self->store, stream, name, NULL, error);
}

/* Sizes around the pieces; what comes out is what went in, with a digest that coreutils would give too. */
static void
test_round_trip (Fixture *self,
                 gconstpointer data)
{
  static const gsize sizes[] = { 1, 15, EF_STORE_FILE_PIECE - 1, EF_STORE_FILE_PIECE, EF_STORE_FILE_PIECE + 1, 3 * EF_STORE_FILE_PIECE, 700001 };
  gint64 total = 0;

  for (guint i = 0; i < G_N_ELEMENTS (sizes); i++)
    {
      g_autoptr (GError) error = NULL;
      g_autoptr (GBytes) bytes = made_bytes (sizes[i], i + 1);
      g_autofree char *expected = g_compute_checksum_for_bytes (G_CHECKSUM_SHA256, bytes);
      g_autofree char *digest = add (self, bytes, "separator side a.bin", &error);
      g_autoptr (GBytes) back = NULL;
      g_autoptr (EfFileRow) row = NULL;

      g_assert_no_error (error);
      g_assert_cmpstr (digest, ==, expected);
      back = ef_store_read_file (self->store, digest, NULL, &error);
      g_assert_no_error (error);
      g_assert_true (g_bytes_equal (back, bytes));
      row = ef_store_file_info (self->store, digest, &error);
      g_assert_no_error (error);
      g_assert_cmpint (row->size, ==, sizes[i]);
      g_assert_cmpstr (row->name, ==, "separator side a.bin");
      g_assert_cmpstr (row->type, ==, "application/octet-stream");
      total += row->size;
      g_assert_cmpint (ef_store_files_size (self->store, &error), ==, total);
    }
  g_assert_cmpint (number_by_hand (self, "SELECT max (length (body)) FROM file_piece"), ==, EF_STORE_FILE_PIECE);
}

/* FIPS 180-4's example (SHA-256 of "abc"), as published by NIST; from memory. */
static void
test_known_digest (Fixture *self,
                   gconstpointer data)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GBytes) bytes = g_bytes_new_static ("abc", 3);
  g_autofree char *digest = add (self, bytes, "abc", &error);

  g_assert_no_error (error);
  g_assert_cmpstr (digest, ==, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

static void
test_once (Fixture *self,
           gconstpointer data)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GBytes) bytes = made_bytes (300000, 7);
  g_autofree char *first = add (self, bytes, "first.bin", &error);
  g_autofree char *second = add (self, bytes, "second.bin", &error);
  g_autoptr (EfFileRow) row = ef_store_file_info (self->store, first, &error);

  g_assert_no_error (error);
  g_assert_cmpstr (first, ==, second);
  g_assert_cmpstr (row->name, ==, "first.bin");
  g_assert_cmpint (number_by_hand (self, "SELECT count (*) FROM file"), ==, 1);
  g_assert_cmpint (number_by_hand (self, "SELECT count (*) FROM file_piece"), ==, 2);
}

/* A stream of any length that remembers how much was asked of it. */
typedef GInputStream EndlessStream;
typedef GInputStreamClass EndlessStreamClass;
GType endless_stream_get_type (void);
G_DEFINE_TYPE (EndlessStream, endless_stream, G_TYPE_INPUT_STREAM)
static gint64 endless_length, endless_read;

static gssize
endless_stream_read (GInputStream *stream,
                     void *buffer,
                     gsize count,
                     GCancellable *cancellable,
                     GError **error)
{
  gsize n = (gsize) MIN ((gint64) MIN (count, 50000), endless_length - endless_read);

  if (g_cancellable_set_error_if_cancelled (cancellable, error))
    return -1;
  memset (buffer, 7, n);
  endless_read += (gint64) n;
  if (endless_read > 1000000 && cancellable != NULL)
    g_cancellable_cancel (cancellable);

  return (gssize) n;
}

static void
endless_stream_class_init (EndlessStreamClass *klass)
{
  klass->read_fn = endless_stream_read;
}

static void
endless_stream_init (EndlessStream *self)
{
}

static void
test_limit (Fixture *self,
            gconstpointer data)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GInputStream) stream = g_object_new (endless_stream_get_type (), NULL);
  g_autofree char *digest = NULL;

  endless_read = 0;
  endless_length = G_MAXINT64;
  digest = ef_store_add_file (self->store, stream, "endless.jpg", NULL, &error);
  g_assert_null (digest);
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_assert_nonnull (strstr (error->message, "endless.jpg: expected at most 40 MB"));
  /* It wasn't read on and on. */
  g_assert_cmpint (endless_read, <=, EF_STORE_FILE_LIMIT + EF_STORE_FILE_PIECE);
  g_assert_cmpint (number_by_hand (self, "SELECT count (*) FROM file"), ==, 0);

  g_clear_error (&error);
  endless_read = 0;
  endless_length = EF_STORE_FILE_LIMIT;
  digest = ef_store_add_file (self->store, stream, "just.jpg", NULL, &error);
  g_assert_no_error (error);
  g_assert_true (ef_store_check_file (self->store, digest, NULL, &error));
}

static void
test_stopped (Fixture *self,
              gconstpointer data)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  g_autoptr (GInputStream) stream = g_object_new (endless_stream_get_type (), NULL);

  endless_read = 0;
  endless_length = G_MAXINT64;
  g_assert_null (ef_store_add_file (self->store, stream, "photo.jpg", cancellable, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
  g_assert_cmpint (number_by_hand (self, "SELECT count (*) FROM file_piece"), ==, 0);
}

static void
test_names (Fixture *self,
            gconstpointer data)
{
  g_autofree char *longest = g_strnfill (EF_STORE_FILE_NAME_LIMIT, 'a');
  g_autofree char *longer = g_strnfill (EF_STORE_FILE_NAME_LIMIT + 1, 'a');
  const char *const bad[] = { "", ".", "..", "../store", "a/b.png", "a\\b.png", "a\nb.png", "a\tb.png", "\x7f.png", "photo\xff\xfe.jpg", "\xc0\xaf.jpg",
                              "invoice\xe2\x80\xaegpj.exe", "a\xe2\x81\xa6z.png", longer };
  const char *const good[] = { "IMG 0412 (2).JPG", "Gehäuse-Fläche.png", "写真.png", "-rf", "a;DROP TABLE file", longest };
  g_autoptr (GBytes) bytes = g_bytes_new_static ("x", 1);

  for (guint i = 0; i < G_N_ELEMENTS (bad); i++)
    {
      g_autoptr (GError) error = NULL;

      g_assert_null (add (self, bytes, bad[i], &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
      g_assert_true (g_str_has_prefix (error->message, "name of the file: expected "));
      g_assert_true (g_utf8_validate (error->message, -1, NULL));
      g_assert_null (strchr (error->message, '\n'));
    }
  g_assert_cmpint (number_by_hand (self, "SELECT count (*) FROM file"), ==, 0);
  for (guint i = 0; i < G_N_ELEMENTS (good); i++)
    {
      g_autoptr (GError) error = NULL;

      g_assert_true (ef_file_name_check (good[i], &error));
      g_assert_no_error (error);
    }
}

static void
test_empty (Fixture *self,
            gconstpointer data)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GBytes) bytes = g_bytes_new_static ("", 0);

  g_assert_null (add (self, bytes, "empty.png", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_cmpstr (error->message, ==, "empty.png: expected a file with something in it, found 0 bytes");
}

static void
test_types (void)
{
  static const struct
  {
    const char *bytes;
    gsize length;
    const char *type;
  } cases[] = {
    { "\xff\xd8\xff\xe0", 4, "image/jpeg" },        { "\x89PNG\r\n\x1a\n", 8, "image/png" },
    { "\x89PNG\r\n\x1a", 7, "application/octet-stream" }, { "%PDF-1.7", 8, "application/pdf" },
    { "PK\x03\x04", 4, "application/zip" },         { "GIF89a", 6, "application/octet-stream" },
    { "", 0, "application/octet-stream" },
  };

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    g_assert_cmpstr (ef_file_type_of_bytes ((const guint8 *) cases[i].bytes, cases[i].length), ==, cases[i].type);
}

/* Every byte of a piece matters; a reader never sees the end of a changed file. */
static void
test_tampered (Fixture *self,
               gconstpointer data)
{
  static const char *const ways[] = {
    "UPDATE file_piece SET body = zeroblob (length (body)) WHERE part = 0",
    "UPDATE file_piece SET body = zeroblob (length (body)) WHERE part = 2",
    "UPDATE file_piece SET body = substr (body, 1, length (body) - 1) WHERE part = 2",
    "UPDATE file_piece SET body = body || x'00' WHERE part = 2",
    "UPDATE file_piece SET body = zeroblob (50000000) WHERE part = 1",
    "UPDATE file_piece SET body = x'' WHERE part = 1",
    "UPDATE file_piece SET part = 3 - part WHERE part = 0",
    "DELETE FROM file_piece WHERE part = 1",
    "UPDATE file SET size = size - 1",
    "UPDATE file SET size = 0",
    "UPDATE file SET size = 9000000000000000000",
  };

  for (guint i = 0; i < G_N_ELEMENTS (ways); i++)
    {
      g_autoptr (GError) error = NULL;
      g_autoptr (GBytes) bytes = made_bytes (2 * EF_STORE_FILE_PIECE + 1000, 20 + i);
      g_autofree char *digest = add (self, bytes, "housing.jpg", &error);
      g_autoptr (GBytes) back = NULL;
      g_autofree char *text = NULL;

      g_assert_no_error (error);
      g_assert_true (ef_store_check_file (self->store, digest, NULL, &error));
      if (strstr (ways[i], "file_piece") != NULL)
        text = g_strdup_printf ("DROP TRIGGER IF EXISTS file_piece_no_update; DROP TRIGGER IF EXISTS file_piece_no_delete;"
                                "%s AND file = (SELECT id FROM file WHERE digest = '%s')", ways[i], digest);
      else
        text = g_strdup_printf ("DROP TRIGGER IF EXISTS file_no_update; %s WHERE digest = '%s'", ways[i], digest);
      by_hand (self, text);
      g_assert_false (ef_store_check_file (self->store, digest, NULL, &error));
      g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
      g_assert_nonnull (strstr (error->message, "housing.jpg"));
      g_clear_error (&error);
      back = ef_store_read_file (self->store, digest, NULL, &error);
      g_assert_null (back);
      g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
    }
}

static void
test_only_added (Fixture *self,
                 gconstpointer data)
{
  static const char *const texts[] = { "UPDATE file SET name = 'x'", "DELETE FROM file", "UPDATE file_piece SET body = x'00'", "DELETE FROM file_piece" };
  g_autoptr (GError) error = NULL;
  g_autoptr (GBytes) bytes = made_bytes (1000, 3);
  g_autofree char *digest = add (self, bytes, "a.bin", &error);

  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
    {
      sqlite3 *db;

      g_assert_cmpint (sqlite3_open_v2 (self->path, &db, SQLITE_OPEN_READWRITE, NULL), ==, SQLITE_OK);
      g_assert_cmpint (sqlite3_exec (db, texts[i], NULL, NULL, NULL), ==, SQLITE_CONSTRAINT);
      g_assert_cmpstr (sqlite3_errmsg (db), ==, "files are only added");
      sqlite3_close_v2 (db);
    }
  g_assert_true (ef_store_check_file (self->store, digest, NULL, &error));
}

/* Small reads, and a stop in between. */
static void
test_stream (Fixture *self,
             gconstpointer data)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GBytes) bytes = made_bytes (EF_STORE_FILE_PIECE + 5, 9);
  g_autofree char *digest = add (self, bytes, "a.bin", &error);
  g_autoptr (GInputStream) stream = ef_store_open_file (self->store, digest, &error);
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  const guint8 *expected = g_bytes_get_data (bytes, NULL);
  guint8 buffer[777];
  gsize at = 0;
  gssize n;

  g_assert_no_error (error);
  while ((n = g_input_stream_read (stream, buffer, sizeof buffer, NULL, &error)) > 0)
    {
      g_assert_cmpmem (buffer, n, expected + at, n);
      at += (gsize) n;
    }
  g_assert_no_error (error);
  g_assert_cmpuint (at, ==, g_bytes_get_size (bytes));
  g_assert_cmpint (g_input_stream_read (stream, buffer, sizeof buffer, NULL, &error), ==, 0);

  g_cancellable_cancel (cancellable);
  g_assert_null (ef_store_read_file (self->store, digest, cancellable, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
  g_clear_error (&error);
  g_assert_null (ef_store_open_file (self->store, "0000000000000000000000000000000000000000000000000000000000000000", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
#define ADD(path, function) g_test_add (path, Fixture, NULL, set_up, function, tear_down)
  ADD ("/store-files/round-trip", test_round_trip);
  ADD ("/store-files/known-digest", test_known_digest);
  ADD ("/store-files/same-content-once", test_once);
  ADD ("/store-files/limit", test_limit);
  ADD ("/store-files/stopped", test_stopped);
  ADD ("/store-files/names", test_names);
  ADD ("/store-files/empty", test_empty);
  ADD ("/store-files/tampered", test_tampered);
  ADD ("/store-files/only-added", test_only_added);
  ADD ("/store-files/stream", test_stream);
  g_test_add_func ("/store-files/types", test_types);

  return g_test_run ();
}
