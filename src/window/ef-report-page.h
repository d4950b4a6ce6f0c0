/* One page of the report on screen, as wide as there is room and as high as the paper asks.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gtk/gtk.h>
#include "../draw/ef-report-seal.h"
#include "../draw/ef-draw.h"

G_BEGIN_DECLS

#define EF_TYPE_REPORT_PAGE (ef_report_page_get_type ())
G_DECLARE_FINAL_TYPE (EfReportPage, ef_report_page, EF, REPORT_PAGE, GtkWidget)

/* Until it has come near what is seen, a page is blank paper: drawing costs. */
void ef_report_page_come_near (EfReportPage *self);
/* A newer one with as many pages. */
void ef_report_page_set_assessment (EfReportPage *self, EfAssessment *assessment, EfReportSeal *seal);
GtkWidget *ef_report_page_new (EfAssessment *assessment, EfReportSeal *seal, EfPaper paper, guint page); /* takes references; @seal may be NULL */

G_END_DECLS
