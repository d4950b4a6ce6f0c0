/* Files kept in the store: photos, certificates of gauges and whatever else belongs to jobs, by their content.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A file is known by the SHA-256 of its bytes (FIPS 180-4; 64 small hexadecimal digits), so the same content lies in the store once, whatever it was
 * called. It's kept in pieces of EF_STORE_FILE_PIECE bytes and only ever streamed: neither adding nor reading holds more than a piece in memory.
 * Files are only added; triggers refuse to change or delete one. Which job a file belongs to is said by the job's items, which name the digest, with their
 * history and undo. What is read is checked: a reader never gets to the end of bytes that aren't those that were added.
 */
#pragma once

#include <gio/gio.h>
#include "ef-store.h"

G_BEGIN_DECLS

#define EF_STORE_FILE_LIMIT (40 * 1000 * 1000) /* bytes a file */
#define EF_STORE_FILE_PIECE (256 * 1024)       /* bytes */
#define EF_STORE_FILE_NAME_LIMIT 255           /* bytes of UTF-8 */

typedef struct
{
  char *digest; /* SHA-256 */
  char *name;   /* as it was called when it was first added */
  char *type;   /* media type by its first bytes; "application/octet-stream" where they tell nothing */
  gint64 size;  /* bytes, > 0 */
  char *time;   /* when it was first added, UTC */
} EfFileRow;
void ef_file_row_free (EfFileRow *row);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfFileRow, ef_file_row_free)

/* By the first bytes, never by a name: "image/jpeg", "image/png", "application/pdf", "application/zip", "application/octet-stream"; static. */
const char *ef_file_type_of_bytes (const guint8 *bytes, gsize length);
/* FALSE (EF_ERROR_INVALID): empty, longer than EF_STORE_FILE_NAME_LIMIT, not UTF-8, or with a slash, control or text-direction characters in it; the
 * message shows it made readable. */
gboolean ef_file_name_check (const char *name, GError **error);

/* Reads @stream to its end (it isn't closed), a temporary file holding it meanwhile, then adds it in one transaction. Digest, new; the same content already
 * there is no error and isn't added again. @name: what it is called, without folders, see ef_file_name_check(). EF_ERROR_RANGE above
 * EF_STORE_FILE_LIMIT (noticed without reading further), EF_ERROR_INVALID for no bytes or a bad name, EF_ERROR_CANCELLED, EF_ERROR_FULL, EF_ERROR_IO. May take a second:
 * not for the main thread, which opens the store once more in its worker. */
char *ef_store_add_file (EfStore *store, GInputStream *stream, const char *name, GCancellable *cancellable, GError **error);
/* EF_ERROR_NOT_FOUND where the store has no such file. */
EfFileRow *ef_store_file_info (EfStore *store, const char *digest, GError **error);
/* Its bytes. Reading fails with EF_ERROR_CORRUPT instead of handing out the last piece where pieces are missing or the digest isn't that of the bytes. The store must
 * outlive the stream and both stay in one thread. */
GInputStream *ef_store_open_file (EfStore *store, const char *digest, GError **error);
/* The whole of it, checked; for files that are needed at one piece. */
GBytes *ef_store_read_file (EfStore *store, const char *digest, GCancellable *cancellable, GError **error);
/* Reads it through, keeping nothing. */
gboolean ef_store_check_file (EfStore *store, const char *digest, GCancellable *cancellable, GError **error);
/* Those that the job's items name as they are now: its photos' in the order of the items, then its gauges' certificates, each once; ones that the store
 * doesn't have have size -1 and the name that the item gives. EfFileRow *. */
GPtrArray *ef_store_job_files (EfStore *store, gint64 job, GError **error);
/* Bytes of all files together; -1 on error. */
gint64 ef_store_files_size (EfStore *store, GError **error);

G_END_DECLS
