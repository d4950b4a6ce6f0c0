/* An inspection: one pump on the bench, all that was seen, measured and decided about it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The items are immutable and shared, so ef_inspection_copy() is cheap: it's the snapshot that workers compute on.
 */
#pragma once

#include "../base/ef-json.h"
#include "../metrology/ef-reading.h"
#include "../pump/ef-face-chart.h"
#include "../wear/ef-mark.h"
#include "ef-photo.h"
#include "ef-work.h"

G_BEGIN_DECLS

/* What the job is about; item id "job". Text fields may be NULL. */
typedef struct
{
  EfItem item;
  char *number;      /* "J-0412" */
  char *serial;      /* of the pump */
  char *received;    /* ISO date */
  char *customer;    /* "tug, port engine" — a vessel or machine, not a person */
  char *bench;       /* "bench 2" */
  char *role;        /* who works on it: "rebuilder" */
  double hours;      /* running hours; NAN */
  char *complaint;
  double found_pressure;    /* Pa, hot idle as measured; NAN */
  double found_speed;       /* rev/s of the pump; NAN */
  double found_temperature; /* K; NAN */
  double expected_pressure; /* Pa; NAN */
  char *oil;                /* grade used; NULL: the sheet's */
  char *decision;           /* ef_decision_rule_name() of how limits are decided on in this job; NULL: as the rule set says */
  double coverage;          /* of the guard band; only with @decision, otherwise 0 */
  char *plan_goal;          /* the lapping plan that was chosen, one of ef_plan_goals; NULL: the recommended one */
  char *note;
} EfJobHeader;
extern const EfItemClass ef_job_header_class;

typedef enum { EF_CHECK_UNSEEN, EF_CHECK_SOUND, EF_CHECK_LOOSE, EF_CHECK_DAMAGED, EF_CHECK_MISSING, EF_N_CHECK_STATES } EfCheckState;

/* Item id is the part id. */
typedef struct
{
  EfItem item;
  EfCheckState state;
  char *note;
  GStrv photos;
} EfCheck;
extern const EfItemClass ef_check_class;

/* Item id is the subject's id, as in EfVerdict. */
typedef struct
{
  EfItem item;
  char *verdict; /* ef_verdict_name() */
  char *reason;  /* never empty */
  char *role, *time;
} EfOverride;
extern const EfItemClass ef_override_class;

/* Item id is the step's id. */
typedef struct
{
  EfItem item;
  char *role, *time, *note;
} EfTick;
/* The tick that stands for the sign-off of the whole job: role, time and a note. */
#define EF_SIGN_OFF_ID "sign-off"
extern const EfItemClass ef_tick_class;

/* What the engine will ask of a pump beyond what the pump sheet says. Item id "demand". */
typedef struct
{
  EfItem item;
  double cooler_flow, cooler_drop;    /* an extra oil cooler with its lines, in the way to the bearings: pressure lost (Pa) at a flow (m3/s), the
                                         oil being as at hot idle; NAN none */
  double extra_flow, extra_pressure;  /* added consumers: flow (m3/s) at a pressure (Pa), oil as at hot idle; NAN none */
  double hotter;                      /* K above the sheet's hot idle; NAN: 0 */
  double speed;                       /* idle, rev/s of the pump; NAN: the sheet's */
  char *note;
} EfDemand;
extern const EfItemClass ef_demand_class;

/* Kinds of work that time is counted for. */
typedef enum
{
  EF_COST_STRIP, EF_COST_LAP, EF_COST_PASS, EF_COST_REWORK, EF_COST_CLEAN, EF_COST_MEASURE, EF_COST_ASSEMBLE, EF_COST_FIT, EF_N_COST_KINDS
} EfCostKind;
const char *ef_cost_kind_name (EfCostKind kind); /* "strip" … */

/* The shop's own rates. What isn't set is NAN or NULL; nothing is made up for it. Item id "cost". */
typedef struct
{
  EfItem item;
  char *currency;    /* as written behind amounts */
  double hour_rate;  /* of one hour */
  double new_pump;   /* price of a new pump of this model */
  double parts;      /* price of parts and materials for the rework */
  double minutes[EF_N_COST_KINDS]; /* by kind, a step (or a pass) */
  char *note;
} EfCost;
extern const EfItemClass ef_cost_class;

typedef struct
{
  EfPumpSheet *sheet;
  GPtrArray *items[EF_N_ITEM_KINDS]; /* of EfItem *, in order of making; owns references */
} EfInspection;

