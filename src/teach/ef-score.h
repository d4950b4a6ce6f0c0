/* How well an attempt agrees with the reference: marks found and their depths, verdicts by what an error would have cost.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The weights are the program's own choice, no source; a lesson may set others.
 */
#pragma once

#include "../judge/ef-judge.h"
#include "ef-mark-match.h"

G_BEGIN_DECLS

typedef struct
{
  double place;       /* m: nearer than this is right */
  double depth;       /* m */
  double depth_share; /* or this share of the reference's depth; the larger counts */
  double least;       /* overlap below which two marks are different ones */
  double size_share;  /* share of the larger one's area that the smaller one may fall short of */
} EfScoreTolerance;

#define EF_SCORE_TOLERANCE_DEFAULT ((EfScoreTolerance){ 2e-3, 1e-5, 0.2, 0.25, 0.5 })

/* One mark of the reference, or a false one. All shares 0 … 1. */
typedef struct
{
  EfMarkPair pair;
  double kind, place, size, depth; /* 1 right */
  double depth_error;        /* m, attempt less reference; NAN */
  double score;              /* 0.4 kind + 0.2 place + 0.1 size + 0.3 depth; 0 missed or false */
  double weight;             /* a mark of a worse verdict counts more: 1 use again, 2 measure again or rework, 3 scrap; false ones 1 */
  char *sentence;            /* mark by mark, in plain words */
} EfMarkScore;

typedef struct
{
  GPtrArray *marks; /* EfMarkScore *: as ef_marks_match() orders them */
  guint n_found, n_wrong_kind, n_missed, n_false;
  double score; /* sum of weight x score over the sum of weights; 1 where there's nothing to find and nothing was marked */
} EfMarksScore;
void ef_marks_score_free (EfMarksScore *score);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfMarksScore, ef_marks_score_free)

/* @verdict: of the reference, for the weights; NULL: all count alike. */
EfMarksScore *ef_score_marks (const GPtrArray *reference, const GPtrArray *attempt, const EfVerdict *verdict, const EfScoreTolerance *tolerance, GError **error);

/* Cost of calling @attempt what is @reference, 0 … 1: a worn part put back costs most, a sound one thrown away less, measuring again least. */
double ef_score_verdict_cost (EfVerdictWord reference, EfVerdictWord attempt);

typedef struct
{
  guint n, n_same;
  double score; /* 1 less the costs over the worst that could have been said */
  char *worst;  /* title of the part whose wrong verdict costs most; NULL */
  double worst_cost;
} EfVerdictsScore;
void ef_verdicts_score_clear (EfVerdictsScore *score);
/* Parts only: those of the reference's tree, found in the attempt's by id. */
void ef_score_verdicts (const EfVerdict *reference, const EfVerdict *attempt, EfVerdictsScore *score);

G_END_DECLS
