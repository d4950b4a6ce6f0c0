/* Surfaces against closed forms, and plans carried out on surfaces.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>
#include <gsl/gsl_cdf.h>

#include "../check-values.h"
#include "../fixed-random.h"
#include "metrology/ef-flatness.h"
#include "rework/ef-lap-passes.h"
#include "rework/ef-lapped-surface.h"
#include "rework/ef-stock-needed.h"
#include "../isolate.h"

#define UM 1e-6
#define SAMPLES 1000000u

/* Heights whose sorted curve is known: they stand at the middles of equal shares. */
static double *
surface (const char *name)
{
  double *heights = g_new (double, SAMPLES);

  for (guint i = 0; i < SAMPLES; i++)
    {
      double share = (i + 0.5) / SAMPLES;

      if (strstr (name, "sine") != NULL)
        heights[i] = cos (G_PI * share);
      else if (strstr (name, "triangle") != NULL)
        heights[i] = 1.0 - 2.0 * share;
      else
        heights[i] = gsl_cdf_ugaussian_Qinv (share);
    }

  return heights;
}

static double
core_value (const EfSurfaceCore *core,
            const char *quantity)
{
  if (g_str_has_prefix (quantity, "Rk"))
    return core->rk;
  if (g_str_has_prefix (quantity, "Rpk"))
    return core->rpk;
  if (g_str_has_prefix (quantity, "Rvk"))
    return core->rvk;

  return g_str_equal (quantity, "Mr1") ? core->mr1 : core->mr2;
}

/* The lines of the table that lapping and surfaces answer for; rates of lapping have their own test. */
static void
check_surface (const CheckRow *row)
{
  g_autofree double *heights = surface (row->name);
  g_autoptr (GError) error = NULL;
  EfSurfaceMoments moments;
  EfSurfaceCore core;
  double value = NAN;

  if (g_str_has_prefix (row->name, "Abbott"))
    value = ef_surface_ratio (heights, SAMPLES, check_input (row->inputs, "c", NAN));
  else if (strstr (row->name, "secant") != NULL)
    {
      g_assert_true (ef_surface_core (heights, SAMPLES, &core, &error));
      value = core_value (&core, row->quantity);
      /* peaks and valleys of an endless bell curve: the samples cut its tails at 1e-6 of the material */
      if (strstr (row->name, "Gaussian") != NULL && !g_str_has_prefix (row->quantity, "Rk"))
        {
          g_assert_cmpfloat (fabs (value - row->value), <, 2e-5 * fabs (row->value));
          return;
        }
      if (row->value == 0.0)
        {
          g_assert_cmpfloat (fabs (value), <, 2e-6);
          return;
        }
      g_assert_cmpfloat (fabs (value - row->value), <, 4e-6 * row->value);
      return;
    }
  else
    {
      g_assert_true (ef_surface_moments (heights, SAMPLES, &moments, &error));
      value = g_str_equal (row->quantity, "Ra") ? moments.ra : g_str_equal (row->quantity, "Rq") ? moments.rq :
              g_str_equal (row->quantity, "Rsk") ? moments.rsk : moments.rku;
    }
  /* counted in samples: 1e-6 of the material either way */
  if (row->value == 0.0)
    g_assert_cmpfloat (fabs (value), <, 1e-6);
  else
    g_assert_cmpfloat (fabs (value - row->value), <=, (row->tolerance + 1e-6 / row->value) * row->value);
}

