/* Stores with bytes changed: opened, listed, read and verified. A store is some hundred kilobytes, so what is fed is a list of changes to one that is made first.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "../../record/sealed-store.h"
#include "record/ef-store-shelf.h"
#include "record/ef-store.h"

#include <glib/gstdio.h>
#include <string.h>
#include <unistd.h>

#define HEADER 100 /* of a SQLite file */

/* Two jobs, the first of them sealed. */
static void
make_small_store (const char *path,
                  GRand *rand)
{
  g_autoptr (GError) error = NULL;
  EfStore *store = ef_store_open (path, &error);
  g_autoptr (EfSealKey) key = store != NULL ? ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error) : NULL;
  gint64 job;

  g_assert_no_error (error);
  job = add_random_job (store, rand, 3);
  add_random_job (store, rand, 3);
  seal_small (store, job, "clerk", "looked through", key);
  ef_store_close (store);
}

/* The store that all changes are made to. */
static const char *
base_bytes (gsize *size_out)
{
  static char *bytes;
  static gsize size;

  if (bytes == NULL)
    {
      g_autofree char *folder = g_dir_make_tmp ("endfloat-fuzz-XXXXXX", NULL);
      g_autofree char *path = g_build_filename (folder, "base.endfloat", NULL);
      GRand *rand = g_rand_new_with_seed (20260301);

      make_small_store (path, rand);
      g_assert_true (g_file_get_contents (path, &bytes, &size, NULL));
      remove_store (path);
      g_rmdir (folder);
      g_rand_free (rand);
    }
  *size_out = size;

  return bytes;
}

/* Four bytes a change: where, as a share of the file or (with the top bit) a place in its header, and by what. */
static void
change (char *bytes,
        gsize size,
        const guint8 *changes,
        gsize n)
{
  for (gsize i = 0; i + 4 <= n; i += 4)
    {
      gsize place = ((gsize) changes[i] << 16 | (gsize) changes[i + 1] << 8 | changes[i + 2]);

      place = place & 0x800000 ? (place & 0x7fffff) % HEADER : (place & 0x7fffff) % size;
      bytes[place] = (char) (bytes[place] ^ changes[i + 3]);
    }
}

static void
read_all (EfStore *store)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) jobs = ef_store_jobs (store, NULL, &error);
  g_autoptr (GError) shelf_error = NULL;
  g_autoptr (GPtrArray) shelf = ef_store_shelf (store, NULL, &shelf_error);

  fuzz_check_answer (jobs != NULL, error);
  fuzz_check_answer (shelf != NULL, shelf_error);
  for (guint i = 0; jobs != NULL && i < jobs->len; i++)
    {
      g_autoptr (GError) problem = NULL;
      g_autoptr (EfInspection) inspection = ef_store_load (store, ((const EfJobRow *) jobs->pdata[i])->id, &problem);

      fuzz_check_answer (inspection != NULL, problem);
    }
}

static void
try_store (const char *path)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GError) doubt = NULL;
  g_autoptr (EfVerification) verification = ef_verify_store (path, NULL, NULL, NULL, NULL, &doubt);
  EfStore *store;

  fuzz_check_answer (verification != NULL, doubt);
  store = ef_store_open (path, &error);
  fuzz_check_answer (store != NULL, error);
  if (store == NULL)
    return;
  read_all (store);
  ef_store_close (store);
}

void
fuzz_store (const guint8 *data,
            gsize size)
{
  static char *folder;
  g_autofree char *path = NULL;
  g_autofree char *bytes = NULL;
  gsize length;
  const char *base;

  if (folder == NULL)
    {
      folder = g_strdup_printf ("%s/endfloat-fuzz-%d", g_file_test ("/dev/shm", G_FILE_TEST_IS_DIR) ? "/dev/shm" : g_get_tmp_dir (), (int) getpid ());
      g_mkdir_with_parents (folder, 0700);
    }
  path = g_build_filename (folder, "changed.endfloat", NULL);
  if (size >= 16 && memcmp (data, "SQLite format 3", 16) == 0)
    g_assert_true (g_file_set_contents (path, (const char *) data, (gssize) size, NULL));
  else
    {
      base = base_bytes (&length);
      bytes = g_memdup2 (base, length);
      change (bytes, length, data, size);
      g_assert_true (g_file_set_contents (path, bytes, (gssize) length, NULL));
    }
  try_store (path);
  remove_store (path);
  g_rmdir (folder);
  g_clear_pointer (&folder, g_free);
}
