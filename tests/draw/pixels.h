/* What a picture looks like at a place, for tests.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include <cairo.h>
#include <glib.h>
#include <string.h>

/* 0 black … 1 white, the mean over a few px. */
static inline double
light (cairo_surface_t *surface, double x, double y, int reach)
{
  const guint8 *data = cairo_image_surface_get_data (surface);
  int stride = cairo_image_surface_get_stride (surface), n = 0;
  double sum = 0;

  for (int j = (int) y - reach; j <= (int) y + reach; j++)
    for (int i = (int) x - reach; i <= (int) x + reach; i++, n++)
      {
        guint32 pixel = *(const guint32 *) (gconstpointer) (data + (gsize) j * (gsize) stride + 4 * (gsize) i);

        sum += (0.30 * ((pixel >> 16) & 255) + 0.59 * ((pixel >> 8) & 255) + 0.11 * (pixel & 255)) / 255;
      }
  return sum / n;
}

static inline gboolean
same (cairo_surface_t *a, cairo_surface_t *b)
{
  return memcmp (cairo_image_surface_get_data (a), cairo_image_surface_get_data (b), (gsize) cairo_image_surface_get_stride (a) * (gsize) cairo_image_surface_get_height (a)) == 0;
}
