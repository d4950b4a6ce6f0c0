/* What the files of the flow result share.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "ef-flow-field.h"
#include "ef-flow-input.h"
#include "ef-flow-weights.h"

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

/* Which gear ends a face lies against. */
typedef struct
{
  int end;         /* 0 the front one; -1 of a plate, cover or floor until ef_film_end_met_by() has told */
  gboolean is_end; /* the face is itself a gear's end */
  int gear;        /* then: whose; -1: both */
} EfFilmPlace;

/* FALSE where the face has no film of @section. */
gboolean ef_film_place_find (const EfPumpSheet *sheet, const EfSection *section, const char *face_id, EfFilmPlace *place);
/* The gear end that looks at a face of plate, cover or housing. */
int ef_film_end_met_by (const EfFaceChart *chart);
/* Fills origin and axes for patch->gear's wall frame; FALSE where the face isn't plane. */
gboolean ef_field_patch_on_plane (const EfSection *section, const EfFaceChart *chart, EfFieldPatch *patch);
void ef_field_patch_on_end (const EfSection *section, const EfFilmPlace *place, double turn, EfFieldPatch *patch);

/* As new, at hot idle; what ef_flow_weights_new() solves for. @films as set for @gaps. */
EfFlowWeights *ef_flow_weights_solve (const EfPumpSheet *sheet, const EfSection *section, EfFlowFilms *films, const EfSectionConditions *conditions, GCancellable *cancellable, GError **error);
/* For the same sheet: whether they are those of oil of this viscosity, Pa s. */
gboolean ef_flow_weights_are_of (const EfFlowWeights *self, double mu);

/* The clearances that are drawn at random: of the drive gear, then of the driven one. */
enum { EF_FLOW_END = 0, EF_FLOW_TIP = 2, EF_FLOW_PLAY = 4, EF_FLOW_TERMS = 6 };

/* Their standard uncertainties, m (0 where that of a tip clearance or side play isn't known), and correlation. FALSE where the end clearance's isn't known. */
gboolean ef_flow_clearances_uncertain (const EfFindings *findings, const EfSection *section, double u[EF_FLOW_TERMS], double correlation[EF_FLOW_TERMS * EF_FLOW_TERMS]);

/* Where pump and engine agree at @temperature (K) with the clearances of @found off by @shift, m. */
gboolean ef_flow_solve_moved (EfFlowFilms *films, const EfFlowGaps *found, const double shift[EF_FLOW_TERMS], double temperature, const EfFlowTask *task, GCancellable *cancellable, EfWorkingPoint *out, GError **error);

typedef struct
{
  guint32 seed;
  guint n;                /* 0: adaptive */
  double anchor;          /* L as found on finer films than those drawn on, m3: the figures are brought to it; NAN: they stay */
  double demand_pressure; /* Pa; NAN */
} EfFlowDraws;

/* Pressure, leakage and end clearance drawn at random; @films: used freely. Errors as ef_flow_monte_carlo(). */
gboolean ef_flow_draw (const EfFindings *findings, const EfSection *section, EfFlowFilms *films, double temperature, const EfFlowTask *task, const EfFlowDraws *draws, GCancellable *cancellable, EfFlowMonteCarlo *out, GError **error);

G_END_DECLS
