/* How much to lap off which face: the least that cleans up the wear and brings the end clearance within its limits.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lapping the housing's mating face makes the pocket shallower and lowers the end clearance; lapping a gear's end raises it; lapping
 * a plate leaves it as it is.
 */
#pragma once

#include "../judge/ef-judge.h"

G_BEGIN_DECLS

#define EF_LAP_ROUND 5e-6 /* stock is rounded up to this, m: common practice, no source */

typedef struct
{
  char *face_id;
  double deepest;   /* deepest wear on the face, m; 0 */
  double flatness;  /* measured, m; 0 */
  double clearance; /* what the end clearance asks for, m; 0 */
  double stock;     /* to take off, m */
  double bound;     /* what may come off, m */
  guint n_grits;    /* how: passes of each grit, coarsest first; 0: not known */
  int passes[8];
  char *grit[8];    /* "coarse, P400" */
  double per_pass[8]; /* m */
} EfLapStock;

/* The actions of the verdict that aren't overruled: pairs of action and target, each once, in the order of the tree. */
typedef struct
{
  const char *action; /* of ef_reason_actions */
  char *target;
  char *part_id;      /* NULL: a section */
  const EfReason *reason;
} EfTodo;

GPtrArray *ef_todo_list (const EfFindings *findings, const EfVerdict *verdict); /* EfTodo * */
/* @target NULL: for any. */
gboolean ef_todo_has (GPtrArray *todo, const char *action, const char *target);

/* Nothing to take off. */
EfLapStock *ef_lap_stock_new (const char *face_id);
void ef_lap_stock_free (EfLapStock *stock);
/* EfLapStock *: what comes off which face by the recommended option of the plan (ef-lap-work.h). */
const EfLapStock *ef_lap_stock_find (GPtrArray *stocks, const char *face_id);
/* Least and greatest end clearance the section should have afterwards, m: as new where the sheet says so, else up to the wear limit. */
void ef_lap_clearance_window (const EfPumpSheet *sheet, const EfSection *section, double *least_out, double *most_out);
/* The measured end clearance at one gear, m; NAN. */
double ef_lap_clearance_found (const EfFindings *findings, const EfSection *section, int gear);

G_END_DECLS
