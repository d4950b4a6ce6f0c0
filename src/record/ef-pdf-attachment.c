/* Embedded files by qpdf's C interface.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-pdf-attachment.h"
#include "ef-pdf-shape.h"
#include "../base/ef-json-canonical.h"

#include <qpdf/qpdf-c.h>
#include <stdlib.h>
#include <string.h>

#define INFO_NUMBER "/EndfloatSealNumber"
#define INFO_DIGEST "/EndfloatSealDigest"
#define INFO_KEY "/EndfloatSealKey"
#define INFO_FILE "/EndfloatFileSHA256"

#define NODES_MOST 1000 /* of a tree of names */
#define NAME_LONGEST 255 /* bytes */

static void
cleanup (qpdf_data *qpdf)
{
  if (*qpdf != NULL)
    qpdf_cleanup (qpdf);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (qpdf_data, cleanup)

static qpdf_data
begin (void)
{
  qpdf_data qpdf = qpdf_init ();

  qpdf_silence_errors (qpdf);
  qpdf_set_suppress_warnings (qpdf, QPDF_TRUE);
  /* What is damaged isn't guessed at. */
  qpdf_set_attempt_recovery (qpdf, QPDF_FALSE);

  return qpdf;
}

/* TRUE with @error set where qpdf has anything to complain of. */
static gboolean
has_failed (qpdf_data qpdf,
            const char *name,
            GError **error)
{
  qpdf_error found = NULL;
  g_autofree char *words = NULL;

  if (qpdf_has_error (qpdf))
    found = qpdf_get_error (qpdf);
  else if (qpdf_more_warnings (qpdf))
    found = qpdf_next_warning (qpdf);
  if (found == NULL)
    return FALSE;
  words = g_utf8_make_valid (qpdf_get_error_message_detail (qpdf, found), -1);
  if (qpdf_get_error_code (qpdf, found) == qpdf_e_password)
    g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected a PDF that anybody can read, found an encrypted one", name);
  else
    g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: the PDF is damaged: %.200s (at byte %llu)", name, words,
                 qpdf_get_error_file_position (qpdf, found));

  return TRUE;
}

static qpdf_oh
string (qpdf_data qpdf,
        const char *text)
{
  return qpdf_oh_new_unicode_string (qpdf, text);
}

/* "D:20260309080000Z" from ISO 8601. */
static char *
pdf_time (const char *iso)
{
  g_autoptr (GTimeZone) utc = g_time_zone_new_utc ();
  g_autoptr (GDateTime) time = iso != NULL ? g_date_time_new_from_iso8601 (iso, utc) : NULL;
  g_autoptr (GDateTime) there = time != NULL ? g_date_time_to_utc (time) : NULL;

  return there != NULL ? g_date_time_format (there, "D:%Y%m%d%H%M%SZ") : NULL;
}

static qpdf_oh
make_params (qpdf_data qpdf,
             const EfPdfAttachment *attachment)
{
  qpdf_oh params = qpdf_oh_new_dictionary (qpdf);
  g_autoptr (GChecksum) md5 = g_checksum_new (G_CHECKSUM_MD5);
  g_autofree char *time = pdf_time (attachment->created);
  guint8 digest[16];
  gsize length = sizeof digest;

  g_checksum_update (md5, g_bytes_get_data (attachment->file, NULL), (gssize) g_bytes_get_size (attachment->file));
  g_checksum_get_digest (md5, digest, &length);
  qpdf_oh_replace_key (qpdf, params, "/Size", qpdf_oh_new_integer (qpdf, (long long) g_bytes_get_size (attachment->file)));
  qpdf_oh_replace_key (qpdf, params, "/CheckSum", qpdf_oh_new_binary_string (qpdf, (const char *) digest, length));
  if (time != NULL)
    {
      qpdf_oh_replace_key (qpdf, params, "/CreationDate", qpdf_oh_new_string (qpdf, time));
      qpdf_oh_replace_key (qpdf, params, "/ModDate", qpdf_oh_new_string (qpdf, time));
    }

  return params;
}

