/* Choosing one of many for each place so that all that meet fit: exact, by branch and bound.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers only; what they mean for a pump stands in ef-shelf-match.h. There are slots (a housing, a pair of gears, a cover, a shaft) with candidates,
 * and terms that say how the candidates of two slots must go together:
 *   gap    scale (x_a - x_b), a bore and its journal, a wall and its tip
 *   stack  for both gears x_a[i] - x_b[i], pocket depth less face width, where lapping the mating face lowers both and lapping one end of both gears
 *          raises both; the least that brings both within the limits is taken, in whole steps
 * A limit is kept when the value keeps off it by guard times its standard uncertainty. The cost is lexicographic: faces to be lapped, then stock, then
 * leakage, the sum of leak gap^3 over the terms.
 *
 * Candidates of a slot stand in a tree of boxes. The bound of a box is the least cost that its intervals leave open, so a box that
 * can't fit or can't be among the best is dropped whole. Nothing is left out that would be among the best.
 */
#pragma once

#include <gio/gio.h>
#include "../base/ef-error.h"

G_BEGIN_DECLS

#define EF_MATCH_DIMS 12
#define EF_MATCH_SLOTS 16
#define EF_MATCH_STEP 5000 /* nm: laps are whole steps of this */

typedef struct
{
  int faces;    /* to be lapped */
  gint64 stock; /* nm in all */
  double leak;  /* m3: leakage is this times pressure over viscosity */
} EfMatchCost;

typedef struct
{
  double x[EF_MATCH_DIMS]; /* m, after the laps it needs in any case */
  double u[EF_MATCH_DIMS]; /* standard uncertainties, m */
  int faces;               /* laps it needs in any case */
  gint64 stock;            /* nm */
  gboolean lapped;         /* the face a stack may lap (mating face; one end of both gears) is among them */
  gint64 room;             /* nm that may come off that face yet; 0: not lappable */
} EfMatchCandidate;

typedef struct
{
  guint n;      /* candidates */
  guint n_dims; /* that are in use */
  const EfMatchCandidate *candidates;
} EfMatchSlot;

typedef enum { EF_MATCH_GAP, EF_MATCH_STACK } EfMatchTermKind;

typedef struct
{
  EfMatchTermKind kind;
  guint slot[2];      /* a: bore, wall, housing; b: journal, tip, pair */
  guint dim[2][2];    /* of a and b; a gap uses the first of each */
  double scale;       /* gap: 0.5 makes radial of diameters */
  double least, most; /* m; NAN no limit */
  double leak[2];     /* weight of gap^3; a gap uses the first */
} EfMatchTerm;

typedef struct
{
  guint n_slots, n_terms;
  EfMatchSlot slots[EF_MATCH_SLOTS];
  const EfMatchTerm *terms;
  double guard; /* standard uncertainties to keep off a limit */
} EfMatchProblem;

typedef struct
{
  guint choice[EF_MATCH_SLOTS]; /* index of the candidate of each slot */
  EfMatchCost cost;
} EfMatchResult;

/* Less than, equal to or greater than 0. */
int ef_match_cost_compare (const EfMatchCost *a, const EfMatchCost *b);

/* What a term makes of two candidates. */
typedef struct
{
  double value[2];       /* m, after the laps; a gap uses the first */
  double u[2];
  gint64 lap_a, lap_b;   /* nm: off the mating face; off one end of each gear */
  gboolean fits;
  gboolean no_stock;     /* it would fit if more might come off */
  gboolean over;         /* too large rather than too small */
  double worst;          /* the value that is out, m */
  double worst_u;
} EfMatchFit;
/* The term on its own; the cost it adds (or NULL). */
EfMatchFit ef_match_fit (const EfMatchProblem *problem, const EfMatchTerm *term, const EfMatchCandidate *a, const EfMatchCandidate *b, EfMatchCost *cost_out);

typedef struct
{
  guint64 boxes;  /* bounds worked out */
  guint64 fits;   /* whole assemblies met */
} EfMatchStats;

/* The @most best assemblies, best first, of EfMatchResult; empty where none fits. Fails with EF_ERROR_INVALID for numbers that aren't finite or a
 * problem that names slots or dimensions that aren't there, EF_ERROR_CANCELLED. @stats may be NULL. */
GArray *ef_match_best (const EfMatchProblem *problem, guint most, EfMatchStats *stats, GCancellable *cancellable, GError **error);

G_END_DECLS
