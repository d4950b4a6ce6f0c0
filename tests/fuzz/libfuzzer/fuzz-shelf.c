/* Files of shelf parts: what is read is written and read again.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "shelf/ef-shelf-part.h"

#include <string.h>

void
fuzz_shelf (const guint8 *data,
            gsize size)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) parts = ef_shelf_parse ((const char *) data, (gssize) size, FUZZ_FILE, &error);
  g_autoptr (GPtrArray) again = NULL;
  g_autofree char *text = NULL;
  g_autofree char *twice = NULL;

  fuzz_check_answer (parts != NULL, error);
  if (parts == NULL)
    return;
  text = ef_shelf_write (parts);
  again = ef_shelf_parse (text, -1, FUZZ_FILE, &error);
  fuzz_check_answer (again != NULL, error);
  if (again == NULL)
    g_error ("what was written can't be read: %s", error->message);
  twice = ef_shelf_write (again);
  if (!g_str_equal (text, twice))
    g_error ("what was written reads as something else");
}