static qpdf_oh
make_file (qpdf_data qpdf,
           const EfPdfAttachment *attachment)
{
  qpdf_oh stream = qpdf_oh_new_stream (qpdf);
  qpdf_oh dict, files, spec;

  qpdf_oh_replace_stream_data (qpdf, stream, g_bytes_get_data (attachment->file, NULL), g_bytes_get_size (attachment->file),
                               qpdf_oh_new_null (qpdf), qpdf_oh_new_null (qpdf));
  dict = qpdf_oh_get_dict (qpdf, stream);
  qpdf_oh_replace_key (qpdf, dict, "/Type", qpdf_oh_new_name (qpdf, "/EmbeddedFile"));
  qpdf_oh_replace_key (qpdf, dict, "/Subtype", qpdf_oh_new_name (qpdf, "/application/json"));
  qpdf_oh_replace_key (qpdf, dict, "/Params", make_params (qpdf, attachment));

  files = qpdf_oh_new_dictionary (qpdf);
  qpdf_oh_replace_key (qpdf, files, "/F", stream);
  qpdf_oh_replace_key (qpdf, files, "/UF", stream);
  spec = qpdf_oh_new_dictionary (qpdf);
  qpdf_oh_replace_key (qpdf, spec, "/Type", qpdf_oh_new_name (qpdf, "/Filespec"));
  qpdf_oh_replace_key (qpdf, spec, "/F", string (qpdf, attachment->name));
  qpdf_oh_replace_key (qpdf, spec, "/UF", string (qpdf, attachment->name));
  qpdf_oh_replace_key (qpdf, spec, "/Desc", string (qpdf, attachment->description));
  qpdf_oh_replace_key (qpdf, spec, "/AFRelationship", qpdf_oh_new_name (qpdf, "/Data"));
  qpdf_oh_replace_key (qpdf, spec, "/EF", files);

  return qpdf_make_indirect_object (qpdf, spec);
}

static void
hang_in (qpdf_data qpdf,
         const EfPdfAttachment *attachment)
{
  qpdf_oh root = qpdf_get_root (qpdf);
  qpdf_oh spec = make_file (qpdf, attachment);
  qpdf_oh list = qpdf_oh_new_array (qpdf);
  qpdf_oh embedded = qpdf_oh_new_dictionary (qpdf);
  qpdf_oh names = qpdf_oh_get_key (qpdf, root, "/Names");
  qpdf_oh associated = qpdf_oh_new_array (qpdf);

  if (!qpdf_oh_is_dictionary (qpdf, names))
    names = qpdf_oh_new_dictionary (qpdf);
  qpdf_oh_append_item (qpdf, list, string (qpdf, attachment->name));
  qpdf_oh_append_item (qpdf, list, spec);
  qpdf_oh_replace_key (qpdf, embedded, "/Names", list);
  qpdf_oh_replace_key (qpdf, names, "/EmbeddedFiles", embedded);
  qpdf_oh_replace_key (qpdf, root, "/Names", names);
  qpdf_oh_append_item (qpdf, associated, spec);
  qpdf_oh_replace_key (qpdf, root, "/AF", associated);
}

static void
state_seal (qpdf_data qpdf,
            const EfPdfAttachment *attachment)
{
  g_autofree char *number = g_strdup_printf ("%" G_GINT64_FORMAT, attachment->number);
  g_autofree char *sha256 = ef_sha256 (g_bytes_get_data (attachment->file, NULL), (gssize) g_bytes_get_size (attachment->file));

  qpdf_set_info_key (qpdf, INFO_NUMBER, number);
  qpdf_set_info_key (qpdf, INFO_DIGEST, attachment->digest);
  qpdf_set_info_key (qpdf, INFO_KEY, attachment->key);
  qpdf_set_info_key (qpdf, INFO_FILE, sha256);
}

