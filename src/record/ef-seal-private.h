/* What the files of the seal share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-seal.h"
#include "ef-store-private.h"
#include "../base/ef-json.h"

G_BEGIN_DECLS

#define EF_SEAL_FORMAT "endfloat-seal"
#define EF_SEAL_VERSION 1
/* What comes before the first entry. */
#define EF_SEAL_NOTHING "0000000000000000000000000000000000000000000000000000000000000000"

/* The parts of a form: each has a digest of its own in the statement. */
extern const char *const ef_seal_parts[]; /* NULL-terminated: "certificates" (only where a gauge has any), "history", "inspection", "photos", "results", "rules" */

/* Within a transaction. Completes @statement (format, version, number, previous, key), signs and adds it. @job 0: about a key. */
typedef struct
{
  gint64 job;
  JsonObject *statement; /* borrowed; changed */
  const EfSealKey *key, *endorser; /* @endorser may be NULL */
  GBytes *form;        /* packed; NULL */
  const char *locator; /* NULL */
} EfSealEntry;
gboolean ef_seal_append (EfStore *store, const EfSealEntry *entry, gint64 *number_out, GError **error);

#define EF_SEAL_CERTIFICATES "certificates" /* the one part that needn't be there */

/* The job as its rows say, every byte of them: the members of an exchange file but for format, version and seal; empty lists left out.
 * A row that can't be read: where @problems is given, its place and what is wrong are added as "place\tsentence" and the rest goes on;
 * otherwise the error is set and NULL returned. */
JsonNode *ef_seal_inspection_node (const EfSql *sql, gint64 job, GPtrArray *problems, GError **error);
/* Its history up to row @last (0: all), the edits as their digests. */
JsonNode *ef_seal_history_node (const EfSql *sql, gint64 job, gint64 last, GError **error);
/* The same members from an exchange file. */
JsonNode *ef_seal_file_inspection_node (JsonNode *root);
/* Names of the photos that the items mention, digests of the photos' files. */
JsonNode *ef_seal_photos_node (JsonNode *inspection);
/* Digests of the certificates of its gauges; NULL where there are none. */
JsonNode *ef_seal_certificates_node (JsonNode *inspection);
/* Adds to either which of these files are in the store, as EF_SEAL_KEPT and the digest. EF_ERROR_CORRUPT where one has been changed. */
#define EF_SEAL_KEPT "kept:"
gboolean ef_seal_add_kept (EfStore *store, JsonNode *names, GError **error);

/* Canonical text of the form and its parts' digests, which go into @digests. */
char *ef_seal_form_text (JsonNode *form, JsonObject *digests, GError **error);
GBytes *ef_seal_pack (const char *text, GError **error);
char *ef_seal_unpack (gconstpointer data, gsize length, GError **error); /* at most 256 MiB */
/* Short checks of each piece of a text: tell where it was changed. */
char *ef_seal_locator (const char *text);
/* -1: nowhere. */
gssize ef_seal_locate (const char *text, const char *locator);
/* The path of the value that stands at a byte of a canonical text: "results.verdict.reasons[2].value". */
char *ef_seal_path_at (const char *text, gsize offset);
gsize ef_seal_piece (void); /* how many bytes a piece has */

/* The text of an exchange file with these members of a form's inspection. @block: its seal, which is taken; NULL none. */
char *ef_seal_file_text (JsonObject *members, JsonNode *block);
/* The verdict that results (the file of an assessment) say, borrowed; NULL none. */
const char *ef_seal_verdict (JsonNode *results);
/* One seal with its form as the block of an exchange file; NULL and an error. */
JsonNode *ef_seal_block (const EfSql *sql, gint64 number, GError **error);

G_END_DECLS
