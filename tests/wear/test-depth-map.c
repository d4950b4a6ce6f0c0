/* Depth maps: areas and volumes in closed form, GEOS, definitions of curves, laws.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Closed forms are constructed unless another source stands beside the check.
 */
#include "wear/ef-depth-map.h"

#include <math.h>
#include <string.h>
#include "../isolate.h"

#define assert_near(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) - (expected)), <=, (tolerance))
#define assert_ratio(value, expected, tolerance) g_assert_cmpfloat (fabs ((value) / (expected) - 1), <=, (tolerance))
/* Shares are floats, and within 2e-6 of all they count as all. */
#define EXACT 5e-6

static void
free_band (gpointer data)
{
  EfChartBand *band = data;

  g_free (band->name);
  ef_region_free (band->region);
  g_free (band);
}

static EfRing
rectangle (double u0,
           double v0,
           double u1,
           double v1)
{
  const double xy[] = { u0, v0, u1, v0, u1, v1, u0, v1 };

  return ef_ring_new (4, xy);
}

/* A plain face of @width x @height with its lower left corner at the origin. */
static EfFaceChart *
plain_chart (double width,
             double height)
{
  EfFaceChart *chart = g_new0 (EfFaceChart, 1);

  chart->id = g_strdup ("plate/side-a");
  chart->u1 = width;
  chart->v1 = height;
  chart->solid = ef_region_new ();
  ef_region_take (chart->solid, rectangle (0, 0, width, height));
  chart->bands = g_ptr_array_new_with_free_func (free_band);
  return chart;
}

static void
free_chart (EfFaceChart *chart)
{
  g_free (chart->id);
  ef_region_free (chart->solid);
  g_ptr_array_unref (chart->bands);
  g_free (chart);
}

static EfMark *
make_mark (EfMarkShape shape,
           double size,
           const double *uv,
           guint n,
           double depth)
{
  EfMark *mark = ef_mark_new ("plate/side-a", EF_MARK_SCORING, shape, size);

  for (guint i = 0; i < n; i++)
    ef_mark_add_node (mark, uv[2 * i], uv[2 * i + 1]);
  if (depth >= 0)
    ef_mark_set_depth (mark, depth, EF_UNIT_UM, NULL);
  return mark;
}

static EfDepthMap *
map_of (const EfFaceChart *chart,
        EfMark *const *marks,
        guint n,
        double cell)
{
  g_autoptr (GError) error = NULL;
  EfDepthMap *map = ef_depth_map_new (chart, marks, n, cell, NULL, &error);

  g_assert_no_error (error);
  for (gsize i = 0; i < (gsize) map->nu * map->nv; i++)
    {
      g_assert_cmpfloat (map->solid[i], >=, 0);
      g_assert_cmpfloat (map->solid[i], <=, 1);
      g_assert_cmpfloat (map->cover[i], >=, 0);
      g_assert_cmpfloat (map->cover[i], <=, map->solid[i]);
      g_assert_cmpfloat (map->depth[i], >=, 0);
      if (map->cover[i] == 0)
        g_assert_cmpfloat (map->depth[i], ==, 0);
    }
  return map;
}

/* Takes the marks. */
static EfFaceWear
wear_of (const EfFaceChart *chart,
         EfMark **marks,
         guint n,
         double cell)
{
  g_autoptr (EfDepthMap) map = map_of (chart, marks, n, cell);
  EfFaceWear wear;

  ef_face_wear_from_map (chart, map, &wear);
  for (guint i = 0; i < n; i++)
    ef_item_unref (marks[i]);
  return wear;
}

static EfFaceWear
wear_of_one (const EfFaceChart *chart,
             EfMark *mark,
             double cell)
{
  return wear_of (chart, &mark, 1, cell);
}

/* Area pi d2/4 and volume area x depth wherever the disc lies on the raster, down to a third of a cell across. */
static void
test_disc (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (4711);
  EfFaceChart *chart = plain_chart (0.02, 0.015);
  static const double diameters[] = { 5e-3, 1e-3, 0.2e-3, 0.03e-3 };

  for (guint k = 0; k < 100; k++)
    {
      double d = diameters[k % 4];
      double place[2] = { g_rand_double_range (rand, 0.003, 0.017), g_rand_double_range (rand, 0.003, 0.012) };
      EfFaceWear wear = wear_of_one (chart, make_mark (EF_SHAPE_POINT, d, place, 1, 40e-6), 0);

      assert_ratio (wear.worn_area, G_PI / 4 * d * d, EXACT);
      assert_ratio (wear.volume, G_PI / 4 * d * d * 40e-6, EXACT);
      assert_ratio (wear.material_area, 3e-4, EXACT);
      assert_near (wear.worn_share, wear.worn_area / 3e-4, 1e-9);
      assert_near (wear.deepest, 40e-6, 1e-11);
      assert_near (wear.deepest_u, place[0], d / 2 + 1e-4);
      assert_near (wear.deepest_v, place[1], d / 2 + 1e-4);
      ef_face_wear_clear (&wear);
    }
  free_chart (chart);
}