/* Lapping by the plain sums. */
static void
check_lapping (const CheckRow *row)
{
  double depth = check_input (row->inputs, "pocket depth", NAN) * 1e-3;
  double width = check_input (row->inputs, "gear width", NAN) * 1e-3;
  double r[2] = { check_input (row->inputs, "housing face lapped", NAN) * 1e-3, check_input (row->inputs, "gear faces lapped total", NAN) * 1e-3 };
  double flatness = check_input (row->inputs, "PV", NAN) * 1e-3;
  double scratch = check_input (row->inputs, "scratch below lowest zone plane", NAN) * 1e-3;
  double areas[2] = { 1.0, 9.0 }, depths[2] = { scratch, 0.0 };
  g_autoptr (EfLapProblem) problem = ef_lap_problem_new ();
  g_auto (EfLandCurve) land = { 0 };
  EfCleanTarget wholly = { .goal = EF_CLEAN_WHOLLY };
  EfLapSection *section = ef_lap_problem_add_section (problem, "s");
  double nothing[2] = { 0.0, 0.0 };
  double before, after;

  section->depth = depth;
  section->width[0] = section->width[1] = width;
  section->ends[0][0] = 1;
  ef_lap_section_add (section, 0, -1.0);
  g_assert_true (ef_land_curve_init (&land, depths, areas, NULL, 2, NULL));
  before = ef_lap_section_clearance (section, nothing, 0);
  after = ef_lap_section_clearance (section, r, 0);
  if (g_str_equal (row->quantity, "end clearance before"))
    check_near (row, before * 1e3);
  else if (g_str_equal (row->quantity, "end clearance after"))
    check_near (row, after * 1e3);
  else if (strstr (row->quantity, "minimum stock") != NULL)
    /* without a scratch the face itself has to come level: the flatness bound of the plan */
    check_near (row, fmax (ef_stock_needed (&land, flatness, &wholly), flatness) * 1e3);
  else
    check_near (row, pow (after / before, 3.0));
}

static void
check_row (const CheckRow *row)
{
  if (g_str_has_prefix (row->name, "lap-"))
    check_lapping (row);
  else if (!g_str_has_prefix (row->name, "Preston"))
    check_surface (row);
}

static void
test_check_values (void)
{
  g_assert_cmpuint (check_table ("surface-lapping.csv", check_row), ==, 44);
}

/* A face as heights on a raster, with the scratches apart from the form they are cut into. */
#define SIDE 24
#define CELLS (SIDE * SIDE)

typedef struct
{
  double form[CELLS];    /* m */
  double scratch[CELLS]; /* depth below the form */
  double flatness;       /* of the form, minimum zone */
  double deepest;
  EfPlane level;         /* of the zone */
} Face;

static double
zone_of (const double *heights,
         const double *scratch,
         EfPlane *plane_out)
{
  double xyz[3 * CELLS];
  EfFlatnessZone zone;
  g_autoptr (GError) error = NULL;
  guint n = 0;

  for (int i = 0; i < CELLS; i++)
    {
      if (scratch != NULL && scratch[i] > 0.0)
        continue;
      xyz[3 * n] = i % SIDE * 1e-3;
      xyz[3 * n + 1] = i / SIDE * 1e-3;
      xyz[3 * n + 2] = heights[i];
      n++;
    }
  g_assert_true (ef_flatness_minimum_zone (xyz, n, &zone, &error));
  if (plane_out != NULL)
    *plane_out = zone.plane;

  return zone.zone;
}

static void
cut_scratch (Face *face,
             double most)
{
  int x = fixed_int (0, SIDE), y = fixed_int (0, SIDE);
  double depth = fixed_double (0.0, most);
  int length = fixed_int (1, 12);

  for (int k = 0; k < length; k++, x++)
    if (x < SIDE)
      face->scratch[y * SIDE + x] = fmax (face->scratch[y * SIDE + x], depth * (0.5 + 0.5 * k / length));
}

/* Dished, twisted and rippled, then levelled by its own zone as on the plate. */
static void
make_face (Face *face,
           double form,
           double scratch)
{
  double a = fixed_double (-form, form), b = fixed_double (-form, form), c = fixed_double (0.0, form / 4);

  memset (face, 0, sizeof *face);
  for (int i = 0; i < CELLS; i++)
    {
      double u = 2.0 * (i % SIDE) / (SIDE - 1) - 1.0, v = 2.0 * (i / SIDE) / (SIDE - 1) - 1.0;

      face->form[i] = a * (u * u + v * v) / 2.0 + b * u * v + c * sin (7.0 * u + 3.0 * v);
    }
  face->flatness = zone_of (face->form, NULL, &face->level);
  for (int i = 0; i < CELLS; i++)
    face->form[i] -= ef_plane_at (&face->level, i % SIDE * 1e-3, i / SIDE * 1e-3);
  for (int k = 0; k < 4; k++)
    cut_scratch (face, scratch);
  for (int i = 0; i < CELLS; i++)
    face->deepest = fmax (face->deepest, face->scratch[i]);
}

