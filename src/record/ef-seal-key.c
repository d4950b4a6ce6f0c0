/* The sealing key: made, locked and unlocked, changed, taken out and put back.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-seal-key.h"
#include "ef-role-private.h"
#include "ef-seal-private.h"

#include <errno.h>
#include <fcntl.h>
#include <glib/gstdio.h>
#include <sodium.h>
#include <string.h>
#include <unistd.h>

#define KEY_FORMAT "endfloat-key"
#define MOST_OPERATIONS 32
#define MOST_MEMORY (1024u * 1024u * 1024u)

const EfSealStrength ef_seal_strength_default = { 3, 64 * 1024 * 1024 };
const EfSealStrength ef_seal_strength_least = { 1, 8192 };

struct _EfSealKey
{
  char public_key[2 * crypto_sign_PUBLICKEYBYTES + 1];
  guchar *secret; /* crypto_sign_SECRETKEYBYTES: seed and public key */
};

/* A row of the table of keys. */
typedef struct
{
  char *public_key, *salt, *nonce, *box, *made;
  gint64 operations, memory;
} LockedKey;

static void
locked_key_clear (LockedKey *locked)
{
  g_free (locked->public_key);
  g_free (locked->salt);
  g_free (locked->nonce);
  g_free (locked->box);
  g_free (locked->made);
}
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (LockedKey, locked_key_clear)

static gboolean
start_library (GError **error)
{
  if (sodium_init () >= 0)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_IO, "the library of signatures can't be started");

  return FALSE;
}

static char *
to_hex (const guchar *bytes,
        gsize n)
{
  char *text = g_malloc (2 * n + 1);

  return sodium_bin2hex (text, 2 * n + 1, bytes, n);
}

static gboolean
from_hex (const char *text,
          guchar *bytes,
          gsize n)
{
  gsize read;
  const char *end;

  /* Small digits only, so that one key or signature has one text. */
  return text != NULL && strlen (text) == 2 * n && strspn (text, "0123456789abcdef") == 2 * n
         && sodium_hex2bin (bytes, n, text, 2 * n, NULL, &read, &end) == 0 && read == n;
}

void
ef_seal_key_free (EfSealKey *key)
{
  if (key == NULL)
    return;
  sodium_free (key->secret);
  g_free (key);
}

const char *
ef_seal_key_public (const EfSealKey *key)
{
  return key->public_key;
}

static EfSealKey *
key_from_seed (const guchar *seed)
{
  EfSealKey *key = g_new0 (EfSealKey, 1);
  guchar public_key[crypto_sign_PUBLICKEYBYTES];

  key->secret = sodium_malloc (crypto_sign_SECRETKEYBYTES);
  if (key->secret == NULL)
    g_error ("out of memory");
  crypto_sign_seed_keypair (public_key, key->secret, seed);
  sodium_bin2hex (key->public_key, sizeof key->public_key, public_key, sizeof public_key);

  return key;
}

char *
ef_seal_key_sign (const EfSealKey *key,
                  const char *text)
{
  guchar signature[crypto_sign_BYTES];

  crypto_sign_detached (signature, NULL, (const guchar *) text, strlen (text), key->secret);

  return to_hex (signature, sizeof signature);
}

gboolean
ef_seal_public_key_valid (const char *public_key)
{
  guchar key[crypto_sign_PUBLICKEYBYTES];

  return from_hex (public_key, key, sizeof key);
}

gboolean
ef_seal_signature_holds (const char *public_key,
                         const char *text,
                         const char *signature)
{
  guchar key[crypto_sign_PUBLICKEYBYTES], bytes[crypto_sign_BYTES];

  return start_library (NULL) && text != NULL && from_hex (public_key, key, sizeof key) && from_hex (signature, bytes, sizeof bytes)
         && crypto_sign_verify_detached (bytes, (const guchar *) text, strlen (text), key) == 0;
}

static gboolean
check_passphrase (const char *passphrase,
                  GError **error)
{
  if (passphrase != NULL && g_utf8_validate (passphrase, -1, NULL) && g_utf8_strlen (passphrase, -1) >= EF_SEAL_PASSPHRASE_MIN)
    return TRUE;
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "passphrase: expected at least %d characters", EF_SEAL_PASSPHRASE_MIN);

  return FALSE;
}

/* The key of the box: 32 bytes in memory that is wiped. NULL where there isn't memory enough. */
static guchar *
stretch (const char *passphrase,
         const guchar *salt,
         guint64 operations,
         guint64 memory,
         GError **error)
{
  guchar *key = sodium_malloc (crypto_secretbox_KEYBYTES);

  if (key != NULL && crypto_pwhash (key, crypto_secretbox_KEYBYTES, passphrase, strlen (passphrase), salt, operations, memory,
                                    crypto_pwhash_ALG_ARGON2ID13) == 0)
    return key;
  sodium_free (key);
  g_set_error (error, EF_ERROR, EF_ERROR_IO, "passphrase: %" G_GUINT64_FORMAT " MiB of memory are needed to unlock the key, and can't be had",
               memory / (1024 * 1024));

  return NULL;
}

