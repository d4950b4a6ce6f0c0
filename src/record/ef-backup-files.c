/* Backups as files: their names, which to keep, and moving files so that a crash leaves the one or the other whole.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-backup-private.h"

#include <errno.h>
#include <fcntl.h>
#include <glib/gstdio.h>
#include <string.h>
#include <unistd.h>

#define PREFIX "jobs-"
#define SUFFIX ".sqlite"
#define STAMP_LENGTH 16 /* 20260309T140500Z */

const EfBackupPolicy ef_backup_policy_default = { 5, 14, 12 };

void
ef_backup_free (EfBackup *backup)
{
  if (backup == NULL)
    return;

  g_free (backup->path);
  g_free (backup->time);
  g_free (backup);
}

char *
ef_backup_default_folder (const char *store_path)
{
  g_autofree char *folder = g_path_get_dirname (store_path);

  return g_build_filename (folder, "backups", NULL);
}

char *
ef_backup_stamp (void)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();

  return g_date_time_format (now, "%Y%m%dT%H%M%SZ");
}

static gboolean
fail (const char *path,
      const char *what,
      int code,
      GError **error)
{
  g_autofree char *name = g_filename_display_name (path);

  g_set_error (error, EF_ERROR, code == ENOSPC || code == EDQUOT || code == EFBIG ? EF_ERROR_FULL : EF_ERROR_IO,
               "%s: can't be %s: %s", name, what, g_strerror (code));

  return FALSE;
}

gboolean
ef_file_sync (const char *path,
              GError **error)
{
  int file = g_open (path, O_RDONLY | O_CLOEXEC, 0);
  int code = 0;

  if (file < 0)
    return fail (path, "opened", errno, error);
  if (fsync (file) != 0)
    code = errno;
  close (file);

  return code == 0 || fail (path, "written to the disk", code, error);
}

gboolean
ef_file_rename (const char *from,
                const char *to,
                GError **error)
{
  g_autofree char *folder = g_path_get_dirname (to);

  if (g_rename (from, to) != 0)
    return fail (from, "renamed", errno, error);

  return ef_file_sync (folder, error);
}

gboolean
ef_file_make_empty (const char *path,
                    GError **error)
{
  int file = g_open (path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);

  if (file < 0)
    return fail (path, "made", errno, error);
  close (file);

  return TRUE;
}

static gboolean
write_all (int file,
           const char *bytes,
           gssize length)
{
  while (length > 0)
    {
      gssize written = write (file, bytes, (gsize) length);

      if (written < 0 && errno == EINTR)
        continue;
      if (written <= 0)
        return FALSE;
      bytes += written;
      length -= written;
    }

  return TRUE;
}

/* 0, or the errno of what failed. */
static int
copy_bytes (int from,
            int to)
{
  g_autofree char *buffer = g_malloc (1 << 16);
  gssize got;

  while ((got = read (from, buffer, 1 << 16)) != 0)
    if ((got < 0 && errno != EINTR) || (got > 0 && !write_all (to, buffer, got)))
      return errno != 0 ? errno : EIO;

  return fsync (to) == 0 ? 0 : errno;
}

