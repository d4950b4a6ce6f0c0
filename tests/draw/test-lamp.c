/* The lamp obeys what light does: shallow wear shows when the light comes low across it and hides when it comes along. Constructed; Lambert's law
 * for the numbers.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/ef-draw-lamp.h"
#include "teach/ef-specimen.h"
#include "../isolate.h"

#include <math.h>
#include <string.h>

#define DEGREE (G_PI / 180.0)

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

/* The separator plate with one groove along u at v = 5 mm, 10 µm deep and 2 mm wide. */
static EfSurface *
grooved (gboolean worn)
{
  g_autoptr (EfFaceChart) chart = chart_of ("separator/side-a");
  g_autoptr (GError) error = NULL;
  EfMark *mark = ef_mark_new (chart->id, EF_MARK_GROOVE, EF_SHAPE_LINE, 2e-3);
  EfSurface *surface;

  ef_mark_add_node (mark, 29.5e-3, 5e-3);
  ef_mark_add_node (mark, 41.5e-3, 5e-3);
  ef_mark_set_depth (mark, 10e-6, EF_UNIT_MM, NULL);
  surface = ef_surface_new (chart, &mark, worn ? 1 : 0, 0.0, 1, NULL, &error);
  g_assert_no_error (error);
  ef_item_unref (mark);

  return surface;
}

typedef struct
{
  double least, most, mean;
} Light;

/* Brightness (0 … 255) of the metal within a box of the chart, mm. */
static Light
light_in (const EfLampScene *scene,
          double azimuth,
          double elevation,
          const double box[4])
{
  cairo_surface_t *image = ef_lamp_scene_light (scene, azimuth, elevation);
  int stride = cairo_image_surface_get_stride (image), width = cairo_image_surface_get_width (image), height = cairo_image_surface_get_height (image);
  Light light = { INFINITY, -INFINITY, 0 };
  double bounds[4], cell;
  guint n = 0;

  g_assert_cmpint (cairo_surface_status (image), ==, CAIRO_STATUS_SUCCESS);
  ef_lamp_scene_bounds (scene, bounds);
  cell = (bounds[2] - bounds[0]) / width;
  for (int j = (int) ((bounds[3] - box[3] * 1e-3) / cell); j < (int) ((bounds[3] - box[1] * 1e-3) / cell); j++)
    for (int i = (int) ((box[0] * 1e-3 - bounds[0]) / cell); i < (int) ((box[2] * 1e-3 - bounds[0]) / cell); i++)
      {
        guint32 pixel;
        double value;

        g_assert_true (i >= 0 && i < width && j >= 0 && j < height);
        memcpy (&pixel, cairo_image_surface_get_data (image) + (gsize) j * stride + 4 * i, 4);
        g_assert_cmpuint (pixel >> 24, ==, 255);
        value = pixel >> 8 & 0xff;
        light.least = fmin (light.least, value);
        light.most = fmax (light.most, value);
        light.mean += value;
        n++;
      }
  light.mean /= n;
  cairo_surface_destroy (image);

  return light;
}

static double
contrast (const EfLampScene *scene,
          double azimuth,
          double elevation,
          const double box[4])
{
  Light light = light_in (scene, azimuth, elevation, box);

  return (light.most - light.least) / light.mean;
}

static const EfMetal matt = { 1.0, 0.0, 0.2, 0.3, 0.0, { 1, 1, 1 } };

static const double middle_of_groove[4] = { 32, 3.5, 40, 6.5 };
static const double beside_it[4] = { 32, 6.8, 40, 7.8 };

