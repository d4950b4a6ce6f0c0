/* Matching and scoring: assignment against trying all, overlaps in closed form, and what any fair score must do. Constructed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include <math.h>
#include <string.h>

#include "../fixed-random.h"
#include "judge/ef-rule.h"
#include "teach/ef-score.h"
#include "../isolate.h"

#define MM 1e-3
#define TOLERANCE (2 * MM)

/* Greatest sum over all ways to give rows to the columns from @column on. */
static double
try_all (const double *worth,
         guint n_rows,
         guint n_columns,
         guint column,
         guint taken)
{
  double best;

  if (column == n_columns)
    return 0;
  best = try_all (worth, n_rows, n_columns, column + 1, taken);
  for (guint i = 0; i < n_rows; i++)
    if (!(taken & (1u << i)) && worth[i * n_columns + column] > 0)
      best = fmax (best, worth[i * n_columns + column] + try_all (worth, n_rows, n_columns, column + 1, taken | (1u << i)));

  return best;
}

static void
test_assignment (void)
{
  GRand *random = fixed_random ();

  for (guint round = 0; round < 500; round++)
    {
      guint n_rows = (guint) g_rand_int_range (random, 1, 7), n_columns = (guint) g_rand_int_range (random, 1, 7);
      double worth[36], sum = 0;
      int row_of[6];
      guint taken = 0;

      for (guint i = 0; i < n_rows * n_columns; i++)
        worth[i] = g_rand_double (random) < 0.4 ? 0 : round % 3 == 0 ? g_rand_int_range (random, 0, 3) : g_rand_double (random);
      g_assert_true (ef_assign (worth, n_rows, n_columns, row_of, NULL));
      for (guint j = 0; j < n_columns; j++)
        if (row_of[j] >= 0)
          {
            g_assert_false (taken & (1u << row_of[j]));
            taken |= 1u << row_of[j];
            sum += worth[(guint) row_of[j] * n_columns + j];
          }
      g_assert_cmpfloat (fabs (sum - try_all (worth, n_rows, n_columns, 0, 0)), <, 1e-9);
    }
}

static EfMark *
add_mark (GPtrArray *marks,
          EfMarkKind kind,
          EfMarkShape shape,
          double size,
          double depth,
          guint n,
          const double *uv)
{
  EfMark *mark = ef_mark_new ("separator/side-a", kind, shape, size);

  for (guint i = 0; i < n; i++)
    ef_mark_add_node (mark, uv[2 * i], uv[2 * i + 1]);
  if (depth > 0)
    ef_mark_set_depth (mark, depth, EF_UNIT_MM, NULL);
  mark->number = (int) marks->len + 1;
  g_ptr_array_add (marks, mark);

  return mark;
}

static GPtrArray *
marks_new (void)
{
  return g_ptr_array_new_with_free_func (ef_item_unref);
}

static GPtrArray *
reference_marks (void)
{
  GPtrArray *marks = marks_new ();

  add_mark (marks, EF_MARK_GROOVE, EF_SHAPE_LINE, 1 * MM, 0.09 * MM, 3, (double[]) { 0, 0, 10 * MM, 0, 15 * MM, 5 * MM });
  add_mark (marks, EF_MARK_IMPRINT, EF_SHAPE_POINT, 2 * MM, 0.02 * MM, 1, (double[]) { -20 * MM, 10 * MM });
  add_mark (marks, EF_MARK_SCORING, EF_SHAPE_AREA, 0, 0.04 * MM, 4, (double[]) { 20 * MM, 20 * MM, 30 * MM, 20 * MM, 30 * MM, 26 * MM, 20 * MM, 26 * MM });
  add_mark (marks, EF_MARK_CRACK, EF_SHAPE_LINE, 0.2 * MM, 0, 2, (double[]) { -10 * MM, -20 * MM, -4 * MM, -22 * MM });

  return marks;
}