/* A capsule at any slope: L w + pi w2/4. Depth linear along it: mean of the ends x area, by symmetry. */
static void
test_capsule (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (42);
  EfFaceChart *chart = plain_chart (0.03, 0.03);

  for (guint k = 0; k < 100; k++)
    {
      double angle = k % 10 * G_PI / 18 + (k % 3 == 0 ? 0 : g_rand_double_range (rand, 0, 0.1));
      double length = g_rand_double_range (rand, 1e-5, 15e-3);
      double width = g_rand_double_range (rand, 0.05e-3, 3e-3);
      double uv[4] = { g_rand_double_range (rand, 13e-3, 16e-3), g_rand_double_range (rand, 5e-3, 8e-3) };
      double area = length * width + G_PI / 4 * width * width;
      EfMark *mark;
      EfFaceWear wear;

      uv[2] = uv[0] + length * cos (angle);
      uv[3] = uv[1] + length * sin (angle);
      mark = make_mark (EF_SHAPE_LINE, width, uv, 2, -1);
      ef_mark_add_depth (mark, uv[0], uv[1], 10e-6, EF_UNIT_UM, NULL);
      ef_mark_add_depth (mark, uv[2], uv[3], 50e-6, EF_UNIT_UM, NULL);
      wear = wear_of_one (chart, mark, 0);
      /* Places lie on the nanometre grid. */
      assert_near (wear.worn_area, area, area * EXACT + 2e-9 * width);
      assert_near (wear.volume, area * 30e-6, area * 30e-6 * 2e-3 + 1e-4 * 1e-4 * 5e-6);
      ef_face_wear_clear (&wear);
    }
  free_chart (chart);
}

/* Polygons that may cross themselves, against GEOS (ef_mark_area() makes them valid by the even-odd rule). */
static void
test_polygons (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (99);
  EfFaceChart *chart = plain_chart (0.02, 0.02);

  for (guint k = 0; k < 60; k++)
    {
      double uv[16];
      guint n = 3 + k % 6;
      EfMark *mark;
      double area;
      EfFaceWear wear;

      for (guint i = 0; i < 2 * n; i++)
        uv[i] = g_rand_double_range (rand, 1e-3, 19e-3);
      mark = make_mark (EF_SHAPE_AREA, 0, uv, n, 10e-6);
      area = ef_mark_area (mark);
      wear = wear_of_one (chart, mark, 0);
      /* Triangles come out exactly; a crossing within a slice is taken as its hull: a few hundredths of a cell each. */
      assert_near (wear.worn_area, area, area * EXACT + (n == 3 ? 0 : 0.5e-8));
      ef_face_wear_clear (&wear);
    }
  free_chart (chart);
}

/* Lines of many pieces against GEOS' buffer, whose round ends are chords (1e-4 of their area). */
static void
test_polylines (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (7);
  EfFaceChart *chart = plain_chart (0.03, 0.03);

  for (guint k = 0; k < 30; k++)
    {
      double uv[80];
      guint n = k % 2 == 0 ? 5 : 40;
      double step = k % 2 == 0 ? 8e-3 : 1.5e-3;
      double width = g_rand_double_range (rand, 0.15e-3, 1.5e-3);
      double angle = g_rand_double_range (rand, 0, 6);
      EfMark *mark;
      double area;
      EfFaceWear wear;

      uv[0] = uv[1] = 15e-3;
      for (guint i = 1; i < n; i++)
        {
          angle += g_rand_double_range (rand, -0.7, 0.7);
          uv[2 * i] = CLAMP (uv[2 * i - 2] + step * cos (angle), 1e-3, 29e-3);
          uv[2 * i + 1] = CLAMP (uv[2 * i - 1] + step * sin (angle), 1e-3, 29e-3);
        }
      mark = make_mark (EF_SHAPE_LINE, width, uv, n, 10e-6);
      area = ef_mark_area (mark);
      wear = wear_of_one (chart, mark, 0);
      assert_ratio (wear.worn_area, area, 1e-3);
      ef_face_wear_clear (&wear);
    }
  free_chart (chart);
}

