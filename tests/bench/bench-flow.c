/* From an edit to the figures: how long the whole assessment and its flow part take after one mark of a face changed, against the first solve of
 * one gear end in the same run; how the cost of a re-solve grows with the cells; and the memory that all of it took.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "../flow/film-problem.h"

#include "assess/ef-assessment.h"
#include "record/ef-exchange.h"

#include <math.h>
#include <stdio.h>
#include <sys/resource.h>
#include <time.h>

#define ROUNDS 7

static double
now (void)
{
  struct timespec spec;

  /* Of this thread: what other programs do on the machine counts as little as can be. */
  clock_gettime (CLOCK_THREAD_CPUTIME_ID, &spec);

  return (double) spec.tv_sec + 1e-9 * (double) spec.tv_nsec;
}

static int
compare_numbers (gconstpointer a,
                 gconstpointer b)
{
  double left = *(const double *) a;
  double right = *(const double *) b;

  return (left > right) - (left < right);
}

/* A busy machine makes some rounds slow, never fast. */
static double
median (double *values,
        guint n)
{
  qsort (values, n, sizeof *values, compare_numbers);

  return values[n / 2];
}

/* One depth of the first mark that the face has is made 1 um deeper, as a new item. */
static void
edit_mark (EfInspection *inspection,
           const char *face)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (inspection, face);
  EfMark *before = marks->pdata[0];
  EfMark *after = ef_item_copy (before);

  g_assert_cmpuint (after->depths->len, >, 0);
  g_array_index (after->depths, EfMarkDepth, 0).depth += 1e-6;
  g_assert_true (ef_inspection_swap (inspection, &before->item, &after->item, NULL));
  ef_item_unref (after);
}

static EfAssessment *
assess (EfInspection *inspection,
        EfRuleSet *rules,
        EfAssessCache *cache,
        EfFlowDetail detail)
{
  g_autoptr (GError) error = NULL;
  EfAssessment *assessment = ef_assess_in_detail (inspection, rules, cache, detail, NULL, &error);

  g_assert_no_error (error);

  return assessment;
}

typedef struct
{
  double whole, flow; /* s */
} Latency;

/* The flow part alone is timed on films of its own, which see each edit for the first time then. */
static Latency
time_edits (EfInspection *inspection,
            EfRuleSet *rules,
            const char *face,
            EfFlowDetail detail)
{
  g_autoptr (EfAssessCache) cache = ef_assess_cache_new ();
  EfFlowCache *films = ef_flow_cache_new ();
  const double unknown[2] = { NAN, NAN };
  double whole[ROUNDS], flow[ROUNDS];

  for (int k = -1; k < ROUNDS; k++)
    {
      g_autoptr (EfAssessment) assessment = NULL;
      g_autoptr (EfFlowResult) result = NULL;
      double start;

      edit_mark (inspection, face);
      start = now ();
      assessment = assess (inspection, rules, cache, detail);
      if (k >= 0)
        whole[k] = now () - start;
      start = now ();
      result = ef_flow_result_new (&assessment->findings, NULL, unknown, detail, films, NULL, NULL);
      if (k >= 0)
        flow[k] = now () - start;
    }
  ef_flow_cache_free (films);

  return (Latency) { median (whole, ROUNDS), median (flow, ROUNDS) };
}

/* Domain, gaps, analysis and solve of one gear end for the first time, and the gaps and the solve again after its gap changed. */
static void
time_end (guint side,
          double *first_out,
          double *again_out)
{
  EfFlowGeometry geometry;
  EfMesh mesh;
  double depth = 80e-6;
  double first[3], again[3];

  film_problem_geometry (&geometry);
  g_assert_true (ef_mesh_at (&geometry.pair, geometry.suction_angle, geometry.delivery_angle, 0.9e-3, &mesh, NULL));
  for (int k = 0; k < 3; k++)
    {
      double start = now ();
      g_auto (EfFilmShape) shape = ef_gear_face_shape (&geometry, &mesh, 0, 0);
      g_autoptr (EfFilmDomain) domain = ef_film_domain_new (&shape, side, NULL);
      g_autoptr (EfFilmSolver) solver = ef_film_solver_new (domain, EF_FILM_CHOLMOD);
      g_autoptr (EfFilmLinks) links = ef_film_links_new (domain, film_problem_gap, NULL, &depth, EF_FILM_ROWS, NULL);
      g_autoptr (EfFilmLinks) edited = NULL;
      g_autofree double *c = g_new (double, shape.n_groups * shape.n_groups);

      g_assert_true (ef_film_solve (solver, links, NULL, c, NULL, NULL, NULL, NULL));
      first[k] = now () - start;
      depth += 2e-6;
      start = now ();
      edited = ef_film_links_new (domain, film_problem_gap, NULL, &depth, EF_FILM_ROWS, NULL);
      g_assert_true (ef_film_solve (solver, edited, NULL, c, NULL, NULL, NULL, NULL));
      again[k] = now () - start;
    }
  ef_flow_geometry_clear (&geometry);
  *first_out = median (first, 3);
  *again_out = median (again, 3);
}

static void
print_latency (const char *detail,
               const Latency *latency,
               double reference)
{
  printf ("%-8s %9.1f ms %8.2f  %9.1f ms %8.2f\n", detail, 1e3 * latency->whole, latency->whole / reference, 1e3 * latency->flow, latency->flow / reference);
}

int
main (int argc,
      char **argv)
{
  static const char *const names[EF_N_DETAILS] = { "coarse", "fine", "full" };
  g_autofree char *path = ef_data_path ("demo", "job-1-hl-24.json", NULL);
  EfRuleSet *rules = ef_rule_set_default (NULL);
  EfInspection *inspection = ef_exchange_load (path, NULL);
  double reference, unused, previous = 0.0;
  struct rusage usage;

  time_end (256, &reference, &unused);
  printf ("One depth of one mark on the separator plate changed. Ratios are to the first solve of one gear end at 256^2 cells, %.1f ms.\n", 1e3 * reference);
  printf ("%-8s %12s %8s  %12s %8s\n", "detail", "edit to all", "ratio", "flow part", "ratio");
  for (int detail = 0; detail < EF_N_DETAILS; detail++)
    {
      Latency latency = time_edits (inspection, rules, "separator/side-a", detail);

      print_latency (names[detail], &latency, reference);
    }
  getrusage (RUSAGE_SELF, &usage);
  printf ("peak memory %.0f MB\n", usage.ru_maxrss / 1024.0);

  printf ("One gear end, all groups:\n%6s %12s %12s %8s\n", "cells", "first", "again", "growth");
  for (guint side = 64; side <= 512; side *= 2)
    {
      double first, again;

      time_end (side, &first, &again);
      printf ("%4u^2 %9.2f ms %9.2f ms %7.1fx\n", side, 1e3 * first, 1e3 * again, previous > 0.0 ? again / previous : 1.0);
      previous = again;
    }
  ef_inspection_free (inspection);
  ef_rule_set_free (rules);

  return 0;
}
