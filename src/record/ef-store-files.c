/* Files kept in the store: adding and finding them.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-store-files-private.h"
#include "ef-store-private.h"

#include <string.h>

void
ef_file_row_free (EfFileRow *row)
{
  if (row == NULL)
    return;

  g_free (row->digest);
  g_free (row->name);
  g_free (row->type);
  g_free (row->time);
  g_free (row);
}

/* JPEG: ITU-T T.81 B.2.1 (SOI, then a marker). PNG: ISO/IEC 15948 5.2. PDF: ISO 32000-1 7.5.2. ZIP: APPNOTE 4.3.7. */
const char *
ef_file_type_of_bytes (const guint8 *bytes,
                       gsize length)
{
  static const struct
  {
    const char *type, *first;
    gsize length;
  } kinds[] = {
    { "image/jpeg", "\xff\xd8\xff", 3 },
    { "image/png", "\x89PNG\r\n\x1a\n", 8 },
    { "application/pdf", "%PDF-", 5 },
    { "application/zip", "PK\x03\x04", 4 },
  };

  for (guint i = 0; i < G_N_ELEMENTS (kinds); i++)
    if (length >= kinds[i].length && memcmp (bytes, kinds[i].first, kinds[i].length) == 0)
      return kinds[i].type;

  return "application/octet-stream";
}

/* What would break a line, or make a name look like another one. */
static gboolean
is_bad (gunichar c)
{
  return c == '/' || c == '\\' || g_unichar_iscntrl (c) || c == 0x061c || c == 0x200e || c == 0x200f || (c >= 0x2028 && c <= 0x202e)
         || (c >= 0x2066 && c <= 0x2069);
}

static gboolean
refuse_name (const char *name,
             const char *expected,
             GError **error)
{
  g_autofree char *valid = g_utf8_make_valid (name, -1);
  g_autoptr (GString) shown = g_string_new (NULL);
  guint n = 0;

  for (const char *p = valid; *p != '\0' && n < 60; p = g_utf8_next_char (p), n++)
    g_string_append_unichar (shown, is_bad (g_utf8_get_char (p)) ? 0xfffd : g_utf8_get_char (p));
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "name of the file: expected %s, found \"%s\"; give it another name and try again", expected, shown->str);

  return FALSE;
}

gboolean
ef_file_name_check (const char *name,
                    GError **error)
{
  g_return_val_if_fail (name != NULL, FALSE);
  if (*name == '\0' || g_str_equal (name, ".") || g_str_equal (name, ".."))
    return refuse_name (name, "a name", error);
  if (!g_utf8_validate (name, -1, NULL))
    return refuse_name (name, "text in UTF-8", error);
  if (strlen (name) > EF_STORE_FILE_NAME_LIMIT)
    return refuse_name (name, "at most 255 bytes", error);
  for (const char *p = name; *p != '\0'; p = g_utf8_next_char (p))
    if (is_bad (g_utf8_get_char (p)))
      return refuse_name (name, "no slashes, line breaks or other control characters", error);

  return TRUE;
}

/* Errors of streams become those of the program. */
static void
set_stream_error (const char *name,
                  const char *what,
                  GError *local,
                  GError **error)
{
  EfError code = g_error_matches (local, G_IO_ERROR, G_IO_ERROR_CANCELLED)  ? EF_ERROR_CANCELLED
                 : g_error_matches (local, G_IO_ERROR, G_IO_ERROR_NO_SPACE) ? EF_ERROR_FULL
                                                                            : EF_ERROR_IO;

  if (local->domain == EF_ERROR)
    g_propagate_error (error, local);
  else
    {
      g_set_error (error, EF_ERROR, code, "%s: %s: %s", name, what, local->message);
      g_error_free (local);
    }
}

typedef struct
{
  const char *name;
  GFileIOStream *file; /* unlinked */
  guint8 first[16];
  char *digest;
  gint64 size;
} Spool;

static void
spool_clear (Spool *spool)
{
  g_clear_object (&spool->file);
  g_free (spool->digest);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Spool, spool_clear)

