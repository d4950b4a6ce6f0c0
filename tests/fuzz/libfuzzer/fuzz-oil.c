/* Oil grades: each that is read has a viscosity at working temperature.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "oil/ef-oil.h"

void
fuzz_oil (const guint8 *data,
          gsize size)
{
  g_autofree char *name = NULL;
  int fd = fuzz_file_open (data, size, &name);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfOilGrades) grades = ef_oil_grades_load (name, &error);

  fuzz_file_close (fd);
  fuzz_check_answer (grades != NULL, error);
}
