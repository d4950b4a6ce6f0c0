/* Which mark of an attempt stands for which mark of the reference.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Two marks of one face overlap by the lesser of two shares: how much of the one lies within the place tolerance of the other, and the other way round. Moving
 * a mark by less than the tolerance leaves that at 1. Marks are matched one to one so that the sum of what they are worth to each other is greatest
 * (assignment problem, solved as a linear programme by GLPK; its vertices are whole numbers). Of equal worth the nearer ones are taken, so that the order of
 * the lists doesn't matter.
 */
#pragma once

#include "../wear/ef-mark.h"

G_BEGIN_DECLS

/* Share in common, 0 … 1; 0 on different faces. Areas by GEOS. @tolerance > 0, m. Fails with ef_mark_check()'s error. */
gboolean ef_mark_overlap (const EfMark *a, const EfMark *b, double tolerance, double *share_out, GError **error);

/* Area that both cover over the area that either does, 0 … 1, without any tolerance (Jaccard's index); 0 on different faces. */
gboolean ef_mark_common (const EfMark *a, const EfMark *b, double *share_out, GError **error);

typedef struct
{
  int reference, attempt; /* places in the two lists; -1: a false one, -1: a missed one */
  double overlap;         /* NAN unless both are there */
  gboolean same_kind;
} EfMarkPair;

/* Pairs, then missed marks, then false ones, each in the order of their lists. A pair of the wrong kind counts half. Pairs overlapping by less
 * than @least (0 … 1) are none. */
GArray *ef_marks_match (EfMark *const *reference, guint n_reference, EfMark *const *attempt, guint n_attempt, double tolerance, double least, GError **error); /* EfMarkPair */

/* The same with another worth, >= 0, of a pair that overlaps by @overlap; 0 never taken. Where a millionth decides, the nearer pair wins. */
typedef double (*EfMarkWorth) (const EfMark *reference, const EfMark *attempt, double overlap, gpointer data);
GArray *ef_marks_match_by (EfMark *const *reference, guint n_reference, EfMark *const *attempt, guint n_attempt, double tolerance, double least, EfMarkWorth worth, gpointer data, GError **error);

/* The assignment alone: worth[i * n_columns + j] >= 0, 0 never taken; row_of[j] gets the row of column j or -1. Fails with EF_ERROR_NOT_CONVERGED. */
gboolean ef_assign (const double *worth, guint n_rows, guint n_columns, int *row_of, GError **error);

G_END_DECLS
