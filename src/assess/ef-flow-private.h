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
  EfWornMaps *worn; /* borrowed; NULL: every film is sampled anew */
  /* What the ends' films depend on, of the last gaps. */
  struct
  {
    double film;
    EfWornMap *plate, *gear_end; /* held */
  } key[2][2];
} EfFlowFilms;

/* Takes over @flow. @worn: may be NULL. */
EfFlowFilms *ef_flow_films_new (EfSectionFlow *flow, EfWornMaps *worn);
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

/* The films that the uncertainty of a pressure is worked out on; each keeps to its own clearances, so that an edit stays local. */
typedef struct
{
  EfFlowFilms *found, *low, *high;
} EfFlowSpread;

/* Fills result->shares; films: coarse ones, used freely. */
gboolean ef_flow_shares (EfFlowResult *result, const EfFindings *findings, const EfSection *section, EfFlowFilms *films, const EfFlowTask *task, GCancellable *cancellable, GError **error);
/* Fills missing, explained and the sentence. */
gboolean ef_flow_blame (EfFlowResult *result, const EfFindings *findings, const EfSection *section, EfFlowFilms *new, const EfFlowSpread *spread, const EfFlowTask *task, GCancellable *cancellable, GError **error);
/* Standard uncertainty of the idle pressure at @temperature (K) from those of end, tip and shaft clearance, each by a difference either way, together
 * in quadrature; NAN where the end clearance's isn't known. Notes which of the others isn't. */
double ef_flow_idle_uncertainty (const EfFindings *findings, const EfSection *section, const EfFlowSpread *spread, double temperature, const EfFlowTask *task, GPtrArray *assumptions, GCancellable *cancellable);

G_END_DECLS
