/* Starts a test program in user folders of its own, empty and gone when it ends. GLib's own isolation makes a set for every case and
 * never frees their names, which hides real leaks behind a suppression that needs deep and slow stacks.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <glib.h>
#include <glib/gstdio.h>

static char isolated_folder[] = "/tmp/endfloat-test-XXXXXX";

static int
isolate_remove (const char *path,
                const struct stat *status,
                int kind,
                struct FTW *place)
{
  return remove (path);
}

/* A folder with all in it. */
static inline void
isolated_remove (const char *folder)
{
  nftw (folder, isolate_remove, 16, FTW_DEPTH | FTW_PHYS);
}

static void
isolate_end (void)
{
  isolated_remove (isolated_folder);
}

static inline void
isolated_test_init (int *argc,
                    char ***argv)
{
  static const char *const folders[] = { "HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME", "XDG_RUNTIME_DIR" };

  if (mkdtemp (isolated_folder) == NULL)
    {
      g_printerr ("%s: expected to make a folder for the test, found no way\n", isolated_folder);
      exit (99);
    }
  for (guint i = 0; i < G_N_ELEMENTS (folders); i++)
    {
      g_autofree char *folder = g_build_filename (isolated_folder, folders[i], NULL);

      g_mkdir (folder, 0700);
      g_setenv (folders[i], folder, TRUE);
    }
  atexit (isolate_end);
  g_test_init (argc, argv, NULL);
}
