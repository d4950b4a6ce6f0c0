/* What is to be measured on a pump, in bench order: one form a section and a part, its fields grouped by quantity.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plain data made from the pump sheet; no widgets, so it's tested without a window.
 */
#pragma once

#include "../inspection/ef-inspection.h"

G_BEGIN_DECLS

/* One field: a quantity at one place. */
typedef struct
{
  EfQuantity quantity;
  char *target;
  char *place;  /* or NULL */
  double angle; /* rad; NAN */
  double u, v;  /* m; NAN */
  char *label;
} EfSlot;

typedef struct
{
  EfQuantity quantity;
  char *title;
  char *target;
  gboolean directions; /* further directions may be added */
  GPtrArray *slots;    /* EfSlot * */
} EfSlotGroup;

typedef struct
{
  char *id;    /* section or part id */
  char *title;
  char *note;  /* or NULL */
  GPtrArray *groups; /* EfSlotGroup * */
} EfBenchForm;

/* EfBenchForm *; forms without fields are left out. */
GPtrArray *ef_bench_plan (EfPumpSheet *sheet);
/* A face that was read elsewhere than planned is to be read at those places. Before any form is made from the plan: slots are made anew. */
void ef_bench_plan_take_places (GPtrArray *plan, const EfInspection *inspection);
EfSlot *ef_slot_new (EfQuantity quantity, const char *target, const char *place, double angle, const char *label);
void ef_slot_free (EfSlot *slot);
gboolean ef_slot_holds (const EfSlot *slot, const EfReading *reading);
/* The slot's field for a direction the group hasn't got yet, made from a slot of the same place. */
EfSlot *ef_slot_at_direction (const EfSlot *like, double angle);
/* EfReading * of the inspection in this slot, oldest first; owned by the caller, the readings are borrowed. */
GPtrArray *ef_slot_readings (const EfSlot *slot, const EfInspection *inspection);
/* How many fields of the form have a reading, of how many. */
void ef_bench_form_progress (const EfBenchForm *form, const EfInspection *inspection, guint *done_out, guint *all_out);

/* What is still missing, as short phrases (char *), most important first. Empty when nothing is. */
GPtrArray *ef_missing_readings (const EfInspection *inspection);
GPtrArray *ef_missing_details (const EfInspection *inspection);
/* "Still missing: a; b; c and 4 more"; NULL when @phrases is empty. */
char *ef_missing_sentence (GPtrArray *phrases);

G_END_DECLS