gboolean
ef_file_copy (const char *from,
              const char *to,
              GError **error)
{
  int source = g_open (from, O_RDONLY | O_CLOEXEC, 0);
  int dest;
  int code;

  if (source < 0)
    return fail (from, "opened", errno, error);
  dest = g_open (to, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (dest < 0)
    {
      code = errno;
      close (source);
      return fail (to, "made", code, error);
    }

  code = copy_bytes (source, dest);
  close (source);
  if (close (dest) != 0 && code == 0)
    code = errno;
  if (code == 0)
    return TRUE;
  g_unlink (to);

  return fail (to, "written", code, error);
}

/* "20260309T140500Z" to "2026-03-09T14:05:00Z"; NULL where the name is none of ours. */
static char *
name_time (const char *name)
{
  static const char pattern[] = "00000000T000000Z";
  const char *stamp = name + strlen (PREFIX);
  const char *rest;
  guint i;

  if (!g_str_has_prefix (name, PREFIX) || !g_str_has_suffix (name, SUFFIX) || strlen (stamp) < STAMP_LENGTH + strlen (SUFFIX))
    return NULL;
  for (i = 0; i < STAMP_LENGTH; i++)
    if (pattern[i] == '0' ? !g_ascii_isdigit (stamp[i]) : stamp[i] != pattern[i])
      return NULL;
  /* Then ".sqlite", or "-2.sqlite" for the second within a second. */
  rest = stamp + STAMP_LENGTH;
  if (*rest == '-')
    for (rest++; g_ascii_isdigit (*rest); rest++)
      ;
  if (!g_str_equal (rest, SUFFIX))
    return NULL;

  return g_strdup_printf ("%.4s-%.2s-%.2sT%.2s:%.2s:%.2sZ", stamp, stamp + 4, stamp + 6, stamp + 9, stamp + 11, stamp + 13);
}

/* Newest first; within one second by the number after it. */
static int
compare_backups (gconstpointer a,
                 gconstpointer b)
{
  const EfBackup *left = *(const EfBackup *const *) a;
  const EfBackup *right = *(const EfBackup *const *) b;
  int order = strcmp (right->time, left->time);
  gsize left_length = strlen (left->path);
  gsize right_length = strlen (right->path);

  if (order == 0 && left_length != right_length)
    order = left_length < right_length ? 1 : -1;

  return order != 0 ? order : strcmp (right->path, left->path);
}

GPtrArray *
ef_backup_list (const char *folder,
                GError **error)
{
  g_autoptr (GPtrArray) backups = g_ptr_array_new_with_free_func ((GDestroyNotify) ef_backup_free);
  g_autoptr (GError) local = NULL;
  g_autoptr (GDir) dir = g_dir_open (folder, 0, &local);
  const char *name;

  if (dir == NULL && g_error_matches (local, G_FILE_ERROR, G_FILE_ERROR_NOENT))
    return g_steal_pointer (&backups);
  if (dir == NULL)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_IO, "%s: can't be listed: %s", folder, local->message);
      return NULL;
    }

  while ((name = g_dir_read_name (dir)) != NULL)
    {
      char *time = name_time (name);
      EfBackup *backup;
      GStatBuf info;

      if (time == NULL)
        continue;
      backup = g_new0 (EfBackup, 1);
      backup->path = g_build_filename (folder, name, NULL);
      backup->time = time;
      backup->size = g_stat (backup->path, &info) == 0 ? info.st_size : 0;
      g_ptr_array_add (backups, backup);
    }
  g_ptr_array_sort (backups, compare_backups);

  return g_steal_pointer (&backups);
}

/* Is @backup the newest of its day or month (the first @length characters of its time), and that one of the newest @most? */
static gboolean
is_newest_of (GHashTable *seen,
              const EfBackup *backup,
              gsize length,
              guint most)
{
  g_autofree char *period = g_strndup (backup->time, length);

  if (g_hash_table_size (seen) >= most || g_hash_table_contains (seen, period))
    return FALSE;

  return g_hash_table_add (seen, g_steal_pointer (&period));
}

gboolean
ef_backup_rotate (const char *folder,
                  const EfBackupPolicy *policy,
                  const char *spared,
                  GError **error)
{
  g_autoptr (GPtrArray) backups = ef_backup_list (folder, error);
  g_autoptr (GHashTable) days = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GHashTable) months = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  guint i;

  if (backups == NULL)
    return FALSE;
  if (policy == NULL)
    policy = &ef_backup_policy_default;

  for (i = 0; i < backups->len; i++)
    {
      const EfBackup *backup = backups->pdata[i];
      gboolean of_day = is_newest_of (days, backup, 10, policy->days);
      gboolean of_month = is_newest_of (months, backup, 7, policy->months);

      if (i < policy->recent || of_day || of_month || g_strcmp0 (backup->path, spared) == 0)
        continue;
      if (g_unlink (backup->path) != 0)
        return fail (backup->path, "deleted", errno, error);
    }

  return TRUE;
}