static gboolean
spool_open (Spool *spool,
            GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autoptr (GFile) file = g_file_new_tmp ("endfloat-XXXXXX", &spool->file, &local);

  if (file == NULL)
    {
      set_stream_error (spool->name, "no temporary file", g_steal_pointer (&local), error);
      return FALSE;
    }
  g_file_delete (file, NULL, NULL);

  return TRUE;
}

static gboolean
check_size (Spool *spool,
            GError **error)
{
  if (spool->size == 0)
    g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected a file with something in it, found 0 bytes", spool->name);
  else if (spool->size > EF_STORE_FILE_LIMIT)
    g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected at most %d MB, found more; make it smaller and try again", spool->name,
                 EF_STORE_FILE_LIMIT / 1000000);
  else
    return TRUE;

  return FALSE;
}

/* The stream into the temporary file, its digest on the way. */
static gboolean
spool_fill (Spool *spool,
            GInputStream *stream,
            GCancellable *cancellable,
            GError **error)
{
  g_autoptr (GChecksum) checksum = g_checksum_new (G_CHECKSUM_SHA256);
  g_autofree guint8 *piece = g_malloc (EF_STORE_FILE_PIECE);
  GOutputStream *out = g_io_stream_get_output_stream (G_IO_STREAM (spool->file));
  GError *local = NULL;
  gsize n;

  do
    {
      if (!g_input_stream_read_all (stream, piece, EF_STORE_FILE_PIECE, &n, cancellable, &local))
        {
          set_stream_error (spool->name, "can't be read", local, error);
          return FALSE;
        }
      if (spool->size == 0)
        memcpy (spool->first, piece, MIN (n, sizeof spool->first));
      spool->size += (gint64) n;
      if (spool->size > EF_STORE_FILE_LIMIT)
        break;
      g_checksum_update (checksum, piece, (gssize) n);
      if (!g_output_stream_write_all (out, piece, n, NULL, cancellable, &local))
        {
          set_stream_error (spool->name, "can't be kept in between", local, error);
          return FALSE;
        }
    }
  while (n == EF_STORE_FILE_PIECE);
  if (!check_size (spool, error))
    return FALSE;
  spool->digest = g_strdup (g_checksum_get_string (checksum));

  return TRUE;
}

static gboolean
add_pieces (EfStore *store,
            Spool *spool,
            gint64 id,
            GCancellable *cancellable,
            GError **error)
{
  g_autoptr (sqlite3_stmt) insert = ef_sql_query (&store->sql, error, "INSERT INTO file_piece (file, part, body) VALUES (?, ?, ?)", "");
  g_autofree guint8 *piece = g_malloc (EF_STORE_FILE_PIECE);
  GInputStream *in = g_io_stream_get_input_stream (G_IO_STREAM (spool->file));
  gint64 part = 0, done = 0;
  GError *local = NULL;
  gsize n;

  if (insert == NULL)
    return FALSE;
  if (!g_seekable_seek (G_SEEKABLE (spool->file), 0, G_SEEK_SET, cancellable, &local))
    {
      set_stream_error (spool->name, "can't be kept in between", local, error);
      return FALSE;
    }
  for (; done < spool->size; done += (gint64) n)
    {
      g_autoptr (GBytes) body = NULL;

      if (!g_input_stream_read_all (in, piece, EF_STORE_FILE_PIECE, &n, cancellable, &local))
        {
          set_stream_error (spool->name, "can't be kept in between", local, error);
          return FALSE;
        }
      if (n == 0)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: its temporary file was cut off", spool->name);
          return FALSE;
        }
      body = g_bytes_new_static (piece, n);
      if (!ef_sql_again (&store->sql, insert, error, "iib", id, part++, body))
        return FALSE;
    }

  return TRUE;
}