/* A mark's outline as a region, chords every 1/256 turn. */
static EfRegion *
region_of (const EfMark *mark)
{
  EfRegion *region = ef_region_new ();
  g_autoptr (GError) error = NULL;
  EfRegion *grown;
  g_autofree double *xy = g_new (double, 2 * mark->nodes->len);

  for (guint i = 0; i < mark->nodes->len; i++)
    {
      xy[2 * i] = g_array_index (mark->nodes, EfMarkNode, i).u;
      xy[2 * i + 1] = g_array_index (mark->nodes, EfMarkNode, i).v;
    }
  if (mark->shape == EF_SHAPE_POINT)
    ef_region_take (region, ef_ring_circle (xy[0], xy[1], mark->size / 2, 256));
  else if (mark->shape == EF_SHAPE_AREA)
    ef_region_take (region, ef_ring_new (mark->nodes->len, xy));
  else
    {
      /* A sliver along the line, grown. */
      const double sliver[] = { xy[0], xy[1], xy[2], xy[3], xy[2] + 1e-9, xy[3] + 1e-9 };

      ef_region_take (region, ef_ring_new (3, sliver));
      grown = ef_region_buffer (region, mark->size / 2, 64, &error);
      g_assert_no_error (error);
      ef_region_free (region);
      region = grown;
    }
  return region;
}

/* Marks of all shapes over each other: covered area against GEOS' union. */
static void
test_union (void)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (1234);
  EfFaceChart *chart = plain_chart (0.03, 0.02);

  for (guint round = 0; round < 12; round++)
    {
      EfMark *marks[24];
      EfRegion *all = NULL;
      EfFaceWear wear;
      double area;

      for (guint i = 0; i < G_N_ELEMENTS (marks); i++)
        {
          g_autoptr (GError) error = NULL;
          double uv[8];
          EfRegion *one;
          double u = g_rand_double_range (rand, 4e-3, 26e-3);
          double v = g_rand_double_range (rand, 4e-3, 16e-3);

          for (guint k = 0; k < 4; k++)
            {
              uv[2 * k] = u + 3e-3 * cos (k * G_PI / 2 + 0.3);
              uv[2 * k + 1] = v + g_rand_double_range (rand, 1e-3, 3e-3) * sin (k * G_PI / 2 + 0.3);
            }
          marks[i] = make_mark (i % 3, i % 3 == 0 ? 2e-3 : 0.4e-3, uv, i % 3 == 0 ? 1 : i % 3 == 1 ? 2 : 4,
                                g_rand_double_range (rand, 1e-6, 90e-6));
          one = region_of (marks[i]);
          if (all == NULL)
            all = one;
          else
            {
              EfRegion *both = ef_region_combine (all, one, EF_REGION_UNION, &error);

              g_assert_no_error (error);
              ef_region_free (all);
              ef_region_free (one);
              all = both;
            }
        }
      area = ef_region_area (all);
      ef_region_free (all);
      wear = wear_of (chart, marks, G_N_ELEMENTS (marks), 0);
      assert_ratio (wear.worn_area, area, 1e-3);
      ef_face_wear_clear (&wear);
    }
  free_chart (chart);
}

/* Rectangles that overlap off the raster: deeper wins, whatever the order. */
static void
test_overlap (void)
{
  EfFaceChart *chart = plain_chart (0.02, 0.02);
  static const double low[] = { 2.03e-3, 2.07e-3, 10.03e-3, 2.07e-3, 10.03e-3, 8.07e-3, 2.03e-3, 8.07e-3 };
  static const double high[] = { 6.08e-3, 4.02e-3, 14.08e-3, 4.02e-3, 14.08e-3, 12.02e-3, 6.08e-3, 12.02e-3 };
  double shared = (10.03e-3 - 6.08e-3) * (8.07e-3 - 4.02e-3);
  double first = 8e-3 * 6e-3;
  double second = 8e-3 * 8e-3;

  for (int order = 0; order < 2; order++)
    {
      EfMark *marks[2];
      EfFaceWear wear;

      marks[order] = make_mark (EF_SHAPE_AREA, 0, low, 4, 10e-6);
      marks[1 - order] = make_mark (EF_SHAPE_AREA, 0, high, 4, 30e-6);
      wear = wear_of (chart, marks, 2, 0);
      /* Two corners where the outlines cross within a cell: a 32nd of a cell each. */
      assert_near (wear.worn_area, first + second - shared, 6e-10 + 1e-10);
      assert_near (wear.volume, second * 30e-6 + (first - shared) * 10e-6, 6e-10 * 30e-6 + 1e-4 * 4e-11);
      assert_near (wear.deepest, 30e-6, 1e-11);
      ef_face_wear_clear (&wear);
    }

  /* The same mark twice counts once; one beside the other without a gap counts in full. */
  {
    static const double beside[] = { 10.03e-3, 2.07e-3, 12.03e-3, 2.07e-3, 12.03e-3, 8.07e-3, 10.03e-3, 8.07e-3 };
    EfMark *twice[2] = { make_mark (EF_SHAPE_AREA, 0, low, 4, 10e-6), make_mark (EF_SHAPE_AREA, 0, low, 4, 10e-6) };
    EfMark *pair[2] = { make_mark (EF_SHAPE_AREA, 0, low, 4, 10e-6), make_mark (EF_SHAPE_AREA, 0, beside, 4, 10e-6) };
    EfFaceWear wear = wear_of (chart, twice, 2, 0);

    assert_ratio (wear.worn_area, first, EXACT);
    ef_face_wear_clear (&wear);
    wear = wear_of (chart, pair, 2, 0);
    assert_ratio (wear.worn_area, first + 12e-6, EXACT);
    ef_face_wear_clear (&wear);
  }
  free_chart (chart);
}

