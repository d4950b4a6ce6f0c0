/* What differs between two states of a job, in plain words.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../inspection/ef-inspection.h"

G_BEGIN_DECLS

typedef struct
{
  EfItemKind kind; /* EF_N_ITEM_KINDS: the pump sheet */
  char *id;        /* of the item; "" for the order of a list and for the pump sheet */
  char *title;     /* "Mark 3, groove", "Reading: end clearance, pressure, drive", "Job" */
  char *field;     /* "depth 1", "note"; "" where the whole item was added or removed */
  char *path;      /* where it stands in the item's JSON: "depths[0].depth_mm"; "" for the whole */
  char *before;    /* with its unit: "0.04 mm"; NULL: not there or not said */
  char *after;
} EfDifference;
void ef_difference_free (EfDifference *difference);

/* EfDifference *, none where the two are equal: by kind, in the order of @a, then what only @b has. Comparing the other way round gives the same
 * list with before and after exchanged, but for its order. */
GPtrArray *ef_compare (const EfInspection *a, const EfInspection *b);
/* One JSON value against another, as ef_compare() does with an item's: adds to @out, with @path for a place ("" for the root). Either may be NULL. */
void ef_compare_nodes (JsonNode *a, JsonNode *b, const char *path, GPtrArray *out);
JsonNode *ef_compare_to_json (GPtrArray *differences);
/* One line a difference; "Nothing differs." */
char *ef_compare_to_text (GPtrArray *differences);
/* The words for a place in an item's JSON and for a value there (NULL: not said). */
char *ef_compare_field_words (const char *path);
char *ef_compare_value_words (const char *path, JsonNode *node);
char *ef_compare_item_words (const EfInspection *inspection, const EfItem *item);

G_END_DECLS
