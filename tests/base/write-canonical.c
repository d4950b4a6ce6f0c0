/* For test-json-canonical.py: bits of doubles on standard input, one a line, their canonical text on standard output.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/ef-json-canonical.h"

#include <stdio.h>
#include <string.h>

int
main (void)
{
  char line[64];

  while (fgets (line, sizeof line, stdin) != NULL)
    {
      guint64 bits = g_ascii_strtoull (line, NULL, 16);
      g_autofree char *text = NULL;
      double value;

      memcpy (&value, &bits, sizeof value);
      text = ef_json_canonical_number (value);
      puts (text);
    }

  return 0;
}
