/* The places of a pump, who could fill them, and what must hold between them, as numbers for the search. Inside shelf only.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-shelf-match.h"

G_BEGIN_DECLS

/* A size that a place's candidates have. */
typedef struct
{
  const char *part_id;  /* of a pair: which mate */
  const char *quantity;
  const char *place;    /* NULL */
  double nominal;       /* the sheet's, m */
  double scale, offset; /* what the search sees: scale x size + offset */
} EfShelfDim;

typedef struct
{
  char *id, *label;
  const EfPart *parts[2];    /* the second of a pair; NULL */
  gboolean open;             /* the own can't stay, or needn't */
  GPtrArray *units;          /* EfShelfUnit * */
  GArray *dims;              /* EfShelfDim */
  GArray *candidates;        /* EfMatchCandidate, one a unit */
} EfShelfPlace;

/* A part, or both mates; the pump's own (shelf[0] NULL) or from the shelf. */
typedef struct
{
  EfReplacement *part[2]; /* references */
  EfShelfPart *shelf[2];  /* references; NULL */
} EfShelfUnit;

typedef struct
{
  const EfSection *section; /* stack, tip, backlash */
  const char *quantity;
  char *label;
  char *labels[2];          /* of a stack: one a gear */
} EfShelfTerm;

typedef struct
{
  const EfFindings *findings;
  const EfVerdict *verdict;
  GPtrArray *places;      /* EfShelfPlace * */
  GArray *terms;          /* EfMatchTerm */
  GPtrArray *told;        /* EfShelfTerm *, beside them */
  GPtrArray *misses;      /* EfShelfMiss * */
  GPtrArray *assumptions; /* char * */
  guint considered;
  EfMatchProblem problem;
} EfShelfProblem;

/* @shelf: EfShelfPart *; @open: which places may be filled from it. */
EfShelfProblem *ef_shelf_problem_new (const EfFindings *findings, const EfVerdict *verdict, GPtrArray *shelf, const EfDecisionRule *rule, EfShelfOpen open, GError **error);
void ef_shelf_problem_free (EfShelfProblem *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfShelfProblem, ef_shelf_problem_free)
void ef_shelf_miss_add (GPtrArray *misses, EfShelfPart *part, char *reason); /* takes @reason */
/* Appends the sentence unless it's there already. */
void ef_shelf_assume (GPtrArray *assumptions, const char *format, ...) G_GNUC_PRINTF (2, 3);
/* What the candidate's faces come to: "0.020 mm off …", appended. */
void ef_shelf_laps_of (const EfShelfUnit *unit, GPtrArray *laps);

G_END_DECLS
