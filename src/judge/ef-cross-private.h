/* What the findings that cross parts share. Inside judge only.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-cross.h"

G_BEGIN_DECLS

extern const char *const ef_cross_sides[2]; /* "drive", "driven" */

/* Takes @id; directions not known yet. */
EfCross *ef_cross_add (GPtrArray *list, char *id, const char *target);
int ef_cross_degrees (double angle);
/* Direction against load, modulo @period: sentence, next and whether it's consistent. @what begins the sentence. */
void ef_cross_compare (EfCross *cross, double period, const char *what);
/* "reading:ID" of all that @derived rests on. */
void ef_cross_add_readings (EfCross *cross, const EfDerived *derived);

/* Marks and readings of journals: a shaft that turns is worn evenly by a load that stands still. */
void ef_cross_journals (const EfFindings *findings, const EfSection *section, const double load_psi[2], GPtrArray *list);
/* Wear deeper on one side of a gear end, floor or plate; end clearance at one gear against the other. */
void ef_cross_tilt (const EfFindings *findings, const EfSection *section, const double load_psi[2], GPtrArray *list);
/* End clearance read and had from depth less width; face widths of mates; a height out of the plane of the others. */
void ef_cross_suspects (const EfFindings *findings, GPtrArray *list);

G_END_DECLS