/* Another window may have added the same in the meantime. */
static gboolean
add_spooled (EfStore *store,
             Spool *spool,
             GCancellable *cancellable,
             GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_autofree char *now = ef_store_now ();
  int added;

  if (!ef_transaction_begin (&transaction, &store->sql, error)
      || !ef_sql_run (&store->sql, &added, error,
                      "INSERT INTO file (digest, name, type, size, time) VALUES (?, ?, ?, ?, ?) ON CONFLICT (digest) DO NOTHING", "sssis", spool->digest,
                      spool->name, ef_file_type_of_bytes (spool->first, (gsize) MIN (spool->size, (gint64) sizeof spool->first)), spool->size, now))
    return FALSE;

  return (added == 0 || add_pieces (store, spool, sqlite3_last_insert_rowid (store->sql.db), cancellable, error))
         && ef_transaction_commit (&transaction, error);
}

char *
ef_store_add_file (EfStore *store,
                   GInputStream *stream,
                   const char *name,
                   GCancellable *cancellable,
                   GError **error)
{
  g_auto (Spool) spool = { .name = name };

  g_return_val_if_fail (store != NULL && G_IS_INPUT_STREAM (stream) && name != NULL, NULL);
  if (!ef_file_name_check (name, error)
      || !spool_open (&spool, error)
      || !spool_fill (&spool, stream, cancellable, error)
      || !add_spooled (store, &spool, cancellable, error))
    return NULL;

  return g_steal_pointer (&spool.digest);
}

#define COLUMNS "digest, name, type, size, time"

static EfFileRow *
row_of (sqlite3_stmt *statement)
{
  EfFileRow *row = g_new0 (EfFileRow, 1);

  row->digest = ef_sql_column_text (statement, 0);
  row->name = ef_sql_column_text (statement, 1);
  row->type = ef_sql_column_text (statement, 2);
  row->size = sqlite3_column_int64 (statement, 3);
  row->time = ef_sql_column_text (statement, 4);

  return row;
}

EfFileRow *
ef_store_file_find (EfStore *store,
                    const char *digest,
                    gint64 *id_out,
                    GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error, "SELECT " COLUMNS ", id FROM file WHERE digest = ?", "s", digest);
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  if (!row)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected the file %.12s…, found none with that digest", store->sql.name, digest);
      return NULL;
    }
  if (id_out != NULL)
    *id_out = sqlite3_column_int64 (statement, 5);

  return row_of (statement);
}

EfFileRow *
ef_store_file_info (EfStore *store,
                    const char *digest,
                    GError **error)
{
  g_return_val_if_fail (store != NULL && digest != NULL, NULL);

  return ef_store_file_find (store, digest, NULL, error);
}

GPtrArray *
ef_store_job_files (EfStore *store,
                    gint64 job,
                    GError **error)
{
  g_autoptr (GPtrArray) rows = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_file_row_free);
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL, NULL);
  statement = ef_sql_query (&store->sql, error,
                            "SELECT used.digest, coalesce (file.name, used.name, ''), coalesce (file.type, used.type, ''), coalesce (file.size, -1),"
                            " coalesce (file.time, '') FROM"
                            " (SELECT json_extract (body, '$.file') AS digest, json_extract (body, '$.name') AS name,"
                            "    json_extract (body, '$.type') AS type, 0 AS sort, min (seq) AS seq"
                            "  FROM item WHERE job = ?1 AND kind = 'photo' GROUP BY digest"
                            " UNION ALL"
                            "  SELECT json_extract (one.value, '$.file') AS digest, json_extract (one.value, '$.name'),"
                            "    json_extract (one.value, '$.type'), 1, min (seq * 1000 + one.key)"
                            "  FROM item, json_each (item.body, '$.certificates') AS one WHERE job = ?1 AND kind = 'gauge' GROUP BY digest) AS used"
                            " LEFT JOIN file ON file.digest = used.digest WHERE used.digest IS NOT NULL ORDER BY used.sort, used.seq",
                            "i", job);
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;
  while (row)
    {
      g_ptr_array_add (rows, row_of (statement));
      if (!ef_sql_step (&store->sql, statement, &row, error))
        return NULL;
    }

  return g_steal_pointer (&rows);
}

gint64
ef_store_files_size (EfStore *store,
                     GError **error)
{
  gint64 size;

  g_return_val_if_fail (store != NULL, -1);
  if (!ef_sql_integer (&store->sql, 0, &size, error, "SELECT coalesce (sum (size), 0) FROM file", ""))
    return -1;

  return size;
}
