/* Tip gaps in series along the wall, joined with the films at both ends of the gear.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 *   q = b h^3 dp / (12 mu s_a) - b U h / 2       from delivery to suction, U = omega r_a        [slot flow; Couette]
 */
#pragma once

#include "../base/ef-error.h"

G_BEGIN_DECLS

#define EF_TIP_LEAST_GAP 2e-6

/* One gap. @cube and @gap: means over the face width of h^3 and h. */
typedef struct
{
  double cube; /* m3 */
  double gap;  /* m */
} EfTipGap;

typedef struct
{
  double width;     /* face width b, m */
  double thickness; /* tip thickness s_a, m */
  double speed;     /* U, m/s */
  double mu;        /* Pa s */
} EfTipConditions;

/* Gaps in series with no flow at the sides, from suction (gap 0) to delivery (gap n - 1). @steps, if not NULL, receives the n pressure
 * drops, Pa. @pressure_out: flow driven by @dp alone; @net_out: with the drag, positive from delivery to suction. */
gboolean ef_tip_series (guint n, const EfTipGap *gaps, const EfTipConditions *conditions, double dp, double *steps, double *pressure_out, double *net_out, GError **error);

/* n - 1 sealed spaces between n gaps, each also joined by @film (groups: suction, delivery, bore, then the spaces; row-major,
 * (n + 2) square, m3: flow = conductance dp / mu) to everything else. Suction and bore are at pressure 0. */
typedef struct
{
  double loss;     /* out of delivery, m3/s */
  double to_bore;
  double film;     /* part of @loss that leaves delivery through the films */
  double spaces[64]; /* Pa */
} EfTipNetwork;
gboolean ef_tip_network (guint n, const EfTipGap *gaps, const EfTipConditions *conditions, const double *film, double dp, EfTipNetwork *out, GError **error);

G_END_DECLS
