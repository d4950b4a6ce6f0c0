/* The pump after the rework: what was recorded and measured, against what was expected.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Readings marked "after" are as after the rework. Found ones are brought up to date by what was recorded to have come off: pocket depth less the mating face,
 * face width less both ends, end clearance by both. A found reading that the rework has overtaken (flatness of a lapped face, all of a replaced part) counts
 * no more. Marks of a lapped face are shallower by what came off; those that are gone are left out.
 */
#pragma once

#include "../judge/ef-judge.h"
#include "ef-lap-rate.h"
#include "ef-steps.h"

G_BEGIN_DECLS

/* Lapping to a measured target stops within this half width, m: common practice, no source. */
#define EF_AFTER_TARGET 5e-6

/* Anything recorded or measured after rework? */
gboolean ef_after_recorded (const EfInspection *inspection);
/* What came off the face by all records, m, and its standard uncertainty (NAN where a gauge isn't known); NAN where nothing was measured.
 * By one gauge before and after: half of its variance is common to both and cancels, the resolution doesn't. @u_out may be NULL. */
double ef_after_removed (const EfInspection *inspection, const char *face_id, double *u_out);
/* Standard uncertainty of a difference of two readings by the gauge, m. */
double ef_after_gauge_u (const EfGauge *gauge);
/* TRUE when the step that replaces the part is ticked off. */
gboolean ef_after_replaced (const EfInspection *inspection, const char *part_id);
/* What is off each face: recorded, else @steps' stock, all (1 m) of a part that was replaced; face id (owned) -> double * (owned). */
GHashTable *ef_after_stock (const EfInspection *inspection, GPtrArray *steps);
/* The snapshot as it is after the rework: marks, readings and checks as told above, the ids kept. Overrides other than to use again were of the pump as found: left out. @found: the verdict on the pump as found, or NULL;
 * a mark that asked only for its edges to be dressed or for a lip to be stoned is settled when that step is ticked off. */
EfInspection *ef_after_inspection (const EfInspection *inspection, const EfVerdict *found, GError **error);

/* One work record as an observation to learn from; FALSE where it can't be one: not measured, no gauge, no or unknown grits. @material_out: borrowed from the sheet. */
gboolean ef_after_observation (const EfLapTable *table, const EfPumpSheet *sheet, const EfWork *work, const EfGauge *gauge, EfLapObservation *out, const char **material_out);

/* A quantity measured again, against what was expected. */
typedef struct
{
  char *quantity; /* "end-clearance", …, or "removal" of a face */
  char *target, *place;
  char *label;    /* "End clearance, pressure section, drive gear" */
  double predicted, u_predicted; /* m; standard; NAN */
  double measured, u_measured;
  double en;      /* (measured - predicted) / sqrt (U_m^2 + U_p^2), U with k = 2 (normalized error, ISO 13528 and ISO/IEC 17043); NAN when an uncertainty isn't known */
  gboolean outside; /* |en| > 1 */
  char *sentence;
} EfAfterRow;
void ef_after_row_free (EfAfterRow *row);

/* Normalized error from standard uncertainties. */
double ef_after_en (double measured, double u_measured, double predicted, double u_predicted);
/* @before: findings as found; @after_derived: values of ef_after_inspection(). Only what was measured after the rework. EfAfterRow *. */
GPtrArray *ef_after_compare (const EfFindings *before, GPtrArray *after_derived, GPtrArray *steps);

G_END_DECLS
