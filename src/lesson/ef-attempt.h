/* An apprentice's attempt at a lesson, as it travels back to the trainer.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Schema: data/schemas/attempt.schema.json. The marks, readings and decisions stand in an ordinary inspection; a decision is an override of a part.
 */
#pragma once

#include "../inspection/ef-inspection.h"

G_BEGIN_DECLS

#define EF_ATTEMPT_FORMAT "endfloat-attempt"
#define EF_ATTEMPT_VERSION 1
#define EF_ATTEMPT_CODE_MAX 200 /* characters */

typedef struct
{
  char *lesson;     /* digest */
  char *title;      /* of the lesson */
  char *apprentice; /* role code: "apprentice 3" */
  char *started;    /* ISO 8601 UTC */
  char *handed_in;  /* the same; NULL: not yet */
  EfInspection *inspection;
} EfAttempt;

/* Texts and inspection are copied; @handed_in may be NULL. */
EfAttempt *ef_attempt_new (const char *lesson, const char *title, const char *apprentice, const char *started, const char *handed_in, const EfInspection *inspection);
void ef_attempt_free (EfAttempt *attempt);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfAttempt, ef_attempt_free)
/* From a file, or from text (@length -1: until NUL; @file for messages only). Fails as ef_json_parse(), and with "file: path: expected …" for what isn't an attempt. */
EfAttempt *ef_attempt_load (const char *path, GError **error);
EfAttempt *ef_attempt_parse (const char *text, gssize length, const char *file, GError **error);
/* As text, which ef_attempt_parse() reads back; free with g_free(). */
char *ef_attempt_write (const EfAttempt *attempt);
/* Whether it can be the code of an apprentice: some words on one line. */
gboolean ef_attempt_check_apprentice (const char *code, GError **error);

G_END_DECLS
