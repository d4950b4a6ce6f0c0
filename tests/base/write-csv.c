/* Cells from stdin, ended by US (0x1f) or, the last of a line, RS (0x1e), as CSV on stdout.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "base/ef-csv.h"

#include <stdio.h>

int
main (void)
{
  g_autoptr (GString) cell = g_string_new (NULL);
  g_autoptr (GString) csv = g_string_new (NULL);
  int c;

  while ((c = getchar ()) != EOF)
    {
      if (c != 0x1e && c != 0x1f)
        {
          g_string_append_c (cell, (char) c);
          continue;
        }
      ef_csv_text (csv, cell->str);
      g_string_truncate (cell, 0);
      if (c == 0x1e)
        ef_csv_end (csv);
    }
  fputs (csv->str, stdout);

  return 0;
}
