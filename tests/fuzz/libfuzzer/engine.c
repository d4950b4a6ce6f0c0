/* What the fuzzing engine calls. FUZZ_TARGET: the function, by the build.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include "fuzz.h"

int LLVMFuzzerInitialize (int *argc, char ***argv);
int LLVMFuzzerTestOneInput (const uint8_t *data, size_t size);

/* What a library complains of is a fault too. By abort(), which the engine takes as one, not by the trap that GLib would use. */
static void
complain (const char *domain,
          GLogLevelFlags level,
          const char *message,
          gpointer unused)
{
  if ((level & (G_LOG_LEVEL_ERROR | G_LOG_LEVEL_CRITICAL | G_LOG_LEVEL_WARNING)) == 0)
    return;
  g_printerr ("%s: %s\n", domain != NULL ? domain : "?", message);
  abort ();
}

int
LLVMFuzzerInitialize (int *argc,
                      char ***argv)
{
  g_log_set_default_handler (complain, NULL);

  return 0;
}

int
LLVMFuzzerTestOneInput (const uint8_t *data,
                        size_t size)
{
  FUZZ_TARGET (data, size);

  return 0;
}
