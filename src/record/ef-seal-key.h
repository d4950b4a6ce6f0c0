/* The key that jobs are sealed with.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Ed25519 (RFC 8032). The secret lies in the store under a passphrase: Argon2id (RFC 9106) gives the key of an XSalsa20-Poly1305 box. Every key enters the
 * store's chain of seals as an entry of its own; a new key is signed by the old one too, where that is still there. Where it is lost, the entry
 * says so: a break, which whoever verifies is told.
 */
#pragma once

#include "ef-store.h"

G_BEGIN_DECLS

#define EF_SEAL_PASSPHRASE_MIN 8 /* characters */

/* How much work a passphrase costs whoever guesses. */
typedef struct
{
  guint64 operations; /* passes */
  guint64 memory;     /* bytes */
} EfSealStrength;
extern const EfSealStrength ef_seal_strength_default; /* 3 passes over 64 MiB: a fraction of a second */
extern const EfSealStrength ef_seal_strength_least;   /* for tests */

typedef struct _EfSealKey EfSealKey; /* unlocked, in memory that isn't swapped and is wiped when freed */
void ef_seal_key_free (EfSealKey *key);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfSealKey, ef_seal_key_free)
const char *ef_seal_key_public (const EfSealKey *key); /* 64 hexadecimal digits */

/* The public key in use, as 64 hexadecimal digits; NULL without an error where there is none yet. */
char *ef_seal_key_current (EfStore *store, GError **error);
/* The first key of the store. EF_ERROR_INVALID where there is one, or for a passphrase that is too short. @strength NULL: the default. */
EfSealKey *ef_seal_key_make (EfStore *store, const char *passphrase, const EfSealStrength *strength, const char *role, GError **error);
/* EF_ERROR_INVALID: not this passphrase. EF_ERROR_NOT_FOUND: no key yet. EF_ERROR_CORRUPT: the box is damaged; restore an export of the key. */
EfSealKey *ef_seal_key_unlock (EfStore *store, const char *passphrase, GError **error);
/* A new key from now on, signed by @old; NULL: the old one is lost, which is a break. @reason must say something. */
EfSealKey *ef_seal_key_change (EfStore *store, const EfSealKey *old, const char *passphrase, const EfSealStrength *strength, const char *role,
                               const char *reason, GError **error);
/* The same key under another passphrase. */
gboolean ef_seal_key_set_passphrase (EfStore *store, const EfSealKey *key, const char *passphrase, const EfSealStrength *strength, GError **error);
/* The box as a JSON file (mode 0600), and back into a store whose own is lost or damaged: it must open with the passphrase and be the key in use. */
gboolean ef_seal_key_export (EfStore *store, const char *path, GError **error);
EfSealKey *ef_seal_key_restore (EfStore *store, const char *path, const char *passphrase, GError **error);

/* Hexadecimal signature of @text; free with g_free(). */
char *ef_seal_key_sign (const EfSealKey *key, const char *text);
/* FALSE for whatever isn't a signature of @text by @public_key, malformed ones too. */
gboolean ef_seal_signature_holds (const char *public_key, const char *text, const char *signature);
gboolean ef_seal_public_key_valid (const char *public_key); /* 64 small hexadecimal digits */

G_END_DECLS