GBytes *
ef_pdf_attach (GBytes *pdf,
               const EfPdfAttachment *attachment,
               GError **error)
{
  g_auto (qpdf_data) qpdf = begin ();

  g_return_val_if_fail (pdf != NULL && attachment != NULL && attachment->file != NULL, NULL);
  if (g_bytes_get_size (attachment->file) > EF_PDF_FILE_LARGEST)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: expected a file of at most %u MiB to attach, found more", attachment->name, EF_PDF_FILE_LARGEST >> 20);
      return NULL;
    }
  qpdf_read_memory (qpdf, "report", g_bytes_get_data (pdf, NULL), g_bytes_get_size (pdf), NULL);
  if (has_failed (qpdf, "report", error))
    return NULL;
  hang_in (qpdf, attachment);
  state_seal (qpdf, attachment);
  if (has_failed (qpdf, "report", error))
    return NULL;
  qpdf_init_write_memory (qpdf);
  qpdf_set_object_stream_mode (qpdf, qpdf_o_disable);
  qpdf_set_stream_data_mode (qpdf, qpdf_s_preserve);
  qpdf_set_compress_streams (qpdf, QPDF_FALSE);
  qpdf_set_decode_level (qpdf, qpdf_dl_none);
  qpdf_set_minimum_pdf_version (qpdf, "1.7");
  qpdf_set_deterministic_ID (qpdf, QPDF_TRUE);
  qpdf_write (qpdf);
  if (has_failed (qpdf, "report", error))
    return NULL;

  return g_bytes_new (qpdf_get_buffer (qpdf), qpdf_get_buffer_length (qpdf));
}

void
ef_pdf_read_free (EfPdfRead *self)
{
  if (self == NULL)
    return;
  g_free (self->name);
  g_clear_pointer (&self->file, g_bytes_unref);
  g_free (self->number);
  g_free (self->digest);
  g_free (self->key);
  g_free (self->sha256);
  g_free (self->md5);
  g_free (self);
}

/* What the reading of one file hands on. */
typedef struct
{
  qpdf_data qpdf;
  const char *name;
  guint nodes;
  GHashTable *seen; /* ids of the nodes of the tree */
  GArray *specs;    /* qpdf_oh */
} Reader;

static gboolean
add_names (Reader *self,
           qpdf_oh list,
           GError **error)
{
  int n = qpdf_oh_get_array_n_items (self->qpdf, list);

  for (int i = 1; i < n; i += 2)
    {
      qpdf_oh spec = qpdf_oh_get_array_item (self->qpdf, list, i);

      if (self->specs->len >= NODES_MOST)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected one attachment, found more than %d", self->name, NODES_MOST);
          return FALSE;
        }
      g_array_append_val (self->specs, spec);
    }

  return TRUE;
}

/* A node of the tree of attachments' names (ISO 32000-1, 7.9.6); one that is met twice is part of a circle. */
static gboolean
walk_names (Reader *self,
            qpdf_oh node,
            GError **error)
{
  qpdf_oh kids, list;
  int id = qpdf_oh_get_object_id (self->qpdf, node), n;

  if (++self->nodes > NODES_MOST || (id > 0 && !g_hash_table_add (self->seen, GINT_TO_POINTER (id))))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: expected a list of attachments, found one that runs in a circle or has more than %d nodes", self->name, NODES_MOST);
      return FALSE;
    }
  if (!qpdf_oh_is_dictionary (self->qpdf, node))
    return TRUE;
  list = qpdf_oh_get_key (self->qpdf, node, "/Names");
  if (qpdf_oh_is_array (self->qpdf, list) && !add_names (self, list, error))
    return FALSE;
  kids = qpdf_oh_get_key (self->qpdf, node, "/Kids");
  n = qpdf_oh_is_array (self->qpdf, kids) ? qpdf_oh_get_array_n_items (self->qpdf, kids) : 0;
  for (int i = 0; i < n; i++)
    if (!walk_names (self, qpdf_oh_get_array_item (self->qpdf, kids, i), error))
      return FALSE;

  return TRUE;
}

static gboolean
find_spec (Reader *self,
           qpdf_oh *spec_out,
           GError **error)
{
  qpdf_oh names = qpdf_oh_get_key_if_dict (self->qpdf, qpdf_get_root (self->qpdf), "/Names");
  qpdf_oh embedded = qpdf_oh_get_key_if_dict (self->qpdf, names, "/EmbeddedFiles");

  if (!walk_names (self, embedded, error) || has_failed (self->qpdf, self->name, error))
    return FALSE;
  if (self->specs->len == 0)
    g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: expected a report with the sealed exchange file attached to it, found a PDF with no attachment", self->name);
  else if (self->specs->len > 1)
    g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected one attachment, the sealed exchange file, found %u; take the right one out and verify that", self->name, self->specs->len);
  else
    *spec_out = g_array_index (self->specs, qpdf_oh, 0);

  return self->specs->len == 1;
}

