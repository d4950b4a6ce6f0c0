/* Sealing jobs: a digest in a chain over all sealed jobs of the store, signed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is sealed is the form of a job: canonical JSON (RFC 8785) with its marks, readings, gauges, checks, decisions and pump sheet with
 * the limits ("inspection"), the results, rules and decision rule, the photos' names, the digests of the gauges' certificates, and its history. The statement holds the SHA-256 of that form and of each
 * part, the number in the chain, the digest of the statement before it, job, revision, role, time and note; it is
 * what Ed25519 signs. Statement and form are kept in the store, so that whoever verifies can name the field that was changed.
 * docs/record.md says what this proves and what it doesn't.
 */
#pragma once

#include "../assess/ef-assessment.h"
#include "ef-seal-key.h"

G_BEGIN_DECLS

typedef struct
{
  const char *role;      /* never empty */
  const char *note;      /* or NULL */
  const EfInspection *inspection; /* what was looked at: refused (EF_ERROR_BUSY) when the store holds another state by now; NULL: not asked */
  JsonNode *results;     /* of the assessment, as a results file */
  const char *rules;     /* version of the rule set */
  const char *decision;  /* "guard band at 95 %" */
} EfSealInput;

/* Seals the job as it stands; its number in the chain, 0 on error. EF_ERROR_INVALID for a job that is withdrawn or sealed. */
gint64 ef_seal_job (EfStore *store, gint64 job, const EfSealInput *input, const EfSealKey *key, GError **error);
/* The same from an assessment. */
gint64 ef_seal_assessed_job (EfStore *store, gint64 job, const EfAssessment *assessment, const char *role, const char *note,
                             const EfSealKey *key, GError **error);

typedef struct
{
  gint64 number, job;
  guint revision;
  gint64 history;     /* the last row of the job's history that it covers: its own */
  char *job_number;
  char *role, *time, *note, *program, *rules, *decision;
  char *digest;       /* SHA-256 of the statement: what report and next seal carry */
  char *key;          /* public */
  char *results;      /* SHA-256 of the sealed results' canonical text; "" where the statement names none */
  gboolean elsewhere; /* came with an exchange file; the number is that of the other store's chain */
} EfSeal;
EfSeal *ef_seal_copy (const EfSeal *seal);
void ef_seal_free (EfSeal *seal);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfSeal, ef_seal_free)
/* EfSeal *, oldest first. Read, not verified. */
GPtrArray *ef_seals_of_job (EfStore *store, gint64 job, GError **error);
/* The one that an exchange file carries, as its block states it; NULL for a block that isn't one. Read, not verified. */
EfSeal *ef_seal_of_block (JsonNode *block);

/* The job's exchange file with its seal, or without one where it stands under none. Text; free with g_free(). */
char *ef_seal_export (EfStore *store, gint64 job, GError **error);
gboolean ef_seal_export_file (EfStore *store, gint64 job, const char *path, GError **error); /* atomic */
/* Takes an exchange file in as a job; 0 on error. A seal in it is kept with the job: where it holds, the job comes in sealed
 * ("elsewhere"), otherwise open, and its history says why. A file without a seal is added as ef_store_add() does. */
gint64 ef_seal_import (EfStore *store, const char *path, GError **error);

G_END_DECLS