static double
highest (const double *heights)
{
  double most = -INFINITY;

  for (int i = 0; i < CELLS; i++)
    most = fmax (most, heights[i]);

  return most;
}

/* Carries the removal out and measures: how far the highest place came down, what depth of wear and what flatness are left. */
static void
lap_face (const Face *face,
          double removal,
          double *down,
          double *wear,
          double *flatness)
{
  double worn[CELLS], bare[CELLS];
  double top, plane;

  for (int i = 0; i < CELLS; i++)
    worn[i] = face->form[i] - face->scratch[i];
  top = highest (face->form);
  plane = top - removal;
  /* The plate rests on the face's highest places, scratched or not. */
  for (int i = 0; i < CELLS; i++)
    {
      bare[i] = fmin (face->form[i], plane);
      worn[i] = fmin (worn[i], plane);
    }
  *wear = 0.0;
  for (int i = 0; i < CELLS; i++)
    *wear = fmax (*wear, bare[i] - worn[i]);
  *down = top - highest (bare);
  *flatness = zone_of (bare, NULL, NULL);
}

static void
describe_face (EfLapProblem *problem,
               const Face *face,
               const char *id,
               EfLapRole role,
               double residual,
               double allowed,
               double stock)
{
  EfLapFace *out = ef_lap_problem_add_face (problem, id, role);
  double areas[CELLS];
  g_auto (EfLandCurve) land = { 0 };
  EfCleanTarget target = { .goal = EF_CLEAN_TO_RESIDUAL, .residual = residual };
  double needed;

  for (int i = 0; i < CELLS; i++)
    areas[i] = 1e-6;
  g_assert_true (ef_land_curve_init (&land, face->scratch, areas, NULL, CELLS, NULL));
  needed = ef_stock_needed (&land, face->flatness, &target);
  out->needed = needed > 0.0 ? needed + residual : 0.0;
  out->residual = residual;
  out->flatness = face->flatness;
  out->flatness_allowed = allowed;
  out->stock = stock;
  out->weight = role == EF_LAP_GEAR_END ? 1.5 : 1.0;
  out->setup = role == EF_LAP_GEAR_END ? 10 * UM : 5 * UM;
}

typedef struct
{
  Face face[6]; /* housing, plate, gear ends */
  double depth, width[2];
  double residual, allowed;
} Pump;

static EfLapProblem *
describe_pump (const Pump *pump)
{
  static const char *const ids[6] = { "housing/mating", "plate/side-a", "drive/end-a", "drive/end-b", "driven/end-a", "driven/end-b" };
  EfLapProblem *problem = ef_lap_problem_new ();
  EfLapSection *section;

  for (int i = 0; i < 6; i++)
    describe_face (problem, &pump->face[i], ids[i], i == 0 ? EF_LAP_MATING : i == 1 ? EF_LAP_PLATE : EF_LAP_GEAR_END, pump->residual, pump->allowed,
                   (i == 0 ? 150 : i == 1 ? 200 : 40) * UM);
  section = ef_lap_problem_add_section (problem, "pressure");
  section->depth = pump->depth;
  section->width[0] = pump->width[0];
  section->width[1] = pump->width[1];
  section->width_allowed = 5 * UM;
  section->clearance_min = 50 * UM;
  section->clearance_max = 80 * UM;
  for (int i = 0; i < 4; i++)
    section->ends[i / 2][i % 2] = 2 + i;
  ef_lap_section_add (section, 0, -1.0);

  return problem;
}

static void
carry_out (const Pump *pump,
           const double *removal)
{
  double down[6];
  double depth, width[2];

  for (int i = 0; i < 6; i++)
    {
      double wear, flatness;

      lap_face (&pump->face[i], removal[i], &down[i], &wear, &flatness);
      g_assert_cmpfloat (wear, <=, pump->residual + 1e-10);
      g_assert_cmpfloat (flatness, <=, pump->allowed + 1e-10);
      g_assert_cmpfloat (down[i], <=, (i == 0 ? 150 : i == 1 ? 200 : 40) * UM + 1e-10);
    }
  depth = pump->depth - down[0];
  for (int gear = 0; gear < 2; gear++)
    {
      width[gear] = pump->width[gear] - down[2 + 2 * gear] - down[3 + 2 * gear];
      g_assert_cmpfloat (depth - width[gear], >=, 50 * UM - 1e-10);
      g_assert_cmpfloat (depth - width[gear], <=, 80 * UM + 1e-10);
    }
  g_assert_cmpfloat (fabs (width[0] - width[1]), <=, 5 * UM + 1e-10);
}

