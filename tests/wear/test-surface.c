/* Surfaces from marks: heights, volumes and profiles that can be worked out by hand. Constructed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "wear/ef-surface.h"
#include "../isolate.h"

#include <math.h>
#include <string.h>

static EfFaceChart *
chart_of (const char *face)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  g_autoptr (GError) error = NULL;
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, &error);
  EfFaceChart *chart = ef_face_chart_new (sheet, face, &error);

  g_assert_no_error (error);

  return chart;
}

static EfSurface *
surface_of (EfFaceChart *chart,
            EfMark *mark)
{
  g_autoptr (GError) error = NULL;
  EfSurface *surface = ef_surface_new (chart, &mark, mark != NULL ? 1 : 0, 0.0, 5, NULL, &error);

  g_assert_no_error (error);

  return surface;
}

static double
height_at (const EfSurface *s,
           double u,
           double v)
{
  return s->height[(guint) ((v - s->v0) / s->cell) * s->nu + (guint) ((u - s->u0) / s->cell)];
}

static double
volume (const EfSurface *s)
{
  double sum = 0.0;

  for (gsize k = 0; k < (gsize) s->nu * s->nv; k++)
    sum -= s->height[k];

  return sum * s->cell * s->cell;
}

static EfMark *
line (EfFaceChart *chart,
      EfMarkKind kind,
      double width,
      double depth)
{
  EfMark *mark = ef_mark_new (chart->id, kind, EF_SHAPE_LINE, width);

  ef_mark_add_node (mark, 30e-3, 5e-3);
  ef_mark_add_node (mark, 40e-3, 5e-3);
  ef_mark_set_depth (mark, depth, EF_UNIT_MM, NULL);

  return mark;
}

/* A groove is a parabola across: two thirds of width x depth, 10 mm long, and its ends half a paraboloid each: pi r^2 d / 2. */
static void
test_groove (void)
{
  g_autoptr (EfFaceChart) chart = chart_of ("separator/side-a");
  EfMark *mark = line (chart, EF_MARK_GROOVE, 2e-3, 50e-6);
  g_autoptr (EfSurface) s = surface_of (chart, mark);
  double expected = 2.0 / 3.0 * 2e-3 * 50e-6 * 10e-3 + G_PI * 1e-6 * 50e-6 / 2.0;

  g_assert_cmpfloat (fabs (volume (s) / expected - 1.0), <, 0.01);
  g_assert_cmpfloat (fabs (height_at (s, 35e-3, 5e-3) + 50e-6), <, 0.3e-6);
  g_assert_cmpfloat (fabs (height_at (s, 35e-3, 5.5e-3) + 50e-6 * 0.75), <, 3e-6);
  g_assert_cmpfloat (height_at (s, 35e-3, 7e-3), ==, 0.0f);
  ef_item_unref (mark);
}

/* A lip is worn on the right of its line as it runs; the other side stands. */
static void
test_lip_has_a_side (void)
{
  g_autoptr (EfFaceChart) chart = chart_of ("separator/side-a");
  EfMark *mark = line (chart, EF_MARK_LIP, 2e-3, 40e-6);
  g_autoptr (EfSurface) s = surface_of (chart, mark);

  g_assert_cmpfloat (height_at (s, 35e-3, 4.15e-3), <, -35e-6);
  g_assert_cmpfloat (height_at (s, 35e-3, 5.85e-3), >, -5e-6);
  ef_item_unref (mark);
}

/* An imprint: a dish, its rim proud by a quarter of its depth. */
static void
test_imprint (void)
{
  g_autoptr (EfFaceChart) chart = chart_of ("separator/side-a");
  EfMark *mark = ef_mark_new (chart->id, EF_MARK_IMPRINT, EF_SHAPE_POINT, 4e-3);
  g_autoptr (EfSurface) s = NULL;
  double highest = 0.0;

  ef_mark_add_node (mark, 34e-3, 5e-3);
  ef_mark_set_depth (mark, 40e-6, EF_UNIT_MM, NULL);
  s = surface_of (chart, mark);
  for (gsize k = 0; k < (gsize) s->nu * s->nv; k++)
    highest = fmax (highest, s->height[k]);
  g_assert_cmpfloat (fabs (highest - 10e-6), <, 0.2e-6);
  g_assert_cmpfloat (fabs (height_at (s, 34e-3, 5e-3) + 40e-6), <, 0.5e-6);
  ef_item_unref (mark);
}

