/* Random inspections for property tests: every kind of item, odd texts, values said and not said.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "inspection/ef-document.h"
#include "inspection/ef-replacement.h"

G_BEGIN_DECLS

EfPumpSheet *random_sheet (GRand *rand); /* one of the shipped four, each loaded once */
char *random_text (GRand *rand);         /* NULL, empty, quotes, control characters, many scripts, long */
char *random_id (GRand *rand);           /* never empty, never the same twice */
/* An item of the kind that fits @inspection; NULL where there is no room (a check of every part is there). */
EfItem *random_item (GRand *rand, const EfInspection *inspection, EfItemKind kind);
/* A changed copy with the same id. */
EfItem *random_variant (GRand *rand, const EfInspection *inspection, const EfItem *item);
EfInspection *random_inspection (GRand *rand, guint most_items);
/* A change of 1 to 4 edits that fits the document as it is now. */
EfChange *random_change (GRand *rand, EfDocument *document);
/* Fails the test with both exchange items' JSON when they differ. */
void assert_same_inspection (const EfInspection *a, const EfInspection *b);

G_END_DECLS
