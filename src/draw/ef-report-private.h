/* The parts of the report, each laid out by one function.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include "ef-report-pages.h"
#include "ef-report-seal.h"

G_BEGIN_DECLS

void ef_report_front (EfPages *pages, const EfAssessment *assessment, const EfReportSeal *seal); /* title, job, verdict, exploded pump, why */
void ef_report_verdicts (EfPages *pages, const EfAssessment *assessment); /* table of verdicts, figures */
void ef_report_flow (EfPages *pages, const EfAssessment *assessment);     /* what the pump delivers */
void ef_report_faces (EfPages *pages, const EfAssessment *assessment); /* pictures of the faces that carry marks */
void ef_report_face_photos (EfPages *pages, const EfAssessment *assessment, const char *face_id); /* those that show the face, small, with the places they are laid by */
void ef_report_photos (EfPages *pages, const EfAssessment *assessment);   /* those of the job, as far as they are at hand */
void ef_report_readings (EfPages *pages, const EfAssessment *assessment); /* readings, gauges, check list */
void ef_report_plan (EfPages *pages, const EfAssessment *assessment);     /* what is lapped, or why not */
void ef_report_steps (EfPages *pages, const EfAssessment *assessment);    /* steps, cautions */
void ef_report_after (EfPages *pages, const EfAssessment *assessment);    /* work done, measured again; nothing while nothing was recorded */
void ef_report_right_pump (EfPages *pages, const EfAssessment *assessment); /* where a demand was entered */
void ef_report_cost (EfPages *pages, const EfAssessment *assessment);     /* where the shop's rates were */
void ef_report_sign_off (EfPages *pages, const EfAssessment *assessment); /* two rows to sign on by hand */
void ef_report_seal (EfPages *pages, const EfAssessment *assessment, const EfReportSeal *seal); /* who sealed, digests and the code to check them by; without a seal that it stands under, so much; @seal may be NULL */
void ef_report_seal_line (EfPages *pages, const EfReportSeal *seal); /* under the title; @seal may be NULL */

/* "Strip" from "strip", for people. */
const char *ef_report_phase (const char *phase);
/* "0.040 mm", or "–" for NAN. */
char *ef_report_number (double si, EfUnit unit);
/* "2026-03-02 09:30" from ISO 8601, in UTC as it was kept; other text as it is. */
char *ef_report_time (const char *iso);
/* Name of a section, part or face id for people. */
char *ef_report_target (const EfAssessment *assessment, const char *target);

G_END_DECLS