static gboolean
lock_key (const EfSealKey *key,
          const char *passphrase,
          const EfSealStrength *strength,
          LockedKey *locked,
          GError **error)
{
  const EfSealStrength *used = strength != NULL ? strength : &ef_seal_strength_default;
  guchar salt[crypto_pwhash_SALTBYTES], nonce[crypto_secretbox_NONCEBYTES];
  guchar box[crypto_secretbox_MACBYTES + crypto_sign_SEEDBYTES];
  guchar *lock;

  randombytes_buf (salt, sizeof salt);
  randombytes_buf (nonce, sizeof nonce);
  lock = stretch (passphrase, salt, used->operations, used->memory, error);
  if (lock == NULL)
    return FALSE;
  crypto_secretbox_easy (box, key->secret, crypto_sign_SEEDBYTES, nonce, lock); /* the seed comes first in the secret key */
  sodium_free (lock);

  locked->public_key = g_strdup (key->public_key);
  locked->salt = to_hex (salt, sizeof salt);
  locked->nonce = to_hex (nonce, sizeof nonce);
  locked->box = to_hex (box, sizeof box);
  locked->operations = (gint64) used->operations;
  locked->memory = (gint64) used->memory;
  locked->made = ef_store_now ();

  return TRUE;
}

static EfSealKey *
unlock_key (const LockedKey *locked,
            const char *passphrase,
            const char *where,
            GError **error)
{
  guchar salt[crypto_pwhash_SALTBYTES], nonce[crypto_secretbox_NONCEBYTES];
  guchar box[crypto_secretbox_MACBYTES + crypto_sign_SEEDBYTES];
  guchar *seed, *lock;
  EfSealKey *key = NULL;

  if (!from_hex (locked->salt, salt, sizeof salt) || !from_hex (locked->nonce, nonce, sizeof nonce) || !from_hex (locked->box, box, sizeof box)
      || locked->operations < 1 || locked->operations > MOST_OPERATIONS || locked->memory < 8192 || locked->memory > MOST_MEMORY)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: sealing key: its box is damaged; restore an export of the key", where);
      return NULL;
    }
  lock = stretch (passphrase, salt, (guint64) locked->operations, (guint64) locked->memory, error);
  if (lock == NULL)
    return NULL;

  seed = sodium_malloc (crypto_sign_SEEDBYTES);
  if (crypto_secretbox_open_easy (seed, box, sizeof box, nonce, lock) == 0)
    key = key_from_seed (seed);
  else
    g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: sealing key: it doesn't open with this passphrase", where);
  sodium_free (seed);
  sodium_free (lock);
  if (key != NULL && g_strcmp0 (key->public_key, locked->public_key) != 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: sealing key: the secret isn't that of the public key; restore an export of the key", where);
      g_clear_pointer (&key, ef_seal_key_free);
    }

  return key;
}

char *
ef_seal_key_current (EfStore *store,
                     GError **error)
{
  g_autoptr (sqlite3_stmt) statement = NULL;
  gboolean row;

  g_return_val_if_fail (store != NULL, NULL);
  statement = ef_sql_query (&store->sql, error,
                            "SELECT json_extract (statement, '$.key') FROM seal WHERE job IS NULL ORDER BY number DESC LIMIT 1", "");
  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return NULL;

  return row ? ef_sql_column_text (statement, 0) : NULL;
}

static gboolean
keep_locked (EfStore *store,
             const LockedKey *locked,
             GError **error)
{
  return ef_sql_run (&store->sql, NULL, error,
                     "INSERT INTO seal_key (public, salt, nonce, box, operations, memory, made) VALUES (?, ?, ?, ?, ?, ?, ?)"
                     " ON CONFLICT (public) DO UPDATE SET salt = excluded.salt, nonce = excluded.nonce, box = excluded.box,"
                     " operations = excluded.operations, memory = excluded.memory",
                     "ssssiis", locked->public_key, locked->salt, locked->nonce, locked->box, locked->operations, locked->memory, locked->made);
}

/* The key's own entry in the chain. */
static gboolean
append_key (EfStore *store,
            const EfSealKey *key,
            const EfSealKey *old,
            const char *old_public,
            const char *role,
            const char *reason,
            GError **error)
{
  JsonObject *statement = json_object_new ();
  g_autofree char *time = ef_store_now ();
  EfSealEntry entry = { .statement = statement, .key = key, .endorser = old };
  gboolean added;

  json_object_set_string_member (statement, "kind", "key");
  json_object_set_string_member (statement, "time", time);
  json_object_set_string_member (statement, "role", role != NULL ? role : "");
  json_object_set_string_member (statement, "program", "endfloat " EF_VERSION);
  json_object_set_string_member (statement, "reason", reason);
  json_object_set_string_member (statement, "previous_key", old_public != NULL ? old_public : EF_SEAL_NOTHING);
  json_object_set_boolean_member (statement, "break", old_public != NULL && old == NULL);
  added = ef_seal_append (store, &entry, NULL, error);
  json_object_unref (statement);

  return added;
}

