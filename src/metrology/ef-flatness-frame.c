/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-flatness-frame.h"

#include <math.h>

void
ef_flatness_frame_init (EfFlatnessFrame *frame,
                        const EfPlane *plane)
{
  double along = hypot (1, plane->slope_x);
  double *e1 = frame->axes[0];
  double *e2 = frame->axes[1];
  double *e3 = frame->axes[2];
  double length = sqrt (1 + plane->slope_x * plane->slope_x + plane->slope_y * plane->slope_y);

  frame->origin[0] = plane->x0;
  frame->origin[1] = plane->y0;
  frame->origin[2] = plane->height;
  e1[0] = 1 / along;
  e1[1] = 0;
  e1[2] = plane->slope_x / along;
  e3[0] = -plane->slope_x / length;
  e3[1] = -plane->slope_y / length;
  e3[2] = 1 / length;
  e2[0] = e3[1] * e1[2] - e3[2] * e1[1];
  e2[1] = e3[2] * e1[0] - e3[0] * e1[2];
  e2[2] = e3[0] * e1[1] - e3[1] * e1[0];
}

double *
ef_flatness_frame_points (const EfFlatnessFrame *frame,
                          const double *xyz,
                          guint n)
{
  double *local = g_new (double, 3 * (gsize) n);

  for (guint i = 0; i < n; i++)
    {
      double d[3];

      for (int k = 0; k < 3; k++)
        d[k] = xyz[3 * i + k] - frame->origin[k];
      for (int k = 0; k < 3; k++)
        local[3 * i + k] = frame->axes[k][0] * d[0] + frame->axes[k][1] * d[1] + frame->axes[k][2] * d[2];
    }

  return local;
}

void
ef_flatness_frame_plane (const EfFlatnessFrame *frame,
                         const EfPlane *local,
                         EfPlane *plane)
{
  const double normal_local[3] = { -local->slope_x, -local->slope_y, 1 };
  const double point_local[3] = { local->x0, local->y0, local->height };
  double normal[3] = { 0 };
  double point[3];

  for (int k = 0; k < 3; k++)
    point[k] = frame->origin[k];
  for (int a = 0; a < 3; a++)
    for (int k = 0; k < 3; k++)
      {
        normal[k] += frame->axes[a][k] * normal_local[a];
        point[k] += frame->axes[a][k] * point_local[a];
      }

  *plane = (EfPlane){ point[0], point[1], point[2], -normal[0] / normal[2], -normal[1] / normal[2] };
}
