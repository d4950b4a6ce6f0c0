/* The step sheet: strip, rework, clean, measure, reassemble, in an order that can be worked.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../judge/ef-judge.h"

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
  double stock;        /* m to take off; NAN */
} EfStep;

/* EfStep * in working order (a topological order of "after"; fails with EF_ERROR_INVALID on a cycle). */
GPtrArray *ef_steps_plan (const EfFindings *findings, const EfVerdict *verdict, GError **error);
/* Cautions for the whole job from materials and steps, each once. */
GPtrArray *ef_steps_cautions (const EfPumpSheet *sheet, GPtrArray *steps);

G_END_DECLS
