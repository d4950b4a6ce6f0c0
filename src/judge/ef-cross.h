/* Findings that cross parts: whether what was found in different places tells the same story.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Directions are compared in the wall frame of each gear: psi from away from the mate, positive towards delivery. The oil pushes a gear in
 * the direction of the computed load; there its tips run against the wall (lip) and its shaft wears the bore long. Diameters tell the
 * direction modulo half a turn only. Consistent: within 25 degrees and twice the standard uncertainty of the difference.
 */
#pragma once

#include "ef-judge.h"

G_BEGIN_DECLS

typedef struct
{
  char *id;       /* "lip:pressure:drive", "bore-ovality:pressure-housing/bore-drive", "suspect:READING" */
  char *target;   /* face or part id */
  gboolean consistent;
  double direction, u_direction; /* of what was found, rad; NAN for a suspect */
  double load;    /* rad; NAN */
  double period;  /* of the direction: a whole turn, or half of one where both ends mean the same */
  char *sentence, *next; /* what it means; what to check */
  GPtrArray *refs; /* char *: "mark:ID", "reading:ID" */
} EfCross;
void ef_cross_free (EfCross *cross);

/* @load_psi: directions of the computed load on the gears of @section, NAN not known. EfCross * elements. */
GPtrArray *ef_cross_findings (const EfFindings *findings, const EfSection *section, const double load_psi[2]);

G_END_DECLS