static GPtrArray *
copy_of (const GPtrArray *marks)
{
  GPtrArray *copy = marks_new ();

  for (guint i = 0; i < marks->len; i++)
    g_ptr_array_add (copy, ef_item_copy (marks->pdata[i]));

  return copy;
}

static double
score_of (const GPtrArray *reference,
          const GPtrArray *attempt)
{
  EfScoreTolerance tolerance = EF_SCORE_TOLERANCE_DEFAULT;
  g_autoptr (GError) error = NULL;
  g_autoptr (EfMarksScore) score = ef_score_marks (reference, attempt, NULL, &tolerance, &error);

  g_assert_no_error (error);
  g_assert_cmpfloat (score->score, >=, 0);
  g_assert_cmpfloat (score->score, <=, 1);

  return score->score;
}

/* Two squares of 10 mm, one 9 mm to the right: with 2 mm around the one, 3 of 10 mm of the other lie within. */
static void
test_overlap (void)
{
  g_autoptr (GPtrArray) marks = marks_new ();
  EfMark *a = add_mark (marks, EF_MARK_SCORING, EF_SHAPE_AREA, 0, 0, 4, (double[]) { 0, 0, 10 * MM, 0, 10 * MM, 10 * MM, 0, 10 * MM });
  EfMark *b = ef_item_copy (a);
  double share;

  g_ptr_array_add (marks, b);
  g_assert_true (ef_mark_overlap (a, a, TOLERANCE, &share, NULL));
  g_assert_cmpfloat (share, ==, 1);
  ef_mark_translate (b, 9 * MM, 0);
  g_assert_true (ef_mark_overlap (a, b, TOLERANCE, &share, NULL));
  g_assert_cmpfloat (fabs (share - 0.3), <, 1e-6);
  ef_mark_translate (b, 4 * MM, 0);
  g_assert_true (ef_mark_overlap (a, b, TOLERANCE, &share, NULL));
  g_assert_cmpfloat (share, ==, 0);
  /* A small mark in a big one isn't the big one: a disc of 2 mm, grown by 2 mm, covers pi 9 mm2 of 100. */
  b = add_mark (marks, EF_MARK_SCORING, EF_SHAPE_POINT, 2 * MM, 0, 1, (double[]) { 5 * MM, 5 * MM });
  g_assert_true (ef_mark_overlap (a, b, TOLERANCE, &share, NULL));
  g_assert_cmpfloat (fabs (share - 0.09 * G_PI), <, 2e-3);
  g_free (b->face_id);
  b->face_id = g_strdup ("separator/side-b");
  g_assert_true (ef_mark_overlap (a, b, TOLERANCE, &share, NULL));
  g_assert_cmpfloat (share, ==, 0);
}

static void
test_perfect_and_empty (void)
{
  g_autoptr (GPtrArray) reference = reference_marks ();
  g_autoptr (GPtrArray) copy = copy_of (reference);
  g_autoptr (GPtrArray) none = marks_new ();

  g_assert_cmpfloat (score_of (reference, copy), ==, 1);
  g_assert_cmpfloat (score_of (reference, none), ==, 0);
  g_assert_cmpfloat (score_of (none, copy), ==, 0);
  g_assert_cmpfloat (score_of (none, none), ==, 1);
}

static void
test_order (void)
{
  GRand *random = fixed_random ();
  g_autoptr (GPtrArray) reference = reference_marks ();
  g_autoptr (GPtrArray) attempt = copy_of (reference);
  double before;

  ef_mark_translate (attempt->pdata[0], 3 * MM, 0);
  ((EfMark *) attempt->pdata[1])->kind = EF_MARK_PITTING;
  ef_mark_set_depth (attempt->pdata[2], 0.07 * MM, EF_UNIT_MM, NULL);
  before = score_of (reference, attempt);
  g_assert_cmpfloat (before, <, 1);
  for (guint round = 0; round < 20; round++)
    {
      for (guint i = attempt->len - 1; i > 0; i--)
        {
          guint j = (guint) g_rand_int_range (random, 0, (gint32) i + 1);
          gpointer kept = attempt->pdata[i];

          attempt->pdata[i] = attempt->pdata[j];
          attempt->pdata[j] = kept;
        }
      g_assert_cmpfloat (fabs (score_of (reference, attempt) - before), <, 1e-12);
    }
}

