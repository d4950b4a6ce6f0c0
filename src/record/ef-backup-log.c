/* What the automatic backups and the restores did, for who asks later.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-backup.h"

#include <errno.h>
#include <fcntl.h>
#include <glib/gstdio.h>
#include <string.h>
#include <unistd.h>

#define MOST_BYTES 200000

char *
ef_backup_log_path (void)
{
  return g_build_filename (g_get_user_state_dir (), "endfloat", "backups.log", NULL);
}

/* Lets the older half go, at the start of a line. */
static void
shorten (const char *path)
{
  g_autofree char *text = NULL;
  const char *half;
  gsize length;

  if (!g_file_get_contents (path, &text, &length, NULL) || length <= MOST_BYTES)
    return;
  half = strchr (text + length / 2, '\n');
  if (half != NULL)
    g_file_set_contents_full (path, half + 1, -1, G_FILE_SET_CONTENTS_CONSISTENT, 0600, NULL);
}

static int
append (const char *path,
        const char *line)
{
  g_autofree char *folder = g_path_get_dirname (path);
  gssize length = (gssize) strlen (line);
  int file;
  int code = 0;

  if (g_mkdir_with_parents (folder, 0700) != 0)
    return errno;
  file = g_open (path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
  if (file < 0)
    return errno;
  /* In one go, so that lines of two windows don't mix. */
  if (write (file, line, (gsize) length) != length)
    code = errno != 0 ? errno : EIO;
  close (file);

  return code;
}

void
ef_backup_log (const char *store_path,
               const char *what)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autofree char *path = ef_backup_log_path ();
  g_autofree char *line = g_strdup_printf ("%s %s: %s\n", time, store_path, what);
  int code;

  g_strdelimit (line, "\r\n", ' ');
  line[strlen (line) - 1] = '\n';
  shorten (path);
  code = append (path, line);
  /* There is no other place left to say it. */
  if (code != 0)
    g_printerr ("endfloat: %s: can't be written: %s: %s", path, g_strerror (code), line);
}
