/* Zip files: members are handed on whole and by plain names, or the file is refused. What begins with a byte 1 is a list of changes to one that this program made.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "record/ef-zip.h"

#include <string.h>
#include <unistd.h>

#define CHANGED 1

static GBytes *
made_zip (void)
{
  static GBytes *made;

  if (made == NULL)
    {
      g_autofree char *folder = g_dir_make_tmp ("endfloat-fuzz-XXXXXX", NULL);
      g_autofree char *path = g_build_filename (folder, "made.zip", NULL);
      g_autoptr (GError) error = NULL;
      g_autoptr (EfZipWriter) writer = ef_zip_writer_new (path, 1772352000, &error);
      g_autoptr (GBytes) one = g_bytes_new_static ("{\"a\": 1}", 8);
      g_autoptr (GBytes) two = g_bytes_new_static ("wear wear wear wear wear wear wear", 34);
      char *bytes;
      gsize length;

      g_assert_no_error (error);
      g_assert_true (ef_zip_writer_add (writer, "job.json", one, &error));
      g_assert_true (ef_zip_writer_add (writer, "photos/a.txt", two, &error));
      g_assert_true (ef_zip_writer_close (writer, &error));
      g_assert_true (g_file_get_contents (path, &bytes, &length, &error));
      made = g_bytes_new_take (bytes, length);
      unlink (path);
      rmdir (folder);
    }

  return made;
}

static gboolean
visit (const char *name,
       GBytes *bytes,
       gpointer unused,
       GError **error)
{
  if (!ef_zip_name_is_plain (name) || bytes == NULL)
    g_error ("handed on: \"%s\"", name);

  return TRUE;
}

static void
try_zip (const guint8 *data,
         gsize size)
{
  g_autofree char *name = NULL;
  int fd = fuzz_file_open (data, size, &name);
  g_autoptr (GError) error = NULL;
  gboolean ok = ef_zip_read (name, visit, NULL, NULL, &error);

  fuzz_file_close (fd);
  fuzz_check_answer (ok, error);
}

/* Three bytes a change: the place, and what is put there. */
void
fuzz_zip (const guint8 *data,
          gsize size)
{
  g_autofree guint8 *bytes = NULL;
  gsize length;
  const guint8 *made;

  if (size == 0 || data[0] != CHANGED)
    {
      try_zip (data, size);
      return;
    }
  made = g_bytes_get_data (made_zip (), &length);
  bytes = g_memdup2 (made, length);
  for (gsize i = 1; i + 3 <= size; i += 3)
    bytes[((gsize) data[i] << 8 | data[i + 1]) % length] = data[i + 2];
  try_zip (bytes, length);
}