/* A pit smaller than a cell in a shallow area: the mean hides it, the figures don't. */
static void
test_small_pit (void)
{
  EfFaceChart *chart = plain_chart (0.01, 0.01);
  static const double field[] = { 1e-3, 1e-3, 9e-3, 1e-3, 9e-3, 9e-3, 1e-3, 9e-3 };
  static const double place[] = { 5.04e-3, 5.05e-3 };
  EfMark *marks[2] = { make_mark (EF_SHAPE_POINT, 0.05e-3, place, 1, 80e-6), make_mark (EF_SHAPE_AREA, 0, field, 4, 10e-6) };
  double pit = G_PI / 4 * 0.05e-3 * 0.05e-3;
  EfFaceWear wear = wear_of (chart, marks, 2, 0);

  assert_near (wear.deepest, 80e-6, 1e-11);
  assert_near (wear.deepest_u, 5.05e-3, 1e-9);
  assert_near (wear.deepest_v, 5.05e-3, 1e-9);
  assert_ratio (wear.worn_area, 64e-6, EXACT);
  assert_near (wear.volume, 64e-6 * 10e-6 + pit * 70e-6, 64e-17 * EXACT * 1e6);
  ef_face_wear_clear (&wear);
  free_chart (chart);
}

/* Shifting a whole set of marks by fractions of a cell changes area and volume to second order only: by a few hundredths
 * of a cell's area for each crossing of outlines, and a quarter of that at half the cell. */
static double
spread_of_shifts (double cell,
                  double *area_spread)
{
  EfFaceChart *chart = plain_chart (0.02, 0.02);
  double low[2] = { INFINITY, INFINITY };
  double high[2] = { -INFINITY, -INFINITY };

  for (int k = 0; k < 25; k++)
    {
      double du = k % 5 * cell / 5;
      double dv = k / 5 * cell / 5;
      const double a[] = { 4e-3, 5e-3, 15e-3, 9e-3, 12e-3, 15e-3 };
      const double b[] = { 3e-3, 12e-3, 16e-3, 6e-3 };
      EfMark *marks[2] = { make_mark (EF_SHAPE_AREA, 0, a, 3, 20e-6), make_mark (EF_SHAPE_LINE, 1.1e-3, b, 2, -1) };
      EfFaceWear wear;

      ef_mark_add_depth (marks[1], 3e-3, 12e-3, 0, EF_UNIT_UM, NULL);
      ef_mark_add_depth (marks[1], 16e-3, 6e-3, 60e-6, EF_UNIT_UM, NULL);
      for (int i = 0; i < 2; i++)
        ef_mark_translate (marks[i], du, dv);
      wear = wear_of (chart, marks, 2, cell);
      low[0] = MIN (low[0], wear.worn_area);
      high[0] = MAX (high[0], wear.worn_area);
      low[1] = MIN (low[1], wear.volume);
      high[1] = MAX (high[1], wear.volume);
      ef_face_wear_clear (&wear);
    }
  free_chart (chart);
  *area_spread = high[0] - low[0];
  return high[1] - low[1];
}

static void
test_translation (void)
{
  static const double cells[] = { 0.4e-3, 0.2e-3, 0.1e-3, 0.05e-3 };

  for (guint k = 0; k < G_N_ELEMENTS (cells); k++)
    {
      double area_spread;
      double volume_spread = spread_of_shifts (cells[k], &area_spread);

      g_test_message ("cell %g mm: area spread %g cells, volume spread %g cells x 60 um", cells[k] * 1e3,
                      area_spread / cells[k] / cells[k], volume_spread / cells[k] / cells[k] / 60e-6);
      g_assert_cmpfloat (area_spread, <, 0.25 * cells[k] * cells[k]);
      g_assert_cmpfloat (volume_spread, <, 1.0 * cells[k] * cells[k] * 60e-6);
    }
}

