/* Gauge studies and ratings as tables of text: comma-separated values in, what the numerics take out.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * First row: names of columns, in any order. Fields may stand in double quotes (RFC 4180). With semicolons between the fields decimals may have a comma.
 * Empty rows are passed over. A message names file, row (the first is 1) and column.
 *   gauge study  part, appraiser, trial, value
 *   ratings      item, rater, category, and optionally rule: what the item is judged by
 */
#pragma once

#include "ef-agreement.h"
#include "ef-gauge-study.h"

G_BEGIN_DECLS

typedef struct
{
  GPtrArray *parts, *appraisers; /* char *, in order of appearance */
  double *values;                /* owned; as in EfGaugeReadings */
  EfGaugeReadings readings;      /* of values */
} EfStudyTable;

/* Every appraiser must have read every part equally often; trials are whole numbers from 1. Fails with EF_ERROR_PARSE or EF_ERROR_INVALID. */
EfStudyTable *ef_study_table_parse (const char *text, const char *file, GError **error);
void ef_study_table_free (EfStudyTable *table);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfStudyTable, ef_study_table_free)

typedef struct
{
  GPtrArray *items, *raters, *categories; /* char *; categories in order of severity where all are verdicts, else as they appear */
  GPtrArray *rules;  /* char *, of each item; "" none */
  int *ratings;      /* items x raters: index of a category; -1 not rated */
} EfRatingTable;

/* One rating a row; items may be rated by some only. Fails with EF_ERROR_PARSE or EF_ERROR_INVALID. */
EfRatingTable *ef_rating_table_parse (const char *text, const char *file, GError **error);
/* Empty; filled by ef_rating_table_add(). @order: names of categories in their order, NULL-terminated. */
EfRatingTable *ef_rating_table_new (const char *const *order);
/* FALSE where this rater has rated this item already. An unknown category is added. @rule may be NULL. */
gboolean ef_rating_table_add (EfRatingTable *table, const char *item, const char *rater, const char *category, const char *rule);
void ef_rating_table_free (EfRatingTable *table);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfRatingTable, ef_rating_table_free)

/* How two raters agree. */
typedef struct
{
  guint a, b;      /* raters */
  guint n;         /* items that both rated */
  EfKappa plain, weighted; /* linear weights; NAN where it can't be had */
} EfRaterPair;

/* How often they disagree under one rule. */
typedef struct
{
  char *rule;
  guint items;         /* judged by it */
  guint pairs, differ; /* pairs of raters on an item, and those of them that chose differently */
} EfRuleDisagreement;

typedef struct
{
  gboolean has_all;  /* every item rated by every rater: Fleiss' kappa can be had */
  EfKappaMany all;
  GArray *pairs;     /* EfRaterPair */
  GArray *rules;     /* EfRuleDisagreement, most disagreement first */
} EfRatingSummary;
/* Fails with EF_ERROR_INVALID below two raters, two categories or two items. */
EfRatingSummary *ef_rating_summary_new (const EfRatingTable *table, GError **error);
void ef_rating_summary_free (EfRatingSummary *summary);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfRatingSummary, ef_rating_summary_free)

G_END_DECLS
