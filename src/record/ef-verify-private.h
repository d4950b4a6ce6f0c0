/* What verifying files and stores have in common.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-seal-private.h"
#include "ef-store.h"
#include "ef-verify.h"

G_BEGIN_DECLS

/* Where findings are about. */
typedef struct
{
  EfVerification *out;
  gint64 seal;
  const char *job;
} EfVerifyAt;

/* Without findings; @store: it's of a whole store. */
EfVerification *ef_verification_new (const char *file, gboolean store);
/* Decides, sorts. */
void ef_verification_finish (EfVerification *self, const EfVerifyOptions *options);
void ef_verify_tell (const EfVerifyAt *at, EfVerifyLevel level, const char *place, const char *format, ...) G_GNUC_PRINTF (4, 5);

/* The keys as they come, grouped: those that vouch for one another. */
typedef struct
{
  GPtrArray *publics; /* char * */
  GArray *groups;     /* guint, one each */
  GArray *runs;       /* seals, one after the other, by one key: as many as there were changes of the key, however long the chain */
} EfVerifyKeys;
void ef_verify_keys_init (EfVerifyKeys *keys);
void ef_verify_keys_clear (EfVerifyKeys *keys);
/* An entry about a key. */
void ef_verify_key_entry (const EfVerifyAt *at, EfVerifyKeys *keys, JsonObject *statement, const char *text, const char *signature,
                          const char *endorsement);
/* A seal by the key in use. */
void ef_verify_keys_sealed (EfVerifyKeys *keys, gint64 number);
const char *ef_verify_keys_current (const EfVerifyKeys *keys); /* NULL */
/* At the end: does the key that is trusted vouch for all that was sealed? */
void ef_verify_keys_anchor (EfVerification *out, const EfVerifyKeys *keys, const EfVerifyOptions *options);

/* Members of a statement by their kind, no more and no less, with values of the right type. */
gboolean ef_verify_members (const EfVerifyAt *at, JsonObject *statement, const char *place);
const char *ef_verify_string (JsonObject *object, const char *member); /* "" where there's none */
gint64 ef_verify_integer (JsonObject *object, const char *member);     /* 0 */
/* Tells it when the two aren't the same text. */
gboolean ef_verify_same (const EfVerifyAt *at, const char *place, const char *stated, const char *found);

/* The form against the statement's digests. */
gboolean ef_verify_form (const EfVerifyAt *at, JsonObject *statement, const char *form_text, JsonNode *form, const char *locator);
/* The files that were in the store when the form was sealed; @seen: digests that were looked at, text to state. */
gboolean ef_verify_kept (const EfVerifyAt *at, EfStore *store, const char *form_text, GHashTable *seen, GCancellable *cancellable, GError **error);
/* Those that photos, and certificates of gauges of jobs and of the shop, name now: notes. */
gboolean ef_verify_files (EfStore *store, EfVerification *out, GHashTable *seen, GCancellable *cancellable, GError **error);
/* What differs between the inspection as sealed and as it is now, field by field; at least one finding where @digest isn't @present's. */
void ef_verify_inspection (const EfVerifyAt *at, const char *digest, JsonNode *sealed, JsonNode *present);
/* The statement of a block with its signature, digest and keys; @whole: form and locator belong there too. NULL where there's none to go on with. */
JsonObject *ef_verify_statement (const EfVerifyAt *at, JsonNode *block, gboolean whole, EfVerifyKeys *keys);
/* A disclosure (ef-disclosure.h). */
void ef_verify_disclosure (EfVerifyAt *at, JsonObject *object, EfVerifyKeys *keys);
/* The block of an exchange file, with the inspection it stands beside. */
void ef_verify_block (const EfVerifyAt *at, JsonNode *block, JsonNode *present, EfVerifyKeys *keys);

/* All of it that is at most @most bytes. EF_ERROR_RANGE, EF_ERROR_IO, EF_ERROR_CANCELLED. */
GBytes *ef_verify_load (const char *path, guint64 most, GCancellable *cancellable, GError **error);
/* What ef_verify_text() and ef_verify_pdf() do, into an answer that is finished later. The file that is attached to the PDF may be asked for. */
gboolean ef_verify_text_into (EfVerification *out, const char *text, gsize length, const char *name, const EfVerifyOptions *options, GError **error);
gboolean ef_verify_pdf_into (EfVerification *out, GBytes *pdf, const char *name, const EfVerifyOptions *options, GBytes **file_out, GError **error);

G_END_DECLS
