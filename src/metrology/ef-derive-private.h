/* Readings in groups, their means, and the uncertainty of what is made of means. For the derive files only.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-reading.h"

G_BEGIN_DECLS

#define EF_DIRECTION_STEP (G_PI / 180e3) /* rad: directions nearer than this are one */
#define EF_DERIVE_MEANS 2                /* most means in one value */

typedef struct
{
  const EfReading *reading;
  const EfGauge *gauge; /* NULL: not known */
  int direction;        /* in steps, modulo half or whole turn; -1 not said */
  double value;         /* m at 20 degrees C */
  double shift;         /* what that took: value less what was read, m */
  double u_warmth;      /* its standard uncertainty, m */
} EfEntry;

typedef struct
{
  const EfPumpSheet *sheet;
  EfEntry *entries; /* sorted */
  guint n;
  GPtrArray *out;   /* EfDerived * */
} EfDerivation;

/* Entries [first, first + n) that belong together. */
typedef struct
{
  guint first, n;
} EfGroup;

/* What repeats say about a group: s of one reading, pooled over its directions or places. */
typedef struct
{
  double scatter; /* m */
  guint freedom;  /* 0: nothing was repeated */
} EfScatter;

typedef struct
{
  EfGroup group;
  double value;   /* m */
  double angle;   /* rad; NAN */
  double shift;   /* m, mean of the entries' */
  double gauge;   /* part of u that follows from the gauges, as one term; NAN where one isn't known */
  double reduction; /* what a mean over several directions leaves of it: 1 for one direction */
  double warmth;  /* part that follows from the temperature */
  double resolution; /* part that follows from the scale */
  double scatter; /* of one reading, m; 0 where nothing was repeated */
  double type_a;  /* part that follows from it, with the factor for few readings */
} EfMean;

/* Brings the reading to 20 degrees C. */
void ef_derive_to_20 (const EfPumpSheet *sheet, EfEntry *entry);

int ef_derive_compare (gconstpointer left, gconstpointer right); /* of EfEntry */
/* The entries of one quantity, target and place; n = 0: there are none. */
EfGroup ef_derive_find (const EfDerivation *work, EfQuantity quantity, const char *target, const char *place);
/* The part of @group that starts at @first and has one direction, or one place on a face. */
EfGroup ef_derive_together (const EfDerivation *work, EfGroup group, guint first);
gboolean ef_derive_same_group (const EfReading *a, const EfReading *b);

/* Standard deviation of one reading, pooled over the group's directions or places. */
EfScatter ef_derive_scatter (const EfDerivation *work, EfGroup group);
/* Mean of the group with the parts of its uncertainty. @scatter: pooled over more than the group; NULL: the group's own. */
EfMean ef_derive_mean (const EfDerivation *work, EfGroup group, const EfScatter *scatter);
/* u of sum c_k mean_k: NAN where a gauge isn't known. Fills uncertainty, fixed, scatter and repeats of @derived. */
void ef_derive_combine (const EfDerivation *work, const EfMean *means, const double *c, guint n, EfDerived *derived);
/* Where all readings of the group were taken with one gauge, half of its variance is common to them: that half's u, else 0. @u_own: what is
 * left to each mean. */
double ef_derive_common (const EfDerivation *work, EfGroup group, const EfMean *mean, double *u_own);
/* All of u of one mean. */
double ef_derive_u (const EfMean *mean);

/* "25.130 mm", "25.130 mm (mean of 3)", with what the temperature did. */
char *ef_derive_mean_text (const EfMean *mean);

G_END_DECLS
