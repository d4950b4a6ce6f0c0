/* The form of a face as read at places of it: numbered places, their mean heights, the minimum zone and which places carry it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What pictures and words of flatness are made of; the window and the report number the places alike.
 */
#pragma once

#include "../pump/ef-face-chart.h"
#include "ef-reading.h"

G_BEGIN_DECLS

#define EF_FLAT_MIN_PLACES 4
#define EF_FLAT_SAME_PLACE 1e-6 /* m: readings nearer than this are repeats */

typedef struct
{
  double u, v;
} EfFlatPlace;

/* The places of a face to be read: those of the plan (9 spread over the material, each as far as can be from those before), unless the face was
 * read elsewhere only; then the others that were read, in order of their first reading. Number 1 comes first. EfFlatPlace. */
GArray *ef_flat_places (const EfFaceChart *chart, EfReading *const *readings, guint n_readings);

typedef struct
{
  guint number;     /* 1 … */
  guint repeats;
  double u, v;      /* m, on the chart */
  double height;    /* m, mean as read */
  double deviation; /* m, square to the middle plane of the zone; NAN while the zone isn't known */
  int carries;      /* +1: lies on the upper plane and carries the zone, -1: on the lower one, 0 neither */
} EfFlatPoint;

typedef struct
{
  char *face_id;
  guint n_places;      /* to be read */
  guint n;             /* that were */
  EfFlatPoint *points; /* by number */
  gboolean known;
  char *reason;        /* why the zone isn't known; NULL */
  double zone;         /* m, ISO 1101 */
  double uncertainty;  /* standard, m; NAN */
  double limit;        /* m; NAN where the sheet has none */
  char *source;        /* of the limit; NULL */
} EfFlatForm;

/* @derived: from ef_derive(), for the uncertainty; NULL none. */
EfFlatForm *ef_flat_form_new (const EfFaceChart *chart, EfReading *const *readings, guint n_readings, GPtrArray *derived);
void ef_flat_form_free (EfFlatForm *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfFlatForm, ef_flat_form_free)

G_END_DECLS
