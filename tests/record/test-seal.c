/* Keys, seals, and what they're made of: published vectors first.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "argon2-reference.h"
#include "sealed-store.h"
#include "../inspection/random-inspection.h"

#include "base/ef-json-canonical.h"
#include "record/ef-backup.h"
#include "record/ef-exchange.h"
#include "record/ef-store-private.h"
#include "record/ef-store-standing.h"

#include <glib/gstdio.h>
#include <sodium.h>
#include <string.h>
#include <sys/stat.h>
#include "../isolate.h"

static char *
place (const char *name)
{
  return g_build_filename (g_get_user_data_dir (), name, NULL);
}

/* RFC 8032, 7.1, tests 1 to 3: from memory, compared with public copies. Messages without a NUL byte, since statements are text. */
static const struct
{
  const char *secret, *public_key, *message, *signature;
} vectors[] = {
  { "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60", "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
    "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b" },
  { "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb", "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "\x72",
    "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00" },
  { "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7", "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "\xaf\x82",
    "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a" },
};

static void
test_ed25519 (void)
{
  for (guint i = 0; i < G_N_ELEMENTS (vectors); i++)
    {
      guchar seed[32], public_key[32], secret[64], signature[64];
      char text[129];
      g_autofree char *other = g_strconcat (vectors[i].message, "x", NULL);
      g_autofree char *flipped = g_strdup (vectors[i].signature);

      sodium_hex2bin (seed, sizeof seed, vectors[i].secret, 64, NULL, NULL, NULL);
      crypto_sign_seed_keypair (public_key, secret, seed);
      sodium_bin2hex (text, 65, public_key, 32);
      g_assert_cmpstr (text, ==, vectors[i].public_key);
      crypto_sign_detached (signature, NULL, (const guchar *) vectors[i].message, strlen (vectors[i].message), secret);
      sodium_bin2hex (text, sizeof text, signature, 64);
      g_assert_cmpstr (text, ==, vectors[i].signature);

      g_assert_true (ef_seal_signature_holds (vectors[i].public_key, vectors[i].message, vectors[i].signature));
      g_assert_false (ef_seal_signature_holds (vectors[i].public_key, other, vectors[i].signature));
      g_assert_false (ef_seal_signature_holds (vectors[(i + 1) % 3].public_key, vectors[i].message, vectors[i].signature));
      flipped[10] = flipped[10] == '0' ? '1' : '0';
      g_assert_false (ef_seal_signature_holds (vectors[i].public_key, vectors[i].message, flipped));
      flipped[10] = '\0';
      g_assert_false (ef_seal_signature_holds (vectors[i].public_key, vectors[i].message, flipped));
      g_assert_false (ef_seal_signature_holds (NULL, vectors[i].message, NULL));
    }
}

/* The library gives neither secret, associated data nor several lanes, which the vector of RFC 9106 has: a reference written from the RFC is held
 * against the vector (5.3, from memory, compared with public copies), and the library against the reference. */
static void
test_argon2 (void)
{
  guint8 password[32], salt[16], secret[8], associated[12], tag[32], own[32];
  char text[65];
  static const struct
  {
    const char *password;
    guint32 memory, passes;
  } cases[] = { { "brass and oil", 8, 1 }, { "", 64, 3 }, { "schlüssel", 1024, 2 }, { "0123456789012345678901234567890123456789", 200, 4 } };

  memset (password, 1, sizeof password);
  memset (salt, 2, sizeof salt);
  memset (secret, 3, sizeof secret);
  memset (associated, 4, sizeof associated);
  argon2id_reference ((Argon2Text) { password, 32 }, (Argon2Text) { salt, 16 }, (Argon2Text) { secret, 8 }, (Argon2Text) { associated, 12 }, 4, 32, 3,
                      tag, sizeof tag);
  sodium_bin2hex (text, sizeof text, tag, sizeof tag);
  g_assert_cmpstr (text, ==, "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659");

  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      gsize length = strlen (cases[i].password);

      argon2id_reference ((Argon2Text) { (const guint8 *) cases[i].password, (guint32) length }, (Argon2Text) { salt, 16 }, (Argon2Text) { NULL, 0 },
                          (Argon2Text) { NULL, 0 }, 1, cases[i].memory, cases[i].passes, tag, sizeof tag);
      g_assert_cmpint (crypto_pwhash (own, sizeof own, cases[i].password, length, salt, cases[i].passes, (gsize) cases[i].memory * 1024,
                                      crypto_pwhash_ALG_ARGON2ID13), ==, 0);
      g_assert_cmpmem (own, sizeof own, tag, sizeof tag);
    }
}

