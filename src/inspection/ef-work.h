/* What was done to a face: passes by grit and what came off, as measured.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "../base/ef-item.h"

G_BEGIN_DECLS

#define EF_WORK_MOST_GRITS 16

typedef struct
{
  char *grit;   /* name as in the table of lapping rates: "coarse" */
  double count; /* passes, above 0 */
} EfWorkPasses;

/* One go at one face; a face may have several. */
typedef struct
{
  EfItem item;
  char *face_id;
  double removed; /* m, before less after; NAN: not measured */
  char *gauge_id; /* that it was measured with, or NULL */
  guint n_passes;
  EfWorkPasses *passes; /* in order of doing */
  double pressure;      /* Pa; NAN: as in the table */
  double stroke;        /* m of a pass; NAN: as in the table */
  char *role, *time, *note;
} EfWork;
extern const EfItemClass ef_work_class;

/* Without passes; @removed is brought onto the nanometre grid. */
EfWork *ef_work_new (const char *face_id, double removed, const char *gauge_id);
/* Only while the item isn't handed on. A count of 0 takes the grit away. */
void ef_work_set_passes (EfWork *work, const char *grit, double count);
double ef_work_passes (const EfWork *work, const char *grit); /* 0 where there were none */

G_END_DECLS
