/* The form of a bore or journal: the four reference circles, ovality and its direction, from diameters or from probe points.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Diameters count as pairs of points that lie across a common centre: they tell nothing of odd lobes, and the circles found from them say
 * as much as the diameters do. The inscribed one is held at the common centre.
 */
#pragma once

#include "ef-reading.h"
#include "ef-roundness.h"

G_BEGIN_DECLS

#define EF_ROUND_MIN_DIRECTIONS 3

typedef enum { EF_CIRCLE_LSCI, EF_CIRCLE_MZCI, EF_CIRCLE_MCCI, EF_CIRCLE_MICI, EF_N_CIRCLES } EfCircleKind;
const char *ef_circle_abbreviation (EfCircleKind kind); /* "LSCI" */
const char *ef_circle_label (EfCircleKind kind);        /* "least squares" */

typedef struct
{
  double angle;    /* rad, in the face's own angle, [0, pi) */
  double diameter; /* m, mean at 20 degrees C: brought there as ef_derive() does */
  double u;        /* standard, of the gauge, m; NAN */
  guint repeats;
} EfRoundDirection;

typedef struct
{
  gboolean from_diameters;
  guint n_directions;  /* 0 for probe points */
  EfRoundDirection *directions; /* by angle */
  guint n_points;
  double *xy;          /* of probe points, or of the ends of the diameters: first all at their angles, then all across, m */
  gboolean known;
  char *reason;        /* why the circles aren't known; NULL */
  EfCircleFit circle[EF_N_CIRCLES];
  gboolean oval_known;     /* a second harmonic could be fitted (5 directions or more) */
  double amplitude;        /* A of r = r0 + A cos 2 (t - direction), m */
  double ovality;          /* largest less smallest diameter, m; NAN */
  double direction;        /* rad, [0, pi); NAN */
  double u_ovality, u_direction; /* standard; NAN where not known */
  double limit;            /* m, of the ovality; NAN */
  char *source;            /* NULL */
} EfRoundForm;

/* @quantity: bore or journal diameters, of @part and @place. Readings without a direction are passed over. @derived: from ef_derive(), NULL
 * none; its ovality and uncertainty are the ones that count for the verdict. */
EfRoundForm *ef_round_form_new (const EfPumpSheet *sheet, EfQuantity quantity, const char *part, const char *place, EfReading *const *readings, guint n_readings, EfGauge *const *gauges, guint n_gauges, GPtrArray *derived);
/* Probe points x0 y0 x1 …, m. */
EfRoundForm *ef_round_form_from_points (const double *xy, guint n);
void ef_round_form_free (EfRoundForm *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfRoundForm, ef_round_form_free)

G_END_DECLS
