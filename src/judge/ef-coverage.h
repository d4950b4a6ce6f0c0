/* How often the verdict is wrong: simulated pumps whose truth is known, measured through simulated gauges, judged as any other.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The gauges err as their uncertainty says: normal, U/2, half of the variance common to all that one gauge reads on one pump
 * (EF_SAME_GAUGE_CORRELATION), half differing from place to place; then the reading is rounded to the gauge's scale.
 */
#pragma once

#include "ef-judge.h"

#include <gio/gio.h>

G_BEGIN_DECLS

typedef enum
{
  EF_COVERAGE_END_CLEARANCE, /* pocket depth by depth gauge less face width by micrometer */
  EF_COVERAGE_OVALITY,       /* of a bore, by bore gauge in 6 directions */
  EF_COVERAGE_FLATNESS,      /* of a plate's side, by dial indicator at 3 x 3 places */
  EF_COVERAGE_GROOVE,        /* depth of a groove in a plate, by dial indicator */
  EF_N_COVERAGE_ITEMS
} EfCoverageItem;
extern const char *const ef_coverage_item_names[]; /* the rules' ids: "end-clearance", …; NULL-terminated */

/* Of what was counted: the share and its two-sided 95 % Clopper-Pearson interval. NAN where nothing was. */
typedef struct
{
  guint count, of;
  double share, low, high;
} EfShare;
EfShare ef_share (guint count, guint of);

typedef struct
{
  double limit;          /* m */
  EfShare false_use;     /* "use again" among those that truly are beyond the limit, averaged over the population */
  EfShare false_reject;  /* "rework" or "scrap" among those that truly are within */
  EfShare undecided;     /* "measure again" among all */
  EfShare use_at_limit;  /* "use again" among those whose truth is the limit: the worst case for a single item */
} EfCoverage;

typedef struct
{
  guint32 seed;
  guint pumps;          /* drawn at random, and as many again at the limit */
  double spread;        /* m: truth is drawn evenly from the limit less this to the limit and this */
  double gauge_factor;  /* the gauges' uncertainties are the default ones times this */
} EfCoverageOptions;

/* The same seed draws the same pumps and readings for every decision rule, and (scaled) for every gauge factor. @sheet must have a section with a pocket, a
 * housing with a bore and a lappable plate, each with its limit. Fails with EF_ERROR_NOT_FOUND, EF_ERROR_INVALID, EF_ERROR_CANCELLED. */
gboolean ef_coverage_run (EfPumpSheet *sheet, const EfRuleSet *rules, const EfCoverageOptions *options, GCancellable *cancellable, EfCoverage out[EF_N_COVERAGE_ITEMS], GError **error);

G_END_DECLS