static char *
read_name (Reader *self,
           qpdf_oh spec,
           GError **error)
{
  qpdf_oh value = qpdf_oh_get_key_if_dict (self->qpdf, spec, "/UF");
  const char *text;
  size_t length = 0;

  if (!qpdf_oh_is_string (self->qpdf, value))
    value = qpdf_oh_get_key_if_dict (self->qpdf, spec, "/F");
  if (!qpdf_oh_is_string (self->qpdf, value))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected an attachment with a name, found one without", self->name);
      return NULL;
    }
  text = qpdf_oh_get_binary_utf8_value (self->qpdf, value, &length);
  if (length > 0 && length <= NAME_LONGEST && g_utf8_validate_len (text, length, NULL) && memchr (text, 0, length) == NULL)
    return g_strndup (text, length);
  g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: name of the attachment: expected at most %d bytes of UTF-8, found something else", self->name, NAME_LONGEST);

  return NULL;
}

static GBytes *
unpack (Reader *self,
        GBytes *packed,
        GError **error)
{
  g_autoptr (GConverter) converter = G_CONVERTER (g_zlib_decompressor_new (G_ZLIB_COMPRESSOR_FORMAT_ZLIB));
  g_autoptr (GInputStream) base = g_memory_input_stream_new_from_bytes (packed);
  g_autoptr (GInputStream) stream = g_converter_input_stream_new (base, converter);
  g_autoptr (GByteArray) out = g_byte_array_new ();
  g_autoptr (GError) local = NULL;
  g_autofree guint8 *buffer = g_malloc (1 << 16);
  gssize n;

  while ((n = g_input_stream_read (stream, buffer, 1 << 16, NULL, &local)) > 0)
    {
      g_byte_array_append (out, buffer, (guint) n);
      if (out->len > EF_PDF_FILE_LARGEST)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: attachment: expected at most %u MiB, found more", self->name, EF_PDF_FILE_LARGEST >> 20);
          return NULL;
        }
    }
  if (n < 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: attachment: it is damaged: %s", self->name, local->message);
      return NULL;
    }

  return g_byte_array_free_to_bytes (g_steal_pointer (&out));
}

/* As it stands, or packed by Flate alone: what else there is isn't written by this program, and isn't unpacked, so that no small file becomes a huge one. */
static GBytes *
read_stream (Reader *self,
             qpdf_oh stream,
             GError **error)
{
  qpdf_oh dict = qpdf_oh_get_dict (self->qpdf, stream);
  qpdf_oh filter = qpdf_oh_get_key (self->qpdf, dict, "/Filter");
  gboolean plain, flate;
  g_autoptr (GBytes) raw = NULL;
  unsigned char *data = NULL;
  size_t length = 0;

  if (qpdf_oh_is_array (self->qpdf, filter) && qpdf_oh_get_array_n_items (self->qpdf, filter) == 1)
    filter = qpdf_oh_get_array_item (self->qpdf, filter, 0);
  plain = qpdf_oh_is_null (self->qpdf, filter);
  flate = qpdf_oh_is_name_and_equals (self->qpdf, filter, "/FlateDecode") && qpdf_oh_is_null (self->qpdf, qpdf_oh_get_key (self->qpdf, dict, "/DecodeParms"));
  if (!plain && !flate)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: attachment: expected it plain or packed by FlateDecode, found another way; take it out and verify that", self->name);
      return NULL;
    }
  qpdf_oh_get_stream_data (self->qpdf, stream, qpdf_dl_none, NULL, &data, &length);
  if (data != NULL)
    raw = g_bytes_new_with_free_func (data, length, free, data);
  if (has_failed (self->qpdf, self->name, error))
    return NULL;
  if (raw == NULL)
    raw = g_bytes_new (NULL, 0);

  return flate ? unpack (self, raw, error) : g_steal_pointer (&raw);
}