static void
test_key (void)
{
  g_autofree char *path = place ("key.sqlite");
  g_autofree char *file = place ("key.json");
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfSealKey) key = NULL;
  g_autoptr (EfSealKey) again = NULL;
  g_autoptr (EfSealKey) restored = NULL;
  g_autofree char *none = ef_seal_key_current (store, &error);
  g_autofree char *current = NULL;
  g_autofree char *box = NULL;
  struct stat info;

  g_assert_no_error (error);
  g_assert_null (none);
  g_assert_null (ef_seal_key_unlock (store, SEALED_PASSPHRASE, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_NOT_FOUND);
  g_clear_error (&error);
  g_assert_null (ef_seal_key_make (store, "short", &ef_seal_strength_least, "owner", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);

  key = ef_seal_key_make (store, SEALED_PASSPHRASE, NULL, "owner", &error); /* with the work that is usual */
  g_assert_no_error (error);
  current = ef_seal_key_current (store, NULL);
  g_assert_cmpstr (current, ==, ef_seal_key_public (key));
  g_assert_null (ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_null (ef_seal_key_unlock (store, "brass and oik", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_assert_nonnull (strstr (error->message, "passphrase"));
  g_clear_error (&error);
  again = ef_seal_key_unlock (store, SEALED_PASSPHRASE, &error);
  g_assert_no_error (error);
  g_assert_cmpstr (ef_seal_key_public (again), ==, ef_seal_key_public (key));

  /* Another passphrase, the same key. */
  g_assert_true (ef_seal_key_set_passphrase (store, key, "another one", &ef_seal_strength_least, &error));
  g_assert_null (ef_seal_key_unlock (store, SEALED_PASSPHRASE, NULL));
  g_clear_pointer (&again, ef_seal_key_free);
  again = ef_seal_key_unlock (store, "another one", &error);
  g_assert_no_error (error);

  /* Out, lost, and back. */
  g_assert_true (ef_seal_key_export (store, file, &error));
  g_assert_cmpint (g_stat (file, &info), ==, 0);
  g_assert_cmpint (info.st_mode & 0777, ==, 0600);
  g_assert_true (ef_sql_exec (&store->sql, "UPDATE seal_key SET box = 'x'", &error));
  g_assert_null (ef_seal_key_unlock (store, "another one", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  g_clear_error (&error);
  g_assert_true (ef_sql_exec (&store->sql, "DELETE FROM seal_key", &error));
  g_assert_null (ef_seal_key_unlock (store, "another one", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CORRUPT);
  g_clear_error (&error);
  g_assert_null (ef_seal_key_restore (store, file, "wrong one", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  restored = ef_seal_key_restore (store, file, "another one", &error);
  g_assert_no_error (error);
  g_clear_pointer (&again, ef_seal_key_free);
  again = ef_seal_key_unlock (store, "another one", &error);
  g_assert_no_error (error);
  box = ef_seal_key_sign (again, "text");
  g_assert_true (ef_seal_signature_holds (current, "text", box));
}

/* A key that another has signed vouches for it, both ways; one that came after a loss doesn't. */
static void
test_key_change (void)
{
  g_autofree char *path = place ("change.sqlite");
  g_autoptr (GError) error = NULL;
  g_autoptr (GRand) rand = g_rand_new_with_seed (63);
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfSealKey) first = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  g_autoptr (EfSealKey) second = NULL;
  g_autoptr (EfSealKey) third = NULL;
  gint64 jobs[3];
  const EfSealKey *keys[3];

  for (guint i = 0; i < 3; i++)
    jobs[i] = add_random_job (store, rand, 4);
  seal_small (store, jobs[0], "clerk", NULL, first);
  g_assert_null (ef_seal_key_change (store, first, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", "", &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  second = ef_seal_key_change (store, first, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", "New owner", &error);
  g_assert_no_error (error);
  {
    const EfSealInput input = { .role = "clerk" };

    g_assert_cmpint (ef_seal_job (store, jobs[1], &input, first, &error), ==, 0);
    g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
    g_clear_error (&error);
    g_assert_null (ef_seal_key_change (store, first, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", "not the one in use", &error));
    g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
    g_clear_error (&error);
  }
  seal_small (store, jobs[1], "clerk", NULL, second);
  keys[0] = first;
  keys[1] = second;
  for (guint i = 0; i < 2; i++)
    {
      const EfVerifyOptions options = { .key = ef_seal_key_public (keys[i]) };
      g_autoptr (EfVerification) verification = ef_verify_store (path, &options, NULL, NULL, NULL, &error);

      assert_holds (verification);
      g_assert_true (verification->anchored);
      g_assert_cmpuint (verification->n_breaks, ==, 0);
      g_assert_cmpuint (verification->keys->len, ==, 2);
      g_assert_cmpuint (count_findings (verification), ==, 0);
    }

  third = ef_seal_key_change (store, NULL, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", "The passphrase is lost", &error);
  g_assert_no_error (error);
  seal_small (store, jobs[2], "clerk", NULL, third);
  keys[2] = third;
  for (guint i = 0; i < 3; i++)
    {
      const EfVerifyOptions options = { .key = ef_seal_key_public (keys[i]) };
      g_autoptr (EfVerification) verification = ef_verify_store (path, &options, NULL, NULL, NULL, &error);
      g_autoptr (EfVerification) without = verify_store (path);
      guint n_strange = 0;

      g_assert_cmpuint (verification->n_breaks, ==, 1);
      g_assert_false (verification->holds);
      for (guint k = 0; k < verification->findings->len; k++)
        n_strange += ((EfVerifyFinding *) verification->findings->pdata[k])->level == EF_VERIFY_BROKEN;
      g_assert_cmpuint (n_strange, ==, i == 2 ? 2 : 1); /* the seals on the other side of the break */
      assert_holds (without);
      g_assert_cmpuint (without->n_breaks, ==, 1);
    }
  {
    const EfVerifyOptions options = { .key = vectors[0].public_key };
    g_autoptr (EfVerification) verification = ef_verify_store (path, &options, NULL, NULL, NULL, &error);

    g_assert_false (verification->holds);
    g_assert_false (verification->anchored);
  }
}

static void
test_sealing (void)
{
  g_autofree char *path = place ("sealing.sqlite");
  g_autoptr (GError) error = NULL;
  g_autoptr (GRand) rand = g_rand_new_with_seed (64);
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfSealKey) key = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  gint64 job = add_random_job (store, rand, 6);
  g_autoptr (EfInspection) seen = ef_store_load (store, job, &error);
  g_autoptr (JsonNode) results = small_results ("scrap");
  EfDocument *document = ef_store_open_document (store, job, &error);
  EfSealInput input = { .role = "clerk", .note = "as found", .inspection = seen, .results = results };
  g_autoptr (GPtrArray) seals = NULL;
  g_autoptr (GPtrArray) rows = NULL;
  g_autoptr (GPtrArray) listed = NULL;
  EfSeal *seal;

  /* Not what was looked at any more. */
  while (!ef_document_apply (document, random_change (rand, document), NULL)
         || ef_inspection_equal (seen, ef_document_inspection (document)))
    ;
  g_assert_cmpint (ef_seal_job (store, job, &input, key, &error), ==, 0);
  g_assert_error (error, EF_ERROR, EF_ERROR_BUSY);
  g_clear_error (&error);
  input.inspection = ef_document_inspection (document);
  input.role = "";
  g_assert_cmpint (ef_seal_job (store, job, &input, key, &error), ==, 0);
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  input.role = "clerk";
  g_assert_true (ef_store_withdraw (store, job, "clerk", "not now", NULL));
  g_assert_cmpint (ef_seal_job (store, job, &input, key, &error), ==, 0);
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_true (ef_store_reinstate (store, job, "clerk", "now", NULL));

  g_assert_cmpint (ef_seal_job (store, job, &input, key, &error), ==, 2); /* 1 is the key */
  g_assert_no_error (error);
  g_assert_false (ef_document_apply (document, random_change (rand, document), &error));
  g_clear_error (&error);
  g_assert_cmpint (ef_seal_job (store, job, &input, key, &error), ==, 0);
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  listed = ef_store_jobs (store, NULL, NULL);
  g_assert_cmpstr (((EfJobRow *) listed->pdata[0])->verdict, ==, "scrap");
  g_assert_cmpint (((EfJobRow *) listed->pdata[0])->sealed, ==, 2);

  /* Withdrawn and back: the seal still holds. */
  g_assert_true (ef_store_withdraw (store, job, "clerk", "entered twice", NULL));
  {
    g_autoptr (EfVerification) verification = verify_store (path);

    assert_holds (verification);
  }
  g_assert_true (ef_store_reinstate (store, job, "clerk", "no it wasn't", NULL));

  g_assert_true (ef_store_open_revision (store, job, "owner", "bore measured again", NULL));
  while (!ef_document_apply (document, random_change (rand, document), NULL))
    ;
  input.inspection = ef_document_inspection (document);
  g_assert_cmpint (ef_seal_job (store, job, &input, key, &error), ==, 3);
  seals = ef_seals_of_job (store, job, &error);
  g_assert_cmpuint (seals->len, ==, 2);
  seal = seals->pdata[1];
  g_assert_cmpuint (seal->revision, ==, 2);
  g_assert_cmpstr (seal->role, ==, "clerk");
  g_assert_cmpstr (seal->note, ==, "as found");
  g_assert_cmpuint (strlen (seal->digest), ==, 64);
  rows = ef_store_history (store, job, NULL);
  g_assert_cmpint (seal->history, ==, rows->len);
  g_assert_cmpstr (((EfHistoryRow *) rows->pdata[rows->len - 1])->action, ==, "seal");
  {
    const EfVerifyOptions known = { .key = ef_seal_key_public (key), .number = 3, .digest = seal->digest };
    const EfVerifyOptions later = { .number = 4, .digest = seal->digest };
    const EfVerifyOptions other = { .number = 2, .digest = seal->digest };
    g_autoptr (EfVerification) right = ef_verify_store (path, &known, NULL, NULL, NULL, &error);
    g_autoptr (EfVerification) cut = ef_verify_store (path, &later, NULL, NULL, NULL, &error);
    g_autoptr (EfVerification) wrong = ef_verify_store (path, &other, NULL, NULL, NULL, &error);

    assert_holds (right);
    g_assert_cmpuint (count_findings (right), ==, 0);
    g_assert_cmpint (right->n_entries, ==, 3);
    g_assert_cmpint (right->n_seals, ==, 2);
    g_assert_cmpint (right->n_jobs, ==, 1);
    g_assert_cmpstr (right->digest, ==, seal->digest);
    g_assert_false (cut->holds);
    g_assert_false (wrong->holds);
  }
  g_object_unref (document);
}

static void
copy_file (const char *from,
           const char *to)
{
  g_autofree char *bytes = NULL;
  gsize n;

  g_assert_true (g_file_get_contents (from, &bytes, &n, NULL));
  g_assert_true (g_file_set_contents (to, bytes, (gssize) n, NULL));
}

/* A store that only has a job sealed elsewhere has no chain of its own: no last entry, no digest, no key is told as its own, though the seal is looked at. */
static void
test_only_from_elsewhere (void)
{
  g_autofree char *there_path = place ("there.sqlite");
  g_autofree char *here_path = place ("here.sqlite");
  g_autofree char *file = place ("sealed.json");
  g_autoptr (GRand) rand = g_rand_new_with_seed (12);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) there = ef_store_open (there_path, &error);
  g_autoptr (EfStore) here = ef_store_open (here_path, &error);
  g_autoptr (EfSealKey) key = ef_seal_key_make (there, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  g_autoptr (EfVerification) verification = NULL;
  gint64 job = add_random_job (there, rand, 6);

  g_assert_no_error (error);
  seal_small (there, job, "clerk", "as found", key);
  g_assert_true (ef_seal_export_file (there, job, file, &error));
  g_assert_cmpint (ef_seal_import (here, file, &error), >, 0);
  g_assert_no_error (error);
  g_clear_pointer (&here, ef_store_close);
  verification = verify_store (here_path);
  assert_holds (verification);
  g_assert_cmpint (verification->n_jobs, ==, 1);
  g_assert_cmpint (verification->n_entries, ==, 0);
  g_assert_cmpint (verification->last, ==, 0);
  g_assert_cmpstr (verification->digest, ==, "");
  g_assert_cmpuint (verification->keys->len, ==, 0);
  g_clear_pointer (&there, ef_store_close);
  remove_store (there_path);
  remove_store (here_path);
  g_remove (file);
}

/* Backup, compaction, another name, a folder that can't be written, closed and opened again, taken out and in: nothing is alarmed. */
static void
test_no_false_alarm (void)
{
  g_autofree char *path = place ("untouched.sqlite");
  g_autofree char *copy = place ("copy.sqlite");
  g_autofree char *folder = place ("backups");
  g_autofree char *locked = place ("locked");
  g_autofree char *inside = g_build_filename (locked, "store.sqlite", NULL);
  g_autofree char *backup = NULL;
  g_autoptr (GRand) rand = g_rand_new_with_seed (65);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = NULL;
  g_autoptr (GPtrArray) jobs = NULL;

  make_sealed_store (path, rand);
  {
    g_autoptr (EfVerification) verification = verify_store (path);

    assert_holds (verification);
    g_assert_cmpint (verification->n_jobs, ==, 4); /* three of its own and one from elsewhere */
    g_assert_cmpint (verification->n_open, ==, 1);
    g_assert_cmpint (verification->n_never, ==, 1);
  }
  store = ef_store_open (path, &error);
  backup = ef_backup_make (store, folder, NULL, NULL, NULL, NULL, &error);
  g_assert_no_error (error);
  {
    g_autoptr (EfVerification) verification = verify_store (backup);

    assert_holds (verification);
  }
  g_assert_true (ef_sql_exec (&store->sql, "VACUUM; REINDEX; ANALYZE", &error));
  jobs = ef_store_jobs (store, NULL, &error);
  for (guint i = 0; i < jobs->len; i++)
    {
      const EfJobRow *row = jobs->pdata[i];
      g_autofree char *file = place ("out.json");
      g_autofree char *again = NULL;
      g_autofree char *first = NULL;
      g_autofree char *third = place ("third.sqlite");
      g_autoptr (EfStore) other = ef_store_open (third, &error);
      gint64 job;

      if (row->sealed == 0)
        {
          ef_store_close (g_steal_pointer (&other));
          continue;
        }
      g_assert_true (ef_seal_export_file (store, row->id, file, &error));
      {
        g_autoptr (EfVerification) verification = ef_verify (file, NULL, NULL, NULL, NULL, &error);

        g_assert_no_error (error);
        assert_holds (verification);
        g_assert_cmpuint (count_findings (verification), ==, 1); /* that no key was given */
      }
      job = ef_seal_import (other, file, &error);
      g_assert_no_error (error);
      again = ef_seal_export (other, job, &error);
      g_assert_true (g_file_get_contents (file, &first, NULL, NULL));
      g_assert_cmpstr (first, ==, again);
      {
        g_autoptr (EfVerification) verification = verify_store (third);

        assert_holds (verification);
      }
      g_assert_true (ef_store_open_revision (other, job, "clerk", "ours now", &error));
      {
        g_autoptr (EfVerification) verification = verify_store (third);

        g_assert_false (verification->holds); /* nothing stands sealed there any more */
      }
      ef_store_close (g_steal_pointer (&other));
      remove_store (third);
    }
  g_clear_pointer (&store, ef_store_close);
  {
    g_autoptr (EfVerification) verification = verify_store (path);

    assert_holds (verification);
  }
  copy_file (path, copy);
  {
    g_autoptr (EfVerification) verification = verify_store (copy);

    assert_holds (verification);
  }
  g_assert_cmpint (g_mkdir (locked, 0700), ==, 0);
  copy_file (path, inside);
  g_assert_cmpint (g_chmod (inside, 0400), ==, 0);
  g_assert_cmpint (g_chmod (locked, 0500), ==, 0);
  {
    g_autoptr (EfVerification) verification = verify_store (inside);

    assert_holds (verification);
  }
  g_chmod (locked, 0700);
}

static void
test_import_broken (void)
{
  g_autofree char *path = place ("broken.sqlite");
  g_autofree char *file = place ("broken.json");
  g_autoptr (GRand) rand = g_rand_new_with_seed (66);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfSealKey) key = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  g_autoptr (EfPumpSheet) sheet = random_sheet (rand);
  g_autoptr (EfInspection) inspection = ef_inspection_new (sheet, "J-77");
  gint64 job = ef_store_add (store, inspection, &error);
  g_autofree char *text = NULL;
  g_autofree char *other_path = place ("broken-in.sqlite");
  g_autoptr (EfStore) other = ef_store_open (other_path, &error);
  g_autoptr (GPtrArray) rows = NULL;
  EfStanding standing;
  char *number;

  seal_small (store, job, "clerk", NULL, key);
  text = ef_seal_export (store, job, &error);
  number = strstr (text, "J-77");
  memcpy (number, "J-78", 4);
  g_assert_true (g_file_set_contents (file, text, -1, NULL));
  job = ef_seal_import (other, file, &error);
  g_assert_no_error (error);
  g_assert_true (ef_store_standing (other, job, &standing, NULL));
  g_assert_cmpint (standing.sealed, ==, 0);
  rows = ef_store_history (other, job, NULL);
  g_assert_cmpstr (((EfHistoryRow *) rows->pdata[1])->action, ==, "import");
  g_assert_nonnull (strstr (((EfHistoryRow *) rows->pdata[1])->reason, "number"));
}

/* Whoever has the passphrase can sign an old entry anew, but the next one keeps its digest: the chain tells. */
static void
test_signed_again (void)
{
  g_autofree char *path = place ("again.sqlite");
  g_autoptr (GRand) rand = g_rand_new_with_seed (68);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfSealKey) key = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  gint64 first = add_random_job (store, rand, 4), second = add_random_job (store, rand, 4);
  g_autoptr (sqlite3_stmt) read = NULL;
  g_autoptr (JsonNode) node = NULL;
  g_autofree char *text = NULL;
  g_autofree char *signature = NULL;
  g_autoptr (EfVerification) verification = NULL;
  gboolean named = FALSE;

  seal_small (store, first, "clerk", NULL, key);
  seal_small (store, second, "clerk", NULL, key);
  read = ef_sql_query (&store->sql, &error, "SELECT statement FROM seal WHERE number = 2", "");
  g_assert_cmpint (sqlite3_step (read), ==, SQLITE_ROW);
  node = json_from_string ((const char *) sqlite3_column_text (read, 0), NULL);
  g_clear_pointer (&read, sqlite3_finalize);
  json_object_set_string_member (json_node_get_object (node), "time", "2001-01-01T00:00:00Z");
  text = ef_json_canonical (node, &error);
  signature = ef_seal_key_sign (key, text);
  g_assert_true (ef_sql_exec (&store->sql, "DROP TRIGGER seal_no_update; DROP TRIGGER change_no_update", &error));
  g_assert_true (ef_sql_run (&store->sql, NULL, &error, "UPDATE seal SET statement = ?, signature = ? WHERE number = 2", "ss", text, signature));
  g_assert_true (ef_seal_signature_holds (ef_seal_key_public (key), text, signature));
  verification = verify_store (path);
  g_assert_false (verification->holds);
  for (guint i = 0; i < verification->findings->len; i++)
    {
      const EfVerifyFinding *finding = verification->findings->pdata[i];

      named = named || (finding->seal == 3 && g_str_equal (finding->place, "seal: previous"));
    }
  g_assert_true (named);
}

typedef struct
{
  GCancellable *cancellable;
  double last;
  guint calls;
  double most; /* share at which it's told to stop */
} Watch;

static void
watch (double share,
       gpointer user_data)
{
  Watch *self = user_data;

  g_assert_cmpfloat (share, >=, self->last);
  g_assert_cmpfloat (share, <=, 1);
  self->last = share;
  self->calls++;
  if (self->cancellable != NULL && share >= self->most)
    g_cancellable_cancel (self->cancellable);
}

static void
test_progress_and_cancel (void)
{
  g_autofree char *path = place ("progress.sqlite");
  g_autoptr (GRand) rand = g_rand_new_with_seed (67);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfVerification) whole = NULL;
  static const double moments[] = { 0, 0.3, 1 };
  Watch self = { NULL, 0, 0, 0 };

  make_sealed_store (path, rand);
  whole = ef_verify_store (path, NULL, watch, &self, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpfloat (self.last, ==, 1);
  g_assert_cmpint (self.calls, ==, whole->n_entries);
  /* Also after the last seal, while the rest of the store is looked through. */
  for (guint i = 0; i < G_N_ELEMENTS (moments); i++)
    {
      g_autoptr (GCancellable) cancellable = g_cancellable_new ();
      g_autoptr (EfVerification) stopped = NULL;

      self = (Watch) { cancellable, 0, 0, moments[i] };
      stopped = ef_verify_store (path, NULL, watch, &self, cancellable, &error);
      g_assert_null (stopped);
      g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
      g_assert_cmpint (self.calls, <=, moments[i] < 1 ? whole->n_entries / 2 : whole->n_entries);
      g_clear_error (&error);
    }
}

/* The order of the chain is that of sealing, whatever the clock said. */
static void
test_clock_set_back (void)
{
  g_autofree char *folder = g_dir_make_tmp ("clock-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "jobs.sqlite", NULL);
  g_autoptr (GRand) rand = g_rand_new_with_seed (17);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfStore) store = ef_store_open (path, &error);
  g_autoptr (EfSealKey) key = NULL;
  g_autoptr (EfVerification) verification = NULL;
  gint64 first, second;

  g_assert_no_error (error);
  first = add_random_job (store, rand, 5);
  second = add_random_job (store, rand, 5);
  key = ef_seal_key_make (store, SEALED_PASSPHRASE, &ef_seal_strength_least, "owner", &error);
  g_assert_no_error (error);
  first = seal_small (store, first, "clerk", NULL, key);
  ef_store_fixed_time = "2001-01-01T00:00:00Z";
  second = seal_small (store, second, "clerk", NULL, key);
  ef_store_fixed_time = NULL;
  g_assert_cmpint (second, ==, first + 1);
  verification = verify_store (path);
  assert_holds (verification);
  g_clear_pointer (&store, ef_store_close);
  isolated_remove (folder);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_assert_cmpint (sodium_init (), >=, 0);
  g_test_add_func ("/seal/ed25519-vectors", test_ed25519);
  g_test_add_func ("/seal/argon2id-vectors", test_argon2);
  g_test_add_func ("/seal/key", test_key);
  g_test_add_func ("/seal/key-change", test_key_change);
  g_test_add_func ("/seal/sealing", test_sealing);
  g_test_add_func ("/seal/no-false-alarm", test_no_false_alarm);
  g_test_add_func ("/seal/only-from-elsewhere", test_only_from_elsewhere);
  g_test_add_func ("/seal/import-broken", test_import_broken);
  g_test_add_func ("/seal/signed-again", test_signed_again);
  g_test_add_func ("/seal/clock-set-back", test_clock_set_back);
  g_test_add_func ("/seal/progress-and-cancel", test_progress_and_cancel);

  return g_test_run ();
}