static void
test_shallow_groove (void)
{
  g_autoptr (EfSurface) surface = grooved (TRUE);
  g_autoptr (EfLampScene) scene = ef_lamp_scene_new (surface, &matt, 1);
  double across = contrast (scene, 90 * DEGREE, 12 * DEGREE, middle_of_groove);
  double along = contrast (scene, 0, 12 * DEGREE, middle_of_groove);
  double high = contrast (scene, 90 * DEGREE, 75 * DEGREE, middle_of_groove);

  g_test_message ("contrast across %.3f, along %.3f, from above %.3f", across, along, high);
  g_assert_cmpfloat (across, >, 0.08);
  g_assert_cmpfloat (along, <, 0.1 * across);
  g_assert_cmpfloat (high, <, 0.2 * across);
}

/* The wall of the groove that faces the lamp is the bright one: it changes sides with the lamp. */
static void
test_lamp_on_the_other_side (void)
{
  g_autoptr (EfSurface) surface = grooved (TRUE);
  g_autoptr (EfLampScene) scene = ef_lamp_scene_new (surface, &matt, 1);
  const double low[4] = { 32, 4.2, 40, 4.8 }, high[4] = { 32, 5.2, 40, 5.8 };
  Light from_above[2] = { light_in (scene, 90 * DEGREE, 15 * DEGREE, low), light_in (scene, 90 * DEGREE, 15 * DEGREE, high) };
  Light from_below[2] = { light_in (scene, -90 * DEGREE, 15 * DEGREE, low), light_in (scene, -90 * DEGREE, 15 * DEGREE, high) };

  /* lit from above the chart: the lower wall faces the lamp */
  g_assert_cmpfloat (from_above[0].mean, >, from_above[1].mean + 3);
  g_assert_cmpfloat (from_below[1].mean, >, from_below[0].mean + 3);
}

/* Lambert: a slope s towards a lamp at elevation e is (1 + s / tan e) / sqrt (1 + s^2) times as bright as the flat; s is 20 µm / 1 mm at the groove's
 * edge, falling evenly to the middle. The picture's gamma is 1 / 1.7. */
static void
test_lambert (void)
{
  g_autoptr (EfSurface) surface = grooved (TRUE);
  g_autoptr (EfLampScene) scene = ef_lamp_scene_new (surface, &matt, 1);
  const double place[4] = { 32, 4.45, 40, 4.55 };
  double flat = light_in (scene, 90 * DEGREE, 12 * DEGREE, beside_it).mean, slope = 2 * 10e-6 * 0.5e-3 / 1e-6;
  double expected = flat * pow ((1.0 + slope / tan (12 * DEGREE)) / sqrt (1.0 + slope * slope), 1.0 / 1.7);

  g_assert_cmpfloat (fabs (light_in (scene, 90 * DEGREE, 12 * DEGREE, place).mean - expected), <, 1.5);
}

static void
test_flat_is_even (void)
{
  g_autoptr (EfSurface) surface = grooved (FALSE);
  EfMetal polished;
  const double all[4] = { 30, -8, 41, 8 };

  ef_metal_of ("steel", &polished);
  polished.lay = 0.0;
  polished.tint[0] = polished.tint[1] = polished.tint[2] = 1.0;
  for (double azimuth = 0; azimuth < 360; azimuth += 45)
    for (double elevation = 5; elevation < 90; elevation += 20)
      {
        g_autoptr (EfLampScene) dull = ef_lamp_scene_new (surface, &matt, 1);
        g_autoptr (EfLampScene) bright = ef_lamp_scene_new (surface, &polished, 1);
        Light one = light_in (dull, azimuth * DEGREE, elevation * DEGREE, all), other = light_in (bright, azimuth * DEGREE, elevation * DEGREE, all);

        g_assert_cmpfloat (one.most - one.least, <=, 1);
        g_assert_cmpfloat (other.most - other.least, <=, 1);
        /* and the eye has adapted */
        g_assert_cmpfloat (fabs (one.mean - other.mean), <, 4);
      }
}

