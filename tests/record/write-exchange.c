/* Writes exchange files for the schema test: write-exchange FOLDER COUNT. Their names tell nothing; the seed is fixed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../inspection/random-inspection.h"

#include "record/ef-exchange.h"

#include <stdlib.h>

int
main (int argc,
      char **argv)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (41);
  int count, i;

  g_assert_cmpint (argc, ==, 3);
  count = atoi (argv[2]);
  for (i = 0; i < count; i++)
    {
      g_autoptr (EfInspection) inspection = random_inspection (rand, 30);
      g_autofree char *name = g_strdup_printf ("%d.json", i);
      g_autofree char *path = g_build_filename (argv[1], name, NULL);
      g_autoptr (GError) error = NULL;

      ef_exchange_save (inspection, path, &error);
      g_assert_no_error (error);
    }

  return 0;
}