/* An area of even depth takes its area times its depth. */
static void
test_step (void)
{
  g_autoptr (EfFaceChart) chart = chart_of ("separator/side-a");
  EfMark *mark = ef_mark_new (chart->id, EF_MARK_STEP, EF_SHAPE_AREA, 0);
  g_autoptr (EfSurface) s = NULL;

  ef_mark_add_node (mark, 30.97e-3, 4e-3);
  ef_mark_add_node (mark, 39.03e-3, 4e-3);
  ef_mark_add_node (mark, 39.03e-3, 7e-3);
  ef_mark_add_node (mark, 30.97e-3, 7e-3);
  ef_mark_set_depth (mark, 20e-6, EF_UNIT_MM, NULL);
  s = surface_of (chart, mark);
  g_assert_cmpfloat (fabs (volume (s) / (8.06e-3 * 3e-3 * 20e-6) - 1.0), <, 0.005);
  ef_item_unref (mark);
}

/* Marks without a depth are seen, those of other faces aren't. */
static void
test_unknown_and_elsewhere (void)
{
  g_autoptr (EfFaceChart) chart = chart_of ("separator/side-a");
  EfMark *mark = line (chart, EF_MARK_GROOVE, 1e-3, 50e-6);
  g_autoptr (EfSurface) seen = NULL;
  g_autoptr (EfSurface) elsewhere = NULL;

  g_array_set_size (mark->depths, 0);
  seen = surface_of (chart, mark);
  g_assert_cmpfloat (fabs (height_at (seen, 35e-3, 5e-3) + EF_SURFACE_UNKNOWN), <, 0.1e-6);
  g_free (mark->face_id);
  mark->face_id = g_strdup ("separator/side-b");
  elsewhere = surface_of (chart, mark);
  g_assert_cmpfloat (volume (elsewhere), ==, 0.0);
  ef_item_unref (mark);
}

/* On a chart that wraps, a line past its end goes on at the beginning. */
static void
test_wraps (void)
{
  g_autoptr (EfFaceChart) chart = chart_of ("pressure-housing/bore-drive");
  EfMark *mark = ef_mark_new (chart->id, EF_MARK_GROOVE, EF_SHAPE_LINE, 1e-3);
  g_autoptr (EfSurface) s = NULL;
  double v = 0.5 * (chart->v0 + chart->v1);

  g_assert_true (chart->wraps);
  ef_mark_add_node (mark, chart->u1 - 2e-3, v);
  ef_mark_add_node (mark, chart->u1 + 2e-3, v);
  ef_mark_set_depth (mark, 30e-6, EF_UNIT_MM, NULL);
  s = surface_of (chart, mark);
  g_assert_cmpfloat (height_at (s, chart->u0 + 1e-3, v), <, -25e-6);
  g_assert_cmpfloat (height_at (s, chart->u1 - 1e-3, v), <, -25e-6);
  ef_item_unref (mark);
}

static void
test_lay (void)
{
  g_autoptr (EfFaceChart) end = chart_of ("pressure-drive-gear/end-a");
  EfLay lay = ef_lay_of_face (end, 1);
  double du, dv;

  ef_lay_at (&lay, 10e-3, 0, &du, &dv);
  g_assert_cmpfloat (fabs (du), <, 1e-12);
  g_assert_cmpfloat (fabs (dv - 1.0), <, 1e-12);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);

  g_test_add_func ("/surface/groove", test_groove);
  g_test_add_func ("/surface/lip-has-a-side", test_lip_has_a_side);
  g_test_add_func ("/surface/imprint", test_imprint);
  g_test_add_func ("/surface/step", test_step);
  g_test_add_func ("/surface/unknown-and-elsewhere", test_unknown_and_elsewhere);
  g_test_add_func ("/surface/wraps", test_wraps);
  g_test_add_func ("/surface/lay", test_lay);

  return g_test_run ();
}
