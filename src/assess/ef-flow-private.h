/* What the files of the flow result share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "ef-flow-input.h"

G_BEGIN_DECLS

/* One state's films with the gaps they were last given. */
typedef struct
{
  EfSectionFlow *flow;
  guint64 serial[2][2];
  guint64 last_serial;
  /* What the ends' films depend on, of the last gaps. */
  struct
  {
    double film;
    EfDepthMap *plate, *gear_end; /* held */
    double plate_stock, gear_stock;
  } key[2][2];
} EfFlowFilms;

EfFlowFilms *ef_flow_films_new (const EfFlowGeometry *geometry, guint cells, guint positions, GError **error);
void ef_flow_films_free (EfFlowFilms *films);
/* Gives each end its film, solving only for what differs from last time. */
gboolean ef_flow_films_set (EfFlowFilms *films, EfFlowGaps *gaps, GCancellable *cancellable, GError **error);

/* The point at which the state of @gaps meets the demand (both must have the films set). */
typedef struct
{
  double speed, mu, displacement, demand, relief, guess;
} EfFlowTask;
gboolean ef_flow_films_idle (EfFlowFilms *films, EfFlowGaps *gaps, const EfFlowTask *task, EfWorkingPoint *out, GError **error);
gboolean ef_flow_films_deliver (EfFlowFilms *films, EfFlowGaps *gaps, const EfFlowTask *task, double pressure, EfWorkingPoint *out, GError **error);

/* Fills result->shares; films: coarse ones, used freely. */
gboolean ef_flow_shares (EfFlowResult *result, const EfFindings *findings, const EfSection *section, EfFlowFilms *films, const EfFlowTask *task, GCancellable *cancellable, GError **error);
/* Fills missing, explained and the sentence. */
gboolean ef_flow_blame (EfFlowResult *result, const EfFindings *findings, const EfSection *section, EfFlowFilms *films, const EfFlowTask *task, GCancellable *cancellable, GError **error);
/* Standard uncertainty of the idle pressure from the end clearance's, by a difference either way; NAN where that isn't known. */
double ef_flow_idle_uncertainty (const EfFindings *findings, const EfSection *section, EfFlowFilms *films, const EfFlowGaps *gaps, const EfFlowTask *task, GCancellable *cancellable);

G_END_DECLS
