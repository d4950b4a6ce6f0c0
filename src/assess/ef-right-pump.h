/* Which pump model suits a demand: all of them on this job's engine, as new, beside this pump as it is.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The engine is that of the job's pump sheet: its demand constant k, hot-idle speed and temperature, and the job's oil. Added consumers lie beside
 * the engine (k grows by mu Q / p), an oil cooler and its lines in the way to both: c = mu Q / dp there, so that the pump sees k c / (k + c) and of its
 * pressure the share c / (k + c) reaches the bearings. All laminar, as k itself. What else a pump's sheet says of its own engine isn't used.
 */
#pragma once

#include "ef-assessment.h"

G_BEGIN_DECLS

#define EF_RIGHT_PUMP_CELLS 64
#define EF_RIGHT_PUMP_POINTS 9

typedef struct
{
  char *id, *model;
  gboolean this_model;
  EfPumpState state;    /* EF_STATE_NEW but for this job's pump */
  char *label;          /* "HL-24 as new", "this HL-24 as found" */
  gboolean known;
  char *reason;         /* why not; NULL */
  double displacement;  /* m3 a revolution */
  double scavenge_ratio; /* scavenge to pressure displacement; NAN without a scavenge section */
  double scavenge_margin; /* scavenge displacement x speed over what is delivered to the engine at hot idle; NAN */
  double pressure;      /* at the bearings, Pa, hot idle under the demand */
  double before;        /* the same without the demand: at the sheet's own hot idle */
  double pump_pressure; /* at the pump, Pa */
  double delivery;      /* m3/s to the engine at hot idle */
  double rated_delivery; /* m3/s at the job's rated speed, pressure and temperature */
  gboolean at_relief;
  gboolean same_mounting, same_pickup; /* as this job's pump, by the notes of the sheets */
  char *mounting, *pickup;
  EfCurve over_speed;   /* x: rev/s; y: Pa at the bearings */
  EfCurve over_demand;  /* x: times the demand; y: Pa */
} EfPumpChoice;

struct _EfRightPump
{
  GPtrArray *choices;   /* EfPumpChoice *: this pump as found (and after rework), this model, those of the same mounting, the others; the highest pressure first */
  double k, k_pump;     /* the engine's with added consumers; as the pump sees it; m3 */
  double share;         /* of the pump's pressure that reaches the bearings */
  double speed, temperature, mu;
  double wanted;        /* Pa at the bearings: the job's expected pressure, else the sheet's at hot idle; NAN */
  char *wanted_from;    /* "the job", "the pump sheet" */
  char *sentence;
  GPtrArray *notes;     /* char * */
};

/* @sheets: EfPumpSheet *, the job's own may be among them. @demand NULL: as the sheet says. @assessment in any detail. Fails with EF_ERROR_NOT_FOUND when the job's
 * sheet has no hot idle with a demand, EF_ERROR_CANCELLED. */
EfRightPump *ef_right_pump_new (const EfAssessment *assessment, GPtrArray *sheets, const EfDemand *demand, GCancellable *cancellable, GError **error);
void ef_right_pump_free (EfRightPump *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfRightPump, ef_right_pump_free)
/* Member "right_pump" of the results file: bar, L/min, 1/min, degrees C, the unit in each name. Schema: data/schemas/results.schema.json. */
JsonNode *ef_right_pump_to_json (const EfRightPump *self);
/* All sheets in the data folder: EfPumpSheet *. */
GPtrArray *ef_right_pump_sheets (GError **error);

G_END_DECLS