/* All marks moved together by less than the tolerance: nothing changes. */
static void
test_shift (void)
{
  g_autoptr (GPtrArray) reference = reference_marks ();

  for (guint k = 0; k < 12; k++)
    {
      g_autoptr (GPtrArray) attempt = copy_of (reference);

      for (guint i = 0; i < attempt->len; i++)
        ef_mark_translate (attempt->pdata[i], 0.97 * TOLERANCE * cos (k * G_PI / 6), 0.97 * TOLERANCE * sin (k * G_PI / 6));
      g_assert_cmpfloat (score_of (reference, attempt), ==, 1);
    }
}

/* Farther away, or deeper off, is never better. */
static void
test_monotone (void)
{
  g_autoptr (GPtrArray) reference = reference_marks ();
  double last = 1;

  for (guint step = 0; step <= 24; step++)
    {
      g_autoptr (GPtrArray) attempt = copy_of (reference);
      double score;

      ef_mark_translate (attempt->pdata[2], step * MM / 2, step * MM / 4);
      score = score_of (reference, attempt);
      g_assert_cmpfloat (score, <=, last + 1e-6);
      last = score;
    }
  /* Now it's missed, and a false one stands there. */
  g_assert_cmpfloat (fabs (last - 3.0 / 5), <, 1e-12);

  last = 1;
  for (guint step = 0; step <= 24; step++)
    {
      g_autoptr (GPtrArray) attempt = copy_of (reference);
      double score;

      ef_mark_set_depth (attempt->pdata[0], (0.09 + 0.005 * step) * MM, EF_UNIT_MM, NULL);
      score = score_of (reference, attempt);
      g_assert_cmpfloat (score, <=, last + 1e-6);
      last = score;
    }
  g_assert_cmpfloat (fabs (last - (4 - 0.3) / 4), <, 1e-12);
}

/* The larger of the two tolerances of depth counts, each where it's the larger: of a shallow mark the length, of a deep one the share. 1 within it, nothing from four of it on. */
static void
test_depth_tolerance (void)
{
  static const struct
  {
    double right, said, worth; /* mm */
  } cases[] = {
    { 0.02, 0.0295, 1 }, { 0.02, 0.035, 2.5 / 3 }, { 0.02, 0.045, 0.5 }, { 0.10, 0.119, 1 }, { 0.10, 0.13, 2.5 / 3 }, { 0.10, 0.081, 1 }, { 0.10, 0.19, 0 },
  };
  EfScoreTolerance tolerance = EF_SCORE_TOLERANCE_DEFAULT; /* 0.01 mm, 20 % */

  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
    {
      g_autoptr (GPtrArray) reference = marks_new ();
      g_autoptr (GPtrArray) attempt = NULL;
      g_autoptr (EfMarksScore) score = NULL;

      add_mark (reference, EF_MARK_IMPRINT, EF_SHAPE_POINT, 2 * MM, cases[i].right * MM, 1, (double[]) { 0, 0 });
      attempt = copy_of (reference);
      ef_mark_set_depth (attempt->pdata[0], cases[i].said * MM, EF_UNIT_MM, NULL);
      score = ef_score_marks (reference, attempt, NULL, &tolerance, NULL);
      g_assert_cmpfloat (fabs (((EfMarkScore *) score->marks->pdata[0])->depth - cases[i].worth), <, 1e-9);
    }
}

