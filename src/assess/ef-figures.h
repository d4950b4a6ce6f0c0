/* The figures of the strip. Each maker adds its own to the assessment; the table of makers is in ef-figures.c.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-assessment.h"

G_BEGIN_DECLS

/* Called last in ef_assess(), when findings, verdict and steps are there; appends to assessment->figures. Long ones poll @cancellable and
 * fail with EF_ERROR_CANCELLED. */
typedef gboolean (*EfFigureMaker) (EfAssessment *assessment, GCancellable *cancellable, GError **error);

/* Runs the makers of the table in their order; the first that fails ends it. */
gboolean ef_figures_make (EfAssessment *assessment, GCancellable *cancellable, GError **error);

/* Appended to @assessment; all numbers NAN. @section, @face may be NULL. Takes @label. */
EfFigure *ef_figure_add (EfAssessment *assessment, const char *name, char *label, const char *section, const char *face, EfUnit unit);
void ef_figure_free (EfFigure *figure);

/* Of every section, as new, found and after the rework: end clearance and tip clearance, m. */
gboolean ef_figures_measured (EfAssessment *assessment, GCancellable *cancellable, GError **error);
/* Works out assessment->flow, and appends its figures. Stands first and takes the cache, so it isn't in the table. */
gboolean ef_figures_flow (EfAssessment *assessment, EfFlowDetail detail, EfAssessCache *cache, GCancellable *cancellable, GError **error);
gboolean ef_figures_wear (EfAssessment *assessment, GCancellable *cancellable, GError **error);

G_END_DECLS
