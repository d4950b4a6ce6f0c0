/* A pump with known truth: worn by simulation from a seed, to be looked at, measured and judged without anybody having to wear a pump out.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The same sheet, seed, cause and difficulty give the same pump on every run (Mersenne twister of the GNU Scientific Library). What wears it:
 *   load          the shaft wears its bore into a crescent along the computed load until the gear's tips reach the wall: with play c and wear e the wall
 *                 is cut to (c + e) cos (psi - psi_load) less the tip clearance. Lip, ovality and side play so follow from one number
 *   debris        grooves across the land by the mesh and round the gears on plate and floor, from delivery to suction; deepest near delivery
 *   end-wear      gears narrower, floor and plate worn to a step under them
 *   misfit        as by the load, but both shafts pushed the same way across the pump, towards the delivery side
 *   foreign-body  a lip and a track at one gear, on the delivery side; bores round
 * The higher the difficulty, the nearer the limits is the wear that matters and the more harmless wear lies beside it: 1 plain and alone, 2 with
 * light scoring and imprints, 3 a little over the limit, with a slight lip or scratches of another origin as well. Sizes are the program's own choice, no source.
 */
#pragma once

#include "../judge/ef-cause.h"
#include "../wear/ef-crescent.h"

G_BEGIN_DECLS

#define EF_SPECIMEN_HARDEST 3

typedef struct
{
  guint32 seed;
  EfCause cause;      /* EF_CAUSE_NONE: drawn from the seed */
  int difficulty;     /* 1 … EF_SPECIMEN_HARDEST */
  double load_psi[2]; /* directions of the computed load on the gears of the section, rad: see ef_specimen_load() */
} EfSpecimenOptions;

typedef struct
{
  guint32 seed;
  EfCause cause;
  int difficulty;
  char *section;        /* id */
  EfInspection *truth;  /* true marks and values; no gauge is noted anywhere */
  GArray *crescents;    /* EfCrescent: wear that no mark holds */
  char *story;          /* what happened to it, in words */
} EfSpecimen;

/* Fails with EF_ERROR_RANGE for a difficulty that isn't there, EF_ERROR_INVALID where the loads aren't finite, EF_ERROR_NOT_FOUND where the sheet has no pressure section. */
EfSpecimen *ef_specimen_new (EfPumpSheet *sheet, const EfSpecimenOptions *options, GError **error);
void ef_specimen_free (EfSpecimen *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfSpecimen, ef_specimen_free)

/* The surface of one of its faces. Errors as ef_surface_new(). */
EfSurface *ef_specimen_surface (const EfSpecimen *self, const EfFaceChart *chart, double cell, GCancellable *cancellable, GError **error);

/* The truth as read with gauges, of a usual set where @gauges (EfGauge *, one a kind) has none of the kind: to every true value come a deviation that
 * all readings of the gauge share, one of the place, and one of the single reading, and it's rounded to the gauge's resolution. The first two have half
 * each of the gauge's variance, as EF_SAME_GAUGE_CORRELATION has it (ef-reading.h); the third has EF_SPECIMEN_REPEAT of the resolution.
 * Depths of marks are read with the dial indicator. @seed: of the deviations alone. */
#define EF_SPECIMEN_REPEAT 0.3
#define EF_SPECIMEN_DEVIATIONS 0x9e3779b9u /* usual: the wear's seed with these bits turned */
EfInspection *ef_specimen_measure (const EfSpecimen *self, GPtrArray *gauges, guint32 seed, GError **error);
/* Standard deviation of a single reading about the truth, m: gauge, repeating and rounding together. */
double ef_specimen_reading_u (const EfGauge *gauge);
/* The kind of gauge a quantity is read with. */
EfGaugeKind ef_specimen_gauge_kind (EfQuantity quantity);

G_END_DECLS
