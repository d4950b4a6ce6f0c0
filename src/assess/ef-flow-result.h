/* What the pump delivers: as new, as found, after rework; what each fault costs; whether the pump is to blame.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../flow/ef-working-point.h"
#include "../judge/ef-judge.h"
#include "ef-flow-monte-carlo.h"

G_BEGIN_DECLS

typedef enum { EF_STATE_NEW, EF_STATE_FOUND, EF_STATE_REWORKED, EF_N_STATES } EfPumpState;
const char *ef_pump_state_name (EfPumpState state); /* "as-new", "as-found", "after-rework" */

/* One state of the pressure section. */
typedef struct
{
  gboolean known;
  char *reason;        /* why it isn't known; NULL */
  double end_clearance[2], tip_clearance[2]; /* hot idle's, m, with thermal growth */
  double side_play[2];
  EfWorkingPoint idle; /* at hot idle against the demand */
  EfWorkingPoint rated; /* delivery at rated speed, pressure and temperature */
  double idle_uncertainty; /* standard, of the idle pressure from the readings', Pa; NAN where a gauge isn't known */
} EfStateFlow;

/* What one fault costs at hot idle: pressure gained if it alone were as new. */
typedef struct
{
  char *id;    /* "face:ID", "mark:ID", "end-clearance", "tip-clearance", "side-play" */
  char *label;
  double pressure; /* Pa */
  double share;    /* of all that is lost against as new */
} EfLeakShare;

/* A curve for plotting. */
typedef struct
{
  guint n;
  double *x, *y;
} EfCurve;

typedef struct
{
  char *section;        /* id of the pressure section */
  double displacement;  /* m3 a revolution */
  double ripple;
  double displacement_ratio; /* scavenge to pressure; NAN where there is none */
  double idle_speed, idle_temperature, idle_mu;
  double rated_speed, rated_temperature, rated_mu, rated_pressure;
  double demand;        /* k, m3 */
  double relief;        /* Pa; NAN */
  guint cells, positions;
  EfStateFlow state[EF_N_STATES];
  GPtrArray *shares;    /* EfLeakShare *, dearest first; NULL unless asked for */
  EfCurve delivery[EF_N_STATES]; /* x: Pa, y: m3/s, at idle speed and temperature */
  EfCurve idle_pressure;         /* x: cold end clearance, m; y: Pa; wear as found */
  EfFlowMonteCarlo monte_carlo;  /* as found; known in full detail only */
  /* The complaint. */
  gboolean has_complaint;
  double missing, explained, explained_uncertainty; /* Pa */
  char *blame;          /* one sentence; NULL without a complaint */
  GPtrArray *assumptions; /* char *: all that went in without being measured, and what isn't modelled */
  gint ref_count;
} EfFlowResult;

EfFlowResult *ef_flow_result_ref (EfFlowResult *self);
void ef_flow_result_unref (EfFlowResult *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfFlowResult, ef_flow_result_unref)

/* COARSE: 64 cells, for figures that follow the pointer. FINE: 256 cells, and the blame. FULL: with shares, curves and draws at random as well. */
typedef enum { EF_DETAIL_COARSE, EF_DETAIL_FINE, EF_DETAIL_FULL, EF_N_DETAILS } EfFlowDetail;

/* Keeps the section's films from one call to the next. */
typedef struct _EfFlowCache EfFlowCache;
EfFlowCache *ef_flow_cache_new (void);
void ef_flow_cache_free (EfFlowCache *cache);

/* @stock: m taken off a face by the rework, by face id (face_id -> double *); @clearance_after: cold end clearance after rework of the pressure
 * section's two gears, NAN not known. @cache may be NULL. A pump without a pressure section, or a state that can't be computed, is no error: the
 * result says why. Fails with EF_ERROR_CANCELLED only, or when the sheet's own numbers don't allow a film. */
EfFlowResult *ef_flow_result_new (const EfFindings *findings, GHashTable *stock, const double clearance_after[2], EfFlowDetail detail, EfFlowCache *cache, GCancellable *cancellable, GError **error);

G_END_DECLS