/* Brushed metal: light from across the lay brings out the lay, light along it doesn't. */
static void
test_lay (void)
{
  g_autoptr (EfFaceChart) chart = chart_of ("pressure-housing/wall-drive");
  g_autoptr (GError) error = NULL;
  g_autoptr (EfSurface) surface = ef_surface_new (chart, NULL, 0, 0.0, 1, NULL, &error);
  g_autoptr (EfLampScene) scene = NULL;
  const double box[4] = { -10, 5, 10, 20 };
  EfMetal metal;

  g_assert_no_error (error);
  ef_metal_of ("cast-iron", &metal);
  scene = ef_lamp_scene_new (surface, &metal, 1);
  g_assert_cmpfloat (contrast (scene, 90 * DEGREE, 15 * DEGREE, box), >, 2.0 * contrast (scene, 0, 15 * DEGREE, box));
}

/* No metal in holes: they're clear. Coarser scenes cover the same place. */
static void
test_outline (void)
{
  g_autoptr (EfSurface) surface = grooved (FALSE);
  g_autoptr (EfLampScene) fine = ef_lamp_scene_new (surface, &matt, 1);
  g_autoptr (EfLampScene) coarse = ef_lamp_scene_new (surface, &matt, 2);
  cairo_surface_t *image = ef_lamp_scene_light (fine, 0, 1);
  double bounds[4], other[4], cell;
  guint32 pixel;
  int i, j;

  ef_lamp_scene_bounds (fine, bounds);
  ef_lamp_scene_bounds (coarse, other);
  for (int k = 0; k < 4; k++)
    g_assert_cmpfloat (fabs (bounds[k] - other[k]), <=, surface->cell + 1e-12);
  cell = (bounds[2] - bounds[0]) / cairo_image_surface_get_width (image);
  i = (int) ((47.5e-3 - bounds[0]) / cell); /* a stud's hole */
  j = (int) ((bounds[3] - 0.0) / cell);
  memcpy (&pixel, cairo_image_surface_get_data (image) + (gsize) j * cairo_image_surface_get_stride (image) + 4 * i, 4);
  g_assert_cmpuint (pixel, ==, 0);
  cairo_surface_destroy (image);
}

/* The worn wall of a pump that the load wore stands out against its other side. */
static void
test_specimen_can_be_seen (void)
{
  g_autofree char *path = ef_data_path ("pump-sheets", "hl-24.json", NULL);
  g_autoptr (EfPumpSheet) sheet = ef_pump_sheet_load (path, NULL);
  EfSpecimenOptions options = { 7, EF_CAUSE_LOAD, 1, { -83 * DEGREE, -84 * DEGREE } };
  g_autoptr (GError) error = NULL;
  g_autoptr (EfSpecimen) specimen = ef_specimen_new (sheet, &options, &error);
  g_autoptr (EfFaceChart) chart = chart_of ("pressure-housing/wall-driven");
  g_autoptr (EfSurface) surface = ef_specimen_surface (specimen, chart, 0.0, NULL, &error);
  g_autoptr (EfLampScene) scene = NULL;
  const double worn[4] = { -36, 23.8, -28, 24.9 }, sound[4] = { 10, 23.8, 18, 24.9 };
  EfMetal metal = matt;

  g_assert_no_error (error);
  scene = ef_lamp_scene_new (surface, &metal, 1);
  g_assert_cmpfloat (contrast (scene, 90 * DEGREE, 15 * DEGREE, worn), >, 0.3);
  g_assert_cmpfloat (contrast (scene, 90 * DEGREE, 15 * DEGREE, sound), <, 0.02);
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);

  g_test_add_func ("/lamp/shallow-groove", test_shallow_groove);
  g_test_add_func ("/lamp/other-side", test_lamp_on_the_other_side);
  g_test_add_func ("/lamp/lambert", test_lambert);
  g_test_add_func ("/lamp/flat-is-even", test_flat_is_even);
  g_test_add_func ("/lamp/lay", test_lay);
  g_test_add_func ("/lamp/outline", test_outline);
  g_test_add_func ("/lamp/specimen-can-be-seen", test_specimen_can_be_seen);

  return g_test_run ();
}
