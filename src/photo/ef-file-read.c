/* Reading files for the store.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-file-read.h"
#include "../record/ef-store-files.h"

#define STEP 65536 /* bytes between looks at the cancellable */

static void
set_read_error (const char *name,
                const GError *local,
                GError **error)
{
  gboolean cancelled = g_error_matches (local, G_IO_ERROR, G_IO_ERROR_CANCELLED);

  g_set_error (error, EF_ERROR, cancelled ? EF_ERROR_CANCELLED : EF_ERROR_IO, "%s: can't be read: %s", name, local->message);
}

/* At most a byte more than may be. */
GBytes *
ef_file_read_limited (GFile *file,
                      const char *name,
                      const char *what,
                      GCancellable *cancellable,
                      GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autoptr (GFileInfo) info = g_file_query_info (file, G_FILE_ATTRIBUTE_STANDARD_TYPE "," G_FILE_ATTRIBUTE_STANDARD_SIZE, G_FILE_QUERY_INFO_NONE, cancellable, &local);
  g_autoptr (GFileInputStream) stream = NULL;
  g_autoptr (GByteArray) bytes = g_byte_array_new ();
  g_autofree guint8 *piece = g_malloc (STEP);
  gssize n = 0;

  if (info != NULL && g_file_info_get_file_type (info) != G_FILE_TYPE_REGULAR)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected %s, found a folder or device", name, what);
      return NULL;
    }
  if (info != NULL)
    stream = g_file_read (file, cancellable, &local);
  while (stream != NULL && bytes->len <= EF_STORE_FILE_LIMIT && (n = g_input_stream_read (G_INPUT_STREAM (stream), piece, STEP, cancellable, &local)) > 0)
    g_byte_array_append (bytes, piece, (guint) n);
  if (local != NULL)
    {
      set_read_error (name, local, error);
      return NULL;
    }
  if (bytes->len == 0 || bytes->len > EF_STORE_FILE_LIMIT)
    {
      g_set_error (error, EF_ERROR, bytes->len == 0 ? EF_ERROR_INVALID : EF_ERROR_RANGE, "%s: expected %s of at most %d MB, found %s", name,
                   what, EF_STORE_FILE_LIMIT / 1000000, bytes->len == 0 ? "0 bytes" : "more");
      return NULL;
    }

  return g_byte_array_free_to_bytes (g_steal_pointer (&bytes));
}