static gboolean
read_file (Reader *self,
           qpdf_oh spec,
           EfPdfRead *out,
           GError **error)
{
  qpdf_oh files = qpdf_oh_get_key_if_dict (self->qpdf, spec, "/EF");
  qpdf_oh stream = qpdf_oh_get_key_if_dict (self->qpdf, files, "/F");
  qpdf_oh other = qpdf_oh_get_key_if_dict (self->qpdf, files, "/UF");
  qpdf_oh params, value;

  if (qpdf_oh_is_null (self->qpdf, stream))
    stream = other;
  if (!qpdf_oh_is_stream (self->qpdf, stream)
      || (!qpdf_oh_is_null (self->qpdf, other) && qpdf_oh_get_object_id (self->qpdf, other) != qpdf_oh_get_object_id (self->qpdf, stream)))
    {
      if (!has_failed (self->qpdf, self->name, error))
        g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: attachment: expected one file, found none, or another one under each of its names", self->name);
      return FALSE;
    }
  out->file = read_stream (self, stream, error);
  if (out->file == NULL)
    return FALSE;
  params = qpdf_oh_get_key (self->qpdf, qpdf_oh_get_dict (self->qpdf, stream), "/Params");
  value = qpdf_oh_get_key_if_dict (self->qpdf, params, "/Size");
  out->size = qpdf_oh_is_integer (self->qpdf, value) ? qpdf_oh_get_int_value (self->qpdf, value) : -1;
  value = qpdf_oh_get_key_if_dict (self->qpdf, params, "/CheckSum");
  if (qpdf_oh_is_string (self->qpdf, value))
    {
      size_t length = 0;
      const guint8 *bytes = (const guint8 *) qpdf_oh_get_binary_string_value (self->qpdf, value, &length);
      GString *hex = g_string_new (NULL);

      for (size_t i = 0; i < MIN (length, 64); i++)
        g_string_append_printf (hex, "%02x", bytes[i]);
      out->md5 = g_string_free (hex, FALSE);
    }

  return TRUE;
}

static char *
read_info (Reader *self,
           const char *key)
{
  qpdf_oh info = qpdf_oh_get_key_if_dict (self->qpdf, qpdf_get_trailer (self->qpdf), "/Info");
  qpdf_oh value = qpdf_oh_get_key_if_dict (self->qpdf, info, key);
  const char *text;
  size_t length = 0;

  if (!qpdf_oh_is_string (self->qpdf, value))
    return NULL;
  text = qpdf_oh_get_binary_utf8_value (self->qpdf, value, &length);

  return g_utf8_make_valid (text, (gssize) MIN (length, NAME_LONGEST));
}

static gboolean
read_all (Reader *self,
          GBytes *pdf,
          EfPdfRead *out,
          GError **error)
{
  qpdf_oh spec = 0;

  qpdf_read_memory (self->qpdf, self->name, g_bytes_get_data (pdf, NULL), g_bytes_get_size (pdf), NULL);
  if (has_failed (self->qpdf, self->name, error))
    return FALSE;
  if (qpdf_is_encrypted (self->qpdf))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected a PDF that anybody can read, found an encrypted one", self->name);
      return FALSE;
    }
  if (!find_spec (self, &spec, error))
    return FALSE;
  out->name = read_name (self, spec, error);
  if (out->name == NULL || !read_file (self, spec, out, error))
    return FALSE;
  out->number = read_info (self, INFO_NUMBER);
  out->digest = read_info (self, INFO_DIGEST);
  out->key = read_info (self, INFO_KEY);
  out->sha256 = read_info (self, INFO_FILE);

  return !has_failed (self->qpdf, self->name, error);
}

EfPdfRead *
ef_pdf_read (GBytes *pdf,
             const char *name,
             GError **error)
{
  g_auto (qpdf_data) qpdf = NULL;
  g_autoptr (EfPdfRead) out = g_new0 (EfPdfRead, 1);
  Reader reader = { .name = name };
  gboolean done;

  g_return_val_if_fail (pdf != NULL && name != NULL, NULL);
  if (!ef_pdf_check_shape (g_bytes_get_data (pdf, NULL), g_bytes_get_size (pdf), name, error))
    return NULL;
  qpdf = begin ();
  reader.qpdf = qpdf;
  reader.seen = g_hash_table_new (NULL, NULL);
  reader.specs = g_array_new (FALSE, FALSE, sizeof (qpdf_oh));
  done = read_all (&reader, pdf, out, error);
  g_hash_table_unref (reader.seen);
  g_array_unref (reader.specs);

  return done ? g_steal_pointer (&out) : NULL;
}
