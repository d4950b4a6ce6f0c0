/* How much of the scatter of readings comes from the gauge, how much from who reads it, how much from the parts.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Average and range: Measurement Systems Analysis, 4th edition (AIAG, 2010), chapter III section B. Analysis of variance: the same, and any
 * textbook on the two-way crossed random model. All results are in the unit of the readings; none is multiplied by 6.
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

#define EF_STUDY_MOST 100 /* parts, appraisers or trials */

/* Every appraiser reads every part in every trial: values[(part * n_appraisers + appraiser) * n_trials + trial]. */
typedef struct
{
  guint n_parts, n_appraisers, n_trials; /* 2 or more of each */
  const double *values;
} EfGaugeReadings;

typedef struct
{
  double equipment;   /* repeatability, standard deviation */
  double appraiser;   /* reproducibility */
  double interaction; /* of appraiser and part; 0 by average and range */
  double grr;         /* of the three together */
  double part;
  double total;
  double distinct;    /* categories that can be told apart, 1.41 part / grr; the whole part of it counts */
} EfGaugeComponents;

typedef struct
{
  EfGaugeComponents components;
  double mean_range[EF_STUDY_MOST]; /* of each appraiser */
  double mean[EF_STUDY_MOST];       /* of each appraiser */
  double all_range;                 /* mean of the mean ranges */
  double difference;                /* greatest mean of an appraiser less the least */
  double part_range;                /* the same of parts */
  double range_limit;               /* a range above this isn't one of repeating (D4 times the mean range) */
  guint n_over;                     /* ranges above it */
  guint over_part, over_appraiser;  /* the widest of those; 0 without one */
} EfGaugeStudyRange;

typedef struct
{
  double ss, df, ms, f, p; /* f, p: NAN where there's nothing to hold it against */
} EfVarianceRow;

typedef struct
{
  EfVarianceRow appraiser, part, interaction, equipment, total; /* f of appraiser and part against the error that counts, see below */
  gboolean pooled;          /* the interaction isn't significant and is counted with the equipment */
  EfGaugeComponents components;
} EfGaugeStudyVariance;

/* Both fail with EF_ERROR_INVALID naming what was expected: numbers of parts, appraisers, trials from 2 to EF_STUDY_MOST, finite values. */
gboolean ef_gauge_study_range (const EfGaugeReadings *readings, EfGaugeStudyRange *study, GError **error);
/* Interaction is pooled with the error where its p is above @alpha (common practice: 0.25; 0 always pools, 1 never). F of appraiser and part
 * is against the pooled error, or against the interaction where that stays. A component that comes out negative counts as 0. */
gboolean ef_gauge_study_variance (const EfGaugeReadings *readings, double alpha, EfGaugeStudyVariance *study, GError **error);

/* Factors of the range of @m normal values: mean d2 of ranges, and the same for the range of one sample only, d2* = sqrt (d2^2 + d3^2). By
 * integration; published tables are these, rounded. NAN below 2. */
double ef_range_d2 (guint m);
double ef_range_d2_single (guint m);

G_END_DECLS
