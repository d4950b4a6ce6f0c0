/* Members in and out, by libarchive.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-zip.h"

#include <archive.h>
#include <archive_entry.h>
#include <errno.h>
#include <fcntl.h>
#include <glib/gstdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define BLOCK (64 * 1024)

static gboolean
fail (struct archive *archive,
      const char *name,
      GError **error)
{
  const char *words = archive_error_string (archive);
  g_autofree char *shown = g_utf8_make_valid (words != NULL ? words : "unknown", -1);
  int number = archive_errno (archive);

  g_set_error (error, EF_ERROR, number == ENOSPC ? EF_ERROR_FULL : number == EIO || number == EACCES || number == ENOENT ? EF_ERROR_IO : EF_ERROR_CORRUPT, "%s: %s", name, shown);

  return FALSE;
}

/* All of it, with its CRC checked at the end. */
static GBytes *
read_member (struct archive *archive,
             struct archive_entry *entry,
             const char *name,
             GCancellable *cancellable,
             GError **error)
{
  const char *member = archive_entry_pathname (entry);
  g_autoptr (GByteArray) out = g_byte_array_new ();
  g_autofree guint8 *block = g_malloc (BLOCK);
  la_ssize_t n;

  while ((n = archive_read_data (archive, block, BLOCK)) > 0)
    {
      if (g_cancellable_is_cancelled (cancellable))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_CANCELLED, "%s: cancelled", name);
          return NULL;
        }
      if (out->len + (gsize) n > EF_ZIP_MEMBER_LARGEST)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: member \"%s\": expected at most %u MiB, found more", name, member, EF_ZIP_MEMBER_LARGEST >> 20);
          return NULL;
        }
      g_byte_array_append (out, block, (guint) n);
    }
  if (n != ARCHIVE_OK || (archive_entry_size_is_set (entry) && archive_entry_size (entry) != (gint64) out->len))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: member \"%s\": it is damaged: %s", name, member,
                   n != ARCHIVE_OK && archive_error_string (archive) != NULL ? archive_error_string (archive) : "its size isn't the one stated");
      return NULL;
    }
  if (out->len >= 4 && memcmp (out->data, "PK\3\4", 4) == 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: member \"%s\": expected a file, found a zip within the zip", name, member);
      return NULL;
    }

  return g_byte_array_free_to_bytes (g_steal_pointer (&out));
}

static gboolean
visit_all (struct archive *archive,
           const char *name,
           EfZipVisit visit,
           gpointer user_data,
           GCancellable *cancellable,
           GError **error)
{
  struct archive_entry *entry;
  int result;

  while ((result = archive_read_next_header (archive, &entry)) == ARCHIVE_OK)
    {
      const char *member = archive_entry_pathname (entry);
      g_autofree char *kept = g_strdup (member);
      g_autoptr (GBytes) bytes = NULL;

      if (kept == NULL || !ef_zip_name_is_plain (kept) || archive_entry_filetype (entry) != AE_IFREG || archive_entry_is_encrypted (entry))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected members that are plain files, found another", name);
          return FALSE;
        }
      bytes = read_member (archive, entry, name, cancellable, error);
      if (bytes == NULL || !visit (kept, bytes, user_data, error))
        return FALSE;
    }

  return result == ARCHIVE_EOF || fail (archive, name, error);
}

gboolean
ef_zip_read (const char *path,
             EfZipVisit visit,
             gpointer user_data,
             GCancellable *cancellable,
             GError **error)
{
  g_autofree char *name = g_filename_display_name (path);
  g_autoptr (GError) local = NULL;
  g_autoptr (GMappedFile) file = g_mapped_file_new (path, FALSE, &local);
  struct archive *archive;
  gboolean done;

  if (file == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: can't be read: %s", name, local->message);
      return FALSE;
    }
  if (!ef_zip_check_shape ((const guint8 *) g_mapped_file_get_contents (file), g_mapped_file_get_length (file), name, error))
    return FALSE;
  archive = archive_read_new ();
  archive_read_support_format_zip_seekable (archive);
  done = archive_read_open_memory (archive, g_mapped_file_get_contents (file), g_mapped_file_get_length (file)) == ARCHIVE_OK
           ? visit_all (archive, name, visit, user_data, cancellable, error)
           : fail (archive, name, error);
  archive_read_free (archive);

  return done;
}

