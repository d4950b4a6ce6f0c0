/* Writes exchange files for the schema test: write-exchange FOLDER COUNT, and one that is sealed as sealed.json. Their names tell nothing; the seed is fixed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../inspection/random-inspection.h"

#include "sealed-store.h"

#include "record/ef-exchange.h"

#include <stdlib.h>

static void
write_sealed (GRand *rand,
              const char *folder)
{
  g_autofree char *store_path = g_build_filename (folder, "store.sqlite", NULL);
  g_autofree char *path = g_build_filename (folder, "sealed.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (store_path, &error);
  g_autoptr (EfSealKey) first = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  g_autoptr (EfSealKey) key = ef_seal_key_change (store, first, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", "a new year", &error);
  gint64 job = add_random_job (store, rand, 30);

  seal_small (store, job, "clerk", "looked through", key);
  ef_seal_export_file (store, job, path, &error);
  g_assert_no_error (error);
  g_clear_pointer (&store, ef_store_close);
  remove_store (store_path);
}

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
  write_sealed (rand, argv[1]);

  return 0;
}
