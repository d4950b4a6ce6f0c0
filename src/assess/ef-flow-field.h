/* The oil pressure over a face that meets the gears' ends, and the force of the oil on the gears, on that face's own chart.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The faces are those of the pressure section: the two that close the pocket at the gears' ends (plate or cover side, pocket floor) and the gears' own
 * ends. The pressure is that at hot idle, the teeth standing as at the first mesh position; on a gear's end the chart is turned with the gear.
 * Solved with EF_FLOW_FIELD_CELLS to the side of each gear: for looking at, not for the figures.
 */
#pragma once

#include "ef-assessment.h"

G_BEGIN_DECLS

#define EF_FLOW_FIELD_CELLS 128

/* The film on one gear's end. Cell (i, j) of the grid has its middle at wall-frame x = -extent + (i + 0.5) pitch, y likewise, pitch = 2 extent / cells. */
typedef struct
{
  int gear;
  guint cells;
  double extent;        /* m */
  double *values;       /* share of the pressure, 0 … 1, row by row; NAN where there is no film */
  double origin[2];     /* chart place of the gear's axis */
  double axes[2][2];    /* chart = origin + axes (x, y) */
  double load;          /* N, of the oil and of the mate on this gear */
  double load_u, load_v; /* its direction on the chart, length 1 */
} EfFieldPatch;

typedef struct
{
  char *face_id;
  EfPumpState state;
  guint64 serial;       /* of the assessment it was made from */
  double pressure;      /* Pa: what the shares are of */
  double speed, temperature;
  guint n_patches;      /* 2 on a face that meets both gears, 1 on a gear's end */
  EfFieldPatch patch[2];
  gint ref_count;
} EfFlowField;

/* Whether the face has a film of the pressure section. */
gboolean ef_flow_field_has (const EfPumpSheet *sheet, const char *face_id);
/* Fails with EF_ERROR_NOT_FOUND for a face without a film and when the state isn't known (saying why), EF_ERROR_CANCELLED. Only reads @assessment,
 * so a worker may do it. */
EfFlowField *ef_flow_field_new (const EfAssessment *assessment, const char *face_id, EfPumpState state, GCancellable *cancellable, GError **error);
EfFlowField *ef_flow_field_ref (EfFlowField *self);
void ef_flow_field_unref (EfFlowField *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfFlowField, ef_flow_field_unref)
/* FALSE when the assessment is of another state of the document, or its pressure has become another one. */
gboolean ef_flow_field_is_of (const EfFlowField *self, const EfAssessment *assessment);

/* Chart place of a place in the patch's wall frame. */
void ef_field_patch_to_chart (const EfFieldPatch *patch, double x, double y, double *u, double *v);
/* Share at a chart place, bilinear between cells; NAN where no patch has a film. */
double ef_flow_field_at (const EfFlowField *self, double u, double v);

G_END_DECLS
