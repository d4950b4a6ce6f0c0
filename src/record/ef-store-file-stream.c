/* Reading a file of the store, piece by piece, checked against its digest before the last piece is handed out.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-files-private.h"
#include "ef-store-private.h"

#include <string.h>

#define EF_TYPE_FILE_STREAM (ef_file_stream_get_type ())
G_DECLARE_FINAL_TYPE (EfFileStream, ef_file_stream, EF, FILE_STREAM, GInputStream)

struct _EfFileStream
{
  GInputStream parent;
  EfStore *store;
  EfFileRow *row;
  gint64 id;
  GChecksum *checksum;
  gint64 part;       /* the next one */
  gint64 loaded;     /* bytes of all pieces so far */
  GBytes *piece;     /* NULL before the first */
  gsize given;       /* bytes of it */
};

G_DEFINE_TYPE (EfFileStream, ef_file_stream, G_TYPE_INPUT_STREAM)

static gboolean
damaged (EfFileStream *self,
         GError **error)
{
  g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: file %s (%.12s…): its bytes aren't those that were added; restore a backup", self->store->sql.name,
               self->row->name, self->row->digest);

  return FALSE;
}

static gboolean
load_piece (EfFileStream *self,
            GError **error)
{
  const EfSql *sql = &self->store->sql;
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (sql, error, "SELECT body FROM file_piece WHERE file = ? AND part = ?", "ii", self->id, self->part);
  gboolean row;
  gsize length;

  if (statement == NULL || !ef_sql_step (sql, statement, &row, error))
    return FALSE;
  length = row ? (gsize) sqlite3_column_bytes (statement, 0) : 0;
  if (length == 0 || length > EF_STORE_FILE_PIECE || (gint64) length > self->row->size - self->loaded)
    return damaged (self, error);
  g_clear_pointer (&self->piece, g_bytes_unref);
  self->piece = g_bytes_new (sqlite3_column_blob (statement, 0), length);
  self->given = 0;
  self->loaded += (gint64) length;
  self->part++;
  g_checksum_update (self->checksum, g_bytes_get_data (self->piece, NULL), (gssize) length);
  if (self->loaded == self->row->size && !g_str_equal (g_checksum_get_string (self->checksum), self->row->digest))
    {
      g_clear_pointer (&self->piece, g_bytes_unref);
      return damaged (self, error);
    }

  return TRUE;
}

static gssize
ef_file_stream_read (GInputStream *stream,
                     void *buffer,
                     gsize count,
                     GCancellable *cancellable,
                     GError **error)
{
  EfFileStream *self = EF_FILE_STREAM (stream);
  gsize length = self->piece != NULL ? g_bytes_get_size (self->piece) : 0;
  gsize n;

  if (g_cancellable_set_error_if_cancelled (cancellable, error))
    return -1;
  if (self->given == length)
    {
      if (self->loaded == self->row->size && self->piece != NULL)
        return 0;
      if (!load_piece (self, error))
        return -1;
      length = g_bytes_get_size (self->piece);
    }
  n = MIN (count, length - self->given);
  memcpy (buffer, (const guint8 *) g_bytes_get_data (self->piece, NULL) + self->given, n);
  self->given += n;

  return (gssize) n;
}

static void
ef_file_stream_finalize (GObject *object)
{
  EfFileStream *self = EF_FILE_STREAM (object);

  ef_file_row_free (self->row);
  g_checksum_free (self->checksum);
  g_clear_pointer (&self->piece, g_bytes_unref);
  G_OBJECT_CLASS (ef_file_stream_parent_class)->finalize (object);
}

static void
ef_file_stream_class_init (EfFileStreamClass *klass)
{
  G_OBJECT_CLASS (klass)->finalize = ef_file_stream_finalize;
  G_INPUT_STREAM_CLASS (klass)->read_fn = ef_file_stream_read;
}

static void
ef_file_stream_init (EfFileStream *self)
{
  self->checksum = g_checksum_new (G_CHECKSUM_SHA256);
}

GInputStream *
ef_store_open_file (EfStore *store,
                    const char *digest,
                    GError **error)
{
  EfFileStream *self;
  EfFileRow *row;
  gint64 id;

  g_return_val_if_fail (store != NULL && digest != NULL, NULL);
  row = ef_store_file_find (store, digest, &id, error);
  if (row == NULL)
    return NULL;
  self = g_object_new (EF_TYPE_FILE_STREAM, NULL);
  self->store = store;
  self->row = row;
  self->id = id;

  return G_INPUT_STREAM (self);
}

/* @keep (or NULL) receives the bytes. */
static gboolean
read_through (EfStore *store,
              const char *digest,
              GByteArray *keep,
              GCancellable *cancellable,
              GError **error)
{
  g_autoptr (GInputStream) stream = ef_store_open_file (store, digest, error);
  g_autofree guint8 *piece = g_malloc (EF_STORE_FILE_PIECE);
  gssize n = 1;

  while (stream != NULL && n > 0)
    {
      g_autoptr (GError) local = NULL;

      n = g_input_stream_read (stream, piece, EF_STORE_FILE_PIECE, cancellable, &local);
      if (g_error_matches (local, G_IO_ERROR, G_IO_ERROR_CANCELLED))
        g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, "%s: reading a file was stopped", store->sql.name);
      else if (local != NULL)
        g_propagate_error (error, g_steal_pointer (&local));
      if (n > 0 && keep != NULL)
        g_byte_array_append (keep, piece, (guint) n);
    }

  return stream != NULL && n == 0;
}

GBytes *
ef_store_read_file (EfStore *store,
                    const char *digest,
                    GCancellable *cancellable,
                    GError **error)
{
  g_autoptr (GByteArray) bytes = g_byte_array_new ();

  g_return_val_if_fail (store != NULL && digest != NULL, NULL);
  if (!read_through (store, digest, bytes, cancellable, error))
    return NULL;

  return g_byte_array_free_to_bytes (g_steal_pointer (&bytes));
}

gboolean
ef_store_check_file (EfStore *store,
                     const char *digest,
                     GCancellable *cancellable,
                     GError **error)
{
  g_return_val_if_fail (store != NULL && digest != NULL, FALSE);

  return read_through (store, digest, NULL, cancellable, error);
}