/* Volume of an area with three readings: no closed form, so against a very fine map; the error falls at second order. */
static void
test_convergence (void)
{
  static const double uv[] = { 4.013e-3, 5.027e-3, 15.01e-3, 9.02e-3, 12.03e-3, 15.007e-3, 7.02e-3, 13.013e-3 };
  static const double cells[] = { 0.4e-3, 0.2e-3, 0.1e-3, 0.0125e-3 };
  EfFaceChart *chart = plain_chart (0.02, 0.02);
  double volumes[4];

  for (guint k = 0; k < 4; k++)
    {
      EfMark *mark = make_mark (EF_SHAPE_AREA, 0, uv, 4, -1);
      EfFaceWear wear;

      ef_mark_add_depth (mark, 5e-3, 6e-3, 10e-6, EF_UNIT_UM, NULL);
      ef_mark_add_depth (mark, 14e-3, 9e-3, 30e-6, EF_UNIT_UM, NULL);
      ef_mark_add_depth (mark, 11e-3, 14e-3, 70e-6, EF_UNIT_UM, NULL);
      wear = wear_of_one (chart, mark, cells[k]);
      volumes[k] = wear.volume;
      ef_face_wear_clear (&wear);
    }
  for (guint k = 0; k < 3; k++)
    g_assert_cmpfloat (fabs (volumes[k] - volumes[3]), <, 0.05 * cells[k] / 1e-3 * cells[k] / 1e-3 * volumes[3]);
  free_chart (chart);
}

/* A mark across the seam of an unrolled cylinder is whole; one that goes round twice covers a ring. */
static void
test_wrap (void)
{
  EfFaceChart *chart = plain_chart (0.03141, 0.012);
  double width = chart->u1;
  static const double places[] = { 0.0157, 0.0001, 0.0313, -0.0004, 0.0318, -0.0157 };
  static const double round[] = { 0.001, 0.006, 0.065, 0.006 };
  EfFaceWear wear;

  chart->wraps = TRUE;
  for (guint k = 0; k < G_N_ELEMENTS (places); k++)
    {
      const double place[] = { places[k], 0.006 };
      g_autoptr (EfDepthMap) map = NULL;

      wear = wear_of_one (chart, make_mark (EF_SHAPE_POINT, 2e-3, place, 1, 10e-6), 0);
      assert_ratio (wear.worn_area, G_PI * 1e-6, EXACT);
      assert_ratio (wear.material_area, width * 0.012, EXACT);
      ef_face_wear_clear (&wear);
    }

  wear = wear_of_one (chart, make_mark (EF_SHAPE_LINE, 2e-3, round, 2, 10e-6), 0);
  /* Where the round ends lie over the other turn, in cells its edge crosses, samples decide. */
  assert_near (wear.worn_area, width * 2e-3, 3e-9);
  ef_face_wear_clear (&wear);

  /* Without a seam what lies outside is cut off. */
  chart->wraps = FALSE;
  {
    static const double edge[] = { 0, 0.006 };

    wear = wear_of_one (chart, make_mark (EF_SHAPE_POINT, 2e-3, edge, 1, 10e-6), 0);
    assert_ratio (wear.worn_area, G_PI / 2 * 1e-6, EXACT);
    ef_face_wear_clear (&wear);
  }
  free_chart (chart);
}

/* Marks count on material only: an annulus with a mark over all of it. */
static void
test_solid (void)
{
  EfFaceChart *chart = plain_chart (0.02, 0.02);
  static const double all[] = { -0.01, -0.01, 0.03, -0.01, 0.03, 0.03, -0.01, 0.03 };
  static const double half[] = { 0.01, -0.01, 0.03, -0.01, 0.03, 0.03, 0.01, 0.03 };
  double area;
  EfFaceWear wear;

  ef_region_free (chart->solid);
  chart->solid = ef_region_new ();
  ef_region_take (chart->solid, ef_ring_circle (0.01, 0.01, 8e-3, 720));
  ef_region_take (chart->solid, ef_ring_circle (0.01, 0.01, 3.33e-3, 720));
  area = ef_region_area (chart->solid);

  wear = wear_of_one (chart, make_mark (EF_SHAPE_AREA, 0, all, 4, 10e-6), 0);
  assert_ratio (wear.material_area, area, EXACT);
  assert_ratio (wear.worn_area, area, EXACT);
  assert_near (wear.worn_share, 1, 1e-6);
  ef_face_wear_clear (&wear);

  /* Half of it: where the mark's edge crosses the rim, samples decide. */
  wear = wear_of_one (chart, make_mark (EF_SHAPE_AREA, 0, half, 4, 10e-6), 0);
  assert_near (wear.worn_area, area / 2, 2e-9);
  ef_face_wear_clear (&wear);

  /* Beside the material, in the same cells: nothing. */
  {
    static const double beside[] = { 0.01013, 0.0043, 0.0193, 0.0043, 0.0193, 0.0157, 0.01013, 0.0157 };

    ef_region_free (chart->solid);
    chart->solid = ef_region_new ();
    ef_region_take (chart->solid, rectangle (0, 0, 0.01011, 0.02));
    wear = wear_of_one (chart, make_mark (EF_SHAPE_AREA, 0, beside, 4, 10e-6), 0.15e-3);
    g_assert_cmpfloat (wear.worn_area, ==, 0);
    ef_face_wear_clear (&wear);
    ef_region_free (chart->solid);
    chart->solid = ef_region_new ();
    ef_region_take (chart->solid, ef_ring_circle (0.01, 0.01, 8e-3, 720));
    ef_region_take (chart->solid, ef_ring_circle (0.01, 0.01, 3.33e-3, 720));
  }

  /* In the hole there is nothing to wear. */
  {
    static const double place[] = { 0.01, 0.01 };

    wear = wear_of_one (chart, make_mark (EF_SHAPE_POINT, 5e-3, place, 1, 10e-6), 0);
    g_assert_cmpfloat (wear.worn_area, ==, 0);
    g_assert_cmpfloat (wear.deepest, ==, 0);
    g_assert_true (isnan (wear.deepest_u));
    ef_face_wear_clear (&wear);
  }
  free_chart (chart);
}