static EfSealKey *
new_key (EfStore *store,
         const EfSealKey *old,
         gboolean first,
         const char *passphrase,
         const EfSealStrength *strength,
         const char *role,
         const char *reason,
         GError **error)
{
  g_auto (EfTransaction) transaction = { 0 };
  g_auto (LockedKey) locked = { 0 };
  g_autoptr (EfSealKey) key = NULL;
  g_autoptr (GError) local = NULL;
  g_autofree char *current = NULL;
  guchar seed[crypto_sign_SEEDBYTES];

  if (!start_library (error) || !check_passphrase (passphrase, error))
    return NULL;
  randombytes_buf (seed, sizeof seed);
  key = key_from_seed (seed);
  sodium_memzero (seed, sizeof seed);
  if (!lock_key (key, passphrase, strength, &locked, error) || !ef_transaction_begin (&transaction, &store->sql, error))
    return NULL;

  current = ef_seal_key_current (store, &local);
  if (local != NULL)
    {
      g_propagate_error (error, g_steal_pointer (&local));
      return NULL;
    }
  if (first != (current == NULL) || (old != NULL && g_strcmp0 (old->public_key, current) != 0))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: sealing key: expected %s", store->sql.name,
                   first ? "a store without one, found one; change it instead" : "the key in use, found another or none");
      return NULL;
    }
  if (!keep_locked (store, &locked, error) || !append_key (store, key, old, current, role, reason, error)
      || !ef_transaction_commit (&transaction, error))
    return NULL;

  return g_steal_pointer (&key);
}

EfSealKey *
ef_seal_key_make (EfStore *store,
                  const char *passphrase,
                  const EfSealStrength *strength,
                  const char *role,
                  GError **error)
{
  g_return_val_if_fail (store != NULL, NULL);

  return new_key (store, NULL, TRUE, passphrase, strength, role, "First key", error);
}

EfSealKey *
ef_seal_key_change (EfStore *store,
                    const EfSealKey *old,
                    const char *passphrase,
                    const EfSealStrength *strength,
                    const char *role,
                    const char *reason,
                    GError **error)
{
  g_autofree char *words = g_strstrip (g_strdup (reason != NULL ? reason : ""));

  g_return_val_if_fail (store != NULL, NULL);
  if (*words == '\0')
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "reason: expected some words, found none");
      return NULL;
    }

  return new_key (store, old, FALSE, passphrase, strength, role, words, error);
}

static gboolean
read_locked (EfStore *store,
             const char *public_key,
             LockedKey *locked,
             GError **error)
{
  g_autoptr (sqlite3_stmt) statement = ef_sql_query (&store->sql, error,
                                                     "SELECT public, salt, nonce, box, operations, memory, made FROM seal_key WHERE public = ?",
                                                     "s", public_key);
  gboolean row;

  if (statement == NULL || !ef_sql_step (&store->sql, statement, &row, error))
    return FALSE;
  if (!row)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_CORRUPT, "%s: sealing key: its box is missing; restore an export of the key", store->sql.name);
      return FALSE;
    }
  locked->public_key = ef_sql_column_text (statement, 0);
  locked->salt = ef_sql_column_text (statement, 1);
  locked->nonce = ef_sql_column_text (statement, 2);
  locked->box = ef_sql_column_text (statement, 3);
  locked->operations = sqlite3_column_int64 (statement, 4);
  locked->memory = sqlite3_column_int64 (statement, 5);
  locked->made = ef_sql_column_text (statement, 6);

  return TRUE;
}

static gboolean
read_current (EfStore *store,
              LockedKey *locked,
              GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autofree char *current = ef_seal_key_current (store, &local);

  if (current != NULL)
    return read_locked (store, current, locked, error);
  if (local != NULL)
    g_propagate_error (error, g_steal_pointer (&local));
  else
    g_set_error (error, EF_ERROR, EF_ERROR_NOT_FOUND, "%s: sealing key: there is none yet", store->sql.name);

  return FALSE;
}

EfSealKey *
ef_seal_key_unlock (EfStore *store,
                    const char *passphrase,
                    GError **error)
{
  g_auto (LockedKey) locked = { 0 };

  g_return_val_if_fail (store != NULL && passphrase != NULL, NULL);
  if (!start_library (error) || !read_current (store, &locked, error))
    return NULL;

  return unlock_key (&locked, passphrase, store->sql.name, error);
}

