/* The worn land of each plan face: how much of it is restored by lapping, by area and by what it costs in leakage.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../rework/ef-stock-needed.h"
#include "ef-flow-weights.h"

G_BEGIN_DECLS

/* Immutable. */
typedef struct
{
  char *face_id;
  EfLandCurve area;
  gboolean by_leakage; /* the film is solved for: sealing counts; else area alone does */
  EfLandCurve sealing; /* weighted by leakage (ef-flow-weights.h) */
  char *rests_on;      /* what the weights rest on, or why there are none: one phrase */
  gint ref_count;
} EfFaceLand;

EfFaceLand *ef_face_land_ref (EfFaceLand *self);
void ef_face_land_unref (EfFaceLand *self);
/* The curve that counts. */
const EfLandCurve *ef_face_land_curve (const EfFaceLand *self);
/* Share restored by removal @r on a face of flatness deviation @flatness, by the curve that counts; 0 m: as found. */
double ef_face_land_restored (const EfFaceLand *self, double flatness, double r);
/* Removal until EF_SEALING_SHARE of it is. */
double ef_face_land_needed (const EfFaceLand *self, double flatness);

/* Keeps curves of faces whose map and weights are the same as before. Thread-safe. */
typedef struct _EfLandCache EfLandCache;
EfLandCache *ef_land_cache_new (void);
void ef_land_cache_free (EfLandCache *cache);

/* EfFaceLand *, one for each plan face with wear; @findings: charts and maps are there. Caches may be NULL. Fails with EF_ERROR_CANCELLED only: without a film it is
 * by area, and says so. */
GPtrArray *ef_assess_land (const EfFindings *findings, EfFlowCache *flow, EfLandCache *cache, GCancellable *cancellable, GError **error);
const EfFaceLand *ef_face_land_find (GPtrArray *land, const char *face_id); /* NULL: no wear there */

G_END_DECLS