/* A band 2 mm wide, a third of its length crossed by a mark; another untouched. */
static void
test_bands (void)
{
  EfFaceChart *chart = plain_chart (0.02, 0.02);
  static const double mark[] = { 4e-3, 1e-3, 10e-3, 1e-3, 10e-3, 10e-3, 4e-3, 10e-3 };
  EfFaceWear wear;

  for (int k = 0; k < 2; k++)
    {
      EfChartBand *band = g_new0 (EfChartBand, 1);

      band->region = ef_region_new ();
      ef_region_take (band->region, rectangle (1e-3, 5.03e-3 + k * 10e-3, 19e-3, 7.03e-3 + k * 10e-3));
      g_ptr_array_add (chart->bands, band);
    }
  wear = wear_of_one (chart, make_mark (EF_SHAPE_AREA, 0, mark, 4, 10e-6), 0);
  g_assert_cmpuint (wear.n_bands, ==, 2);
  assert_near (wear.band_intact[0], 1 - 6.0 / 18, 1e-6);
  assert_near (wear.band_intact[1], 1, 0);
  ef_face_wear_clear (&wear);
  free_chart (chart);
}

/* A wedge: depth grows evenly along a groove that fills the face, so share (c) = c / deepest, to half a cell in 20 mm. */
static void
test_wedge_curve (void)
{
  EfFaceChart *chart = plain_chart (0.02, 0.01);
  static const double uv[] = { 0, 5e-3, 20e-3, 5e-3 };
  EfMark *mark = make_mark (EF_SHAPE_LINE, 10e-3, uv, 2, -1);
  g_autoptr (EfDepthMap) map = NULL;
  double depths[21], shares[21];

  ef_mark_add_depth (mark, 0, 5e-3, 0, EF_UNIT_UM, NULL);
  ef_mark_add_depth (mark, 20e-3, 5e-3, 100e-6, EF_UNIT_UM, NULL);
  map = map_of (chart, &mark, 1, 0);
  for (int k = -2; k <= 12; k++)
    assert_near (ef_bearing_area_share (map, k * 10e-6 + 1e-9), CLAMP (k / 10.0, 0, 1), 0.5 * 0.1 / 20 + 1e-4);
  ef_bearing_area_curve (map, 21, depths, shares);
  g_assert_cmpfloat (depths[0], ==, 0);
  assert_near (depths[20], 100e-6, 0.5e-6);
  for (int k = 0; k < 21; k++)
    {
      assert_near (shares[k], ef_bearing_area_share (map, depths[k]), 1e-9);
      assert_near (shares[k], depths[k] / 100e-6, 0.1 / 20 + 1e-4);
    }
  g_assert_cmpfloat (shares[20], ==, 1);
  ef_item_unref (mark);
  free_chart (chart);
}

static EfDepthMap *
blank_map (guint nu)
{
  EfDepthMap *map = g_new0 (EfDepthMap, 1);

  *map = (EfDepthMap){ .nu = nu, .nv = 1, .cell = 1e-4, .ref_count = 1 };
  map->solid = g_new (float, nu);
  map->cover = g_new (float, nu);
  map->depth = g_new (float, nu);
  for (guint i = 0; i < nu; i++)
    map->solid[i] = map->cover[i] = 1;
  return map;
}

/* Material ratio by its definition (ISO 21920-2): share of the length at or above height c. Closed forms for amplitude 1
 * about the mean: sine acos (c) / pi, triangle (1 - c) / 2. Here depth = 1 - height. */
