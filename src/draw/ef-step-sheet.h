/* The step sheet on paper: all steps of a job on one page to hang up at the bench.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Two columns in the largest type between 10 and 7.5 points that goes on one page. Cautions stand once at the head, lettered; the steps name their
 * letters. The reasons of the steps are left out where they don't fit, then only does a sheet go on overleaf: nothing is cut off.
 */
#pragma once

#include "ef-draw.h"
#include "ef-report-seal.h"

G_BEGIN_DECLS

#define EF_STEP_SHEET_LEAST 7.5 /* points */

typedef struct _EfStepSheet EfStepSheet;

/* Lays it out; holds the assessment. @seal: how the job stands, said under the title; NULL: not sealed. */
EfStepSheet *ef_step_sheet_new (const EfAssessment *assessment, const EfReportSeal *seal, EfPaper paper);
void ef_step_sheet_free (EfStepSheet *self);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (EfStepSheet, ef_step_sheet_free)
/* One, or more where the steps don't fit. */
guint ef_step_sheet_n_pages (EfStepSheet *self);
double ef_step_sheet_text_size (EfStepSheet *self); /* points; the smallest on the sheet */
/* Page 0 … onto @cr, in points with the corner at the origin. */
void ef_step_sheet_draw (EfStepSheet *self, guint page, cairo_t *cr);
/* @created: as ef_report_write_pdf(). EF_ERROR_IO, EF_ERROR_FULL. */
gboolean ef_step_sheet_write_pdf (const EfAssessment *assessment, const EfReportSeal *seal, const char *path, EfPaper paper, const char *created,
                                  GError **error);
/* What cautions are called on the sheet: A … Z, AA … */
char *ef_step_sheet_letter (guint index);

G_END_DECLS
