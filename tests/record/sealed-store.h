/* A small store with sealed jobs, for tests.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "record/ef-seal-private.h"
#include "record/ef-verify.h"

G_BEGIN_DECLS

#define SEALED_PASSPHRASE "brass and oil"

/* Fails the test with what doesn't hold. */
#define assert_holds(verification) \
  G_STMT_START { \
    if (!(verification)->holds) \
      { \
        g_autofree char *what_ = ef_verification_to_text (verification); \
        g_error ("%.1000s", what_); \
      } \
  } G_STMT_END

EfVerification *verify_store (const char *path); /* without a key; fails the test on an error */
guint count_findings (const EfVerification *verification); /* but for photos and certificates of random jobs, whose files no store has */
JsonNode *small_results (const char *verdict);
gint64 seal_small (EfStore *store, gint64 job, const char *role, const char *note, const EfSealKey *key);
gint64 add_random_job (EfStore *store, GRand *rand, guint most_items);
/* Job 1 and 2 sealed once, 3 sealed, revised and sealed again, 4 sealed with a revision open, 5 came with another store's seal, 6 never
 * sealed. The key was changed after job 2. */
void make_sealed_store (const char *path, GRand *rand);
/* SQL behind the program's back; fails the test where it can't be run. */
void change_by_hand (const char *path, const char *text);
/* The first finding at @place; NULL. */
const EfVerifyFinding *finding_of (const EfVerification *verification, const char *place);
void remove_store (const char *path); /* with its companions */

G_END_DECLS