gboolean
ef_seal_key_set_passphrase (EfStore *store,
                            const EfSealKey *key,
                            const char *passphrase,
                            const EfSealStrength *strength,
                            GError **error)
{
  g_auto (LockedKey) locked = { 0 };

  g_return_val_if_fail (store != NULL && key != NULL, FALSE);

  return check_passphrase (passphrase, error) && ef_store_need (store, EF_ACT_KEY, NULL, error) && lock_key (key, passphrase, strength, &locked, error)
         && keep_locked (store, &locked, error);
}

static gboolean
write_private (const char *path,
               const char *text,
               GError **error)
{
  g_autoptr (GError) local = NULL;
  g_autofree char *name = g_filename_display_name (path);

  if (g_file_set_contents_full (path, text, -1, G_FILE_SET_CONTENTS_CONSISTENT | G_FILE_SET_CONTENTS_DURABLE, 0600, &local)
      && g_chmod (path, 0600) == 0)
    return TRUE;
  g_set_error (error, EF_ERROR, g_error_matches (local, G_FILE_ERROR, G_FILE_ERROR_NOSPC) ? EF_ERROR_FULL : EF_ERROR_IO,
               "%s: can't be written: %s", name, local != NULL ? local->message : g_strerror (errno));

  return FALSE;
}

gboolean
ef_seal_key_export (EfStore *store,
                    const char *path,
                    GError **error)
{
  g_auto (LockedKey) locked = { 0 };
  g_autoptr (JsonNode) node = NULL;
  g_autofree char *text = NULL;
  JsonObject *object;

  g_return_val_if_fail (store != NULL && path != NULL, FALSE);
  if (!read_current (store, &locked, error) || !ef_store_need (store, EF_ACT_KEY, NULL, error))
    return FALSE;
  object = json_object_new ();
  json_object_set_string_member (object, "format", KEY_FORMAT);
  json_object_set_int_member (object, "version", 1);
  json_object_set_string_member (object, "public", locked.public_key);
  json_object_set_string_member (object, "salt", locked.salt);
  json_object_set_string_member (object, "nonce", locked.nonce);
  json_object_set_string_member (object, "box", locked.box);
  json_object_set_int_member (object, "operations", locked.operations);
  json_object_set_int_member (object, "memory", locked.memory);
  json_object_set_string_member (object, "made", locked.made);
  node = ef_json_object_node (object);
  text = ef_json_to_text (node);

  return write_private (path, text, error);
}

static gboolean
read_export (const char *path,
             LockedKey *locked,
             GError **error)
{
  static const char *const formats[] = { KEY_FORMAT, NULL };
  static const char *const members[] = { "format", "version", "public", "salt", "nonce", "box", "operations", "memory", "made", NULL };
  g_autoptr (EfJsonContext) context = ef_json_parse_file (path, error);
  g_auto (EfJson) root = { 0 };

  if (context == NULL)
    return FALSE;
  root = ef_json_root (context);
  ef_json_choice (&root, "format", formats);
  ef_json_integer (&root, "version", 1, 1);
  ef_json_only (&root, members);
  locked->public_key = ef_json_string (&root, "public");
  locked->salt = ef_json_string (&root, "salt");
  locked->nonce = ef_json_string (&root, "nonce");
  locked->box = ef_json_string (&root, "box");
  locked->operations = ef_json_integer (&root, "operations", 1, MOST_OPERATIONS);
  locked->memory = ef_json_integer (&root, "memory", 8192, MOST_MEMORY);
  locked->made = ef_json_string (&root, "made");

  return ef_json_finish (context, error);
}

EfSealKey *
ef_seal_key_restore (EfStore *store,
                     const char *path,
                     const char *passphrase,
                     GError **error)
{
  g_auto (LockedKey) locked = { 0 };
  g_autofree char *current = NULL;
  g_autofree char *name = NULL;
  g_autoptr (EfSealKey) key = NULL;
  g_autoptr (GError) local = NULL;

  g_return_val_if_fail (store != NULL && path != NULL && passphrase != NULL, NULL);
  if (!start_library (error) || !read_export (path, &locked, error))
    return NULL;
  name = g_filename_display_name (path);
  key = unlock_key (&locked, passphrase, name, error);
  if (key == NULL)
    return NULL;
  current = ef_seal_key_current (store, &local);
  if (local != NULL)
    {
      g_propagate_error (error, g_steal_pointer (&local));
      return NULL;
    }
  if (g_strcmp0 (current, key->public_key) != 0)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: public: expected the key in use (%s), found %s", name,
                   current != NULL ? current : "none", key->public_key);
      return NULL;
    }

  return ef_store_need (store, EF_ACT_KEY, NULL, error) && keep_locked (store, &locked, error) ? g_steal_pointer (&key) : NULL;
}
