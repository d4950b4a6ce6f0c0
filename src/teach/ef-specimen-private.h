/* What the makers of specimens share. Inside teach only.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#pragma once

#include "ef-specimen.h"

#include <gsl/gsl_rng.h>

G_BEGIN_DECLS

/* True sizes of one pump; what no cause changes is drawn as in a pump that has run well. All m. */
typedef struct
{
  double pocket_depth, face_width[2];
  double play[2];       /* c: radial, of the new bearing */
  double wear[2];       /* e: of the bore in its crescent */
  double psi[2];        /* of the crescents */
  double lip[2];        /* depth of the wall's crescent */
  double tip_clearance[2];
  double backlash;
  double journal[2];
} EfSpecimenSizes;

typedef struct
{
  EfSpecimen *specimen;
  EfPumpSheet *sheet;
  const EfSection *section;
  const EfSpecimenOptions *options;
  gsl_rng *rng;
  EfSpecimenSizes sizes;
  guint n_marks;
  GHashTable *charts; /* face id -> EfFaceChart *, as they are needed */
  GError *error; /* the first */
} EfSpecimenMaker;

/* Evenly from [low, high). */
double ef_specimen_draw (EfSpecimenMaker *m, double low, double high);
/* By difficulty: between low[d - 1] and high[d - 1], given in µm. */
double ef_specimen_draw_um (EfSpecimenMaker *m, const double low[EF_SPECIMEN_HARDEST], const double high[EF_SPECIMEN_HARDEST]);
/* Takes @mark. */
void ef_specimen_add_mark (EfSpecimenMaker *m, EfMark *mark);
/* A chart of the pump; NULL after noting the error. */
EfFaceChart *ef_specimen_chart (EfSpecimenMaker *m, const char *face_id);
/* Of the sheet's faces: those that the gears' ends run on. NULL: none. */
const char *ef_specimen_faces (const EfSection *section, int i);

/* Marks of each origin; they take their sizes from @m. */
void ef_specimen_lip (EfSpecimenMaker *m, int gear, double psi, double depth);
void ef_specimen_debris (EfSpecimenMaker *m, double depth);
void ef_specimen_steps (EfSpecimenMaker *m, double plate, double floor);
void ef_specimen_track (EfSpecimenMaker *m, int gear, double psi, double depth);
/* Harmless ones. */
void ef_specimen_light_scoring (EfSpecimenMaker *m, guint n);
void ef_specimen_imprints (EfSpecimenMaker *m, guint n);

/* The true readings. */
void ef_specimen_readings (EfSpecimenMaker *m);

G_END_DECLS