/* Marks that overlap by less than the least are two different ones, one missed and one not there; by more they're one. */
static void
test_least_overlap (void)
{
  g_autoptr (GPtrArray) reference = marks_new ();
  EfScoreTolerance tolerance = EF_SCORE_TOLERANCE_DEFAULT;
  guint below = 0, above = 0;

  add_mark (reference, EF_MARK_SCORING, EF_SHAPE_AREA, 0, 0.04 * MM, 4, (double[]) { 0, 0, 10 * MM, 0, 10 * MM, 10 * MM, 0, 10 * MM });
  for (guint step = 0; step < 26; step++)
    {
      g_autoptr (GPtrArray) attempt = copy_of (reference);
      g_autoptr (EfMarksScore) score = NULL;
      double share;

      ef_mark_translate (attempt->pdata[0], step * 0.5 * MM, 0);
      g_assert_true (ef_mark_overlap (reference->pdata[0], attempt->pdata[0], tolerance.place, &share, NULL));
      score = ef_score_marks (reference, attempt, NULL, &tolerance, NULL);
      g_assert_cmpuint (score->n_found, ==, share >= tolerance.least);
      g_assert_cmpuint (score->n_missed, ==, share < tolerance.least);
      g_assert_cmpuint (score->n_false, ==, share < tolerance.least);
      below += share > 0 && share < tolerance.least;
      above += share >= tolerance.least;
    }
  g_assert_cmpuint (below, >, 2);
  g_assert_cmpuint (above, >, 2);
}

static void
test_mark_by_mark (void)
{
  g_autoptr (GPtrArray) reference = reference_marks ();
  g_autoptr (GPtrArray) attempt = copy_of (reference);
  EfScoreTolerance tolerance = EF_SCORE_TOLERANCE_DEFAULT;
  g_autoptr (EfMarksScore) score = NULL;
  const EfMarkScore *one;

  ((EfMark *) attempt->pdata[0])->kind = EF_MARK_SCORING;
  ef_mark_set_depth (attempt->pdata[2], 0.12 * MM, EF_UNIT_MM, NULL);
  g_ptr_array_remove_index (attempt, 3);
  add_mark (attempt, EF_MARK_PITTING, EF_SHAPE_POINT, 3 * MM, 0.1 * MM, 1, (double[]) { 60 * MM, 0 });
  score = ef_score_marks (reference, attempt, NULL, &tolerance, NULL);
  g_assert_cmpuint (score->n_found, ==, 2);
  g_assert_cmpuint (score->n_wrong_kind, ==, 1);
  g_assert_cmpuint (score->n_missed, ==, 1);
  g_assert_cmpuint (score->n_false, ==, 1);
  one = score->marks->pdata[0];
  g_assert_cmpstr (one->sentence, ==, "Mark 1, groove: marked as scoring.");
  g_assert_cmpfloat (fabs (one->score - 0.6), <, 1e-12);
  one = score->marks->pdata[2];
  g_assert_nonnull (strstr (one->sentence, "0.080 mm too deep"));
  one = score->marks->pdata[3];
  g_assert_nonnull (strstr (one->sentence, "missed"));
}

/* Two alike, nearer to each other than the tolerance: each is matched with the one at its own place, whatever the order. */
static void
test_nearest (void)
{
  EfScoreTolerance tolerance = EF_SCORE_TOLERANCE_DEFAULT;
  g_autoptr (GPtrArray) reference = marks_new ();

  add_mark (reference, EF_MARK_IMPRINT, EF_SHAPE_POINT, 1 * MM, 0.02 * MM, 1, (double[]) { 0, 0 });
  add_mark (reference, EF_MARK_IMPRINT, EF_SHAPE_POINT, 1 * MM, 0.02 * MM, 1, (double[]) { 0.6 * MM, 0 });
  for (guint order = 0; order < 2; order++)
    {
      g_autoptr (GPtrArray) attempt = marks_new ();
      g_autoptr (EfMarksScore) score = NULL;

      g_ptr_array_add (attempt, ef_item_copy (reference->pdata[order]));
      g_ptr_array_add (attempt, ef_item_copy (reference->pdata[1 - order]));
      score = ef_score_marks (reference, attempt, NULL, &tolerance, NULL);
      for (guint i = 0; i < 2; i++)
        {
          const EfMarkScore *one = score->marks->pdata[i];

          g_assert_cmpint (one->pair.attempt, ==, order == 0 ? one->pair.reference : 1 - one->pair.reference);
        }
    }
}

