/* What a specimen's face looks like: its marks with their profiles, and the worn cylinders that no mark holds.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-specimen.h"

EfSurface *
ef_specimen_surface (const EfSpecimen *self,
                     const EfFaceChart *chart,
                     double cell,
                     GCancellable *cancellable,
                     GError **error)
{
  g_autoptr (GPtrArray) marks = ef_inspection_face_marks (self->truth, chart->id);

  return ef_crescents_surface (self->crescents, chart, marks, cell, self->seed, cancellable, error);
}