static void
test_profiles (void)
{
  const guint n = 100000;
  g_autoptr (EfDepthMap) sine = blank_map (n);
  g_autoptr (EfDepthMap) triangle = blank_map (n);
  /* Published closed form evaluated: 0.5 -> 1/3, 0 -> 0.5, -0.5 -> 2/3, 0.9 -> 0.14356629. */
  static const double rows[][2] = { { 0.5, 1.0 / 3 }, { 0, 0.5 }, { -0.5, 2.0 / 3 }, { 0.9, 0.14356629 } };

  for (guint i = 0; i < n; i++)
    {
      double t = (i + 0.5) / n;

      sine->depth[i] = (float) (1 - sin (2 * G_PI * t));
      triangle->depth[i] = (float) (1 - (t < 0.5 ? 4 * t - 1 : 3 - 4 * t));
    }
  for (guint k = 0; k < G_N_ELEMENTS (rows); k++)
    assert_near (ef_bearing_area_share (sine, 1 - rows[k][0]), rows[k][1], 2.0 / n);
  for (int k = -9; k <= 9; k++)
    {
      assert_near (ef_bearing_area_share (sine, 1 - k / 10.0), acos (k / 10.0) / G_PI, 2.0 / n);
      assert_near (ef_bearing_area_share (triangle, 1 - k / 10.0), (1 - k / 10.0) / 2, 2.0 / n);
    }
}

/* Cells that are worn in part count with both their shares; the plain list agrees. */
static void
test_split_cells (void)
{
  g_autoptr (EfDepthMap) map = blank_map (4);
  static const float solid[] = { 1, 0.5f, 1, 0 };
  static const float cover[] = { 0.25f, 0.5f, 0, 0 };
  static const float depth[] = { 10e-6f, 30e-6f, 0, 0 };
  static const double list_depths[] = { 0, 10e-6, 30e-6 };
  static const double list_areas[] = { 1.75, 0.25, 0.5 };
  double depths[4], shares[4];

  memcpy (map->solid, solid, sizeof solid);
  memcpy (map->cover, cover, sizeof cover);
  memcpy (map->depth, depth, sizeof depth);
  assert_near (ef_bearing_area_share (map, 0), 1.75 / 2.5, 1e-12);
  assert_near (ef_bearing_area_share (map, 9.9e-6), 1.75 / 2.5, 1e-12);
  assert_near (ef_bearing_area_share (map, 10.1e-6), 2 / 2.5, 1e-12);
  assert_near (ef_bearing_area_share (map, 31e-6), 1, 1e-12);
  assert_near (ef_bearing_area_share (map, -1e-6), 0, 0);
  ef_bearing_area_curve (map, 4, depths, shares);
  assert_near (depths[3], 30e-6, 1e-11);
  assert_near (shares[0], 1.75 / 2.5, 1e-12);
  assert_near (shares[2], 2 / 2.5, 1e-12);
  assert_near (shares[3], 1, 1e-12);
  for (int k = 0; k < 4; k++)
    assert_near (ef_bearing_area_share_of (list_depths, list_areas, 3, depths[k] + 1e-9), shares[k], 1e-12);
  ef_bearing_area_curve (map, 1, depths, shares);
  assert_near (shares[0], 1.75 / 2.5, 1e-12);
}

/* Every face of a shipped pump: material as GEOS has it, and a mark over all of it covers all of it. */
static void
test_real_faces (void)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, &error);
  g_auto (GStrv) ids = NULL;

  g_assert_no_error (error);
  ids = ef_face_ids (sheet);
  g_assert_cmpuint (g_strv_length (ids), >, 20);
  for (guint i = 0; ids[i] != NULL; i++)
    {
      g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, ids[i], &error);
      EfMark *mark;
      double area;
      EfFaceWear wear;

      g_assert_no_error (error);
      mark = ef_mark_new (ids[i], EF_MARK_SCORING, EF_SHAPE_AREA, 0);
      ef_mark_add_node (mark, chart->u0 - 1e-3, chart->v0 - 1e-3);
      ef_mark_add_node (mark, chart->u1 + 1e-3, chart->v0 - 1e-3);
      ef_mark_add_node (mark, chart->u1 + 1e-3, chart->v1 + 1e-3);
      ef_mark_add_node (mark, chart->u0 - 1e-3, chart->v1 + 1e-3);
      ef_mark_set_depth (mark, 20e-6, EF_UNIT_UM, NULL);
      wear = wear_of_one (chart, mark, 0);
      area = ef_region_area (chart->solid);
      assert_ratio (wear.material_area, area, 1e-5);
      assert_ratio (wear.worn_area, area, 1e-5);
      assert_ratio (wear.volume, area * 20e-6, 1e-5);
      for (guint k = 0; k < wear.n_bands; k++)
        assert_near (wear.band_intact[k], 0, 1e-6);
      ef_face_wear_clear (&wear);
    }
}

