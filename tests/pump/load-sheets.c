/* For check-schema.py: loads each file named and prints a line for it, "ok" or the loader's message.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/ef-judge.h"

#include <stdio.h>

int
main (int argc,
      char **argv)
{
  for (int i = 1; i < argc; i++)
    {
      g_autoptr (GError) error = NULL;
      g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (argv[i], &error);

      puts (sheet != NULL && ef_rule_set_check_sheet (sheet, &error) ? "ok" : error->message);
    }

  return 0;
}