struct _EfZipWriter
{
  struct archive *archive;
  char *path, *beside; /* @beside NULL once it's in place */
  int fd;
  gint64 time;
};

EfZipWriter *
ef_zip_writer_new (const char *path,
                   gint64 time,
                   GError **error)
{
  g_autoptr (EfZipWriter) self = g_new0 (EfZipWriter, 1);

  self->path = g_strdup (path);
  self->beside = g_strconcat (path, ".XXXXXX", NULL);
  self->time = time;
  self->fd = g_mkstemp_full (self->beside, O_RDWR | O_CLOEXEC, 0644);
  if (self->fd < 0)
    {
      g_set_error (error, EF_ERROR, errno == ENOSPC ? EF_ERROR_FULL : EF_ERROR_IO, "%s: can't be written: %s", path, g_strerror (errno));
      g_clear_pointer (&self->beside, g_free);
      return NULL;
    }
  self->archive = archive_write_new ();
  if (archive_write_set_format_zip (self->archive) != ARCHIVE_OK
      || archive_write_set_options (self->archive, "zip:compression=deflate,zip:compression-level=6,zip:!zip64") != ARCHIVE_OK
      || archive_write_set_bytes_in_last_block (self->archive, 1) != ARCHIVE_OK
      || archive_write_open_fd (self->archive, self->fd) != ARCHIVE_OK)
    {
      fail (self->archive, path, error);
      return NULL;
    }

  return g_steal_pointer (&self);
}

gboolean
ef_zip_writer_add (EfZipWriter *self,
                   const char *name,
                   GBytes *bytes,
                   GError **error)
{
  struct archive_entry *entry;
  gsize length;
  const void *data = g_bytes_get_data (bytes, &length);
  gboolean done;

  g_return_val_if_fail (ef_zip_name_is_plain (name), FALSE);
  if (length > EF_ZIP_MEMBER_LARGEST)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "%s: %s: expected at most %u MiB, found more", self->path, name, EF_ZIP_MEMBER_LARGEST >> 20);
      return FALSE;
    }
  entry = archive_entry_new ();
  archive_entry_set_pathname (entry, name);
  archive_entry_set_filetype (entry, AE_IFREG);
  archive_entry_set_perm (entry, 0644);
  archive_entry_set_size (entry, (la_int64_t) length);
  archive_entry_set_mtime (entry, self->time, 0);
  archive_entry_set_uid (entry, 0);
  archive_entry_set_gid (entry, 0);
  done = archive_write_header (self->archive, entry) == ARCHIVE_OK
         && (length == 0 || archive_write_data (self->archive, data, length) == (la_ssize_t) length);
  archive_entry_free (entry);

  return done || fail (self->archive, self->path, error);
}

gboolean
ef_zip_writer_close (EfZipWriter *self,
                     GError **error)
{
  if (archive_write_close (self->archive) != ARCHIVE_OK)
    return fail (self->archive, self->path, error);
  if (fsync (self->fd) != 0 || g_rename (self->beside, self->path) != 0)
    {
      g_set_error (error, EF_ERROR, errno == ENOSPC ? EF_ERROR_FULL : EF_ERROR_IO, "%s: can't be written: %s", self->path, g_strerror (errno));
      return FALSE;
    }
  g_clear_pointer (&self->beside, g_free);

  return TRUE;
}

void
ef_zip_writer_free (EfZipWriter *self)
{
  if (self == NULL)
    return;
  if (self->archive != NULL)
    archive_write_free (self->archive);
  if (self->fd >= 0)
    close (self->fd);
  if (self->beside != NULL)
    g_unlink (self->beside);
  g_free (self->beside);
  g_free (self->path);
  g_free (self);
}
