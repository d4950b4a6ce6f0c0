/* How much processor time a redraw of a face takes with 2,000 and 10,000 marks, whole and zoomed in.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "../draw/sample.h"
#include "draw/ef-draw-ink.h"

#include <stdlib.h>
#include <time.h>

/* Of the processor, so that a busy machine doesn't count. */
static double
now_ms (void)
{
  struct timespec t;

  clock_gettime (CLOCK_PROCESS_CPUTIME_ID, &t);
  return t.tv_sec * 1e3 + t.tv_nsec / 1e6;
}

static double
redraw (const EfFaceChart *chart, GPtrArray *marks, double zoom, gboolean numbers)
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 1280, 800);
  EfFaceLayers layers = { .labels = TRUE, .mark_numbers = numbers };
  double best = G_MAXDOUBLE;
  EfDrawStyle style;
  EfFaceView view;

  ef_draw_style_screen (&style, FALSE, FALSE);
  ef_face_view_fit (&view, chart, 1280, 800, 20);
  view.x0 = 640 - (640 - view.x0) * zoom;
  view.y0 = 400 - (400 - view.y0) * zoom;
  view.scale *= zoom;
  for (int k = 0; k < 5; k++)
    {
      double start = now_ms ();
      cairo_t *cr = cairo_create (surface);

      ef_draw_paper (cr, &style);
      ef_draw_face_ground (cr, &style, &view, chart, &layers);
      ef_draw_face_marks (cr, &style, &view, chart, (EfMark *const *) marks->pdata, marks->len, &layers, NULL);
      cairo_destroy (cr);
      best = MIN (best, now_ms () - start);
    }
  cairo_surface_destroy (surface);
  return best;
}

int
main (void)
{
  static const guint counts[] = { 200, 2000, 10000 };
  g_autoptr (EfPumpSheet) sheet = sample_sheet ("hl-24");
  g_autoptr (EfFaceChart) chart = ef_face_chart_new (sheet, "separator/side-a", NULL);

  if (chart == NULL)
    return EXIT_FAILURE;
  for (guint i = 0; i < G_N_ELEMENTS (counts); i++)
    {
      g_autoptr (GPtrArray) marks = sample_marks (chart, counts[i], 3);

      g_print ("%5u marks, 1280 x 800: whole %.1f ms, with numbers %.1f ms, zoomed 8 times %.1f ms\n", counts[i], redraw (chart, marks, 1, FALSE), redraw (chart, marks, 1, TRUE), redraw (chart, marks, 8, TRUE));
    }
  return EXIT_SUCCESS;
}
