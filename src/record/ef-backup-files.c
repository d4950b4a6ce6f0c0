/* Backups as files: their names, which to keep, and moving files so that a crash leaves the one or the other whole.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-backup-private.h"

#include <errno.h>
#include <fcntl.h>
#include <glib/gstdio.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

#define PREFIX "jobs-"
#define SUFFIX ".sqlite"
#define STAMP_LENGTH 16 /* 20260309T140500Z */

const EfBackupPolicy ef_backup_policy_default = { 10, 14, 8, 12, (goffset) EF_BACKUP_MOST_GB * 1000000000 };

void
ef_backup_free (EfBackup *backup)
{
  if (backup == NULL)
    return;

  g_free (backup->path);
  g_free (backup->time);
  g_free (backup);
}

/* "jobs" of "/srv/shop/jobs.sqlite". */
static char *
store_name (const char *store_path)
{
  char *name = g_path_get_basename (store_path);
  char *dot = strrchr (name, '.');

  if (dot != NULL && dot != name)
    *dot = '\0';

  return name;
}

char *
ef_backup_default_folder (const char *store_path)
{
  g_autofree char *beside = g_path_get_dirname (store_path);
  g_autofree char *name = store_name (store_path);
  g_autofree char *own = g_strconcat (name, ".backups", NULL);

  return g_build_filename (beside, own, NULL);
}

/* Two stores of one name in different folders don't share their backups. */
char *
ef_backup_folder (const char *store_path,
                  const char *common)
{
  g_autofree char *full = NULL;
  g_autofree char *name = NULL;
  g_autofree char *digest = NULL;
  g_autofree char *own = NULL;

  if (common == NULL || *common == '\0')
    return ef_backup_default_folder (store_path);
  full = g_canonicalize_filename (store_path, NULL);
  name = store_name (full);
  digest = g_compute_checksum_for_string (G_CHECKSUM_SHA256, full, -1);
  own = g_strdup_printf ("%s-%.8s.backups", name, digest);

  return g_build_filename (common, own, NULL);
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

/* Only the one window that holds the folder makes or deletes there. Returns the lock, to be closed; -1 with an error where another has it;
 * -2 where the folder's file system knows no locks. */
int
ef_backup_hold_folder (const char *folder,
                       GError **error)
{
  int lock = g_open (folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0);
  gboolean held;

  if (lock < 0)
    {
      fail (folder, "opened", errno, error);
      return -1;
    }
  if (flock (lock, LOCK_EX | LOCK_NB) == 0)
    return lock;
  held = errno == EWOULDBLOCK;
  close (lock);
  if (held)
    g_set_error (error, EF_ERROR, EF_ERROR_BUSY, "%s: another window is making a backup there; try again in a moment", folder);

  return held ? -1 : -2;
}

/* A copy that was cut off, or what the database keeps beside one while it's written. */
static gboolean
is_cut_off (const char *name)
{
  static const char *const ends[] = { "", "-journal", "-wal", "-shm" };
  guint i;

  for (i = 0; i < G_N_ELEMENTS (ends); i++)
    {
      g_autofree char *end = g_strconcat (SUFFIX EF_BACKUP_PARTIAL, ends[i], NULL);

      if (g_str_has_suffix (name, end))
        return g_str_has_prefix (name, PREFIX);
    }

  return FALSE;
}

/* What is left of backups that were cut off. Only by who holds the folder. */
void
ef_backup_sweep (const char *folder)
{
  g_autoptr (GDir) dir = g_dir_open (folder, 0, NULL);
  const char *name;

  while (dir != NULL && (name = g_dir_read_name (dir)) != NULL)
    {
      g_autofree char *path = g_build_filename (folder, name, NULL);

      if (is_cut_off (name))
        g_unlink (path);
    }
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

/* Is @backup the newest of its day, week or month, and that one of the newest @most? Takes the period's name. */
static gboolean
is_newest_of (GHashTable *seen,
              char *period,
              guint most)
{
  if (g_hash_table_size (seen) < most && !g_hash_table_contains (seen, period))
    return g_hash_table_add (seen, period);
  g_free (period);

  return FALSE;
}

static char *
week_of (const EfBackup *backup)
{
  g_autoptr (GDateTime) time = g_date_time_new_from_iso8601 (backup->time, NULL);

  /* No such day: by itself, so that it's kept rather than let go. */
  return time != NULL ? g_date_time_format (time, "%G-W%V") : g_strdup (backup->time);
}

gboolean
ef_backup_from_future (const EfBackup *backup)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autoptr (GDateTime) time = g_date_time_new_from_iso8601 (backup->time, NULL);

  return time != NULL && g_date_time_compare (time, now) > 0;
}

static gboolean
let_go (const EfBackup *backup,
        GError **error)
{
  return g_unlink (backup->path) == 0 || fail (backup->path, "deleted", errno, error);
}

/* Of @kept, newest first; NULL where none is sound. @spared is known to be. */
static const EfBackup *
newest_sound (const GPtrArray *kept,
              const char *spared)
{
  for (guint i = 0; i < kept->len; i++)
    {
      const EfBackup *backup = kept->pdata[i];

      if (g_strcmp0 (backup->path, spared) == 0 || (!ef_backup_from_future (backup) && ef_backup_check (backup->path, NULL, NULL)))
        return backup;
    }

  return NULL;
}

/* The oldest go until the rest has no more than @most bytes. */
static gboolean
keep_within (const GPtrArray *kept,
             goffset most,
             const char *spared,
             GError **error)
{
  const EfBackup *sound = NULL;
  goffset size = 0;

  for (guint i = 0; i < kept->len; i++)
    size += ((const EfBackup *) kept->pdata[i])->size;
  if (most <= 0 || size <= most)
    return TRUE;
  sound = newest_sound (kept, spared);
  for (guint i = kept->len; size > most && i-- > 0;)
    {
      const EfBackup *backup = kept->pdata[i];

      if (backup == sound || ef_backup_from_future (backup) || g_strcmp0 (backup->path, spared) == 0)
        continue;
      if (!let_go (backup, error))
        return FALSE;
      size -= backup->size;
    }

  return TRUE;
}

gboolean
ef_backup_rotate (const char *folder,
                  const EfBackupPolicy *policy,
                  const char *spared,
                  GError **error)
{
  g_autoptr (GPtrArray) backups = ef_backup_list (folder, error);
  g_autoptr (GHashTable) days = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GHashTable) weeks = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GHashTable) months = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GPtrArray) kept = g_ptr_array_new ();
  guint n_recent = 0;
  guint i;

  if (backups == NULL)
    return FALSE;
  if (policy == NULL)
    policy = &ef_backup_policy_default;

  for (i = 0; i < backups->len; i++)
    {
      const EfBackup *backup = backups->pdata[i];
      gboolean recent, of_day, of_week, of_month;

      if (ef_backup_from_future (backup))
        {
          g_ptr_array_add (kept, (gpointer) backup);
          continue;
        }
      recent = n_recent++ < policy->recent;
      of_day = is_newest_of (days, g_strndup (backup->time, 10), policy->days);
      of_week = is_newest_of (weeks, week_of (backup), policy->weeks);
      of_month = is_newest_of (months, g_strndup (backup->time, 7), policy->months);
      if (recent || of_day || of_week || of_month || g_strcmp0 (backup->path, spared) == 0)
        g_ptr_array_add (kept, (gpointer) backup);
      else if (!let_go (backup, error))
        return FALSE;
    }

  return keep_within (kept, policy->most, spared, error);
}
