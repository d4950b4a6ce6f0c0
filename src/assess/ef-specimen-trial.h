/* Specimens judged: whether the judge names what was made, and whether readings scatter as their gauges say.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../teach/ef-specimen.h"
#include "ef-assessment.h"

G_BEGIN_DECLS

/* Directions of the computed load at rated speed on the gears of a new pump, rad. Fails where the flow can't be solved, saying why. */
gboolean ef_specimen_load (EfPumpSheet *sheet, double load_psi[2], GError **error);

/* What speaks for which cause in an assessed job, of its pressure section: ef_cause_findings(). */
GPtrArray *ef_assessment_causes (const EfAssessment *assessment, const EfRuleSet *rules);

/* Readings or derived values against the truth. */
typedef struct
{
  guint n;
  double chi2;     /* sum of squares of deviation over standard uncertainty */
  guint within;    /* within twice the standard uncertainty */
} EfScatter;

#define EF_TRIAL_WRONG 20

typedef struct
{
  guint n, right;
  guint table[EF_N_CAUSES][EF_N_CAUSES];   /* made, found */
  guint of_difficulty[EF_SPECIMEN_HARDEST], right_of_difficulty[EF_SPECIMEN_HARDEST];
  guint n_wrong;                           /* listed */
  guint32 wrong[EF_TRIAL_WRONG];           /* seeds of the first wrong ones */
  EfScatter readings[EF_N_GAUGE_KINDS];    /* of each gauge the first reading of every specimen: independent of each other */
  EfScatter derived;                       /* end clearances and mean bore diameters with the uncertainty that follows from the readings, one each a specimen */
} EfSpecimenTrial;

/* @n specimens of @sheet from @first_seed on, cause drawn from each seed, measured with the usual gauges and assessed without knowing the truth.
 * @difficulty 0: 1, 2 and 3 in turn. Fails as what it calls, and with EF_ERROR_CANCELLED. */
gboolean ef_specimen_trial (EfPumpSheet *sheet, const EfRuleSet *rules, guint32 first_seed, guint n, int difficulty, GCancellable *cancellable, EfSpecimenTrial *trial, GError **error);

/* Probability of a scatter at least as far from what is stated, to either side, if the statement holds: chi-square with n degrees of freedom. NAN for n 0. */
double ef_scatter_p (const EfScatter *scatter);

G_END_DECLS
