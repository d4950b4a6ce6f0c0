/* The step sheet: strip, rework, clean, measure, reassemble, in an order that can be worked.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../judge/ef-judge.h"
#include "ef-lap-work.h"

G_BEGIN_DECLS

typedef struct
{
  char *id;       /* stable: "lap-separator-side-a"; ticks refer to it */
  char *phase;    /* "strip", "rework", "clean", "measure", "assemble" */
  char *text;     /* one instruction with its numbers */
  char *why;      /* NULL or a sentence */
  GPtrArray *tools;    /* char * */
  GPtrArray *cautions; /* char * */
  GPtrArray *checks;   /* char *: with limits */
  GPtrArray *after;    /* char *: ids of the steps that must come before */
  char *part_id;       /* NULL: whole pump */
  char *face_id;       /* NULL: no single face */
  double stock;        /* m to take off; NAN */
} EfStep;

void ef_step_free (EfStep *step);

/* EfStep * in working order (a topological order of "after"; fails with EF_ERROR_INVALID on a cycle). */
GPtrArray *ef_steps_plan (const EfFindings *findings, const EfVerdict *verdict, GError **error);
/* The same from what's to be done and the lapping already planned. */
GPtrArray *ef_steps_plan_with (const EfFindings *findings, const EfVerdict *verdict, GPtrArray *todo, const EfLapWork *work, GError **error);
/* Puts @steps (EfStep *) into an order in which each comes after those it names; steps that don't depend on each other keep their
 * order. Names of steps that aren't there are passed over. Fails with EF_ERROR_INVALID naming a step of the cycle. */
gboolean ef_steps_order (GPtrArray *steps, GError **error);
/* End clearance (m) of a section at one gear ("drive", "driven") once the steps are done: what comes off the mating face lowers it, what comes
 * off the gear's ends raises it, lapping a plate leaves it. NAN while it isn't measured. */
double ef_steps_clearance_after (const EfFindings *findings, GPtrArray *steps, const EfSection *section, const char *place);
/* Cautions for the whole job from materials and steps, each once. */
GPtrArray *ef_steps_cautions (const EfPumpSheet *sheet, GPtrArray *steps);

G_END_DECLS
