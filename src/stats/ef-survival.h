/* How many still hold after a time, when most are still being watched.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Product-limit estimate (E. L. Kaplan, P. Meier, JASA 53, 1958, 457) with Greenwood's variance; the interval on the scale of log (-log S), which stays
 * between 0 and 1 (J. D. Kalbfleisch, R. L. Prentice, The Statistical Analysis of Failure Time Data).
 */
#pragma once

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  double time;    /* from 0 */
  gboolean event; /* it ended then; otherwise it was last seen to hold */
} EfSpell;

/* After one time at which something ended. */
typedef struct
{
  double time;
  guint at_risk, events;
  double holds;     /* share that holds longer */
  double error;     /* standard, of it: Greenwood */
  double low, high; /* NAN where @holds is 0 */
} EfSurvivalStep;

typedef struct
{
  guint n, events;
  double longest;  /* time watched */
  double median;   /* time by which half had ended; NAN: more than half still hold */
  GArray *steps;   /* EfSurvivalStep, by time */
} EfSurvival;

/* Of what ends and what was last seen at the same time, the end comes first. @spells stays as it is. */
EfSurvival *ef_survival_new (const EfSpell *spells, guint n, double confidence);
void ef_survival_free (EfSurvival *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfSurvival, ef_survival_free)
/* The step that holds at @time; all hold before the first. FALSE where nobody was watched that long. */
gboolean ef_survival_at (const EfSurvival *self, double time, EfSurvivalStep *out);

G_END_DECLS
