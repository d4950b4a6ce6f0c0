/* Bytes as a file, for readers that take a name.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <sys/mman.h>
#include <unistd.h>

#include "fuzz.h"

int
fuzz_file_open (const guint8 *data,
                gsize size,
                char **name_out)
{
  int fd = memfd_create ("fuzz", MFD_CLOEXEC);

  g_assert_cmpint (fd, >=, 0);
  for (gsize done = 0; done < size;)
    {
      gssize n = write (fd, data + done, size - done);

      g_assert_cmpint (n, >, 0);
      done += (gsize) n;
    }
  *name_out = g_strdup_printf ("/proc/self/fd/%d", fd);

  return fd;
}

void
fuzz_file_close (int fd)
{
  close (fd);
}