static void
test_carried_out (void)
{
  int done = 0, passes_done = 0;

  for (int round = 0; round < 60; round++)
    {
      Pump *pump = g_new0 (Pump, 1);
      g_autoptr (EfLapProblem) problem = NULL;
      g_autoptr (GError) error = NULL;
      g_autoptr (EfLapPlan) plan = NULL;
      g_autoptr (EfLapPassPlan) passes = NULL;
      EfLapGrits grits[6];

      for (int i = 0; i < 6; i++)
        {
          make_face (&pump->face[i], (i < 2 ? 12 : 3) * UM, (i < 2 ? 60 : 12) * UM);
          ef_lap_grits_default (&grits[i]);
        }
      pump->depth = fixed_double (25060, 25190) * UM;
      pump->width[0] = 25000 * UM;
      pump->width[1] = fixed_double (24992, 25008) * UM;
      pump->residual = fixed_double (0, 6) * UM;
      pump->allowed = fixed_double (1, 10) * UM;
      problem = describe_pump (pump);
      plan = ef_lap_plan_solve (problem, EF_LAP_LEAST_EFFORT, &error);
      g_assert_no_error (error);
      if (plan->feasible)
        {
          done++;
          carry_out (pump, plan->removal);
          passes = ef_lap_passes_plan (problem, plan, grits, &error);
          g_assert_no_error (error);
          if (passes->feasible)
            {
              passes_done++;
              carry_out (pump, passes->removal);
            }
        }
      g_free (pump);
    }
  g_test_message ("%d plans carried out, %d of them in whole passes", done, passes_done);
  g_assert_cmpint (done, >, 20);
  g_assert_cmpint (passes_done, >, 15);
}

static void
test_lap (void)
{
  double heights[4] = { 3, 1, -2, 0 };
  g_autoptr (GError) error = NULL;
  EfSurfaceMoments moments;

  ef_surface_lap (heights, 4, 2.5);
  g_assert_cmpfloat (heights[0], ==, 0.5);
  g_assert_cmpfloat (heights[1], ==, 0.5);
  g_assert_cmpfloat (heights[2], ==, -2);
  g_assert_cmpfloat (ef_surface_ratio (heights, 4, 0.5), ==, 0.5);
  heights[3] = NAN;
  g_assert_false (ef_surface_moments (heights, 4, &moments, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
}

/* By hand: a peak, eight heights on a straight fall, a valley. The curve stands at (i + 1/2) / 10; its least steep secant falls by 1 over the whole share, from 0.67 at a share of
 * 0.18, the first place that is tried from which all of the window lies on the straight part. So the core lies from 0.85 to -0.15. */
static void
test_few_heights (void)
{
  double heights[10] = { 10, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1, 0.0, -10 };
  g_autoptr (GError) error = NULL;
  EfSurfaceCore core;

  g_assert_true (ef_surface_core (heights, 10, &core, &error));
  g_assert_cmpfloat_with_epsilon (core.rk, 1.0, 1e-9);
  g_assert_cmpfloat_with_epsilon (core.mr1, 0.05 + 0.1 * (10 - 0.85) / 9.3, 1e-9);
  g_assert_cmpfloat_with_epsilon (core.mr2, 0.85 + 0.1 * 0.15 / 10, 1e-9);
  g_assert_cmpfloat_with_epsilon (core.rpk, 2 * (10 - 0.85) / 10 / core.mr1, 1e-9);
  g_assert_cmpfloat_with_epsilon (core.rvk, 2 * (10 - 0.15) / 10 / (1 - core.mr2), 1e-9);
}

int
main (int argc,
      char *argv[])
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/lapped-surface/check-values", test_check_values);
  g_test_add_func ("/lapped-surface/few-heights", test_few_heights);
  g_test_add_func ("/lapped-surface/lap", test_lap);
  g_test_add_func ("/lapped-surface/carried-out", test_carried_out);

  return g_test_run ();
}
