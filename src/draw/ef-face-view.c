/* Chart metres to target units and back.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "ef-draw.h"

void
ef_face_view_fit (EfFaceView *view, const EfFaceChart *chart, double width, double height, double margin)
{
  double du = MAX (chart->u1 - chart->u0, 1e-6);
  double dv = MAX (chart->v1 - chart->v0, 1e-6);
  double w = MAX (width - 2 * margin, 1);
  double h = MAX (height - 2 * margin, 1);

  view->scale = MIN (w / du, h / dv);
  view->x0 = width / 2 - view->scale * (chart->u0 + chart->u1) / 2;
  view->y0 = height / 2 + view->scale * (chart->v0 + chart->v1) / 2;
}

void
ef_face_view_to_screen (const EfFaceView *view, double u, double v, double *x, double *y)
{
  *x = view->x0 + view->scale * u;
  *y = view->y0 - view->scale * v;
}

void
ef_face_view_to_chart (const EfFaceView *view, double x, double y, double *u, double *v)
{
  *u = (x - view->x0) / view->scale;
  *v = (view->y0 - y) / view->scale;
}