static EfVerdict *
tree (const EfVerdictWord *words,
      guint n)
{
  EfVerdict *root = ef_verdict_new (EF_LEVEL_PUMP, g_strdup ("pump"), g_strdup ("Pump"));

  for (guint i = 0; i < n; i++)
    {
      EfVerdict *part = ef_verdict_new (EF_LEVEL_PART, g_strdup_printf ("part:%u", i), g_strdup_printf ("Part %u", i));

      part->word = part->computed = words[i];
      g_ptr_array_add (root->children, part);
    }

  return root;
}

static double
verdict_score (EfVerdictWord first,
               EfVerdictWord second,
               const char *worst)
{
  const EfVerdictWord right[] = { EF_VERDICT_SCRAP, EF_VERDICT_USE }, said[] = { first, second };
  g_autoptr (EfVerdict) reference = tree (right, 2);
  g_autoptr (EfVerdict) attempt = tree (said, 2);
  EfVerdictsScore score;
  double value;

  ef_score_verdicts (reference, attempt, &score);
  g_assert_cmpuint (score.n, ==, 2);
  g_assert_cmpstr (score.worst, ==, worst);
  value = score.score;
  ef_verdicts_score_clear (&score);

  return value;
}

static void
test_verdicts (void)
{
  double missed_scrap = verdict_score (EF_VERDICT_USE, EF_VERDICT_USE, "Part 0");
  double needless_scrap = verdict_score (EF_VERDICT_SCRAP, EF_VERDICT_SCRAP, "Part 1");

  g_assert_cmpfloat (verdict_score (EF_VERDICT_SCRAP, EF_VERDICT_USE, NULL), ==, 1);
  g_assert_cmpfloat (missed_scrap, <, needless_scrap);
  g_assert_cmpfloat (verdict_score (EF_VERDICT_USE, EF_VERDICT_SCRAP, "Part 0"), ==, 0);
  /* Saying "measure again" is never the dearest mistake. */
  for (int right = 0; right < EF_N_VERDICTS; right++)
    {
      g_assert_cmpfloat (ef_score_verdict_cost (right, right), ==, 0);
      for (int said = 0; said < EF_N_VERDICTS; said++)
        if (said != right && right != EF_VERDICT_MEASURE)
          g_assert_cmpfloat (ef_score_verdict_cost (right, EF_VERDICT_MEASURE), <=, ef_score_verdict_cost (right, said));
    }
}

static void
test_refused (void)
{
  g_autoptr (GPtrArray) reference = reference_marks ();
  g_autoptr (GPtrArray) broken = marks_new ();
  EfScoreTolerance tolerance = EF_SCORE_TOLERANCE_DEFAULT;
  g_autoptr (GError) error = NULL;

  add_mark (broken, EF_MARK_SCORING, EF_SHAPE_AREA, 0, 0, 2, (double[]) { 0, 0, 1 * MM, 0 });
  g_assert_null (ef_score_marks (reference, broken, NULL, &tolerance, &error));
  g_assert_nonnull (error);
  g_clear_error (&error);
  tolerance.place = 0;
  g_assert_null (ef_score_marks (reference, reference, NULL, &tolerance, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/score/assignment", test_assignment);
  g_test_add_func ("/score/overlap", test_overlap);
  g_test_add_func ("/score/perfect-and-empty", test_perfect_and_empty);
  g_test_add_func ("/score/order", test_order);
  g_test_add_func ("/score/shift-within-tolerance", test_shift);
  g_test_add_func ("/score/monotone", test_monotone);
  g_test_add_func ("/score/depth-tolerance", test_depth_tolerance);
  g_test_add_func ("/score/least-overlap", test_least_overlap);
  g_test_add_func ("/score/mark-by-mark", test_mark_by_mark);
  g_test_add_func ("/score/nearest", test_nearest);
  g_test_add_func ("/score/verdicts", test_verdicts);
  g_test_add_func ("/score/refused", test_refused);

  return g_test_run ();
}
