/* What holds of a sealed exchange file, a report with its file attached, a claim pack or a whole store, and exactly what doesn't.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Offline, with nothing but the file; a public key that is known from elsewhere (a printed report, the certificate on the wall) tells who sealed.
 * Nothing is written. docs/record.md says what the answer means.
 */
#pragma once

#include <gio/gio.h>
#include <json-glib/json-glib.h>
#include "../base/ef-error.h"

G_BEGIN_DECLS

typedef enum
{
  EF_VERIFY_BROKEN, /* something was changed, removed, put elsewhere, or signed by somebody else */
  EF_VERIFY_NOTE    /* holds, but whoever reads should know */
} EfVerifyLevel;

typedef struct
{
  EfVerifyLevel level;
  gint64 seal;    /* number in the chain; 0: none in particular */
  char *job;      /* its number; NULL: none in particular */
  char *place;    /* "mark 3 (1b2c): depth 1", "history row 17: role", "seal: signature" */
  char *sentence; /* "sealed 0.04 mm, found 0.4 mm" */
} EfVerifyFinding;

typedef struct
{
  char *file;
  gboolean store;     /* a store; otherwise an exchange file */
  gboolean holds;     /* nothing is broken, and there is at least one seal */
  gint64 n_entries;   /* of the chain; of a file 1 */
  gint64 n_seals;     /* of jobs */
  gint64 n_jobs;      /* that stand sealed */
  gint64 n_open;      /* sealed once, with a revision open now */
  gint64 n_never;     /* never sealed: not covered */
  gint64 last;        /* number of the last entry; of a file that of its seal */
  char *digest;       /* of the last entry's statement, "" none */
  GPtrArray *keys;    /* char *: public keys in the order they came into use */
  gboolean anchored;  /* a public key was given and is among them */
  guint n_breaks;     /* key changes without the old key's signature */
  GPtrArray *findings; /* EfVerifyFinding *: broken ones first */
} EfVerification;
void ef_verification_free (EfVerification *verification);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfVerification, ef_verification_free)

typedef struct
{
  const char *key;      /* public key that is trusted, 64 hexadecimal digits; NULL: none known */
  gint64 number;        /* an entry known from elsewhere; 0: none */
  const char *digest;   /* its digest */
} EfVerifyOptions;

typedef void (*EfVerifyProgress) (double share, gpointer user_data); /* 0 … 1 */

/* By its first bytes. An error is only set where nothing can be said: no such file, no store, cancelled. @options NULL: none. */
EfVerification *ef_verify (const char *path, const EfVerifyOptions *options, EfVerifyProgress progress, gpointer user_data,
                           GCancellable *cancellable, GError **error);
EfVerification *ef_verify_file (const char *path, const EfVerifyOptions *options, GCancellable *cancellable, GError **error);
/* A report with the sealed exchange file attached. An error is set for a PDF that has none, or that can't be read safely. */
EfVerification *ef_verify_pdf (const char *path, const EfVerifyOptions *options, GCancellable *cancellable, GError **error);
/* A claim pack (ef-claim-names.h): the list of digests, the sealed file, the report with its attachment, the photos. An error is set for a zip that can't be read safely. */
EfVerification *ef_verify_pack (const char *path, const EfVerifyOptions *options, EfVerifyProgress progress, gpointer user_data, GCancellable *cancellable,
                                GError **error);
EfVerification *ef_verify_text (const char *text, gsize length, const char *name, const EfVerifyOptions *options, GError **error);
EfVerification *ef_verify_store (const char *path, const EfVerifyOptions *options, EfVerifyProgress progress, gpointer user_data,
                                 GCancellable *cancellable, GError **error);

char *ef_verification_first_broken (const EfVerification *verification); /* place and sentence; NULL */
/* For people, a line a finding; and the same as JSON (format "endfloat-verification"). */
char *ef_verification_to_text (const EfVerification *verification);
JsonNode *ef_verification_to_json (const EfVerification *verification);

G_END_DECLS