static void
test_refusals (void)
{
  EfFaceChart *chart = plain_chart (0.02, 0.02);
  static const double place[] = { 0.01, 0.01 };
  EfMark *good = make_mark (EF_SHAPE_POINT, 1e-3, place, 1, 10e-6);
  EfMark *bad = make_mark (EF_SHAPE_POINT, 1e-3, place, 1, 10e-6);
  EfMark *elsewhere = make_mark (EF_SHAPE_POINT, 1e-3, place, 1, 10e-6);
  EfMark *unknown = make_mark (EF_SHAPE_POINT, 1e-3, place, 1, -1);
  EfMark *marks[2] = { good, bad };
  g_autoptr (GCancellable) cancellable = g_cancellable_new ();
  g_autoptr (GError) error = NULL;
  g_autoptr (EfDepthMap) map = NULL;
  EfFaceWear wear;

  g_array_index (bad->nodes, EfMarkNode, 0).u = NAN;
  bad->number = 2;
  g_assert_null (ef_depth_map_new (chart, marks, 2, 0, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_RANGE);
  g_assert_nonnull (strstr (error->message, "mark 2: nodes[0].u"));
  g_clear_error (&error);

  g_assert_null (ef_depth_map_new (chart, marks, 1, NAN, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  g_assert_null (ef_depth_map_new (chart, marks, 1, -1e-4, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);

  g_cancellable_cancel (cancellable);
  g_assert_null (ef_depth_map_new (chart, marks, 1, 0, cancellable, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_CANCELLED);
  g_clear_error (&error);

  /* Marks of other faces and marks of unknown depth leave the map blank. */
  g_free (elsewhere->face_id);
  elsewhere->face_id = g_strdup ("plate/side-b");
  marks[0] = elsewhere;
  marks[1] = unknown;
  map = ef_depth_map_new (chart, marks, 2, 0, NULL, &error);
  g_assert_no_error (error);
  ef_face_wear_from_map (chart, map, &wear);
  g_assert_cmpfloat (wear.worn_area, ==, 0);
  ef_face_wear_clear (&wear);
  g_clear_pointer (&map, ef_depth_map_unref);

  /* Never above 4 million cells, and the area still right. */
  marks[0] = good;
  map = ef_depth_map_new (chart, marks, 1, 1e-6, NULL, &error);
  g_assert_no_error (error);
  g_assert_cmpuint (map->nu * map->nv, <=, 4000000);
  g_assert_cmpuint (map->nu * map->nv, >, 3900000);
  ef_face_wear_from_map (chart, map, &wear);
  assert_ratio (wear.worn_area, G_PI / 4 * 1e-6, EXACT);
  ef_face_wear_clear (&wear);

  chart->u1 = INFINITY;
  g_assert_null (ef_depth_map_new (chart, marks, 1, 0, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);
  g_clear_error (&error);
  chart->u1 = 0;
  g_assert_null (ef_depth_map_new (chart, marks, 1, 0, NULL, &error));
  g_assert_error (error, EF_ERROR, EF_ERROR_INVALID);

  ef_item_unref (good);
  ef_item_unref (bad);
  ef_item_unref (elsewhere);
  ef_item_unref (unknown);
  free_chart (chart);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);

  g_test_add_func ("/wear/depth-map/disc", test_disc);
  g_test_add_func ("/wear/depth-map/capsule", test_capsule);
  g_test_add_func ("/wear/depth-map/polygons-against-geos", test_polygons);
  g_test_add_func ("/wear/depth-map/polylines-against-geos", test_polylines);
  g_test_add_func ("/wear/depth-map/union-against-geos", test_union);
  g_test_add_func ("/wear/depth-map/overlap-deeper-wins", test_overlap);
  g_test_add_func ("/wear/depth-map/small-pit", test_small_pit);
  g_test_add_func ("/wear/depth-map/translation", test_translation);
  g_test_add_func ("/wear/depth-map/convergence", test_convergence);
  g_test_add_func ("/wear/depth-map/wrap", test_wrap);
  g_test_add_func ("/wear/depth-map/solid", test_solid);
  g_test_add_func ("/wear/depth-map/bands", test_bands);
  g_test_add_func ("/wear/bearing-area/wedge", test_wedge_curve);
  g_test_add_func ("/wear/bearing-area/profiles", test_profiles);
  g_test_add_func ("/wear/bearing-area/split-cells", test_split_cells);
  g_test_add_func ("/wear/depth-map/real-faces", test_real_faces);
  g_test_add_func ("/wear/depth-map/refusals", test_refusals);

  return g_test_run ();
}
