/* How much processor time it takes to light a face anew as the lamp is moved, at full detail and as coarse as while the dial is dragged; against two references in the
 * same run: the least that any such shading costs, one root and one exponential a cell, and Cairo painting the lit image at screen size.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../draw/sample.h"
#include "draw/ef-draw-lamp.h"

#include <math.h>
#include <stdlib.h>
#include <time.h>

#define ROUND 24 /* places of the lamp, once round the face */
#define TIMES 5

/* Of the processor, so that a busy machine doesn't count. */
static double
now_ms (void)
{
  struct timespec t;

  clock_gettime (CLOCK_PROCESS_CPUTIME_ID, &t);
  return t.tv_sec * 1e3 + t.tv_nsec / 1e6;
}

static double
light (const EfLampScene *scene)
{
  double best = G_MAXDOUBLE;

  for (int k = 0; k < TIMES; k++)
    {
      double start = now_ms ();

      for (int i = 0; i < ROUND; i++)
        cairo_surface_destroy (ef_lamp_scene_light (scene, 2 * G_PI * i / ROUND, 15 * G_PI / 180));
      best = MIN (best, (now_ms () - start) / ROUND);
    }

  return best;
}

/* The values differ from cell to cell and go into a sum, so that nothing is left out. */
static double
least (gsize cells)
{
  g_autofree float *slope = g_new (float, cells);
  double best = G_MAXDOUBLE;
  volatile float sink;

  for (gsize i = 0; i < cells; i++)
    slope[i] = (float) (i % 997) * 1e-4f;
  for (int k = 0; k < TIMES; k++)
    {
      double start = now_ms ();
      float sum = 0;

      for (gsize i = 0; i < cells; i++)
        sum += expf (-slope[i]) / sqrtf (1.0f + slope[i] * slope[i]);
      sink = sum;
      (void) sink;
      best = MIN (best, now_ms () - start);
    }

  return best;
}

static double
paint (const EfFaceChart *chart,
       const EfLampScene *scene)
{
  cairo_surface_t *screen = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 1280, 800), *image = ef_lamp_scene_light (scene, 0.5, 15 * G_PI / 180);
  double best = G_MAXDOUBLE, bounds[4];
  EfFaceView view;

  ef_face_view_fit (&view, chart, 1280, 800, 20);
  ef_lamp_scene_bounds (scene, bounds);
  for (int k = 0; k < TIMES; k++)
    {
      double start = now_ms ();
      cairo_t *cr = cairo_create (screen);

      ef_draw_chart_image (cr, &view, image, bounds);
      cairo_destroy (cr);
      best = MIN (best, now_ms () - start);
    }
  cairo_surface_destroy (image);
  cairo_surface_destroy (screen);

  return best;
}

int
main (void)
{
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("hl-24");
  g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, "separator/side-a", NULL);
  g_autoptr (GPtrArray) marks = chart != NULL ? sample_marks (chart, 200, 3) : NULL;
  g_autoptr (EfSurface) surface = chart != NULL ? ef_surface_new (chart, (EfMark *const *) marks->pdata, marks->len, 0, 1, NULL, NULL) : NULL;
  EfMetal metal;

  if (surface == NULL)
    return EXIT_FAILURE;
  ef_metal_of ("cast-iron", &metal);
  for (guint shrink = 1; shrink <= 2; shrink++)
    {
      g_autoptr (EfLampScene) scene = ef_lamp_scene_new (surface, &metal, shrink);
      gsize cells = (gsize) (surface->nu / shrink) * (surface->nv / shrink);
      double lit = light (scene), floor_ms = least (cells), painted = paint (chart, scene);

      g_print ("%u x %u cells: lamp moved %.2f ms; root and exponential a cell %.2f ms, ratio %.2f; painted by Cairo at 1280 x 800 %.2f ms, ratio %.2f\n", surface->nu / shrink,
               surface->nv / shrink, lit, floor_ms, lit / floor_ms, painted, lit / painted);
    }

  return EXIT_SUCCESS;
}
