/* Tables of lapping rates.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "rework/ef-lap-rate.h"

void
fuzz_lapping (const guint8 *data,
              gsize size)
{
  g_autofree char *name = NULL;
  int fd = fuzz_file_open (data, size, &name);
  g_autoptr (GError) error = NULL;
  EfLapTable *table = ef_lap_table_load (name, &error);

  fuzz_file_close (fd);
  fuzz_check_answer (table != NULL, error);
  g_clear_pointer (&table, ef_lap_table_unref);
}
