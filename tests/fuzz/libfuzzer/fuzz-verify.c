/* Seals in exchange files: verified without trust in a single byte. What begins with a byte 1 is a list of changes to a file that was sealed rightly: bytes changed
 * by chance would hardly ever come as far as the signature.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

#include "../../record/sealed-store.h"
#include "record/ef-verify.h"

#include <glib/gstdio.h>

#define CHANGED 1

static const char *
sealed_text (gsize *size_out)
{
  static char *text;
  static gsize size;

  if (text == NULL)
    {
      g_autofree char *folder = g_dir_make_tmp ("endfloat-fuzz-XXXXXX", NULL);
      g_autofree char *store_path = g_build_filename (folder, "store.endfloat", NULL);
      g_autofree char *path = g_build_filename (folder, "sealed.json", NULL);
      GRand *rand = g_rand_new_with_seed (20260302);
      g_autoptr (GError) error = NULL;
      EfStore *store = ef_store_open (store_path, &error);
      g_autoptr (EfSealKey) key = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
      gint64 job = add_random_job (store, rand, 8);

      seal_small (store, job, "clerk", "looked through", key);
      ef_seal_export_file (store, job, path, &error);
      g_assert_no_error (error);
      ef_store_close (store);
      g_assert_true (g_file_get_contents (path, &text, &size, NULL));
      remove_store (store_path);
      g_remove (path);
      g_rmdir (folder);
      g_rand_free (rand);
    }
  *size_out = size;

  return text;
}

/* Four bytes a change: the place, as a number below the length, and what is put there. */
static char *
changed_text (const guint8 *changes,
              gsize n,
              gsize *size_out)
{
  const char *sealed = sealed_text (size_out);
  char *text = g_memdup2 (sealed, *size_out);

  for (gsize i = 0; i + 4 <= n; i += 4)
    text[((gsize) changes[i] << 16 | (gsize) changes[i + 1] << 8 | changes[i + 2]) % *size_out] = (char) changes[i + 3];

  return text;
}

static void
verify (const char *text,
        gsize size)
{
  const EfVerifyOptions options = { .key = "0000000000000000000000000000000000000000000000000000000000000000", .number = 1 };
  g_autoptr (GError) error = NULL;
  g_autoptr (EfVerification) verification = ef_verify_text (text, size, FUZZ_FILE, &options, &error);
  g_autofree char *words = NULL;

  fuzz_check_answer (verification != NULL, error);
  if (verification == NULL)
    return;
  words = ef_verification_to_text (verification);
  g_assert_true (g_utf8_validate (words, -1, NULL));
}

void
fuzz_verify (const guint8 *data,
             gsize size)
{
  g_autofree char *text = NULL;
  gsize length = 0;

  if (size == 0 || data[0] != CHANGED)
    {
      verify ((const char *) data, size);
      return;
    }
  text = changed_text (data + 1, size - 1, &length);
  verify (text, length);
}
