/* Zip files: written the same to the byte each time, and read from anywhere without harm.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Packing and unpacking are libarchive's. Before it reads one, the file's own tables are held against each other here, so that every reader of
 * zips sees the same members, and only those.
 */
#pragma once

#include <gio/gio.h>
#include "../base/ef-error.h"

G_BEGIN_DECLS

#define EF_ZIP_MEMBERS_MOST 2000
#define EF_ZIP_MEMBER_LARGEST (64u << 20)     /* bytes, unpacked */
#define EF_ZIP_LARGEST (G_GUINT64_CONSTANT (1) << 30) /* bytes, packed as well as unpacked */

/* "a", "folder/a": letters, digits, ".", "_", "-"; no part begins with a point, and nothing is longer than 128 bytes. */
gboolean ef_zip_name_is_plain (const char *name);

/* A member, whole and with the CRC that it states. FALSE with @error set stops. */
typedef gboolean (*EfZipVisit) (const char *name, GBytes *bytes, gpointer user_data, GError **error);
/* Each member in the order of the file. Refused, before anything is handed on where the tables tell: paths that lead elsewhere, links and folders, names twice or that
 * aren't plain, encrypted or otherwise packed members, zips in the zip, sizes above the above, tables that contradict each other, hidden bytes (EF_ERROR_PARSE,
 * EF_ERROR_RANGE); damaged ones (EF_ERROR_CORRUPT). */
gboolean ef_zip_read (const char *path, EfZipVisit visit, gpointer user_data, GCancellable *cancellable, GError **error);

typedef struct _EfZipWriter EfZipWriter;
/* Beside @path until it is closed, then in its place. All members get @time (s since 1970, UTC). */
EfZipWriter *ef_zip_writer_new (const char *path, gint64 time, GError **error);
gboolean ef_zip_writer_add (EfZipWriter *self, const char *name, GBytes *bytes, GError **error);
gboolean ef_zip_writer_close (EfZipWriter *self, GError **error);
void ef_zip_writer_free (EfZipWriter *self); /* removes what wasn't closed */
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfZipWriter, ef_zip_writer_free)

/* Used by ef-zip.c: the tables of a file that is mapped whole. */
gboolean ef_zip_check_shape (const guint8 *data, gsize length, const char *name, GError **error);

G_END_DECLS
