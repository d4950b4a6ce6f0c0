/* A seal with some of its parts left out: for who isn't to have all of a sealed job.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The signed statement holds the SHA-256 of each part of the form (inspection, results, rules, photos, history). A disclosure carries the statement, its signature and keys, and those
 * parts in full that hold nothing of what is left out; the others are named. What is there is proven as by the whole file; what isn't can be
 * shown later and held against the same digests. The statement itself can't be shortened: who sealed, and the note beside the seal, stay.
 */
#pragma once

#include "../base/ef-json.h"

G_BEGIN_DECLS

#define EF_DISCLOSURE_FORMAT "endfloat-disclosure"
#define EF_DISCLOSURE_VERSION 1

/* From a sealed exchange file. @members: names of members, NULL-terminated; a part that has one of them anywhere, with something in it, is left out. Text; free with g_free(). */
char *ef_disclosure_write (const char *sealed, const char *name, const char *const *members, GError **error);

G_END_DECLS