EfInspection *ef_inspection_new (EfPumpSheet *sheet, const char *job_number); /* with an empty header */
EfInspection *ef_inspection_copy (const EfInspection *self);
void ef_inspection_free (EfInspection *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfInspection, ef_inspection_free)

gpointer ef_inspection_find (const EfInspection *self, EfItemKind kind, const char *id); /* borrowed; NULL */
/* Borrowed; there always is one. */
const EfJobHeader *ef_inspection_header (const EfInspection *self);
/* Replaces the item of @before's kind and id by @after; NULL before: adds; NULL after: removes. Low level: the document calls
 * it. Takes references of its own. Fails and changes nothing when before isn't there or differs from what is there (EF_ERROR_NOT_FOUND),
 * the id is taken, a gauge still in use is removed (EF_ERROR_INVALID), or the item doesn't fit the pump sheet (unknown face, …). */
gboolean ef_inspection_swap (EfInspection *self, EfItem *before, EfItem *after, GError **error);
/* The same with the place in the order of making: @position is where an added item goes (-1: last), @position_out (or NULL)
 * receives where the item stood or stands now, so that putting a removed item back restores the order too. */
gboolean ef_inspection_swap_at (EfInspection *self, EfItem *before, EfItem *after, int position, int *position_out, GError **error);
/* Puts all @items (EfItem *) of one kind in at once, after those that are there; the same checks, but quick for thousands.
 * For the header: exactly one, it replaces the one that is there. On failure nothing is added. */
gboolean ef_inspection_fill (EfInspection *self, EfItemKind kind, GPtrArray *items, GError **error);
/* Numbers finite and possible, texts valid UTF-8 of bearable length, dates ISO 8601, ids of parts, faces and gauges known.
 * Messages begin with the kind and id: "mark 1b2c: face: expected …, found …". */
gboolean ef_inspection_check_item (const EfInspection *self, const EfItem *item, GError **error);
/* The item itself (a new reference) when each of its numbers is one that files keep to the last bit: lengths in whole nanometres,
 * angles in nanodegrees, pressures in pascal, temperatures in microkelvin, speeds in 1e-6 rev/min. Otherwise a copy brought onto
 * that grid. ef_change_add() does this for you. */
gpointer ef_item_on_grid (gpointer item);
gboolean ef_inspection_equal (const EfInspection *a, const EfInspection *b);
/* Marks of one face, in order: borrowed array of EfMark *, owned by the caller (g_ptr_array_unref). */
GPtrArray *ef_inspection_face_marks (const EfInspection *self, const char *face_id);
int ef_inspection_next_number (const EfInspection *self); /* for a new mark */

/* The words an override may set, NULL-terminated: the names of ef_verdict_name(), kept here since judge/ lies above. */
extern const char *const ef_override_verdicts[];
/* What a header's plan_goal may be, NULL-terminated: the alternatives to the recommended lapping plan, kept here since rework/ lies above. */
extern const char *const ef_plan_goals[];

const char *ef_item_kind_name (EfItemKind kind); /* "header", "mark", … */
/* How items of the kind are copied, compared and freed (ef-item.h). */
const EfItemClass *ef_item_kind_class (EfItemKind kind);

/* "unseen" …, in files; "Not looked at" …, untranslated, shown; back from the name: FALSE where it is none. */
const char *ef_check_state_name (EfCheckState state);
const char *ef_check_state_label (EfCheckState state);
gboolean ef_check_state_from_name (const char *name, EfCheckState *state_out);

/* "same on the mate", "same on every tooth": new marks (with new ids and numbers) as EfMark *; NULL and an error where it can't be:
 * EF_ERROR_NOT_FOUND for faces without mate or teeth, EF_ERROR_GEOMETRY for a mark on a flank or tip that reaches over more than one
 * tooth. Kind, shape, size, depths and note are taken over; neither photos, which show the one place, nor gauges, since nobody has measured at
 * the other places: their depths stand there as not said how. On the mate, nodes go to the places that meet
 * (ef_face_chart_mate_point); on teeth, one new mark for every tooth but its own. */
GPtrArray *ef_repeat_on_mate (const EfInspection *self, const EfMark *mark, GError **error);
GPtrArray *ef_repeat_on_teeth (const EfInspection *self, const EfMark *mark, GError **error);

/* JSON of single items and of the whole; units in the member names ("depth_mm"). Schema: data/schemas/inspection.schema.json.
 * Used by the exchange file (record/) and by the store, which keeps each item as its JSON. */
JsonNode *ef_item_to_json (const EfItem *item);
EfItem *ef_item_from_json (EfItemKind kind, const EfJson *json); /* sticks an error into json's context and returns NULL on failure */
G_END_DECLS
