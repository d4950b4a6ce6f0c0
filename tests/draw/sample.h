/* An inspection with marks of every kind, readings, gauges and notes: what the tests of pictures and report draw.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "draw/ef-draw.h"

/* The sheet of the four shipped ones; fails the test where it can't be read. */
EfPumpSheet *sample_sheet (const char *id);
/* @n_marks on the plan faces, kinds and shapes by turns; constructed. */
EfInspection *sample_inspection (EfPumpSheet *sheet, guint n_marks);
EfAssessment *sample_assess (const EfInspection *inspection);
/* Scatters marks of all kinds over the chart's bounds; the caller unrefs them. */
GPtrArray *sample_marks (const EfFaceChart *chart, guint n, guint32 seed);
EfAssessment *sample_face_assessment (EfPumpSheet *sheet, EfFaceChart *chart, GPtrArray *marks);

/* Heights at the plan's places, domed and tilted, and diameters of a bore in @n directions, oval by 12 um and longest across 105 degrees;
 * both with what rounding to a micrometre adds. EfReading *, constructed. */
GPtrArray *sample_flat_readings (const EfFaceChart *chart);
GPtrArray *sample_bore_readings (const char *part, const char *place, double diameter, guint n);
