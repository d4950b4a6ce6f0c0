/* Where the program's own data files are.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "config.h"

#include "ef-pump-sheet.h"

#include <stdarg.h>

char *
ef_data_path (const char *first,
              ...)
{
  const char *root = g_getenv ("ENDFLOAT_DATADIR");
  GPtrArray *parts = g_ptr_array_new ();
  const char *part;
  char *path;
  va_list args;

  g_ptr_array_add (parts, (gpointer) (root != NULL && *root != '\0' ? root : EF_PKGDATADIR));
  va_start (args, first);
  for (part = first; part != NULL; part = va_arg (args, const char *))
    g_ptr_array_add (parts, (gpointer) part);
  va_end (args);
  g_ptr_array_add (parts, NULL);
  path = g_build_filenamev ((char **) parts->pdata);
  g_ptr_array_free (parts, TRUE);

  return path;
}
