/* The parts of the report, each laid out by one function.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-report-pages.h"

G_BEGIN_DECLS

void ef_report_front (EfPages *pages, const EfAssessment *assessment);    /* title, job, verdict, exploded pump, why */
void ef_report_verdicts (EfPages *pages, const EfAssessment *assessment); /* table of verdicts, figures */
void ef_report_flow (EfPages *pages, const EfAssessment *assessment);     /* what the pump delivers */
void ef_report_faces (EfPages *pages, const EfAssessment *assessment);
void ef_report_readings (EfPages *pages, const EfAssessment *assessment); /* readings, gauges, check list */
void ef_report_steps (EfPages *pages, const EfAssessment *assessment);    /* steps, cautions */
void ef_report_sign_off (EfPages *pages, const EfAssessment *assessment);

/* "0.040 mm", or "–" for NAN. */
char *ef_report_number (double si, EfUnit unit);
/* "2026-03-02 09:30" from ISO 8601, in UTC as it was kept; other text as it is. */
char *ef_report_time (const char *iso);
/* Name of a section, part or face id for people. */
char *ef_report_target (const EfAssessment *assessment, const char *target);

G_END_DECLS
