/* Within the limit or not, when the value is uncertain.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * ISO 14253-1: a value proves conformity when it's inside the limit by the guard band, non-conformity when it's outside by as
 * much; in between it proves neither. Probability of conformity and risks: JCGM 106:2012. Clauses and defaults from memory.
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

typedef enum
{
  EF_DECISION_GUARD_BAND,  /* g = z u with z one-sided at the coverage: default of ISO 14253-1:2017 with 0.95, z = 1.645 */
  EF_DECISION_EXPANDED,    /* g = U = 2 u: ISO 14253-1:1998 */
  EF_DECISION_SHARED_RISK, /* g = 0: simple acceptance (JCGM 106 8.2); nothing is ever undecided */
  EF_N_DECISION_RULES
} EfDecisionKind;

typedef struct
{
  EfDecisionKind kind;
  double coverage; /* one-sided, from 0.5 to below 1; used by the guard band only */
} EfDecisionRule;

#define EF_DECISION_DEFAULT ((EfDecisionRule){ EF_DECISION_GUARD_BAND, 0.95 })

const char *ef_decision_rule_name (EfDecisionKind kind);  /* "guard-band", "expanded", "shared-risk" */
/* FALSE for a name that is none of them. */
gboolean ef_decision_rule_from_name (const char *name, EfDecisionKind *kind_out);
extern const char *const ef_decision_rule_names[];        /* NULL-terminated, in order */
/* "guard band at 95 %": for records. */
char *ef_decision_rule_text (const EfDecisionRule *rule);
/* Fails with EF_ERROR_RANGE for a coverage that can't be. */
gboolean ef_decision_rule_check (const EfDecisionRule *rule, GError **error);

/* How many standard uncertainties the guard band is wide. */
double ef_decision_factor (const EfDecisionRule *rule);

typedef enum { EF_ZONE_ACCEPT, EF_ZONE_UNDECIDED, EF_ZONE_REJECT, EF_N_ZONES } EfDecisionZone;
const char *ef_decision_zone_name (EfDecisionZone zone); /* "accept", "undecided", "reject" */

typedef struct
{
  EfDecisionZone zone;
  int side;         /* of the limit that it turns on, the nearer one: -1 the lower, +1 the upper, 0 there's none */
  double limit;     /* that one; NAN */
  double guard;     /* width of the guard band */
  double probability;                 /* of conformity */
  double accept_lower, accept_upper;  /* acceptance zone; infinite where there's no limit; empty when crossed over */
  double reject_lower, reject_upper;  /* beyond these it's proved not to conform */
  double needed_u;  /* standard uncertainty with which this same value would be decided, either way; 0: it lies on the limit */
} EfDecision;

/* @u: standard uncertainty of @y, normal; @lower, @upper: limits, either NAN for none, themselves still within. Without uncertainty the limits decide.
 * Fails with EF_ERROR_INVALID for numbers that aren't finite or limits out of order. */
gboolean ef_decide (const EfDecisionRule *rule, double y, double u, double lower, double upper, EfDecision *decision, GError **error);

/* Probability that the true value lies within the limits (NAN: none), given y and u: JCGM 106 7.2 … 7.4. 1 or 0 for u = 0. */
double ef_conformance_probability (double y, double u, double lower, double upper);

/* The fewest readings whose mean would decide, if the value and its scatter stayed: @fixed: the part of the standard uncertainty that repeating doesn't
 * lessen, @scatter: of a single reading. Counts on the factor of ef_repeats(). 0 when none up to @most does. */
guint ef_decision_repeats (const EfDecisionRule *rule, double distance, double fixed, double scatter, guint most);

/* Risks over a whole production (JCGM 106 clause 9): true values N(mean, spread), measured with u, tolerance and acceptance limits (NAN none). */
typedef struct
{
  double consumer;        /* accepted though not conforming */
  double producer;        /* rejected though conforming */
  double nonconforming;   /* share that doesn't conform */
} EfGlobalRisk;
gboolean ef_global_risk (double mean, double spread, double u, const double tolerance[2], const double acceptance[2], EfGlobalRisk *risk, GError **error);

G_END_DECLS
