/* How far people agree when they sort the same things into categories, beyond what chance would give.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Two raters: Cohen's kappa (Educ. Psychol. Meas. 20, 1960) and weighted kappa (Psychol. Bull. 70, 1968), standard errors of large
 * samples by Fleiss, Cohen and Everitt (Psychol. Bull. 72, 1969). Many raters: Fleiss (Psychol. Bull. 76, 1971). References from memory.
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

#define EF_AGREEMENT_MOST 64 /* categories */

typedef enum
{
  EF_WEIGHT_NONE,     /* same or not */
  EF_WEIGHT_LINEAR,   /* categories in order: a step apart costs the same each */
  EF_WEIGHT_QUADRATIC /* the square of the steps */
} EfAgreementWeight;

typedef struct
{
  double observed, expected; /* agreement, weighted */
  double kappa;              /* NAN where chance alone agrees wholly */
  double u;                  /* standard error of kappa */
  double u_chance;           /* the same if there were no agreement beyond chance: for the test of that */
  double low, high;          /* 95 %, normal, within [-1, 1] */
  double p;                  /* of agreeing this well by chance, one-sided */
} EfKappa;

/* @table: n x n counts, first rater down, second across. Fails with EF_ERROR_INVALID for fewer than 2 categories, an empty table, or
 * counts that aren't finite or below 0. */
gboolean ef_kappa_two (const double *table, guint n, EfAgreementWeight weight, EfKappa *kappa, GError **error);

typedef struct
{
  EfKappa all;
  double share[EF_AGREEMENT_MOST]; /* of each category among all ratings */
  double kappa[EF_AGREEMENT_MOST]; /* of each category against all others; NAN where it never or always occurs */
} EfKappaMany;

/* @counts: n_items x n_categories: how many raters put the item there; the same number of raters (2 or more) for every item. The standard
 * error of kappa is that of the jackknife over items; for the test against chance Fleiss's of 1971, corrected 1979. */
gboolean ef_kappa_many (const double *counts, guint n_items, guint n_categories, EfKappaMany *kappa, GError **error);

extern const char *const ef_agreement_weight_names[]; /* "none", "linear", "quadratic"; NULL-terminated */

G_END_DECLS
