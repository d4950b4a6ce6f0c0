/* How long a depth map of many marks takes, beside references measured in the same run.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Face 100 x 70 mm, cells of 0.1 mm. References: filling a raster of the same size once, and asking each mark's distance at
 * the middle of every cell of the raster (timed on 20 of the marks and scaled up).
 */
#include "wear/ef-depth-map.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define WIDTH 0.1
#define HEIGHT 0.07
#define NU 1000
#define NV 700

static EfMark *
random_mark (GRand *rand,
             guint i)
{
  EfMarkShape shape = (EfMarkShape) (i % 3);
  EfMark *mark = ef_mark_new ("plate/side-a", EF_MARK_SCORING, shape, shape == EF_SHAPE_POINT ? g_rand_double_range (rand, 0.1e-3, 3e-3) : g_rand_double_range (rand, 0.1e-3, 1e-3));
  double u = g_rand_double_range (rand, 0, WIDTH);
  double v = g_rand_double_range (rand, 0, HEIGHT);
  guint n = shape == EF_SHAPE_POINT ? 1 : shape == EF_SHAPE_LINE ? 2 + i % 7 : 4 + i % 9;

  for (guint k = 0; k < n; k++)
    {
      if (shape == EF_SHAPE_AREA)
        ef_mark_add_node (mark, u + 2e-3 * cos (2 * G_PI * k / n), v + g_rand_double_range (rand, 1e-3, 3e-3) * sin (2 * G_PI * k / n));
      else
        ef_mark_add_node (mark, u, v);
      if (shape == EF_SHAPE_LINE)
        {
          u += g_rand_double_range (rand, -2e-3, 4e-3);
          v += g_rand_double_range (rand, -2e-3, 4e-3);
        }
    }
  ef_mark_set_depth (mark, g_rand_double_range (rand, 1e-6, 90e-6), EF_UNIT_UM, NULL);
  if (i % 2 == 0)
    ef_mark_add_depth (mark, u, v, g_rand_double_range (rand, 1e-6, 90e-6), EF_UNIT_UM, NULL);
  return mark;
}

/* Best of several runs, s. The volatile look keeps the fills from being left out. */
static double
time_fill (float *raster)
{
  const volatile float *look = raster;
  double best = INFINITY;

  for (int run = 0; run < 20; run++)
    {
      gint64 start = g_get_monotonic_time ();

      memset (raster, run + 1, NU * NV * sizeof (float));
      if (look[run * 1000] == 0)
        printf ("not filled\n");
      best = MIN (best, (double) MAX (1, g_get_monotonic_time () - start) * 1e-6);
    }
  return best;
}

static double
time_plain (EfMark *const *marks,
            guint n,
            float *raster)
{
  gint64 start = g_get_monotonic_time ();

  for (guint m = 0; m < 20; m++)
    for (guint j = 0; j < NV; j++)
      for (guint i = 0; i < NU; i++)
        if (ef_mark_distance (marks[m], (i + 0.5) * 1e-4, (j + 0.5) * 1e-4) == 0)
          raster[j * NU + i] = 1;
  return (double) (g_get_monotonic_time () - start) * 1e-6 * n / 20;
}

static gboolean
run (guint n)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (2026);
  g_autofree EfMark **marks = g_new (EfMark *, n);
  g_autofree float *raster = g_new0 (float, NU * NV);
  EfFaceChart chart = { .id = (char *) "plate/side-a", .u1 = WIDTH, .v1 = HEIGHT };
  const double outline[] = { 0, 0, WIDTH, 0, WIDTH, HEIGHT, 0, HEIGHT };
  double best = INFINITY, fill, plain;
  EfFaceWear wear = { 0 };

  chart.solid = ef_region_new ();
  ef_region_take (chart.solid, ef_ring_new (4, outline));
  ef_region_take (chart.solid, ef_ring_circle (0.03, 0.035, 0.008, 256));
  for (guint i = 0; i < n; i++)
    marks[i] = random_mark (rand, i);

  fill = time_fill (raster);
  plain = time_plain (marks, n, raster);
  for (int k = 0; k < 5; k++)
    {
      gint64 start = g_get_monotonic_time ();
      g_autoptr (GError) error = NULL;
      g_autoptr (EfDepthMap) map = ef_depth_map_new (&chart, marks, n, 0, NULL, &error);

      if (map == NULL)
        {
          printf ("%u marks: %s\n", n, error->message);
          return FALSE;
        }
      best = MIN (best, (double) (g_get_monotonic_time () - start) * 1e-6);
      ef_face_wear_clear (&wear);
      ef_face_wear_from_map (&chart, map, &wear);
    }
  printf ("%5u marks: map %.1f ms; %.0f x filling the raster once (%.2f ms); 1/%.0f of asking every mark in every cell (%.1f s); worn %.1f %%\n", n,
          best * 1e3, best / fill, fill * 1e3, plain / best, plain, wear.worn_share * 100);

  ef_face_wear_clear (&wear);
  ef_region_free (chart.solid);
  for (guint i = 0; i < n; i++)
    ef_item_unref (marks[i]);
  return TRUE;
}

int
main (void)
{
  return run (2000) && run (10000) ? 0 : 1;
}
